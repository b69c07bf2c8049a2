//! Every case of a routine, with its verdicts.

use super::ground::{Case, Ground, When};
use super::reach::{Budget, Reach, reach};
use super::seat::{Seat, Sets};
use super::verdict::Verdict;
use crate::proof::{Follow, Judge, Limits};
use crate::roads::unknown_start;
use crate::routine::{StopIndex, Value};
use num_rational::BigRational;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};

/// How much is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// The most tables that may fit what was seen; of more a part is drawn.
    pub set: usize,
    /// The most tables at a step, over all that can have been seen; of more a part is drawn.
    pub step: usize,
    /// Where parts are drawn from.
    pub seed: u64,
}

impl Default for Wanted {
    fn default() -> Self {
        Self {
            set: 2_048,
            step: 16_384,
            seed: 0,
        }
    }
}

/// How far a row goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Extent {
    /// Over everything that can have been seen, and every table that fits.
    All,
    /// Over a part drawn by the seed.
    Part,
}

/// One verdict of a row, and when it is the verdict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// What to do.
    pub verdict: Verdict,
    /// The share of the roads on which it is so; `None` where it is not known.
    pub share: Option<BigRational>,
    /// How many sets of tables it was the verdict on.
    pub sets: usize,
    /// What the performer sees the spectator choose in the stray, where it is so; empty where that is not seen.
    pub choices: BTreeSet<Value>,
}

/// One case: a stray at a step, with the verdicts on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Its case, by its index in [`Ground::cases`].
    pub case: usize,
    /// How far it goes.
    pub extent: Extent,
    /// Its verdicts: safe first, then mends, outs, what is lost, and what could not be decided.
    pub parts: Vec<Part>,
}

/// Works out all cases, in order, on as many threads as there are. A case that makes no sense on any road has no row.
#[must_use]
pub fn rows(ground: &Ground, wanted: Wanted, limits: &Limits<'_>) -> Vec<Row> {
    let own = (0..ground.routine().stops.len())
        .filter(|n| ground.is_own(StopIndex(u16::try_from(*n).unwrap_or(u16::MAX))))
        .count();
    let budget = Budget {
        set: wanted.set,
        wave: wanted.step,
        seed: wanted.seed,
    };
    let mut walking = Judge::new(
        ground.routine(),
        &ground.names,
        &ground.piles,
        Follow::None,
        limits,
    );
    let start = ground.enter(unknown_start(ground.routine()));
    let reach = reach(&mut walking, start, own, budget, limits.stop);
    drop(walking);
    let next = AtomicUsize::new(0);
    let workers = rayon::current_num_threads().max(1);
    let mut rows: Vec<Row> = (0..workers)
        .into_par_iter()
        .flat_map_iter(|_| {
            let mut worker = Worker::new(ground, &reach, limits, wanted.seed);
            let mut rows = Vec::new();
            loop {
                let case = next.fetch_add(1, Ordering::Relaxed);
                if case >= ground.cases().len() {
                    break rows;
                }
                if (limits.stop)() {
                    rows.push(undecided(case));
                } else {
                    rows.extend(worker.row(case));
                }
                (limits.progress)(case as u64 + 1);
            }
        })
        .collect();
    rows.sort_by_key(|row| row.case);
    rows
}

/// A case that nobody came to.
fn undecided(case: usize) -> Row {
    Row {
        case,
        extent: Extent::Part,
        parts: vec![Part {
            verdict: Verdict::Undecided,
            share: None,
            sets: 0,
            choices: BTreeSet::new(),
        }],
    }
}

/// One thread's way through the cases.
struct Worker<'a> {
    ground: &'a Ground,
    reach: &'a Reach,
    limits: &'a Limits<'a>,
    seed: u64,
    following: Seat<'a>,
    /// For strays that shuffle: what they do is listed, what the routine does is followed.
    shuffling: Option<Seat<'a>>,
    /// For what cannot be followed.
    listing: Option<Seat<'a>>,
}

impl<'a> Worker<'a> {
    fn new(ground: &'a Ground, reach: &'a Reach, limits: &'a Limits<'a>, seed: u64) -> Self {
        Self {
            ground,
            reach,
            limits,
            seed,
            following: Seat::new(ground, Follow::All, limits, seed),
            shuffling: None,
            listing: None,
        }
    }

    fn row(&mut self, number: usize) -> Option<Row> {
        let case = self.ground.cases().get(number)?;
        let n = case.stop.index();
        let after = case.when == When::After;
        let (beliefs, partial) = if after {
            (&self.reach.after[n], self.reach.part_after[n])
        } else {
            (&self.reach.before[n], self.reach.part_before[n])
        };
        let sets = Sets {
            stop: n,
            after,
            beliefs,
        };
        let parts = self.parts(case, sets).unwrap_or_else(|| {
            vec![Part {
                verdict: Verdict::Undecided,
                share: None,
                sets: beliefs.len(),
                choices: BTreeSet::new(),
            }]
        });
        let others = self.shuffling.iter_mut().chain(&mut self.listing);
        let some = others.fold(self.following.rescuer.took_some(), |some, seat| {
            seat.rescuer.took_some() | some
        });
        let extent = if partial || some {
            Extent::Part
        } else {
            Extent::All
        };
        (!parts.is_empty()).then_some(Row {
            case: number,
            extent,
            parts,
        })
    }

    /// A shuffle in a stray is listed, since a look tells more of packets told apart, and is followed only where it can lay down too
    /// many and all of those looked at are safe. All else is followed, and listed where that cannot be.
    fn parts(&mut self, case: &Case, sets: Sets<'_>) -> Option<Vec<Part>> {
        let (reach, ground, limits, seed) = (self.reach, self.ground, self.limits, self.seed);
        let parts = if ground.shuffles(case) {
            let follow = Follow::Before(ground.first_added());
            let seat = self
                .shuffling
                .get_or_insert_with(|| Seat::new(ground, follow, limits, seed));
            let some = seat.parts(reach, case, sets);
            // What is safe in some ways of the shuffle may be so in all.
            if seat.rescuer.is_partial() && all(&some, |v| *v == Verdict::Safe) {
                let followed = self.following.parts(reach, case, sets);
                if all(&followed, |v| *v == Verdict::Safe) && !self.following.rescuer.is_partial() {
                    seat.rescuer.took_some();
                    return followed;
                }
            }
            some
        } else {
            self.following.parts(reach, case, sets)
        };
        if all(&parts, |v| *v != Verdict::Undecided) {
            return parts;
        }
        let listing = self
            .listing
            .get_or_insert_with(|| Seat::new(ground, Follow::None, limits, seed));
        listing.parts(reach, case, sets)
    }
}

/// Whether there are parts, and all of them are so.
fn all(parts: &Option<Vec<Part>>, what: fn(&Verdict) -> bool) -> bool {
    parts
        .as_ref()
        .is_some_and(|parts| parts.iter().all(|part| what(&part.verdict)))
}
