//! The table told: step by step, what is harmless in one breath, and what is not with what to do.

use super::Told;
use crate::command::lasting::Cut;
use crate::command::lasting::numbers::{chance, percent};
use crate::command::pages::paragraph;
use crate::drill::heading;
use crate::paper::mend_number;
use crate::rescue::{Extent, Ground, Part, Plan, Row, Verdict};
use crate::roads::Sighted;
use crate::routine::{Routine, Value, capital};
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
        // What comes to the same is told together.
        let mut groups: Vec<Vec<&Told>> = Vec::new();
        for one in step {
            let same = |group: &&mut Vec<&Told>| group.iter().any(|first| first.lines == one.lines);
            match groups.iter_mut().find(same) {
                Some(group) => group.push(one),
                None => groups.push(vec![one]),
            }
        }
        let (harmless, others): (Vec<_>, Vec<_>) = groups
            .into_iter()
            .partition(|group| group.iter().all(|one| one.lines.is_empty()));
        for group in others {
            if let [one] = group.as_slice() {
                happens(out, one)?;
            } else {
                paragraph(out, "     ", &listed_with_marks(&group))?;
            }
            for line in group.first().map_or(&[][..], |one| &one.lines) {
                paragraph(out, "        ", line)?;
            }
        }
        for group in harmless {
            if all {
                for one in group {
                    happens(out, one)?;
                    paragraph(out, "        ", "Safe.")?;
                }
            } else {
                paragraph(out, "   Safe, go on: ", &listed_with_marks(&group))?;
            }
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

/// Everything that may happen, one after the other; what happens often with its mark.
fn listed_with_marks(group: &[&Told]) -> String {
    let listed: Vec<String> = group
        .iter()
        .map(|one| {
            let mark = if one.often { "* " } else { "" };
            format!("{mark}{}", one.happens)
        })
        .collect();
    listed.join(" ")
}

/// What to do about a stray; nothing where it is safe on all roads.
pub(super) fn lines(ground: &Ground, routine: &Routine, row: &Row) -> Vec<String> {
    if let ([part], Extent::All) = (row.parts.as_slice(), row.extent)
        && part.verdict == Verdict::Safe
    {
        return Vec::new();
    }
    let alone = row.parts.len() == 1;
    let mut said = BTreeSet::new();
    let mut lines: Vec<String> = row
        .parts
        .iter()
        .map(|part| {
            let line = format!(
                "{}{}",
                when(routine, part, alone),
                to_do(ground, routine, (row, part), &mut said)
            );
            capital(&line)
        })
        .collect();
    if overlap(row) {
        lines.push(
            "(Where a number stands more than once, the cards that lie there decide: the rescue drill asks with the packet in front of \
             you.)"
                .to_owned(),
        );
    }
    if row.extent == Extent::Part {
        lines.push("(Looked at in part; there is too much to look at all of it.)".to_owned());
    }
    lines
}

/// Whether what somebody chose does not decide alone: a choice stands in more than one part.
fn overlap(row: &Row) -> bool {
    let mut seen = BTreeSet::new();
    row.parts
        .iter()
        .flat_map(|part| &part.choices)
        .any(|choice| !seen.insert(choice))
}

/// More letters than this are not few words.
const FEW: usize = 110;

/// What to do about a stray in few words, mends by their numbers: "with 2, 4 or 6: safe; with 1, 3, 5 or 7: mend 1".
pub(super) fn brief(routine: &Routine, row: &Row) -> String {
    let alone = row.parts.len() == 1;
    let parts: Vec<String> = row
        .parts
        .iter()
        .map(|part| {
            let to_do = match &part.verdict {
                Verdict::Safe => "safe".to_owned(),
                Verdict::Mend(plan) => numbered(routine, plan),
                Verdict::Out(_) => "it ends otherwise".to_owned(),
                Verdict::Lost { .. } => "lost".to_owned(),
                Verdict::Undecided => "not decided".to_owned(),
            };
            format!("{}{to_do}", when(routine, part, alone))
        })
        .collect();
    let all = parts.join("; ");
    if all.chars().count() <= FEW && !overlap(row) {
        return all;
    }
    // Of much the kinds alone.
    let mut kinds: Vec<&str> = Vec::new();
    for part in &row.parts {
        let kind = match &part.verdict {
            Verdict::Safe => "safe",
            Verdict::Mend(_) => "to be mended",
            Verdict::Out(_) => "with another ending",
            Verdict::Lost { .. } => "lost",
            Verdict::Undecided => "not decided",
        };
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    match kinds.as_slice() {
        [one] => (*one).to_owned(),
        several => format!("it depends: {}", several.join(", or ")),
    }
}

/// A plan by the numbers of its mends: "mend 1, then mend 3", "look; if the top card of the packet is red, mend 1; …".
fn numbered(routine: &Routine, plan: &Plan) -> String {
    match plan {
        Plan::Done => "nothing more".to_owned(),
        Plan::Mend(mend, rest) => {
            let mend = format!("mend {}", mend_number(*mend));
            match **rest {
                Plan::Done => mend,
                Plan::Mend(..) | Plan::Look(..) => {
                    format!("{mend}, then {}", numbered(routine, rest))
                }
            }
        }
        Plan::Look(_, cases) => {
            let parts: Vec<String> = cases
                .iter()
                .map(|(seen_now, then)| {
                    format!(
                        "{}, {}",
                        if_seen(routine, seen_now),
                        numbered(routine, then)
                    )
                })
                .collect();
            format!("look; {}", parts.join("; "))
        }
    }
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

/// `said` are the mends whose words were told already.
fn to_do(
    ground: &Ground,
    routine: &Routine,
    (row, part): (&Row, &Part),
    said: &mut BTreeSet<usize>,
) -> String {
    match &part.verdict {
        Verdict::Safe => "safe, go on.".to_owned(),
        Verdict::Mend(plan) => format!("{}.", in_words(routine, plan, said)),
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

/// A plan as one would tell it; the words of a mend the first time only.
fn in_words(routine: &Routine, plan: &Plan, said: &mut BTreeSet<usize>) -> String {
    match plan {
        Plan::Done => "nothing more".to_owned(),
        Plan::Mend(mend, rest) => {
            let this = routine.mends.get(*mend).map_or_else(String::new, |own| {
                let words = own.say.open();
                if words.is_empty() || !said.insert(*mend) {
                    own.id.0.to_string()
                } else {
                    format!("\u{201c}{words}\u{201d} ({})", own.id.0)
                }
            });
            match **rest {
                Plan::Done => this,
                Plan::Mend(..) | Plan::Look(..) => {
                    format!("{this}, then {}", in_words(routine, rest, said))
                }
            }
        }
        Plan::Look(_, cases) => {
            let parts: Vec<String> = cases
                .iter()
                .map(|(seen_now, then)| {
                    let if_so = if_seen(routine, seen_now);
                    format!("{if_so}, {}", in_words(routine, then, said))
                })
                .collect();
            format!("look first: {}", parts.join("; "))
        }
    }
}

/// "if the top card of the packet is red"
fn if_seen(routine: &Routine, seen_now: &[Option<Sighted>]) -> String {
    let seen = seen(routine, seen_now);
    if seen.is_empty() {
        "if nothing is to be seen".to_owned()
    } else {
        format!("if {}", seen.join(" and "))
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
