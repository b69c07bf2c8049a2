//! One routine.

use super::super::frame::{head, scrolling};
use super::super::marks::beside;
use super::super::markup::{Element, el, tenths};
use super::{definitions, held, over, road, times, titled, weeks};
use crate::coach::{Progress, StepProgress};
use crate::screen::progress::words;

/// At most so many steps are named as costing most.
const DEAREST: usize = 6;

/// The page of one routine.
pub fn contents(progress: &Progress) -> Vec<Element> {
    let mut all = vec![
        el("header")
            .with(over(progress.aim.today))
            .with(titled("h1", progress, &progress.title))
            .with(lead(progress))
            .with(el("p").class("next").text(words::next(progress))),
        scrolling("The road, drawn", road::road("road", progress)),
        road::tally(progress),
    ];
    if progress.answers > 0 {
        all.push(weeks::weeks(progress));
        all.extend(costs(progress));
        all.push(steps(progress));
        all.extend(times::times(progress));
        all.extend(met(progress));
        all.extend(branches(progress));
    }
    all.extend(gone(progress));
    all.push(definitions());
    all
}

/// One of several routines: what matters most, and its road.
pub fn article(n: usize, progress: &Progress) -> Element {
    let heading = format!("routine-{n}");
    el("article")
        .set("aria-labelledby", heading.clone())
        .with(titled("h2", progress, &progress.title).set("id", heading))
        .with(el("p").text(words::headline(progress)))
        .each(words::show_sentence(progress).map(|show| el("p").text(show)))
        .each(words::trust(progress).map(|trust| el("p").class("quiet").text(trust)))
        .with(scrolling(
            &format!("The road of {}, drawn", progress.title),
            road::road(&format!("road-{n}"), progress),
        ))
        .with(road::tally(progress))
        .with(el("p").text(words::next(progress)))
}

/// The number that matters most, large, and what it means.
fn lead(progress: &Progress) -> Element {
    let show = words::show_sentence(progress).map(|show| el("p").text(show));
    let trust = words::trust(progress).map(|trust| el("p").class("quiet").text(trust));
    let said = el("div")
        .with(el("p").with(el("strong").text(words::headline(progress))))
        .each(show)
        .each(trust);
    let lead = el("div").class("lead");
    match &progress.readiness {
        Some(readiness) => lead.with(
            el("p")
                .class("figure")
                .set("aria-hidden", "true")
                .text(words::of_a_hundred(readiness.chance).to_string())
                .with(el("small").text(" in 100")),
        ),
        None => lead,
    }
    .with(said)
}

/// A bar as long as this share, in a table beside its number.
fn bar(share: f64) -> Element {
    el("span").class("bar").with(
        el("svg")
            .set("viewBox", "0 0 100 10")
            .set("preserveAspectRatio", "none")
            .set("aria-hidden", "true")
            .set("focusable", "false")
            .with(
                el("rect")
                    .class("f-road")
                    .set("width", tenths(share.clamp(0.0, 1.0) * 100.0))
                    .set("height", "9"),
            )
            .with(
                el("rect")
                    .class("f-quiet")
                    .set("y", "9")
                    .set("width", "100")
                    .set("height", "1"),
            ),
    )
}

fn costs(progress: &Progress) -> Option<Element> {
    let readiness = progress.readiness.as_ref()?;
    let dear = progress.dearest();
    let most = dear.first()?.1;
    let rows = dear.iter().take(DEAREST).map(|(step, costs)| {
        el("tr")
            .with(titled("th", progress, &step.title).set("scope", "row"))
            .with(
                el("td")
                    .class("nowrap")
                    .with(bar(costs / most))
                    .text(words::cost(*costs)),
            )
            .with(
                el("td")
                    .class("n")
                    .text(words::in_100(readiness.chance + costs)),
            )
    });
    Some(
        el("section")
            .set("aria-labelledby", "costs-h")
            .with(
                el("h2")
                    .set("id", "costs-h")
                    .text("What costs most of the clean run"),
            )
            .with(scrolling(
                "What costs most of the clean run",
                el("table")
                    .with(head(&[
                        ("step", false),
                        ("costs, of the clean runs", false),
                        ("without it", true),
                    ]))
                    .with(el("tbody").each(rows)),
            )),
    )
}

