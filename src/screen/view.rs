//! A frame from a state: which pane, the foot with its keys, and the last word on looks.

use super::sheet::{Sheet, wrap};
use super::state::{Page, State};
use super::{after_view, foyer, help, keys, live_view, progress, rehearsal, summary, walk};
use ratatui::Frame;
use ratatui::layout::Rect;

/// The smallest screen that everything has room on.
pub const SMALLEST: (u16, u16) = (60, 20);
/// Lines longer than this are hard to read; wide screens keep the rest free.
const WIDEST: u16 = 100;

/// Draws the state.
pub fn view(state: &State, frame: &mut Frame<'_>) {
    let area = frame.area();
    let theme = state.theme;
    if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
        let (wide, high) = SMALLEST;
        let words = format!(
            "allroads needs {wide} by {high} characters; this is {} by {}.",
            area.width, area.height
        );
        Sheet::new(frame.buffer_mut(), area, theme).text(&words, ratatui::style::Style::new());
        theme.finish(frame.buffer_mut());
        return;
    }
    let mut body = body(area);
    let notice: Vec<String> = state
        .notice
        .as_ref()
        .map(|notice| wrap(notice, body.width.into()))
        .unwrap_or_default();
    // A notice that needs more rows than the one that is kept for it takes them from the pane, at most two.
    let more = u16::try_from(notice.len().clamp(1, 3) - 1).unwrap_or(0);
    body.height -= more;
    let cursor = draw_body(state, &mut Sheet::new(frame.buffer_mut(), body, theme));
    let foot = Rect {
        y: area.height - 2 - more,
        height: 2 + more,
        ..body
    };
    let mut sheet = Sheet::new(frame.buffer_mut(), foot, theme);
    for line in notice.iter().take(3) {
        sheet.pieces(&[(line, theme.here())]);
    }
    if notice.is_empty() {
        sheet.skip(1);
    }
    sheet.pieces(&[(
        &keys::foot(state.place(), usize::from(body.width)),
        theme.quiet(),
    )]);
    theme.finish(frame.buffer_mut());
    if let Some(at) = cursor {
        frame.set_cursor_position(at);
    }
}

/// Where a pane is drawn on a screen of this size.
#[must_use]
pub fn body(area: Rect) -> Rect {
    let width = area.width.saturating_sub(2).min(WIDEST);
    // Tall screens leave some air above.
    let top = if area.height >= 32 { 2 } else { 0 };
    Rect {
        x: area.width.saturating_sub(width) / 2,
        y: top,
        width,
        height: area.height.saturating_sub(2 + top),
    }
}

fn draw_body(state: &State, sheet: &mut Sheet<'_>) -> Option<(u16, u16)> {
    if let Some(row) = state.help {
        help::draw(state, row, sheet);
        return None;
    }
    match &state.page {
        Page::Foyer => foyer::draw(state, sheet),
        Page::Walk(walk) => walk::draw(walk, sheet),
        Page::Rehearsal(rehearsal) => return rehearsal::draw(state, rehearsal, sheet),
        Page::Live(live) => return live_view::draw(live, state.proven(live.which), sheet),
        Page::Progress(looking) => progress::draw(looking, sheet),
        Page::After(after) => return after_view::draw(after, sheet),
        Page::Ended(ended) => {
            let shelved: Vec<_> = ended
                .which
                .iter()
                .filter_map(|which| state.shelf.get(*which))
                .collect();
            summary::draw(&shelved, ended, sheet);
        }
    }
    None
}
