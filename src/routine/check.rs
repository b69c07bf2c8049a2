//! Troubles: what is wrong with a file, where, and what to do about it.

use super::yaml_read::Text;
use crate::cards::nearest;
use std::fmt;

/// A place in the file: a line, a column, and how many characters it spans.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Spot {
    /// Line, from 1.
    pub line: u32,
    /// Column, from 1, in characters.
    pub column: u32,
    /// Characters from there, at least 1.
    pub length: u32,
}

impl Spot {
    /// The same line, so many characters further on.
    #[must_use]
    pub fn further(self, characters: usize) -> Self {
        Self {
            column: self
                .column
                .saturating_add(u32::try_from(characters).unwrap_or(u32::MAX)),
            length: 1,
            ..self
        }
    }
}

/// One thing wrong with a file.
///
/// Printed as the place, what is wrong, the line with a mark under it, and what to do. Whatever the file holds,
/// no control character is ever printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// The file, as the person named it.
    pub origin: String,
    /// Where.
    pub spot: Spot,
    /// The line as written; empty when there is none.
    pub snippet: String,
    /// What is wrong.
    pub message: String,
    /// What to do, or what was expected.
    pub help: Option<String>,
}

impl Trouble {
    /// A trouble at a place of a file, its line taken from the file's text.
    #[must_use]
    pub fn new(origin: &str, text: &str, spot: Spot, message: impl Into<String>) -> Self {
        let line = usize::try_from(spot.line).unwrap_or(usize::MAX);
        Self {
            origin: origin.to_owned(),
            spot,
            snippet: text
                .lines()
                .nth(line.saturating_sub(1))
                .unwrap_or_default()
                .to_owned(),
            message: message.into(),
            help: None,
        }
    }
    /// A trouble that belongs to a whole line, such as a step that cannot be done on some road.
    #[must_use]
    pub fn on_line(origin: &str, text: &str, line: u32, message: impl Into<String>) -> Self {
        let index = usize::try_from(line)
            .unwrap_or(usize::MAX)
            .saturating_sub(1);
        let written = text.lines().nth(index).unwrap_or_default();
        let indent = written.chars().take_while(|c| c.is_whitespace()).count();
        // A note at the end of the line is not marked.
        let code = written.split(" #").next().unwrap_or(written);
        let number = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        let spot = Spot {
            line,
            column: number(indent + 1),
            length: number(code.trim().chars().count().max(1)),
        };
        Self::new(origin, text, spot, message)
    }
    /// The same with advice.
    #[must_use]
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// How much of a long line is shown, in characters.
const WIDEST: usize = 100;
/// Characters shown before the marked one when a long line is cut.
const BEFORE: usize = 40;

/// Every character that could move a terminal's cursor or hide text, made visible.
#[must_use]
pub(super) fn harmless(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\t' => ' ',
            c if is_harmful(c) => '\u{fffd}',
            c => c,
        })
        .collect()
}

/// Whether a character has no business in a file or on a screen: controls, and marks that reorder text.
pub(super) fn is_harmful(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2028}' | '\u{2029}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Spot {
            line,
            column,
            length,
        } = self.spot;
        let origin = harmless(&self.origin);
        writeln!(f, "{origin}:{line}:{column}: {}", harmless(&self.message))?;
        if !self.snippet.trim().is_empty() {
            let characters: Vec<char> = harmless(&self.snippet).chars().collect();
            let at = usize::try_from(column).unwrap_or(1).saturating_sub(1);
            let skip = if characters.len() > WIDEST {
                at.saturating_sub(BEFORE)
            } else {
                0
            };
            let shown: String = characters.iter().skip(skip).take(WIDEST).collect();
            let shown_length = shown.chars().count();
            let indent = at.saturating_sub(skip).min(shown_length);
            let marks = usize::try_from(length)
                .unwrap_or(1)
                .clamp(1, (shown_length - indent).max(1));
            let number = line.to_string();
            let gap = " ".repeat(number.len());
            writeln!(f, "  {number} | {shown}")?;
            writeln!(f, "  {gap} | {}{}", " ".repeat(indent), "^".repeat(marks))?;
        }
        if let Some(help) = &self.help {
            writeln!(f, "  {}", harmless(help))?;
        }
        Ok(())
    }
}

