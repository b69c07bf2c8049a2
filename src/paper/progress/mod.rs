//! The page about progress: one routine, or all that were practised.

mod one;
mod road;
mod times;
mod weeks;

use super::frame::page;
use super::markup::{Element, el};
use crate::coach::{Day, Hold, Progress};
use crate::screen::progress::words;

/// The page about one routine.
#[must_use]
pub fn routine(progress: &Progress) -> String {
    page(
        &format!("{}: progress", progress.title),
        one::contents(progress),
    )
}

/// The page about all routines that were practised, and those whose file was not found: their names and answers.
#[must_use]
pub fn all(routines: &[Progress], elsewhere: &[(String, u64)], today: Day) -> String {
    let mut contents = vec![
        el("header")
            .with(over(today))
            .with(el("h1").text("All routines")),
    ];
    if routines.is_empty() && elsewhere.is_empty() {
        contents.push(el("p").text("Nothing has been rehearsed yet."));
    }
    contents.extend(
        routines
            .iter()
            .enumerate()
            .map(|(n, one)| one::article(n, one)),
    );
    if !elsewhere.is_empty() {
        let lines = elsewhere.iter().map(|(name, answers)| {
            el("li").text(format!("{name}: {}", words::counted(*answers, "answer")))
        });
        contents.push(
            el("section")
                .set("aria-labelledby", "elsewhere-h")
                .with(
                    el("h2")
                        .set("id", "elsewhere-h")
                        .text("Practised, but their files are elsewhere"),
                )
                .with(el("ul").each(lines)),
        );
    }
    contents.push(definitions());
    page("All routines: progress", contents)
}

/// The line over the title.
fn over(today: Day) -> Element {
    el("p").class("over").text(format!(
        "allroads · progress on {}",
        words::full_date(today)
    ))
}

/// A title in the language of its routine.
fn titled(name: &'static str, progress: &Progress, title: &str) -> Element {
    el(name).set("lang", progress.lang).text(title)
}

/// What the words mean, at the foot of every page.
fn definitions() -> Element {
    el("footer").with(el("p").text(format!("{} {}", words::meanings(), words::CLEAN)))
}

/// The word for how a step is held; what is shaky stands out.
fn held(hold: Hold) -> Element {
    match hold {
        Hold::Shaky => el("span").class("shaky").text(hold.word()),
        Hold::Untried | Hold::Steady | Hold::ShowReady => el("span").text(hold.word()),
    }
}
