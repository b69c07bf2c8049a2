//! Keys of what is read, or told, after rehearsals and shows: summary, progress, how a show went, help.

use crate::screen::keys::{Act, Binding, Place, key, letter, row};
use crossterm::event::KeyCode;

use KeyCode::{Down, End, Enter, Esc, F, Home, Left, PageDown, PageUp, Right, Up};
use Place::{After, Help, Progress, Summary};

/// Summary, progress, after a show, help.
pub(super) const PAGES: &[Binding] = &[
    row(
        &[Summary],
        &[key(Enter), key(Esc)],
        Act::Foyer,
        "enter",
        "done",
        true,
    ),
    row(
        &[Summary],
        &[letter('r')],
        Act::Rehearse,
        "r",
        "once more",
        true,
    ),
    row(&[Summary], &[letter('q')], Act::Leave, "q", "leave", true),
    row(
        &[Progress],
        &[key(Down), letter('j')],
        Act::Down,
        "down",
        "further down",
        true,
    ),
    row(
        &[Progress],
        &[key(Up), letter('k')],
        Act::Up,
        "up",
        "back up",
        true,
    ),
    row(
        &[Progress],
        &[key(PageDown), letter(' '), key(Right)],
        Act::Go,
        "space",
        "a screen further",
        false,
    ),
    row(
        &[Progress],
        &[key(PageUp), key(Left)],
        Act::Back,
        "page up",
        "a screen back",
        false,
    ),
    row(
        &[Progress],
        &[key(Home)],
        Act::First,
        "home",
        "to the top",
        false,
    ),
    row(
        &[Progress],
        &[key(End)],
        Act::Last,
        "end",
        "to the end",
        false,
    ),
    row(
        &[Progress],
        &[key(Enter), letter('r')],
        Act::Rehearse,
        "enter",
        "rehearse",
        true,
    ),
    row(
        &[Progress],
        &[key(Esc), letter('q'), letter('p')],
        Act::Foyer,
        "esc",
        "foyer",
        true,
    ),
    row(
        &[Help],
        &[key(Down), letter('j')],
        Act::Down,
        "down",
        "further down",
        true,
    ),
    row(
        &[Help],
        &[key(Up), letter('k')],
        Act::Up,
        "up",
        "back up",
        true,
    ),
    row(
        &[Help],
        &[letter('?'), key(Esc), key(Enter), letter('q'), key(F(1))],
        Act::Help,
        "? or esc",
        "put this away",
        true,
    ),
    row(&[After], &[key(Enter)], Act::Answer, "enter", "next", true),
    row(
        &[After],
        &[key(Esc)],
        Act::Foyer,
        "esc",
        "foyer, nothing kept",
        true,
    ),
];
