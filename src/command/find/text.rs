//! What was found, for people: how many, which, and one ready to go into a file.

use super::signs::{lines, patterns, signs};
use super::{Found, How, Report};
use crate::command::lasting::Cut;
use crate::command::lasting::numbers::{grouped, seconds, thousands};
use crate::command::pages::paragraph;
use crate::proof::find::{Alike, Canvas, Group, Moves};
use num_bigint::BigUint;
use num_traits::One;
use std::io::{self, Write};

/// So many patterns are listed, unless all are asked for.
const MOST_LISTED: usize = 30;
/// What stands under a heading is set in from it.
const INDENT: &str = "   ";

/// Tells it.
pub(super) fn tell(out: &mut dyn Write, report: &Report<'_>) -> io::Result<()> {
    let found = &report.found;
    let canvas = report.canvas;
    paragraph(out, "", &heading(report))?;
    if let How::Moved { moves, orbits, .. } = &found.how {
        paragraph(out, "", &moved(report, moves))?;
        if !moves.left_out.is_empty() {
            let steps = titles(report, moves.left_out.iter().copied());
            paragraph(
                out,
                "Mind: ",
                &format!(
                    "after {steps} the piles are never again as at the start, so that is left out."
                ),
            )?;
        }
        for unsteady in &moves.unsteady {
            paragraph(out, "Mind: ", &format!("{unsteady}; it is left out."))?;
        }
        exchange(out, canvas, orbits)?;
    }
    if report.groups.is_empty() {
        if found.complete && matches!(found.how, How::Proved(_)) {
            paragraph(
                out,
                "",
                "Whichever way the classes lie, some road fails. `allroads prove` shows one such road for the cards of the file.",
            )?;
        }
        return effort(out, report);
    }
    writeln!(out)?;
    list(out, report)?;
    writeln!(out)?;
    let signs = signs(canvas);
    if let Some(first) = report.groups.first() {
        writeln!(out, "The first, as a file takes it, under `cards:`")?;
        for line in lines(canvas, &signs, &first.first) {
            // One line, so that it can be copied.
            writeln!(out, "{INDENT}{line}")?;
        }
    }
    effort(out, report)
}

/// "Title: 2 of 1,024 patterns of red and black work on every road."
fn heading(report: &Report<'_>) -> String {
    let found = &report.found;
    let title = &report.canvas.routine().title;
    let classes: Vec<&str> = report
        .canvas
        .kinds
        .iter()
        .map(|k| k.label.as_str())
        .collect();
    let classes = and(&classes);
    let count = found
        .count
        .clone()
        .unwrap_or_else(|| BigUint::from(found.patterns.len()));
    let of = grouped(&report.of);
    let (one, many) = match &found.how {
        How::Proved(_) => ("works on every road", "work on every road"),
        How::Moved { up_to, .. } => stays(*up_to),
    };
    let short = if found.complete || found.count.is_some() {
        ""
    } else {
        " so far"
    };
    let told = if count == BigUint::from(0u8) {
        format!("none of {of} patterns of {classes} {one}{short}.")
    } else if count == report.of && found.complete {
        format!("every one of {of} patterns of {classes} {one}.")
    } else if count.is_one() {
        format!("one of {of} patterns of {classes} {one}{short}.")
    } else {
        format!(
            "{} of {of} patterns of {classes} {many}{short}.",
            grouped(&count)
        )
    };
    format!("{title}: {told}{}", unfinished(found, report))
}

fn stays(up_to: Alike) -> (&'static str, &'static str) {
    if up_to == Alike::default() {
        ("stays exactly as it is", "stay exactly as they are")
    } else {
        ("stays what it is", "stay what they are")
    }
}

/// Why these may not be all.
fn unfinished(found: &Found, report: &Report<'_>) -> String {
    if found.complete {
        return String::new();
    }
    let why = match report.cut {
        Some(Cut::Asked) => "you stopped it".to_owned(),
        Some(Cut::Time) => format!(
            "{} were not enough",
            seconds(report.budget.time.as_secs_f64())
        ),
        Some(Cut::Memory) => format!(
            "{} MiB were not enough",
            thousands(report.budget.bytes >> 20)
        ),
        None if found.undecided > 0 => format!(
            "{} could not be decided",
            match found.undecided {
                1 => "one pattern".to_owned(),
                n => format!("{n} patterns"),
            }
        ),
        None => "there are more than are told".to_owned(),
    };
    match &found.count {
        Some(_) => format!(" Not all are listed: {why}."),
        None => format!(" The list is incomplete: {why}. A larger --budget or --most may do."),
    }
}

