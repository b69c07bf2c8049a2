//! The table: piles where they lie as small tiles, packets spread card by card, and the one large tile a question is about.

use super::sheet::Sheet;
use super::theme::Theme;
use crate::drill::{Spread, Tile};
use crate::routine::Routine;
use crate::table::PileId;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;
use unicode_width::UnicodeWidthStr;

/// What a small tile shows of its pile.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PileTile {
    /// Name of the pile.
    pub name: String,
    /// What its top shows: `None` is a back.
    pub top: Option<String>,
    /// How many cards, if that may be shown.
    pub count: Option<usize>,
    /// Whether the question is about this pile.
    pub asked: bool,
}

/// The piles side by side: three rows of tiles, one of names.
#[derive(Debug, Clone)]
pub struct PileRow<'a> {
    /// From the left.
    pub tiles: &'a [PileTile],
    /// The look.
    pub theme: Theme,
}

/// Rows that a [`PileRow`] takes.
pub const PILE_ROWS: u16 = 4;

impl Widget for PileRow<'_> {
    fn render(self, area: Rect, buffer: &mut Buffer) {
        if area.height < PILE_ROWS {
            return;
        }
        let mut x = area.x;
        for tile in self.tiles {
            let face = tile.top.as_deref().unwrap_or("▒▒");
            let inner = face.width().max(2);
            let label = tile.count.map_or_else(
                || tile.name.clone(),
                |count| format!("{} {count}", tile.name),
            );
            let wide = (inner + 2).max(label.width());
            let wide = u16::try_from(wide).unwrap_or(u16::MAX);
            if x.saturating_add(wide) > area.right() {
                buffer.set_stringn(x.min(area.right() - 1), area.y + 1, "…", 1, Style::new());
                return;
            }
            let (edge, text) = if tile.asked {
                (self.theme.here(), self.theme.here())
            } else {
                (self.theme.quiet(), Style::new())
            };
            let line = "─".repeat(inner);
            let pad = " ".repeat(inner - face.width());
            buffer.set_string(x, area.y, format!("╭{line}╮"), edge);
            buffer.set_string(x, area.y + 1, format!("│{face}{pad}│"), edge);
            buffer.set_string(x, area.y + 2, format!("╰{line}╯"), edge);
            buffer.set_string(x, area.y + 3, label, text);
            x = x.saturating_add(wide + 2);
        }
    }
}

/// The tiles of a table as the performer sees it: a face where the top card shows one, else a back.
#[must_use]
pub fn piles_seen(routine: &Routine, table: &[Spread]) -> Vec<PileTile> {
    table
        .iter()
        .filter(|spread| spread.count != Some(0))
        .map(|spread| PileTile {
            name: routine.pile_name(spread.pile).to_owned(),
            top: spread
                .tiles
                .first()
                .filter(|tile| tile.up == Some(true))
                .and_then(|tile| tile.card)
                .map(|card| routine.pack.symbol(card)),
            count: spread.count,
            asked: false,
        })
        .collect()
}

/// The tiles of a table while a question stands: backs only, without counts, so that nothing gives the answer away.
#[must_use]
pub fn piles_closed(routine: &Routine, asked: Option<PileId>) -> Vec<PileTile> {
    (0..routine.piles.len())
        .filter_map(|n| u8::try_from(n).ok().map(PileId))
        .map(|pile| PileTile {
            name: routine.pile_name(pile).to_owned(),
            top: None,
            count: None,
            asked: Some(pile) == asked,
        })
        .collect()
}