fn steps(progress: &Progress) -> Element {
    let rows = progress
        .steps
        .iter()
        .enumerate()
        .map(|(n, step)| row(progress, n, step));
    el("section")
        .set("aria-labelledby", "steps-h")
        .with(el("h2").set("id", "steps-h").text("The steps"))
        .with(el("p").class("below").text(format!(
            "How many answers in 100 would be right today, and {}.",
            words::night(progress)
        )))
        .with(scrolling(
            "The steps",
            el("table")
                .class("wide")
                .with(head(&[
                    ("no.", true),
                    ("step", false),
                    ("held", false),
                    ("today", true),
                    (words::night(progress), false),
                    ("answers", false),
                    ("lately, of the target", false),
                ]))
                .with(el("tbody").each(rows)),
        ))
}

fn row(progress: &Progress, n: usize, step: &StepProgress) -> Element {
    let footing = &step.footing;
    let today = if footing.answers > 0 {
        words::of_a_hundred(footing.now).to_string()
    } else {
        "–".to_owned()
    };
    let right = if footing.answers > 0 {
        el("td")
            .class("nowrap")
            .with(bar(footing.show))
            .text(words::of_a_hundred(footing.show).to_string())
    } else {
        el("td").text("–")
    };
    let time = footing.tempo.as_ref().map_or("–".to_owned(), words::pace);
    el("tr")
        .with(el("td").class("n").text((n + 1).to_string()))
        .with(
            el("th")
                .set("scope", "row")
                .with(beside(footing.hold))
                .with(titled("span", progress, &step.title)),
        )
        .with(el("td").class("nowrap").with(held(footing.hold)))
        .with(el("td").class("n").text(today))
        .with(right)
        .with(el("td").class("nowrap").text(words::answers(step)))
        .with(el("td").class("nowrap").text(time))
}

/// What happened away from the questions.
fn met(progress: &Progress) -> Option<Element> {
    let lines: Vec<Element> = progress
        .steps
        .iter()
        .filter_map(|step| {
            let happened = words::met(step)?;
            let title = titled("span", progress, &step.title);
            Some(el("li").with(title).text(format!(": {happened}")))
        })
        .collect();
    (!lines.is_empty()).then(|| {
        el("section")
            .set("aria-labelledby", "met-h")
            .with(el("h2").set("id", "met-h").text("Slips and strays"))
            .with(
                el("p")
                    .class("below")
                    .text("In runs by hand, and at shows."),
            )
            .with(el("ul").each(lines))
    })
}

fn branches(progress: &Progress) -> Option<Element> {
    if progress.untried.is_empty() {
        return None;
    }
    let lines = progress
        .untried
        .iter()
        .map(|untried| el("li").text(words::branches(untried)));
    Some(
        el("section")
            .set("aria-labelledby", "untried-h")
            .with(el("h2").set("id", "untried-h").text("Never practised"))
            .with(
                el("p")
                    .class("below")
                    .text("Choices that no road of yours went by."),
            )
            .with(el("ul").each(lines)),
    )
}

fn gone(progress: &Progress) -> Option<Element> {
    if progress.gone.is_empty() {
        return None;
    }
    let steps: Vec<&str> = progress.gone.iter().map(|step| &*step.0).collect();
    Some(
        el("section")
            .set("aria-labelledby", "gone-h")
            .with(
                el("h2")
                    .set("id", "gone-h")
                    .text("No longer in the routine"),
            )
            .with(el("p").text(format!(
                "Asked about, and kept in the logbook: {}.",
                steps.join(", ")
            ))),
    )
}
