//! The road of a routine with a mark for each step; where somebody chooses, it parts.

use super::super::frame::picture;
use super::super::marks::{beside, mark};
use super::super::markup::{Element, el};
use crate::coach::Progress;
use crate::screen::progress::words;

/// Units of the picture's width, and between neighbouring steps at most.
const WIDTH: f64 = 760.0;
const WIDEST: f64 = 74.0;
/// The middle of the road, and the height of the picture.
const MIDDLE: f64 = 20.0;
const HEIGHT: f64 = 56.0;
const RADIUS: f64 = 9.0;
/// How far the ways of a fork part.
const RISE: f64 = 15.0;

/// The road.
#[must_use]
pub fn road(id: &str, progress: &Progress) -> Element {
    let tally: Vec<String> = words::tally(progress)
        .iter()
        .map(|(hold, count)| format!("{count} {}", hold.word()))
        .collect();
    let mut picture = picture(
        id,
        (WIDTH, HEIGHT),
        "The road, step by step",
        &format!(
            "{}: {}.",
            words::counted(progress.steps.len() as u64, "step"),
            tally.join(", ")
        ),
    );
    let gaps = progress.steps.len().saturating_sub(1).max(1);
    #[expect(clippy::cast_precision_loss, reason = "some dozens of steps")]
    let gap = ((WIDTH - 4.0 * RADIUS) / gaps as f64).min(WIDEST);
    #[expect(clippy::cast_precision_loss, reason = "some dozens of steps")]
    let at = |n: usize| 2.0 * RADIUS + gap * n as f64;
    picture = picture.with(
        el("line")
            .class("s-road")
            .set("stroke-width", "2")
            .at("x1", at(0))
            .at("x2", at(progress.steps.len().saturating_sub(1)))
            .at("y1", MIDDLE)
            .at("y2", MIDDLE),
    );
    // On a long road only some steps are numbered.
    let every = if gap < 22.0 { 5 } else { 1 };
    for (n, step) in progress.steps.iter().enumerate() {
        let x = at(n);
        if step.fork {
            picture = picture.with(fork(x, gap));
        }
        picture = picture.with(mark(step.footing.hold, (x, MIDDLE), RADIUS.min(gap / 2.5)));
        if (n + 1) % every == 0 || n == 0 {
            picture = picture.with(
                el("text")
                    .at("x", x)
                    .at("y", HEIGHT - 4.0)
                    .set("text-anchor", "middle")
                    .text((n + 1).to_string()),
            );
        }
    }
    picture
}

/// Two ways that part before the step and meet again after it.
fn fork(x: f64, gap: f64) -> Element {
    let (reach, bend) = (gap * 0.44, gap * 0.22);
    let way = |y: f64| {
        format!(
            "M{:.1} {MIDDLE}C{:.1} {MIDDLE} {:.1} {y:.1} {x:.1} {y:.1}S{:.1} {MIDDLE} {:.1} {MIDDLE}",
            x - reach,
            x - bend,
            x - bend,
            x + bend,
            x + reach,
        )
    };
    el("path")
        .class("s-road")
        .set("stroke-width", "1.5")
        .set("d", way(MIDDLE - RISE) + &way(MIDDLE + RISE))
}

/// How many steps are held in each way, each with its mark.
#[must_use]
pub fn tally(progress: &Progress) -> Element {
    el("ul")
        .class("tally")
        .each(words::tally(progress).into_iter().map(|(hold, count)| {
            el("li")
                .with(beside(hold))
                .text(format!("{count} {}", hold.word()))
        }))
}
