//! Claims: what must be true of the table after a step.

use super::expr::Expr;
use super::world::{Fault, Scene};
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
    /// All cards of these piles are of one class.
    AllOne {
        /// Piles.
        piles: Vec<PileId>,
        /// Trait.
        class: TraitId,
    },
    /// Place by place from the top.
    Sequence {
        /// Pile.
        pile: PileId,
        /// One for each place, the pile being exactly so long.
        wanted: Vec<Wanted>,
    },
    /// Every block of `of` cards from the top holds one of each class (or, with two cards, one of each of two).
    Blocks {
        /// Pile.
        pile: PileId,
        /// Block size.
        of: u16,
        /// Trait.
        class: TraitId,
    },
    /// So many cards of a class, or facing up, in these piles (`only_odd`/`only_even` places by `places`).
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
    /// A card lies at a place of a pile.
    Place {
        /// The card.
        card: Expr,
        /// Pile.
        pile: PileId,
        /// Place.
        is: Expr,
    },
    /// Place i and place n+1−i agree: mates, or one class of a trait.
    Mirror {
        /// Pile.
        pile: PileId,
        /// Trait; mates when absent.
        class: Option<TraitId>,
    },
    /// Places 1 and 2, 3 and 4, … are mates.
    MatesTogether(PileId),
    /// The same cards in the same order as at the start, up to rotation or reversal.
    SameAs {
        /// Pile.
        pile: PileId,
        /// To compare with.
        as_was: Table,
        /// By identity when absent, else by this trait.
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
    /// Whether it holds.
    ///
    /// # Errors
    /// See [`Fault`].
    pub fn holds(&self, _scene: Scene<'_>) -> Result<bool, Fault> {
        Err(Fault::Value(String::new()))
    }
}
