//! Every road of a routine, walked one by one: the plain way, to hold the prover against. Nothing is merged, nothing is
//! remembered from one road to the next, and nothing of the prover is used but its report.

pub mod held;
mod replay;

pub use held::held;
pub use replay::replays;

use allroads::proof::{Limits, Proof, Ways, prove};
use allroads::roads::{domain, take, unknown_start};
use allroads::routine::{Routine, Scene, StopIndex, Trouble, Value, World, load};
use allroads::table::Table;
use num_rational::Ratio;
use std::collections::{BTreeMap, BTreeSet};

/// A claim: its stop, and which of the stop's claims.
pub type ClaimAt = (StopIndex, usize);

/// A chance; small routines have small denominators.
pub type Chance = Ratio<u128>;

/// What all roads came to.
#[derive(Debug, Default)]
pub struct EveryRoad {
    /// Complete roads, the orders of shuffled cards included.
    pub roads: u128,
    /// Claims that broke, each with the chance that a random road breaks it.
    pub broken: BTreeMap<ClaimAt, Chance>,
    /// Whether a step could not be done on some road.
    pub stuck: bool,
    /// Choices on the road to the nearest failure.
    pub shortest: Option<usize>,
    /// The tables at the end, each with the chance that a random road ends there.
    pub ends: BTreeMap<Table, Chance>,
    /// Stops that some road came to.
    pub met: BTreeSet<StopIndex>,
    /// Stops that some road left, so that their claims were looked at.
    pub left: BTreeSet<StopIndex>,
    /// By stop and branch: the chance that a random road takes it and nothing has failed before, and that nothing fails at all.
    pub by_branch: BTreeMap<(StopIndex, Value), (Chance, Chance)>,
}

impl EveryRoad {
    /// Walks them all.
    pub fn of(routine: &Routine) -> Self {
        let mut all = Self::default();
        let starts = starts(routine);
        let share = Chance::new(1, starts.len() as u128);
        for start in starts {
            all.on(routine, &start, share, 0, &mut Vec::new());
        }
        all
    }

    /// Whether some road breaks a claim, or cannot be walked to its end.
    pub fn fails(&self) -> bool {
        self.stuck || !self.broken.is_empty()
    }

    fn fail(&mut self, choices: usize) {
        self.shortest = Some(self.shortest.map_or(choices, |least| least.min(choices)));
    }

    fn stop(&mut self, choices: usize, share: Chance, broken: &[ClaimAt]) -> Chance {
        self.stuck = true;
        self.fail(choices);
        self.settle(share, broken);
        Chance::default()
    }

    /// A road is over: each claim that broke on it is counted once.
    fn settle(&mut self, share: Chance, broken: &[ClaimAt]) {
        for claim in broken.iter().collect::<BTreeSet<_>>() {
            *self.broken.entry(*claim).or_default() += share;
        }
    }

    /// Walks on from a state that a random road comes to with this chance; gives the chance that it does and nothing fails.
    fn on(
        &mut self,
        routine: &Routine,
        world: &World,
        share: Chance,
        choices: usize,
        broken: &mut Vec<ClaimAt>,
    ) -> Chance {
        if routine.stop(world.at).is_none() {
            self.roads += 1;
            *self.ends.entry(world.table.clone()).or_default() += share;
            self.settle(share, broken);
            return if broken.is_empty() {
                share
            } else {
                Chance::default()
            };
        }
        self.met.insert(world.at);
        let open = match domain(routine, world) {
            Ok(open) => open,
            Err(_) => return self.stop(choices, share, broken),
        };
        let Some(open) = open else {
            return self.step(routine, world, None, share, choices, broken);
        };
        let branches: Vec<_> = open.branches().collect();
        let weights: Vec<u128> = branches
            .iter()
            .map(|branch| u128::from(open.weight(branch)))
            .collect();
        let all: u128 = weights.iter().sum();
        let mut sum = Chance::default();
        for (branch, weight) in branches.into_iter().zip(weights) {
            let share = share * Chance::new(weight, all);
            let kept = self.step(routine, world, Some(&branch), share, choices + 1, broken);
            sum += kept;
            if broken.is_empty() {
                let entry = self.by_branch.entry((world.at, branch)).or_default();
                entry.0 += share;
                entry.1 += kept;
            }
        }
        sum
    }

    fn step(
        &mut self,
        routine: &Routine,
        world: &World,
        choice: Option<&Value>,
        share: Chance,
        choices: usize,
        broken: &mut Vec<ClaimAt>,
    ) -> Chance {
        let Ok(taken) = take(routine, world, choice) else {
            return self.stop(choices, share, broken);
        };
        self.left.insert(world.at);
        let before = broken.len();
        broken.extend(broken_after(routine, world.at, &taken.world));
        if broken.len() > before {
            self.fail(choices);
        }
        let kept = self.on(routine, &taken.world, share, choices, broken);
        broken.truncate(before);
        kept
    }
}

/// The claims of a stop that do not hold after it; one that cannot be worked out does not hold.
pub fn broken_after(routine: &Routine, stop: StopIndex, after: &World) -> Vec<ClaimAt> {
    let scene = Scene {
        routine,
        world: after,
    };
    routine.stops[stop.index()]
        .claims
        .iter()
        .enumerate()
        .filter(|(_, claim)| claim.kind.holds(scene) != Ok(true))
        .map(|(index, _)| (stop, index))
        .collect()
}

/// The start with the shuffled cards in every order.
fn starts(routine: &Routine) -> Vec<World> {
    let mut starts = vec![unknown_start(routine)];
    for card in &routine.shuffled {
        starts = starts
            .iter()
            .flat_map(|start| {
                routine
                    .shuffled
                    .iter()
                    .filter(|print| !start.faces.contains(&Some(**print)))
                    .map(|print| {
                        let mut next = start.clone();
                        next.faces[card.index()] = Some(*print);
                        next
                    })
            })
            .collect();
    }
    starts
}

/// A routine from the text of its file.
pub fn routine(text: &str) -> Routine {
    load(text, "routine.yaml", 0).unwrap_or_else(|troubles| {
        let told: String = troubles.iter().map(Trouble::to_string).collect();
        panic!("{told}\n{text}")
    })
}

/// Proves without a limit of time, in a gigabyte.
pub fn proved(routine: &Routine, ways: Ways) -> Proof {
    prove(
        routine,
        ways,
        &Limits {
            bytes: 1 << 30,
            stop: &|| false,
            progress: &|_| (),
        },
    )
}
