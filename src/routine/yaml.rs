//! The tree of a YAML file: text, lists and maps, each with its place.
//!
//! Scalars stay as written: `n`, `y` and `no` are words, `3` is text that a field may read as a number. A file from
//! a stranger can do no harm: its size, depth and number of parts are bounded, and it may hold no anchors, aliases,
//! tags, second documents or control characters.

use super::check::{Spot, Trouble, is_harmful};
use serde_yaml::granit_parser::{self as granit, Event, Parser, ScalarStyle, ScanError, Span};
use std::collections::BTreeSet;

/// The largest file, in bytes.
const LARGEST: usize = 256 * 1024;
/// The deepest nesting of lists and maps.
const DEEPEST: usize = 32;
/// The most scalars, lists and maps.
const MOST: usize = 20_000;

/// A part of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Node {
    /// Where it begins.
    pub(super) spot: Spot,
    /// What it is.
    pub(super) kind: Kind,
}

/// What a part of a file is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Kind {
    /// Text as written, and whether in quotes or as a block.
    Scalar {
        /// The text.
        text: String,
        /// Whether it was quoted or a block, so that an empty one is meant.
        quoted: bool,
    },
    /// A list.
    List(Vec<Node>),
    /// Keys, all different, and their values.
    Map(Vec<(Node, Node)>),
}

impl Node {
    /// The text of a scalar.
    pub(super) fn text(&self) -> Option<&str> {
        match &self.kind {
            Kind::Scalar { text, .. } => Some(text),
            Kind::List(_) | Kind::Map(_) => None,
        }
    }
    /// Whether nothing was written here.
    pub(super) fn is_nothing(&self) -> bool {
        matches!(&self.kind, Kind::Scalar { text, quoted: false } if text.is_empty() || text == "~")
    }
}

/// Reads the tree.
///
/// # Errors
/// One trouble: what is not YAML cannot be read on.
pub(super) fn read(text: &str, origin: &str) -> Result<Node, Box<Trouble>> {
    let trouble = |spot, message: &str, help: &str| {
        Box::new(Trouble::new(origin, text, spot, message).with_help(help))
    };
    let top = Spot {
        line: 1,
        column: 1,
        length: 1,
    };
    if text.len() > LARGEST {
        return Err(Box::new(
            Trouble::new(origin, "", top, "the file is too large").with_help(format!(
                "at most {} KiB; this one has {}",
                LARGEST / 1024,
                text.len().div_ceil(1024)
            )),
        ));
    }
    if let Some((spot, c)) = find_harmful(text) {
        let message = format!("a control character (U+{:04X}) stands here", u32::from(c));
        return Err(trouble(spot, &message, "take it out"));
    }
    let mut options = granit::options! {
        disallow_directives: true,
        flow_nesting_limit: DEEPEST,
        block_nesting_limit: DEEPEST,
    };
    options.set_emit_comments(false);
    let mut builder = Builder::default();
    for event in Parser::new_from_str_with_options(text, options) {
        let (event, span) = event.map_err(|e| {
            let (spot, message, help) = words_of(&e);
            trouble(spot, &message, help)
        })?;
        builder
            .take(event, &span)
            .map_err(|(spot, message, help)| trouble(spot, &message, help))?;
    }
    builder.root.ok_or_else(|| {
        trouble(
            top,
            "the file is empty",
            "begin with `allroads: 1`, or let `allroads new NAME` write a first routine",
        )
    })
}

/// The first character that a file may not hold.
fn find_harmful(text: &str) -> Option<(Spot, char)> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (mut line, mut column) = (1, 1);
    let mut characters = text.chars().peekable();
    while let Some(c) = characters.next() {
        match c {
            '\n' => (line, column) = (line + 1, 0),
            '\t' => {}
            '\r' if characters.peek() == Some(&'\n') => {}
            c if is_harmful(c) => {
                let spot = Spot {
                    line,
                    column,
                    length: 1,
                };
                return Some((spot, c));
            }
            _ => {}
        }
        column += 1;
    }
    None
}

fn spot_of(span: &Span) -> Spot {
    let number = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let length = if span.end.line() == span.start.line() {
        span.end.col().saturating_sub(span.start.col()).max(1)
    } else {
        1
    };
    Spot {
        line: number(span.start.line()).max(1),
        column: number(span.start.col() + 1),
        length: number(length),
    }
}

fn words_of(e: &ScanError) -> (Spot, String, &'static str) {
    let spot = spot_of(&Span::empty(*e.marker()));
    let info = e.info();
    if info.contains("nesting") || info.contains("recursion") {
        return (spot, TOO_DEEP.to_owned(), "write it with fewer levels");
    }
    if info.contains("unknown anchor") {
        return (
            spot,
            "`*` begins an alias, which a routine may not use".to_owned(),
            QUOTE,
        );
    }
    if info.contains("directive") {
        return (
            spot,
            "`%` begins a directive, which a routine may not use".to_owned(),
            QUOTE,
        );
    }
    (
        spot,
        format!("this is not YAML: {info}"),
        "look at the indentation, the brackets and the quotes here and just before; text with a colon or braces needs quotes",
    )
}

