//! Names of cards in each language, from data files.
//!
//! A file in `names/` has lines `key = word, other word, …` and comments that begin with `#`. The first
//! word of a key is the one printed; all of them are read. Keys: `value 1` to `value 13`, `suit clubs` …
//! `suit diamonds`, `colour red`, `colour black`, `card` (how a name is put together from `{value}` and
//! `{suit}`) and `skip` (words that a reader passes over, such as articles).

use std::fmt;
use std::str::FromStr;
use std::sync::LazyLock;

use super::face::{Colour, Face, Suit, Value};

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

/// A language that allroads has no card names for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no language {0:?}; choose one of en-GB, en-US, de, es, fr, it")]
pub struct LangFault(pub String);

impl Lang {
    /// All languages.
    pub const ALL: [Lang; 6] = [
        Lang::EnGb,
        Lang::EnUs,
        Lang::De,
        Lang::Es,
        Lang::Fr,
        Lang::It,
    ];

    /// As files write it: `en-GB`.
    #[must_use]
    pub fn tag(self) -> &'static str {
        match self {
            Lang::EnGb => "en-GB",
            Lang::EnUs => "en-US",
            Lang::De => "de",
            Lang::Es => "es",
            Lang::Fr => "fr",
            Lang::It => "it",
        }
    }

    fn names(self) -> &'static Names {
        match self {
            Lang::EnGb | Lang::EnUs => &EN,
            Lang::De => &DE,
            Lang::Es => &ES,
            Lang::Fr => &FR,
            Lang::It => &IT,
        }
    }

    /// The words of a value: the printed one first, then others that are read.
    #[must_use]
    pub fn value_words(self, value: Value) -> &'static [String] {
        let index = usize::from(value.number()).wrapping_sub(1);
        self.names().values.get(index).map_or(&[], Vec::as_slice)
    }

    /// The words of a suit: the printed one first, then others that are read.
    #[must_use]
    pub fn suit_words(self, suit: Suit) -> &'static [String] {
        self.names()
            .suits
            .get(suit as usize)
            .map_or(&[], Vec::as_slice)
    }

    /// The words of a colour: the printed one first, then others that are read.
    #[must_use]
    pub fn colour_words(self, colour: Colour) -> &'static [String] {
        self.names()
            .colours
            .get(colour as usize)
            .map_or(&[], Vec::as_slice)
    }

    /// Words that a reader of card names passes over.
    #[must_use]
    pub fn skipped_words(self) -> &'static [String] {
        &self.names().skip
    }

    /// The name of one of the 52 in words: "seven of hearts", "Herz-Sieben".
    #[must_use]
    pub fn card_name(self, value: Value, suit: Suit) -> String {
        let first = |words: &'static [String]| words.first().map_or("", String::as_str);
        self.names()
            .card
            .replace("{value}", first(self.value_words(value)))
            .replace("{suit}", first(self.suit_words(suit)))
    }

    /// The name of a face in words; a custom face's code, since only its pack knows its name.
    #[must_use]
    pub fn face_name(self, face: &Face) -> String {
        match face {
            Face::Standard(value, suit) => self.card_name(*value, *suit),
            Face::Custom(code) => code.clone(),
        }
    }
}

impl fmt::Display for Lang {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.tag())
    }
}

impl FromStr for Lang {
    type Err = LangFault;

    fn from_str(text: &str) -> Result<Lang, LangFault> {
        Lang::ALL
            .into_iter()
            .find(|lang| lang.tag().eq_ignore_ascii_case(text.trim()))
            .ok_or_else(|| LangFault(text.to_owned()))
    }
}

/// Letters in a text, as a performer spells it: spaces and signs count nothing, a letter with an accent
/// counts one, and a ligature counts as the two letters it joins (`cœur` is spelled C-O-E-U-R).
#[must_use]
pub fn count_letters(text: &str) -> usize {
    text.chars()
        .map(|c| match c {
            'œ' | 'Œ' | 'æ' | 'Æ' => 2,
            c if c.is_alphabetic() => 1,
            _ => 0,
        })
        .sum()
}

