//! Working out the traits of a pack, once, into one small table a trait.

use super::custom::Custom;
use super::face::{Colour, Face, Suit, Value};
use super::names::{count_letters, fold};
use super::pack::{Class, TraitTable};

/// Names of the traits that every pack has, in their order.
pub(super) const BUILT_IN: [&str; 7] = [
    "colour", "suit", "value", "parity", "letters", "court", "face",
];

/// The classes of one trait while it is worked out.
struct Draft {
    name: String,
    labels: Vec<String>,
    of: Vec<Option<usize>>,
}

impl Draft {
    fn new(name: &str, labels: &[&str], of: Vec<Option<usize>>) -> Draft {
        Draft {
            name: name.to_owned(),
            labels: labels.iter().map(|label| (*label).to_owned()).collect(),
            of,
        }
    }

    /// The class of a label, added at the end if it is new.
    fn class(&mut self, label: &str) -> usize {
        let known = self
            .labels
            .iter()
            .position(|known| fold(known) == fold(label));
        known.unwrap_or_else(|| {
            self.labels.push(label.to_owned());
            self.labels.len() - 1
        })
    }

    fn finish(self, faults: &mut Vec<String>) -> TraitTable {
        if self.labels.len() > usize::from(u8::MAX) {
            faults.push(format!("trait {} has more than 255 classes", self.name));
        }
        let class = |index: usize| u8::try_from(index).ok().map(Class);
        TraitTable {
            of: self
                .of
                .into_iter()
                .map(|index| index.and_then(class))
                .collect(),
            name: self.name,
            labels: self.labels,
        }
    }
}

/// What the traits are worked out from, card by card.
pub(super) struct Cards<'a> {
    /// What is printed on each card.
    pub faces: &'a [Face],
    /// Its name in words.
    pub names: &'a [String],
    /// The faces that the file defines.
    pub customs: &'a [Custom],
    /// The trait lists that the file defines.
    pub lists: &'a [(String, Vec<Face>)],
}

impl Cards<'_> {
    fn custom(&self, face: &Face) -> Option<&Custom> {
        match face {
            Face::Standard(..) => None,
            Face::Custom(code) => self.customs.iter().find(|custom| custom.code == *code),
        }
    }

    /// What a custom face says of itself for a trait.
    fn said(&self, face: &Face, name: &str) -> Option<&str> {
        self.custom(face)?
            .traits
            .iter()
            .find(|(trait_name, _)| trait_name == name)
            .map(|(_, class)| class.as_str())
    }

    fn value(&self, face: &Face) -> Option<Value> {
        face.value()
            .or_else(|| value_label(self.said(face, "value")?))
    }

    fn suit(&self, face: &Face) -> Option<Suit> {
        face.suit().or_else(|| suit_label(self.said(face, "suit")?))
    }

    fn each<T>(&self, of: impl Fn(&Face) -> Option<T>) -> Vec<Option<T>> {
        self.faces.iter().map(of).collect()
    }

    /// All traits: those of every pack, the file's lists, then traits that only custom faces have.
    pub(super) fn tables(&self, faults: &mut Vec<String>) -> Vec<TraitTable> {
        let value_index = |face: &Face| {
            self.value(face)
                .map(|value| usize::from(value.number()) - 1)
        };
        let mut drafts = vec![
            Draft::new(
                "colour",
                &Colour::ALL.map(Colour::word),
                self.each(|face| self.suit(face).map(|suit| suit.colour() as usize)),
            ),
            Draft::new(
                "suit",
                &Suit::ALL.map(Suit::word),
                self.each(|face| self.suit(face).map(|suit| suit as usize)),
            ),
            Draft::new("value", &Value::WORDS, self.each(value_index)),
            Draft::new(
                "parity",
                &["odd", "even"],
                self.each(|face| value_index(face).map(|index| index % 2)),
            ),
            Draft::new(
                "letters",
                &["odd", "even"],
                self.names
                    .iter()
                    .map(|name| Some((count_letters(name) + 1) % 2))
                    .collect(),
            ),
            Draft::new(
                "court",
                &["court", "spot"],
                self.each(|face| self.value(face).map(|value| usize::from(!value.is_court()))),
            ),
            self.prints(),
        ];
        for (name, listed) in self.lists {
            let of = self.each(|face| Some(usize::from(!listed.contains(face))));
            drafts.push(Draft::new(name, &[name, &format!("not {name}")], of));
        }
        self.own_traits(&mut drafts, faults);
        drafts
            .into_iter()
            .map(|draft| draft.finish(faults))
            .collect()
    }

    /// The identity of the print: cards that look alike are of one class.
    fn prints(&self) -> Draft {
        let mut draft = Draft::new("face", &[], Vec::new());
        for face in self.faces {
            let short = face.short();
            // Codes are compared as they stand: two custom codes may differ by case alone.
            let known = draft.labels.iter().position(|label| *label == short);
            let class = known.unwrap_or_else(|| {
                draft.labels.push(short);
                draft.labels.len() - 1
            });
            draft.of.push(Some(class));
        }
        draft
    }

    /// Puts in what custom faces say of themselves.
    fn own_traits(&self, drafts: &mut Vec<Draft>, faults: &mut Vec<String>) {
        for custom in self.customs {
            for (name, label) in &custom.traits {
                if let Some(fault) = refuse(custom, name, label, self.lists) {
                    faults.push(fault);
                    continue;
                }
                if name == "value" || name == "suit" {
                    continue;
                }
                let at = drafts
                    .iter()
                    .position(|draft| draft.name == *name)
                    .unwrap_or_else(|| {
                        drafts.push(Draft::new(name, &[], vec![None; self.faces.len()]));
                        drafts.len() - 1
                    });
                let draft = &mut drafts[at];
                let class = draft.class(label);
                for (face, of) in self.faces.iter().zip(&mut draft.of) {
                    if matches!(face, Face::Custom(code) if *code == custom.code) {
                        *of = Some(class);
                    }
                }
            }
        }
    }
}

