//! Claims that hold cells against one another, or against how they lay before.

use super::Tree;
use super::atom::{Atom, InPair, Keys, NO_KEY};
use super::claims::{Ask, Cell, by_step};
use crate::cards::{Card, TraitId};
use crate::table::{Laid, PileId};
use std::sync::Arc;

impl Ask<'_> {
    /// Whether in each pair the two are mates, or of one class.
    pub(super) fn pairs(
        &mut self,
        pairs: Vec<(Cell, Cell)>,
        class: Option<TraitId>,
    ) -> Option<Tree> {
        let pack = &self.routine.pack;
        let agree = |one: Laid, other: Laid| match class {
            Some(class) => {
                let of = |laid: Laid| pack.class(laid.card(), class);
                of(one).is_some() && of(one) == of(other)
            }
            None => pack.are_mates(one.card(), other.card()),
        };
        let mut fits = Vec::new();
        let mut at = Vec::new();
        for (pair, (one, other)) in (0..).zip(pairs) {
            match (one, other) {
                (Cell::Card(one), Cell::Card(other)) => {
                    let (one, other) = (self.printed(one)?, self.printed(other)?);
                    if !agree(one, other) {
                        return Some(Tree::Is(false));
                    }
                }
                (Cell::Card(one), Cell::Token { step, .. }) => {
                    let one = self.printed(one)?;
                    fits.push((step, self.looks_that(|look| agree(one, look))));
                }
                (Cell::Token { step, .. }, Cell::Card(other)) => {
                    let other = self.printed(other)?;
                    fits.push((step, self.looks_that(|look| agree(look, other))));
                }
                (Cell::Token { step: one, .. }, Cell::Token { step: other, .. }) => {
                    *by_step(&mut at, one) = Some(InPair {
                        pair,
                        second: false,
                    });
                    *by_step(&mut at, other) = Some(InPair { pair, second: true });
                }
            }
        }
        let fits = self.fits(fits);
        let (first, second) = match class {
            Some(class) => (self.classes(class), self.classes(class)),
            None => self.mates(),
        };
        let pairs = self.monitors.atom(Atom::Pairs { at, first, second });
        Some(Tree::all(vec![fits, pairs]))
    }

    /// A card as it is printed.
    fn printed(&self, laid: Laid) -> Option<Laid> {
        let print = self.scene().print(laid.card()).ok()?;
        Some(Laid::new(print, laid.face_up()))
    }

    /// Keys by which two looks are mates: the first key of the one is the second key of the other.
    fn mates(&self) -> (Keys, Keys) {
        let pack = &self.routine.pack;
        let print = |card: Card| pack.face(card).and_then(|face| pack.first_of(face));
        let own = |card: Card| print(card).map_or(NO_KEY, |first| u32::from(first.0));
        let mates = |card: Card| {
            let mate = self
                .looks
                .iter()
                .find(|(_, other)| pack.are_mates(card, other.card()));
            mate.map_or(NO_KEY, |(_, other)| own(other.card()))
        };
        let of = |key: &dyn Fn(Card) -> u32| -> Keys {
            self.looks
                .iter()
                .map(|(id, look)| (*id, key(look.card())))
                .collect()
        };
        (of(&mates), of(&own))
    }

    /// Whether a pile is as it was, up to rotation or reversal.
    pub(super) fn same_as(
        &mut self,
        pile: PileId,
        then: &[Laid],
        class: Option<TraitId>,
        (rotation, reversal): (bool, bool),
    ) -> Option<Tree> {
        let cells = self.cells(pile)?;
        let n = cells.len();
        if n != then.len() {
            return Some(Tree::Is(false));
        }
        let own = |laid: Laid| u32::from(laid.card().0);
        let key = |laid: Laid| match class {
            Some(class) => self.class(laid, class),
            None => Some(own(laid)),
        };
        let then = then
            .iter()
            .map(|laid| key(*laid))
            .collect::<Option<Vec<u32>>>()?;
        let back: Vec<u32> = then.iter().rev().copied().collect();
        let mut wanted: Vec<Arc<[u32]>> = Vec::new();
        for keys in [Some(then), reversal.then_some(back)].into_iter().flatten() {
            for by in 0..if rotation { n.max(1) } else { 1 } {
                let mut turned = keys.clone();
                turned.rotate_left(by);
                wanted.push(turned.into());
            }
        }
        wanted.sort_unstable();
        wanted.dedup();
        let mut at = Vec::new();
        for (place, cell) in (0_u32..).zip(&cells) {
            match cell {
                Cell::Card(laid) => {
                    let is = key(*laid)?;
                    wanted.retain(|keys| keys[place as usize] == is);
                }
                Cell::Token { step, .. } => *by_step(&mut at, *step) = Some(place),
            }
        }
        let key = match class {
            Some(class) => self.classes(class),
            None => self
                .looks
                .iter()
                .map(|(id, look)| (*id, own(*look)))
                .collect(),
        };
        Some(self.monitors.atom(Atom::Among { at, key, wanted }))
    }
}
