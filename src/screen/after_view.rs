//! The page after a performance: one question at a time.
//!
//! ```text
//!  Title                                    after the show
//!
//!  Did anything go wrong? At which step?
//!
//!    1 Deal off any number
//!    2 Push them together
//!
//!  ▸ 2
//!    its number; enter for no
//! ```

use super::after::AfterShow;
use super::sheet::Sheet;
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr;

/// The questions on the screen.
#[derive(Debug, Clone)]
pub struct After {
    /// Which routine of the shelf.
    pub which: usize,
    /// The questions.
    pub show: AfterShow,
    /// The answer as typed so far.
    pub input: String,
    /// What to write instead, when an answer could not be read.
    pub instead: Option<String>,
}

/// Rows kept free for the answer and what to write.
const BELOW: u16 = 4;

/// Draws them. Gives back where the cursor stands.
pub fn draw(after: &After, sheet: &mut Sheet<'_>) -> Option<(u16, u16)> {
    let theme = sheet.theme;
    let (question, lines, how) = after.show.question();
    sheet.pieces(&[
        (&after.show.routine().title, theme.strong()),
        ("   after the show", theme.quiet()),
    ]);
    sheet.skip(1);
    sheet.text(&question, theme.strong());
    sheet.skip(1);
    // A long list goes on in a second column rather than out of sight.
    let room = usize::from(sheet.left().saturating_sub(BELOW)).max(1);
    let rows = lines.len().div_ceil(2).max(room.min(lines.len()));
    let column = usize::from(sheet.width().saturating_sub(2)) / 2;
    for row in 0..rows.min(room) {
        let left = lines.get(row).map_or("", String::as_str);
        match lines.get(row + rows) {
            Some(right) => {
                let left = fitted(left, column.saturating_sub(2));
                let gap = " ".repeat(column.saturating_sub(left.width()));
                sheet.pieces(&[(&format!("  {left}{gap}{right}"), Style::new())]);
            }
            None => sheet.pieces(&[(&format!("  {left}"), Style::new())]),
        }
    }
    if !lines.is_empty() {
        sheet.skip(1);
    }
    let cursor = sheet.typed(&after.input)?;
    match &after.instead {
        Some(instead) => sheet.hanging("  ", instead, theme.here()),
        None => sheet.hanging("  ", how, theme.quiet()),
    }
    Some(cursor)
}

/// The beginning of a text that is too long.
fn fitted(text: &str, room: usize) -> String {
    let mut kept = String::new();
    for c in text.chars() {
        if kept.width() >= room {
            break;
        }
        kept.push(c);
    }
    kept
}
