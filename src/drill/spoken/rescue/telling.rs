//! The words of a rescue: verdicts, plans, packets.

use super::tables::Astray;
use crate::drill::doing::acts_in_words;
use crate::drill::say;
use crate::drill::sighting::looked;
use crate::rescue::{Case, Ground, Plan, Verdict};
use crate::roads::Sighted;
use crate::routine::{Routine, Scene, Sight, Value, World};
use crate::table::Laid;

/// The four answers: the key, the word, what it means.
pub(in crate::drill) const ANSWERS: [(&str, &str); 4] =
    [("s", "safe"), ("m", "mend"), ("o", "out"), ("l", "lost")];

/// The word of a verdict.
pub(in crate::drill) fn word(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Safe => "safe",
        Verdict::Mend(_) => "mend",
        Verdict::Out(_) => "out",
        Verdict::Lost { .. } | Verdict::Undecided => "lost",
    }
}

/// A verdict in a sentence: "It is …".
pub(in crate::drill) fn in_words(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Safe => "safe",
        Verdict::Mend(_) => "to be mended",
        Verdict::Out(_) => "an out: another ending is left",
        Verdict::Lost { .. } | Verdict::Undecided => "lost",
    }
}

/// What an answer means; a letter will do.
pub(in crate::drill) fn read_verdict(text: &str) -> Option<&'static str> {
    let text = text.trim().to_lowercase();
    ANSWERS
        .iter()
        .find(|(key, word)| text == *key || text == *word)
        .map(|(_, word)| *word)
}

/// Why the verdict is what it is. `well` counts the tables that fit on which it goes well without anything being done.
pub(in crate::drill) fn why(ground: &Ground, astray: &Astray, well: usize) -> String {
    let fit = astray.tables.len();
    let these = match fit {
        1 => "the one table that fits what you saw".to_owned(),
        n => format!("all {n} tables that fit what you saw"),
    };
    match &astray.verdict {
        Verdict::Safe => format!("The ending holds on every road from {these}."),
        Verdict::Mend(plan) => {
            let some = match (well, fit) {
                (0, _) => String::new(),
                (well, fit) => format!("On {well} of {fit} tables it would come right by itself. "),
            };
            format!(
                "{some}{} of this routine's mends makes it safe on {these}.",
                match plan.length() {
                    0 => "A look".to_owned(),
                    1 => "One".to_owned(),
                    n => format!("A row of {n}"),
                }
            )
        }
        Verdict::Out(endings) => {
            let names: Vec<String> = endings
                .iter()
                .filter_map(|n| ground.routine().endings.get(*n))
                .map(|ending| say::title_of(ground.routine(), ending.first))
                .collect();
            format!(
                "It ends well from {these}, but on some road at another ending: {}.",
                names.join(", ")
            )
        }
        Verdict::Lost { .. } if !astray.whole => {
            "No row of up to three mends makes it safe on every table that fits what you saw."
                .to_owned()
        }
        Verdict::Lost { .. } | Verdict::Undecided => format!(
            "No row of up to three mends makes it safe on {these}; left alone it ends well, whatever they do, on {} of them.",
            if well == 0 {
                "none".to_owned()
            } else {
                well.to_string()
            }
        ),
    }
}

/// A plan in words.
pub(in crate::drill) fn plan(ground: &Ground, world: &World, of: &Plan) -> String {
    let routine = ground.routine();
    let scene = Scene { routine, world };
    let id = |mend: usize| {
        routine
            .mends
            .get(mend)
            .map_or_else(String::new, |mend| mend.id.to_string())
    };
    match of {
        Plan::Done => "nothing more".to_owned(),
        Plan::Mend(mend, rest) => {
            let this = routine.mends.get(*mend).map_or_else(String::new, |own| {
                format!("{} ({})", own.id, acts_in_words(scene, &own.acts))
            });
            match &**rest {
                Plan::Done => this,
                rest => format!("{this}; then {}", plan(ground, world, rest)),
            }
        }
        Plan::Look(mend, cases) => {
            let sights = routine.mends.get(*mend).map_or(&[][..], |m| &m.looks[..]);
            let told: Vec<String> = cases
                .iter()
                .map(|(seen, then)| {
                    let seen: Vec<String> = seen
                        .iter()
                        .flatten()
                        .map(|one| short_look(scene, sights, one))
                        .collect();
                    format!("{}: {}", seen.join(", "), plan(ground, world, then))
                })
                .take(4)
                .collect();
            let more = if cases.len() > told.len() {
                "; and so on"
            } else {
                ""
            };
            format!("look as for {}; {}{more}", id(*mend), told.join("; "))
        }
    }
}

