//! A performance as the logbook keeps it, from what was told of it.

use crate::command::coaching;
use crate::command::failure::Failure;
use crate::command::plan::kept::{Kept, kept, next_of};
use crate::logbook::{Happened, Logbook, Performance, Show};
use crate::roads::{Choices, choice_label, domain, replay};
use crate::routine::{ForkKind, Routine, StepId};
use crate::screen::ToldShow;
use chrono::{DateTime, FixedOffset};
use std::collections::BTreeSet;

/// So many roads that fit what was told are walked, to find the steps that all of them go by.
const ROADS: u64 = 48;

/// The performance of a routine. The choices are written as roads write them; kept with it are the steps that were done for
/// certain: those that every road with these choices goes by.
pub(super) fn performance(
    name: &str,
    routine: &Routine,
    choose: &[String],
    strays: Vec<Happened>,
    slips: Vec<Happened>,
) -> Result<Performance, Failure> {
    let choices = Choices::read(routine, choose.iter().map(String::as_str))
        .map_err(|fault| Failure::Wrong(fault.to_string()))?;
    let mut certain: Option<BTreeSet<StepId>> = None;
    let mut labels: Vec<String> = Vec::new();
    let mut refused = None;
    for seed in 0..ROADS {
        // On some roads what was chosen may not have been on offer: then it was none of them.
        let road = match replay(routine, seed, &choices) {
            Ok(road) => road,
            Err(fault) => {
                refused = Some(fault);
                continue;
            }
        };
        let mut here = BTreeSet::new();
        for walked in &road.walked {
            let Some(stop) = routine.stop(walked.stop) else {
                continue;
            };
            here.insert(stop.id.clone());
            let given = stop.fork.as_ref().is_some_and(|fork| {
                let again = matches!(fork.kind, ForkKind::Again { .. });
                choices.at(fork.name, walked.visit, again).is_some()
            });
            // Where there was nothing to choose, nothing was chosen.
            let open = domain(routine, &walked.before)?.is_some_and(|open| open.count() > 1);
            if given
                && open
                && let Some(label) = choice_label(routine, walked)
                && !labels.contains(&label)
            {
                labels.push(label);
            }
        }
        certain = Some(match certain {
            None => here,
            Some(before) => before.intersection(&here).cloned().collect(),
        });
    }
    let Some(certain) = certain else {
        let why = refused.map_or_else(String::new, |fault| format!(" ({fault})"));
        return Err(Failure::Wrong(format!(
            "no road has all these choices{why}\n  Leave out what you are not sure of."
        )));
    };
    let order = |id: &StepId| routine.find_step(&id.0);
    let mut steps: Vec<StepId> = certain.into_iter().collect();
    steps.sort_by_key(order);
    Ok(Performance {
        routine: name.to_owned(),
        choices: labels,
        steps: steps.iter().map(ToString::to_string).collect(),
        strays,
        slips,
    })
}

/// Keeps a show, and takes it into what the coach knows. Gives its name, and what to say of it.
pub(super) fn keep(
    logbook: &mut Logbook,
    show: &Show,
    now: DateTime<FixedOffset>,
) -> Result<(String, String), Failure> {
    let id = logbook.add_show(show)?;
    for one in &show.performed {
        // Worked out once now, not when the foyer opens.
        coaching::after_session(logbook, &one.routine)?;
    }
    let slips: usize = show.performed.iter().map(|one| one.slips.len()).sum();
    let mut words = match slips {
        0 => "Kept. A clean run counts for every step of it.".to_owned(),
        1 => "Kept. What went wrong comes back first when you rehearse.".to_owned(),
        _ => "Kept. What went wrong comes back first when you rehearse, all of it.".to_owned(),
    };
    // What comes next for what was performed, or else at all.
    let plans = kept(logbook)?;
    let performed = |plan: &Kept| show.performed.iter().any(|one| plan.holds(&one.routine));
    let today = now.date_naive();
    if let Some(next) = next_of(&plans, today, performed)
        .or_else(|| next_of(&plans, today, |_| true))
        .map(|plan| plan.next(&plans, logbook, now))
        .transpose()?
        .flatten()
    {
        words.push_str(&format!(" Next: {next}."));
    }
    Ok((id, words))
}

/// Keeps what was told of one performance.
pub(in crate::command) fn keep_told(
    logbook: &mut Logbook,
    routine: &Routine,
    told: &ToldShow,
    now: DateTime<FixedOffset>,
) -> Result<String, Failure> {
    let performed = performance(
        &told.routine,
        routine,
        &told.choices,
        told.strays.clone(),
        told.slips.clone(),
    )?;
    let show = Show {
        date: told.date,
        place: told.place.clone(),
        note: told.note.clone(),
        performed: vec![performed],
        at: now,
    };
    keep(logbook, &show, now).map(|(_, words)| words)
}
