//! Lines with a look, for a terminal that is written to and not drawn on.

use super::lines::Row;
use crate::screen::theme::{Theme, fold};
use ratatui::style::{Color, Modifier, Style};

/// The line as text: with the terminal's own codes where colours may be used, in ASCII where nothing else may.
#[must_use]
pub fn line(row: &Row, theme: Theme) -> String {
    let mut text = String::new();
    let end = row
        .iter()
        .rposition(|(piece, _)| !piece.trim_end().is_empty());
    let kept = end.map_or(0, |last| last + 1);
    for (n, (piece, style)) in row.iter().take(kept).enumerate() {
        let piece = if n + 1 == kept {
            piece.trim_end()
        } else {
            piece
        };
        let shown: String = if theme.unicode {
            piece.to_owned()
        } else {
            piece.chars().map(fold).collect()
        };
        let codes = codes(*style);
        if theme.colour && !codes.is_empty() {
            text.push_str(&format!("\u{1b}[{codes}m{shown}\u{1b}[0m"));
        } else {
            text.push_str(&shown);
        }
    }
    text
}

/// The codes of a style (ECMA-48, "select graphic rendition"; 38;5 for the table of 256 colours).
fn codes(style: Style) -> String {
    let mut codes: Vec<String> = [
        (Modifier::BOLD, "1"),
        (Modifier::DIM, "2"),
        (Modifier::ITALIC, "3"),
    ]
    .into_iter()
    .filter(|(modifier, _)| style.add_modifier.contains(*modifier))
    .map(|(_, code)| code.to_owned())
    .collect();
    if let Some(Color::Indexed(colour)) = style.fg {
        codes.push(format!("38;5;{colour}"));
    }
    codes.join(";")
}
