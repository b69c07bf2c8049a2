//! After a miss: the right answer, the packet drawn, and why. Kind, short, exact.

use super::sheet::Sheet;
use super::theme::Theme;
use super::tiles::{self, LARGE, LargeTile, draw_spread};
use crate::drill::{Correction, Expected, GIVEN_UP, Line, Word};
use crate::routine::Routine;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};
use ratatui::widgets::Widget;
use unicode_width::UnicodeWidthStr;

/// Draws a correction.
pub fn draw(routine: &Routine, correction: &Correction, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    sheet.text(&correction.question.text, theme.quiet());
    sheet.skip(1);
    if correction.words.is_empty() {
        answer(routine, correction, sheet);
    } else {
        compared(&correction.words, sheet);
        sheet.skip(1);
    }
    if !correction.why.is_empty() {
        sheet.hanging("Why: ", &correction.why, Style::new());
        sheet.skip(1);
    }
    for spread in &correction.packet {
        if sheet.left() < 3 {
            break;
        }
        draw_spread(sheet, routine, spread);
    }
    if tiles::has_backs(&correction.packet) && sheet.left() > 0 {
        sheet.pieces(&[("▒ lies face down", theme.quiet())]);
    }
}

/// The right answer, on the large tile where it is short, and what was answered.
fn answer(routine: &Routine, correction: &Correction, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let short = short(routine, &correction.expected)
        .filter(|text| text.width() <= usize::from(LARGE.0) - 2);
    let area = sheet.rest();
    let (indent, rows) = match &short {
        Some(text) if area.height >= LARGE.1 => {
            let tile = Rect {
                width: LARGE.0,
                height: LARGE.1,
                ..area
            };
            LargeTile {
                text,
                style: theme.good(),
            }
            .render(tile, sheet.buffer);
            (LARGE.0 + 3, LARGE.1)
        }
        _ => (0, 0),
    };
    let side = Rect {
        x: area.x + indent,
        width: area.width.saturating_sub(indent),
        ..area
    };
    let mut words = Sheet::new(sheet.buffer, side, theme);
    words.skip(u16::from(rows > 0));
    words.hanging("It is ", &stated(correction), theme.good());
    let given = correction.given.trim();
    if given.is_empty() || GIVEN_UP.contains(&given.to_lowercase().as_str()) {
        words.text("You left it open.", theme.quiet());
    } else {
        words.hanging("You said ", &format!("“{given}”."), theme.quiet());
    }
    words.text("It comes back in a moment.", theme.quiet());
    let used = words.row().saturating_sub(area.y).max(rows);
    sheet.skip(used + 1);
}

/// The right answer as a sentence ends; a step's name or a line stands in quotation marks, as it may be a sentence itself.
fn stated(correction: &Correction) -> String {
    let answer = correction.answer.trim();
    let quoted = match &correction.expected {
        Expected::Step(_) | Expected::Line(_) => !answer.starts_with('“'),
        Expected::Card(_)
        | Expected::Class(_, _)
        | Expected::Facing(_)
        | Expected::Place(_, _)
        | Expected::Number(_)
        | Expected::Pile(_)
        | Expected::Yes(_)
        | Expected::Word(_)
        | Expected::Pattern(_, _)
        | Expected::Order(_)
        | Expected::Places(_) => false,
    };
    if quoted {
        let stop = if answer.ends_with(['.', '?', '!', '…']) {
            ""
        } else {
            "."
        };
        format!("“{answer}”{stop}")
    } else {
        format!("{}.", answer.trim_end_matches('.'))
    }
}

/// The answer as it stands on a tile; `None` where it has no short form.
fn short(routine: &Routine, expected: &Expected) -> Option<String> {
    match expected {
        Expected::Card(card) => Some(routine.pack.symbol(*card)),
        Expected::Class(id, class) => Some(routine.pack.label(*id, *class).to_owned()),
        Expected::Facing(up) => Some(if *up { "up" } else { "down" }.to_owned()),
        Expected::Place(_, place) => Some(place.0.to_string()),
        Expected::Number(n) => Some(n.to_string()),
        Expected::Pile(pile) => Some(routine.pile_name(*pile).to_owned()),
        Expected::Yes(yes) => Some(if *yes { "yes" } else { "no" }.to_owned()),
        Expected::Word(word) => Some(word.clone()),
        Expected::Pattern(_, _)
        | Expected::Step(_)
        | Expected::Order(_)
        | Expected::Places(_)
        | Expected::Line(_) => None,
    }
}

