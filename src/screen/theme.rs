//! The look: two accents that colour-blind eyes tell apart, and letters for terminals that have no others.
//!
//! Panes always draw with the full set of shapes. Where the locale is not UTF-8, [`Theme::finish`] puts an ASCII
//! character in place of each, cell by cell, after everything else is drawn: one table, no second set of panes.

use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier, Style};

/// Blue of the 256-colour table, readable on dark and on light ground.
const BLUE: Color = Color::Indexed(33);
/// Orange of the 256-colour table, likewise.
const ORANGE: Color = Color::Indexed(208);

/// How things look on this terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    /// Colours may be used.
    pub colour: bool,
    /// Characters beyond ASCII may be used.
    pub unicode: bool,
}

impl Theme {
    /// The look that the environment asks for. `NO_COLOR` counts when it is set and not empty (no-color.org); the
    /// locale is that of `LC_ALL`, else `LC_CTYPE`, else `LANG`, the first that is set and not empty (POSIX).
    #[must_use]
    pub fn from_environment(no_color: bool, look_up: impl Fn(&str) -> Option<String>) -> Self {
        let set = |name: &str| look_up(name).filter(|text| !text.is_empty());
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(set);
        let unicode = match locale {
            Some(name) => {
                let name = name.to_ascii_lowercase();
                name.contains("utf-8") || name.contains("utf8")
            }
            None => cfg!(not(unix)),
        };
        let dumb = set("TERM").is_some_and(|term| term == "dumb");
        Self {
            colour: !no_color && !dumb && set("NO_COLOR").is_none(),
            unicode,
        }
    }
    /// What is asked about, and where we are.
    #[must_use]
    pub fn here(self) -> Style {
        self.accent(ORANGE).add_modifier(Modifier::BOLD)
    }
    /// What holds.
    #[must_use]
    pub fn good(self) -> Style {
        self.accent(BLUE).add_modifier(Modifier::BOLD)
    }
    /// What is said aloud.
    #[must_use]
    pub fn speech(self) -> Style {
        Style::new().add_modifier(Modifier::ITALIC)
    }
    /// A heading.
    #[must_use]
    pub fn strong(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD)
    }
    /// What may be passed over.
    #[must_use]
    pub fn quiet(self) -> Style {
        Style::new().add_modifier(Modifier::DIM)
    }
    /// The road, before and behind.
    #[must_use]
    pub fn road(self) -> Style {
        self.accent(BLUE)
    }
    fn accent(self, colour: Color) -> Style {
        if self.colour {
            Style::new().fg(colour)
        } else {
            Style::new()
        }
    }
    /// Puts ASCII in the place of other characters where the terminal wants that.
    pub fn finish(self, buffer: &mut Buffer) {
        if self.unicode {
            return;
        }
        let area = *buffer.area();
        for y in area.top()..area.bottom() {
            for x in area.left()..area.right() {
                if let Some(cell) = buffer.cell_mut((x, y)) {
                    let ascii = cell.symbol().chars().next().filter(|c| !c.is_ascii());
                    if let Some(c) = ascii {
                        cell.set_char(fold(c));
                    }
                }
            }
        }
    }
}

/// The ASCII character that stands for another.
#[must_use]
pub fn fold(c: char) -> char {
    const TABLE: &[(&str, char)] = &[
        ("─–—‐‑−", '-'),
        ("│", '|'),
        ("╭╮╷", '.'),
        ("╰╯‘’′", '\''),
        ("“”„«»", '"'),
        ("○", 'o'),
        ("●", '*'),
        ("◉◈", '@'),
        ("◇", 'Y'),
        ("◆", '#'),
        ("◔", '~'),
        ("◑", '='),
        ("▒", '%'),
        ("▁", '_'),
        ("▂", '.'),
        ("▃▄", '-'),
        ("▅▆", '='),
        ("▇", '%'),
        ("█", '#'),
        ("▴▲↑", '^'),
        ("▾▼↓", 'v'),
        ("▸→›", '>'),
        ("◂←‹", '<'),
        ("·…•", '.'),
        ("×", 'x'),
        ("✓", '+'),
        ("♣", 'C'),
        ("♥", 'H'),
        ("♠", 'S'),
        ("♦", 'D'),
        ("àáâãäå", 'a'),
        ("ÀÁÂÃÄÅ", 'A'),
        ("ç", 'c'),
        ("Ç", 'C'),
        ("èéêë", 'e'),
        ("ÈÉÊË", 'E'),
        ("ìíîï", 'i'),
        ("ÌÍÎÏ", 'I'),
        ("ñ", 'n'),
        ("Ñ", 'N'),
        ("òóôõöœ", 'o'),
        ("ÒÓÔÕÖŒ", 'O'),
        ("ùúûü", 'u'),
        ("ÙÚÛÜ", 'U'),
        ("ýÿ", 'y'),
        ("ß", 's'),
        ("¡", '!'),
        ("\u{a0}\u{202f}", ' '),
    ];
    if c.is_ascii() {
        return c;
    }
    TABLE
        .iter()
        .find(|(from, _)| from.contains(c))
        .map_or('?', |&(_, to)| to)
}
