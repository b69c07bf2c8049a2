//! The table of keys: what each does where, what the foot of the screen and the help page say of it.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use unicode_width::UnicodeWidthStr;

/// What stands between two keys of the foot.
const BETWEEN: &str = " · ";

/// Where we are, as far as keys go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Place {
    /// The start screen.
    Foyer,
    /// Learning a routine step by step.
    Walk,
    /// A step is told.
    Told,
    /// A question is asked: letters go into the answer.
    Asked,
    /// The right answer, or the real line, is shown.
    Shown,
    /// A line was said aloud: did it differ?
    Aloud,
    /// A pause.
    Paused,
    /// The summary of a rehearsal.
    Summary,
    /// The help page.
    Help,
}

/// What a key does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Act {
    /// One up.
    Up,
    /// One down.
    Down,
    /// The first.
    First,
    /// The last.
    Last,
    /// Rehearse.
    Rehearse,
    /// The two-minute rehearsal.
    TwoMinutes,
    /// Walk through.
    WalkThrough,
    /// Go on.
    Go,
    /// Back a step.
    Back,
    /// Another road.
    Another,
    /// The answer is ready.
    Answer,
    /// Take back a letter of the answer.
    Rub,
    /// Take back the whole answer.
    Clear,
    /// The line said aloud was the same.
    Same,
    /// The line said aloud differed.
    Differed,
    /// Tell why this question is asked.
    Why,
    /// Pause, or end a pause.
    Pause,
    /// Show or put away the help.
    Help,
    /// End the rehearsal and see its summary.
    Enough,
    /// To the foyer.
    Foyer,
    /// Leave the program.
    Leave,
    /// Put the program to sleep, for the shell to wake.
    Suspend,
}

/// A key as pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Chord(KeyCode, KeyModifiers);

const fn key(code: KeyCode) -> Chord {
    Chord(code, KeyModifiers::NONE)
}
const fn letter(c: char) -> Chord {
    Chord(KeyCode::Char(c), KeyModifiers::NONE)
}
const fn control(c: char) -> Chord {
    Chord(KeyCode::Char(c), KeyModifiers::CONTROL)
}

/// A row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Binding {
    /// Where.
    pub places: &'static [Place],
    /// Which keys.
    pub keys: &'static [Chord],
    /// What they do.
    pub act: Act,
    /// The keys in words.
    pub label: &'static str,
    /// What they do, in words.
    pub meaning: &'static str,
    /// Whether the foot of the screen names it.
    pub foot: bool,
}

use KeyCode::{Backspace, Down, End, Enter, Esc, F, Home, Left, Right, Up};
use Place::{Aloud, Asked, Foyer, Help, Paused, Shown, Summary, Told, Walk};

const REHEARSAL: &[Place] = &[Told, Asked, Shown, Aloud];
const ANYWHERE: &[Place] = &[
    Foyer, Walk, Told, Asked, Shown, Aloud, Paused, Summary, Help,
];

