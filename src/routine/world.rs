//! A state of the routine as it runs, and the scene that expressions and claims look at.

use super::Routine;
use super::expr::Kind;
use super::model::{NameId, StopIndex};
use crate::cards::Card;
use crate::table::{Laid, PileId, Table};
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

impl Value {
    /// Its kind.
    #[must_use]
    pub fn kind(&self) -> Kind {
        match self {
            Self::Int(_) => Kind::Int,
            Self::Bool(_) => Kind::Bool,
            Self::Text(_) => Kind::Text,
            Self::Card(_) => Kind::Card,
            Self::Pile(_) => Kind::Pile,
            Self::Order(_) => Kind::Order,
            Self::Places(_) => Kind::Places,
            Self::Weave(_) => Kind::Weave,
            Self::Chunks(_) => Kind::Chunks,
        }
    }
    fn unfit<T>(&self, wanted: Kind) -> Result<T, Fault> {
        Err(Fault::Value(format!(
            "{} is needed, but this is {}",
            wanted.words(),
            self.kind().words()
        )))
    }
    /// The number.
    ///
    /// # Errors
    /// When it is of another kind; so too for the others below.
    pub fn as_int(&self) -> Result<i64, Fault> {
        if let Self::Int(n) = self {
            Ok(*n)
        } else {
            self.unfit(Kind::Int)
        }
    }
    /// True or false.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn as_bool(&self) -> Result<bool, Fault> {
        if let Self::Bool(b) = self {
            Ok(*b)
        } else {
            self.unfit(Kind::Bool)
        }
    }
    /// The word.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn as_text(&self) -> Result<&Arc<str>, Fault> {
        if let Self::Text(word) = self {
            Ok(word)
        } else {
            self.unfit(Kind::Text)
        }
    }
    /// The card.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn as_card(&self) -> Result<Card, Fault> {
        if let Self::Card(card) = self {
            Ok(*card)
        } else {
            self.unfit(Kind::Card)
        }
    }
    /// The pile.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn as_pile(&self) -> Result<PileId, Fault> {
        if let Self::Pile(pile) = self {
            Ok(*pile)
        } else {
            self.unfit(Kind::Pile)
        }
    }
    /// The order of piles.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn as_order(&self) -> Result<&[PileId], Fault> {
        if let Self::Order(piles) = self {
            Ok(piles)
        } else {
            self.unfit(Kind::Order)
        }
    }
    /// The places.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn as_places(&self) -> Result<&[u16], Fault> {
        if let Self::Places(places) = self {
            Ok(places)
        } else {
            self.unfit(Kind::Places)
        }
    }
    /// The interleaving.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn as_weave(&self) -> Result<&[bool], Fault> {
        if let Self::Weave(weave) = self {
            Ok(weave)
        } else {
            self.unfit(Kind::Weave)
        }
    }
    /// The chunks.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn as_chunks(&self) -> Result<&[u16], Fault> {
        if let Self::Chunks(chunks) = self {
            Ok(chunks)
        } else {
            self.unfit(Kind::Chunks)
        }
    }
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

impl Scene<'_> {
    /// The card at a place of a pile, from 1; negative numbers count from the bottom (−1 is the bottom card).
    ///
    /// # Errors
    /// When the pile has no such place.
    pub fn laid(&self, pile: PileId, at: i64) -> Result<Laid, Fault> {
        let cards = self.world.table.pile(pile);
        let index = match at {
            ..0 => i64::try_from(cards.len())
                .ok()
                .and_then(|n| n.checked_add(at)),
            0 => None,
            1.. => at.checked_sub(1),
        };
        index
            .and_then(|i| usize::try_from(i).ok())
            .and_then(|i| cards.get(i))
            .copied()
            .ok_or_else(|| {
                let name = self.routine.pile_name(pile);
                Fault::Value(match cards.len() {
                    0 => format!("the pile `{name}` is empty; it has no place {at}"),
                    n => format!("the pile `{name}` has {n} cards; it has no place {at}"),
                })
            })
    }
}

impl<'a> Scene<'a> {
    /// The stop that comes next.
    #[must_use]
    pub fn stop(self) -> Option<&'a super::model::Stop> {
        self.routine.stop(self.world.at)
    }
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
