//! Why a move cannot be done.
use crate::table::{PileId, Place};

/// Why a move cannot be done, with the numbers that whoever words it for people needs.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum HandlingFault {
    /// The table has no such pile.
    #[error("there is no pile {}", .0.index() + 1)]
    NoPile(PileId),
    /// A pile holds fewer cards than the move needs.
    #[error("pile {} holds {has} cards where {wanted} are needed", .pile.index() + 1)]
    TooFew {
        /// The pile.
        pile: PileId,
        /// So many are needed.
        wanted: usize,
        /// So many are there.
        has: usize,
    },
    /// A place that the pile does not have.
    #[error("pile {} has no place {} ({has} cards)", .pile.index() + 1, .place.0)]
    NoPlace {
        /// The pile.
        pile: PileId,
        /// The place asked for.
        place: Place,
        /// How many cards the pile holds.
        has: usize,
    },
    /// A pile is named twice where two different ones are needed.
    #[error("pile {} is named twice", .0.index() + 1)]
    PileTwice(PileId),
    /// A place is named twice.
    #[error("place {} is named twice", .0.0)]
    PlaceTwice(Place),
    /// A deal names no pile to deal to.
    #[error("there is no pile to deal to")]
    NoPiles,
    /// More piles than can be numbered.
    #[error("there are too many piles on the table")]
    TooManyPiles,
    /// A weave or chunks that do not fit the cards.
    #[error("the choices do not fit the cards: {given} given, {used} used")]
    Unfit {
        /// So many choices were given: cards of a weave, or cards in all chunks.
        given: usize,
        /// So many of them fitted.
        used: usize,
    },
    /// A program was run on a table it was not made for, or one that leaves cards on scratch piles.
    #[error("this program was not made for this table")]
    Misfit,
    /// The outcome hangs on choices, or lies in more than one pile, so that it is not one permutation.
    #[error("this is not one permutation of one packet")]
    NotOnePacket,
}
