//! Marking: reading an answer as people write it. Unreadable is not the same as wrong.

use super::patter::{self, close, key_words, plain, words};
use super::question::{Expected, Question, Subject};
use super::say;
use crate::cards::{Class, Suit, TraitId};
use crate::routine::{Routine, StopIndex};
use crate::table::PileId;

/// What an answer is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Right.
    Right,
    /// Wrong.
    Wrong,
    /// It could not be read as an answer to this question.
    Unread,
}

/// What is typed when one does not know: a miss, freely admitted.
pub const GIVEN_UP: [&str; 4] = ["-", "don't know", "dont know", "pass"];

const UNITS: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [(&str, i64); 4] = [("twenty", 20), ("thirty", 30), ("forty", 40), ("fifty", 50)];

/// A number as people write it: in digits, or in English words up to fifty-nine ("none" and "no" count as zero).
#[must_use]
pub fn read_number(text: &str) -> Option<i64> {
    let text = text.trim().trim_end_matches('.').to_lowercase();
    if let Ok(number) = text.parse::<i64>() {
        return Some(number);
    }
    let parts = words(&text);
    let unit = |word: &str| {
        UNITS
            .iter()
            .position(|unit| *unit == word)
            .and_then(|n| i64::try_from(n).ok())
    };
    let ten = |word: &str| TENS.iter().find(|(name, _)| *name == word).map(|(_, n)| *n);
    match parts.as_slice() {
        [one] if one == "none" || one == "no" => Some(0),
        [one] => unit(one).or_else(|| ten(one)).or_else(|| {
            // "twentyone", without a hyphen.
            TENS.iter().find_map(|(name, tens)| {
                let rest = unit(one.strip_prefix(name)?)?;
                (1..=9).contains(&rest).then_some(tens + rest)
            })
        }),
        [tens, units] => {
            let units = unit(units).filter(|n| (1..=9).contains(n))?;
            Some(ten(tens)? + units)
        }
        _ => None,
    }
}

/// A place as people write it: a number, "third", "3rd", "top".
pub(super) fn read_place(text: &str) -> Option<i64> {
    let text = text.trim().to_lowercase();
    if matches!(text.as_str(), "top" | "on top" | "the top") {
        return Some(1);
    }
    read_number(&text).or_else(|| {
        let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        if digits.len() + 2 == text.len() && !digits.is_empty() {
            return digits.parse().ok();
        }
        (1..=12_u16)
            .find(|n| say::ordinal(*n) == text)
            .map(i64::from)
    })
}

/// Yes or no as people write it.
#[must_use]
pub fn read_yes(text: &str) -> Option<bool> {
    match text.trim().to_lowercase().as_str() {
        "y" | "yes" | "true" | "t" | "yep" | "yeah" | "it does" | "it is" => Some(true),
        "n" | "no" | "false" | "f" | "nope" | "it does not" | "it is not" => Some(false),
        _ => None,
    }
}

fn read_facing(text: &str) -> Option<bool> {
    match text.trim().to_lowercase().as_str() {
        "u" | "up" | "face up" | "face-up" => Some(true),
        "d" | "down" | "face down" | "face-down" => Some(false),
        other => read_yes(other),
    }
}

/// A pile as people write it: its name, how it begins if no other begins so, with "the" and "pile" as they like.
#[must_use]
pub fn read_pile(routine: &Routine, text: &str) -> Option<PileId> {
    let written = words(text);
    let mut inner: &[String] = &written;
    if let [first, rest @ ..] = inner
        && !rest.is_empty()
        && matches!(first.as_str(), "the" | "pile")
    {
        inner = rest;
    }
    if let [rest @ .., last] = inner
        && !rest.is_empty()
        && last == "pile"
    {
        inner = rest;
    }
    let wanted = inner.concat();
    if wanted.is_empty() {
        return None;
    }
    let names: Vec<String> = routine
        .piles
        .iter()
        .map(|name| words(&name.replace('_', " ")).concat())
        .collect();
    unique(&names, &wanted)
        .and_then(|n| u8::try_from(n).ok())
        .map(PileId)
}

/// The one of some words that is this, or that alone begins so.
fn unique(known: &[String], wanted: &str) -> Option<usize> {
    if let Some(exact) = known.iter().position(|name| name == wanted) {
        return Some(exact);
    }
    let mut found = known
        .iter()
        .enumerate()
        .filter(|(_, name)| name.starts_with(wanted));
    match (found.next(), found.next()) {
        (Some((at, _)), None) => Some(at),
        (Some(_) | None, _) => None,
    }
}

