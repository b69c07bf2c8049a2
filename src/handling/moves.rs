//! Moves with all counts known.
use super::program::End;
use crate::table::{PileId, Place};
/// Whether a block keeps its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kept {
    /// Lifted together.
    Kept,
    /// Counted off one by one.
    Reversed,
}
/// Monge: where the second card goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Over {
    /// Over the first.
    Over,
    /// Under the first.
    Under,
}
/// Which perfect riffle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Weave {
    /// The top card stays on top.
    Out,
    /// The top card goes second.
    In,
}
/// Inverse faro: which half goes on top.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Halves {
    /// Cards 1, 3, 5 …
    OddsOnTop,
    /// Cards 2, 4, 6 …
    EvensOnTop,
}
/// A move with every count known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Move {
    /// Complete cut.
    Cut {
        /// Pile.
        pile: PileId,
        /// So many go under.
        at: u16,
    },
    /// A block from end to end.
    Block {
        /// From.
        from: PileId,
        /// From this end.
        take: End,
        /// How many.
        count: u16,
        /// To.
        to: PileId,
        /// Onto this end.
        put: End,
        /// Order.
        order: Kept,
    },
    /// Deal round piles, each card onto the top.
    Deal {
        /// From the top.
        from: PileId,
        /// Round these.
        to: Vec<PileId>,
        /// How many.
        count: u16,
        /// Face up, down, or as they lie.
        up: Option<bool>,
    },
    /// Gather piles, first on top; the packet lies at `onto`.
    Gather {
        /// Top first.
        piles: Vec<PileId>,
        /// Result.
        onto: PileId,
    },
    /// Down-under or under-down.
    DownUnder {
        /// From.
        pile: PileId,
        /// Dealt cards.
        to: PileId,
        /// So many stay; 0 deals all.
        leave: u16,
        /// First card under.
        first_under: bool,
    },
    /// Klondike.
    Klondike(PileId),
    /// Monge.
    Monge(PileId, Over),
    /// Perfect riffle.
    Faro(PileId, Weave),
    /// Inverse faro.
    InverseFaro(PileId, Halves),
    /// Riffle; the choices are decided by the chooser.
    Riffle {
        /// Left.
        left: PileId,
        /// Right.
        right: PileId,
        /// Result.
        to: PileId,
    },
    /// Overhand shuffle; the breaks are decided by the chooser.
    Overhand(PileId),
    /// The top cards turned over as a block.
    Turn {
        /// Pile.
        pile: PileId,
        /// How many.
        count: u16,
    },
    /// Single cards turned over in place.
    TurnEach {
        /// Pile.
        pile: PileId,
        /// Places.
        places: Vec<Place>,
    },
    /// Order reversed, facing kept.
    Reverse(PileId),
    /// Take a card out.
    Take {
        /// From.
        from: PileId,
        /// Place.
        at: Place,
        /// To.
        to: PileId,
        /// Onto this end.
        put: End,
    },
    /// Put the top card of a pile in at a place.
    Put {
        /// From the top of.
        from: PileId,
        /// Into.
        to: PileId,
        /// Where it then lies.
        at: Place,
    },
    /// Swap two cards.
    Swap {
        /// Pile.
        pile: PileId,
        /// One.
        a: Place,
        /// The other.
        b: Place,
    },
}

impl Move {
    /// The piles it names, once for each naming.
    #[must_use]
    pub fn piles(&self) -> Vec<PileId> {
        match self {
            Self::Cut { pile, .. }
            | Self::Klondike(pile)
            | Self::Monge(pile, _)
            | Self::Faro(pile, _)
            | Self::InverseFaro(pile, _)
            | Self::Overhand(pile)
            | Self::Turn { pile, .. }
            | Self::TurnEach { pile, .. }
            | Self::Reverse(pile)
            | Self::Swap { pile, .. } => vec![*pile],
            Self::Block { from, to, .. }
            | Self::Take { from, to, .. }
            | Self::Put { from, to, .. } => vec![*from, *to],
            Self::DownUnder { pile, to, .. } => vec![*pile, *to],
            Self::Riffle { left, right, to } => vec![*left, *right, *to],
            Self::Deal { from, to, .. } => std::iter::once(from).chain(to).copied().collect(),
            Self::Gather { piles, onto } => piles.iter().chain([onto]).copied().collect(),
        }
    }
}
