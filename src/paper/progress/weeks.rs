//! The weeks along a road of their own: the chance of a clean run above, on its way to the show, and the answers of each week
//! standing on the road.

use super::super::frame::{head, picture, scrolling};
use super::super::markup::{Element, el};
use super::super::scale::{Scale, ticks};
use crate::coach::{Progress, WeekProgress};
use crate::screen::progress::words;

/// So many weeks are drawn, the latest.
const DRAWN: usize = 52;
/// The show is drawn at most so many weeks ahead.
const AHEAD: usize = 8;

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 236.0;
/// Where the weeks begin and end.
const LEFT: f64 = 56.0;
const RIGHT: f64 = 628.0;
/// The chances lie between these, the bars between those.
const TOP: f64 = 14.0;
const FLOOR: f64 = 116.0;
const BARS: f64 = 144.0;
const ROAD: f64 = 204.0;
/// Weeks are at most so far apart.
const WIDEST: f64 = 46.0;

/// Where weeks lie on the picture.
struct Places<'a> {
    weeks: &'a [WeekProgress],
    gap: f64,
    /// The show, in weeks from the first.
    show: Option<f64>,
}

impl Places<'_> {
    #[expect(clippy::cast_precision_loss, reason = "some dozens of weeks")]
    fn at(&self, n: usize) -> f64 {
        LEFT + self.gap * (n as f64 + 0.5)
    }
    /// The Monday after a week.
    fn after(&self, n: usize) -> f64 {
        self.at(n) + self.gap / 2.0
    }
    fn of_the_show(&self) -> Option<f64> {
        Some(LEFT + self.gap * self.show?)
    }
}

fn places(progress: &Progress) -> Places<'_> {
    let all = &progress.weeks;
    let weeks = &all[all.len().saturating_sub(DRAWN)..];
    #[expect(clippy::cast_precision_loss, reason = "some dozens of weeks")]
    let count = weeks.len() as f64;
    let show = progress.aim.show.zip(weeks.first()).map(|(show, first)| {
        let weeks = f64::from(show.since(first.monday)) / 7.0;
        #[expect(clippy::cast_precision_loss, reason = "a small count")]
        let most = count + AHEAD as f64;
        weeks.min(most)
    });
    let spans = show.map_or(count, |show| show.max(count)).max(1.0);
    Places {
        weeks,
        gap: ((RIGHT - LEFT) / spans).min(WIDEST),
        show,
    }
}

/// The picture and its numbers.
#[must_use]
pub fn weeks(progress: &Progress) -> Element {
    let places = places(progress);
    let chart = picture(
        "weeks",
        (WIDTH, HEIGHT),
        "The weeks",
        &in_words(progress, &places),
    )
    .each(chances(progress, &places))
    .each(answers(&places))
    .each(road(progress, &places));
    el("section")
        .set("aria-labelledby", "weeks-h")
        .with(el("h2").set("id", "weeks-h").text("The weeks"))
        .with(el("p").class("below").text(
            "Above, the chance of a clean run, had the show been on the Monday after each week. Below, the answers of the week; a diamond on \
             the road is a show.",
        ))
        .with(scrolling("The weeks, drawn", chart))
        .with(
            el("details")
                .with(el("summary").text("The weeks in numbers"))
                .with(scrolling("The weeks in numbers", table(progress))),
        )
}

/// What the picture shows.
fn in_words(progress: &Progress, places: &Places<'_>) -> String {
    let weeks = places.weeks;
    let answers: u64 = weeks.iter().map(|week| u64::from(week.answers)).sum();
    let practised = weeks.iter().filter(|week| week.answers > 0).count();
    let mut words = format!(
        "{} in {} of {}.",
        words::counted(answers, "answer"),
        practised,
        words::counted(weeks.len() as u64, "week"),
    );
    let known: Vec<f64> = weeks.iter().filter_map(|week| week.chance).collect();
    if let (Some(first), Some(last)) = (known.first(), known.last()) {
        words.push_str(&format!(
            " The chance of a clean run went from {} to {}.",
            words::in_100(*first),
            words::in_100(*last)
        ));
    }
    if let (Some(readiness), Some(show)) = (&progress.readiness, progress.aim.show) {
        words.push_str(&format!(
            " At the show on {} it is {}.",
            words::full_date(show),
            words::in_100(readiness.chance)
        ));
    }
    words
}

fn line(class: &'static str, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) -> Element {
    el("line")
        .class(class)
        .at("x1", x1)
        .at("y1", y1)
        .at("x2", x2)
        .at("y2", y2)
}

/// A show.
fn diamond(x: f64, y: f64) -> Element {
    el("path")
        .class("f-warm")
        .set("d", format!("M{x:.1} {:.1}l6 6l-6 6l-6 -6Z", y - 6.0))
}

fn label(x: f64, y: f64, anchor: &'static str, text: impl Into<String>) -> Element {
    el("text")
        .at("x", x)
        .at("y", y)
        .set("text-anchor", anchor)
        .text(text)
}

