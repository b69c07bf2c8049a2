//! Finding traits and classes by the words that files and people use for them.

use super::face::{Colour, Suit, Value};
use super::names::fold;
use super::pack::{Class, Pack, TraitId};
use super::reading::read_face_among;
use super::traits::{plural, suit_label, value_label};

impl Pack {
    /// The trait of a name, in any case.
    #[must_use]
    pub fn find_trait(&self, name: &str) -> Option<TraitId> {
        let folded = fold(name);
        let name = if folded == "color" {
            "colour"
        } else {
            folded.as_str()
        };
        self.trait_ids()
            .find(|id| fold(self.trait_name(*id)) == name)
    }

    /// The class of a label, in singular or plural: `heart`, `hearts`, `red`, `sevens`, `7`, `not lucky` (or
    /// `not-lucky`), `7H`. A label that several traits have means the first of them (`odd` speaks of values);
    /// `letters=odd` names the trait. Words of the pack's language for colours, suits and values do too.
    #[must_use]
    pub fn find_class(&self, label: &str) -> Option<(TraitId, Class)> {
        if let Some((name, label)) = label.split_once('=') {
            let id = self.find_trait(name)?;
            return Some((id, self.class_of_trait(id, label)?));
        }
        let folded = fold(label);
        let exact =
            |known: &str| known == label.trim() || !folded.is_empty() && fold(known) == folded;
        self.in_any(|id| self.position(id, exact))
            .or_else(|| self.in_any(|id| self.position(id, |known| is_number_of(&folded, known))))
            .or_else(|| self.in_any(|id| self.other_forms(id, label)))
    }

    fn in_any(&self, find: impl Fn(TraitId) -> Option<Class>) -> Option<(TraitId, Class)> {
        self.trait_ids().find_map(|id| Some((id, find(id)?)))
    }

    pub(super) fn trait_ids(&self) -> impl Iterator<Item = TraitId> + use<> {
        (0..=u8::MAX).take(self.traits().len()).map(TraitId)
    }

    fn position(&self, id: TraitId, fits: impl Fn(&str) -> bool) -> Option<Class> {
        let labels = &self.traits().get(id.index())?.labels;
        labels
            .iter()
            .position(|known| fits(known))
            .and_then(|at| u8::try_from(at).ok())
            .map(Class)
    }

    fn class_of_trait(&self, id: TraitId, label: &str) -> Option<Class> {
        let folded = fold(label);
        self.position(id, |known| known == label.trim())
            .or_else(|| self.position(id, |known| !folded.is_empty() && fold(known) == folded))
            .or_else(|| {
                self.position(id, |known| {
                    !folded.is_empty() && is_number_of(&folded, known)
                })
            })
            .or_else(|| self.other_forms(id, label))
            .or_else(|| {
                let value = value_label(label).filter(|_| id == TraitId::VALUE)?;
                Some(Class(value.number() - 1))
            })
    }

    /// Forms of a label that only some traits have: numbers, signs, words of the pack's language, other
    /// ways to write a card.
    fn other_forms(&self, id: TraitId, label: &str) -> Option<Class> {
        let folded = fold(label);
        let said =
            |words: &[String]| !folded.is_empty() && words.iter().any(|word| fold(word) == folded);
        match id {
            TraitId::COLOUR => {
                let colour = Colour::ALL
                    .into_iter()
                    .find(|colour| said(self.lang().colour_words(*colour)))?;
                Some(Class(colour as u8))
            }
            TraitId::SUIT => {
                let sign = label.trim().chars().all(|c| !c.is_ascii_alphabetic());
                let suit = suit_label(label).filter(|_| sign).or_else(|| {
                    Suit::ALL
                        .into_iter()
                        .find(|suit| said(self.lang().suit_words(*suit)))
                })?;
                Some(Class(suit as u8))
            }
            TraitId::VALUE => {
                let number = label.trim().parse().ok().and_then(Value::new);
                let value = number
                    .or_else(|| Value::all().find(|value| said(self.lang().value_words(*value))))?;
                Some(Class(value.number() - 1))
            }
            TraitId::FACE => {
                let face = read_face_among(label, self.lang(), self.customs()).ok()?;
                let card = self.first_of(&face)?;
                self.class(card, TraitId::FACE)
            }
            _ => None,
        }
    }
}

/// Whether a folded text is the singular or the plural of a label; codes such as `10S` have none.
fn is_number_of(folded: &str, label: &str) -> bool {
    let label = fold(label);
    if folded.contains(|c: char| c.is_ascii_digit()) {
        return false;
    }
    plural(&label) == folded || label.len() > 2 && label == plural(folded)
}
