//! The table told: step by step, what is harmless in one breath, and what is not with what to do.

use super::Told;
use crate::command::lasting::Cut;
use crate::command::lasting::numbers::{chance, percent};
use crate::command::pages::paragraph;
use crate::drill::heading;
use crate::rescue::{Extent, Ground, Part, Plan, Row, Verdict};
use crate::roads::Sighted;
use crate::routine::{Routine, Value};
use crate::table::{PileId, Place};
use num_rational::BigRational;
use num_traits::{One, Zero};
use std::collections::BTreeSet;
use std::io::{self, Write};

/// Tells the rows.
pub(super) fn tell(
    out: &mut dyn Write,
    routine: &Routine,
    told: &[&Told],
    all: bool,
    cut: Option<Cut>,
) -> io::Result<()> {
    paragraph(out, "", &format!("{}: when it goes wrong", routine.title))?;
    if told.iter().any(|one| one.often) {
        writeln!(out, "* happens here often.")?;
    }
    for step in told.chunk_by(|one, next| one.step == next.step) {
        step_heading(out, routine, &step[0].step)?;
        let (harmless, others): (Vec<&Told>, Vec<&Told>) =
            step.iter().partition(|one| one.lines.is_empty());
        for one in others {
            happens(out, one)?;
            for line in &one.lines {
                paragraph(out, "        ", line)?;
            }
        }
        if all {
            for one in harmless {
                happens(out, one)?;
                paragraph(out, "        ", "Safe.")?;
            }
        } else if !harmless.is_empty() {
            let listed: Vec<String> = harmless
                .iter()
                .map(|one| {
                    let mark = if one.often { "* " } else { "" };
                    format!("{mark}{}", one.happens)
                })
                .collect();
            paragraph(out, "   Safe, go on: ", &listed.join(" "))?;
        }
    }
    match cut {
        Some(cut) => cut_short(out, cut),
        None => Ok(()),
    }
}

/// Begins a step: how it is called, and its id.
pub(super) fn step_heading(out: &mut dyn Write, routine: &Routine, id: &str) -> io::Result<()> {
    let title = routine
        .find_step(id)
        .and_then(|at| routine.stop(at))
        .map_or_else(|| id.to_owned(), |stop| heading(routine, stop));
    writeln!(out)?;
    paragraph(out, "", &format!("{title} ({id})"))
}

/// Why not all was decided.
pub(super) fn cut_short(out: &mut dyn Write, cut: Cut) -> io::Result<()> {
    writeln!(out)?;
    let why = match cut {
        Cut::Time => "The time was over",
        Cut::Memory => "The memory was used up",
        Cut::Asked => "You stopped it",
    };
    paragraph(
        out,
        "",
        &format!("{why} before all was decided; --budget gives it more."),
    )
}

fn happens(out: &mut dyn Write, one: &Told) -> io::Result<()> {
    let mark = if one.often { "   * " } else { "     " };
    paragraph(out, mark, &one.happens)
}

/// What to do about a stray; nothing where it is safe on all roads.
pub(super) fn lines(ground: &Ground, routine: &Routine, row: &Row) -> Vec<String> {
    if let ([part], Extent::All) = (row.parts.as_slice(), row.extent)
        && part.verdict == Verdict::Safe
    {
        return Vec::new();
    }
    let alone = row.parts.len() == 1;
    let mut lines: Vec<String> = row
        .parts
        .iter()
        .map(|part| {
            let line = format!(
                "{}{}",
                when(routine, part, alone),
                to_do(ground, routine, row, part)
            );
            let mut letters = line.chars();
            letters.next().map_or_else(String::new, |first| {
                first.to_uppercase().chain(letters).collect()
            })
        })
        .collect();
    if row.extent == Extent::Part {
        lines.push("(Looked at in part; there is too much to look at all of it.)".to_owned());
    }
    lines
}

/// "with 2, 4 or 6: "
fn when(routine: &Routine, part: &Part, alone: bool) -> String {
    if alone {
        return String::new();
    }
    if !part.choices.is_empty() {
        return format!("with {}: ", listed(routine, &part.choices));
    }
    match &part.share {
        Some(share) if !share.is_one() => format!("on {} of the roads: ", percent(share)),
        Some(_) => String::new(),
        None => "on some roads: ".to_owned(),
    }
}