/// The chance of a clean run, week by week, and on the night.
fn chances(progress: &Progress, places: &Places<'_>) -> Vec<Element> {
    let scale = Scale {
        values: (0.0, 1.0),
        places: (FLOOR, TOP),
    };
    let mut drawn = Vec::new();
    for at in [0.0, 0.5, 1.0] {
        let y = scale.at(at);
        drawn.push(line("s-line", (LEFT, y), (RIGHT, y)));
        let words = words::of_a_hundred(at).to_string();
        drawn.push(label(LEFT - 8.0, y + 4.0, "end", words));
    }
    let points: Vec<(f64, f64)> = places
        .weeks
        .iter()
        .enumerate()
        .filter_map(|(n, week)| Some((places.after(n), scale.at(week.chance?))))
        .collect();
    if points.len() > 1 {
        let all: Vec<String> = points
            .iter()
            .map(|(x, y)| format!("{x:.1},{y:.1}"))
            .collect();
        drawn.push(
            el("polyline")
                .class("s-road")
                .set("stroke-width", "2.5")
                .set("stroke-linejoin", "round")
                .set("points", all.join(" ")),
        );
    }
    if let Some((x, y)) = points.last() {
        drawn.push(
            el("circle")
                .class("f-road")
                .at("cx", *x)
                .at("cy", *y)
                .at("r", 4.0),
        );
    }
    if let (Some(x), Some(readiness)) = (places.of_the_show(), &progress.readiness) {
        let y = scale.at(readiness.chance);
        if let Some(last) = points.last() {
            drawn.push(
                line("s-warm", *last, (x, y))
                    .set("stroke-width", "2")
                    .set("stroke-dasharray", "2 4"),
            );
        }
        drawn.push(
            line(
                "s-warm",
                (x, scale.at(readiness.low)),
                (x, scale.at(readiness.high)),
            )
            .set("stroke-width", "2"),
        );
        drawn.push(diamond(x, y));
        drawn.push(
            label(
                x + 12.0,
                y + 4.0,
                "start",
                format!("{} on the night", words::of_a_hundred(readiness.chance)),
            )
            .class("warm"),
        );
    } else if let (Some((x, y)), Some(last)) = (
        points.last(),
        places.weeks.iter().rev().find_map(|week| week.chance),
    ) {
        drawn.push(
            label(
                *x + 9.0,
                y + 4.0,
                "start",
                words::of_a_hundred(last).to_string(),
            )
            .class("said"),
        );
    }
    drawn
}

/// The answers of each week, as bars that stand on the road.
fn answers(places: &Places<'_>) -> Vec<Element> {
    let most = places.weeks.iter().map(|week| week.answers).max();
    let ticks = ticks(f64::from(most.unwrap_or(0).max(1)), 3);
    let scale = Scale {
        values: (0.0, ticks.last().copied().unwrap_or(1.0)),
        places: (ROAD - 9.0, BARS),
    };
    let mut drawn = Vec::new();
    if let Some(top) = ticks.last() {
        let y = scale.at(*top);
        drawn.push(line("s-line", (LEFT, y), (RIGHT, y)));
        drawn.push(label(LEFT - 8.0, y + 4.0, "end", format!("{top:.0}")));
    }
    let wide = (places.gap * 0.6).min(24.0);
    for (n, week) in places.weeks.iter().enumerate() {
        let y = scale.at(f64::from(week.answers));
        if week.answers > 0 {
            drawn.push(
                el("rect")
                    .class("f-road")
                    .at("x", places.at(n) - wide / 2.0)
                    .at("y", y)
                    .at("width", wide)
                    .at("height", (ROAD - 9.0 - y).max(1.0)),
            );
        }
    }
    drawn
}

/// The road of weeks with its dates and the show.
fn road(progress: &Progress, places: &Places<'_>) -> Vec<Element> {
    let count = places.weeks.len();
    let end = places
        .of_the_show()
        .unwrap_or(places.at(count.saturating_sub(1)));
    let mut drawn =
        vec![line("s-road", (places.at(0).min(end), ROAD), (end, ROAD)).set("stroke-width", "2")];
    let r = (places.gap / 4.0).clamp(1.5, 4.5);
    let mut free_from = 0.0;
    for (n, week) in places.weeks.iter().enumerate() {
        let x = places.at(n);
        let stop = el("circle").at("cx", x).at("cy", ROAD).at("r", r);
        drawn.push(if week.shows > 0 {
            diamond(x, ROAD)
        } else if week.answers > 0 {
            stop.class("f-road")
        } else {
            stop.class("s-road f-paper").set("stroke-width", "1.5")
        });
        let told = n == 0 || words::begins_a_month(week.monday);
        if told && x >= free_from {
            drawn.push(label(
                x,
                ROAD + 24.0,
                "middle",
                words::short_date(week.monday),
            ));
            free_from = x + 52.0;
        }
    }
    if let (Some(x), Some(show)) = (places.of_the_show(), progress.aim.show) {
        drawn.push(diamond(x, ROAD));
        drawn.push(
            label(
                x + 12.0,
                ROAD + 4.0,
                "start",
                format!("show, {}", words::short_date(show)),
            )
            .class("warm"),
        );
    }
    drawn
}

/// The weeks in numbers, the latest first.
fn table(progress: &Progress) -> Element {
    let rows = progress.weeks.iter().rev().map(|week| {
        let chance = week.chance.map_or("–".to_owned(), words::in_100);
        let minutes = (week.time.0 + 30_000) / 60_000;
        el("tr")
            .with(
                el("th")
                    .class("nowrap")
                    .set("scope", "row")
                    .text(words::full_date(week.monday)),
            )
            .with(el("td").class("n").text(week.answers.to_string()))
            .with(el("td").class("n").text(week.right.to_string()))
            .with(el("td").class("n").text(week.days.to_string()))
            .with(el("td").class("n").text(week.shows.to_string()))
            .with(el("td").class("n").text(minutes.to_string()))
            .with(el("td").class("n").text(chance))
    });
    el("table")
        .with(el("caption").text("Clean run: had the show been on the Monday after."))
        .with(head(&[
            ("week of", false),
            ("answers", true),
            ("right", true),
            ("days", true),
            ("shows", true),
            ("minutes answering", true),
            ("clean run", true),
        ]))
        .with(el("tbody").each(rows))
}
