//! `find`: the set-ups that work.
//!
//! Exit codes: 0 the list is complete and not empty; 1 it is complete and empty; 3 a budget ran out, or somebody stopped it.

mod json;
mod signs;
mod text;

use super::failure::{Failure, Outcome};
use super::lasting::budget::{Amount, Budget, amount};
use super::lasting::numbers::{seconds, thousands};
use super::lasting::{Cut, Done, once, road};
use super::machine::Machine;
use super::source::{Source, shown};
use crate::cards::{Class, TraitId, nearest};
use crate::proof::Limits;
use crate::proof::find::{
    Alike, Canvas, Group, Moves, Pattern, Survivors, Tally, Unfit, Unsteady, Wish, group, search,
    survivors,
};
use crate::routine::{Routine, StopIndex};
use clap::{Args, ValueEnum};
use num_bigint::BigUint;
use std::collections::BTreeSet;
use std::io::{self, Write};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// For which routine, and which patterns.
#[derive(Debug, Args)]
pub struct FindArgs {
    /// The routine: a name, or a path
    pub routine: String,
    /// Classes of this trait (colour, suit …); unless given, the one that the claims look at
    #[arg(long = "trait", value_name = "TRAIT")]
    pub by: Option<String>,
    /// Which classes, two to four (red,black), or how many of the trait's
    #[arg(long, value_name = "CLASSES", value_delimiter = ',')]
    pub classes: Vec<String>,
    /// How many cards of each class, in their order; _ for as many as it takes (5,5 or 3,_)
    #[arg(long, value_name = "N,N", value_delimiter = ',', value_parser = count)]
    pub counts: Vec<Wanted>,
    /// So many cards instead of those of the file
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=208))]
    pub cards: Option<u16>,
    /// Only the cards of this pile; the others stay as the file has them
    #[arg(long, value_name = "PILE")]
    pub pile: Option<String>,
    /// Find patterns that the moves leave unchanged, done any number of times in any order; claims do not matter
    #[arg(long)]
    pub survives: bool,
    /// Unchanged up to these
    #[arg(
        long,
        value_name = "WHAT",
        value_delimiter = ',',
        requires = "survives"
    )]
    pub up_to: Vec<UpTo>,
    /// Which steps are the moves, by their ids; a+b is one move of two steps. Unless given, all that bring the packet back
    #[arg(
        long,
        value_name = "STEPS",
        value_delimiter = ',',
        requires = "survives"
    )]
    pub steps: Vec<String>,
    /// Tell every pattern, also those that differ only by an exchange of classes or by being read from the bottom
    #[arg(long)]
    pub all: bool,
    /// Stop after so many patterns
    #[arg(long, value_name = "N", default_value_t = 20_000)]
    pub most: usize,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
    /// How far to go: a time, memory (60s,2GiB)
    #[arg(long, value_name = "TIME,MEMORY", value_delimiter = ',', value_parser = amount)]
    pub budget: Vec<Amount>,
}

/// How many cards of a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted(Option<usize>);

/// What a pattern may differ by and still be unchanged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UpTo {
    /// Read from the bottom
    Reversal,
    /// Cut
    Rotation,
    /// Classes exchanged
    Swap,
}

/// Why a count was not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\u{201c}{0}\u{201d} is no count; write a number, or _ for as many as it takes")]
pub struct NoCount(String);

fn count(text: &str) -> Result<Wanted, NoCount> {
    match text.trim() {
        "_" | "" => Ok(Wanted(None)),
        number => match number.parse() {
            Ok(count) if count <= 208 => Ok(Wanted(Some(count))),
            Ok(_) | Err(_) => Err(NoCount(shown(text))),
        },
    }
}

/// What was found, and how.
struct Report<'a> {
    source: &'a Source,
    canvas: &'a Canvas,
    found: Found,
    /// All patterns that were looked for.
    of: BigUint,
    /// Told as one.
    groups: Vec<Group>,
    /// Whether all are told one by one.
    all: bool,
    seconds: f64,
    cut: Option<Cut>,
    budget: Budget,
}

/// What was found.
struct Found {
    patterns: BTreeSet<Pattern>,
    undecided: usize,
    complete: bool,
    /// How many there are, where they are too many to list.
    count: Option<BigUint>,
    how: How,
}

/// How it was found.
enum How {
    /// By proving.
    Proved(Tally),
    /// By following moves.
    Moved {
        moves: Moves,
        orbits: Vec<Vec<usize>>,
        up_to: Alike,
    },
}

