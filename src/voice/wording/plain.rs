//! Any text in words that every voice can read.

use super::letters::{Reading, reading};
use super::numbers::{digits, number, ordinal};
use crate::cards::{Face, Lang, Suit, Value, read_face};

/// A spoken text is at most so long, in characters; what is longer is cut at a word. Ten minutes of speech.
pub const LONGEST: usize = 8_000;

/// A word of more letters is nobody's word and is left out.
const LONGEST_WORD: usize = 40;

/// A part of a text is at most about so long, in characters: some twelve seconds.
const LONGEST_PART: usize = 180;

/// A piece of a text.
#[derive(Debug, Clone, PartialEq)]
enum Piece {
    /// Letters, digits, apostrophes and hyphens without a gap.
    Word(String),
    /// A pause.
    Pause(char),
    /// The sign of a suit with no value before it.
    Suit(char),
}

/// Any text in words: numbers and card codes (`7H`, `7♥`) are read out, control characters, signs and markup are dropped. What
/// comes out holds only letters, single spaces, apostrophes, hyphens and `. , ? ! : ;`, and reading it again changes nothing.
#[must_use]
pub fn plain(lang: Lang, text: &str) -> String {
    let pieces = pieces(text);
    let coded: Vec<bool> = pieces
        .iter()
        .map(|piece| matches!(piece, Piece::Word(word) if code(word).is_some()))
        .collect();
    let mut said = String::new();
    for (i, piece) in pieces.iter().enumerate() {
        let words = match piece {
            Piece::Pause(pause) => {
                // A pause after nothing, or after another, is no pause; of two the stronger stays.
                if said.ends_with(|c: char| c.is_alphanumeric()) {
                    said.push(*pause);
                } else if matches!(pause, '?' | '!') && said.ends_with([',', ';', ':', '.']) {
                    said.pop();
                    said.push(*pause);
                }
                continue;
            }
            Piece::Suit(letter) => {
                suit(*letter).map_or_else(String::new, |s| first(lang.suit_words(s)))
            }
            Piece::Word(word) => {
                let near = |j: Option<usize>| j.is_some_and(|j| coded.get(j) == Some(&true));
                let among = pieces.len() == 1 || near(i.checked_sub(1)) || near(Some(i + 1));
                read_word(lang, word, among)
            }
        };
        if words.is_empty() {
            continue;
        }
        if said.chars().count() + words.chars().count() >= LONGEST {
            break;
        }
        if !said.is_empty() {
            said.push(' ');
        }
        said.push_str(&words);
    }
    said
}

fn pieces(text: &str) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut word = String::new();
    let mut letters = text.chars().take(20 * LONGEST).peekable();
    let mut before = ' ';
    while let Some(c) = letters.next() {
        let next = letters.peek().copied().unwrap_or(' ');
        let inside = sounds(before) && sounds(next);
        let in_number = before.is_ascii_digit() && next.is_ascii_digit();
        if c == '\u{1b}' && next == '[' {
            // A terminal's command: gone as a whole.
            letters.next();
            while letters.next().is_some_and(|c| !('@'..='~').contains(&c)) {}
            continue;
        }
        let read = reading(c);
        match read {
            Reading::Letter(c) | Reading::Digit(c) => word.push(c),
            Reading::Letters(plain) => word.push_str(plain),
            Reading::Apostrophe if inside => word.push('\''),
            Reading::Hyphen if inside || next.is_ascii_digit() && !sounds(before) => word.push('-'),
            Reading::Suit(letter)
                if !word.is_empty() && code(&format!("{word}{letter}")).is_some() =>
            {
                word.push(letter);
            }
            // A point or a comma within a number is part of it.
            Reading::Pause(pause @ ('.' | ',')) if in_number => word.push(pause),
            Reading::Nothing => {}
            Reading::Apostrophe
            | Reading::Hyphen
            | Reading::Gap
            | Reading::Suit(_)
            | Reading::Pause(_) => {
                if !word.is_empty() {
                    pieces.push(Piece::Word(std::mem::take(&mut word)));
                }
                match read {
                    Reading::Pause(pause) => pieces.push(Piece::Pause(pause)),
                    Reading::Suit(letter) => pieces.push(Piece::Suit(letter)),
                    Reading::Letter(_) | Reading::Letters(_) | Reading::Digit(_) => {}
                    Reading::Apostrophe | Reading::Hyphen | Reading::Gap | Reading::Nothing => {}
                }
            }
        }
        if read != Reading::Nothing {
            before = c;
        }
    }
    if !word.is_empty() {
        pieces.push(Piece::Word(word));
    }
    pieces
}

/// Whether a character is part of a word.
fn sounds(c: char) -> bool {
    matches!(
        reading(c),
        Reading::Letter(_) | Reading::Letters(_) | Reading::Digit(_)
    )
}

