//! Markup that is well formed however it is put together: elements with attributes and text, all text escaped.
//!
//! What is written reads the same as HTML and as XML: attributes are quoted, elements closed, no entity has a name beyond the
//! five of XML. So a plain XML reader can check it.

use std::borrow::Cow;
use std::fmt::Write;

/// Elements that HTML knows without contents.
const VOID: [&str; 3] = ["meta", "br", "col"];

/// A piece of a page.
#[derive(Debug, Clone, PartialEq)]
enum Node {
    Element(Element),
    Text(String),
    /// A style sheet of our own, written as it is.
    Style(Cow<'static, str>),
}

/// An element.
#[derive(Debug, Clone, PartialEq)]
pub struct Element {
    name: &'static str,
    attributes: Vec<(&'static str, String)>,
    nodes: Vec<Node>,
}

/// An empty element.
#[must_use]
pub fn el(name: &'static str) -> Element {
    Element {
        name,
        attributes: Vec::new(),
        nodes: Vec::new(),
    }
}

impl Element {
    /// With an attribute.
    #[must_use]
    pub fn set(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.attributes.push((name, value.into()));
        self
    }
    /// With a number as an attribute, to a tenth: coordinates need no more.
    #[must_use]
    pub fn at(self, name: &'static str, value: f64) -> Self {
        self.set(name, tenths(value))
    }
    /// With a class.
    #[must_use]
    pub fn class(self, value: &'static str) -> Self {
        self.set("class", value)
    }
    /// With text.
    #[must_use]
    pub fn text(mut self, text: impl Into<String>) -> Self {
        self.nodes.push(Node::Text(text.into()));
        self
    }
    /// With an element in it.
    #[must_use]
    pub fn with(mut self, element: Element) -> Self {
        self.nodes.push(Node::Element(element));
        self
    }
    /// With elements in it.
    #[must_use]
    pub fn each(mut self, elements: impl IntoIterator<Item = Element>) -> Self {
        self.nodes.extend(elements.into_iter().map(Node::Element));
        self
    }
    /// A style sheet: its text is written as it is, and must hold neither `<` nor `&`.
    #[must_use]
    pub(super) fn style(sheet: String) -> Self {
        let mut element = el("style");
        element.nodes.push(Node::Style(sheet.into()));
        element
    }

    /// The element as text.
    #[must_use]
    pub fn written(&self) -> String {
        let mut text = String::new();
        self.write(&mut text);
        text
    }

    fn write(&self, to: &mut String) {
        // Writing into a string cannot fail.
        let _ = write!(to, "<{}", self.name);
        for (name, value) in &self.attributes {
            let _ = write!(to, " {name}=\"{}\"", escaped(value));
        }
        if VOID.contains(&self.name) {
            to.push_str(" />");
            return;
        }
        to.push('>');
        for node in &self.nodes {
            match node {
                Node::Element(element) => element.write(to),
                Node::Text(text) => to.push_str(&escaped(text)),
                Node::Style(sheet) => to.push_str(sheet),
            }
        }
        let _ = write!(to, "</{}>", self.name);
        if breaks(self.name) {
            to.push('\n');
        }
    }
}

/// Whether a line break after the element changes nothing that is seen.
fn breaks(name: &str) -> bool {
    matches!(
        name,
        "head"
            | "title"
            | "style"
            | "header"
            | "section"
            | "table"
            | "tr"
            | "svg"
            | "p"
            | "h1"
            | "h2"
            | "li"
            | "figure"
    )
}

/// The text with everything escaped that could end it or is no character of a page.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            '\n' | '\t' => safe.push(' '),
            // Neither XML 1.0 (section 2.2) nor HTML has control characters, and no text has these others.
            c if c.is_control() || (u32::from(c) & 0xFFFE) == 0xFFFE => safe.push('\u{FFFD}'),
            c => safe.push(c),
        }
    }
    safe
}

/// A number to a tenth, without a tail of zeros.
#[must_use]
pub fn tenths(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn text_and_attributes_are_escaped() {
        let page = el("p")
            .set("title", "a \"b\" & 'c'")
            .text("<i>&\u{1}\u{1b}[0m");
        assert_eq!(
            page.written(),
            "<p title=\"a &quot;b&quot; &amp; &#39;c&#39;\">&lt;i&gt;&amp;\u{FFFD}\u{FFFD}[0m</p>\n"
        );
    }

    #[test]
    fn numbers_are_short() {
        for (value, text) in [(1.0, "1"), (0.25, "0.2"), (-0.01, "0"), (12.34, "12.3")] {
            assert_eq!(tenths(value), text);
        }
    }

    proptest! {
        #[test]
        fn any_text_comes_back_from_an_xml_reader(text in any::<String>(), value in any::<String>()) {
            let written = el("p").set("title", value.clone()).text(text.clone()).written();
            let read = roxmltree::Document::parse(&written).unwrap();
            let kept = |s: &str| -> String {
                s.chars().map(|c| match c {
                    '\n' | '\t' => ' ',
                    c if c.is_control() || (u32::from(c) & 0xFFFE) == 0xFFFE => '\u{FFFD}',
                    c => c,
                }).collect()
            };
            prop_assert_eq!(read.root_element().text().unwrap_or(""), kept(&text));
            prop_assert_eq!(read.root_element().attribute("title").unwrap(), kept(&value));
        }
    }
}