/// Numbers with runs of three and more drawn together; other values one by one.
pub(super) fn listed(routine: &Routine, values: &BTreeSet<Value>) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut run: Vec<i64> = Vec::new();
    let close = |run: &mut Vec<i64>, parts: &mut Vec<String>| {
        match run.as_slice() {
            [first, .., last] if run.len() > 2 => parts.push(format!("{first} to {last}")),
            few => parts.extend(few.iter().map(ToString::to_string)),
        }
        run.clear();
    };
    for value in values {
        match value {
            Value::Int(n) => {
                if run.last().is_some_and(|last| last + 1 != *n) {
                    close(&mut run, &mut parts);
                }
                run.push(*n);
            }
            Value::Bool(_)
            | Value::Text(_)
            | Value::Card(_)
            | Value::Pile(_)
            | Value::Order(_)
            | Value::Places(_)
            | Value::Weave(_)
            | Value::Chunks(_) => parts.push(value.show(routine)),
        }
    }
    close(&mut run, &mut parts);
    match parts.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} or {last}", most.join(", ")),
    }
}

fn to_do(ground: &Ground, routine: &Routine, row: &Row, part: &Part) -> String {
    match &part.verdict {
        Verdict::Safe => "safe, go on.".to_owned(),
        Verdict::Mend(plan) => in_words(routine, plan),
        Verdict::Out(endings) => {
            let titles: Vec<String> = endings
                .iter()
                .filter_map(|n| routine.stop(routine.endings.get(*n)?.first))
                .map(|stop| format!("\u{201c}{}\u{201d}", heading(routine, stop)))
                .collect();
            format!("it ends well, with {}.", titles.join(" or "))
        }
        Verdict::Lost { chance } => lost(ground, row, chance.as_ref()),
        Verdict::Undecided => "not decided.".to_owned(),
    }
}

fn lost(ground: &Ground, row: &Row, right: Option<&BigRational>) -> String {
    let none = if ground.routine().mends.is_empty() {
        "lost"
    } else {
        "lost, and none of your mends helps"
    };
    match right {
        None => format!("{none}."),
        Some(right) if right.is_zero() => format!("{none}; it never comes right."),
        Some(right) if right.is_one() => {
            format!("{none}; only what nobody is likely to do makes it go wrong.")
        }
        Some(right) => {
            let about = match row.extent {
                Extent::All => chance(right),
                Extent::Part => format!("about {}", percent(right)),
            };
            format!("{none}; it comes right all the same with a chance of {about}.")
        }
    }
}

/// A plan as one would tell it.
fn in_words(routine: &Routine, plan: &Plan) -> String {
    match plan {
        Plan::Done => "nothing more.".to_owned(),
        Plan::Mend(mend, rest) => {
            let said = routine.mends.get(*mend).map_or_else(String::new, |mend| {
                let words = mend.say.open();
                if words.is_empty() {
                    mend.id.0.replace('-', " ")
                } else {
                    format!("\u{201c}{words}\u{201d} ({})", mend.id.0)
                }
            });
            match **rest {
                Plan::Done => said,
                Plan::Mend(..) | Plan::Look(..) => {
                    format!("{said}; then {}", in_words(routine, rest))
                }
            }
        }
        Plan::Look(_, cases) => {
            let parts: Vec<String> = cases
                .iter()
                .map(|(seen_now, then)| {
                    let seen = self::seen(routine, seen_now);
                    let seen = if seen.is_empty() {
                        "nothing is to be seen".to_owned()
                    } else {
                        seen.join(" and ")
                    };
                    format!("if {seen}, {}", in_words(routine, then))
                })
                .collect();
            format!("look first: {}", parts.join("; "))
        }
    }
}

/// What was seen, each in words.
pub(super) fn seen(routine: &Routine, seen: &[Option<Sighted>]) -> Vec<String> {
    seen.iter()
        .flatten()
        .filter_map(|one| match one {
            Sighted::Card {
                pile, place, print, ..
            } => Some(format!(
                "{} is the {}",
                card_at(routine, *pile, *place),
                routine.pack.name(*print)
            )),
            Sighted::Trait {
                pile,
                place,
                class,
                is,
            } => {
                let label = is.and_then(|is| {
                    let table = routine.pack.traits().get(class.index())?;
                    table.labels.get(usize::from(is.0))
                });
                Some(format!(
                    "{} is {}",
                    card_at(routine, *pile, *place),
                    label.map_or("of no such kind", String::as_str)
                ))
            }
            Sighted::Count { pile, cards } => Some(format!(
                "{} has {cards} cards",
                routine.pile_in_words(*pile)
            )),
            Sighted::Value { value, .. } => Some(format!("you see {}", value.show(routine))),
            Sighted::Stop(_) | Sighted::Choice(..) | Sighted::Part { .. } | Sighted::Reply(..) => {
                None
            }
        })
        .collect()
}

fn card_at(routine: &Routine, pile: PileId, place: Place) -> String {
    let pile = routine.pile_in_words(pile);
    match place.0 {
        1 => format!("the top card of {pile}"),
        n => format!("card {n} of {pile}"),
    }
}