/// A class of a trait as people write it: the word, how it begins, a suit's sign, yes or no for "lucky" and "not lucky".
#[must_use]
pub fn read_class(routine: &Routine, of: TraitId, text: &str) -> Option<Class> {
    let table = routine.pack.traits().get(of.index())?;
    let class = |n: usize| u8::try_from(n).ok().map(Class);
    let text = text.trim();
    let written = plain(&text.replace(char::is_whitespace, ""));
    let mut signs = text.chars();
    if of == TraitId::SUIT
        && let (Some(sign), None) = (signs.next(), signs.next())
        && let Some(suit) = Suit::from_sign(sign)
    {
        return table
            .labels
            .iter()
            .position(|label| label == suit.word())
            .and_then(class);
    }
    if of == TraitId::VALUE
        && let Some(value) = crate::cards::Value::from_code(text)
    {
        return class(usize::from(value.number()) - 1);
    }
    let labels: Vec<String> = table
        .labels
        .iter()
        .map(|label| plain(&label.replace(' ', "")))
        .collect();
    if written.is_empty() {
        return None;
    }
    // "heart" for hearts, "reds" for red.
    if let Some(exact) = labels.iter().position(|label| {
        *label == written
            || label.strip_suffix('s') == Some(&written)
            || format!("{label}s") == written
    }) {
        return class(exact);
    }
    if let [one, other] = table.labels.as_slice()
        && *other == format!("not {one}")
        && let Some(yes) = read_yes(text)
    {
        return class(usize::from(!yes));
    }
    unique(&labels, &written).and_then(class)
}

/// A pattern as people write it: a letter for each card, or words; spaces and commas as they like.
#[must_use]
pub fn read_pattern(routine: &Routine, of: TraitId, text: &str) -> Option<Vec<Class>> {
    let parts: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | '-' | '.' | ';'))
        .filter(|part| !part.is_empty())
        .collect();
    if parts.is_empty() {
        return None;
    }
    if parts.iter().any(|part| part.chars().count() > 1)
        && let Some(classes) = parts
            .iter()
            .map(|part| read_class(routine, of, part))
            .collect::<Option<Vec<Class>>>()
    {
        return Some(classes);
    }
    parts
        .iter()
        .flat_map(|part| part.chars())
        .map(|letter| read_class(routine, of, letter.encode_utf8(&mut [0; 4])))
        .collect()
}

/// Marks an answer to a question.
#[must_use]
pub fn mark(routine: &Routine, question: &Question, text: &str) -> Mark {
    let text = text.trim();
    if GIVEN_UP.contains(&text.to_lowercase().as_str()) {
        return Mark::Wrong;
    }
    if text.is_empty() {
        return Mark::Unread;
    }
    let by = |read: Option<bool>| match read {
        Some(true) => Mark::Right,
        Some(false) => Mark::Wrong,
        None => Mark::Unread,
    };
    match &question.expected {
        Expected::Card(print) => by(read_card(routine, text)
            .map(|card| card.is_some_and(|card| routine.pack.same_look(card, *print)))),
        Expected::Class(of, is) => by(read_class(routine, *of, text).map(|class| class == *is)),
        Expected::Facing(up) => by(read_facing(text).map(|read| read == *up)),
        Expected::Place(pile, place) => by(mark_place(
            routine,
            (*pile, i64::from(place.0)),
            question.one_pile,
            text,
        )),
        Expected::Number(number) => by(read_number(text)
            .or_else(|| read_place(text))
            .map(|read| read == *number)),
        Expected::Pattern(of, classes) => {
            by(read_pattern(routine, *of, text).map(|read| read == *classes))
        }
        Expected::Pile(pile) => by(read_pile(routine, text).map(|read| read == *pile)),
        Expected::Yes(yes) => by(read_yes(text).map(|read| read == *yes)),
        Expected::Step(stop) => by(mark_step(routine, *stop, text)),
        Expected::Order(piles) => by(read_order(routine, text).map(|read| read == *piles)),
        Expected::Places(places) => by(read_numbers(text).map(|read| {
            read.len() == places.len() && read.iter().zip(places).all(|(r, p)| *r == i64::from(*p))
        })),
        Expected::Word(word) => by(mark_word(routine, &question.subject, word, text)),
        Expected::Line(line) => {
            by((!words(text).is_empty()).then(|| patter::right_line(text, line, routine.lang)))
        }
    }
}

