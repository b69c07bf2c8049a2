//! `rescue --slips`: what a slip of the performer's own does to the rest of the road.
//!
//! `--slips --json` prints one object a line for each kind of slip at each step:
//! `{"routine","step","slip","example","effect","looked","worst","choices","extent"}`
//!
//! * `slip`: its kind, as `slip --json` has it; `example`: one of that kind, in words; `effect`: the worst that comes of it on any road:
//!   `harmless`, `mendable` (by the routine's mends, or another of its endings), `fatal` or `undecided`;
//! * `looked`: how many such slips were looked at, and of how many the worst came: `worst`; `choices`: what was chosen at this step where it
//!   came, empty where that has no say in it;
//! * `extent`: `all` tables and choices that there can be, or those of so many random `roads`.

use super::kept;
use super::text::{listed, step_heading};
use crate::command::failure::Failure;
use crate::command::machine::Machine;
use crate::command::pages::paragraph;
use crate::logbook::Logbook;
use crate::proof::Limits;
use crate::rescue::careful;
use crate::rescue::slip::{
    Consequence, Effect, Looked, Reach, SlipKind, careful_words, deed_words,
};
use crate::routine::{Routine, StepId, Value};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Write};

/// How much is looked at.
const REACH: Reach = Reach {
    all: 3_000,
    roads: 40,
};

/// One kind of slip at one step, told and as JSON.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(in crate::command) struct Told {
    step: String,
    slip: String,
    effect: String,
    line: String,
    json: String,
    roads: Option<u64>,
}

impl Told {
    /// Whether it is at one of these steps; at any where none is named.
    pub(super) fn is_at(&self, steps: &[String]) -> bool {
        steps.is_empty() || steps.contains(&self.step)
    }
}

#[derive(Serialize)]
struct SlipJson<'a> {
    routine: &'a str,
    step: &'a str,
    slip: &'a str,
    example: String,
    effect: &'a str,
    looked: u64,
    worst: u64,
    choices: Vec<String>,
    extent: ExtentJson,
}

#[derive(Serialize)]
#[serde(untagged)]
enum ExtentJson {
    All(&'static str),
    Roads { roads: u64 },
}

/// Works them out; what was cut short is not worth keeping.
pub(in crate::command) fn work_out(
    routine: &Routine,
    limits: &Limits<'_>,
) -> Result<Vec<Told>, Failure> {
    let (found, looked) = careful(routine, REACH, limits);
    found.iter().map(|one| told(routine, one, looked)).collect()
}

fn told(routine: &Routine, one: &Consequence, looked: Looked) -> Result<Told, Failure> {
    let step = routine
        .stop(one.stop)
        .map_or_else(String::new, |stop| stop.id.0.to_string());
    let example = deed_words(routine, &one.example);
    let worst = one
        .by_choice
        .iter()
        .filter(|(_, effect)| *effect == one.effect);
    let choices: BTreeSet<Value> = worst.map(|(value, _)| value.clone()).collect();
    // Where it is so with every choice, the choice has no say in it.
    let some = one
        .by_choice
        .iter()
        .any(|(_, effect)| *effect != one.effect);
    let shuffled = choices
        .iter()
        .any(|value| matches!(value, Value::Weave(_) | Value::Chunks(_)));
    let with = match (some, shuffled) {
        (false, _) => String::new(),
        // Nobody knows how they fell.
        (true, true) => " (as the cards happen to fall)".to_owned(),
        (true, false) => format!(" (with {})", listed(routine, &choices)),
    };
    let json = serde_json::to_string(&SlipJson {
        routine: &routine.title,
        step: &step,
        slip: one.kind.id(),
        example: example.clone(),
        effect: one.effect.word(),
        looked: one.looked,
        worst: one.worst,
        choices: if some {
            choices.iter().map(|value| value.show(routine)).collect()
        } else {
            Vec::new()
        },
        extent: match looked {
            Looked::All => ExtentJson::All("all"),
            Looked::Roads(roads) => ExtentJson::Roads { roads },
        },
    })
    .map_err(|cause| Failure::Machine(format!("the JSON could not be written ({cause})")))?;
    Ok(Told {
        step,
        slip: one.kind.id().to_owned(),
        effect: one.effect.word().to_owned(),
        line: format!("{example}{with}"),
        json,
        roads: match looked {
            Looked::All => None,
            Looked::Roads(roads) => Some(roads),
        },
    })
}

/// Prints them; gives whether all was decided.
pub(super) fn print(
    out: &mut dyn Write,
    routine: &Routine,
    told: &[&Told],
    json: bool,
) -> io::Result<bool> {
    if json {
        for one in told {
            writeln!(out, "{}", one.json)?;
        }
    } else {
        text(out, routine, told)?;
    }
    Ok(told
        .iter()
        .all(|one| one.effect != Effect::Undecided.word()))
}

fn text(out: &mut dyn Write, routine: &Routine, told: &[&Told]) -> io::Result<()> {
    paragraph(out, "", &format!("{}: what a slip does", routine.title))?;
    if let Some(roads) = told.iter().find_map(|one| one.roads) {
        paragraph(
            out,
            "",
            &format!("Looked at on {roads} random roads; there are too many to look at all."),
        )?;
    }
    for step in told.chunk_by(|one, next| one.step == next.step) {
        step_heading(out, routine, &step[0].step)?;
        for (effect, words) in [
            (Effect::Fatal, "Fatal: "),
            (Effect::Mendable, "To be mended: "),
            (Effect::Undecided, "Not decided: "),
            (Effect::Harmless, "Harmless: "),
        ] {
            let lines: Vec<&str> = step
                .iter()
                .filter(|one| one.effect == effect.word())
                .map(|one| one.line.as_str())
                .collect();
            if !lines.is_empty() {
                paragraph(
                    out,
                    &format!("   {words}"),
                    &format!("{}.", lines.join("; ")),
                )?;
            }
        }
    }
    Ok(())
}

/// What was kept in a logbook.
pub(in crate::command) fn recall(logbook: &Logbook, routine: &Routine) -> Option<Vec<Told>> {
    kept::recall(logbook, &kept::key("slips", routine))
}

/// Keeps it.
pub(in crate::command) fn keep(logbook: &mut Logbook, routine: &Routine, told: &[Told]) {
    kept::keep(logbook, &kept::key("slips", routine), &told);
}

/// By step, what not to do there, as far as that was worked out before.
pub(in crate::command) fn known(machine: &Machine, routine: &Routine) -> BTreeMap<StepId, String> {
    kept::logbook(machine)
        .and_then(|logbook| recall(&logbook, routine))
        .map_or_else(BTreeMap::new, |told| careful_by_step(&told))
}

/// By step, what not to do there, as a walk tells it.
pub(in crate::command) fn careful_by_step(told: &[Told]) -> BTreeMap<StepId, String> {
    let mut fatal: BTreeMap<StepId, Vec<SlipKind>> = BTreeMap::new();
    for one in told {
        let kind = SlipKind::ALL.into_iter().find(|kind| kind.id() == one.slip);
        if let Some(kind) = kind.filter(|_| one.effect == Effect::Fatal.word()) {
            fatal
                .entry(StepId(one.step.as_str().into()))
                .or_default()
                .push(kind);
        }
    }
    fatal
        .into_iter()
        .filter_map(|(step, kinds)| Some((step, careful_words(&kinds)?)))
        .collect()
}
