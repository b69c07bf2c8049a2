//! The words of questions, answers and sightings, as performers read them.

use super::question::{Expected, Subject};
use crate::cards::{Card, Class, TraitId};
use crate::roads::choice_name;
use crate::routine::{ForkKind, NameId, Routine, Scene, Stop, StopIndex, Value, capital};
use crate::table::{PileId, Place};

/// Places as words, from the top.
const ORDINALS: [&str; 12] = [
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
    "eleventh", "twelfth",
];

/// A pile as people speak of it: "the packet", "the dealt pile", "pile A".
pub(super) fn pile(routine: &Routine, pile: PileId) -> String {
    routine.pile_in_words(pile)
}

/// A number as a place: "third", "17th".
pub(super) fn ordinal(n: u16) -> String {
    if let Some(word) = usize::from(n)
        .checked_sub(1)
        .and_then(|index| ORDINALS.get(index))
    {
        return (*word).to_owned();
    }
    let ending = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}

/// A place of a pile, after "lies": "on top of the packet", "third from the top of the packet".
pub(super) fn place(routine: &Routine, at: PileId, n: Place) -> String {
    place_at(routine, at, n, None)
}

/// The same; where the size of the pile is known, its last card lies at the bottom.
pub(super) fn place_at(routine: &Routine, at: PileId, n: Place, size: Option<usize>) -> String {
    let pile = pile(routine, at);
    if n.0 == 1 {
        format!("on top of {pile}")
    } else if size == Some(usize::from(n.0)) {
        format!("at the bottom of {pile}")
    } else {
        format!("{} from the top of {pile}", ordinal(n.0))
    }
}

/// A card at a place, as a subject: "the top card of the packet", "the third card of the packet".
pub(super) fn card_at(routine: &Routine, at: PileId, n: Place, size: Option<usize>) -> String {
    let pile = pile(routine, at);
    if n.0 == 1 {
        format!("the top card of {pile}")
    } else if size == Some(usize::from(n.0)) {
        format!("the bottom card of {pile}")
    } else {
        format!("the {} card of {pile}", ordinal(n.0))
    }
}

/// A card by name: "the seven of hearts"; in other languages the name as it stands.
pub(super) fn card(routine: &Routine, print: Card) -> String {
    let name = routine.pack.name(print);
    let english = matches!(
        routine.lang,
        crate::cards::Lang::EnGb | crate::cards::Lang::EnUs
    );
    if english && !name.to_lowercase().starts_with("the ") {
        format!("the {name}")
    } else {
        name.to_owned()
    }
}

/// The word of a class: "red".
pub(super) fn class(routine: &Routine, of: TraitId, class: Class) -> String {
    routine.pack.label(of, class).to_owned()
}

/// One card, or so many.
pub(super) fn cards(n: i64) -> String {
    if n == 1 {
        "1 card".to_owned()
    } else {
        format!("{n} cards")
    }
}

fn list(words: &[String]) -> String {
    match words {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [front @ .., last] => format!("{} and {last}", front.join(", ")),
    }
}

/// A value in words.
pub(super) fn value(scene: Scene<'_>, of: &Value) -> String {
    let routine = scene.routine;
    match of {
        Value::Int(n) => n.to_string(),
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        Value::Text(word) => word.to_string(),
        Value::Card(on_table) => scene
            .print(*on_table)
            .map_or_else(|_| "a card".to_owned(), |print| card(routine, print)),
        Value::Pile(of) => pile(routine, *of),
        Value::Order(piles) => {
            let names: Vec<String> = piles.iter().map(|p| pile(routine, *p)).collect();
            format!("{} (the first on top)", list(&names))
        }
        Value::Places(places) => {
            let words: Vec<String> = places.iter().map(u16::to_string).collect();
            format!("places {}", list(&words))
        }
        Value::Weave(_) => "a riffle".to_owned(),
        Value::Chunks(_) => "an overhand shuffle".to_owned(),
    }
}

/// How to speak of a remembered name: the file's words, or what was asked, or the step's title.
pub(super) fn about(routine: &Routine, name: NameId) -> Option<String> {
    routine
        .names
        .get(name.index())
        .and_then(|name| name.about.clone())
        .map(|about| about.trim_end_matches(['.', '?', ':']).to_owned())
}

/// The stop at which a name is chosen, answered or worked out.
pub(super) fn made_at(routine: &Routine, name: NameId) -> Option<(StopIndex, &Stop)> {
    routine
        .stops
        .iter()
        .enumerate()
        .find(|(_, stop)| {
            stop.fork.as_ref().is_some_and(|fork| fork.name == name)
                || stop.reply.as_ref().is_some_and(|reply| reply.name == name)
                || stop.reckonings.iter().any(|made| made.name == name)
        })
        .and_then(|(index, stop)| Some((StopIndex(u16::try_from(index).ok()?), stop)))
}