/// A text as readers compare it: lower case, no accents, ligatures apart, signs turned into single spaces.
#[must_use]
pub(super) fn fold(text: &str) -> String {
    let mut folded = String::with_capacity(text.len());
    for c in text.chars().flat_map(char::to_lowercase) {
        match c {
            'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' => folded.push('a'),
            'ç' => folded.push('c'),
            'è' | 'é' | 'ê' | 'ë' => folded.push('e'),
            'ì' | 'í' | 'î' | 'ï' => folded.push('i'),
            'ñ' => folded.push('n'),
            'ò' | 'ó' | 'ô' | 'õ' | 'ö' => folded.push('o'),
            'ù' | 'ú' | 'û' | 'ü' => folded.push('u'),
            'œ' => folded.push_str("oe"),
            'æ' => folded.push_str("ae"),
            'ß' => folded.push_str("ss"),
            // Combining accents: an accent typed apart from its letter.
            '\u{300}'..='\u{36f}' => {}
            c if c.is_alphanumeric() => folded.push(c),
            _ => {
                if !folded.is_empty() && !folded.ends_with(' ') {
                    folded.push(' ');
                }
            }
        }
    }
    folded.truncate(folded.trim_end().len());
    folded
}

/// What is wrong with a file of names.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
struct NamesFault(String);

/// The words of one language.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
struct Names {
    values: Vec<Vec<String>>,
    suits: Vec<Vec<String>>,
    colours: Vec<Vec<String>>,
    card: String,
    skip: Vec<String>,
}

impl Names {
    /// Reads a file of names.
    fn parse(text: &str) -> Result<Names, NamesFault> {
        let mut lines = Vec::new();
        for (index, line) in text.lines().enumerate() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let (key, words) = line
                .split_once(" = ")
                .ok_or_else(|| NamesFault(format!("line {}: no ` = `", index + 1)))?;
            if lines.iter().any(|(known, _)| *known == key) {
                return Err(NamesFault(format!(
                    "line {}: {key:?} stands twice",
                    index + 1
                )));
            }
            lines.push((key, words));
        }
        let whole = |key: &str| {
            lines
                .iter()
                .find(|(known, _)| *known == key)
                .map(|(_, words)| (*words).to_owned())
                .ok_or_else(|| NamesFault(format!("{key:?} is missing")))
        };
        let words = |key: &str| -> Result<Vec<String>, NamesFault> {
            Ok(whole(key)?.split(", ").map(str::to_owned).collect())
        };
        let names = Names {
            values: Value::all()
                .map(|value| words(&format!("value {}", value.number())))
                .collect::<Result<_, _>>()?,
            suits: Suit::ALL
                .into_iter()
                .map(|suit| words(&format!("suit {}", suit.word())))
                .collect::<Result<_, _>>()?,
            colours: Colour::ALL
                .into_iter()
                .map(|colour| words(&format!("colour {}", colour.word())))
                .collect::<Result<_, _>>()?,
            card: whole("card")?,
            skip: words("skip")?,
        };
        let used = names.values.len() + names.suits.len() + names.colours.len() + 2;
        if used == lines.len() {
            Ok(names)
        } else {
            Err(NamesFault(format!(
                "{} keys are not known",
                lines.len().abs_diff(used)
            )))
        }
    }

    /// The embedded files are read by a test, so that the empty names stand for what cannot happen.
    fn embedded(text: &str) -> Names {
        Names::parse(text).unwrap_or_default()
    }
}

const EN_TEXT: &str = include_str!("names/en.txt");
const DE_TEXT: &str = include_str!("names/de.txt");
const ES_TEXT: &str = include_str!("names/es.txt");
const FR_TEXT: &str = include_str!("names/fr.txt");
const IT_TEXT: &str = include_str!("names/it.txt");

static EN: LazyLock<Names> = LazyLock::new(|| Names::embedded(EN_TEXT));
static DE: LazyLock<Names> = LazyLock::new(|| Names::embedded(DE_TEXT));
static ES: LazyLock<Names> = LazyLock::new(|| Names::embedded(ES_TEXT));
static FR: LazyLock<Names> = LazyLock::new(|| Names::embedded(FR_TEXT));
static IT: LazyLock<Names> = LazyLock::new(|| Names::embedded(IT_TEXT));

#[cfg(test)]
#[path = "names_tests.rs"]
mod tests;
