//! Random roads: what can be said where not all roads can be gone.

use super::report::{Counterexample, Limits, Wrong};
use super::seek::Walk;
use crate::roads::{Road, broken_claims, replay, sample};
use crate::routine::{Routine, StopIndex};
use rustc_hash::FxHashMap;

/// What happened on some random roads.
#[derive(Debug, Default)]
pub(super) struct Trial {
    /// How many were walked.
    pub(super) roads: u64,
    /// By claim: on how many roads it broke.
    broken: FxHashMap<(StopIndex, usize), u64>,
    /// Stops that some road came by.
    reached: Vec<StopIndex>,
    /// The seed of the road that failed by the fewest forks, and how many.
    first: Option<(usize, u64)>,
}

impl Trial {
    /// Whether some road failed.
    pub(super) fn fails(&self) -> bool {
        self.first.is_some()
    }

    /// On how many roads a claim broke.
    pub(super) fn broken(&self, stop: StopIndex, index: usize) -> u64 {
        self.broken.get(&(stop, index)).copied().unwrap_or(0)
    }

    /// Whether a claim broke.
    pub(super) fn breaks(&self, stop: StopIndex, index: usize) -> bool {
        self.broken(stop, index) > 0
    }

    /// Whether a road came by a stop.
    pub(super) fn reaches(&self, stop: StopIndex) -> bool {
        self.reached.contains(&stop)
    }

    /// The failing road with the fewest forks of those walked: not the shortest there is.
    pub(super) fn counterexample(&self, routine: &Routine) -> Option<Counterexample> {
        let (_, seed) = self.first?;
        let road = sample(routine, seed).ok()?;
        let (n, index) = failure(routine, &road)?;
        let mut walk = Walk::new(routine);
        walk.know(&road.walked.first()?.before.faces);
        for walked in road.walked.get(..=n)? {
            walk.take(walked.choice.as_ref().map(|(_, value)| value.clone()))
                .ok()?;
        }
        Some(walk.ended(road.walked.get(n)?.stop, Wrong::Broken { index }))
    }
}

/// Where a road first breaks a claim: at which of its stops, and which claim.
fn failure(routine: &Routine, road: &Road) -> Option<(usize, usize)> {
    road.walked.iter().enumerate().find_map(|(n, walked)| {
        let broken = broken_claims(routine, walked).ok()?;
        let first = broken.first()?;
        let claims = &routine.stop(walked.stop)?.claims;
        let index = claims
            .iter()
            .position(|claim| std::ptr::eq(claim, *first))?;
        Some((n, index))
    })
}

/// Walks so many random roads, as far as the budget goes.
pub(super) fn walk(routine: &Routine, roads: u64, limits: &Limits<'_>) -> Trial {
    let mut trial = Trial::default();
    for seed in 0..roads {
        if seed % 64 == 63 && (limits.stop)() && seed > 1_000 {
            break;
        }
        let Ok(road) = replay(routine, seed, &crate::roads::Choices::default()) else {
            continue;
        };
        trial.roads += 1;
        let mut broken: Vec<(StopIndex, usize)> = Vec::new();
        for walked in &road.walked {
            if !trial.reached.contains(&walked.stop) {
                trial.reached.push(walked.stop);
            }
            let Some(stop) = routine.stop(walked.stop) else {
                continue;
            };
            for claim in broken_claims(routine, walked).unwrap_or_default() {
                if let Some(index) = stop.claims.iter().position(|c| std::ptr::eq(c, claim)) {
                    broken.push((walked.stop, index));
                }
            }
        }
        broken.sort_unstable();
        broken.dedup();
        if let Some((n, _)) = failure(routine, &road) {
            let forks = road.walked[..=n]
                .iter()
                .filter(|walked| walked.choice.is_some())
                .count();
            if trial.first.is_none_or(|(fewest, _)| forks < fewest) {
                trial.first = Some((forks, seed));
            }
        }
        for claim in broken {
            *trial.broken.entry(claim).or_insert(0) += 1;
        }
    }
    trial
}