/// A card's code: a value and the letter of a suit, in capitals.
fn code(word: &str) -> Option<(Value, Suit)> {
    if !(2..=3).contains(&word.len())
        || !word
            .chars()
            .all(|c| c.is_ascii_uppercase() || c.is_ascii_digit())
    {
        return None;
    }
    match read_face(word) {
        Ok(Face::Standard(value, suit)) => Some((value, suit)),
        Ok(Face::Custom(_)) | Err(_) => None,
    }
}

fn suit(letter: char) -> Option<Suit> {
    code(&format!("2{letter}")).map(|(_, suit)| suit)
}

fn first(words: &[String]) -> String {
    words.first().cloned().unwrap_or_default()
}

/// One word. `among` tells whether it stands alone or next to the code of a card: only then are two capitals such as AS a card.
fn read_word(lang: Lang, word: &str, among: bool) -> String {
    if let Some((value, suit)) = code(word)
        && (among || word.starts_with(|c: char| c.is_ascii_digit()))
    {
        return lang.card_name(value, suit);
    }
    if word.chars().any(|c| c.is_ascii_digit()) {
        return read_digits(lang, word);
    }
    if word.chars().count() > LONGEST_WORD {
        return String::new();
    }
    // Capitals would be spelled out. One alone is a letter, or a word such as I.
    let letters = word.chars().filter(|c| c.is_alphabetic()).count();
    let shouted = letters > 1 && !word.chars().any(char::is_lowercase);
    if shouted {
        word.to_lowercase()
    } else {
        word.to_owned()
    }
}

/// A word with digits in it: 7, -3, 1,000, 3.5, 2nd, b2.
fn read_digits(lang: Lang, word: &str) -> String {
    let (sign, rest) = match word.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, word),
    };
    let grouped = rest.split(',').skip(1).all(|group| group.len() == 3);
    let whole: String = if grouped {
        rest.replace(',', "")
    } else {
        rest.to_owned()
    };
    // A leading zero is read: 07 is a number on a door.
    let plain = whole.chars().all(|c| c.is_ascii_digit());
    if plain && (whole.len() == 1 || !whole.starts_with('0')) && whole.len() < 19 {
        return whole
            .parse::<i64>()
            .map_or_else(|_| digits(lang, &whole), |n| number(lang, sign * n));
    }
    if let Some(n) = ordinal_of(&whole) {
        return ordinal(lang, n);
    }
    // Otherwise run by run.
    let mut said: Vec<String> = Vec::new();
    let mut run = String::new();
    let mut take = |run: &mut String| {
        if run.is_empty() {
            return;
        }
        let part = std::mem::take(run);
        let numeral = part.starts_with(|c: char| c.is_ascii_digit());
        if numeral && (part.len() > 6 || part.len() > 1 && part.starts_with('0')) {
            said.push(digits(lang, &part[..part.len().min(LONGEST_WORD)]));
        } else if numeral {
            said.push(
                part.parse()
                    .map_or_else(|_| String::new(), |n| number(lang, n)),
            );
        } else if part.chars().count() <= LONGEST_WORD {
            said.push(if part.chars().count() == 1 {
                part
            } else {
                part.to_lowercase()
            });
        }
    };
    for c in word.chars() {
        if c == '.' && run.starts_with(|c: char| c.is_ascii_digit()) {
            take(&mut run);
            run.push_str(point(lang));
            take(&mut run);
        } else if !c.is_alphanumeric() {
            take(&mut run);
        } else {
            let switch = run
                .chars()
                .last()
                .is_some_and(|l| l.is_ascii_digit() != c.is_ascii_digit());
            if switch {
                take(&mut run);
            }
            run.push(c);
        }
    }
    take(&mut run);
    said.join(" ")
}

fn point(lang: Lang) -> &'static str {
    match lang {
        Lang::EnGb | Lang::EnUs => "point",
        Lang::De => "Komma",
        Lang::Es => "coma",
        Lang::Fr => "virgule",
        Lang::It => "virgola",
    }
}

fn ordinal_of(word: &str) -> Option<u32> {
    let split = word.find(|c: char| !c.is_ascii_digit())?;
    let (numeral, ending) = word.split_at(split);
    let ending = ending.to_lowercase();
    if !["st", "nd", "rd", "th"].contains(&ending.as_str()) {
        return None;
    }
    numeral.parse().ok().filter(|n| *n < 1_000_000)
}

/// A text of [`plain`] in parts that are made and played one after the other: sentences, and long ones at a comma or a word.
#[must_use]
pub fn parts(said: &str) -> Vec<String> {
    let mut parts = Vec::new();
    let mut part = String::new();
    for word in said.split(' ').filter(|w| !w.is_empty()) {
        if !part.is_empty() && part.chars().count() + word.chars().count() >= LONGEST_PART {
            parts.push(std::mem::take(&mut part));
        }
        if !part.is_empty() {
            part.push(' ');
        }
        part.push_str(word);
        let length = part.chars().count();
        let closed = word.ends_with(['.', '?', '!', ':', ';']) && length > 24;
        let long = word.ends_with(',') && length > LONGEST_PART / 2;
        if closed || long {
            parts.push(std::mem::take(&mut part));
        }
    }
    if !part.is_empty() {
        parts.push(part);
    }
    parts
}
