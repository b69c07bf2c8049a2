//! Times against the target: of each step the latest right answers, and the performer's own curve through them.

use super::super::frame::{head, picture, scrolling};
use super::super::markup::{Element, el};
use super::super::scale::{Scale, ticks};
use super::titled;
use crate::coach::{Progress, StepProgress, Tempo};
use crate::screen::progress::words;

const WIDTH: f64 = 220.0;
const HEIGHT: f64 = 104.0;
const LEFT: f64 = 34.0;
const RIGHT: f64 = 214.0;
const TOP: f64 = 10.0;
const FLOOR: f64 = 90.0;
/// At least so many answers wide.
const ANSWERS: usize = 12;

/// The section; none where no right answer was given.
#[must_use]
pub fn times(progress: &Progress) -> Option<Element> {
    let timed: Vec<(usize, &StepProgress, &Tempo)> = progress
        .steps
        .iter()
        .enumerate()
        .filter_map(|(n, step)| Some((n, step, step.footing.tempo.as_ref()?)))
        .collect();
    if timed.is_empty() {
        return None;
    }
    let figures = timed.iter().map(|(n, step, tempo)| {
        el("figure").with(chart(*n, step, tempo)).with(
            el("figcaption")
                .with(titled(
                    "span",
                    progress,
                    &format!("{}. {}", n + 1, step.title),
                ))
                .with(el("br"))
                .with(el("span").class("quiet").text(words::pace_in_full(tempo))),
        )
    });
    Some(
        el("section")
            .set("aria-labelledby", "times-h")
            .with(el("h2").set("id", "times-h").text("Times"))
            .with(el("p").class("below").text(
                "The latest right answers to the kind of question asked most at each step, and your own curve through them. The broken \
                 line is the step's target.",
            ))
            .with(el("div").class("multiples").each(figures))
            .with(
                el("details")
                    .with(el("summary").text("The times in numbers"))
                    .with(scrolling("The times in numbers", table(progress, &timed))),
            ),
    )
}

fn chart(n: usize, step: &StepProgress, tempo: &Tempo) -> Element {
    #[expect(clippy::cast_precision_loss, reason = "times of answers")]
    let seconds = |ms: u64| ms as f64 / 1_000.0;
    let most = tempo
        .times
        .iter()
        .copied()
        .chain(tempo.target)
        .map(|time| seconds(time.0))
        .fold(1.0, f64::max);
    let ticks = ticks(most, 2);
    let up = Scale {
        values: (0.0, ticks.last().copied().unwrap_or(1.0)),
        places: (FLOOR, TOP),
    };
    #[expect(clippy::cast_precision_loss, reason = "some dozens of answers")]
    let along = Scale {
        values: (0.0, tempo.times.len().max(ANSWERS) as f64 - 1.0),
        places: (LEFT + 6.0, RIGHT - 6.0),
    };
    let heading = words::heading_for(tempo)
        .map(|to| format!(", heading for {}", words::seconds(to)))
        .unwrap_or_default();
    let mut drawn = picture(
        &format!("times-{n}"),
        (WIDTH, HEIGHT),
        &format!("Times at {}", step.title),
        &format!(
            "{}; lately {}{heading}.",
            words::counted(tempo.times.len() as u64, "time"),
            words::pace_in_full(tempo)
        ),
    );
    for tick in &ticks {
        let y = up.at(*tick);
        drawn = drawn
            .with(
                el("line")
                    .class("s-line")
                    .at("x1", LEFT)
                    .at("x2", RIGHT)
                    .at("y1", y)
                    .at("y2", y),
            )
            .with(
                el("text")
                    .at("x", LEFT - 5.0)
                    .at("y", y + 4.0)
                    .set("text-anchor", "end")
                    .text(short(*tick)),
            );
    }
    if let Some(target) = tempo.target {
        let y = up.at(seconds(target.0));
        drawn = drawn.with(
            el("line")
                .class("s-warm")
                .set("stroke-width", "1.5")
                .set("stroke-dasharray", "5 4")
                .at("x1", LEFT)
                .at("x2", RIGHT)
                .at("y1", y)
                .at("y2", y),
        );
    }
    if let Some(curve) = tempo.curve {
        let points: Vec<String> = (0..=48)
            .map(|part| along.values.1 * f64::from(part) / 48.0)
            .map(|at| {
                let y = up.at(curve.at(at).max(0.0) / 1_000.0);
                format!("{:.1},{y:.1}", along.at(at))
            })
            .collect();
        drawn = drawn.with(
            el("polyline")
                .class("s-road")
                .set("stroke-width", "1.5")
                .set("points", points.join(" ")),
        );
    }
    #[expect(clippy::cast_precision_loss, reason = "some dozens of answers")]
    let dots = tempo.times.iter().enumerate().map(|(n, time)| {
        el("circle")
            .class("f-road")
            .at("cx", along.at(n as f64))
            .at("cy", up.at(seconds(time.0)))
            .at("r", 2.5)
    });
    drawn.each(dots)
}

/// Seconds on an axis: "10 s", "0.5 s".
fn short(seconds: f64) -> String {
    if seconds.fract() == 0.0 {
        format!("{seconds:.0} s")
    } else {
        format!("{seconds:.1} s")
    }
}

fn table(progress: &Progress, timed: &[(usize, &StepProgress, &Tempo)]) -> Element {
    let rows = timed.iter().map(|(n, step, tempo)| {
        let all: Vec<String> = tempo
            .times
            .iter()
            .map(|time| words::seconds(*time))
            .collect();
        let heading = words::heading_for(tempo).map_or("–".to_owned(), words::seconds);
        let target = tempo.target.map_or("–".to_owned(), words::seconds);
        el("tr")
            .with(titled("th", progress, &format!("{}. {}", n + 1, step.title)).set("scope", "row"))
            .with(el("td").class("n").text(words::seconds(tempo.lately)))
            .with(el("td").class("n").text(target))
            .with(el("td").class("n").text(heading))
            .with(el("td").text(all.join(", ")))
    });
    el("table")
        .with(el("caption").text("The latest times, the oldest first."))
        .with(head(&[
            ("step", false),
            ("lately", true),
            ("target", true),
            ("heading for", true),
            ("times", false),
        ]))
        .with(el("tbody").each(rows))
}
