//! Keys where something is asked, and where its answer is shown.

use super::GO_ON;
use crate::screen::keys::{Act, Binding, Place, control, key, letter, row};
use crossterm::event::KeyCode;

use KeyCode::{Backspace, Enter, F, PageDown, Right};
use Place::{After, Aloud, Asked, Astray, Choosing, Quick, Shown, Told, Typing};

/// Questions and their answers.
pub(super) const ASKING: &[Binding] = &[
    row(&[Told, Shown], GO_ON, Act::Go, "enter", "go on", true),
    row(
        &[Asked],
        &[key(Enter)],
        Act::Answer,
        "enter",
        "answer",
        true,
    ),
    row(
        &[Asked, Quick, Typing, After],
        &[key(Backspace), control('h')],
        Act::Rub,
        "backspace",
        "take back a letter",
        false,
    ),
    row(
        &[Asked, Quick, Typing, After],
        &[control('u')],
        Act::Clear,
        "ctrl-u",
        "take back the answer",
        false,
    ),
    row(&[Choosing], &[], Act::Answer, "1 to 9", "the answer", true),
    row(&[Astray], &[], Act::Answer, "s m o l", "the answer", true),
    row(
        &[Quick],
        // Whoever holds a clicker, and forgets that something was asked, hears what to answer with.
        &[key(Enter), key(Right), key(PageDown)],
        Act::Answer,
        "enter",
        "answer",
        true,
    ),
    row(
        &[Typing],
        &[key(Enter)],
        Act::Answer,
        "enter",
        "answer",
        true,
    ),
    row(
        &[Asked],
        &[control('y'), key(F(3))],
        Act::Why,
        "ctrl-y",
        "why this?",
        true,
    ),
    row(
        &[Aloud],
        &[key(Enter), letter('s')],
        Act::Same,
        "enter",
        "just this",
        true,
    ),
    row(
        &[Aloud],
        &[letter('d')],
        Act::Differed,
        "d",
        "mine differed",
        true,
    ),
];
