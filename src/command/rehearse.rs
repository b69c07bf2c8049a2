//! `rehearse`: the drills, on the screen or line by line.

use super::failure::{Failure, Outcome};
use super::keeper::{Diary, drill};
use super::machine::Machine;
use super::source::Source;
use crate::drill::{Drill, Spoken};
use crate::routine::{Millis, Routine, StepId};
use crate::screen::{
    Keeper, Leave, Lines, Proven, ScreenFault, Shelved, Terms, plain, run_rehearsal,
};
use clap::Args;
use std::io::{self, Write};
use std::sync::Arc;
use std::time::Instant;

/// What to rehearse, and how long.
#[derive(Debug, Args)]
pub struct RehearseArgs {
    /// The routine: a name, or a path; of several, the questions come one road of one of them at a time
    #[arg(value_name = "ROUTINE", required_unless_present = "planned")]
    pub routines: Vec<String>,
    /// All routines of the next show that is planned, for the minutes of one day of the plan
    #[arg(long, conflicts_with = "routines")]
    pub planned: bool,
    /// Only this drill: picture, order, reckon and lines are questions, and may be mixed by naming several; hands (real
    /// cards), lines alone (said aloud), dress (the whole routine, no help) and rescue (when it goes wrong) are spoken
    #[arg(long, value_name = "DRILL", value_parser = drill)]
    pub drill: Vec<Drill>,
    /// Stop after so many minutes (10, unless --questions is given)
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..))]
    pub minutes: Option<u32>,
    /// Stop after so many questions
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..))]
    pub questions: Option<u32>,
    /// The seed of the first road; the same seed asks the same questions
    #[arg(long)]
    pub seed: Option<u64>,
    /// Which draw of the set-up
    #[arg(long, default_value_t = 0)]
    pub setup: u64,
    /// Begin at this step, by its id
    #[arg(long, value_name = "STEP")]
    pub from: Option<String>,
    /// In a routine for two: the part you rehearse, as its steps name it under `by`
    #[arg(long = "as", value_name = "NAME")]
    pub part: Option<String>,
    /// Line by line, for pipes and screen readers
    #[arg(long)]
    pub plain: bool,
    /// Without sound; everything is shown anyway
    #[arg(long)]
    pub mute: bool,
}

/// Rehearses.
pub(super) fn run(
    args: &RehearseArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let mut diary = Diary::open(machine)?;
    let (sources, by_plan) = if args.planned {
        let (sources, minutes) = diary.of_next_show()?;
        (sources, Some(minutes))
    } else {
        let sources = args.routines.iter().map(|named| Source::find(named));
        (sources.collect::<Result<Vec<_>, _>>()?, None)
    };
    let routines = loaded(&sources, args)?;
    let terms = Terms {
        drills: args.drill.clone(),
        questions: args.questions,
        minutes: args
            .minutes
            .or(by_plan.filter(|_| args.questions.is_none())),
        seed: args.seed.unwrap_or_else(|| machine.seed()),
        from: args.from.as_deref().map(|step| StepId(step.into())),
    };
    if routines.len() > 1 {
        goes_with_several(args, &terms)?;
    }
    // A seed asks the same questions each time, whatever was answered before.
    if args.seed.is_some() {
        diary.without_coach();
    }
    let sound = if args.mute {
        None
    } else {
        Some(machine.voice_settings()?)
    };
    let mut shelf: Vec<Shelved> = sources
        .into_iter()
        .zip(routines)
        .map(|(source, routine)| Shelved {
            proven: Proven::NotYet,
            standing: diary.standing(&source.name).unwrap_or_default(),
            name: source.name,
            routine: Arc::new(routine),
        })
        .collect();
    diary.coach(&mut shelf);
    if args.plain || !machine.terminal {
        for shelved in &mut shelf {
            shelved.proven = diary.proven(&shelved.routine);
        }
        let began = Instant::now();
        let mut clock = || Millis(u64::try_from(began.elapsed().as_millis()).unwrap_or(u64::MAX));
        let mut lines = Lines {
            input: &mut io::stdin().lock(),
            output: out,
            clock: &mut clock,
        };
        plain(&shelf, &terms, &mut diary, &mut lines, sound)?;
        return diary.closed(Outcome::Done);
    }
    diary.prove_meanwhile(&mut shelf);
    let left = run_rehearsal(machine.theme(), shelf, &terms, &mut diary, sound)?;
    diary.closed(left.into())
}

