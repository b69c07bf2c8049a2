//! How commands print for people: text in lines of the screen's width, piles as rows of cards.

use crate::routine::{Routine, World};
use crate::table::{Laid, PileId};
use std::io::{self, Write};
use unicode_width::UnicodeWidthStr;

/// Columns of a line.
const WIDTH: usize = 78;

/// Writes a paragraph: `first` before its first line, spaces before the others. Nothing that could move the cursor is let
/// through.
pub(super) fn paragraph(out: &mut dyn Write, first: &str, text: &str) -> io::Result<()> {
    let indent = " ".repeat(first.width());
    let mut line = first.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        let word: String = word.chars().filter(|c| !c.is_control()).collect();
        if !empty && line.width() + 1 + word.width() > WIDTH {
            writeln!(out, "{}", line.trim_end())?;
            line.clone_from(&indent);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(&word);
        empty = false;
    }
    writeln!(out, "{}", line.trim_end())
}

/// The sign of a card as it lies: `7♥`, with `^` when it faces up; `?` while nothing has fixed what is printed on it.
pub(super) fn sign(routine: &Routine, world: &World, laid: Laid) -> String {
    let mut sign = world
        .face_of(laid.card())
        .map_or_else(|| "?".to_owned(), |print| routine.pack.symbol(print));
    if laid.face_up() {
        sign.push('^');
    }
    sign
}

/// Writes every pile that holds cards, from the top.
pub(super) fn piles(
    out: &mut dyn Write,
    indent: &str,
    routine: &Routine,
    world: &World,
) -> io::Result<()> {
    for (id, pile) in world.table.piles() {
        if pile.is_empty() || id.index() >= routine.piles.len() {
            continue;
        }
        let cards: Vec<String> = pile.iter().map(|l| sign(routine, world, *l)).collect();
        paragraph(
            out,
            &format!("{indent}{} ({}): ", routine.pile_name(id), pile.len()),
            &cards.join(" "),
        )?;
    }
    Ok(())
}

/// "the pile" or "the piles a, b and c".
pub(super) fn pile_names(routine: &Routine, piles: &[PileId]) -> String {
    let names: Vec<&str> = piles.iter().map(|p| routine.pile_name(*p)).collect();
    match names.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// "1 card", "16 cards".
pub(super) fn counted(n: usize, one: &str) -> String {
    if n == 1 {
        format!("1 {one}")
    } else {
        format!("{n} {one}s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paragraphs_break_at_the_width_and_carry_no_control_characters() {
        let mut out = Vec::new();
        paragraph(&mut out, "  say: ", &"wörd\u{1b}[31m ".repeat(30)).unwrap();
        let text = String::from_utf8(out).unwrap();
        assert!(!text.contains('\u{1b}'));
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines.len() > 2);
        assert!(lines[0].starts_with("  say: wörd"));
        assert!(lines[1].starts_with("       wörd"));
        assert!(lines.iter().all(|l| l.width() <= WIDTH));
    }
}