const QUOTE: &str = "if the sign is meant as text, put the text in quotes";
const TOO_DEEP: &str = "too many levels of lists and maps inside each other";

type Complaint = (Spot, String, &'static str);

enum Open {
    List(Spot, Vec<Node>),
    Map(Spot, Vec<(Node, Node)>, Option<Node>, BTreeSet<String>),
}

#[derive(Default)]
struct Builder {
    open: Vec<Open>,
    nodes: usize,
    documents: usize,
    root: Option<Node>,
}

impl Builder {
    fn take(&mut self, event: Event<'_>, span: &Span) -> Result<(), Complaint> {
        let spot = spot_of(span);
        match event {
            Event::DocumentStart(..) => {
                self.documents += 1;
                if self.documents > 1 {
                    return Err((
                        spot,
                        "a second document begins here".to_owned(),
                        "one file holds one routine: take the line `---` out",
                    ));
                }
            }
            Event::Alias(_) | Event::UnresolvedAlias(_) => {
                return Err((
                    spot,
                    "`*` begins an alias, which a routine may not use".to_owned(),
                    QUOTE,
                ));
            }
            Event::Scalar(text, style, anchor, tag) => {
                refuse(spot, anchor, tag.is_some())?;
                if let Some(c) = text
                    .chars()
                    .find(|c| is_harmful(*c) && !matches!(c, '\n' | '\t'))
                {
                    let message = format!(
                        "a control character (U+{:04X}) is written here",
                        u32::from(c)
                    );
                    return Err((spot, message, "take it out"));
                }
                let kind = Kind::Scalar {
                    text: text.into_owned(),
                    quoted: style != ScalarStyle::Plain,
                };
                self.add(Node { spot, kind })?;
            }
            Event::SequenceStart(_, anchor, tag) => {
                refuse(spot, anchor, tag.is_some())?;
                self.deeper(spot, Open::List(spot, Vec::new()))?;
            }
            Event::MappingStart(_, anchor, tag) => {
                refuse(spot, anchor, tag.is_some())?;
                self.deeper(spot, Open::Map(spot, Vec::new(), None, BTreeSet::new()))?;
            }
            Event::SequenceEnd | Event::MappingEnd => {
                let node = match self.open.pop() {
                    Some(Open::List(spot, items)) => Node {
                        spot,
                        kind: Kind::List(items),
                    },
                    Some(Open::Map(spot, pairs, ..)) => Node {
                        spot,
                        kind: Kind::Map(pairs),
                    },
                    None => return Ok(()),
                };
                self.add(node)?;
            }
            // The parser's other events (start and end of the stream, comments) carry no content.
            _ => {}
        }
        Ok(())
    }

    fn deeper(&mut self, spot: Spot, open: Open) -> Result<(), Complaint> {
        if self.open.len() >= DEEPEST {
            return Err((spot, TOO_DEEP.to_owned(), "write it with fewer levels"));
        }
        self.open.push(open);
        Ok(())
    }

    fn add(&mut self, node: Node) -> Result<(), Complaint> {
        self.nodes += 1;
        if self.nodes > MOST {
            return Err((
                node.spot,
                "the file has too many parts".to_owned(),
                "a routine has at most 20,000 words, lists and maps",
            ));
        }
        match self.open.last_mut() {
            None => self.root = Some(node),
            Some(Open::List(_, items)) => items.push(node),
            Some(Open::Map(_, pairs, waiting, keys)) => match waiting.take() {
                Some(key) => {
                    // What is not there has no place of its own.
                    let spot = if node.is_nothing() {
                        key.spot
                    } else {
                        node.spot
                    };
                    pairs.push((key, Node { spot, ..node }));
                }
                None => {
                    let Some(text) = node.text() else {
                        return Err((
                            node.spot,
                            "a key must be a plain word".to_owned(),
                            "text with braces or brackets needs quotes around it",
                        ));
                    };
                    if !keys.insert(text.to_owned()) {
                        let message = format!("the key `{text}` stands here a second time");
                        return Err((node.spot, message, "keep one of the two"));
                    }
                    *waiting = Some(node);
                }
            },
        }
        Ok(())
    }
}

fn refuse(spot: Spot, anchor: usize, tagged: bool) -> Result<(), Complaint> {
    if anchor != 0 {
        return Err((
            spot,
            "`&` begins an anchor, which a routine may not use".to_owned(),
            QUOTE,
        ));
    }
    if tagged {
        return Err((
            spot,
            "`!` begins a tag, which a routine may not use".to_owned(),
            QUOTE,
        ));
    }
    Ok(())
}
