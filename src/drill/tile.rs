//! The table as the performer may know it: what is the same on every table that fits what was seen.

use crate::cards::{Card, Class, TraitId};
use crate::table::PileId;

/// One card, by what is known of it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Tile {
    /// The card, by what is printed on it, if that is known.
    pub card: Option<Card>,
    /// Whether it faces up, if that is known.
    pub up: Option<bool>,
    /// The traits that are known although the card is not.
    pub traits: Vec<(TraitId, Class)>,
}

/// One pile, by what is known of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spread {
    /// The pile.
    pub pile: PileId,
    /// How many cards it holds, if that is known.
    pub count: Option<usize>,
    /// Its cards from the top; only as many as every table has.
    pub tiles: Vec<Tile>,
}
