//! The cards of a routine and their traits.

use super::custom::{Custom, check_customs, check_lists, mate_face, mates, name_of};
use super::face::{Face, Value};
use super::names::{Lang, count_letters};
use super::reading::{ReadFault, read_face_among};
use super::traits::Cards;
use super::{Card, Written};

/// A trait, by its index in [`Pack::traits`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TraitId(pub u8);

impl TraitId {
    /// The colour a card is printed in: red, black.
    pub const COLOUR: TraitId = TraitId(0);
    /// The suit: clubs, hearts, spades, diamonds.
    pub const SUIT: TraitId = TraitId(1);
    /// The value: ace to king.
    pub const VALUE: TraitId = TraitId(2);
    /// The parity of the value: odd, even.
    pub const PARITY: TraitId = TraitId(3);
    /// The parity of the number of letters of the card's name in the pack's language: odd, even.
    pub const LETTERS: TraitId = TraitId(4);
    /// Court or spot.
    pub const COURT: TraitId = TraitId(5);
    /// What is printed: cards that look alike are of one class.
    pub const FACE: TraitId = TraitId(6);

    /// The trait's index in [`Pack::traits`].
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

/// A class of a trait, by its index in [`TraitTable::labels`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Class(pub u8);

impl Class {
    /// The class's index in [`TraitTable::labels`].
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

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

/// Why a pack cannot be: all its faults, one after the other.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct PackFault(pub String);

/// All cards of a routine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pack {
    faces: Vec<Face>,
    lang: Lang,
    customs: Vec<Custom>,
    lists: Vec<(String, Vec<Face>)>,
    traits: Vec<TraitTable>,
    names: Vec<String>,
    letters: Vec<usize>,
    mates: Vec<Option<Card>>,
}

impl Pack {
    /// A pack of these faces, in this order; the same face may come more than once.
    ///
    /// # Errors
    /// When codes, names, mates, traits or lists contradict each other; all faults at once.
    pub fn new(
        faces: Vec<Face>,
        lang: Lang,
        customs: &[Custom],
        lists: &[(String, Vec<Face>)],
    ) -> Result<Pack, PackFault> {
        let mut faults = Vec::new();
        check_customs(customs, &mut faults);
        check_lists(lists, customs, &mut faults);
        for face in &faces {
            match face {
                Face::Standard(value, _) if Value::new(value.number()).is_none() => {
                    faults.push(format!("there is no value {}", value.number()));
                }
                Face::Custom(code) if !customs.iter().any(|custom| custom.code == *code) => {
                    faults.push(format!("face {code} is not defined"));
                }
                Face::Standard(..) | Face::Custom(_) => {}
            }
        }
        if u16::try_from(faces.len()).is_err() {
            faults.push(format!("{} cards are too many", faces.len()));
        }
        if !faults.is_empty() {
            return Err(PackFault(faults.join("; ")));
        }
        let names: Vec<String> = faces
            .iter()
            .map(|face| name_of(face, lang, customs))
            .collect();
        let traits = Cards {
            faces: &faces,
            names: &names,
            customs,
            lists,
        }
        .tables(&mut faults);
        if u8::try_from(traits.len()).is_err() {
            faults.push(format!("{} traits are too many", traits.len()));
        }
        if !faults.is_empty() {
            return Err(PackFault(faults.join("; ")));
        }
        Ok(Pack {
            letters: names.iter().map(|name| count_letters(name)).collect(),
            mates: mates(&faces, customs),
            customs: customs.to_vec(),
            lists: lists.to_vec(),
            faces,
            lang,
            traits,
            names,
        })
    }

    /// A pack of other faces, with the language, the custom faces and the trait lists of this one. Traits and their classes keep their
    /// numbers, except for the classes of [`TraitId::FACE`].
    ///
    /// # Errors
    /// When a face is not one of the 52 and not defined.
    pub fn with_faces(&self, faces: Vec<Face>) -> Result<Pack, PackFault> {
        Pack::new(faces, self.lang, &self.customs, &self.lists)
    }

    /// The full pack of 52, in the order of [`Face::all52`].
    ///
    /// # Errors
    /// Never for the languages there are.
    pub fn full(lang: Lang) -> Result<Pack, PackFault> {
        Pack::new(Face::all52(), lang, &[], &[])
    }

    /// How many cards.
    #[must_use]
    pub fn size(&self) -> usize {
        self.faces.len()
    }

    /// All cards, by number.
    pub fn cards(&self) -> impl Iterator<Item = Card> + use<> {
        (0..=u16::MAX).take(self.faces.len()).map(Card)
    }

