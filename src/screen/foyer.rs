//! The foyer: the routines, when each was last rehearsed, how its steps are held.
//!
//! ```text
//!  allroads
//!
//!  ▸ Title                                  ✓ proved  3 days ago
//!    Blurb in a line or two
//!    h with real cards   l lines aloud   d dress rehearsal   p progress
//!    ○───◔───◑───●        1 shaky · 1 steady · 1 show-ready · 1 new
//!
//!    Another title                ! can fail  never rehearsed
//!    ○───○───○
//!
//!  enter rehearse · …
//! ```

use super::road::{Mark, RoadLine};
use super::sheet::{Sheet, wrap};
use super::shelf::Shelved;
use super::state::State;
use crate::coach::Hold;
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr;

/// Columns for the longest verdict, and for the longest time since a rehearsal within a year, with a gap before it.
const COLUMNS: (usize, usize) = (16, 24);

/// Draws the foyer.
pub fn draw(state: &State, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let fresh = state.shelf.iter().all(|one| one.standing.days.is_none());
    if fresh {
        greet(state, sheet);
    } else {
        sheet.pieces(&[("allroads", theme.strong()), (&head(state), theme.quiet())]);
        sheet.skip(1);
    }
    if state.shelf.is_empty() {
        sheet.text(
            "No routine is here yet: `allroads new NAME` writes one to start from.",
            Style::new(),
        );
        return;
    }
    let width = usize::from(sheet.width().saturating_sub(2));
    let room = usize::from(sheet.left());
    let seen = seen(state, width, room.saturating_sub(1));
    let (first, count) = (seen.start, state.shelf.len());
    for index in seen {
        let (shelved, chosen) = (&state.shelf[index], index == state.chosen);
        // An entry's own free row may fall off the foot, but the row that says there is more may not.
        let more = usize::from(index + 1 < count);
        if usize::from(sheet.left()) + 1 < height(shelved, chosen, width) + more {
            let hidden = count - index;
            sheet.pieces(&[(&format!("  ▾ {hidden} more below"), theme.quiet())]);
            return;
        }
        entry(shelved, chosen, sheet);
    }
    if first > 0 && sheet.left() > 0 {
        sheet.pieces(&[(&format!("  ▴ {first} more above"), theme.quiet())]);
    }
}

/// What stands beside the name: what comes next by a plan, if there is one.
fn head(state: &State) -> String {
    let pointed = state.shelf.get(state.chosen);
    let planned = pointed
        .into_iter()
        .chain(&state.shelf)
        .find_map(|one| one.standing.planned.as_ref());
    match planned {
        Some(next) => format!("   next: {next}"),
        None => "   what shall we rehearse?".to_owned(),
    }
}

/// The first evening: a little road, and one key to set out on it.
fn greet(state: &State, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let (road, here) = (theme.road(), theme.here());
    sheet.pieces(&[("allroads", theme.strong())]);
    sheet.pieces(&[("              ╭──○──╮", road)]);
    sheet.pieces(&[
        ("   ", road),
        ("◉", here),
        ("───●───◇──◇──○──●──", road),
        ("●", theme.good()),
        ("   Good evening.", Style::new()),
    ]);
    sheet.pieces(&[
        ("              ╰──○──╯", road),
        (
            "       Every road they choose, you will know.",
            theme.quiet(),
        ),
    ]);
    sheet.skip(1);
    if let Some(shelved) = state.shelf.get(state.chosen) {
        let invitation = format!(
            "sets out at once: two minutes of {}.",
            shelved.routine.title
        );
        sheet.pieces(&[
            ("   ", Style::new()),
            ("t", here),
            ("  ", Style::new()),
            (&invitation, Style::new()),
        ]);
        sheet.skip(1);
    }
}

