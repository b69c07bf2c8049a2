//! Keys: what each does where, what the foot of the screen and the help page say of it. The table itself is in `keys/table/`.

mod table;

pub use table::KEYS;

use super::sound::Knob;
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
    /// The set-up is laid with real cards.
    Laying,
    /// The set-up is told card by card.
    Dictated,
    /// The set-up is laid as for a show, and nothing is told of it.
    Unaided,
    /// A step is done with real cards: any key goes on.
    Doing,
    /// The table tells something: the number of an answer.
    Choosing,
    /// A question to busy hands: one or two keys.
    Quick,
    /// A stray has happened: one key says whether it is still safe.
    Astray,
    /// Did the ending come true?
    Judging,
    /// A packet, or the number of a step, is typed.
    Typing,
    /// Before the lines.
    Opening,
    /// The cue of a line is heard: any key says that the line begins.
    Cued,
    /// The line is being said: any key says that it is over.
    Saying,
    /// The real line after one said aloud.
    Real,
    /// The patter is being read.
    Reading,
    /// Something told after a question, an ending or a reading, while real cards are about.
    Noted,
    /// A pause.
    Paused,
    /// The summary of a rehearsal.
    Summary,
    /// The progress of a routine.
    Progress,
    /// After a performance: an answer is typed.
    After,
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
    /// Rehearse with real cards.
    Hands,
    /// Say the lines aloud.
    Lines,
    /// A dress rehearsal.
    Dress,
    /// Tell how a performance went.
    AfterShow,
    /// Rehearse what to do when it goes wrong.
    Rescue,
    /// Rehearse all routines of the show, in turns.
    WholeShow,
    /// Walk through.
    WalkThrough,
    /// Rehearse from the step shown on.
    FromHere,
    /// How the steps and the weeks stand.
    Progress,
    /// Go on.
    Go,
    /// Back a step.
    Back,
    /// Another road.
    Another,
    /// Hear it again.
    Repeat,
    /// Yes, it came true.
    Yes,
    /// No, it did not.
    No,
    /// Tell the set-up card by card.
    Cards,
    /// Read the whole patter.
    ReadAll,
    /// Louder, quieter, faster or slower.
    Turn(Knob),
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

/// Places where any key that the table does not name goes on: hands that hold cards press what they find.
#[must_use]
pub fn any_key(place: Place) -> bool {
    matches!(place, Place::Doing | Place::Cued | Place::Saying)
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
    // In a packet the question mark stands for a card that is not known, in a note for itself.
    if matches!(place, Place::Typing | Place::After) && pressed == letter('?') {
        return None;
    }
    rows(place)
        .find(|row| row.keys.contains(&pressed))
        .map(|row| row.act)
}

/// The rows for a place, each act once.
pub fn rows(place: Place) -> impl Iterator<Item = &'static Binding> {
    KEYS.iter()
        .copied()
        .flatten()
        .filter(move |row| row.places.contains(&place))
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
    use super::table::ANYWHERE;
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
                assert!(
                    foot.contains("help") || foot.contains('?'),
                    "{place:?}: {foot}"
                );
                assert_eq!(foot.split(BETWEEN).next(), whole.split(BETWEEN).next());
            }
        }
    }
}
