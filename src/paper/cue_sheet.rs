//! The cue sheet: one page to carry, step by step what is said first and last, what is done, what to know and what to mind, and in few
//! words what to do about the strays that are met there. What else may go wrong opens on a screen, and is not printed.

use super::frame::{head, page, scrolling};
use super::markup::{Element, el};
use crate::drill::{done_in_words, heading};
use crate::roads::{Walked, sample, unknown_start};
use crate::routine::{Blank, ForkKind, NameId, Routine, Stop, StopIndex, Stray, Template, capital};
use crate::screen::progress::words::counted;
use std::collections::BTreeMap;

/// So many random roads are walked, so that steps without words of their own are met.
const ROADS: u64 = 16;
/// A line of so many words stands whole; of a longer one the first and the last.
const WHOLE: usize = 24;
const FIRST: usize = 12;
const LAST: usize = 9;

/// Something that a spectator may do at a step, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Astray {
    /// The step.
    pub stop: StopIndex,
    /// What they do.
    pub stray: Stray,
    /// The same as a sentence.
    pub happens: String,
    /// Whether the rest is safe whatever was seen.
    pub safe: bool,
    /// What to do, in few words; mends by their numbers ([`mend_number`]).
    pub brief: String,
}

/// The number under which the sheet lists a mend: the one that the drill takes.
#[must_use]
pub fn mend_number(mend: usize) -> usize {
    mend + 1
}

/// The page. What is not among `astray` is not told.
#[must_use]
pub fn cue_sheet(routine: &Routine, astray: &[Astray]) -> String {
    let met = met(routine);
    let rows = routine.stops.iter().enumerate().map(|(n, stop)| {
        let here: Vec<&Astray> = astray.iter().filter(|one| one.stop.index() == n).collect();
        row(routine, (n, stop), met.get(&n), &here)
    });
    let steps = el("table")
        .class("wide cues")
        .with(head(&[
            ("step", false),
            ("say and do", false),
            ("know and mind", false),
        ]))
        .with(el("tbody").each(rows));
    let mut contents = vec![
        el("header")
            .with(el("p").class("over").text(over(routine)))
            .with(in_its_language("h1", routine).text(routine.title.clone()))
            .with(in_its_language("p", routine).text(routine.principle.clone())),
        set_up(routine),
        el("section")
            .set("aria-labelledby", "steps-h")
            .with(el("h2").set("id", "steps-h").text("The steps"))
            .with(scrolling("The steps", steps)),
    ];
    contents.extend(mends(routine));
    contents.extend(anything_else(routine, astray));
    page(
        &format!("{}: cue sheet", routine.title),
        vec![el("div").class("sheet").each(contents)],
    )
}

fn in_its_language(name: &'static str, routine: &Routine) -> Element {
    el(name).set("lang", routine.lang.tag())
}

fn over(routine: &Routine) -> String {
    let mut words = format!(
        "allroads · cue sheet · {}",
        counted(routine.stops.len() as u64, "step")
    );
    if let Some(time) = routine.running_time {
        let minutes = time.0.div_ceil(60_000);
        words.push_str(&format!(", about {}", counted(minutes, "minute")));
    }
    words
}

/// The first visit of each stop, on some random roads. A road that cannot be walked tells nothing.
fn met(routine: &Routine) -> BTreeMap<usize, Walked> {
    let mut met = BTreeMap::new();
    for seed in 0..ROADS {
        let road = sample(routine, seed);
        for walked in road.into_iter().flat_map(|road| road.walked) {
            met.entry(walked.stop.index()).or_insert(walked);
        }
    }
    met
}