/// Whether the stop asks whether to go round again.
pub(super) fn is_gate(stop: &Stop) -> bool {
    stop.fork
        .as_ref()
        .is_some_and(|fork| matches!(fork.kind, ForkKind::Again { .. }))
}

/// Choices, each `NAME=VALUE` or `NAME@VISIT=VALUE`, as people say them: what each is about, and what was chosen; of a part that goes
/// round again, how often it did. As they are where the routine has no such choice.
#[must_use]
pub fn choices_in_words(routine: &Routine, choices: &[String]) -> Vec<String> {
    let mut told = Vec::new();
    for (n, choice) in choices.iter().enumerate() {
        let same = |other: &&String| choice_name(other) == choice_name(choice);
        let Some((what, gate)) = choice_about(routine, choice_name(choice)) else {
            told.push(choice.clone());
            continue;
        };
        let (label, chosen) = choice.split_once('=').unwrap_or((choice, ""));
        if gate {
            if !choices[..n].iter().any(|other| same(&other)) {
                let rounds = choices.iter().filter(same).count();
                let s = if rounds == 1 { "" } else { "s" };
                told.push(match what {
                    Some(what) => format!("{what}: {rounds} round{s}"),
                    None => format!("{rounds} round{s}"),
                });
            }
        } else {
            let visit = label.split_once('@');
            let visit = visit.map_or_else(String::new, |(_, visit)| format!(", time {visit}"));
            told.push(format!("{}{visit}: {chosen}", what.unwrap_or_default()));
        }
    }
    told
}

/// What the choice of this name is about, and whether it is the one to go round again, which says so by itself.
fn choice_about(routine: &Routine, name: &str) -> Option<(Option<String>, bool)> {
    let name = routine.find_name(name)?;
    let chooses = |stop: &&Stop| stop.fork.as_ref().is_some_and(|fork| fork.name == name);
    let stop = routine.stops.iter().find(chooses)?;
    let gate = is_gate(stop);
    let title = || (!gate).then(|| heading(routine, stop));
    Some((about(routine, name).or_else(title), gate))
}

/// A step's title; the question whether to go round again has none of its own.
pub fn heading(routine: &Routine, stop: &Stop) -> String {
    let own = stop.title.trim();
    let bare = own.is_empty() || is_gate(stop) && own == &*stop.id.0;
    if !bare {
        return own.to_owned();
    }
    match &stop.fork {
        Some(fork) if is_gate(stop) => {
            about(routine, fork.name).map_or_else(|| "Once more?".to_owned(), |a| capital(&a))
        }
        Some(_) | None => stop.id.to_string(),
    }
}

/// A title within a sentence: “Deal off any number”.
pub(super) fn title(routine: &Routine, stop: &Stop) -> String {
    format!("“{}”", heading(routine, stop).trim_end_matches('.'))
}

pub(super) fn title_of(routine: &Routine, stop: StopIndex) -> String {
    routine
        .stop(stop)
        .map_or_else(|| "the end".to_owned(), |stop| title(routine, stop))
}

/// A card that a spectator chose: "the card they believe in".
pub(super) fn theirs(routine: &Routine, name: NameId) -> String {
    about(routine, name).unwrap_or_else(|| "their card".to_owned())
}

/// How to answer, in a few words.
pub(super) fn answer_as(routine: &Routine, expected: &Expected, one_pile: bool) -> String {
    match expected {
        Expected::Card(_) => "a card, like 7H".to_owned(),
        Expected::Class(of, _) | Expected::Pattern(of, _) if initials(routine, *of).is_none() => {
            "the word".to_owned()
        }
        Expected::Class(of, _) => {
            let initials = initials(routine, *of).unwrap_or_default();
            let shown: Vec<String> = initials.iter().take(4).map(char::to_string).collect();
            format!("one letter ({})", shown.join(", "))
        }
        Expected::Pattern(of, _) => {
            let initials = initials(routine, *of).unwrap_or_default();
            let shown: String = initials.iter().take(4).collect();
            format!("a letter for each card, like {shown}")
        }
        Expected::Facing(_) | Expected::Yes(_) => "y or n".to_owned(),
        Expected::Place(..) if one_pile => "the place, 1 is the top".to_owned(),
        Expected::Place(..) => {
            let first = routine.piles.first().map_or("packet", String::as_str);
            format!("pile and place, like {first} 3")
        }
        Expected::Number(_) => "a number".to_owned(),
        Expected::Pile(_) => "the name of a pile, or how it begins".to_owned(),
        Expected::Step(_) => "the title, or its main words".to_owned(),
        Expected::Order(_) => "the piles in order, the first on top".to_owned(),
        Expected::Places(_) => "the places, like 1 4 6".to_owned(),
        Expected::Word(_) => "the word, or how it begins".to_owned(),
        Expected::Line(_) => "its main words; or say it aloud and press Enter".to_owned(),
    }
}

