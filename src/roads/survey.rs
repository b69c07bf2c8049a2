//! A survey: some roads walked to see whether a routine runs at all. Not a proof: it looks at the extreme roads and at random
//! ones, and reports what breaks, with the road.

use super::road::{Walked, choice_label, start, walk};
use super::{Draw, broken_claims};
use crate::routine::{Fault, Routine, StopIndex};
use std::collections::BTreeSet;

/// Something that goes wrong on a road.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// At which stop.
    pub stop: StopIndex,
    /// What.
    pub wrong: Wrong,
    /// The choices of the road up to there, as `walk --choose` takes them.
    pub choices: Vec<String>,
    /// The seed of the road.
    pub seed: u64,
}

/// What goes wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wrong {
    /// The step cannot be done.
    Stuck(Fault),
    /// A claim does not hold.
    Broken {
        /// Its words.
        claim: String,
        /// Its line in the file.
        line: u32,
    },
}

/// Which branch a surveyed road takes.
#[derive(Debug, Clone, Copy)]
enum Taste {
    First,
    Last,
    /// First and last by turns, beginning with the last where true.
    ByTurns(bool),
    Random,
}

/// Walks the roads that take the first branch everywhere, the last, both by turns, and so many random ones. Gives at most one
/// finding for each stop and each claim, in the order of the road.
#[must_use]
pub fn survey(routine: &Routine, random_roads: u64) -> Vec<Finding> {
    let mut found: Vec<Finding> = Vec::new();
    let mut told: BTreeSet<(StopIndex, u32)> = BTreeSet::new();
    let fixed = [
        Taste::First,
        Taste::Last,
        Taste::ByTurns(false),
        Taste::ByTurns(true),
    ];
    let tastes = fixed
        .into_iter()
        .map(|t| (t, 0))
        .chain((0..random_roads).map(|seed| (Taste::Random, seed)));
    for (taste, seed) in tastes {
        let mut turn = matches!(taste, Taste::ByTurns(true));
        let (walked, stuck) = walk(routine, start(routine, seed), |scene, visit, open| {
            let id = scene.stop().map_or("", |stop| &stop.id.0);
            let random = || open.sample(&mut Draw::for_step(seed, id, visit));
            turn = !turn;
            let picked = match taste {
                // Nobody goes round for ever: after the third time the choice is left to chance.
                _ if visit > 3 => None,
                Taste::First => open.first(),
                Taste::Last => open.last(),
                Taste::ByTurns(_) => {
                    if turn {
                        open.first()
                    } else {
                        open.last()
                    }
                }
                Taste::Random => None,
            };
            Ok(picked.unwrap_or_else(random))
        });
        for (n, step) in walked.iter().enumerate() {
            match broken_claims(routine, step) {
                Ok(broken) => {
                    for claim in broken {
                        if told.insert((step.stop, claim.line)) {
                            let wrong = Wrong::Broken {
                                claim: claim.words.clone(),
                                line: claim.line,
                            };
                            found.push(Finding {
                                stop: step.stop,
                                wrong,
                                choices: labels(routine, &walked[..=n]),
                                seed,
                            });
                        }
                    }
                }
                Err(fault) => {
                    if told.insert((step.stop, 0)) {
                        let choices = labels(routine, &walked[..=n]);
                        found.push(Finding {
                            stop: step.stop,
                            wrong: Wrong::Stuck(fault),
                            choices,
                            seed,
                        });
                    }
                }
            }
        }
        if let Some(stuck) = stuck
            && told.insert((stuck.stop, 0))
        {
            let mut choices = labels(routine, &walked);
            choices.extend(stuck.choice);
            found.push(Finding {
                stop: stuck.stop,
                wrong: Wrong::Stuck(stuck.fault),
                choices,
                seed,
            });
        }
    }
    found.sort_by_key(|f| f.stop);
    found
}

fn labels(routine: &Routine, walked: &[Walked]) -> Vec<String> {
    walked
        .iter()
        .filter_map(|w| choice_label(routine, w))
        .collect()
}