/// How the cards lie before it begins, pile by pile from the top.
fn set_up(routine: &Routine) -> Element {
    let world = unknown_start(routine);
    let piles = world
        .table
        .piles()
        .filter(|(pile, cards)| !cards.is_empty() && pile.index() < routine.piles.len())
        .map(|(pile, cards)| {
            let known = cards
                .iter()
                .any(|laid| world.face_of(laid.card()).is_some());
            let signs: Vec<String> = cards
                .iter()
                .map(|laid| {
                    let face = world
                        .face_of(laid.card())
                        .map_or_else(|| "?".to_owned(), |print| routine.pack.symbol(print));
                    format!("{face}{}", if laid.face_up() { "\u{2191}" } else { "" })
                })
                .collect();
            let lie = if known {
                signs.join(" ")
            } else {
                "shuffled, in any order".to_owned()
            };
            el("p")
                .with(el("strong").text(routine.pile_name(pile)))
                .text(format!(
                    ", {}, from the top: {lie}",
                    counted(cards.len() as u64, "card")
                ))
        });
    let note = world
        .table
        .piles()
        .any(|(_, cards)| cards.iter().any(|laid| laid.face_up()));
    el("section")
        .set("aria-labelledby", "set-up-h")
        .with(el("h2").set("id", "set-up-h").text("The set-up"))
        .each(piles)
        .each(note.then(|| el("p").class("quiet").text("\u{2191} lies face up.")))
}

fn row(
    routine: &Routine,
    (n, stop): (usize, &Stop),
    walked: Option<&Walked>,
    astray: &[&Astray],
) -> Element {
    let title = el("th")
        .set("scope", "row")
        .with(in_its_language("span", routine).text(format!(
            "{}. {}",
            n + 1,
            heading(routine, stop)
        )))
        .each(stop.target.map(|target| {
            el("span")
                .class("quiet")
                .text(format!(" {}\u{a0}s", target.0.div_ceil(1_000)))
        }));
    let said = cue(&line(routine, &stop.say));
    let done = match walked {
        Some(walked) => done_in_words(routine, walked),
        None if stop.handling.is_empty() => Vec::new(),
        None => vec![stop.handling.trim().to_owned()],
    };
    let say_and_do = in_its_language("td", routine)
        .each((!said.is_empty()).then(|| el("p").class("cue").text(format!("“{said}”"))))
        .each((!done.is_empty()).then(|| el("p").text(done.join(" "))));
    el("tr").with(title).with(say_and_do).with(
        el("td")
            .each(know(routine, stop))
            .each(mind(routine, stop, astray)),
    )
}

/// What a performer must know or work out at a step.
fn know(routine: &Routine, stop: &Stop) -> Vec<Element> {
    let mut known = Vec::new();
    let mut tell = |lead: &str, words: String| {
        let words = ended(words);
        known.push(
            el("p")
                .with(el("span").class("quiet").text(format!("{lead} ")))
                .with(in_its_language("span", routine).text(words)),
        );
    };
    if let Some(fork) = &stop.fork {
        match (&fork.kind, about(routine, fork.name)) {
            (ForkKind::Again { .. }, _) => {
                tell("They choose:", "whether to go round again".to_owned());
            }
            (_, Some(about)) => tell("They choose:", about),
            (_, None) => {}
        }
    }
    for reckoning in &stop.reckonings {
        if let Some(asks) = reckoning
            .asks
            .clone()
            .or_else(|| about(routine, reckoning.name))
        {
            tell("Work out:", asks);
        }
    }
    if let Some(reply) = &stop.reply {
        tell("They answer:", reply.asks.clone());
    }
    let claims: Vec<&str> = stop
        .claims
        .iter()
        .map(|claim| claim.words.as_str())
        .filter(|words| !words.is_empty())
        .collect();
    if !claims.is_empty() {
        tell("Then", claims.join("; "));
    }
    if let Some(hint) = &stop.hint {
        known.push(in_its_language("p", routine).text(hint.trim()));
    }
    known
}

/// What may go wrong there.
fn mind(routine: &Routine, stop: &Stop, astray: &[&Astray]) -> Vec<Element> {
    let mut minded = Vec::new();
    if let Some(caution) = &stop.caution {
        minded.push(
            el("p")
                .class("mind")
                .with(el("strong").text("Mind: "))
                .with(in_its_language("span", routine).text(caution.trim())),
        );
    }
    if !stop.strays.is_empty() {
        let strays: Vec<String> = stop
            .strays
            .iter()
            .map(|stray| {
                let words = routine.stray_in_words(*stray);
                let mut briefs: Vec<&str> = Vec::new();
                for one in astray.iter().filter(|one| one.stray == *stray) {
                    if !briefs.contains(&one.brief.as_str()) {
                        briefs.push(&one.brief);
                    }
                }
                if briefs.is_empty() {
                    words
                } else {
                    format!("{words} ({})", briefs.join("; or "))
                }
            })
            .collect();
        minded.push(
            el("p")
                .with(el("span").class("quiet").text("It happens that somebody "))
                .with(el("span").text(format!("{}.", strays.join("; ")))),
        );
    }
    minded
}