    /// The face of a card.
    #[must_use]
    pub fn face(&self, card: Card) -> Option<&Face> {
        self.faces.get(card.index())
    }

    /// What is printed on each card, by number.
    #[must_use]
    pub fn faces(&self) -> &[Face] {
        &self.faces
    }

    /// The faces that the file defines.
    #[must_use]
    pub fn customs(&self) -> &[Custom] {
        &self.customs
    }

    /// The language.
    #[must_use]
    pub fn lang(&self) -> Lang {
        self.lang
    }

    /// All traits: those every pack has in the order of the constants of [`TraitId`], then the file's lists,
    /// then traits that only custom faces have.
    #[must_use]
    pub fn traits(&self) -> &[TraitTable] {
        &self.traits
    }

    /// The class of a card for a trait; `None` where the trait does not apply to it.
    #[must_use]
    pub fn class(&self, card: Card, id: TraitId) -> Option<Class> {
        self.traits
            .get(id.index())?
            .of
            .get(card.index())
            .copied()
            .flatten()
    }

    /// The label of a class: `red`; empty for a class that is not.
    #[must_use]
    pub fn label(&self, id: TraitId, class: Class) -> &str {
        self.traits
            .get(id.index())
            .and_then(|table| table.labels.get(class.index()))
            .map_or("", String::as_str)
    }

    /// The name of a trait: `colour`; empty for a trait that is not.
    #[must_use]
    pub fn trait_name(&self, id: TraitId) -> &str {
        self.traits
            .get(id.index())
            .map_or("", |table| table.name.as_str())
    }

    /// The mate of a card: same value and colour, or as the file says. Of several alike, the first goes with
    /// the first mate, the second with the second; `None` where there is no such card.
    #[must_use]
    pub fn mate_of(&self, card: Card) -> Option<Card> {
        self.mates.get(card.index()).copied().flatten()
    }

    /// Whether the prints of two cards are mates.
    #[must_use]
    pub fn are_mates(&self, a: Card, b: Card) -> bool {
        match (self.face(a), self.face(b)) {
            (Some(a), Some(b)) => mate_face(a, &self.customs).is_some_and(|mate| mate == *b),
            _ => false,
        }
    }

    /// The number of a card's value, ace = 1 to king = 13.
    #[must_use]
    pub fn value_number(&self, card: Card) -> Option<u8> {
        self.class(card, TraitId::VALUE).map(|class| class.0 + 1)
    }

    /// How many letters the card's name has in the pack's language.
    #[must_use]
    pub fn letters(&self, card: Card) -> usize {
        self.letters.get(card.index()).copied().unwrap_or_default()
    }

    /// The short code: `7H`; empty for a card that is not.
    #[must_use]
    pub fn short(&self, card: Card) -> String {
        self.face(card).map(Face::short).unwrap_or_default()
    }

    /// With the suit's sign: `7♥`; empty for a card that is not.
    #[must_use]
    pub fn symbol(&self, card: Card) -> String {
        self.face(card).map(Face::symbol).unwrap_or_default()
    }

    /// The name in words, in the pack's language: "seven of hearts"; empty for a card that is not.
    #[must_use]
    pub fn name(&self, card: Card) -> &str {
        self.names.get(card.index()).map_or("", String::as_str)
    }

    /// The card as written in one of the three ways.
    #[must_use]
    pub fn written(&self, card: Card, how: Written) -> String {
        match how {
            Written::Letters => self.short(card),
            Written::Symbols => self.symbol(card),
            Written::Words => self.name(card).to_owned(),
        }
    }

    /// Reads a card of this pack in any way it may be written; the first that bears that print.
    ///
    /// # Errors
    /// When the text is no card, or a card that is not in this pack.
    pub fn read(&self, text: &str) -> Result<Card, ReadFault> {
        let face = read_face_among(text, self.lang, &self.customs)?;
        self.first_of(&face).ok_or_else(|| {
            let name = name_of(&face, self.lang, &self.customs);
            ReadFault(format!(
                "{} ({name}) is not among the {} cards of this routine",
                face.short(),
                self.size()
            ))
        })
    }

    /// The first card that bears a print.
    #[must_use]
    pub fn first_of(&self, face: &Face) -> Option<Card> {
        self.cards()
            .zip(&self.faces)
            .find(|(_, known)| *known == face)
            .map(|(card, _)| card)
    }

    /// Whether two cards bear the same print.
    #[must_use]
    pub fn same_look(&self, a: Card, b: Card) -> bool {
        a == b || self.face(a).is_some() && self.face(a) == self.face(b)
    }
}

#[cfg(test)]
#[path = "pack_tests.rs"]
mod tests;
