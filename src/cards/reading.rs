//! Reading cards as people write them: `7H`, `10h`, `TH`, `7♥`, "the seven of hearts", "Herz-Sieben".
//!
//! Short codes and signs are the same in every language; words are read in the given language first and
//! in English after that.

use super::custom::Custom;
use super::face::{Face, Suit, Value};
use super::names::{Lang, fold};
use super::near::nearest;

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

/// A card of a list, and whether the list marks it face up with `^`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// What is printed on it.
    pub face: Face,
    /// Whether it lies face up.
    pub up: bool,
}

/// Reads one of the 52, words in English.
///
/// # Errors
/// When the text is no card; the fault says what is wrong and what a card looks like.
pub fn read_face(text: &str) -> Result<Face, ReadFault> {
    read_face_in(text, Lang::EnGb)
}

/// Reads one of the 52, words in a language or in English.
///
/// # Errors
/// When the text is no card; the fault says what is wrong and what a card looks like.
pub fn read_face_in(text: &str, lang: Lang) -> Result<Face, ReadFault> {
    standard(text, lang).ok_or_else(|| ReadFault(explain(text, lang, &[])))
}

/// Reads one of the 52, or a custom face by its code or its name.
///
/// # Errors
/// When the text is no card; the fault says what is wrong and what a card looks like.
pub fn read_face_among(text: &str, lang: Lang, customs: &[Custom]) -> Result<Face, ReadFault> {
    custom(text, customs)
        .or_else(|| standard(text, lang))
        .ok_or_else(|| ReadFault(explain(text, lang, customs)))
}

/// Reads a list of cards parted by spaces or commas, top card first; `^` after a card turns it face up.
/// Cards in a list are written as codes or signs.
///
/// # Errors
/// Every item of the list that is no card.
pub fn read_list(
    text: &str,
    lang: Lang,
    customs: &[Custom],
) -> Result<Vec<Listed>, Vec<ReadFault>> {
    let mut cards = Vec::new();
    let mut faults = Vec::new();
    for item in text
        .split(|c: char| c.is_whitespace() || c == ',')
        .filter(|item| !item.is_empty())
    {
        let (written, up) = item
            .strip_suffix('^')
            .map_or((item, false), |rest| (rest, true));
        match read_face_among(written, lang, customs) {
            Ok(face) => cards.push(Listed { face, up }),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() {
        Ok(cards)
    } else {
        Err(faults)
    }
}

fn custom(text: &str, customs: &[Custom]) -> Option<Face> {
    let text = text.trim();
    let folded = fold(text);
    customs
        .iter()
        .find(|custom| custom.code == text)
        .or_else(|| {
            customs.iter().find(|custom| {
                custom.code.to_lowercase() == text.to_lowercase()
                    || !folded.is_empty() && fold(&custom.name) == folded
            })
        })
        .map(|custom| Face::Custom(custom.code.clone()))
}

fn standard(text: &str, lang: Lang) -> Option<Face> {
    code(text)
        .or_else(|| words(text, lang))
        .or_else(|| words(text, Lang::EnGb))
        .map(|(value, suit)| Face::Standard(value, suit))
}

/// Reads a code or a sign: the value and the suit in either order, no letters between.
fn code(text: &str) -> Option<(Value, Suit)> {
    // Selectors that ask for the sign as text or as a picture.
    let plain: String = text
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '\u{fe0e}' | '\u{fe0f}'))
        .collect();
    let after =
        |rest: &str, sign: Option<char>| Some((Value::from_code(rest)?, Suit::from_sign(sign?)?));
    let mut backward = plain.chars();
    let last = backward.next_back();
    let mut forward = plain.chars();
    let first = forward.next();
    after(backward.as_str(), last).or_else(|| after(forward.as_str(), first))
}

fn value_of(word: &str, lang: Lang) -> Option<Value> {
    Value::from_code(word).or_else(|| {
        Value::all().find(|value| {
            lang.value_words(*value)
                .iter()
                .any(|known| fold(known) == word)
        })
    })
}

fn suit_of(word: &str, lang: Lang) -> Option<Suit> {
    let mut signs = word.chars();
    match (signs.next(), signs.next()) {
        (Some(sign), None) => Suit::from_sign(sign),
        _ => Suit::ALL.into_iter().find(|suit| {
            lang.suit_words(*suit)
                .iter()
                .any(|known| fold(known) == word)
        }),
    }
}

/// The words that matter: folded, without articles and joining words.
fn weighty(text: &str, lang: Lang) -> Vec<String> {
    fold(text)
        .split(' ')
        .filter(|word| {
            !word.is_empty()
                && !lang
                    .skipped_words()
                    .iter()
                    .any(|skipped| fold(skipped) == *word)
        })
        .map(str::to_owned)
        .collect()
}

