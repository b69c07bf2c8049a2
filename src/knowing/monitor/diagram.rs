//! Conditions of any kind as diagrams: which token to look at next, and what follows from what is read.

use super::Tree;
use super::atom::{Atom, Follows};
use super::claims::Ask;
use crate::cards::Card;
use crate::routine::{Fault, Scene, World};
use rustc_hash::FxHashMap;

/// A condition that would have to be worked out more often than this is not followed.
const MOST_TRIES: usize = 20_000;

/// The token for which working something out asks. `None` where it has a value, or cannot have one.
pub(super) fn asked<T>(outcome: &Result<T, Fault>) -> Option<Card> {
    match outcome {
        Err(Fault::Unfixed(card)) => Some(*card),
        Ok(_) | Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => None,
    }
}

struct Builder<'a, 'b, F> {
    ask: &'a Ask<'b>,
    holds: F,
    world: World,
    tries: usize,
    nodes: Vec<(u16, Follows)>,
    ids: FxHashMap<(u16, Follows), u32>,
}

impl<F: Fn(Scene<'_>) -> Result<bool, Fault>> Builder<'_, '_, F> {
    fn work_out(&mut self) -> Option<Result<bool, Fault>> {
        self.tries += 1;
        let scene = Scene {
            routine: self.ask.routine,
            world: &self.world,
        };
        (self.tries <= MOST_TRIES).then(|| (self.holds)(scene))
    }

    fn fix(&mut self, card: Card, print: Option<Card>) -> Option<()> {
        *self.world.faces.get_mut(card.index())? = print;
        Some(())
    }

    /// The tokens that it can ask for, with their steps.
    fn find(&mut self, found: &mut Vec<(u16, Card)>) -> Option<()> {
        let card = match self.work_out()? {
            Ok(_) => return Some(()),
            outcome @ Err(_) => asked(&outcome)?,
        };
        let entry = (self.ask.step(card)?, card);
        if !found.contains(&entry) {
            found.push(entry);
        }
        for (_, look) in self.ask.looks {
            self.fix(card, Some(look.card()))?;
            self.find(found)?;
        }
        self.fix(card, None)
    }

    /// The node that decides it with what is fixed, asking in the order of the steps.
    fn node(&mut self, order: &[(u16, Card)]) -> Option<u32> {
        if let Ok(holds) = self.work_out()? {
            return Some(u32::from(holds));
        }
        let ((step, card), rest) = order.split_first()?;
        let mut follows = Vec::with_capacity(self.ask.looks.len());
        for (id, look) in self.ask.looks {
            self.fix(*card, Some(look.card()))?;
            follows.push((*id, self.node(rest)?));
        }
        self.fix(*card, None)?;
        if follows.iter().all(|(_, node)| *node == follows[0].1) {
            return follows.first().map(|(_, node)| *node);
        }
        let key = (*step, Follows::from(follows));
        if let Some(id) = self.ids.get(&key) {
            return Some(*id);
        }
        self.nodes.push(key.clone());
        let id = u32::try_from(self.nodes.len() + 1).ok()?;
        self.ids.insert(key, id);
        Some(id)
    }
}

/// The diagram of a condition; `None` where it reads too much or a fault is possible.
pub(super) fn build(
    ask: &mut Ask<'_>,
    holds: impl Fn(Scene<'_>) -> Result<bool, Fault>,
) -> Option<Tree> {
    let mut builder = Builder {
        world: ask.world.clone(),
        ask,
        holds,
        tries: 0,
        nodes: Vec::new(),
        ids: FxHashMap::default(),
    };
    let mut order = Vec::new();
    builder.find(&mut order)?;
    order.sort_unstable();
    let root = builder.node(&order)?;
    let mut nodes = builder.nodes;
    if root < 2 {
        return Some(Tree::Is(root == 1));
    }
    // Children are made before their parents, so what the root needs lies before it, and it is the last.
    nodes.truncate(root as usize - 1);
    Some(ask.monitors.atom(Atom::Diagram(nodes)))
}
