//! `shows add`.

use super::performed::{keep, performance};
use crate::command::failure::{Failure, Outcome};
use crate::command::machine::Machine;
use crate::command::pages::paragraph;
use crate::command::plan::day_named;
use crate::command::rehearse::no_step;
use crate::command::source::{Source, shown};
use crate::logbook::{Happened, Show};
use crate::roads::choice_name;
use crate::routine::Routine;
use crate::screen::{AfterShow, ToldShow};
use chrono::NaiveDate;
use clap::Args;
use serde_json::json;
use std::io::{self, BufRead, Write};
use std::sync::Arc;

/// What happened. With several routines, a choice, stray or slip may name the one it belongs to, as
/// ROUTINE:NAME=VALUE.
#[derive(Debug, Args)]
pub struct AddArgs {
    /// The routines that were performed, in their order: names, or paths
    #[arg(value_name = "ROUTINE", required = true)]
    pub routines: Vec<String>,
    /// The day, if not today: 2031-05-01
    #[arg(long, value_name = "DATE", value_parser = day_named)]
    pub date: Option<NaiveDate>,
    /// Where
    #[arg(long, value_name = "WORDS")]
    pub place: Option<String>,
    /// What the spectators chose, as `walk --choose` takes it; may be given several times
    #[arg(long, value_name = "NAME=VALUE")]
    pub choose: Vec<String>,
    /// What a spectator did that you had not offered, and at which step: coach=cuts twice; may be given several times
    #[arg(long, value_name = "STEP=WORDS")]
    pub stray: Vec<String>,
    /// The step at which something went wrong, and what: elbows=dropped three; may be given several times
    #[arg(long, value_name = "STEP[=WORDS]")]
    pub slip: Vec<String>,
    /// In your own words
    #[arg(long, value_name = "WORDS")]
    pub note: Option<String>,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}

/// A routine that was performed.
struct Act {
    name: String,
    routine: Arc<Routine>,
}

/// Adds it.
pub(super) fn run(
    args: &AddArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let now = machine.now();
    let today = now.date_naive();
    let mut acts: Vec<Act> = Vec::new();
    for named in &args.routines {
        let source = Source::find(named)?;
        if acts.iter().any(|act| act.name == source.name) {
            return Err(Failure::Wrong(format!(
                "{} is named twice\n  Name each routine of the show once.",
                shown(named)
            )));
        }
        acts.push(Act {
            routine: Arc::new(source.load(0)?),
            name: source.name,
        });
    }
    let nothing_said = args.date.is_none()
        && args.place.is_none()
        && args.note.is_none()
        && args.choose.is_empty()
        && args.stray.is_empty()
        && args.slip.is_empty();
    let show = if nothing_said && machine.terminal && !args.json {
        match asked(&acts, today, out)? {
            Some(told) => shown_as(&acts, &told, now)?,
            None => {
                writeln!(out, "Nothing was kept.")?;
                return Ok(Outcome::Done);
            }
        }
    } else {
        by_flags(args, &acts, now)?
    };
    let mut logbook = machine.logbook()?;
    let (id, words) = keep(&mut logbook, &show, now)?;
    if args.json {
        let line = json!({"id": id, "date": show.date.to_string()});
        writeln!(out, "{line}")?;
    } else {
        paragraph(out, "", &words)?;
    }
    Ok(Outcome::Done)
}

/// Asks about each routine in turn; none when the input ends before the end.
fn asked(
    acts: &[Act],
    today: NaiveDate,
    out: &mut dyn Write,
) -> Result<Option<Vec<ToldShow>>, Failure> {
    let stdin = io::stdin();
    let mut input = stdin.lock();
    let mut all: Vec<ToldShow> = Vec::new();
    for act in acts {
        writeln!(out)?;
        paragraph(out, "", &act.routine.title)?;
        let mut after = AfterShow::new(&act.name, Arc::clone(&act.routine), today);
        if let Some(first) = all.first() {
            // The evening is the same one.
            after.same_evening(first);
        }
        while after.done().is_none() {
            let (question, lines, how) = after.question();
            writeln!(out)?;
            paragraph(out, "", &question)?;
            for line in lines {
                paragraph(out, "    ", &line)?;
            }
            paragraph(out, "", &format!("({how})"))?;
            loop {
                write!(out, "> ")?;
                out.flush()?;
                let mut line = Vec::new();
                if input.read_until(b'\n', &mut line)? == 0 {
                    writeln!(out)?;
                    return Ok(None);
                }
                match after.answer(&shown(String::from_utf8_lossy(&line).trim())) {
                    Ok(()) => break,
                    Err(instead) => paragraph(out, "", &instead)?,
                }
            }
        }
        all.extend(after.done().cloned());
    }
    Ok(Some(all))
}