/// Why a custom face may not say this of itself.
fn refuse(
    custom: &Custom,
    name: &str,
    label: &str,
    lists: &[(String, Vec<Face>)],
) -> Option<String> {
    let code = &custom.code;
    if name.trim().is_empty()
        || label.trim().is_empty()
        || name.contains('=')
        || label.contains('=')
    {
        return Some(format!(
            "face {code}: a trait and its class need names without `=`"
        ));
    }
    match name {
        "letters" | "face" => Some(format!(
            "face {code}: {name} follows from the face and cannot be set"
        )),
        "value" if value_label(label).is_none() => Some(format!(
            "face {code}: {label} is not a value; say ace, two … king, or 1 to 13"
        )),
        "suit" if suit_label(label).is_none() => Some(format!(
            "face {code}: {label} is not a suit; say clubs, hearts, spades or diamonds"
        )),
        _ if lists.iter().any(|(list, _)| list == name) => Some(format!(
            "face {code}: {name} is a list of cards; put the face in that list instead"
        )),
        _ => None,
    }
}

/// A value by its English word, its code or its number.
pub(super) fn value_label(label: &str) -> Option<Value> {
    let folded = fold(label);
    let word = Value::WORDS
        .iter()
        .position(|word| *word == folded || plural(word) == folded);
    let number = word
        .and_then(|index| u8::try_from(index + 1).ok())
        .or_else(|| folded.parse().ok());
    number
        .and_then(Value::new)
        .or_else(|| Value::from_code(label.trim()))
}

/// A suit by its English word, singular or plural, its letter or its sign.
pub(super) fn suit_label(label: &str) -> Option<Suit> {
    let folded = fold(label);
    let mut signs = label.trim().chars();
    match (signs.next(), signs.next()) {
        (Some(sign), None) => Suit::from_sign(sign),
        _ => Suit::ALL
            .into_iter()
            .find(|suit| suit.word() == folded || suit.word().trim_end_matches('s') == folded),
    }
}

/// The English plural of a label of ours: `six` → `sixes`, `heart` → `hearts`.
pub(super) fn plural(word: &str) -> String {
    if word.ends_with('x') {
        format!("{word}es")
    } else {
        format!("{word}s")
    }
}
