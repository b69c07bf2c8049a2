//! What a proof says: the verdict, the counts, the odds, the counterexample.

use crate::routine::{Fault, StopIndex, Value, World};
use num_bigint::BigUint;
use num_rational::BigRational;

/// Whether the ending can fail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Every claim holds on every road.
    SureFire,
    /// Some road breaks a claim, or cannot be walked to its end.
    Refuted,
    /// The budget ran out before either was certain. Never to be taken for a proof.
    Unfinished,
}

/// How many roads there are: complete runs of choices, from the first step to the last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Roads {
    /// Exactly so many.
    Exactly(BigUint),
    /// A part that may be gone through as often as anybody likes has no last road.
    Unbounded,
    /// The budget ran out before they were counted.
    Uncounted,
}

/// A chance.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Odds {
    /// Exactly, under the weights of the forks.
    Exactly(BigRational),
    /// Exact odds were out of reach: so many of so many random roads.
    Sampled {
        /// Roads on which it held.
        held: u64,
        /// Roads walked.
        of: u64,
    },
}

/// One claim over all roads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClaimProof {
    /// The stop after which it is made.
    pub stop: StopIndex,
    /// Which of the stop's claims, from 0.
    pub index: usize,
    /// Its words.
    pub words: String,
    /// Its line in the file, from 1.
    pub line: u32,
    /// Whether any road came by it: a claim that nobody came by proves nothing.
    pub reached: bool,
    /// Whether it holds on all roads; `None` where the budget ran out first.
    pub holds: Option<bool>,
    /// The chance that a random road keeps it, where it can fail and the chance was worked out. A road that never comes by the
    /// claim keeps it.
    pub odds: Option<Odds>,
}

/// What goes wrong at the end of a counterexample.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wrong {
    /// This claim of the stop does not hold.
    Broken {
        /// Which of the stop's claims, from 0.
        index: usize,
    },
    /// The step cannot be done.
    Stuck(Fault),
}

/// The shortest road that breaks a claim: fewest forks, then the smallest choices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counterexample {
    /// The stop at which it goes wrong.
    pub stop: StopIndex,
    /// What goes wrong.
    pub wrong: Wrong,
    /// Each choice with its stop, as `walk --choose` takes it: `cut@2=5`.
    pub choices: Vec<(StopIndex, String)>,
    /// The table when the claim breaks; before the step that cannot be done.
    pub world: World,
}

/// A branch of a fork, and how a claim fares on the roads that take it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blame {
    /// The stop of the fork.
    pub stop: StopIndex,
    /// The branch.
    pub branch: Value,
    /// The branch in words, as `walk --choose` takes it without its name: `5`.
    pub label: String,
    /// The chance that no claim breaks, for a random road that takes this branch.
    pub holds: BigRational,
}

/// All that a proof found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proof {
    /// Whether the ending can fail.
    pub verdict: Verdict,
    /// How many roads there are.
    pub roads: Roads,
    /// How many different states were visited.
    pub states: u64,
    /// How many different tables the roads end with, card by card; `None` where they were not counted.
    pub ends: Option<u64>,
    /// Every claim, in the order of the stops.
    pub claims: Vec<ClaimProof>,
    /// Where it can fail, the shortest road that shows it.
    pub counterexample: Option<Counterexample>,
    /// Branches that no road can take, with the stop: a weight of 0, an option behind a condition that is never true.
    pub untaken: Vec<(StopIndex, String)>,
    /// Stops that no road comes by.
    pub unreached: Vec<StopIndex>,
    /// Where it can fail: the branches of each fork with their own odds, worst first in each fork; only forks whose branches differ.
    pub blame: Vec<Blame>,
    /// Where it can fail: the smallest set of branches without which it is sure-fire; `None` where there is none or it was not
    /// worked out.
    pub withdraw: Option<Vec<(StopIndex, String)>>,
    /// Where loops were met: how each was settled, with the gate's stop.
    pub loops: Vec<(StopIndex, Settled)>,
}

/// How a part that is gone through "as often as they like" was settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Settled {
    /// One round keeps what the claims say, whatever the table: so any number of rounds does.
    Induction,
    /// Every state that any number of rounds can reach was visited.
    Fixpoint,
}

/// What a proof may use.
pub struct Limits<'a> {
    /// Memory for states, in bytes.
    pub bytes: usize,
    /// Asked now and then: whether to stop. Time lives outside.
    pub stop: &'a (dyn Fn() -> bool + Sync),
    /// Told now and then: how many states were visited so far.
    pub progress: &'a (dyn Fn(u64) + Sync),
}

/// How to prove.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ways {
    /// Take states for one that the claims and steps still to come cannot tell apart.
    pub merge: bool,
    /// Try induction on parts gone through as often as anybody likes.
    pub induction: bool,
    /// Work out odds, blame and branches to withdraw where it can fail.
    pub odds: bool,
    /// Count the different end tables, card by card: always, never, or where it costs little.
    pub ends: Ends,
    /// How many random roads are walked for odds that are out of exact reach.
    pub sample: u64,
}

/// Whether end tables are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// As far as the budget goes.
    Always,
    /// Where few enough states are met.
    WhereCheap,
    /// Not.
    Never,
}

impl Default for Ways {
    fn default() -> Self {
        Self {
            merge: true,
            induction: true,
            odds: true,
            ends: Ends::WhereCheap,
            sample: 100_000,
        }
    }
}

impl Proof {
    /// Whether every claim holds on every road.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.verdict == Verdict::SureFire
    }
}
