//! The progress of a routine, scrolled, and as printed lines.

pub mod lines;
pub mod plain;
pub mod print;
pub mod words;

use super::sheet::Sheet;
use super::theme::Theme;
use super::view::body;
use crate::coach::Progress;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Progress on the screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Looking {
    /// Which routine of the shelf.
    pub which: usize,
    /// What there is to look at; `None` while it is being read, or where it cannot be.
    pub progress: Option<Box<Progress>>,
    /// Rows scrolled past.
    pub row: u16,
}

impl Looking {
    /// The furthest that it can be scrolled on a screen of this size.
    #[must_use]
    pub fn last(&self, theme: Theme, (columns, rows): (u16, u16)) -> u16 {
        let body = body(Rect::new(0, 0, columns, rows));
        let all = self.progress.as_ref().map_or(0, |progress| {
            lines::lines(progress, body.width.into(), theme).len()
        });
        let over = all.saturating_sub(shown(all, body.height.into()));
        u16::try_from(over).unwrap_or(u16::MAX)
    }
}

/// How many rows of so many are shown: where not all fit, the last row of the pane says so.
fn shown(all: usize, room: usize) -> usize {
    if all > room {
        room.saturating_sub(1)
    } else {
        all
    }
}

/// Draws progress.
pub fn draw(looking: &Looking, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let Some(progress) = &looking.progress else {
        sheet.text("The logbook could not be read.", Style::new());
        return;
    };
    let rows = lines::lines(progress, usize::from(sheet.width()), theme);
    let room = usize::from(sheet.left());
    let shown = shown(rows.len(), room);
    let from = usize::from(looking.row).min(rows.len().saturating_sub(shown));
    for row in rows.iter().skip(from).take(shown) {
        let pieces: Vec<(&str, Style)> = row.iter().map(|(text, s)| (text.as_str(), *s)).collect();
        sheet.pieces(&pieces);
    }
    if rows.len() > shown {
        let below = rows.len().saturating_sub(from + shown);
        let words = match (from, below) {
            (0, below) => format!("▾ {below} more lines"),
            (above, 0) => format!("▴ {above} lines above"),
            (above, below) => format!("▴ {above} lines above   ▾ {below} below"),
        };
        sheet.pieces(&[(&words, theme.quiet())]);
    }
}