/// The first letters of a trait's classes, if no two share one.
pub(super) fn initials(routine: &Routine, of: TraitId) -> Option<Vec<char>> {
    let table = routine.pack.traits().get(usize::from(of.0))?;
    let mut letters = Vec::with_capacity(table.labels.len());
    for label in &table.labels {
        let letter = label.chars().next()?.to_lowercase().next()?;
        if letters.contains(&letter) {
            return None;
        }
        letters.push(letter);
    }
    Some(letters)
}

/// An answer in words.
pub(super) fn expected(routine: &Routine, of: &Expected) -> String {
    match of {
        Expected::Card(print) => card(routine, *print),
        Expected::Class(by, is) => class(routine, *by, *is),
        Expected::Facing(true) => "yes, face up".to_owned(),
        Expected::Facing(false) => "no, face down".to_owned(),
        Expected::Place(pile, at) => place(routine, *pile, *at),
        Expected::Number(n) => n.to_string(),
        Expected::Pattern(by, classes) => {
            let words: Vec<String> = classes.iter().map(|c| class(routine, *by, *c)).collect();
            words.join(" ")
        }
        Expected::Pile(of) => pile(routine, *of),
        Expected::Yes(true) => "yes".to_owned(),
        Expected::Yes(false) => "no".to_owned(),
        Expected::Step(stop) => title_of(routine, *stop),
        Expected::Order(piles) => {
            let names: Vec<String> = piles.iter().map(|p| pile(routine, *p)).collect();
            list(&names)
        }
        Expected::Places(places) => {
            let words: Vec<String> = places.iter().map(u16::to_string).collect();
            list(&words)
        }
        Expected::Word(word) => word.clone(),
        Expected::Line(line) => line.clone(),
    }
}

/// The shortest answer that is marked right, as it would be typed.
pub(super) fn keys(routine: &Routine, of: &Expected) -> String {
    match of {
        Expected::Card(print) => routine.pack.short(*print).to_lowercase(),
        Expected::Class(by, is) => match initials(routine, *by) {
            Some(letters) => letters
                .get(usize::from(is.0))
                .map(char::to_string)
                .unwrap_or_default(),
            None => class(routine, *by, *is),
        },
        Expected::Facing(true) | Expected::Yes(true) => "y".to_owned(),
        Expected::Facing(false) | Expected::Yes(false) => "n".to_owned(),
        Expected::Place(pile, at) => format!("{} {}", routine.pile_name(*pile), at.0),
        Expected::Number(n) => n.to_string(),
        Expected::Pattern(by, classes) => match initials(routine, *by) {
            Some(letters) => classes
                .iter()
                .filter_map(|c| letters.get(usize::from(c.0)))
                .collect(),
            None => expected(routine, of),
        },
        Expected::Pile(pile) => routine.pile_name(*pile).to_owned(),
        Expected::Step(stop) => routine
            .stop(*stop)
            .map_or_else(String::new, |stop| stop.id.to_string()),
        Expected::Order(piles) => {
            let names: Vec<&str> = piles.iter().map(|p| routine.pile_name(*p)).collect();
            names.join(" ")
        }
        Expected::Places(places) => {
            let words: Vec<String> = places.iter().map(u16::to_string).collect();
            words.join(" ")
        }
        Expected::Word(word) => word.clone(),
        Expected::Line(line) => super::patter::key_words(line, routine.lang).join(" "),
    }
}

/// What exactly is asked, in the logbook's words: `packet 1 colour`.
pub(super) fn detail(routine: &Routine, subject: &Subject) -> String {
    let pile = |of: &PileId| routine.pile_name(*of);
    let name = |of: &NameId| {
        routine
            .names
            .get(of.index())
            .map_or("", |name| name.name.as_str())
    };
    let step = |of: &StopIndex| routine.stop(*of).map_or("", |stop| &*stop.id.0);
    match subject {
        Subject::CardAt(of, at) | Subject::FacingAt(of, at) => format!("{} {}", pile(of), at.0),
        Subject::TraitAt(of, at, by) => {
            format!("{} {} {}", pile(of), at.0, routine.pack.trait_name(*by))
        }
        Subject::WhereIs(print) | Subject::PileOf(print) => routine.pack.short(*print),
        Subject::WhereTheirs(of) | Subject::PileOfTheirs(of) | Subject::Remembered(of) => {
            name(of).to_owned()
        }
        Subject::HowMany(of) | Subject::FaceUp(of) => pile(of).to_owned(),
        Subject::Pattern {
            pile: of, class, ..
        } => {
            format!("{} {}", pile(of), routine.pack.trait_name(*class))
        }
        Subject::Follows {
            pile: of,
            class,
            shown,
            shows,
            asked,
        } => format!(
            "{} {} {} {}",
            pile(of),
            shown.0,
            routine.pack.label(*class, *shows),
            asked.0
        ),
        Subject::Claim(of, index) => format!("{} {}", step(of), index + 1),
        Subject::Next => "next".to_owned(),
        Subject::Line(of) => step(of).to_owned(),
    }
}
