//! A state of the routine as it runs, and the scene that expressions and claims look at.

use super::Routine;
use super::model::{NameId, StopIndex};
use crate::cards::Card;
use crate::table::{PileId, Table};
use std::sync::Arc;

/// A value: a choice, a reply, a reckoning, the result of an expression.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Value {
    /// A whole number.
    Int(i64),
    /// True or false.
    Bool(bool),
    /// A word: a named option, a colour, the name of a class.
    Text(Arc<str>),
    /// One physical card.
    Card(Card),
    /// A pile.
    Pile(PileId),
    /// Piles in an order.
    Order(Arc<[PileId]>),
    /// Places from the top, rising, each from 1.
    Places(Arc<[u16]>),
    /// An interleaving, from the top of the riffled packet down: true takes from the left part.
    Weave(Arc<[bool]>),
    /// The sizes of the chunks of an overhand shuffle, in the order they are pulled off the top.
    Chunks(Arc<[u16]>),
}

/// A state of the routine. Compared whole, never by hash alone.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct World {
    /// The stop that comes next.
    pub at: StopIndex,
    /// The piles.
    pub table: Table,
    /// The choices, replies and reckonings remembered, by [`NameId`].
    pub memory: Vec<Option<Value>>,
    /// What is printed on each card, by card number, where the order of some cards is unknown; empty when every card
    /// is known from the start. `None` is a card whose face nothing has fixed yet.
    pub faces: Vec<Option<Card>>,
}

impl World {
    /// The card whose print this card bears: itself, unless it came from a shuffled deck. `None` where it is not fixed yet.
    #[must_use]
    pub fn face_of(&self, card: Card) -> Option<Card> {
        if self.faces.is_empty() {
            Some(card)
        } else {
            self.faces.get(card.index()).copied().flatten()
        }
    }
    /// The value remembered under a name.
    #[must_use]
    pub fn value(&self, name: NameId) -> Option<&Value> {
        self.memory.get(name.index()).and_then(Option::as_ref)
    }
}

/// What an expression or a claim looks at.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// The routine: its pack, the names of its piles.
    pub routine: &'a Routine,
    /// The state.
    pub world: &'a World,
}

/// Why a step, an expression or a claim could not be worked out on a state.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// The face of a card of unknown order is needed; whoever explores must fix it first.
    #[error("what is printed on card {} is not known yet", .0.0)]
    Unfixed(Card),
    /// A move cannot be done on this table.
    #[error(transparent)]
    Handling(#[from] crate::handling::HandlingFault),
    /// A value is missing or of the wrong kind, a division by zero, a number too large.
    #[error("{0}")]
    Value(String),
    /// A choice that the fork does not offer.
    #[error("{0}")]
    Choice(String),
}
