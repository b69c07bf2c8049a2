//! What can follow a state: the same for all states of a core, or each on its own.

use super::state::CoreId;
use num_rational::BigRational;

/// The number of a plan.
pub(super) type PlanId = u32;

/// A step, or several that do the same, from every state of a core.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Arrow {
    /// The core it leads to.
    pub(super) to: CoreId,
    /// What it does to the cells.
    pub(super) plan: PlanId,
    /// The branches that do this, each with its weight.
    pub(super) branches: Vec<(u64, u64)>,
}

/// What follows the states of a core.
#[derive(Debug)]
pub(super) enum Follows {
    /// Nothing: the road has ended.
    End,
    /// The same for all: these arrows.
    Arrows(Arrows),
    /// It hangs on the cards: each state on its own.
    Open,
}

/// The arrows of a core.
#[derive(Debug, Default)]
pub(super) struct Arrows {
    /// In the order of their first branches.
    pub(super) arrows: Vec<Arrow>,
    /// All weights together.
    pub(super) weights: u64,
    /// The branches with which it cannot be done, each with its weight.
    pub(super) lost: Vec<(u64, u64)>,
}

/// One thing that can follow a state.
#[derive(Debug)]
pub(super) enum Next<'a> {
    /// A state, by so many branches of so much weight out of so much.
    State {
        /// Its core.
        core: CoreId,
        /// Its cells.
        cells: &'a [u8],
        /// How many ways each of the branches stands for: more than one only where an unknown card is fixed.
        times: u64,
        /// The chance of it, where it is not the share of the branches' weights: a token of a followed shuffle is fixed.
        share: Option<BigRational>,
        /// The branches that lead there, each with its weight.
        branches: &'a [(u64, u64)],
        /// The weight of all that can follow.
        of: u64,
    },
    /// The step cannot be done by so many branches.
    Stuck {
        /// Which, each with its weight.
        branches: &'a [(u64, u64)],
        /// The weight of all that can follow.
        of: u64,
    },
}

impl Arrows {
    /// The step cannot be done at all.
    pub(super) fn stuck() -> Self {
        Self {
            weights: 1,
            lost: vec![(0, 1)],
            ..Self::default()
        }
    }

    /// Adds an arrow, to those that do the same.
    pub(super) fn add(&mut self, arrow: Arrow) {
        let same = |a: &&mut Arrow| a.to == arrow.to && a.plan == arrow.plan;
        match self.arrows.iter_mut().find(same) {
            Some(old) => old.branches.extend(arrow.branches),
            None => self.arrows.push(arrow),
        }
    }
}
