//! Faces: what is printed on a card.

/// A suit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Suit {
    /// ♣
    Clubs,
    /// ♥
    Hearts,
    /// ♠
    Spades,
    /// ♦
    Diamonds,
}
/// A value, ace = 1 to king = 13.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Value(pub u8);
/// What is printed on a card.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Face {
    /// One of the 52.
    Standard(Value, Suit),
    /// A face the file defines, by its name.
    Custom(String),
}