/// Finds them.
pub(super) fn run(
    args: &FindArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let source = Source::find(&args.routine)?;
    let routine = source.load(0)?;
    let canvas = Canvas::new(&routine, &wish(args, &routine)?)
        .map_err(|unfit| Failure::Wrong(advised(&unfit)))?;
    if !canvas.matters && !args.survives {
        return Err(Failure::Wrong(
            "nothing that this routine does or claims looks at what is on the cards, so any pattern does as well as any other\n  `allroads prove` says whether it works; --survives asks which patterns its moves leave unchanged."
                .to_owned(),
        ));
    }
    let budget = Budget::of(&args.budget);
    let Done { got, took, cut } = if args.survives {
        follow(args, &routine, &canvas, budget, machine)?
    } else {
        seek(args, &canvas, budget, machine)?
    };
    let alike = match &got.how {
        How::Proved(_) => Alike {
            swap: true,
            reversal: true,
            rotation: false,
        },
        How::Moved { up_to, .. } => Alike {
            swap: true,
            reversal: true,
            rotation: up_to.rotation,
        },
    };
    let alike = if args.all { Alike::default() } else { alike };
    let report = Report {
        source: &source,
        canvas: &canvas,
        of: canvas.patterns(),
        groups: group(&got.patterns, canvas.classes(), alike),
        all: args.all,
        seconds: took.as_secs_f64(),
        cut: if got.complete { None } else { cut },
        found: got,
        budget,
    };
    if args.json {
        serde_json::to_writer(&mut *out, &json::FindJson::of(&report)).map_err(io::Error::from)?;
        writeln!(out)?;
    } else {
        text::tell(out, &report)?;
    }
    Ok(
        match (report.found.complete, report.found.patterns.is_empty()) {
            (false, _) => Outcome::Unfinished,
            (true, true) => Outcome::Found,
            (true, false) => Outcome::Done,
        },
    )
}

/// Seeks patterns with which it is sure-fire.
fn seek(
    args: &FindArgs,
    canvas: &Canvas,
    budget: Budget,
    machine: &Machine,
) -> Result<Done<Found>, Failure> {
    let (found, refuted) = (AtomicU64::new(0), AtomicU64::new(0));
    let line = |passed: Duration| {
        let part = passed.as_secs_f64() / budget.time.as_secs_f64().max(0.001);
        format!(
            "{} {} of at most {}, {} found, {} roads that fail",
            road(part),
            seconds(passed.as_secs_f64()),
            seconds(budget.time.as_secs_f64()),
            thousands(found.load(Ordering::Relaxed)),
            thousands(refuted.load(Ordering::Relaxed)),
        )
    };
    let done = once(budget, machine.theme(), line, |stop| {
        let limits = Limits {
            bytes: usize::try_from(budget.bytes).unwrap_or(usize::MAX),
            stop,
            progress: &|_| {},
        };
        search(canvas, args.most, &limits, &|tally| {
            found.store(tally.found, Ordering::Relaxed);
            refuted.store(tally.refuted, Ordering::Relaxed);
        })
    })?;
    let sought = done
        .got
        .map_err(|unfit| Failure::Wrong(unfit.to_string()))?;
    Ok(Done {
        got: Found {
            patterns: sought.patterns,
            undecided: sought.undecided.len(),
            complete: sought.complete,
            count: None,
            how: How::Proved(sought.tally),
        },
        took: done.took,
        cut: done.cut,
    })
}

/// Seeks patterns that moves leave unchanged.
fn follow(
    args: &FindArgs,
    routine: &Routine,
    canvas: &Canvas,
    budget: Budget,
    machine: &Machine,
) -> Result<Done<Found>, Failure> {
    let parts = parts(args, routine)?;
    let up_to = Alike {
        swap: args.up_to.contains(&UpTo::Swap),
        reversal: args.up_to.contains(&UpTo::Reversal),
        rotation: args.up_to.contains(&UpTo::Rotation),
    };
    let line = |passed: Duration| {
        let part = passed.as_secs_f64() / budget.time.as_secs_f64().max(0.001);
        format!(
            "{} {} of at most {}",
            road(part),
            seconds(passed.as_secs_f64()),
            seconds(budget.time.as_secs_f64())
        )
    };
    let done = once(budget, machine.theme(), line, |stop| {
        let moves = if parts.is_empty() {
            Moves::of(canvas, stop)
        } else {
            Moves::named(canvas, &parts, stop)
        };
        match moves {
            Ok(moves) => {
                let survivors = survivors(canvas, &moves, up_to, args.most, stop);
                Ok((moves, survivors))
            }
            // Nothing is known yet.
            Err(Unsteady::Stopped) => Ok((Moves::default(), Survivors::default())),
            Err(unsteady) => Err(unsteady),
        }
    })?;
    let (moves, survivors) = done.got.map_err(|unsteady| {
        Failure::Wrong(format!(
            "{unsteady}\n  Steps can be named: --steps one,other+then."
        ))
    })?;
    Ok(Done {
        got: Found {
            patterns: survivors.patterns,
            undecided: 0,
            complete: survivors.complete,
            count: survivors.count,
            how: How::Moved {
                moves,
                orbits: survivors.orbits,
                up_to,
            },
        },
        took: done.took,
        cut: done.cut,
    })
}

