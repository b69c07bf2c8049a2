//! What is done at a step: moves whose counts are expressions, and ways of doing several.

use super::expr::Expr;
use super::model::NameId;
use crate::handling::{End, Halves, Kept, Over, Weave};
use crate::table::PileId;

/// A word, or the name of a card.
#[derive(Debug, Clone)]
pub enum Words {
    /// As written.
    Plain(String),
    /// The name of a card in the routine's language.
    CardName(Expr),
}

/// Counting along a chain of values: from a place, each card's value says how many cards on the next lies.
#[derive(Debug, Clone)]
pub struct Chain {
    /// In this pile.
    pub pile: PileId,
    /// From this place.
    pub from: Expr,
    /// What court cards count; their own value (11, 12, 13) when absent.
    pub court: Option<u16>,
    /// The place of the last card reached is remembered under this name.
    pub name: NameId,
}

/// One thing done: a move whose counts are expressions, or a way of doing several.
#[derive(Debug, Clone)]
pub enum Act {
    /// A complete cut of the top `at` cards.
    Cut {
        /// Pile.
        pile: PileId,
        /// How many go under.
        at: Expr,
    },
    /// A block of cards from an end to an end; order kept (`move`) or reversed (`count`).
    Block {
        /// From.
        from: PileId,
        /// From which end.
        take: End,
        /// How many; all when absent.
        count: Option<Expr>,
        /// To.
        to: PileId,
        /// On which end.
        put: End,
        /// Order.
        order: Kept,
    },
    /// Deal one by one round the piles.
    Deal {
        /// From the top of.
        from: PileId,
        /// Round these.
        to: Vec<PileId>,
        /// How many; all when absent.
        count: Option<Expr>,
        /// Face up, face down, or as they lie.
        up: Option<bool>,
    },
    /// Gather piles, the first named on top.
    Gather {
        /// Fixed order, top first.
        piles: Vec<PileId>,
        /// Or the value of this expression (an order of piles).
        by: Option<Expr>,
        /// The gathered packet lies here.
        onto: PileId,
    },
    /// Deal one down, one under … until `leave` are left in the pile (0: all are dealt).
    DownUnder {
        /// From.
        pile: PileId,
        /// The dealt cards.
        to: PileId,
        /// Cards left.
        leave: Expr,
        /// First card under instead of down.
        first_under: bool,
    },
    /// Top and bottom card together, each pair onto the last.
    Klondike(PileId),
    /// Monge.
    Monge {
        /// Pile.
        pile: PileId,
        /// Second card over or under.
        second: Over,
    },
    /// Perfect riffle.
    Faro {
        /// Pile.
        pile: PileId,
        /// In or out.
        weave: Weave,
    },
    /// Alternate cards out, halves stacked.
    InverseFaro {
        /// Pile.
        pile: PileId,
        /// Which half goes on top; by an expression (true: the first, third, … cards) or fixed.
        top: Halves,
        /// The expression, when a choice decides.
        by: Option<Expr>,
    },
    /// Riffle two piles by a choice.
    Riffle {
        /// Left.
        left: PileId,
        /// Right.
        right: PileId,
        /// Result.
        to: PileId,
        /// The choice.
        by: NameId,
    },
    /// Overhand shuffle by a choice.
    Overhand {
        /// Pile.
        pile: PileId,
        /// The choice.
        by: NameId,
    },
    /// Turn the top cards over as one block.
    Turn {
        /// Pile.
        pile: PileId,
        /// How many; all when absent.
        count: Option<Expr>,
    },
    /// Turn single cards over, each in its place.
    TurnEach {
        /// Pile.
        pile: PileId,
        /// Places.
        at: Vec<Expr>,
        /// Or a choice of places.
        by: Option<NameId>,
    },
    /// Reverse the order, facing kept.
    Reverse(PileId),
    /// Take a card out of a pile onto an end of another.
    Take {
        /// From.
        from: PileId,
        /// Its place.
        at: Expr,
        /// To.
        to: PileId,
        /// On which end.
        put: End,
    },
    /// Put the top card of a pile back into another, at a place.
    Put {
        /// From the top of.
        from: PileId,
        /// Into.
        to: PileId,
        /// It lies at this place then.
        at: Expr,
    },
    /// Swap two cards.
    Swap {
        /// Pile.
        pile: PileId,
        /// One place.
        a: Expr,
        /// The other.
        b: Expr,
    },
    /// Deal one card for each letter.
    Spell {
        /// From the top of.
        from: PileId,
        /// Onto the top of.
        to: PileId,
        /// What is spelled.
        words: Words,
    },
    /// Count along a chain.
    Chain(Chain),
    /// Several times.
    Repeat {
        /// How often, at most 200.
        times: Expr,
        /// What.
        acts: Vec<Act>,
    },
    /// Only if.
    When {
        /// The condition.
        when: Expr,
        /// Then.
        then: Vec<Act>,
        /// Otherwise.
        otherwise: Vec<Act>,
    },
}