/// The table of keys. The first row that fits counts.
pub const KEYS: &[Binding] = &[
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
    row(
        &[Foyer],
        &[key(Enter), letter('r')],
        Act::Rehearse,
        "enter",
        "rehearse",
        true,
    ),
    row(
        &[Foyer],
        &[letter('t')],
        Act::TwoMinutes,
        "t",
        "just two minutes",
        true,
    ),
    row(
        &[Foyer],
        &[letter('w')],
        Act::WalkThrough,
        "w",
        "walk through",
        true,
    ),
    row(
        &[Foyer],
        &[key(Up), letter('k')],
        Act::Up,
        "up",
        "the routine above",
        false,
    ),
    row(
        &[Foyer],
        &[key(Down), letter('j')],
        Act::Down,
        "down",
        "the routine below",
        false,
    ),
    row(
        &[Foyer],
        &[key(Home)],
        Act::First,
        "home",
        "the first routine",
        false,
    ),
    row(
        &[Foyer],
        &[key(End)],
        Act::Last,
        "end",
        "the last routine",
        false,
    ),
    row(
        &[Foyer],
        &[letter('q'), key(Esc)],
        Act::Leave,
        "q",
        "leave",
        true,
    ),
    row(
        &[Walk],
        &[key(Right), key(Enter), letter(' ')],
        Act::Go,
        "right",
        "on",
        true,
    ),
    row(
        &[Walk],
        &[key(Left), key(Backspace)],
        Act::Back,
        "left",
        "back",
        true,
    ),
    row(
        &[Walk],
        &[letter('n')],
        Act::Another,
        "n",
        "another road",
        true,
    ),
    row(
        &[Walk],
        &[letter('r')],
        Act::Rehearse,
        "r",
        "rehearse",
        true,
    ),
    row(
        &[Walk],
        &[key(Home)],
        Act::First,
        "home",
        "the set-up",
        false,
    ),
    row(&[Walk], &[key(End)], Act::Last, "end", "the finale", false),
    row(
        &[Walk],
        &[key(Esc), letter('q')],
        Act::Foyer,
        "esc",
        "foyer",
        true,
    ),
    row(
        &[Told, Shown],
        &[key(Enter), letter(' '), key(Right)],
        Act::Go,
        "enter",
        "go on",
        true,
    ),
    row(
        &[Asked],
        &[key(Enter)],
        Act::Answer,
        "enter",
        "answer",
        true,
    ),
    row(
        &[Asked],
        &[key(Backspace), control('h')],
        Act::Rub,
        "backspace",
        "take back a letter",
        false,
    ),
    row(
        &[Asked],
        &[control('u')],
        Act::Clear,
        "ctrl-u",
        "take back the answer",
        false,
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
        &[key(Enter), letter(' '), key(F(2)), control('p')],
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
    row(
        ANYWHERE,
        &[letter('?'), key(F(1))],
        Act::Help,
        "?",
        "help",
        true,
    ),
];

const fn row(
    places: &'static [Place],
    keys: &'static [Chord],
    act: Act,
    label: &'static str,
    meaning: &'static str,
    foot: bool,
) -> Binding {
    Binding {
        places,
        keys,
        act,
        label,
        meaning,
        foot,
    }
}

/// What a key does in a place.
#[must_use]
pub fn act(place: Place, event: &KeyEvent) -> Option<Act> {
    // Shift is part of the character already ('?'), except where terminals report it beside it.
    let pressed = Chord(
        match event.code {
            KeyCode::Char(c) => KeyCode::Char(c.to_ascii_lowercase()),
            other => other,
        },
        event.modifiers - KeyModifiers::SHIFT,
    );
    KEYS.iter()
        .find(|row| row.places.contains(&place) && row.keys.contains(&pressed))
        .map(|row| row.act)
}

/// The rows for a place, each act once.
pub fn rows(place: Place) -> impl Iterator<Item = &'static Binding> {
    KEYS.iter().filter(move |row| row.places.contains(&place))
}

/// The foot of the screen in a place: "enter rehearse · ? help". Where it is wider than so many columns, keys before the
/// last one are left out: how to get help stays.
#[must_use]
pub fn foot(place: Place, width: usize) -> String {
    let mut seen = Vec::new();
    for row in rows(place).filter(|row| row.foot) {
        if !seen.iter().any(|(act, _)| *act == row.act) {
            seen.push((row.act, format!("{} {}", row.label, row.meaning)));
        }
    }
    let mut texts: Vec<String> = seen.into_iter().map(|(_, text)| text).collect();
    while texts.len() > 2 && texts.join(BETWEEN).width() > width {
        texts.remove(texts.len() - 2);
    }
    texts.join(BETWEEN)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_has_help_and_a_way_out() {
        for &place in ANYWHERE {
            let acts: Vec<Act> = rows(place).map(|row| row.act).collect();
            assert!(acts.contains(&Act::Help), "{place:?}");
            assert!(acts.contains(&Act::Leave), "{place:?}");
            assert!(acts.contains(&Act::Suspend), "{place:?}");
        }
    }

    #[test]
    fn no_key_is_bound_twice_in_a_place() {
        for &place in ANYWHERE {
            let mut seen: Vec<Chord> = Vec::new();
            for row in rows(place) {
                for chord in row.keys {
                    let help = row.act == Act::Help;
                    assert!(help || !seen.contains(chord), "{place:?} {chord:?}");
                    seen.push(*chord);
                }
            }
        }
    }

    #[test]
    fn letters_of_an_answer_are_bound_to_nothing_but_the_question_mark() {
        for c in ('a'..='z').chain('0'..='9').chain(" '♥".chars()) {
            let event = KeyEvent::new(KeyCode::Char(c), KeyModifiers::NONE);
            assert_eq!(act(Place::Asked, &event), None, "{c}");
        }
    }

    #[test]
    fn the_foot_of_every_place_fits_eighty_columns() {
        for &place in ANYWHERE {
            let foot = foot(place, usize::MAX);
            assert!(foot.width() <= 78, "{place:?}: {foot}");
        }
    }

    #[test]
    fn a_narrow_foot_leaves_keys_out_and_keeps_the_first_and_help() {
        for &place in ANYWHERE {
            let whole = foot(place, 78);
            for width in [58, 68] {
                let foot = foot(place, width);
                assert!(foot.width() <= width, "{place:?}: {foot}");
                assert!(foot.contains('?'), "{place:?}: {foot}");
                assert_eq!(foot.split(BETWEEN).next(), whole.split(BETWEEN).next());
            }
        }
    }
}
