//! Claims: what must be true of the table after a step.

mod holds;
mod words;

use super::expr::Expr;
use crate::cards::{Class, TraitId};
use crate::table::{PileId, Table};

/// A claim with its words.
#[derive(Debug, Clone)]
pub struct Claim {
    /// In words, for people.
    pub words: String,
    /// What must be true.
    pub kind: ClaimKind,
    /// Line in the file, from 1.
    pub line: u32,
}

/// What a place must hold in a sequence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wanted {
    /// Anything.
    Any,
    /// A card of this class of this trait.
    Is(TraitId, Class),
}

/// What must be true.
#[derive(Debug, Clone)]
pub enum ClaimKind {
    /// All cards of these piles together are of one class; a card to which the trait does not apply breaks it. True of
    /// no cards at all.
    AllOne {
        /// Piles.
        piles: Vec<PileId>,
        /// Trait.
        class: TraitId,
    },
    /// Place by place from the top; a card to which the trait does not apply is of no class.
    Sequence {
        /// Pile.
        pile: PileId,
        /// One for each place, the pile being exactly so long.
        wanted: Vec<Wanted>,
    },
    /// Every block of `of` cards from the top holds cards of `of` different classes: with as many classes as cards, one of
    /// each. The pile must divide into whole blocks: cards left over at the bottom break it, and so does a card to
    /// which the trait does not apply. True of an empty pile.
    Blocks {
        /// Pile.
        pile: PileId,
        /// Block size.
        of: u16,
        /// Trait.
        class: TraitId,
    },
    /// So many cards of a class, or facing up, in these piles together; only at odd or even places by `places`, which
    /// are counted in each pile on its own.
    Count {
        /// Piles.
        piles: Vec<PileId>,
        /// Of this class; all when absent.
        wanted: Option<Wanted>,
        /// Facing; either when absent.
        up: Option<bool>,
        /// 0 all places, 1 odd places, 2 even places.
        places: u8,
        /// How many.
        is: Expr,
    },
    /// A card lies at a place of a pile (negative: from the bottom). False when the pile has no such place.
    Place {
        /// The card.
        card: Expr,
        /// Pile.
        pile: PileId,
        /// Place.
        is: Expr,
    },
    /// Place i and place n+1−i agree: mates, or one class of a trait. The middle card of an odd pile has no partner
    /// and may be any.
    Mirror {
        /// Pile.
        pile: PileId,
        /// Trait; mates when absent.
        class: Option<TraitId>,
    },
    /// Places 1 and 2, 3 and 4, … are mates; a card left over at the bottom breaks it.
    MatesTogether(PileId),
    /// The same cards in the same order as at the start, up to rotation or reversal (with both, up to both at once).
    /// Which way they face does not matter.
    SameAs {
        /// Pile.
        pile: PileId,
        /// To compare with.
        as_was: Table,
        /// Card by card when absent (two cards that look alike are still two), else class by class of this trait.
        class: Option<TraitId>,
        /// Up to rotation.
        rotation: bool,
        /// Up to reversal.
        reversal: bool,
    },
    /// The values of the cards of these piles add up.
    Sum {
        /// Piles.
        piles: Vec<PileId>,
        /// What court cards count; own value when absent.
        court: Option<u16>,
        /// To this.
        is: Expr,
    },
    /// All of these.
    And(Vec<ClaimKind>),
    /// One of these at least.
    Or(Vec<ClaimKind>),
    /// Not this.
    Not(Box<ClaimKind>),
    /// An expression is true.
    Expr(Expr),
}

impl ClaimKind {
    /// Puts the table at the start into every claim that compares with it.
    pub fn remember_start(&mut self, start: &Table) {
        match self {
            Self::SameAs { as_was, .. } => as_was.clone_from(start),
            Self::And(parts) | Self::Or(parts) => {
                for part in parts {
                    part.remember_start(start);
                }
            }
            Self::Not(part) => part.remember_start(start),
            Self::AllOne { .. }
            | Self::Sequence { .. }
            | Self::Blocks { .. }
            | Self::Count { .. }
            | Self::Place { .. }
            | Self::Mirror { .. }
            | Self::MatesTogether(_)
            | Self::Sum { .. }
            | Self::Expr(_) => {}
        }
    }
}

#[cfg(test)]
mod tests;
