//! The rehearsal: the road with a mark where we are, what happens there, and one thing to answer.
//!
//! ```text
//!  ●───◆───◉───○───◇
//!          ▴ Deal off any number
//!
//!  “Name a number, any number…”
//!  They name 7.
//!
//!  ╭──╮  ╭──╮
//!  │▒▒│  │▒▒│
//!  ╰──╯  ╰──╯
//!  hut   chair
//! ```

use super::back::looks_back;
use super::proven::Proven;
use super::road::{Mark, RoadLine};
use super::sheet::{Sheet, wrap};
use super::state::{Rehearsal, State};
use super::tiles::{self, LARGE, LargeTile, PILE_ROWS, PileRow};
use crate::drill::{Prompt, Question, Subject, Tell};
use crate::routine::Routine;
use crate::table::PileId;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;
use unicode_width::UnicodeWidthStr;

/// Draws a rehearsal. Gives back where the cursor stands while an answer is typed.
pub fn draw(state: &State, rehearsal: &Rehearsal, sheet: &mut Sheet<'_>) -> Option<(u16, u16)> {
    let routine = rehearsal.session.routine();
    head(rehearsal, state.proven(rehearsal.turn()), sheet);
    if rehearsal.paused {
        sheet.skip(2);
        sheet.pieces(&[
            ("Pausing. ", sheet.theme.strong()),
            ("The watch stands still; nothing is lost.", Style::new()),
        ]);
        return None;
    }
    match &rehearsal.prompt {
        Prompt::Tell(tell) => told(routine, tell, sheet),
        Prompt::Ask(question) => return asked(rehearsal, question, sheet),
        Prompt::Correct(correction) => super::correction::draw(routine, correction, sheet),
        Prompt::Line(line) => super::correction::draw_line(line, sheet),
        Prompt::Done(_) => {}
    }
    None
}

/// The road, and how far we are.
fn head(rehearsal: &Rehearsal, proven: Proven, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let routine = rehearsal.session.walked();
    let (asked, right) = rehearsal.tally;
    let count = match asked {
        0 => String::new(),
        _ => format!("{right} of {asked} right"),
    };
    let verdict = proven.words();
    let gap = usize::from(sheet.width())
        .saturating_sub(routine.title.width() + 3 + verdict.width() + count.width());
    sheet.pieces(&[
        (&routine.title, theme.quiet()),
        ("   ", Style::new()),
        (verdict, proven.style(theme)),
        (&" ".repeat(gap), Style::new()),
        (&count, theme.quiet()),
    ]);
    let told = rehearsal.told.as_ref();
    let (done, of) = told.map_or((0, 0), |tell| (tell.done, tell.of));
    let at = told.and_then(|tell| tell.stop);
    let here = at.map(|_| done.min(of.max(1) - 1));
    let marks = marks(routine, &rehearsal.trail, here, of.max(1));
    let title = told.map_or("", |tell| tell.title.as_str());
    sheet.widget(
        2,
        RoadLine {
            marks: &marks,
            here,
            title,
            theme,
        },
    );
    sheet.skip(1);
}

/// The marks of a road of so many stops. Forks behind us are those we came by. Those ahead are shown where the road
/// has each of the routine's stops once; where a part is gone through again, nobody knows yet where they will lie.
fn marks(routine: &Routine, trail: &[bool], here: Option<usize>, count: usize) -> Vec<Mark> {
    let straight = count == routine.stops.len();
    (0..count)
        .map(|n| {
            let ahead = || straight && routine.stops.get(n).is_some_and(|s| s.fork.is_some());
            let fork = trail.get(n).copied().unwrap_or_else(ahead);
            match (Some(n).cmp(&here), fork) {
                (std::cmp::Ordering::Less, false) => Mark::Past,
                (std::cmp::Ordering::Less, true) => Mark::PastFork,
                (std::cmp::Ordering::Equal, false) => Mark::Here,
                (std::cmp::Ordering::Equal, true) => Mark::HereFork,
                (std::cmp::Ordering::Greater, false) => Mark::Ahead,
                (std::cmp::Ordering::Greater, true) => Mark::Fork,
            }
        })
        .collect()
}

