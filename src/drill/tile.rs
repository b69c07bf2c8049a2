//! The table as the performer may know it: what is the same on every table that fits what was seen.

use super::answer::{known_answer, lookalike};
use super::question::{Expected, Subject};
use crate::cards::{Card, Class, TraitId};
use crate::knowing::{Knowledge, Watch};
use crate::routine::{Routine, Scene, World};
use crate::table::{Laid, PileId};

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
    let mut spreads = Vec::new();
    for (pile, cards) in world.table.piles() {
        let count = match known_answer(routine, knowledge, &Subject::HowMany(pile)) {
            Some(Expected::Number(n)) => usize::try_from(n).ok(),
            Some(_) | None => None,
        };
        if count == Some(0) || count.is_none() && cards.is_empty() {
            continue;
        }
        let size = count.unwrap_or(0);
        let cards = row(
            routine,
            knowledge,
            Watch::Cards,
            (pile, size),
            |scene, laid| scene.print(laid.card()).ok(),
        );
        let facing = row(routine, knowledge, Watch::Sizes, (pile, size), |_, laid| {
            Some(laid.face_up())
        });
        let mut tiles: Vec<Tile> = cards
            .into_iter()
            .zip(facing)
            .map(|(card, up)| Tile {
                card: card.map(|card| lookalike(routine, card)),
                up,
                traits: Vec::new(),
            })
            .collect();
        if tiles.iter().any(|tile| tile.card.is_none()) {
            // Colour and suit are what a tile can show.
            for of in [TraitId::COLOUR, TraitId::SUIT] {
                let classes = row(
                    routine,
                    knowledge,
                    Watch::Trait(of),
                    (pile, size),
                    |scene, laid| scene.class(laid.card(), of).ok().flatten(),
                );
                for (tile, class) in tiles.iter_mut().zip(classes) {
                    if tile.card.is_none() {
                        tile.traits.extend(class.map(|class| (of, class)));
                    }
                }
            }
        }
        spreads.push(Spread { pile, count, tiles });
    }
    spreads
}

/// For each place of a pile of known size, what is the same on all tables that fit.
fn row<T: Copy + PartialEq>(
    routine: &Routine,
    knowledge: &Knowledge,
    watch: Watch,
    (pile, size): (PileId, usize),
    what: impl Fn(Scene<'_>, Laid) -> Option<T>,
) -> Vec<Option<T>> {
    let nothing = vec![None; size];
    let Some((first, others)) = knowledge.worlds_for(watch).and_then(<[World]>::split_first) else {
        return nothing;
    };
    let at = |world: &World, index: usize| {
        let laid = *world.table.pile(pile).get(index)?;
        what(Scene { routine, world }, laid)
    };
    let mut found: Vec<Option<T>> = (0..size).map(|index| at(first, index)).collect();
    let mut open: Vec<usize> = (0..size).filter(|index| found[*index].is_some()).collect();
    for world in others {
        if open.is_empty() {
            break;
        }
        open.retain(|index| {
            let same = at(world, *index) == found[*index];
            if !same {
                found[*index] = None;
            }
            same
        });
    }
    found
}
