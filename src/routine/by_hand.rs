//! Routines and tables built by hand, for tests.

use super::model::{Name, NameKind, StopIndex};
use super::world::{Scene, Value, World};
use super::{Expr, Routine};
use crate::cards::{Card, Lang, Pack};
use crate::table::{Laid, Table};

/// A routine on the full pack, and a state of it.
pub(super) struct ByHand {
    pub(super) routine: Routine,
    pub(super) world: World,
}

impl ByHand {
    /// Piles by name, with their cards from the top: `7H 2C^` (`^` lies face up).
    pub(super) fn new(piles: &[(&str, &str)]) -> Self {
        let names: Vec<&str> = piles.iter().map(|(name, _)| *name).collect();
        let mut routine = Routine::bare(Pack::full(Lang::EnGb).unwrap(), &names);
        let mut table = Table::empty(piles.len());
        for (name, cards) in piles {
            let pile = table.pile_mut(routine.find_pile(name).unwrap());
            for card in cards.split_whitespace() {
                let (code, up) = card.strip_suffix('^').map_or((card, false), |c| (c, true));
                pile.push_back(Laid::new(routine.pack.read(code).unwrap(), up));
            }
        }
        routine.start = table.clone();
        Self {
            routine,
            world: World {
                at: StopIndex(0),
                table,
                memory: Vec::new(),
                faces: Vec::new(),
            },
        }
    }
    /// The same with a choice remembered.
    pub(super) fn with(mut self, name: &str, value: Value) -> Self {
        self.routine.names.push(Name {
            name: name.to_owned(),
            kind: NameKind::Fork,
            about: None,
        });
        self.world.memory.push(Some(value));
        self
    }
    pub(super) fn scene(&self) -> Scene<'_> {
        Scene {
            routine: &self.routine,
            world: &self.world,
        }
    }
    pub(super) fn card(&self, code: &str) -> Card {
        self.routine.pack.read(code).unwrap()
    }
    pub(super) fn expr(&self, source: &str) -> Expr {
        Expr::compile(source, &self.routine).unwrap()
    }
}