/// The routines, each named once, with the step to begin from in them.
fn loaded(sources: &[Source], args: &RehearseArgs) -> Result<Vec<Routine>, Failure> {
    let mut routines = Vec::new();
    for (n, source) in sources.iter().enumerate() {
        if sources[..n].iter().any(|before| before.name == source.name) {
            return Err(Failure::Wrong(format!(
                "{} is named twice\n  Name each routine once.",
                super::source::shown(&source.origin)
            )));
        }
        let routine = in_part(source.load(args.setup)?, args.part.as_deref())?;
        if let Some(step) = &args.from
            && routine.find_step(step).is_none()
        {
            return Err(no_step(&routine.stops, step));
        }
        routines.push(routine);
    }
    Ok(routines)
}

/// Whether several routines can be rehearsed on these terms: only where nothing has to be laid, said or begun in one of them.
fn goes_with_several(args: &RehearseArgs, terms: &Terms) -> Result<(), Failure> {
    let wrong = |what: &str, help: &str| {
        Err(Failure::Wrong(format!(
            "{what} takes one routine at a time\n  {help}"
        )))
    };
    if let Some(drill) = Spoken::drill(&terms.plan()) {
        return wrong(
            &format!("--drill {}", drill.word()),
            "With several routines, questions are asked: picture, order, reckon, and lines beside one of them.",
        );
    }
    if args.from.is_some() {
        return wrong("--from", "Its step belongs to one routine.");
    }
    if args.part.is_some() {
        return wrong("--as", "Its part belongs to one routine.");
    }
    Ok(())
}

/// The routine in a part of it.
fn in_part(routine: Routine, part: Option<&str>) -> Result<Routine, Failure> {
    let Some(part) = part else {
        return Ok(routine);
    };
    if let Some(own) = routine.in_part(part) {
        return Ok(own);
    }
    let known = routine.performers();
    Err(Failure::Wrong(if known.is_empty() {
        "this routine is for one performer\n  Its steps would name the others: by: NAME. Leave out --as.".to_owned()
    } else {
        format!(
            "nobody in this routine is called {}\n  Its parts are {}.",
            super::source::shown(part),
            known.join(", ")
        )
    }))
}

/// No such step: the nearest, or all.
pub(super) fn no_step(stops: &[crate::routine::Stop], step: &str) -> Failure {
    let ids = || stops.iter().map(|stop| &*stop.id.0);
    let help = match crate::cards::nearest(step, ids()) {
        Some(near) => format!("Did you mean {near}?"),
        None => format!("Its steps are {}.", ids().collect::<Vec<_>>().join(", ")),
    };
    Failure::Wrong(format!(
        "the routine has no step called {}\n  {help}",
        super::source::shown(step)
    ))
}

impl From<Leave> for Outcome {
    fn from(left: Leave) -> Self {
        match left {
            Leave::Quit => Self::Done,
            Leave::Signal(number) => Self::Stopped(number),
        }
    }
}

impl From<ScreenFault> for Failure {
    fn from(fault: ScreenFault) -> Self {
        match fault {
            ScreenFault::Begin(words) => Self::Wrong(words),
            ScreenFault::Lines(cause) => Self::Output(cause),
            ScreenFault::Terminal(_) | ScreenFault::Signals(_) => Self::Machine(format!(
                "{fault}\n  `allroads rehearse ROUTINE --plain` needs no more than lines."
            )),
        }
    }
}
