//! The table of keys, a part for each subject. The first row that fits counts.

mod asking;
mod foyer;
mod hands;
mod pages;

use super::{Act, Binding, Chord, Place, control, key, letter, row};
use crate::screen::sound::Knob;
use crossterm::event::KeyCode;

use KeyCode::{Enter, Esc, F, Left, PageDown, PageUp, Right};
use Place::{
    After, Aloud, Asked, Astray, Choosing, Cued, Dictated, Doing, Foyer, Help, Judging, Laying,
    Noted, Opening, Paused, Progress, Quick, Reading, Real, Saying, Shown, Summary, Told, Typing,
    Unaided, Walk,
};

const REHEARSAL: &[Place] = &[
    Told, Asked, Shown, Aloud, Laying, Dictated, Unaided, Doing, Choosing, Quick, Astray, Judging,
    Typing, Opening, Cued, Saying, Real, Reading, Noted,
];
/// Where a letter is no part of an answer.
const NO_LETTERS: &[Place] = &[
    Laying, Dictated, Unaided, Doing, Choosing, Judging, Opening, Cued, Saying, Real, Reading,
    Noted,
];
/// All places.
pub(super) const ANYWHERE: &[Place] = &[
    Foyer, Walk, Told, Asked, Shown, Aloud, Laying, Dictated, Unaided, Doing, Choosing, Quick,
    Astray, Judging, Typing, Opening, Cued, Saying, Real, Reading, Noted, Paused, Summary,
    Progress, After, Help,
];

/// What a clicker or a foot switch sends to go on, and what fingers find.
const GO_ON: &[Chord] = &[key(Enter), letter(' '), key(Right), key(PageDown)];
/// What a clicker or a foot switch sends to go back.
const BACK: &[Chord] = &[key(PageUp), key(Left)];

/// The table of keys. The first row that fits counts.
pub const KEYS: &[&[Binding]] = &[
    ALWAYS,
    foyer::FOYER,
    asking::ASKING,
    hands::HANDS,
    pages::PAGES,
    THROUGHOUT,
];

/// Sleep and leaving, everywhere.
const ALWAYS: &[Binding] = &[
    row(
        ANYWHERE,
        &[control('z')],
        Act::Suspend,
        "ctrl-z",
        "put allroads to sleep (fg wakes it)",
        false,
    ),
    row(
        ANYWHERE,
        &[control('c')],
        Act::Leave,
        "ctrl-c",
        "leave at once; all answers are kept",
        false,
    ),
];

/// Throughout rehearsals: louder and faster, pauses, the end; and help everywhere.
const THROUGHOUT: &[Binding] = &[
    row(
        NO_LETTERS,
        &[letter('+'), letter('=')],
        Act::Turn(Knob::Louder),
        "+",
        "louder",
        false,
    ),
    row(
        NO_LETTERS,
        &[letter('-')],
        Act::Turn(Knob::Quieter),
        "-",
        "quieter",
        false,
    ),
    row(
        NO_LETTERS,
        &[letter(']')],
        Act::Turn(Knob::Faster),
        "]",
        "they speak faster",
        false,
    ),
    row(
        NO_LETTERS,
        &[letter('[')],
        Act::Turn(Knob::Slower),
        "[",
        "they speak slower",
        false,
    ),
    row(NO_LETTERS, &[letter('p')], Act::Pause, "p", "pause", true),
    row(
        REHEARSAL,
        &[key(F(2)), control('p')],
        Act::Pause,
        "ctrl-p",
        "pause",
        true,
    ),
    row(
        REHEARSAL,
        &[key(Esc)],
        Act::Enough,
        "esc",
        "enough for now",
        true,
    ),
    row(
        &[Paused],
        &[
            key(Enter),
            letter(' '),
            letter('p'),
            key(Right),
            key(PageDown),
            key(F(2)),
            control('p'),
        ],
        Act::Pause,
        "enter",
        "go on",
        true,
    ),
    row(
        &[Paused],
        &[key(Esc)],
        Act::Enough,
        "esc",
        "enough for now",
        true,
    ),
    row(
        &[Typing, After],
        &[key(F(1))],
        Act::Help,
        "f1",
        "help",
        true,
    ),
    row(
        ANYWHERE,
        &[letter('?'), key(F(1))],
        Act::Help,
        "?",
        "help",
        true,
    ),
];