/// Reads a name in words: a value and a suit in either order, or both in one word.
fn words(text: &str, lang: Lang) -> Option<(Value, Suit)> {
    match weighty(text, lang).as_slice() {
        [first, second] => value_of(first, lang)
            .zip(suit_of(second, lang))
            .or_else(|| value_of(second, lang).zip(suit_of(first, lang))),
        [whole] => one_word(whole, lang),
        _ => None,
    }
}

/// Reads "Herzsieben": the words of a suit and a value with nothing between.
fn one_word(whole: &str, lang: Lang) -> Option<(Value, Suit)> {
    Suit::ALL.into_iter().find_map(|suit| {
        lang.suit_words(suit).iter().find_map(|word| {
            let rest = whole.strip_prefix(fold(word).as_str())?;
            let value = Value::all().find(|value| {
                lang.value_words(*value)
                    .iter()
                    .any(|known| fold(known) == rest)
            })?;
            Some((value, suit))
        })
    })
}

/// What is wrong with a text that is no card, and what a card looks like.
fn explain(text: &str, lang: Lang, customs: &[Custom]) -> String {
    let shown: String = text
        .trim()
        .chars()
        .filter(|c| !c.is_control())
        .take(40)
        .collect();
    let example = lang.card_name(Value(7), Suit::Hearts);
    let mut looks = format!("write a card as 7H, 10H, 7♥ or “{example}”");
    if !customs.is_empty() {
        let codes: Vec<&str> = customs
            .iter()
            .take(12)
            .map(|custom| custom.code.as_str())
            .collect();
        let more = if customs.len() > codes.len() {
            ", …"
        } else {
            ""
        };
        looks = format!(
            "{looks}, or one of this file's own faces: {}{more}",
            codes.join(", ")
        );
    }
    if shown.is_empty() {
        return format!("no card is written here; {looks}");
    }
    let wrong = wrong_code(&shown).unwrap_or_else(|| wrong_words(&shown, lang));
    let meant = meant(&shown, lang, customs)
        .map(|word| format!(", did you mean “{word}”?"))
        .unwrap_or_default();
    format!("“{shown}” is not a card: {wrong}{meant}; {looks}")
}

/// What is wrong with a text that looks like a short code: half of it is right.
fn wrong_code(shown: &str) -> Option<String> {
    let mut signs = shown.chars();
    let last = signs.next_back()?;
    let front = signs.as_str().trim();
    if Value::from_code(front).is_some() {
        return Some(format!(
            "there is no suit “{last}” (C, H, S, D or ♣, ♥, ♠, ♦)"
        ));
    }
    let short = !front.is_empty() && front.chars().count() <= 3 && !front.contains(' ');
    let number = front.chars().any(|c| c.is_ascii_digit()) || front.chars().count() == 1;
    (short && number && Suit::from_sign(last).is_some())
        .then(|| format!("there is no value “{front}” (A, 2 to 10, J, Q, K)"))
}

/// What is wrong with a text in words.
fn wrong_words(shown: &str, lang: Lang) -> String {
    let words = weighty(shown, lang);
    let values = words
        .iter()
        .filter(|word| value_of(word, lang).is_some())
        .count();
    let suits = words
        .iter()
        .filter(|word| suit_of(word, lang).is_some())
        .count();
    let wrong = match (values, suits) {
        (0, 0) if words.len() == 1 => "it is neither a code nor a name",
        (0, 0) => "it says neither a value nor a suit",
        (0, _) => "it says no value",
        (_, 0) => "it says no suit",
        (1, 1) => "there are other words in it",
        (_, _) => "it says more than one card",
    };
    wrong.to_owned()
}

/// The known word that the first unknown word of a text most likely meant.
fn meant(shown: &str, lang: Lang, customs: &[Custom]) -> Option<String> {
    let known: Vec<&String> = Value::all()
        .flat_map(|value| lang.value_words(value))
        .chain(Suit::ALL.into_iter().flat_map(|suit| lang.suit_words(suit)))
        .chain(customs.iter().map(|custom| &custom.code))
        .collect();
    weighty(shown, lang)
        .iter()
        .filter(|word| {
            word.chars().count() > 2
                && value_of(word, lang).is_none()
                && suit_of(word, lang).is_none()
        })
        .find_map(|word| nearest(word, known.iter().map(|known| known.as_str())))
        .map(str::to_owned)
}

#[cfg(test)]
#[path = "reading_tests.rs"]
mod tests;
