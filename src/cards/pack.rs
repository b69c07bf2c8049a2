//! The cards of a routine and their traits.
use super::{Card, Face, Lang};

/// A trait, by its index in [`Pack::traits`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TraitId(pub u8);
/// A class of a trait, by its index in [`TraitTable::labels`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Class(pub u8);
/// One trait, worked out for every card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TraitTable {
    /// Its name, as files and questions use it: `colour`.
    pub name: String,
    /// Its classes' names: `red`, `black`.
    pub labels: Vec<String>,
    /// By card number; `None` where the trait does not apply.
    pub of: Vec<Option<Class>>,
}
/// A face that a file defines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Custom {
    /// Short code, as lists write it.
    pub code: String,
    /// Name in words.
    pub name: String,
    /// Traits it has: name and class.
    pub traits: Vec<(String, String)>,
    /// Code of its mate.
    pub mate: Option<String>,
}
/// Why a pack cannot be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct PackFault(pub String);
/// All cards of a routine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pack {
    faces: Vec<Face>,
    lang: Lang,
    traits: Vec<TraitTable>,
}
impl Pack {
    /// How many cards.
    #[must_use]
    pub fn size(&self) -> usize {
        self.faces.len()
    }
    /// The face of a card.
    #[must_use]
    pub fn face(&self, card: Card) -> Option<&Face> {
        self.faces.get(card.index())
    }
    /// The language.
    #[must_use]
    pub fn lang(&self) -> Lang {
        self.lang
    }
    /// All traits.
    #[must_use]
    pub fn traits(&self) -> &[TraitTable] {
        &self.traits
    }
}
