//! A sheet: text laid out from the top of an area down, wrapped to its width, cut off at its foot.

use super::theme::Theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Widget;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// An area being filled from the top.
#[derive(Debug)]
pub struct Sheet<'b> {
    /// The cells.
    pub buffer: &'b mut Buffer,
    /// The look.
    pub theme: Theme,
    area: Rect,
    y: u16,
}

impl<'b> Sheet<'b> {
    /// An empty sheet over an area.
    pub fn new(buffer: &'b mut Buffer, area: Rect, theme: Theme) -> Self {
        let area = area.intersection(*buffer.area());
        Self {
            buffer,
            theme,
            area,
            y: area.y,
        }
    }
    /// The row that is filled next.
    #[must_use]
    pub fn row(&self) -> u16 {
        self.y
    }
    /// Rows left.
    #[must_use]
    pub fn left(&self) -> u16 {
        self.area.bottom().saturating_sub(self.y)
    }
    /// Columns.
    #[must_use]
    pub fn width(&self) -> u16 {
        self.area.width
    }
    /// What is left, as an area.
    #[must_use]
    pub fn rest(&self) -> Rect {
        Rect {
            y: self.y,
            height: self.left(),
            ..self.area
        }
    }
    /// Leaves rows free.
    pub fn skip(&mut self, rows: u16) {
        self.y = self.y.saturating_add(rows).min(self.area.bottom());
    }
    /// One line of pieces, cut at the right edge.
    pub fn pieces(&mut self, pieces: &[(&str, Style)]) {
        if self.left() == 0 {
            return;
        }
        let spans = pieces
            .iter()
            .map(|(text, style)| Span::styled(clean(text), *style));
        let line = Line::from_iter(spans);
        self.buffer
            .set_line(self.area.x, self.y, &line, self.area.width);
        self.y += 1;
    }
    /// Text wrapped to the width, with a first word of its own kept to the left of all its lines.
    pub fn hanging(&mut self, lead: &str, text: &str, style: Style) {
        let indent = u16::try_from(lead.width()).unwrap_or(0);
        let room = self.area.width.saturating_sub(indent);
        let quiet = self.theme.quiet();
        for (n, line) in wrap(text, usize::from(room)).iter().enumerate() {
            if self.left() == 0 {
                return;
            }
            if n == 0 {
                self.buffer.set_stringn(
                    self.area.x,
                    self.y,
                    lead,
                    usize::from(self.area.width),
                    quiet,
                );
            }
            self.buffer.set_stringn(
                self.area.x.saturating_add(indent),
                self.y,
                line,
                usize::from(room),
                style,
            );
            self.y += 1;
        }
    }
    /// Text wrapped to the width.
    pub fn text(&mut self, text: &str, style: Style) {
        self.hanging("", text, style);
    }
    /// The line that is being typed on, of which the end stays in sight. Gives back where the cursor stands; nothing where there is
    /// no room for it.
    pub fn typed(&mut self, text: &str) -> Option<(u16, u16)> {
        let lead = "▸ ";
        let (row, left) = (self.row(), self.rest());
        if left.height == 0 {
            return None;
        }
        // One cell stays free for the cursor.
        let room = usize::from(left.width).saturating_sub(lead.width() + 1);
        let mut shown = text;
        while shown.width() > room {
            let mut rest = shown.chars();
            rest.next();
            shown = rest.as_str();
        }
        self.pieces(&[(lead, self.theme.here()), (shown, self.theme.strong())]);
        let at = left.x + u16::try_from(lead.width() + shown.width()).unwrap_or(0);
        Some((at.min(left.right().saturating_sub(1)), row))
    }
    /// A widget over the next rows.
    pub fn widget(&mut self, rows: u16, widget: impl Widget) {
        let rows = rows.min(self.left());
        let area = Rect {
            y: self.y,
            height: rows,
            ..self.area
        };
        if rows > 0 {
            widget.render(area, self.buffer);
        }
        self.y += rows;
    }
}

/// The text without control characters: what comes from a file must not steer the terminal.
#[must_use]
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

/// The text in lines of at most so many cells, broken between words, or inside a word that is wider than a line. A line
/// break in the text stays one; an empty text has no lines.
#[must_use]
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    if width == 0 || text.trim().is_empty() {
        return lines;
    }
    for part in text.trim_end().lines() {
        let mut line = String::new();
        for word in clean(part).split_whitespace() {
            let mut word = word.to_owned();
            let space = usize::from(!line.is_empty());
            if line.width() + space + word.width() <= width {
                if space == 1 {
                    line.push(' ');
                }
                line.push_str(&word);
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            while word.width() > width {
                let rest = break_off(&mut word, width);
                lines.push(std::mem::replace(&mut word, rest));
            }
            line = word;
        }
        lines.push(line);
    }
    lines
}

/// Shortens a word to a width (at least one character) and gives back what was broken off.
fn break_off(word: &mut String, width: usize) -> String {
    let mut used = 0;
    let at = word.char_indices().find_map(|(at, c)| {
        used += c.width().unwrap_or(0);
        (used > width && at > 0).then_some(at)
    });
    at.map_or_else(String::new, |at| word.split_off(at))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_breaks_between_words_and_long_words_break_inside() {
        assert_eq!(wrap("one two three", 7), ["one two", "three"]);
        assert_eq!(wrap("abcdefgh ij", 3), ["abc", "def", "gh", "ij"]);
        assert_eq!(wrap("a\n\nb", 5), ["a", "", "b"]);
        assert!(wrap("  ", 5).is_empty());
        assert!(wrap("word", 0).is_empty());
    }

    #[test]
    fn control_characters_never_reach_a_line() {
        assert_eq!(wrap("a\u{1b}[2Jb", 10), ["a [2Jb"]);
    }
}