/// One routine.
fn entry(shelved: &Shelved, chosen: bool, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let routine = &shelved.routine;
    let (lead, title_style) = if chosen {
        ("▸ ", theme.here())
    } else {
        ("  ", theme.strong())
    };
    let room = usize::from(sheet.width()).saturating_sub(lead.width() + routine.title.width() + 1);
    let (verdict, when) = beside(shelved, room);
    let gap = " ".repeat(room.saturating_sub(verdict.width() + when.width()).max(1));
    sheet.pieces(&[
        (lead, theme.here()),
        (&routine.title, title_style),
        (&gap, Style::new()),
        (&verdict, shelved.proven.style(theme)),
        (&when, theme.quiet()),
    ]);
    if chosen {
        sheet.hanging("  ", &routine.blurb, Style::new());
        let (key, words) = (theme.here(), theme.quiet());
        sheet.pieces(&[
            ("  h", key),
            (" with real cards   ", words),
            ("l", key),
            (" lines aloud   ", words),
            ("d", key),
            (" dress rehearsal   ", words),
            ("p", key),
            (" progress   ", words),
            ("s", key),
            (" show", words),
        ]);
        if let Some(show) = &shelved.standing.show {
            let all = format!(" all {} routines of the show in turns", show.routines.len());
            sheet.pieces(&[("  a", key), (&all, words)]);
        }
    }
    let marks: Vec<Mark> = holds(shelved).into_iter().map(mark).collect();
    let tally = tally(shelved);
    let room = sheet.rest();
    if room.height > 0 {
        let words = u16::try_from(tally.width()).unwrap_or(u16::MAX);
        let road = ratatui::layout::Rect {
            x: room.x + 2,
            width: room.width.saturating_sub(words + 6),
            height: 1,
            ..room
        };
        let line = RoadLine {
            marks: &marks,
            here: None,
            title: "",
            theme,
        };
        ratatui::widgets::Widget::render(line, road, sheet.buffer);
        let at = room.right().saturating_sub(words + 1);
        sheet
            .buffer
            .set_stringn(at, room.y, &tally, usize::from(words), theme.quiet());
        sheet.skip(1);
    }
    sheet.skip(1);
}

/// What stands beside a title that leaves so much room: the verdict and when it was rehearsed, in columns where they fit. A
/// long title leaves room for the verdict alone.
fn beside(shelved: &Shelved, room: usize) -> (String, String) {
    let verdict = shelved.proven.words();
    let when = since(shelved.standing.days);
    if room > COLUMNS.0 + COLUMNS.1 {
        (
            format!("{verdict:<0$}", COLUMNS.0),
            format!("{when:>0$}", COLUMNS.1),
        )
    } else if room > verdict.width() + 2 + when.width() {
        (verdict.to_owned(), format!("  {when}"))
    } else {
        (verdict.to_owned(), String::new())
    }
}

/// Rows that an entry takes, the free row after it included.
fn height(shelved: &Shelved, chosen: bool, width: usize) -> usize {
    let blurb = if chosen {
        // The row after it says how it can be rehearsed, and another how the whole show can.
        let show = usize::from(shelved.standing.show.is_some());
        wrap(&shelved.routine.blurb, width).len() + 1 + show
    } else {
        0
    };
    3 + blurb
}

/// Which routines are drawn: from the top, but never without the one pointed at.
fn seen(state: &State, width: usize, room: usize) -> std::ops::Range<usize> {
    let mut first = 0;
    let tall = |from: usize| -> usize {
        (from..=state.chosen.min(state.shelf.len() - 1))
            .map(|n| height(&state.shelf[n], n == state.chosen, width))
            .sum()
    };
    while first < state.chosen && tall(first) > room + 1 {
        first += 1;
    }
    first..state.shelf.len()
}

/// How each step of the routine is held, in order; "again" gates are no steps of their own.
fn holds(shelved: &Shelved) -> Vec<Hold> {
    shelved
        .routine
        .stops
        .iter()
        .map(|stop| shelved.standing.hold(&stop.id))
        .collect()
}

/// The mark that stands for a hold.
#[must_use]
pub fn mark(hold: Hold) -> Mark {
    match hold {
        Hold::Untried => Mark::Ahead,
        Hold::Shaky => Mark::Shaky,
        Hold::Steady => Mark::Steady,
        Hold::ShowReady => Mark::ShowReady,
    }
}

/// "2 shaky · 3 steady", weakest first, each with its mark.
fn tally(shelved: &Shelved) -> String {
    let holds = holds(shelved);
    let parts: Vec<String> = Hold::ALL
        .into_iter()
        .filter_map(|hold| {
            let count = holds.iter().filter(|&&held| held == hold).count();
            (count > 0).then(|| format!("{} {count} {}", mark(hold).shape(), hold.word()))
        })
        .collect();
    parts.join("  ")
}

fn since(days: Option<u32>) -> String {
    match days {
        None => "never rehearsed".to_owned(),
        Some(0) => "rehearsed today".to_owned(),
        Some(1) => "rehearsed yesterday".to_owned(),
        Some(days) => format!("rehearsed {days} days ago"),
    }
}