/// Names listed for a person: "a, b and c"; long lists are cut.
#[must_use]
pub(super) fn listed<'a>(names: impl Iterator<Item = &'a str>) -> String {
    const MOST: usize = 30;
    let names: Vec<&str> = names.collect();
    if names.len() > MOST {
        return format!(
            "{} and {} more",
            names[..MOST].join(", "),
            names.len() - MOST
        );
    }
    match names.split_last() {
        None => "none".to_owned(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

/// The most troubles that are told at once.
const MOST: usize = 100;

/// Gathers the troubles of one file.
#[derive(Debug)]
pub(super) struct Gathered<'a> {
    origin: &'a str,
    text: &'a str,
    found: std::cell::RefCell<Vec<Trouble>>,
}

impl<'a> Gathered<'a> {
    pub(super) fn new(origin: &'a str, text: &'a str) -> Self {
        Self {
            origin,
            text,
            found: std::cell::RefCell::default(),
        }
    }
    pub(super) fn say(&self, spot: Spot, message: impl Into<String>) {
        if self.is_full() {
            return;
        }
        self.keep(Trouble::new(self.origin, self.text, spot, message));
    }
    pub(super) fn advise(&self, spot: Spot, message: impl Into<String>, help: impl Into<String>) {
        if self.is_full() {
            return;
        }
        self.keep(Trouble::new(self.origin, self.text, spot, message).with_help(help));
    }
    /// The name `written` does not exist; says so with the nearest that does.
    pub(super) fn unknown<'n>(
        &self,
        spot: Spot,
        what: &str,
        written: &str,
        known: impl Iterator<Item = &'n str> + Clone,
    ) {
        let help = match nearest(written, known.clone()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None if known.clone().next().is_none() => format!("no {what} is known here"),
            None => format!("known: {}", listed(known)),
        };
        self.advise(
            spot,
            format!("there is no {what} called \"{written}\""),
            help,
        );
    }
    /// Where the character at this offset of a text stands in the file; the start of the text where that cannot be told.
    pub(super) fn inside(&self, text: &Text, offset: usize) -> Spot {
        self.walk(text, offset).unwrap_or(text.spot)
    }
    fn walk(&self, text: &Text, offset: usize) -> Option<Spot> {
        let first = usize::try_from(text.spot.line).ok()?.checked_sub(1)?;
        let column = usize::try_from(text.spot.column).ok()?.checked_sub(1)?;
        let mut source = self
            .text
            .lines()
            .enumerate()
            .skip(first)
            .flat_map(|(n, line)| {
                let skipped = if n == first { column } else { 0 };
                let places = line.chars().chain(['\n']).enumerate();
                places.skip(skipped).map(move |(at, c)| (n, at, c))
            });
        let mut place = source.next()?;
        match place.2 {
            '"' | '\'' => place = source.next()?,
            '|' | '>' => place = source.find(|(_, _, c)| *c == '\n')?,
            _ => {}
        }
        for (at, wanted) in text.text.chars().enumerate() {
            if !wanted.is_whitespace() {
                while place.2.is_whitespace() {
                    place = source.next()?;
                }
                if at < offset {
                    if place.2 != wanted {
                        return None;
                    }
                    place = source.next()?;
                }
            }
            if at == offset {
                break;
            }
        }
        Some(Spot {
            line: u32::try_from(place.0 + 1).ok()?,
            column: u32::try_from(place.1 + 1).ok()?,
            length: 1,
        })
    }
    fn is_full(&self) -> bool {
        self.found.borrow().len() >= MOST
    }
    fn keep(&self, trouble: Trouble) {
        let mut found = self.found.borrow_mut();
        if !found.contains(&trouble) {
            found.push(trouble);
        }
    }
    pub(super) fn none(&self) -> bool {
        self.found.borrow().is_empty()
    }
    /// All troubles in the order of the file.
    pub(super) fn into_troubles(self) -> Vec<Trouble> {
        let mut found = self.found.into_inner();
        found.sort_by_key(|t| t.spot);
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trouble_on_a_line_marks_what_is_written_there() {
        let trouble = Trouble::on_line("f.yaml", "one:\n  two: 2   # note\n", 2, "odd");
        assert_eq!(
            trouble.to_string(),
            "f.yaml:2:3: odd\n  2 |   two: 2   # note\n    |   ^^^^^^\n"
        );
    }

    #[test]
    fn a_long_line_is_cut_round_the_place() {
        let text = "x".repeat(500);
        let spot = Spot {
            line: 1,
            column: 300,
            length: 1,
        };
        let told = Trouble::new("f", &text, spot, "odd").to_string();
        assert!(told.lines().all(|line| line.len() < 120), "{told}");
        assert!(told.contains('^'));
    }

    #[test]
    fn a_place_inside_a_text_is_found_in_quotes_and_in_blocks() {
        let source = "a: \"one two\"\nb: >-\n  three\n  four {x}\n";
        let gathered = Gathered::new("f", source);
        let at = |line, column, text: &str, offset| {
            let spot = Spot {
                line,
                column,
                length: 1,
            };
            let text = Text {
                spot,
                text: text.to_owned(),
            };
            let found = gathered.inside(&text, offset);
            (found.line, found.column)
        };
        assert_eq!(at(1, 4, "one two", 4), (1, 9));
        assert_eq!(at(2, 4, "three four {x}", 12), (4, 9));
        assert_eq!(
            at(2, 4, "not what stands there", 9),
            (2, 4),
            "the start, when in doubt"
        );
    }

    #[test]
    fn a_trouble_shows_its_line_and_marks_the_place() {
        let spot = Spot {
            line: 2,
            column: 4,
            length: 3,
        };
        let trouble = Trouble::new("f.yaml", "one\ntwo\u{7} six\n", spot, "odd").with_help("even");
        assert_eq!(
            trouble.to_string(),
            "f.yaml:2:4: odd\n  2 | two\u{fffd} six\n    |    ^^^\n  even\n"
        );
    }
}
