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
    /// The pile with this number, to change; where the table has no such pile it grows until it does.
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
    /// Drops the piles from this number on, and with them any cards they hold: scratch piles after a move,
    /// which by then are empty.
    pub fn forget_scratch(&mut self, piles: usize) {
        self.piles.truncate(piles);
    }
    /// How many cards a pile holds.
    #[must_use]
    pub fn size(&self, pile: PileId) -> usize {
        self.pile(pile).len()
    }
    /// The card at a place of a pile; `None` where the pile, or the place in it, does not exist.
    #[must_use]
    pub fn at(&self, pile: PileId, place: Place) -> Option<Laid> {
        self.pile(pile).get(place.index()?).copied()
    }
    /// Where a card lies; `None` where it is not on the table.
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

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        let mut table = Table::empty(2);
        *table.pile_mut(PileId(1)) = (0..4)
            .map(|card| Laid::new(Card(card), card % 2 == 1))
            .collect();
        table
    }

    #[test]
    fn a_laid_card_keeps_its_number_and_its_facing() {
        for number in [0, 1, 51, 32_767] {
            for face_up in [false, true] {
                let laid = Laid::new(Card(number), face_up);
                assert_eq!(laid.card(), Card(number));
                assert_eq!(laid.face_up(), face_up);
                assert_eq!(laid.turned(), Laid::new(Card(number), !face_up));
                assert_eq!(laid.turned().turned(), laid);
            }
        }
    }

    #[test]
    fn places_count_from_one_and_place_nought_does_not_exist() {
        assert_eq!(Place::from_index(0), Place(1));
        assert_eq!(Place(1).index(), Some(0));
        assert_eq!(Place(0).index(), None);
        assert_eq!(Place::from_index(usize::from(u16::MAX)), Place(u16::MAX));
    }

    #[test]
    fn cards_are_found_by_place_and_places_by_card() {
        let table = table();
        let pile = PileId(1);
        assert_eq!(table.at(pile, Place(1)), Some(Laid::new(Card(0), false)));
        assert_eq!(table.at(pile, Place(4)), Some(Laid::new(Card(3), true)));
        assert_eq!(table.at(pile, Place(0)), None);
        assert_eq!(table.at(pile, Place(5)), None);
        assert_eq!(table.at(PileId(9), Place(1)), None);
        for (pile, cards) in table.piles() {
            for (index, laid) in cards.iter().enumerate() {
                let place = Place::from_index(index);
                assert_eq!(table.find(laid.card()), Some((pile, place)));
            }
        }
        assert_eq!(table.find(Card(4)), None);
    }

    #[test]
    fn asking_for_a_missing_pile_gives_an_empty_one_and_changing_it_makes_it() {
        let mut table = table();
        assert_eq!(table.size(PileId(7)), 0);
        assert!(table.pile(PileId(7)).is_empty());
        assert_eq!(table.count(), 2);
        table
            .pile_mut(PileId(3))
            .push_front(Laid::new(Card(9), true));
        assert_eq!(table.count(), 4);
        assert_eq!(table.size(PileId(2)), 0);
        assert_eq!(table.size(PileId(3)), 1);
    }

    #[test]
    fn scratch_piles_come_and_go_and_leave_the_table_equal() {
        let before = table();
        let mut after = before.clone();
        after.add_scratch(3);
        assert_eq!(after.count(), 5);
        assert_ne!(after, before);
        after.forget_scratch(2);
        assert_eq!(after, before);
    }

    #[test]
    fn tables_differ_by_a_card_turned_and_by_two_swapped() {
        let mut turned = table();
        turned.pile_mut(PileId(1))[2] = Laid::new(Card(2), true);
        assert_ne!(turned, table());
        let mut swapped = table();
        swapped.pile_mut(PileId(1)).swap(0, 1);
        assert_ne!(swapped, table());
    }
}