/// Draws the real line of patter after it was typed or said.
pub fn draw_line(line: &Line, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    if line.words.is_empty() {
        sheet.hanging("  ", &format!("“{}”", line.line), theme.speech());
    } else {
        compared(&line.words, sheet);
    }
    sheet.skip(1);
    for handling in &line.handling {
        sheet.hanging("· ", handling, Style::new());
    }
    if line.aloud {
        sheet.skip(1);
        sheet.text("Was it just what you said?", theme.strong());
    }
}

/// A line word by word. Where only key words were typed, brackets round all the others would hide the line: it is shown
/// whole then, the words that were there underlined. Else what was missed stands in brackets and what was typed instead
/// between hyphens, so that no colour is needed.
fn compared(words: &[Word], sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let sparse = sparse(words);
    let pieces: Vec<(String, Style)> = words
        .iter()
        .filter_map(|word| {
            if sparse {
                whole(word, theme)
            } else {
                Some(marked(word, theme))
            }
        })
        .collect();
    flow(&pieces, sheet);
    let differs = words.iter().any(|word| !matches!(word, Word::Same(_)));
    if sparse {
        let others = typed_otherwise(words);
        if !others.is_empty() {
            sheet.skip(1);
            sheet.hanging("Not in the line: ", &others, Style::new());
        }
    } else if differs {
        sheet.pieces(&[("[word] was missing   -word- was yours", theme.quiet())]);
    }
}

/// Words one after another, as many to a row as fit.
fn flow(pieces: &[(String, Style)], sheet: &mut Sheet<'_>) {
    let room = usize::from(sheet.width());
    let mut row: Vec<(&str, Style)> = Vec::new();
    let mut used = 0;
    for (text, style) in pieces {
        let wide = text.width() + 1;
        if used + wide > room && !row.is_empty() {
            sheet.pieces(&row);
            row.clear();
            used = 0;
        }
        used += wide;
        row.push((text, *style));
        row.push((" ", Style::new()));
    }
    if !row.is_empty() {
        sheet.pieces(&row);
    }
}

/// Whether so much of the line is missing that only key words can have been meant: a third or more.
#[must_use]
pub fn sparse(words: &[Word]) -> bool {
    let (mut missed, mut all) = (0, 0);
    for word in words {
        match word {
            Word::Missed(_) => {
                missed += 1;
                all += 1;
            }
            Word::Same(_) | Word::Changed(_, _) => all += 1,
            Word::Added(_) => {}
        }
    }
    missed * 3 >= all && missed > 0
}

/// What was typed and is not in the line, in one row.
#[must_use]
pub fn typed_otherwise(words: &[Word]) -> String {
    let typed: Vec<&str> = words
        .iter()
        .filter_map(|word| match word {
            Word::Added(typed) | Word::Changed(_, typed) => Some(typed.as_str()),
            Word::Same(_) | Word::Missed(_) => None,
        })
        .collect();
    typed.join(" ")
}

/// A word of the line as it stands, underlined where it was typed.
fn whole(word: &Word, theme: Theme) -> Option<(String, Style)> {
    match word {
        Word::Same(word) => Some((
            word.clone(),
            theme.good().add_modifier(Modifier::UNDERLINED),
        )),
        Word::Missed(word) | Word::Changed(word, _) => Some((word.clone(), Style::new())),
        Word::Added(_) => None,
    }
}

fn marked(word: &Word, theme: Theme) -> (String, Style) {
    match word {
        Word::Same(word) => (word.clone(), Style::new()),
        Word::Missed(word) => (format!("[{word}]"), theme.good()),
        Word::Added(word) => (format!("-{word}-"), theme.here()),
        Word::Changed(line, typed) => (format!("[{line}] -{typed}-"), theme.here()),
    }
}
