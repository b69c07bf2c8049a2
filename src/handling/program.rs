//! Programs: the card-at-a-time definition of a move.
//!
//! A program is a flat list of instructions. An instruction with a body names how many of the
//! instructions right after it belong to the body, so that a program is one allocation, can be copied
//! cheaply, and any single instruction of it can be pointed at by its index.
use crate::table::{Laid, PileId};

/// An end of a pile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum End {
    /// The top.
    Top,
    /// The bottom.
    Bottom,
}

/// What becomes of a card's facing while it is carried.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Facing {
    /// It arrives facing as it lay.
    AsItLies,
    /// It is turned over.
    TurnedOver,
    /// It arrives face up, however it lay.
    Up,
    /// It arrives face down, however it lay.
    Down,
}

impl Facing {
    /// The card as it arrives.
    #[must_use]
    pub fn apply(self, laid: Laid) -> Laid {
        match self {
            Self::AsItLies => laid,
            Self::TurnedOver => laid.turned(),
            Self::Up => Laid::new(laid.card(), true),
            Self::Down => Laid::new(laid.card(), false),
        }
    }
}

/// One card from an end of a pile onto an end of another, or of the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Carry {
    /// From this pile.
    pub from: PileId,
    /// From this end.
    pub take: End,
    /// To this pile.
    pub to: PileId,
    /// Onto this end.
    pub put: End,
    /// What becomes of its facing.
    pub face: Facing,
}

impl Carry {
    /// A card from an end of a pile onto an end of a pile, facing as it lies.
    #[must_use]
    pub fn new(from: PileId, take: End, to: PileId, put: End) -> Self {
        Self {
            from,
            take,
            to,
            put,
            face: Facing::AsItLies,
        }
    }
    /// The same, with this facing.
    #[must_use]
    pub fn facing(self, face: Facing) -> Self {
        Self { face, ..self }
    }
}

/// One instruction. `body` counts the instructions right after this one that belong to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Op {
    /// One card; a fault where there is none.
    Carry(Carry),
    /// The body so many times.
    Times {
        /// How often.
        count: u16,
        /// Length of the body.
        body: u16,
    },
    /// The body while the pile holds a card.
    While {
        /// Looked at before each time.
        pile: PileId,
        /// Length of the body.
        body: u16,
    },
    /// The body while either pile holds a card.
    WhileEither {
        /// One pile looked at.
        left: PileId,
        /// The other.
        right: PileId,
        /// Length of the body.
        body: u16,
    },
    /// Free: the first or the second carry. Forced, without asking, where the source of the other is empty.
    Either(Carry, Carry),
    /// Free: the body, or nothing. Where the pile is empty the body is done without asking.
    Maybe {
        /// The cards still in hand.
        remaining: PileId,
        /// Length of the body.
        body: u16,
    },
}

/// A move as instructions, for tables with one number of piles.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Program {
    /// In order.
    pub ops: Vec<Op>,
    /// How many piles the table has for which it was made: the number of its first scratch pile.
    pub piles: u8,
    /// How many scratch piles it uses, numbered from `piles`. They begin and end empty.
    pub scratch: u8,
}

impl Program {
    /// Whether the outcome hangs on choices.
    #[must_use]
    pub fn is_free(&self) -> bool {
        self.ops.iter().any(|op| match op {
            Op::Either(..) | Op::Maybe { .. } => true,
            Op::Carry(_) | Op::Times { .. } | Op::While { .. } | Op::WhileEither { .. } => false,
        })
    }
}

/// Writes a program down instruction by instruction.
#[derive(Debug)]
pub(super) struct Writer {
    ops: Vec<Op>,
    piles: u8,
    scratch: u8,
}

impl Writer {
    /// An empty program for a table with so many piles, with room for so many scratch piles beside them:
    /// the caller has made sure that `piles + 3` fits.
    pub(super) fn new(piles: u8) -> Self {
        Self {
            ops: Vec::with_capacity(8),
            piles,
            scratch: 0,
        }
    }
    /// A fresh scratch pile.
    pub(super) fn scratch(&mut self) -> PileId {
        let pile = PileId(self.piles.saturating_add(self.scratch));
        self.scratch += 1;
        pile
    }
    /// One card, facing as it lies.
    pub(super) fn carry(&mut self, from: PileId, take: End, to: PileId, put: End) {
        self.op(Op::Carry(Carry::new(from, take, to, put)));
    }
    /// Any single instruction.
    pub(super) fn op(&mut self, op: Op) {
        self.ops.push(op);
    }
    /// The body so many times; nothing is written for no times.
    pub(super) fn times(&mut self, count: u16, body: impl FnOnce(&mut Self)) {
        if count > 0 {
            self.with_body(|body| Op::Times { count, body }, body);
        }
    }
    /// The body while the pile holds a card.
    pub(super) fn while_holds(&mut self, pile: PileId, body: impl FnOnce(&mut Self)) {
        self.with_body(|body| Op::While { pile, body }, body);
    }
    /// The body while either pile holds a card.
    pub(super) fn while_either(
        &mut self,
        left: PileId,
        right: PileId,
        body: impl FnOnce(&mut Self),
    ) {
        self.with_body(|body| Op::WhileEither { left, right, body }, body);
    }
    /// Free: the body, or nothing.
    pub(super) fn maybe(&mut self, remaining: PileId, body: impl FnOnce(&mut Self)) {
        self.with_body(|body| Op::Maybe { remaining, body }, body);
    }
    /// All of a pile onto the top of another, order kept.
    pub(super) fn lay_on_top(&mut self, from: PileId, onto: PileId) {
        self.while_holds(from, |w| w.carry(from, End::Bottom, onto, End::Top));
    }
    /// All of a pile under another, order kept.
    pub(super) fn lay_under(&mut self, from: PileId, onto: PileId) {
        self.while_holds(from, |w| w.carry(from, End::Top, onto, End::Bottom));
    }
    /// The program as written.
    pub(super) fn done(self) -> Program {
        Program {
            ops: self.ops,
            piles: self.piles,
            scratch: self.scratch,
        }
    }

    fn with_body(&mut self, head: impl Fn(u16) -> Op, body: impl FnOnce(&mut Self)) {
        let at = self.ops.len();
        self.ops.push(head(0));
        body(self);
        // The longest body is one round of a deal, which has at most `u16::MAX` cards.
        let length = u16::try_from(self.ops.len() - at - 1).unwrap_or(u16::MAX);
        self.ops[at] = head(length);
    }
}