/// The moves with their words that set things right, the least conspicuous first.
fn mends(routine: &Routine) -> Option<Element> {
    if routine.mends.is_empty() {
        return None;
    }
    let mut mends: Vec<_> = routine.mends.iter().enumerate().collect();
    mends.sort_by_key(|(_, mend)| mend.rank);
    let lines = mends.into_iter().map(|(n, mend)| {
        el("li")
            .with(el("strong").text(format!("{} ", mend_number(n))))
            .with(
                in_its_language("span", routine)
                    .class("cue")
                    .text(format!("“{}”", line(routine, &mend.say))),
            )
    });
    Some(
        el("section")
            .set("aria-labelledby", "mends-h")
            .with(
                el("h2")
                    .set("id", "mends-h")
                    .text("If it must be set right"),
            )
            .with(el("ul").class("numbered").each(lines)),
    )
}

/// Everything that is not simply safe, step by step: more than a page holds, so it opens on a screen only.
fn anything_else(routine: &Routine, astray: &[Astray]) -> Option<Element> {
    let steps: Vec<Element> = routine
        .stops
        .iter()
        .enumerate()
        .filter_map(|(n, stop)| {
            let here: Vec<Element> = astray
                .iter()
                .filter(|one| one.stop.index() == n && !one.safe)
                .map(|one| el("li").text(format!("{} {}.", one.happens, capital(&one.brief))))
                .collect();
            (!here.is_empty()).then(|| {
                let title = format!("{}. {}", n + 1, heading(routine, stop));
                el("div")
                    .with(in_its_language("h3", routine).text(title))
                    .with(el("ul").each(here))
            })
        })
        .collect();
    (!steps.is_empty()).then(|| {
        el("section")
            .class("screen")
            .set("aria-labelledby", "astray-h")
            .with(el("h2").set("id", "astray-h").text("When it goes wrong"))
            .with(
                el("details")
                    .with(el("summary").text("What somebody may do at each step, and what then"))
                    .each(steps),
            )
    })
}

/// The words with a full stop, where they do not end a sentence already.
fn ended(mut words: String) -> String {
    if !words.ends_with(['.', '?', '!', '…']) {
        words.push('.');
    }
    words
}

fn about(routine: &Routine, name: NameId) -> Option<String> {
    let about = routine.names.get(name.index())?.about.as_ref()?;
    Some(about.trim_end_matches(['.', '?', ':']).to_owned())
}

/// A line with its blanks in brackets: what they stand for, where the file says it.
fn line(routine: &Routine, template: &Template) -> String {
    let mut text = String::new();
    for blank in &template.0 {
        match blank {
            Blank::Plain(plain) => text.push_str(plain),
            Blank::Value(expr) => match expr.reads().names.as_slice() {
                [name] => {
                    let name = about(routine, *name)
                        .or_else(|| Some(routine.names.get(name.index())?.name.clone()));
                    text.push_str(&format!("[{}]", name.unwrap_or_default()));
                }
                _ => text.push_str("[…]"),
            },
        }
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The first and the last words of a line: enough to begin it, and to know when it is over.
fn cue(line: &str) -> String {
    let words: Vec<&str> = line.split(' ').collect();
    if words.len() <= WHOLE {
        return line.to_owned();
    }
    let (first, last) = (&words[..FIRST], &words[words.len() - LAST..]);
    format!("{} … {}", first.join(" "), last.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_line_keeps_its_ends() {
        let line: Vec<String> = (0..40).map(|n| n.to_string()).collect();
        assert_eq!(
            cue(&line.join(" ")),
            "0 1 2 3 4 5 6 7 8 9 10 11 … 31 32 33 34 35 36 37 38 39"
        );
        assert_eq!(cue("Good evening."), "Good evening.");
        assert_eq!(cue(""), "");
    }
}