/// A step told: patter, what is done, what the spectators choose, the table.
fn told(routine: &Routine, tell: &Tell, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    if tell.stop.is_none() && tell.title != routine.title {
        sheet.text(&tell.title, theme.strong());
    }
    if !tell.patter.is_empty() {
        sheet.hanging("  ", &format!("“{}”", tell.patter), theme.speech());
        sheet.skip(1);
    }
    let tiles = tiles::piles_seen(routine, &tell.table);
    let keep = if tiles.is_empty() { 0 } else { PILE_ROWS + 1 };
    for line in &tell.handling {
        if sheet.left() > keep {
            sheet.hanging("· ", line, Style::new());
        }
    }
    for line in &tell.seen {
        if sheet.left() > keep {
            sheet.hanging("▸ ", line, theme.strong());
        }
    }
    if sheet.left() >= keep {
        sheet.skip(1);
        sheet.widget(
            PILE_ROWS,
            PileRow {
                tiles: &tiles,
                theme,
            },
        );
    }
}

/// The pile a question is about, if it is about one.
fn pile_of(subject: &Subject) -> Option<PileId> {
    match subject {
        Subject::CardAt(pile, _)
        | Subject::TraitAt(pile, _, _)
        | Subject::FacingAt(pile, _)
        | Subject::HowMany(pile)
        | Subject::FaceUp(pile)
        | Subject::Pattern { pile, .. }
        | Subject::Follows { pile, .. } => Some(*pile),
        Subject::WhereIs(_)
        | Subject::PileOf(_)
        | Subject::WhereTheirs(_)
        | Subject::PileOfTheirs(_)
        | Subject::Claim(_, _)
        | Subject::Next
        | Subject::Remembered(_)
        | Subject::Line(_) => None,
    }
}

/// A question, its large tile, and the line to answer on.
fn asked(rehearsal: &Rehearsal, question: &Question, sheet: &mut Sheet<'_>) -> Option<(u16, u16)> {
    let theme = sheet.theme;
    let routine = rehearsal.session.routine();
    // The newest of what was seen and heard counts most: older lines give way first.
    let below = LARGE.1 + 1 + 1 + 1 + PILE_ROWS;
    let room = usize::from(sheet.left().saturating_sub(below + 1).min(10));
    let width = usize::from(sheet.width().saturating_sub(2));
    let lines: Vec<(bool, String)> = question
        .given
        .iter()
        .flat_map(|given| {
            wrap(given, width)
                .into_iter()
                .enumerate()
                .map(|(n, line)| (n == 0, line))
        })
        .collect();
    if let Some(place) = looks_back(&rehearsal.session, rehearsal.told.as_ref(), question) {
        let words = format!("Back at {place}, where you knew:");
        sheet.pieces(&[(&words, theme.strong())]);
    }
    for (first, line) in lines.iter().skip(lines.len().saturating_sub(room)) {
        let lead = if *first { "▸ " } else { "  " };
        sheet.pieces(&[(lead, theme.quiet()), (line, Style::new())]);
    }
    sheet.skip(1);
    let area = sheet.rest();
    let tile = Rect {
        width: LARGE.0.min(area.width),
        height: LARGE.1.min(area.height),
        ..area
    };
    LargeTile {
        text: "?",
        style: theme.here(),
    }
    .render(tile, sheet.buffer);
    let side = Rect {
        x: area.x + LARGE.0 + 3,
        width: area.width.saturating_sub(LARGE.0 + 3),
        height: (LARGE.1 + 2).min(area.height),
        ..area
    };
    let mut words = Sheet::new(sheet.buffer, side, theme);
    let again = if question.again { "Once more. " } else { "" };
    let text = format!("{again}{}", question.text);
    // The line to answer on, and how, must stay in sight however long the question is.
    for line in wrap(&text, usize::from(side.width)).iter().take(3) {
        words.pieces(&[(line, theme.strong())]);
    }
    let (how, style) = match rehearsal.unread.as_deref() {
        Some(unread) => (unread, theme.here()),
        None => (question.answer_as.as_str(), theme.quiet()),
    };
    let rows = wrap(how, usize::from(side.width.saturating_sub(2))).len();
    if usize::from(words.left()) > rows + 1 {
        words.skip(1);
    }
    let cursor = words.typed(&rehearsal.input);
    words.hanging("  ", how, style);
    sheet.skip(LARGE.1 + 2);
    let tiles = tiles::piles_closed(routine, pile_of(&question.subject));
    sheet.widget(
        PILE_ROWS,
        PileRow {
            tiles: &tiles,
            theme,
        },
    );
    cursor
}
