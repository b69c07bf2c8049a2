//! The table: piles of cards, their order from the top, and which way each card faces.
//!
//! Uses [`crate::cards`] only. Place 1 is the top of a pile, everywhere and always.

use crate::cards::Card;
use std::collections::VecDeque;

/// A card as it lies: which card, and whether its face shows. Two bytes, so that a whole packet
/// stays in a cache line or two.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Laid(u16);

impl Laid {
    /// A card lying face down or face up. Card numbers must be below 32,768; a pack is never that large.
    #[must_use]
    pub fn new(card: Card, face_up: bool) -> Self {
        Self(card.0 << 1 | u16::from(face_up))
    }
    /// Which card this is.
    #[must_use]
    pub fn card(self) -> Card {
        Card(self.0 >> 1)
    }
    /// Whether its face shows.
    #[must_use]
    pub fn face_up(self) -> bool {
        self.0 & 1 == 1
    }
    /// The same card, turned over.
    #[must_use]
    pub fn turned(self) -> Self {
        Self(self.0 ^ 1)
    }
}

/// A pile of the routine, by its index among the routine's piles; scratch piles of a move come after them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PileId(pub u8);

impl PileId {
    /// The index, from 0.
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

/// A place in a pile, counted from the top, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place(pub u16);

impl Place {
    /// The place of the card at this index (0 is the top).
    #[must_use]
    pub fn from_index(index: usize) -> Self {
        Self(u16::try_from(index + 1).unwrap_or(u16::MAX))
    }
    /// Index from 0; place 0, which does not exist, gives `None`.
    #[must_use]
    pub fn index(self) -> Option<usize> {
        usize::from(self.0).checked_sub(1)
    }
}

/// A pile: the front is the top.
pub type Pile = VecDeque<Laid>;

/// All piles. Two tables are equal when every pile holds the same cards in the same order, facing the same way.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Table {
    piles: Vec<Pile>,
}

impl Table {
    /// A table with so many empty piles.
    #[must_use]
    pub fn empty(piles: usize) -> Self {
        Self {
            piles: vec![Pile::new(); piles],
        }
    }
    /// The pile with this number; asking for one that the table lacks gives an empty pile.
    #[must_use]
    pub fn pile(&self, pile: PileId) -> &Pile {
        static NONE: Pile = Pile::new();
        self.piles.get(pile.index()).unwrap_or(&NONE)
    }
    /// The pile with this number, to change; the table grows to hold it.
    pub fn pile_mut(&mut self, pile: PileId) -> &mut Pile {
        if self.piles.len() <= pile.index() {
            self.piles.resize_with(pile.index() + 1, Pile::new);
        }
        &mut self.piles[pile.index()]
    }
    /// How many piles there are, the empty ones included.
    #[must_use]
    pub fn count(&self) -> usize {
        self.piles.len()
    }
    /// Adds so many empty piles after the others, with room for a packet: scratch piles of a move.
    pub fn add_scratch(&mut self, piles: usize) {
        let most = self.piles.iter().map(Pile::len).max().unwrap_or(0);
        self.piles
            .extend(std::iter::repeat_with(|| Pile::with_capacity(most)).take(piles));
    }
    /// Drops the piles from this number on, which must be empty: scratch piles after a move.
    pub fn forget_scratch(&mut self, piles: usize) {
        self.piles.truncate(piles);
    }
    /// How many cards a pile holds.
    #[must_use]
    pub fn size(&self, pile: PileId) -> usize {
        self.pile(pile).len()
    }
    /// The card at a place of a pile.
    #[must_use]
    pub fn at(&self, pile: PileId, place: Place) -> Option<Laid> {
        self.pile(pile).get(place.index()?).copied()
    }
    /// Where a card lies.
    #[must_use]
    pub fn find(&self, card: Card) -> Option<(PileId, Place)> {
        self.piles.iter().enumerate().find_map(|(n, pile)| {
            let at = pile.iter().position(|laid| laid.card() == card)?;
            Some((PileId(u8::try_from(n).ok()?), Place::from_index(at)))
        })
    }
    /// Every pile with its number.
    pub fn piles(&self) -> impl Iterator<Item = (PileId, &Pile)> {
        self.piles
            .iter()
            .enumerate()
            .map(|(n, pile)| (PileId(n as u8), pile))
    }
}
