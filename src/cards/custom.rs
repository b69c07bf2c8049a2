//! Faces that a file defines: what they may say of themselves, their names and their mates.

use super::Card;
use super::face::Face;
use super::names::{Lang, fold};
use super::reading::read_face;
use super::traits::BUILT_IN;

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

pub(super) fn name_of(face: &Face, lang: Lang, customs: &[Custom]) -> String {
    match face {
        Face::Standard(value, suit) => lang.card_name(*value, *suit),
        Face::Custom(code) => customs
            .iter()
            .find(|custom| custom.code == *code)
            .map_or_else(|| code.clone(), |custom| custom.name.clone()),
    }
}

/// The print of a card's mate. A custom face that names none is the mate of the one that names it.
pub(super) fn mate_face(face: &Face, customs: &[Custom]) -> Option<Face> {
    let Face::Custom(code) = face else {
        return face.mate();
    };
    let own = customs
        .iter()
        .find(|custom| custom.code == *code)?
        .mate
        .clone();
    let named_by = || {
        customs
            .iter()
            .find(|custom| custom.mate.as_ref() == Some(code))
            .map(|custom| custom.code.clone())
    };
    own.or_else(named_by).map(Face::Custom)
}

/// Mates by card number: the k-th of a print with the k-th of its mate's print.
pub(super) fn mates(faces: &[Face], customs: &[Custom]) -> Vec<Option<Card>> {
    faces
        .iter()
        .enumerate()
        .map(|(at, face)| {
            let mate = mate_face(face, customs)?;
            let before = faces.iter().take(at).filter(|known| *known == face).count();
            let (place, _) = faces
                .iter()
                .enumerate()
                .filter(|(_, known)| **known == mate)
                .nth(before)?;
            u16::try_from(place).ok().map(Card)
        })
        .collect()
}

pub(super) fn check_customs(customs: &[Custom], faults: &mut Vec<String>) {
    for (at, custom) in customs.iter().enumerate() {
        let code = &custom.code;
        if code.is_empty()
            || code
                .chars()
                .any(|c| c.is_whitespace() || c.is_control() || matches!(c, '^' | ',' | '=' | '"'))
        {
            faults.push(format!(
                "face {code:?}: a code is one word without ^ , = \""
            ));
        } else if read_face(code).is_ok() {
            faults.push(format!(
                "face {code}: this code is one of the 52 cards already"
            ));
        }
        if fold(&custom.name).is_empty() || custom.name.chars().any(char::is_control) {
            faults.push(format!("face {code}: it needs a name"));
        }
        let before = || customs.iter().take(at);
        if before().any(|other| other.code.to_lowercase() == code.to_lowercase()) {
            faults.push(format!("face {code} is defined twice"));
        }
        if before().any(|other| other.code != *code && fold(&other.name) == fold(&custom.name)) {
            faults.push(format!(
                "face {code}: another face has the name {}",
                custom.name
            ));
        }
        let Some(mate) = &custom.mate else { continue };
        if mate == code {
            faults.push(format!("face {code} cannot be its own mate"));
        }
        match customs.iter().find(|other| other.code == *mate) {
            None => faults.push(format!("face {code}: its mate {mate} is not defined")),
            Some(other) if other.mate.as_ref().is_some_and(|back| back != code) => {
                faults.push(format!("face {code}: its mate {mate} has another mate"));
            }
            Some(_) => {}
        }
        if customs
            .iter()
            .take(at)
            .any(|other| other.mate.as_ref() == Some(mate))
        {
            faults.push(format!("face {mate} is the mate of two faces"));
        }
    }
}

pub(super) fn check_lists(
    lists: &[(String, Vec<Face>)],
    customs: &[Custom],
    faults: &mut Vec<String>,
) {
    for (at, (name, listed)) in lists.iter().enumerate() {
        if fold(name).is_empty() || name.contains('=') {
            faults.push(format!("trait list {name:?} needs a name without `=`"));
        } else if BUILT_IN.contains(&fold(name).as_str()) {
            faults.push(format!(
                "trait list {name}: every pack has a trait of this name already"
            ));
        }
        if lists
            .iter()
            .take(at)
            .any(|(other, _)| fold(other) == fold(name))
        {
            faults.push(format!("trait list {name} is defined twice"));
        }
        for face in listed {
            if let Face::Custom(code) = face
                && !customs.iter().any(|custom| custom.code == *code)
            {
                faults.push(format!("trait list {name}: face {code} is not defined"));
            }
        }
    }
}

#[cfg(test)]
#[path = "custom_tests.rs"]
pub(super) mod tests;
