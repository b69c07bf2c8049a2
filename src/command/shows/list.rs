//! `shows list`.

use crate::command::failure::{Failure, Outcome};
use crate::command::machine::Machine;
use crate::command::pages::paragraph;
use crate::command::shelf::sources;
use crate::drill::{choices_in_words, heading};
use crate::logbook::{Happened, KeptShow};
use crate::routine::Routine;
use clap::Args;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Write};
use std::path::Path;

/// So many letters of a show's name are shown: enough to name it by.
const SHORT: usize = 8;

/// How to list them.
#[derive(Debug, Args)]
pub struct ListArgs {
    /// Print JSON, one show a line
    #[arg(long)]
    pub json: bool,
}

/// Lists them.
pub(super) fn run(
    args: &ListArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let shows = machine.logbook()?.shows()?;
    if args.json {
        for show in &shows {
            writeln!(out, "{}", as_json(show))?;
        }
        return Ok(Outcome::Done);
    }
    if shows.is_empty() {
        writeln!(
            out,
            "No show is written down yet. After the next one: allroads shows add ROUTINE"
        )?;
    }
    let names = shows.iter().flat_map(|one| &one.show.performed);
    let names: BTreeSet<&str> = names.map(|one| one.routine.as_str()).collect();
    let routines: BTreeMap<String, Routine> = sources(Path::new("."))
        .into_iter()
        .filter(|source| names.contains(source.name.as_str()))
        .filter_map(|source| Some((source.name.clone(), source.load(0).ok()?)))
        .collect();
    for show in &shows {
        told(show, &routines, out)?;
    }
    Ok(Outcome::Done)
}

/// A show in words, those of its routines as far as their files are here.
fn told(
    kept: &KeptShow,
    routines: &BTreeMap<String, Routine>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let titled = |name: &str| {
        let routine = routines.get(name);
        routine.map_or_else(|| name.to_owned(), |routine| routine.title.clone())
    };
    let show = &kept.show;
    let short: String = kept.id.chars().take(SHORT).collect();
    let place = if show.place.is_empty() {
        String::new()
    } else {
        format!(", {}", show.place)
    };
    let names: Vec<String> = show
        .performed
        .iter()
        .map(|one| titled(&one.routine))
        .collect();
    let first = format!("{}  ", show.date);
    paragraph(
        out,
        &first,
        &format!("{}{place} ({short})", names.join(", ")),
    )?;
    for one in &show.performed {
        let mut parts: Vec<String> = Vec::new();
        let routine = routines.get(&one.routine);
        if !one.choices.is_empty() {
            let choices = match routine {
                Some(routine) => choices_in_words(routine, &one.choices),
                None => one.choices.clone(),
            };
            parts.push(choices.join(", "));
        }
        let step = |id: &str| {
            let titled = |routine: &Routine| {
                let stop = routine.stop(routine.find_step(id)?)?;
                Some(format!("“{}”", heading(routine, stop)))
            };
            routine.and_then(titled).unwrap_or_else(|| id.to_owned())
        };
        let happened = |list: &[Happened]| -> Vec<String> {
            list.iter()
                .map(|one| match (one.step.as_str(), one.what.as_str()) {
                    (at, "") => step(at),
                    ("", what) => what.to_owned(),
                    (at, what) => format!("{} ({what})", step(at)),
                })
                .collect()
        };
        if !one.strays.is_empty() {
            parts.push(format!("not offered: {}", happened(&one.strays).join(", ")));
        }
        parts.push(if one.slips.is_empty() {
            "clean".to_owned()
        } else {
            format!("went wrong: {}", happened(&one.slips).join(", "))
        });
        let lead = if show.performed.len() > 1 {
            format!("{}: ", titled(&one.routine))
        } else {
            String::new()
        };
        paragraph(out, "            ", &format!("{lead}{}.", parts.join("; ")))?;
    }
    for line in show.note.lines().filter(|line| !line.trim().is_empty()) {
        paragraph(out, "            ", &format!("“{}”", line.trim()))?;
    }
    Ok(())
}

fn as_json(kept: &KeptShow) -> Value {
    let happened = |list: &[Happened]| -> Vec<Value> {
        list.iter()
            .map(|one| json!({"step": one.step, "what": one.what}))
            .collect()
    };
    let performed: Vec<Value> = kept
        .show
        .performed
        .iter()
        .map(|one| {
            json!({
                "routine": one.routine,
                "choices": one.choices,
                "steps": one.steps,
                "strays": happened(&one.strays),
                "slips": happened(&one.slips),
            })
        })
        .collect();
    json!({
        "id": kept.id,
        "date": kept.show.date.to_string(),
        "place": kept.show.place,
        "note": kept.show.note,
        "performed": performed,
    })
}