/// Which moves were followed, and up to what.
fn moved(report: &Report<'_>, moves: &Moves) -> String {
    let steps = titles(report, moves.steps.iter().copied());
    let ways = match moves.turns.len() {
        0 => "which changes nothing".to_owned(),
        1 => "one move".to_owned(),
        n => format!("{} different moves", thousands(n as u64)),
    };
    let up_to = match &report.found.how {
        How::Moved { up_to, .. } => {
            let mut by = Vec::new();
            if up_to.rotation {
                by.push("a cut");
            }
            if up_to.reversal {
                by.push("being read from the bottom");
            }
            if up_to.swap {
                by.push("an exchange of classes");
            }
            if by.is_empty() {
                String::new()
            } else {
                format!(", up to {}", and(&by))
            }
        }
        How::Proved(_) => String::new(),
    };
    format!("Done any number of times, in any order: {steps} ({ways}){up_to}.")
}

fn titles(report: &Report<'_>, steps: impl Iterator<Item = crate::routine::StopIndex>) -> String {
    let titles: Vec<String> = steps
        .filter_map(|at| report.canvas.routine().stop(at))
        .map(|stop| format!("\u{201c}{}\u{201d}", stop.title))
        .collect();
    let titles: Vec<&str> = titles.iter().map(String::as_str).collect();
    and(&titles)
}

/// Which places exchange their cards: what must be alike for a pattern to stay exactly as it is.
fn exchange(out: &mut dyn Write, canvas: &Canvas, orbits: &[Vec<usize>]) -> io::Result<()> {
    let sets: Vec<String> = orbits
        .iter()
        .filter(|orbit| orbit.len() > 1)
        .map(|orbit| {
            let places: Vec<String> = orbit.iter().map(|cell| (cell + 1).to_string()).collect();
            places.join(" ")
        })
        .collect();
    if orbits.is_empty() {
        return Ok(());
    }
    if sets.is_empty() {
        return paragraph(out, "", "They bring every card back to its place.");
    }
    if sets.len() == 1 && orbits.len() == 1 {
        return paragraph(
            out,
            "",
            &format!(
                "They can bring any of the {} cards to any place.",
                canvas.size()
            ),
        );
    }
    paragraph(
        out,
        "",
        &format!("Places that exchange their cards: {}.", sets.join("; ")),
    )
}

fn list(out: &mut dyn Write, report: &Report<'_>) -> io::Result<()> {
    let canvas = report.canvas;
    let signs = signs(canvas);
    let most = if report.all { usize::MAX } else { MOST_LISTED };
    let legend: Vec<String> = signs
        .iter()
        .zip(&canvas.kinds)
        .map(|(sign, kind)| format!("{sign} {}", kind.label))
        .collect();
    let differ = report.groups.iter().any(|group| !group.others.is_empty());
    let told = if differ {
        "Patterns that differ only by an exchange of classes or by being read from the bottom stand in one line; --all lists each."
    } else {
        ""
    };
    paragraph(
        out,
        "",
        &format!("From the top ({}). {told}", legend.join(", ")),
    )?;
    let several = canvas.piles.len() > 1;
    for group in report.groups.iter().take(most) {
        let written: Vec<String> = patterns(canvas, &signs, &group.first)
            .into_iter()
            .map(|(pile, pattern)| {
                if several {
                    format!("{pile}: {pattern}")
                } else {
                    pattern
                }
            })
            .collect();
        writeln!(out, "{INDENT}{}", written.join(" | "))?;
        paragraph(out, "      ", &beside(canvas, &signs, group))?;
    }
    if report.groups.len() > most {
        writeln!(
            out,
            "{INDENT}and {} more; --all lists each",
            thousands((report.groups.len() - most) as u64)
        )?;
    }
    Ok(())
}

/// "in 62,990,928,000 ways; also B R B R"
fn beside(canvas: &Canvas, signs: &[String], group: &Group) -> String {
    let ways = match canvas.ways(&group.first) {
        ways if ways.is_one() => "real cards in one way".to_owned(),
        ways => format!("real cards in {} ways", grouped(&ways)),
    };
    match group.others.as_slice() {
        [] => ways,
        [other] if canvas.piles.len() == 1 => {
            let also: Vec<String> = patterns(canvas, signs, other)
                .into_iter()
                .map(|(_, pattern)| pattern)
                .collect();
            format!("{ways}; so too {}", also.join(" "))
        }
        others => format!("{ways}; so too {} like it", others.len()),
    }
}

/// What it took.
fn effort(out: &mut dyn Write, report: &Report<'_>) -> io::Result<()> {
    let took = seconds(report.seconds);
    let told = match &report.found.how {
        How::Proved(tally) => format!(
            "{} proved; {} ruled the others out; in {took}.",
            match tally.proved {
                1 => "One pattern".to_owned(),
                n => format!("{} patterns", thousands(n)),
            },
            match tally.refuted {
                1 => "one road that fails".to_owned(),
                n => format!("{} roads that fail", thousands(n)),
            },
        ),
        How::Moved { .. } => format!("Done in {took}."),
    };
    paragraph(out, "", &told)
}

/// "a", "a and b", "a, b and c".
fn and(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
