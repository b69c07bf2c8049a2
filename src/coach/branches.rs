//! Branches that were never practised: of each fork whose choice the performer learns of, what no road so far went by.

use crate::drill::heading;
use crate::roads::{Walked, choice_label, domain, sample};
use crate::routine::{Fault, Routine, Seen, StepId, StopIndex};
use std::collections::{BTreeMap, BTreeSet};

/// A fork with more branches is one of so many that practising each is no aim.
pub const MOST_BRANCHES: usize = 60;

/// A branch with a longer name (an interleaving, chunks) is one of so many too; such are not remembered.
pub const LONGEST_BRANCH: usize = 32;

/// Where what can be chosen hangs on earlier choices, it is gathered from so many random roads.
const ROADS: u64 = 8;

/// A fork with branches never practised.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Untried {
    /// The step.
    pub step: StepId,
    /// What is chosen there, in words.
    pub about: String,
    /// How many branches there are.
    pub of: usize,
    /// Those never practised, as `--choose` takes their values, in the fork's order.
    pub open: Vec<String>,
}

/// The forks with branches that are not among those practised (as `--choose` takes them for a first visit), in the order of the
/// steps. Forks of which the performer learns nothing are left out: there one branch is like another.
///
/// # Errors
/// When a road cannot be walked.
pub fn untried(routine: &Routine, practised: &BTreeSet<String>) -> Result<Vec<Untried>, Fault> {
    // By stop: the branches in the order in which they were met, or `None` for too many.
    let mut met: BTreeMap<StopIndex, Option<Vec<String>>> = BTreeMap::new();
    for seed in 0..ROADS {
        for walked in sample(routine, seed)?.walked {
            if walked.visit == 1 && learns(routine, walked.stop) {
                gather(
                    routine,
                    &walked,
                    met.entry(walked.stop).or_insert(Some(Vec::new())),
                )?;
            }
        }
    }
    Ok(met
        .into_iter()
        .filter_map(|(at, labels)| {
            let (stop, labels) = (routine.stop(at)?, labels?);
            let open: Vec<String> = labels
                .iter()
                .filter(|label| !practised.contains(*label))
                .filter_map(|label| Some(label.split_once('=')?.1.to_owned()))
                .collect();
            let about = stop
                .fork
                .as_ref()
                .and_then(|fork| routine.names.get(fork.name.index())?.about.clone())
                .unwrap_or_else(|| heading(routine, stop));
            (!open.is_empty()).then(|| Untried {
                step: stop.id.clone(),
                about,
                of: labels.len(),
                open,
            })
        })
        .collect())
}

fn learns(routine: &Routine, at: StopIndex) -> bool {
    routine
        .stop(at)
        .and_then(|stop| stop.fork.as_ref())
        .is_some_and(|fork| fork.seen != Seen::Nothing)
}

fn gather(
    routine: &Routine,
    walked: &Walked,
    labels: &mut Option<Vec<String>>,
) -> Result<(), Fault> {
    let (Some(open), Some(known)) = (domain(routine, &walked.before)?, labels.as_mut()) else {
        return Ok(());
    };
    if open.count() > MOST_BRANCHES as u128 {
        *labels = None;
        return Ok(());
    }
    let weights = open.open_weights();
    for (n, value) in open.branches().enumerate() {
        // What nobody ever chooses need not be practised.
        let never = weights
            .as_ref()
            .is_some_and(|weights| weights.get(n) == Some(&0));
        let branch = Walked {
            choice: Some((open.name(), value)),
            ..walked.clone()
        };
        if let Some(label) = choice_label(routine, &branch)
            && !never
            && label.len() <= LONGEST_BRANCH
            && !known.contains(&label)
        {
            known.push(label);
        }
    }
    if known.len() > MOST_BRANCHES {
        *labels = None;
    }
    Ok(())
}
