//! Every case of a routine, with its verdicts.

use super::ground::{Case, Doing, Ground, When};
use super::reach::{Belief, Budget, Reach, chosen, reach, shown};
use super::rescuer::{Rescuer, Verdict};
use crate::proof::{EndingSet, Fate, Judge, Limits, Moment};
use crate::roads::{Sighted, unknown_start};
use crate::routine::{KnownStray, Seen, StopIndex, Stray, Value};
use num_rational::BigRational;
use num_traits::Zero;
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use std::collections::{BTreeMap, BTreeSet};
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
        false,
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
            let mut worker = Worker::new(ground, &reach, limits);
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
    following: Seat<'a>,
    /// For what cannot be followed.
    listing: Option<Seat<'a>>,
}

/// A rescuer, and the moments that it gave to the worlds of the reach.
struct Seat<'a> {
    rescuer: Rescuer<'a>,
    moments: FxHashMap<u32, Moment>,
}

/// What tells a performer apart what happened in a stray.
type Told = Vec<Option<Sighted>>;

/// Verdicts told apart: all that is lost goes together, whatever the chance.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Safe,
    Mend(usize, super::plan::Plan),
    Out(Vec<usize>),
    Lost,
    Undecided,
}

impl<'a> Worker<'a> {
    fn new(ground: &'a Ground, reach: &'a Reach, limits: &'a Limits<'a>) -> Self {
        Self {
            ground,
            reach,
            limits,
            following: Seat::new(ground, true, limits),
            listing: None,
        }
    }

    fn row(&mut self, number: usize) -> Option<Row> {
        let case = self.ground.cases().get(number)?;
        let n = case.stop.index();
        let (beliefs, partial) = match case.when {
            When::Instead => (&self.reach.before[n], self.reach.part_before[n]),
            When::After => (&self.reach.after[n], self.reach.part_after[n]),
        };
        let parts = self.parts(case, beliefs).unwrap_or_else(|| {
            vec![Part {
                verdict: Verdict::Undecided,
                share: None,
                sets: beliefs.len(),
                choices: BTreeSet::new(),
            }]
        });
        let some = self.following.rescuer.took_some()
            | self
                .listing
                .as_mut()
                .is_some_and(|seat| seat.rescuer.took_some());
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

    /// A stray that is a shuffle is listed, since a look tells more of packets told apart, and is followed only where it can lay down too
    /// many; all else is followed, and listed where that cannot be.
    fn parts(&mut self, case: &Case, beliefs: &[Belief]) -> Option<Vec<Part>> {
        let shuffles = matches!(
            case.stray,
            Stray::Known(KnownStray::ShufflesOverhand | KnownStray::Riffles)
        );
        let decided = |parts: &Option<Vec<Part>>| {
            let all = |parts: &Vec<Part>| parts.iter().all(|p| p.verdict != Verdict::Undecided);
            parts.as_ref().is_some_and(all)
        };
        let (reach, ground) = (self.reach, self.ground);
        if !shuffles {
            let followed = self.following.parts(reach, ground, case, beliefs);
            if decided(&followed) {
                return followed;
            }
        }
        let listing = self
            .listing
            .get_or_insert_with(|| Seat::new(ground, false, self.limits));
        let listed = listing.parts(reach, ground, case, beliefs);
        if !shuffles || (decided(&listed) && !listing.rescuer.is_partial()) {
            return listed;
        }
        let mut followed = self.following.parts(reach, ground, case, beliefs);
        let is = |parts: &Option<Vec<Part>>, what: fn(&Verdict) -> bool| {
            let all = |parts: &Vec<Part>| parts.iter().all(|part| what(&part.verdict));
            parts.as_ref().is_some_and(all)
        };
        let safe = is(&followed, |v| *v == Verdict::Safe);
        let lost = |v: &Verdict| matches!(v, Verdict::Lost { .. });
        // Where no plan works on some ways of the shuffle, none does on all.
        if safe || (is(&followed, lost) && is(&listed, lost)) {
            listing.rescuer.took_some();
            for part in followed.iter_mut().flatten() {
                if let Verdict::Lost { chance } = &mut part.verdict {
                    *chance = None;
                }
            }
            return followed;
        }
        listed
    }
}

impl<'a> Seat<'a> {
    fn new(ground: &'a Ground, follow: bool, limits: &'a Limits<'a>) -> Self {
        Self {
            rescuer: Rescuer::new(ground, follow, limits),
            moments: FxHashMap::default(),
        }
    }

    fn moment(&mut self, reach: &Reach, world: u32) -> Moment {
        let rescuer = &mut self.rescuer;
        *self
            .moments
            .entry(world)
            .or_insert_with(|| rescuer.moment(reach.worlds[world as usize].clone()))
    }

