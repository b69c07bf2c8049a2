//! Keys while real cards are in the hands, or lines are said aloud.

use super::{BACK, GO_ON};
use crate::screen::keys::{Act, Binding, Place, key, letter, row};
use crossterm::event::KeyCode;

use KeyCode::{Enter, Left, PageDown, PageUp, Right};
use Place::{
    Cued, Dictated, Doing, Judging, Laying, Noted, Opening, Quick, Reading, Real, Saying, Unaided,
};

/// Real cards, and lines said aloud.
pub(super) const HANDS: &[Binding] = &[
    row(&[Laying, Unaided], GO_ON, Act::Go, "enter", "begin", true),
    row(&[Dictated], GO_ON, Act::Go, "enter", "next card", true),
    row(
        &[Laying],
        &[letter('c')],
        Act::Cards,
        "c",
        "card by card",
        true,
    ),
    row(&[Doing], GO_ON, Act::Go, "any key", "done, go on", true),
    row(&[Cued], GO_ON, Act::Go, "any key", "I begin", true),
    row(&[Saying], GO_ON, Act::Go, "any key", "I am done", true),
    row(&[Reading], GO_ON, Act::Go, "enter", "the next line", true),
    row(&[Opening], GO_ON, Act::Go, "enter", "line by line", true),
    row(
        &[Opening],
        &[letter('r')],
        Act::ReadAll,
        "r",
        "hear it all",
        true,
    ),
    row(&[Noted], GO_ON, Act::Go, "enter", "go on", true),
    row(
        &[Doing, Cued, Reading, Quick],
        BACK,
        Act::Repeat,
        "page up",
        "repeat",
        true,
    ),
    row(&[Dictated], BACK, Act::Repeat, "page up", "back", true),
    row(
        &[Judging],
        &[
            letter('y'),
            key(Enter),
            letter(' '),
            key(Right),
            key(PageDown),
        ],
        Act::Yes,
        "y or enter",
        "yes",
        true,
    ),
    row(
        &[Judging],
        &[letter('n'), key(Left), key(PageUp)],
        Act::No,
        "n or page up",
        "no",
        true,
    ),
    row(
        &[Real],
        &[
            key(Enter),
            letter('s'),
            letter(' '),
            key(Right),
            key(PageDown),
        ],
        Act::Same,
        "enter",
        "just this",
        true,
    ),
    row(
        &[Real],
        &[letter('d'), key(Left), key(PageUp)],
        Act::Differed,
        "d",
        "mine differed",
        true,
    ),
];
