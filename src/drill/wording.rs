//! The words of questions.

use super::question::Subject;
use super::say::{
    about, card, card_at, class, is_gate, made_at, ordinal, pile, place_at, theirs, title, title_of,
};
use crate::cards::{Class, TraitId};
use crate::routine::{NameId, NameKind, Routine, capital};
use crate::table::{PileId, Place};

/// What a trait asks: "colour", or "Odd or even:" where the trait has two classes that speak for themselves.
fn trait_question(routine: &Routine, of: TraitId, place: &str, card: &str) -> String {
    let name = routine.pack.trait_name(of);
    let labels = routine
        .pack
        .traits()
        .get(usize::from(of.0))
        .map_or(&[][..], |table| table.labels.as_slice());
    match (name, labels) {
        ("letters", [one, other]) => {
            format!(
                "{} or {other}: the number of letters in the name of {card}?",
                capital(one)
            )
        }
        ("parity", [one, other]) => format!("{} or {other}: the value of {card}?", capital(one)),
        ("court", _) => format!("Court card or spot card: what lies {place}?"),
        ("colour", _) => format!("Which colour lies {place}?"),
        (_, [one, other]) if *other == format!("not {one}") => {
            format!("{} or {other}: {card}?", capital(one))
        }
        _ => format!("Which {name} lies {place}?"),
    }
}

/// What the words of a question go by, besides its subject.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    /// All cards lie in one pile.
    pub one_pile: bool,
    /// How many cards the pile in question holds, if that is known.
    pub size: Option<usize>,
    /// No step has been done yet.
    pub first: bool,
}

/// The question about a subject, in words.
pub(super) fn question(routine: &Routine, subject: &Subject, frame: Frame) -> String {
    let (one_pile, size) = (frame.one_pile, frame.size);
    match subject {
        Subject::CardAt(pile, at) => {
            format!("Which card lies {}?", place_at(routine, *pile, *at, size))
        }
        Subject::TraitAt(pile, at, of) => trait_question(
            routine,
            *of,
            &place_at(routine, *pile, *at, size),
            &card_at(routine, *pile, *at, size),
        ),
        Subject::FacingAt(pile, at) => {
            format!("Does {} lie face up?", card_at(routine, *pile, *at, size))
        }
        Subject::WhereIs(print) => where_is(&card(routine, *print), one_pile),
        Subject::WhereTheirs(name) => where_is(&theirs(routine, *name), one_pile),
        Subject::PileOf(print) => format!("In which pile is {}?", card(routine, *print)),
        Subject::PileOfTheirs(name) => format!("In which pile is {}?", theirs(routine, *name)),
        Subject::HowMany(of) => format!("How many cards are in {}?", pile(routine, *of)),
        Subject::FaceUp(of) => format!("How many cards of {} lie face up?", pile(routine, *of)),
        Subject::Pattern {
            pile: of,
            class,
            places,
        } => pattern_question(routine, *of, *class, (*places, size)),
        Subject::Follows {
            pile: of,
            class: by,
            shown,
            shows,
            asked,
        } => follows_question(routine, (*of, size), *by, (*shown, *shows), *asked),
        Subject::Claim(stop, index) => {
            let words = routine
                .stop(*stop)
                .and_then(|stop| stop.claims.get(*index))
                .map_or("", |claim| claim.words.trim_end_matches('.'));
            format!("Is this true now: {words}?")
        }
        Subject::Next if frame.first => "How does it begin?".to_owned(),
        Subject::Next => "What comes next?".to_owned(),
        Subject::Remembered(name) => remembered_question(routine, *name),
        Subject::Line(stop) => {
            format!("What do you say at {}", asked(&title_of(routine, *stop)))
        }
    }
}

fn where_is(card: &str, one_pile: bool) -> String {
    if one_pile {
        format!("At which place from the top is {card}?")
    } else {
        format!("In which pile is {card}, and at which place from the top?")
    }
}

fn pattern_question(
    routine: &Routine,
    of: PileId,
    by: TraitId,
    (places, size): (u16, Option<usize>),
) -> String {
    let plural = match routine.pack.trait_name(by) {
        "colour" => "colours".to_owned(),
        "suit" => "suits".to_owned(),
        "letters" => "odd and even names".to_owned(),
        "parity" => "odd and even values".to_owned(),
        "court" => "court and spot cards".to_owned(),
        name => format!("classes by {name}"),
    };
    let pile = pile(routine, of);
    if size == Some(usize::from(places)) {
        format!("What are the {plural} in {pile}, from the top down?")
    } else {
        format!("What are the {plural} of the top {places} cards of {pile}?")
    }
}