    /// The verdicts of a case over these sets; `None` where the stray could not be worked out.
    fn parts(
        &mut self,
        reach: &Reach,
        ground: &Ground,
        case: &Case,
        beliefs: &[Belief],
    ) -> Option<Vec<Part>> {
        let mut found: BTreeMap<Kind, (Part, BigRational, BigRational, bool)> = BTreeMap::new();
        for belief in beliefs {
            let mut told: BTreeMap<Told, Vec<(Option<Moment>, BigRational)>> = BTreeMap::new();
            let mut endings = Some(EndingSet::default());
            for (world, chance) in &belief.tables {
                let moment = self.moment(reach, *world);
                endings = match (endings, self.rescuer.judge.fate(moment)) {
                    (Some(known), Fate::Good(more)) => Some(known.and(more)),
                    (_, Fate::Bad | Fate::Undecided) | (None, Fate::Good(_)) => None,
                };
                for strayed in self.rescuer.strayed(case, moment)? {
                    let key = self.told(ground, case, moment, &strayed.to, strayed.branch);
                    told.entry(key)
                        .or_default()
                        .push((strayed.to, chance * strayed.weight));
                }
            }
            for (key, tables) in told {
                let tables = gathered(tables);
                let weight: BigRational = tables.iter().map(|(_, w)| w).sum();
                let verdict = self.rescuer.verdict(&tables, endings);
                let share = belief.share.as_ref().map(|share| share * &weight);
                note(&mut found, verdict, share, &weight, &key);
            }
        }
        Some(finished(found))
    }

    /// What the performer sees of a stray.
    fn told(
        &mut self,
        ground: &Ground,
        case: &Case,
        moment: Moment,
        to: &Option<Moment>,
        branch: u64,
    ) -> Told {
        let Doing::Stops(stops) = &case.doing else {
            return Vec::new();
        };
        let next = self.rescuer.judge.stop_of(moment);
        let first = stops.iter().find(|(at, _)| *at == next);
        let Some((at, stop)) = first.and_then(|(_, at)| Some((*at, ground.routine().stop(*at)?)))
        else {
            return Vec::new();
        };
        let quiet = stop
            .fork
            .as_ref()
            .is_none_or(|fork| fork.seen == Seen::Nothing);
        if quiet && stop.sights.is_empty() && stop.reply.is_none() {
            return Vec::new();
        }
        let mut before = self.rescuer.judge.world(moment);
        before.at = at;
        let choice = chosen(ground.routine(), stop, &before, branch);
        match to {
            Some(to) => {
                let after = self.rescuer.judge.world(*to);
                shown(ground.routine(), stop, choice, &after)
            }
            None => match choice {
                Some((fork, value)) if fork.seen == Seen::All => {
                    vec![Some(Sighted::Choice(fork.name, value))]
                }
                Some(_) | None => Vec::new(),
            },
        }
    }
}

/// Equal tables become one.
fn gathered(tables: Vec<(Option<Moment>, BigRational)>) -> Vec<(Option<Moment>, BigRational)> {
    let mut sums: BTreeMap<Option<Moment>, BigRational> = BTreeMap::new();
    for (to, weight) in tables {
        *sums.entry(to).or_insert_with(BigRational::zero) += weight;
    }
    sums.into_iter().collect()
}

fn note(
    found: &mut BTreeMap<Kind, (Part, BigRational, BigRational, bool)>,
    verdict: Verdict,
    share: Option<BigRational>,
    weight: &BigRational,
    told: &Told,
) {
    let kind = match &verdict {
        Verdict::Safe => Kind::Safe,
        Verdict::Mend(plan) => Kind::Mend(plan.length(), plan.clone()),
        Verdict::Out(endings) => Kind::Out(endings.clone()),
        Verdict::Lost { .. } => Kind::Lost,
        Verdict::Undecided => Kind::Undecided,
    };
    let chance = match &verdict {
        Verdict::Lost { chance } => chance.clone(),
        Verdict::Safe | Verdict::Mend(_) | Verdict::Out(_) | Verdict::Undecided => None,
    };
    let choice = told.iter().find_map(|seen| match seen {
        Some(Sighted::Choice(_, value)) => Some(value.clone()),
        _ => None,
    });
    // Where shares are not known every set counts alike.
    let by = share.clone().unwrap_or_else(|| weight.clone());
    let (part, sum, all, exact) = found.entry(kind).or_insert_with(|| {
        let part = Part {
            verdict,
            share: Some(BigRational::zero()),
            sets: 0,
            choices: BTreeSet::new(),
        };
        (part, BigRational::zero(), BigRational::zero(), true)
    });
    part.sets += 1;
    part.share = match (part.share.take(), share) {
        (Some(one), Some(other)) => Some(one + other),
        (None, _) | (_, None) => None,
    };
    part.choices.extend(choice);
    match chance {
        Some(chance) => *sum += &by * chance,
        None => *exact = false,
    }
    *all += by;
}

fn finished(found: BTreeMap<Kind, (Part, BigRational, BigRational, bool)>) -> Vec<Part> {
    let whole: Option<BigRational> = found
        .values()
        .map(|(part, ..)| part.share.clone())
        .collect::<Option<Vec<_>>>()
        .map(|shares| shares.into_iter().sum());
    found
        .into_values()
        .map(|(mut part, sum, all, exact)| {
            if let Verdict::Lost { chance } = &mut part.verdict {
                *chance = (exact && !all.is_zero()).then(|| sum / all);
            }
            // Of the roads on which the stray can happen at all.
            part.share = match (&whole, part.share.take()) {
                (Some(whole), Some(share)) if !whole.is_zero() => Some(share / whole),
                (Some(_) | None, _) => None,
            };
            part
        })
        .collect()
}