/// Draws a packet card by card, with the number of each place above it, as many rows as fit.
pub fn draw_spread(sheet: &mut Sheet<'_>, routine: &Routine, spread: &Spread) {
    let theme = sheet.theme;
    let name = routine.pile_name(spread.pile);
    let count = match spread.count {
        Some(1) => "1 card".to_owned(),
        Some(n) => format!("{n} cards, the top first"),
        None => "nobody knows how many".to_owned(),
    };
    sheet.pieces(&[
        (name, theme.strong()),
        ("  ", theme.quiet()),
        (&count, theme.quiet()),
    ]);
    if let Some(words) = all_alike(spread) {
        sheet.pieces(&[("  ", theme.quiet()), (words, Style::new())]);
        return;
    }
    let cells: Vec<String> = spread
        .tiles
        .iter()
        .map(|tile| cell(routine, tile))
        .collect();
    let wide = cells
        .iter()
        .map(|cell| cell.width())
        .max()
        .unwrap_or(2)
        .max(3)
        + 1;
    let most = (usize::from(sheet.width()) / wide).max(1);
    // Rows of even length are easier to count in than full ones with a rest.
    let in_row = cells
        .len()
        .div_ceil(cells.len().div_ceil(most).max(1))
        .max(1);
    let mut shown = 0;
    for row in cells.chunks(in_row) {
        if sheet.left() < 2 {
            break;
        }
        let mut places = String::new();
        let mut faces = String::new();
        for (n, cell) in row.iter().enumerate() {
            places.push_str(&fill(&format!(" {}", shown + n + 1), wide));
            faces.push_str(&fill(cell, wide));
        }
        sheet.pieces(&[(&places, theme.quiet())]);
        sheet.pieces(&[(&faces, theme.strong())]);
        shown += row.len();
    }
    let hidden = spread.count.unwrap_or(cells.len()).max(cells.len()) - shown;
    if hidden > 0 && shown < cells.len() {
        sheet.pieces(&[(&format!("… and {hidden} more"), theme.quiet())]);
    }
}

/// A packet of which nothing is known card by card, in words: drawing it would show nothing.
#[must_use]
pub fn all_alike(spread: &Spread) -> Option<&'static str> {
    let up = spread.tiles.first()?.up;
    let alike = |tile: &Tile| tile.card.is_none() && tile.traits.is_empty() && tile.up == up;
    (spread.tiles.len() > 1 && spread.tiles.iter().all(alike)).then_some(match up {
        Some(false) => "all face down, and nobody can know which is which",
        Some(true) | None => "nobody can know which is which",
    })
}

/// Whether a spread holds a card that lies face down, so that the sign for it needs a word.
#[must_use]
pub fn has_backs(spreads: &[Spread]) -> bool {
    spreads
        .iter()
        .filter(|spread| all_alike(spread).is_none())
        .any(|spread| spread.tiles.iter().any(|tile| tile.up == Some(false)))
}

/// One card of a spread: `▒` before it when it lies face down, then what is known of its face.
fn cell(routine: &Routine, tile: &Tile) -> String {
    let side = match tile.up {
        Some(false) => "▒",
        Some(true) => " ",
        None => "?",
    };
    let face = match (tile.card, tile.traits.first()) {
        (Some(card), _) => routine.pack.symbol(card),
        (None, Some(&(id, class))) => routine.pack.label(id, class).to_owned(),
        (None, None) => "··".to_owned(),
    };
    format!("{side}{face}")
}

fn fill(text: &str, width: usize) -> String {
    let pad = width.saturating_sub(text.width());
    format!("{text}{}", " ".repeat(pad))
}

/// The one large tile: what the question is about.
#[derive(Debug, Clone)]
pub struct LargeTile<'a> {
    /// What stands on it: a question mark, or the answer.
    pub text: &'a str,
    /// The look.
    pub style: Style,
}

/// Columns and rows of a [`LargeTile`].
pub const LARGE: (u16, u16) = (9, 5);

impl Widget for LargeTile<'_> {
    fn render(self, area: Rect, buffer: &mut Buffer) {
        if area.width < LARGE.0 || area.height < LARGE.1 {
            return;
        }
        let inner = usize::from(LARGE.0) - 2;
        let line = "─".repeat(inner);
        let free = inner.saturating_sub(self.text.width());
        let before = " ".repeat(free / 2);
        let after = " ".repeat(free - free / 2);
        let rows = [
            format!("╭{line}╮"),
            format!("│{}│", " ".repeat(inner)),
            format!("│{before}{}{after}│", self.text),
            format!("│{}│", " ".repeat(inner)),
            format!("╰{line}╯"),
        ];
        for (y, row) in (area.y..).zip(rows) {
            buffer.set_stringn(area.x, y, row, usize::from(LARGE.0), self.style);
        }
    }
}
