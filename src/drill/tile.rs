//! The table as the performer may know it: what is the same on every table that fits what was seen.

use super::answer::known_answer;
use super::question::{Expected, Subject};
use crate::cards::{Card, Class, TraitId};
use crate::knowing::Knowledge;
use crate::routine::{Routine, World};
use crate::table::{PileId, Place};

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
    /// Its cards from the top; none where their number is not known.
    pub tiles: Vec<Tile>,
}

/// Every pile with cards, as far as it is known.
pub(super) fn spreads(routine: &Routine, knowledge: &Knowledge, world: &World) -> Vec<Spread> {
    let known = |subject: Subject| known_answer(routine, knowledge, &subject);
    let mut spreads = Vec::new();
    for (pile, cards) in world.table.piles() {
        let count = match known(Subject::HowMany(pile)) {
            Some(Expected::Number(n)) => usize::try_from(n).ok(),
            Some(_) | None => None,
        };
        if count == Some(0) || count.is_none() && cards.is_empty() {
            continue;
        }
        let tiles = (0..count.unwrap_or(0))
            .map(|index| {
                let place = Place::from_index(index);
                let card = match known(Subject::CardAt(pile, place)) {
                    Some(Expected::Card(card)) => Some(card),
                    Some(_) | None => None,
                };
                let up = match known(Subject::FacingAt(pile, place)) {
                    Some(Expected::Facing(up)) => Some(up),
                    Some(_) | None => None,
                };
                // Colour and suit are what a tile can show.
                let traits = if card.is_some() {
                    Vec::new()
                } else {
                    [TraitId::COLOUR, TraitId::SUIT]
                        .into_iter()
                        .filter_map(|of| match known(Subject::TraitAt(pile, place, of)) {
                            Some(Expected::Class(of, class)) => Some((of, class)),
                            Some(_) | None => None,
                        })
                        .collect()
                };
                Tile { card, up, traits }
            })
            .collect();
        spreads.push(Spread { pile, count, tiles });
    }
    spreads
}
