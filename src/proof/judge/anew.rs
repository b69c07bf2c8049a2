//! Cards of unknown order numbered in the order in which they lie, so that tables that differ in their numbers alone are one.

use crate::cards::Card;
use crate::proof::state::{Core, CoreId, Cores};
use crate::routine::Value;
use crate::table::Laid;

/// The cards of unknown order.
#[derive(Debug)]
pub(super) struct Hidden {
    /// Rising.
    cards: Vec<Card>,
    /// By card number, its place among them.
    places: Vec<Option<usize>>,
}

impl Hidden {
    /// These cards.
    pub(super) fn new(mut cards: Vec<Card>) -> Self {
        cards.sort_unstable();
        let all = cards.last().map_or(0, |last| last.index() + 1);
        let mut places = vec![None; all];
        for (place, card) in cards.iter().enumerate() {
            places[card.index()] = Some(place);
        }
        Self { cards, places }
    }

    /// The cards, rising.
    pub(super) fn cards(&self) -> &[Card] {
        &self.cards
    }

    fn place(&self, card: Card) -> Option<usize> {
        self.places.get(card.index()).copied().flatten()
    }

    /// Whether it is one of them.
    pub(super) fn has(&self, card: Card) -> bool {
        self.place(card).is_some()
    }

    /// Numbers unknown cards anew: those that lie on the table in the order in which they lie, then those that are remembered, then the others
    /// by what is printed on them. `None` where they are numbered so.
    pub(super) fn settled(
        &self,
        cores: &mut Cores,
        core: CoreId,
        cells: &[u8],
    ) -> Option<(CoreId, Vec<u8>)> {
        let whole = cores.core(core);
        let new = self.new_numbers(whole, cores.laid(cells))?;
        let as_now = |card: Card| self.place(card).map_or(card, |place| new[place]);
        let mut settled = Vec::with_capacity(cells.len());
        for laid in cores.laid(cells) {
            cores.write(&mut settled, Laid::new(as_now(laid.card()), laid.face_up()));
        }
        let remembered = |value: &Value| matches!(value, Value::Card(card) if self.has(*card));
        let face = |card: &Card| whole.faces.get(card.index());
        if !whole.memory.iter().flatten().any(remembered)
            && self
                .cards
                .iter()
                .all(|card| face(card) == face(&as_now(*card)))
        {
            return Some((core, settled));
        }
        let mut whole = whole.clone();
        for value in whole.memory.iter_mut().flatten() {
            if let Value::Card(card) = value {
                *card = as_now(*card);
            }
        }
        let before = whole.faces.clone();
        for card in &self.cards {
            if let Some(slot) = whole.faces.get_mut(as_now(*card).index()) {
                *slot = before.get(card.index()).copied().flatten();
            }
        }
        Some((cores.number(whole), settled))
    }