/// What a look shows, as the case of a plan.
fn short_look(scene: Scene<'_>, sights: &[Sight], seen: &Sighted) -> String {
    let line = looked(scene, sights, seen);
    let line = line
        .strip_prefix("You saw that ")
        .or_else(|| line.strip_prefix("You saw "))
        .or_else(|| line.strip_prefix("You counted "))
        .unwrap_or(&line);
    format!("if {}", line.trim_end_matches('.'))
}

/// What was seen of a stray, a line each.
pub(in crate::drill) fn seen_of(ground: &Ground, case: &Case, astray: &Astray) -> Vec<String> {
    let routine = ground.routine();
    let scene = Scene {
        routine,
        world: &astray.real,
    };
    let sights = match case.stray {
        crate::routine::Stray::Own(n) => routine
            .strays
            .get(usize::from(n))
            .map_or(&[][..], |own| &own.sights[..]),
        crate::routine::Stray::Known(_) => routine
            .stop(case.stop)
            .map_or(&[][..], |stop| &stop.sights[..]),
    };
    astray
        .sights
        .iter()
        .map(|one| match one {
            Sighted::Choice(name, value) if is_whim(ground, *name) => {
                let n = match value {
                    Value::Int(n) => say::cards(*n),
                    other => say::value(scene, other),
                };
                format!("You saw: {n}.")
            }
            other => looked(scene, sights, other),
        })
        .collect()
}

/// Whether a name is one of the ground's own, which no file speaks of.
fn is_whim(ground: &Ground, name: crate::routine::NameId) -> bool {
    let names = &ground.routine().names;
    names
        .get(name.index())
        .is_some_and(|name| name.about.is_none() && (name.name.starts_with("whim")))
}

/// A card as it is written in a row: `7H`, with `^` where it faces up.
fn card(routine: &Routine, world: &World, laid: Laid) -> String {
    let print = world.face_of(laid.card());
    let name = print.map_or_else(|| "?".to_owned(), |print| routine.pack.symbol(print));
    if laid.face_up() {
        format!("{name}^")
    } else {
        name
    }
}

/// Every pile that holds cards, all cards by name.
pub(in crate::drill) fn packets(ground: &Ground, what: &str, world: &World) -> Vec<String> {
    let routine = ground.routine();
    world
        .table
        .piles()
        .filter(|(_, cards)| !cards.is_empty())
        .map(|(pile, cards)| {
            let cards: Vec<String> = cards
                .iter()
                .map(|laid| card(routine, world, *laid))
                .collect();
            format!("{what}: {}: {}", say::pile(routine, pile), cards.join(" "))
        })
        .collect()
}

/// The table as the performer can know it: what is the same on all tables that fit.
pub(in crate::drill) fn known_table(ground: &Ground, tables: &[World]) -> Vec<String> {
    let routine = ground.routine();
    let Some((first, others)) = tables.split_first() else {
        return Vec::new();
    };
    first
        .table
        .piles()
        .filter_map(|(pile, cards)| {
            let size = cards.len();
            let name = say::pile(routine, pile);
            if others.iter().any(|world| world.table.size(pile) != size) {
                return Some(format!("{name}: how many is not known"));
            }
            if size == 0 {
                return None;
            }
            let shown: Vec<String> = (0..size)
                .map(|n| {
                    let at = |world: &World| {
                        let laid = *world.table.pile(pile).get(n)?;
                        Some((world.face_of(laid.card())?, laid.face_up()))
                    };
                    let known = at(first)
                        .filter(|known| others.iter().all(|world| at(world) == Some(*known)));
                    known.map_or_else(
                        || "?".to_owned(),
                        |(_, _)| {
                            first
                                .table
                                .pile(pile)
                                .get(n)
                                .map_or_else(String::new, |laid| card(routine, first, *laid))
                        },
                    )
                })
                .collect();
            let count = say::cards(i64::try_from(size).unwrap_or(i64::MAX));
            Some(if shown.iter().all(|card| card == "?") {
                format!("{name}: {count}, none known by name")
            } else {
                format!("{name}: {count}: {}", shown.join(" "))
            })
        })
        .collect()
}

/// The table as an audience sees it.
pub(in crate::drill) fn seen_table(
    ground: &Ground,
    look: &super::whereabouts::Look,
) -> Vec<String> {
    let routine = ground.routine();
    look.iter()
        .map(|(pile, size, top)| {
            let count = say::cards(i64::try_from(*size).unwrap_or(i64::MAX));
            let top = top.map_or_else(String::new, |print| {
                format!(", {} face up on top", say::card(routine, print))
            });
            format!("{}: {count}{top}", say::pile(routine, *pile))
        })
        .collect()
}
