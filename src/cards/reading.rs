//! Reading cards as people write them.
use super::Face;
/// How a card is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// `7H`
    Letters,
    /// `7♥`
    Symbols,
    /// "seven of hearts"
    Words,
}
/// Why a text is not a card.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct ReadFault(pub String);
/// Reads a face.
///
/// # Errors
/// When the text is no card.
pub fn read_face(text: &str) -> Result<Face, ReadFault> {
    Err(ReadFault(text.to_owned()))
}
