//! The help page: the keys of this place, from the table of keys, and a few words on what the marks mean.

use super::keys::{self, Place};
use super::sheet::Sheet;
use super::state::State;
use ratatui::style::Style;

/// The furthest that the page can be scrolled.
pub const LAST_ROW: u16 = 65;

/// What the marks mean, and what else a performer should know.
const WORDS: &[&str] = &[
    "○ a step, ◇ a fork where somebody chooses; ● and ◆ lie behind you; ◉ and ◈ are where you are. In the foyer: \
     ○ new, ◔ shaky, ◑ steady, ● show-ready.",
    "▒ before a card: it lies face down. ·· a card nobody can know.",
    "Cards are answered as you like: 7h, 7♥ or seven of hearts. Patterns letter by letter: rbrb. A line of patter by its \
     key words, or say it aloud and press enter. A single - says that you do not know.",
    "Times run from the moment a question is on the screen; this page and ctrl-p stop them.",
    "With real cards any key goes on: a clicker's page down, a foot switch, the space bar. Page up says it again. What you do \
     by feel nobody checks; at the end one key says whether the ending came true.",
    "Every answer is on disk before the next question. Leaving is always safe.",
    "Hands tire before minds do: rest them every twenty minutes.",
    "These routines are entertainment. Never let anybody play for money with them.",
];

/// Draws the help for the place it was called from.
pub fn draw(state: &State, row: u16, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let behind = State {
        help: None,
        ..state.clone()
    }
    .place();
    let mut lines: Vec<(String, Style)> = vec![("Keys here".to_owned(), theme.strong())];
    for binding in keys::rows(behind) {
        lines.push((
            format!("  {:<10} {}", binding.label, binding.meaning),
            Style::new(),
        ));
    }
    if behind == Place::Asked {
        lines.push(("  letters    your answer".to_owned(), Style::new()));
    }
    lines.push((String::new(), Style::new()));
    let width = usize::from(sheet.width());
    let meanings = super::progress::words::meanings();
    let (first, rest) = WORDS.split_at(1);
    for words in first.iter().chain([&meanings.as_str()]).chain(rest) {
        for line in super::sheet::wrap(words, width) {
            lines.push((line, Style::new()));
        }
        lines.push((String::new(), Style::new()));
    }
    let most = lines.len().saturating_sub(usize::from(sheet.left()));
    let from = usize::from(row).min(most);
    for (line, style) in lines.iter().skip(from) {
        sheet.pieces(&[(line, *style)]);
    }
}
