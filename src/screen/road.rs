//! The road: a light horizontal line with its stops and forks, and a mark where we are.
//!
//! ```text
//!   ●───◆───◉───○───◇───○
//!           ▴ Deal off any number
//! ```

use super::theme::Theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;
use unicode_width::UnicodeWidthStr;

/// A mark on the road. Each has a shape of its own, so that nothing is told by colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// A stop behind us.
    Past,
    /// A fork behind us.
    PastFork,
    /// The stop where we are.
    Here,
    /// The fork where we are.
    HereFork,
    /// A stop to come, or one never rehearsed.
    Ahead,
    /// A fork to come.
    Fork,
    /// A stop that is held badly.
    Shaky,
    /// A stop that is held.
    Steady,
    /// A stop that is held as a show needs it.
    ShowReady,
}

impl Mark {
    /// Its shape.
    #[must_use]
    pub fn shape(self) -> &'static str {
        match self {
            Self::Past | Self::ShowReady => "●",
            Self::PastFork => "◆",
            Self::Here => "◉",
            Self::HereFork => "◈",
            Self::Ahead => "○",
            Self::Fork => "◇",
            Self::Shaky => "◔",
            Self::Steady => "◑",
        }
    }
    pub(super) fn style(self, theme: Theme) -> Style {
        match self {
            Self::Here | Self::HereFork | Self::Shaky => theme.here(),
            Self::Past | Self::PastFork | Self::Steady => theme.road(),
            Self::ShowReady => theme.good(),
            Self::Ahead | Self::Fork => Style::new(),
        }
    }
}

/// A road to draw: two rows, the line and, under the mark, where we are.
#[derive(Debug, Clone)]
pub struct RoadLine<'a> {
    /// The marks in order.
    pub marks: &'a [Mark],
    /// Index of the mark where we are.
    pub here: Option<usize>,
    /// What is written under it.
    pub title: &'a str,
    /// The look.
    pub theme: Theme,
}

/// The widest gap between neighbouring marks.
const WIDEST: usize = 5;
/// The narrowest gap at which a line is still seen between two marks.
const NARROWEST: usize = 2;

impl Widget for RoadLine<'_> {
    fn render(self, area: Rect, buffer: &mut Buffer) {
        let width = usize::from(area.width);
        if self.marks.is_empty() || width < 3 || area.height == 0 {
            return;
        }
        let (from, to, step) = window(self.marks.len(), self.here.unwrap_or(0), width);
        let road = self.theme.road();
        let mut x = area.x;
        let right = area.right();
        let mut draw = |x: &mut u16, text: &str, style: Style| {
            if *x < right {
                let (next, _) =
                    buffer.set_stringn(*x, area.y, text, usize::from(right - *x), style);
                *x = next;
            }
        };
        if from > 0 {
            draw(&mut x, "…─", road);
        }
        let mut mark_at = area.x;
        for (index, mark) in self.marks.iter().enumerate().take(to).skip(from) {
            if index > from {
                draw(&mut x, &"─".repeat(step - 1), road);
            }
            if Some(index) == self.here {
                mark_at = x;
            }
            draw(&mut x, mark.shape(), mark.style(self.theme));
        }
        if to < self.marks.len() {
            draw(&mut x, "─…", road);
        }
        if area.height > 1 && self.here.is_some() {
            let text = format!("▴ {}", self.title);
            let room = u16::try_from(text.width()).unwrap_or(u16::MAX);
            // The title starts under the mark, and moves left only as far as it must to be read whole.
            let at = if mark_at.saturating_add(room) <= right {
                mark_at
            } else {
                let flipped = format!("{} ▴", self.title);
                let start = (mark_at + 1).saturating_sub(room);
                if start >= area.x {
                    buffer.set_stringn(start, area.y + 1, &flipped, width, self.theme.here());
                    return;
                }
                area.x
            };
            buffer.set_stringn(
                at,
                area.y + 1,
                &text,
                usize::from(right - at),
                self.theme.here(),
            );
        }
    }
}

/// Which marks are shown, and how far apart: from, to (not included), cells from one mark to the next.
fn window(count: usize, here: usize, width: usize) -> (usize, usize, usize) {
    for step in (NARROWEST..=WIDEST).rev() {
        if (count - 1) * step < width {
            return (0, count, step);
        }
    }
    // Both ends may need two cells for the sign that the road goes on.
    let fits = (width.saturating_sub(5) / NARROWEST + 1).clamp(1, count);
    let from = here.saturating_sub(fits / 2).min(count - fits);
    (from, from + fits, NARROWEST)
}