fn follows_question(
    routine: &Routine,
    (of, size): (PileId, Option<usize>),
    by: TraitId,
    (shown, shows): (Place, Class),
    asked: Place,
) -> String {
    let next = if asked.0 == shown.0 + 1 {
        "the next one".to_owned()
    } else if size == Some(usize::from(asked.0)) {
        "the bottom one".to_owned()
    } else {
        format!("the {} one", ordinal(asked.0))
    };
    let first = card_at(routine, of, shown, size);
    let label = class(routine, by, shows);
    match routine.pack.trait_name(by) {
        "colour" => format!("If {first} is {label}, which colour is {next}?"),
        name @ ("suit" | "value") => format!("If {first} shows {label}, which {name} is {next}?"),
        "letters" => {
            format!("If the name of {first} has an {label} number of letters, odd or even: {next}?")
        }
        "parity" => format!("If {first} has an {label} value, odd or even: {next}?"),
        "court" => format!("If {first} is a {label} card, court or spot: {next}?"),
        name => format!("If {first} is {label}, what is {next}, by {name}?"),
    }
}

/// Words with which something begins that is asked within a sentence: "how many they took", "whose turn it is".
const ASKING: [&str; 10] = [
    "how", "if", "what", "when", "where", "whether", "which", "who", "whose", "why",
];

/// Whether words are a question within a sentence, and not the name of a thing.
fn asks_within(words: &str) -> bool {
    let first = words.split_whitespace().next().unwrap_or_default();
    ASKING.contains(&first.to_lowercase().as_str())
}

/// A question to be answered by what is to be worked out.
fn reckoning_question(routine: &Routine, name: NameId) -> String {
    match about(routine, name) {
        Some(about) if asks_within(&about) => format!("Work out {about}."),
        Some(about) => format!("What is {about}?"),
        None => {
            let name = routine.names.get(name.index());
            format!(
                "Work it out: what is {}?",
                name.map_or("", |n| n.name.as_str())
            )
        }
    }
}

fn remembered_question(routine: &Routine, name: NameId) -> String {
    let made = made_at(routine, name);
    let kind = routine.names.get(name.index()).map(|n| n.kind);
    if kind == Some(NameKind::Reckoning) {
        let asks = made.and_then(|(_, stop)| {
            stop.reckonings
                .iter()
                .find(|r| r.name == name)
                .and_then(|r| r.asks.clone())
        });
        return asks.unwrap_or_else(|| reckoning_question(routine, name));
    }
    let gate = made.is_some_and(|(_, stop)| is_gate(stop));
    if let Some(about) = about(routine, name).filter(|_| !gate) {
        return if asks_within(&about) {
            format!("Remind me {about}.")
        } else {
            format!("What was {about}?")
        };
    }
    match made {
        Some((_, stop)) => {
            if let Some(reply) = stop.reply.as_ref().filter(|reply| reply.name == name) {
                return format!("You asked “{}” What was the answer?", reply.asks);
            }
            if is_gate(stop) {
                return "How many rounds have they had so far?".to_owned();
            }
            format!("What did they choose at {}", asked(&title(routine, stop)))
        }
        None => "What did they choose?".to_owned(),
    }
}

/// A title at the end of a question: one that asks needs no second mark.
pub(super) fn asked(title: &str) -> String {
    if title.trim_end_matches('”').ends_with('?') {
        title.to_owned()
    } else {
        format!("{title}?")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn loaded(file: &str) -> Routine {
        let path = format!("{}/tests/fixtures/{file}", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&path).unwrap();
        crate::routine::load(&text, &path, 1).unwrap_or_else(|_| panic!("{path} has faults"))
    }

    fn asked_for(routine: &Routine, name: &str) -> String {
        let at = routine.names.iter().position(|n| n.name == name).unwrap();
        remembered_question(routine, NameId(u16::try_from(at).unwrap()))
    }

    #[test]
    fn what_is_remembered_is_asked_for_in_a_sentence_that_people_say() {
        let ferry = loaded("ferry.yaml");
        assert_eq!(asked_for(&ferry, "n"), "Remind me how many went ashore.");
        let everything = loaded("everything.yaml");
        assert_eq!(
            asked_for(&everything, "n"),
            "What was the number they named?"
        );
        assert_eq!(
            asked_for(&everything, "looked_up"),
            "What does the table say?"
        );
    }

    #[test]
    fn only_words_that_ask_ask_within_a_sentence() {
        for asks in [
            "how many came",
            "Whose bag goes on top",
            "whether it rained",
        ] {
            assert!(asks_within(asks), "{asks}");
        }
        for thing in ["the whole packet", "whatever they like", "their card", ""] {
            assert!(!asks_within(thing), "{thing}");
        }
    }

    #[test]
    fn a_title_that_asks_has_one_mark() {
        assert_eq!(asked("“Which of them?”"), "“Which of them?”");
        assert_eq!(asked("“They line up”"), "“They line up”?");
    }
}