/// What is wished for, by the words of the command line.
fn wish(args: &FindArgs, routine: &Routine) -> Result<Wish, Failure> {
    let pack = &routine.pack;
    let class = match &args.by {
        None => None,
        Some(name) => Some(pack.find_trait(name).ok_or_else(|| {
            let names: Vec<&str> = pack.traits().iter().map(|t| t.name.as_str()).collect();
            unknown("trait", name, &names)
        })?),
    };
    let (class, classes) = classes(args, routine, class)?;
    let pile = match &args.pile {
        None => None,
        Some(name) => Some(routine.find_pile(name).ok_or_else(|| {
            let names: Vec<&str> = routine.piles.iter().map(String::as_str).collect();
            unknown("pile", name, &names)
        })?),
    };
    Ok(Wish {
        class,
        classes,
        counts: args.counts.iter().map(|wanted| wanted.0).collect(),
        cards: args.cards.map(usize::from),
        pile,
        moves_only: args.survives,
    })
}

/// The classes named, and the trait that they are of where none is named.
fn classes(
    args: &FindArgs,
    routine: &Routine,
    class: Option<TraitId>,
) -> Result<(Option<TraitId>, Vec<Class>), Failure> {
    let pack = &routine.pack;
    if let [one] = args.classes.as_slice()
        && let Ok(count) = one.parse::<u8>()
    {
        let Some(id) = class else {
            return Err(Failure::Wrong(
                "say of which trait so many classes are meant: --trait suit --classes 4".to_owned(),
            ));
        };
        return Ok((Some(id), (0..count).map(Class).collect()));
    }
    let mut of = class;
    let mut found = Vec::new();
    for label in &args.classes {
        let named = match of {
            Some(id) => format!("{}={label}", pack.trait_name(id)),
            None => label.clone(),
        };
        let Some((id, class)) = pack.find_class(&named) else {
            let labels: Vec<&str> = match of {
                Some(id) => pack.traits()[id.index()]
                    .labels
                    .iter()
                    .map(String::as_str)
                    .collect(),
                None => Vec::new(),
            };
            return Err(unknown("class", label, &labels));
        };
        of = Some(id);
        if found.contains(&class) {
            return Err(Failure::Wrong(format!("{} is given twice", shown(label))));
        }
        found.push(class);
    }
    Ok((of, found))
}

/// The steps of each move.
fn parts(args: &FindArgs, routine: &Routine) -> Result<Vec<Vec<StopIndex>>, Failure> {
    let step = |id: &str| {
        routine.find_step(id.trim()).ok_or_else(|| {
            let ids: Vec<&str> = routine.stops.iter().map(|stop| &*stop.id.0).collect();
            unknown("step", id, &ids)
        })
    };
    args.steps
        .iter()
        .map(|part| part.split('+').map(step).collect())
        .collect()
}

pub(in crate::command) fn unknown(what: &str, named: &str, known: &[&str]) -> Failure {
    let mut told = format!("there is no {what} {}", shown(named));
    if let Some(near) = nearest(named, known.iter().copied()) {
        told.push_str(&format!("\n  Did you mean {near}?"));
    } else if !known.is_empty() && known.len() <= 20 {
        told.push_str(&format!("\n  There are {}.", known.join(", ")));
    }
    Failure::Wrong(told)
}

/// What is unfit, with what would help.
fn advised(unfit: &Unfit) -> String {
    let advice = match unfit {
        Unfit::Shuffled | Unfit::NoCards => "",
        Unfit::WhichPile(_) => "\n  --pile names it.",
        Unfit::AsksMore(_) => {
            "\n  --survives asks only what its moves leave unchanged; or change these in a copy of the file."
        }
        Unfit::OtherTraits { .. } => "\n  --trait names another.",
        Unfit::Classes { .. } => "\n  --classes names them.",
        Unfit::NoSuchCard(_) => "\n  --classes names others.",
        Unfit::Counts { .. } => {
            "\n  --counts takes one number for each class, and they must add up; a pack has only so many cards of each."
        }
    };
    format!("{unfit}{advice}")
}