    /// By place, the card that each is from now on; `None` where all stay as they are.
    fn new_numbers(&self, core: &Core, laid: impl Iterator<Item = Laid>) -> Option<Vec<Card>> {
        let mut order: Vec<usize> = Vec::with_capacity(self.cards.len());
        let mut met = vec![false; self.cards.len()];
        let mut meet = |card: Card| {
            if let Some(place) = self.place(card)
                && !std::mem::replace(&mut met[place], true)
            {
                order.push(place);
            }
        };
        laid.for_each(|laid| meet(laid.card()));
        for value in core.memory.iter().flatten() {
            if let Value::Card(card) = value {
                meet(*card);
            }
        }
        let mut rest: Vec<usize> = (0..met.len()).filter(|place| !met[*place]).collect();
        rest.sort_by_key(|place| {
            core.faces
                .get(self.cards[*place].index())
                .copied()
                .flatten()
        });
        order.extend(rest);
        if order.iter().enumerate().all(|(n, place)| n == *place) {
            return None;
        }
        let mut new = self.cards.clone();
        for (card, place) in self.cards.iter().zip(order) {
            new[place] = *card;
        }
        Some(new)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::routine::{StopIndex, World};
    use crate::table::{PileId, Table};
    use proptest::prelude::*;
    use proptest::sample::subsequence;

    const CARDS: u16 = 12;

    /// A world of twelve cards in two piles and a hand, some of them of unknown order, with faces fixed and a card remembered.
    fn worlds() -> impl Strategy<Value = (Vec<Card>, World)> {
        let all: Vec<Card> = (0..CARDS).map(Card).collect();
        let laid = Just(all.clone()).prop_shuffle();
        let faces = prop::collection::vec(prop::option::of((0..CARDS).prop_map(Card)), 12);
        let hidden = subsequence(all, 0..=12);
        let up = prop::collection::vec(any::<bool>(), 12);
        (laid, up, faces, hidden, 0..=12_usize, 0..12_usize).prop_map(
            |(laid, up, faces, hidden, first, remembered)| {
                let mut table = Table::empty(2);
                // The last two lie nowhere.
                for (n, card) in laid.iter().take(10).enumerate() {
                    let pile = PileId(u8::from(n >= first));
                    table.pile_mut(pile).push_back(Laid::new(*card, up[n]));
                }
                let world = World {
                    at: StopIndex(0),
                    table,
                    memory: vec![
                        Some(Value::Card(laid[remembered])),
                        Some(Value::Int(7)),
                        None,
                    ],
                    faces,
                };
                (hidden, world)
            },
        )
    }

    /// The world with its unknown cards exchanged for one another: each for the one at its place in `others`.
    fn exchanged(world: &World, hidden: &[Card], others: &[Card]) -> World {
        let other = |card: Card| match hidden.iter().position(|h| *h == card) {
            Some(place) => others[place],
            None => card,
        };
        let mut new = world.clone();
        for n in 0..2 {
            for laid in new.table.pile_mut(PileId(n)).iter_mut() {
                *laid = Laid::new(other(laid.card()), laid.face_up());
            }
        }
        for value in new.memory.iter_mut().flatten() {
            if let Value::Card(card) = value {
                *card = other(*card);
            }
        }
        for card in hidden {
            new.faces[other(*card).index()] = world.faces[card.index()];
        }
        new
    }

    fn settled(hidden: &[Card], world: &World) -> World {
        let hidden = Hidden::new(hidden.to_vec());
        let mut cores = Cores::new(usize::from(CARDS));
        let state = cores.state(world.clone());
        match hidden.settled(&mut cores, state.core, &state.cells) {
            Some((core, cells)) => cores.world(core, &cells),
            None => world.clone(),
        }
    }

    proptest! {
        #[test]
        fn worlds_that_differ_in_the_numbers_of_unknown_cards_alone_are_settled_alike(
            ((hidden, world), others) in worlds().prop_flat_map(|(hidden, world)| {
                let others = Just(hidden.clone()).prop_shuffle();
                (Just((hidden, world)), others)
            })
        ) {
            let other = exchanged(&world, &hidden, &others);
            prop_assert_eq!(settled(&hidden, &world), settled(&hidden, &other));
        }

        #[test]
        fn a_settled_world_is_the_same_but_for_the_numbers((hidden, world) in worlds()) {
            let new = settled(&hidden, &world);
            // What lies where a card lay says which it is now; those that lie nowhere are told by elimination.
            let pairs: Vec<(Card, Card)> = (0..2)
                .flat_map(|n| world.table.pile(PileId(n)).iter().zip(new.table.pile(PileId(n)).iter()))
                .map(|(before, after)| (before.card(), after.card()))
                .collect();
            for (before, after) in &pairs {
                prop_assert_eq!(hidden.contains(before), hidden.contains(after));
                prop_assert_eq!(world.faces[before.index()], new.faces[after.index()]);
                prop_assert!(hidden.contains(before) || before == after);
            }
            let rising: Vec<Card> = pairs.iter().map(|(_, after)| *after).filter(|c| hidden.contains(c)).collect();
            prop_assert_eq!(&rising[..], &hidden[..rising.len()]);
        }
    }
}
