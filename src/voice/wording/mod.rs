//! Cards, numbers, piles, choices and patter as words to be spoken, in the routine's language.
//!
//! The screen writes `7`, `7H` and `left-hand`; a voice says "seven", "seven of hearts" and "left hand". Nothing here is ever
//! spelled out letter by letter, and nothing that comes from here is markup to the speech engine.
//!
//! ```
//! use allroads::cards::Lang;
//! use allroads::voice::wording;
//!
//! assert_eq!(wording::number(Lang::EnGb, 21), "twenty-one");
//! assert_eq!(wording::plain(Lang::EnGb, "Is it the 7H? <play file=\"x\"/>"), "Is it the seven of hearts? play file x");
//! ```

mod letters;
mod numbers;
mod plain;

pub use numbers::number;
pub use plain::{LONGEST, parts, plain};

use crate::cards::{Card, Lang, Pack};
use crate::routine::{Blank, Fault, Routine, Scene, Template, Value};
use crate::table::PileId;

/// A card by its full name: "seven of hearts".
#[must_use]
pub fn card(pack: &Pack, card: Card) -> String {
    plain(pack.lang(), pack.name(card))
}

/// A pile by its name, as one says it: `left-hand`, `leftHand` and `LEFT_HAND` are "left hand".
#[must_use]
pub fn pile(routine: &Routine, pile: PileId) -> String {
    name(routine.lang, routine.pile_name(pile))
}

/// A name as files write names, in words.
#[must_use]
pub fn name(lang: Lang, name: &str) -> String {
    let mut words = String::with_capacity(name.len() + 4);
    let mut before = ' ';
    for c in name.chars() {
        let joint = c == '-' || c == '_';
        if joint
            || before.is_lowercase() && c.is_uppercase()
            || c.is_ascii_digit() != before.is_ascii_digit()
        {
            words.push(' ');
        }
        if !joint {
            words.push(c);
        }
        before = c;
    }
    let mut said = plain(lang, &words.to_lowercase());
    // A pile called by one letter is called by that letter, not by the article.
    if said.chars().count() == 1 {
        said = said.to_uppercase();
    }
    said
}

/// A choice, an answer or a reckoning in words: "seven", "seven of hearts", "left, right", "again". An interleaving and the
/// chunks of a shuffle are done and not said: they are no words at all.
///
/// # Errors
/// [`Fault::Unfixed`] when the print of a card is not fixed yet.
pub fn value(scene: Scene<'_>, value: &Value) -> Result<String, Fault> {
    let routine = scene.routine;
    let lang = routine.lang;
    Ok(match value {
        Value::Int(n) => number(lang, *n),
        Value::Bool(yes) => yes_or_no(lang, *yes).to_owned(),
        Value::Text(word) => plain(lang, word),
        Value::Card(card) => self::card(&routine.pack, scene.print(*card)?),
        Value::Pile(pile) => self::pile(routine, *pile),
        Value::Order(piles) => {
            let names: Vec<_> = piles.iter().map(|p| self::pile(routine, *p)).collect();
            names.join(", ")
        }
        Value::Places(numbers) => {
            let words: Vec<_> = numbers
                .iter()
                .map(|n| number(lang, i64::from(*n)))
                .collect();
            words.join(", ")
        }
        Value::Weave(_) | Value::Chunks(_) => String::new(),
    })
}

/// Yes or no.
#[must_use]
pub fn yes_or_no(lang: Lang, yes: bool) -> &'static str {
    match (lang, yes) {
        (Lang::EnGb | Lang::EnUs, true) => "yes",
        (Lang::De, true) => "ja",
        (Lang::Es, true) => "sí",
        (Lang::It, true) => "sì",
        (Lang::Fr, true) => "oui",
        (Lang::EnGb | Lang::EnUs | Lang::Es | Lang::It, false) => "no",
        (Lang::De, false) => "nein",
        (Lang::Fr, false) => "non",
    }
}

/// A text with its blanks filled, in words: what a spectator says, a question, patter.
///
/// # Errors
/// When a blank cannot be filled in this scene.
pub fn template(template: &Template, scene: Scene<'_>) -> Result<String, Fault> {
    let mut text = String::new();
    for blank in &template.0 {
        match blank {
            Blank::Plain(plain) => text.push_str(plain),
            Blank::Value(expr) => text.push_str(&value(scene, &expr.value(scene)?)?),
        }
    }
    Ok(plain(scene.routine.lang, &text))
}

#[cfg(test)]
mod tests;
