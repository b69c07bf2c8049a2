//! Programs: the card-at-a-time definition of a move.
use crate::table::PileId;
/// An end of a pile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum End {
    /// The top.
    Top,
    /// The bottom.
    Bottom,
}
/// One card from an end of a pile onto an end of another.
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
    /// Turned over on the way.
    pub turn: bool,
}
/// One instruction.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Op {
    /// One card.
    Carry(Carry),
    /// The body so many times.
    Times(u16, Vec<Op>),
    /// The body while the pile holds a card.
    While(PileId, Vec<Op>),
    /// The body while either pile holds a card.
    WhileEither(PileId, PileId, Vec<Op>),
    /// Free: one of two; forced when one source is empty.
    Either(Carry, Carry),
    /// Free: the body, or nothing.
    Maybe(Vec<Op>),
}
/// A move as instructions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Program {
    /// In order.
    pub ops: Vec<Op>,
    /// How many scratch piles it uses, numbered from the table's pile count.
    pub scratch: u8,
}