/// A card as people write it: `Some(None)` is a card that this pack does not have.
fn read_card(routine: &Routine, text: &str) -> Option<Option<crate::cards::Card>> {
    match routine.pack.read(text) {
        Ok(card) => Some(Some(card)),
        Err(_) => crate::cards::read_face_among(text, routine.lang, routine.pack.customs())
            .ok()
            .map(|_| None),
    }
}

/// "packet 3", "3 in the packet", "third, packet"; the place alone where all cards lie in one pile.
fn mark_place(
    routine: &Routine,
    (pile, place): (PileId, i64),
    one_pile: bool,
    text: &str,
) -> Option<bool> {
    if let Some(read) = read_place(text) {
        return one_pile.then_some(read == place);
    }
    let text = text.to_lowercase();
    let parts: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || c == ',' || c == ':')
        .filter(|part| {
            !matches!(
                *part,
                "" | "in" | "of" | "from" | "at" | "on" | "place" | "number" | "card"
            )
        })
        .collect();
    // The number comes last ("packet 3"), or first ("3 packet", "third from the top of the packet").
    let last = parts
        .split_last()
        .and_then(|(last, front)| Some((read_place(last)?, read_pile(routine, &front.join(" "))?)));
    let first = || {
        let (first, rest) = parts.split_first()?;
        let rest: Vec<&str> = rest
            .iter()
            .copied()
            .filter(|part| *part != "the" && *part != "top")
            .collect();
        Some((read_place(first)?, read_pile(routine, &rest.join(" "))?))
    };
    last.or_else(first)
        .map(|(read, at)| read == place && at == pile)
}

/// The main words of a step's title, or its id. At least half of the title's key words must be there, and no other title may fit better.
/// Whether what was typed names this step; `None` where it names none.
pub(super) fn mark_step(routine: &Routine, wanted: StopIndex, text: &str) -> Option<bool> {
    let typed = words(text);
    if typed.is_empty() {
        return None;
    }
    let id = |stop: &crate::routine::Stop| words(&stop.id.0).concat() == typed.concat();
    if let Some(named) = routine.stops.iter().position(id) {
        return Some(named == wanted.index());
    }
    let score = |stop: &crate::routine::Stop| {
        let keys = key_words(&stop.title, routine.lang);
        let hits = keys
            .iter()
            .filter(|key| typed.iter().any(|word| close(word, key)))
            .count();
        (hits * 100).checked_div(keys.len()).unwrap_or(0)
    };
    let found = routine.stop(wanted).map_or(0, score);
    let better = routine.stops.iter().any(|stop| score(stop) > found);
    Some(found >= 50 && !better)
}

fn read_numbers(text: &str) -> Option<Vec<i64>> {
    let parts = text
        .split(|c: char| c.is_whitespace() || c == ',' || c == ';')
        .filter(|part| !part.is_empty() && *part != "and");
    let read: Vec<i64> = parts.map(read_number).collect::<Option<_>>()?;
    (!read.is_empty()).then_some(read)
}

fn read_order(routine: &Routine, text: &str) -> Option<Vec<PileId>> {
    let parts: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '>'))
        .filter(|part| !part.is_empty() && !matches!(*part, "and" | "the" | "pile" | "then"))
        .collect();
    let read: Option<Vec<PileId>> = parts.iter().map(|part| read_pile(routine, part)).collect();
    match (read, parts.as_slice()) {
        (Some(read), [_, _, ..]) => Some(read),
        // A letter for each pile, written together.
        (_, [together]) => together
            .chars()
            .map(|letter| read_pile(routine, letter.encode_utf8(&mut [0; 4])))
            .collect(),
        (_, _) => None,
    }
}

/// One of the words that a fork offers; any word where there is no such list.
fn mark_word(routine: &Routine, subject: &Subject, wanted: &str, text: &str) -> Option<bool> {
    let typed = words(text).concat();
    if typed.is_empty() {
        return None;
    }
    let offered: Option<Vec<String>> = match subject {
        Subject::Remembered(name) => routine
            .words_offered(*name)
            .map(|offered| offered.iter().map(|word| words(word).concat()).collect()),
        _ => None,
    };
    let wanted_plain = words(wanted).concat();
    if let Some(offered) = offered
        && let Some(at) = unique(&offered, &typed)
    {
        return Some(offered.get(at) == Some(&wanted_plain));
    }
    let keys = key_words(wanted, routine.lang);
    let typed_words = words(text);
    Some(
        close(&typed, &wanted_plain)
            || !keys.is_empty()
                && keys
                    .iter()
                    .all(|key| typed_words.iter().any(|word| close(word, key))),
    )
}