fn shown_as(
    acts: &[Act],
    told: &[ToldShow],
    now: chrono::DateTime<chrono::FixedOffset>,
) -> Result<Show, Failure> {
    let mut performed = Vec::new();
    for (act, told) in acts.iter().zip(told) {
        performed.push(performance(
            &act.name,
            &act.routine,
            &told.choices,
            told.strays.clone(),
            told.slips.clone(),
        )?);
    }
    let notes: Vec<&str> = told
        .iter()
        .map(|one| one.note.as_str())
        .filter(|note| !note.is_empty())
        .collect();
    let first = told.first();
    Ok(Show {
        date: first.map_or(now.date_naive(), |one| one.date),
        place: first.map_or_else(String::new, |one| one.place.clone()),
        note: notes.join("\n"),
        performed,
        at: now,
    })
}

fn by_flags(
    args: &AddArgs,
    acts: &[Act],
    now: chrono::DateTime<chrono::FixedOffset>,
) -> Result<Show, Failure> {
    let today = now.date_naive();
    let date = args.date.unwrap_or(today);
    if date > today {
        return Err(Failure::Wrong(format!(
            "{date} is still to come; today is {today}\n  Plan for it with `allroads plan ROUTINE --show {date}`."
        )));
    }
    let mut choices = vec![Vec::new(); acts.len()];
    for text in &args.choose {
        let (n, text) = whose(acts, text, |routine, text| {
            let fork = routine.find_name(choice_name(text));
            let chosen = |stop: &crate::routine::Stop| stop.fork.as_ref().map(|fork| fork.name);
            fork.is_some() && routine.stops.iter().any(|stop| chosen(stop) == fork)
        })?;
        choices[n].push(text.to_owned());
    }
    let at_step = |given: &[String]| -> Result<Vec<Vec<Happened>>, Failure> {
        let mut all = vec![Vec::new(); acts.len()];
        for text in given {
            let step = |text: &str| text.split('=').next().unwrap_or_default().trim().to_owned();
            let (n, text) = whose(acts, text, |routine, text| {
                routine.find_step(&step(text)).is_some()
            })?;
            let step = step(text);
            if acts[n].routine.find_step(&step).is_none() {
                return Err(no_step(&acts[n].routine.stops, &step));
            }
            let what = text.split_once('=').map_or("", |(_, what)| what.trim());
            all[n].push(Happened {
                step,
                what: what.to_owned(),
            });
        }
        Ok(all)
    };
    let mut strays = at_step(&args.stray)?;
    let mut slips = at_step(&args.slip)?;
    if let Some(bare) = strays.iter().flatten().find(|stray| stray.what.is_empty()) {
        return Err(Failure::Wrong(format!(
            "what did they do at {}?\n  Say it as --stray '{}=cuts twice'.",
            bare.step, bare.step
        )));
    }
    let mut performed = Vec::new();
    for (n, act) in acts.iter().enumerate() {
        performed.push(performance(
            &act.name,
            &act.routine,
            &choices[n],
            std::mem::take(&mut strays[n]),
            std::mem::take(&mut slips[n]),
        )?);
    }
    Ok(Show {
        date,
        place: args.place.clone().unwrap_or_default(),
        note: args.note.clone().unwrap_or_default(),
        performed,
        at: now,
    })
}

/// To which routine something belongs: the one named before a colon, or the only one that knows of it. Where none does it is given to
/// the first, which will say what it knows.
fn whose<'t>(
    acts: &[Act],
    text: &'t str,
    knows: impl Fn(&Routine, &str) -> bool,
) -> Result<(usize, &'t str), Failure> {
    if let Some((name, rest)) = text.split_once(':')
        && let Some(n) = acts.iter().position(|act| act.name == name)
    {
        return Ok((n, rest));
    }
    let known: Vec<usize> = (0..acts.len())
        .filter(|n| knows(&acts[*n].routine, text))
        .collect();
    match known.as_slice() {
        [] => Ok((0, text)),
        [one] => Ok((*one, text)),
        [one, ..] => Err(Failure::Wrong(format!(
            "{} could belong to several routines of the show\n  Say which: {}:{}",
            shown(text),
            acts[*one].name,
            shown(text)
        ))),
    }
}
