//! Names of cards in each language, from data files.

/// A language of card names and patter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Lang {
    /// British English.
    EnGb,
    /// American English.
    EnUs,
    /// German.
    De,
    /// Spanish.
    Es,
    /// French.
    Fr,
    /// Italian.
    It,
}
/// Letters in a text.
#[must_use]
pub fn count_letters(text: &str) -> usize {
    text.chars().filter(|c| c.is_alphabetic()).count()
}
