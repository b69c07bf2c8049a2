//! A rescuer at work on the cases of a routine, and the verdicts of a case over all sets.
//!
//! A table is in many sets. What the stray comes to on it, and what the performer sees of that, is worked out once for each case; a set
//! only puts together what came of its tables.

use super::ground::{Case, Doing, Ground};
use super::plan::Plan;
use super::reach::{Belief, Reach, chosen, shown};
use super::rescuer::Rescuer;
use super::table::Part;
use super::verdict::{Came, Verdict};
use crate::proof::{EndingSet, Fate, Follow, Fraction, Limits, Moment};
use crate::roads::Sighted;
use crate::routine::{Seen, Stop, StopIndex, Value, World};
use rustc_hash::FxHashMap;
use std::collections::{BTreeMap, BTreeSet};

/// Where more moments than this come of one case, it is looked at on a few tables first, and in a few ways of a shuffle.
const MOST_MOMENTS: usize = 20_000;

/// Where more than this come of it, it is not looked at in whole.
const FAR_TOO_MANY: usize = 300_000;

/// How much of a case is looked at before all of it.
#[derive(Clone, Copy)]
struct Few {
    /// So many tables of each set.
    tables: usize,
    /// So many ways of a shuffle.
    ways: usize,
}

/// Enough to see that most of what is lost is lost.
const GLANCE: Few = Few { tables: 2, ways: 6 };

/// What is looked at first otherwise.
const FEW: Few = Few {
    tables: 8,
    ways: 24,
};

/// What the chances of one case may cost, in steps.
const MOST_WEIGHED: u64 = 60_000;

/// A rescuer, and the moments that it gave to the worlds of the reach.
pub(super) struct Seat<'a> {
    pub(super) rescuer: Rescuer<'a>,
    moments: FxHashMap<u32, Moment>,
    /// By set, which is told by its stop, the side of it and its number: the endings to which its roads can come.
    endings: FxHashMap<(usize, bool, usize), Option<EndingSet>>,
}

/// What tells a performer apart what happened in a stray.
type Told = Vec<Option<Sighted>>;

/// What came of a case so far.
#[derive(Default)]
struct Found {
    keys: FxHashMap<Told, usize>,
    /// By key, what is seen chosen.
    choices: Vec<Option<Value>>,
    came: Vec<Came>,
    /// By world: what can be told apart there, and what came of it.
    of_world: FxHashMap<u32, Vec<(usize, usize)>>,
}

/// Verdicts told apart: all that is lost goes together, whatever the chance.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Safe,
    Mend(usize, Plan),
    Out(Vec<usize>),
    Lost,
    Undecided,
}

/// A part in the making.
struct Making {
    part: Part,
    share: Option<Fraction>,
    /// Of what is lost: the chance of each set by its share, and the shares together; none once one is not known.
    chance: Option<(Fraction, Fraction)>,
    /// The one chance of all its sets, where shares are not known.
    same: Option<Fraction>,
}

/// The sets of a case: those before its stop or after it.
#[derive(Clone, Copy)]
pub(super) struct Sets<'a> {
    pub(super) stop: usize,
    pub(super) after: bool,
    pub(super) beliefs: &'a [Belief],
}

impl<'a> Seat<'a> {
    pub(super) fn new(
        ground: &'a Ground,
        follow: Follow,
        limits: &'a Limits<'a>,
        seed: u64,
    ) -> Self {
        Self {
            rescuer: Rescuer::following(ground, follow, limits, seed),
            moments: FxHashMap::default(),
            endings: FxHashMap::default(),
        }
    }

    fn moment(&mut self, reach: &Reach, world: u32) -> Moment {
        let rescuer = &mut self.rescuer;
        *self
            .moments
            .entry(world)
            .or_insert_with(|| rescuer.moment(reach.worlds[world as usize].clone()))
    }

    fn endings(&mut self, reach: &Reach, sets: Sets<'_>, n: usize) -> Option<EndingSet> {
        let key = (sets.stop, sets.after, n);
        if let Some(known) = self.endings.get(&key) {
            return *known;
        }
        let mut endings = Some(EndingSet::default());
        for (world, _) in &sets.beliefs[n].tables {
            let moment = self.moment(reach, *world);
            endings = match (endings, self.rescuer.judge.fate(moment)) {
                (Some(known), Fate::Good(more)) => Some(known.and(more)),
                (_, Fate::Bad | Fate::Undecided) | (None, Fate::Good(_)) => None,
            };
        }
        self.endings.insert(key, endings);
        endings
    }

    /// The verdicts of a case over these sets; `None` where the stray could not be worked out.
    ///
    /// Where much comes of it, a few tables are looked at first. A set is lost where a part of it is, so where all that was looked at is lost
    /// it is lost on all, if the performer sees nothing that could tell the tables apart.
    pub(super) fn parts(
        &mut self,
        reach: &Reach,
        case: &Case,
        sets: Sets<'_>,
    ) -> Option<Vec<Part>> {
        self.rescuer.judge.allow(MOST_WEIGHED);
        let all = self.size(reach, case, sets);
        if all <= MOST_MOMENTS {
            return self.in_whole(reach, case, sets);
        }
        let sampled = std::mem::take(&mut self.rescuer.sampled);
        let all_are_lost = |parts: &[Part]| {
            let mut all = parts.iter();
            all.all(|part| matches!(part.verdict, Verdict::Lost { .. }))
        };
        let quiet = self.is_quiet(case);
        if quiet {
            let mut parts = self.put_together(reach, case, sets, Some(GLANCE))?;
            if all_are_lost(&parts) {
                self.rescuer.sampled = sampled;
                without_chance(&mut parts);
                return Some(parts);
            }
        }
        let mut parts = self.put_together(reach, case, sets, Some(FEW))?;
        let all_lost = all_are_lost(&parts);
        if all_lost && quiet {
            self.rescuer.sampled = sampled;
        } else if !all_lost && all <= FAR_TOO_MANY {
            self.rescuer.sampled = sampled;
            return self.in_whole(reach, case, sets);
        } else {
            self.rescuer.sampled = true;
        }
        without_chance(&mut parts);
        Some(parts)
    }

    /// The verdicts over all sets and all tables; what only some ways of a shuffle were looked at for has no chance.
    fn in_whole(&mut self, reach: &Reach, case: &Case, sets: Sets<'_>) -> Option<Vec<Part>> {
        let mut parts = self.put_together(reach, case, sets, None)?;
        if self.rescuer.sampled {
            without_chance(&mut parts);
        }
        Some(parts)
    }

    /// How many moments come of a case, about: by the first table of each set, since the tables of a set are alike in what was seen.
    fn size(&mut self, reach: &Reach, case: &Case, sets: Sets<'_>) -> usize {
        let (mut moments, mut tables) = (0_usize, 0_usize);
        for belief in sets.beliefs {
            let Some((world, _)) = belief.tables.first() else {
                continue;
            };
            let moment = self.moment(reach, *world);
            let ways = self.rescuer.ways(case, moment);
            moments = moments.saturating_add(ways.saturating_mul(belief.tables.len()));
            tables += belief.tables.len();
        }
        // What comes of a table is worked out once, however many sets it is in.
        let each = moments.div_ceil(tables.max(1));
        each.saturating_mul(worlds(sets.beliefs))
    }

    /// The verdicts over all sets; `few`: on so many tables of each, and in a few ways of a shuffle.
    fn put_together(
        &mut self,
        reach: &Reach,
        case: &Case,
        sets: Sets<'_>,
        few: Option<Few>,
    ) -> Option<Vec<Part>> {
        let mut found = Found::default();
        let mut parts: BTreeMap<Kind, Making> = BTreeMap::new();
        for (n, belief) in sets.beliefs.iter().enumerate() {
            let endings = self.endings(reach, sets, n);
            let mut told: BTreeMap<usize, Vec<(usize, Fraction)>> = BTreeMap::new();
            let every = few.map_or(1, |few| belief.tables.len().div_ceil(few.tables).max(1));
            for (world, chance) in belief.tables.iter().step_by(every) {
                if !found.of_world.contains_key(world) {
                    let briefly = few.map(|few| few.ways);
                    self.happen(reach, case, *world, briefly, &mut found)?;
                }
                for (key, came) in found.of_world.get(world).into_iter().flatten() {
                    told.entry(*key).or_default().push((*came, chance.clone()));
                }
            }
            for (key, these) in told {
                let weighed = belief.weighed;
                let verdict = self
                    .rescuer
                    .verdict_on(&mut found.came, &these, weighed, endings);
                let weight = these.iter().fold(Fraction::NOUGHT, |sum, (came, chance)| {
                    sum.plus(&chance.times(&found.came[*came].weight))
                });
                let share = belief.share.as_ref().map(|share| share.times(&weight));
                note(
                    &mut parts,
                    verdict,
                    share,
                    &weight,
                    found.choices[key].as_ref(),
                );
            }
        }
        Some(finished(parts))
    }

    /// Whether the performer sees nothing of a case.
    fn is_quiet(&self, case: &Case) -> bool {
        let routine = self.rescuer.ground().routine();
        match &case.doing {
            Doing::Forget(_) => true,
            Doing::Stops(stops) => stops
                .iter()
                .filter_map(|(_, first)| routine.stop(*first))
                .all(is_quiet),
        }
    }

    /// Lets the stray happen on one table.
    fn happen(
        &mut self,
        reach: &Reach,
        case: &Case,
        world: u32,
        briefly: Option<usize>,
        found: &mut Found,
    ) -> Option<()> {
        let moment = self.moment(reach, world);
        let mut told: BTreeMap<usize, Vec<(Option<Moment>, Fraction)>> = BTreeMap::new();
        let stop = self.seen_of(case, moment).map(|(at, stop)| {
            let mut before = self.rescuer.judge.world(moment);
            before.at = at;
            (stop, before)
        });
        for strayed in self.rescuer.strayed(case, moment, briefly)? {
            let seen = match &stop {
                Some((stop, before)) => self.told(stop, before, strayed.to, strayed.branch),
                None => Vec::new(),
            };
            let new = found.choices.len();
            if !found.keys.contains_key(&seen) {
                found.choices.push(seen.iter().find_map(|seen| match seen {
                    Some(Sighted::Choice(_, value)) => Some(value.clone()),
                    Some(_) | None => None,
                }));
            }
            let key = *found.keys.entry(seen).or_insert(new);
            told.entry(key)
                .or_default()
                .push((strayed.to, strayed.weight));
        }
        let mut here = Vec::with_capacity(told.len());
        for (key, outcomes) in told {
            let came = self.rescuer.came(outcomes);
            here.push((key, found.came.len()));
            found.came.push(came);
        }
        found.of_world.insert(world, here);
        Some(())
    }

    /// The first stop of a stray, where the performer sees anything of it.
    fn seen_of(&self, case: &Case, moment: Moment) -> Option<(StopIndex, &'a Stop)> {
        let Doing::Stops(stops) = &case.doing else {
            return None;
        };
        let next = self.rescuer.judge.stop_of(moment);
        let (_, first) = stops.iter().find(|(at, _)| *at == next)?;
        let stop = self.rescuer.ground().routine().stop(*first)?;
        (!is_quiet(stop)).then_some((*first, stop))
    }

    /// What the performer sees of a stray.
    fn told(&mut self, stop: &Stop, before: &World, to: Option<Moment>, branch: u64) -> Told {
        let routine = self.rescuer.ground().routine();
        let choice = chosen(routine, stop, before, branch);
        // Where the choice alone is seen, the table after it tells no more.
        let bare = stop.sights.is_empty() && stop.reply.is_none();
        match (to, choice) {
            (Some(_), Some((fork, value))) if bare && fork.seen == Seen::All => {
                vec![Some(Sighted::Choice(fork.name, value))]
            }
            (Some(to), choice) => {
                let after = self.rescuer.judge.world(to);
                shown(routine, stop, choice, &after)
            }
            (None, Some((fork, value))) if fork.seen == Seen::All => {
                vec![Some(Sighted::Choice(fork.name, value))]
            }
            (None, Some(_) | None) => Vec::new(),
        }
    }
}

/// How many different worlds there are in these sets.
fn worlds(beliefs: &[Belief]) -> usize {
    let worlds: BTreeSet<u32> = beliefs
        .iter()
        .flat_map(|belief| belief.tables.iter().map(|(world, _)| *world))
        .collect();
    worlds.len()
}

/// Whether the performer sees nothing of a stop.
fn is_quiet(stop: &Stop) -> bool {
    let fork = stop.fork.as_ref();
    fork.is_none_or(|fork| fork.seen == Seen::Nothing)
        && stop.sights.is_empty()
        && stop.reply.is_none()
}

/// What was looked at in some ways only has no exact chance.
fn without_chance(parts: &mut [Part]) {
    for part in parts {
        if let Verdict::Lost { chance } = &mut part.verdict {
            *chance = None;
        }
    }
}

fn note(
    parts: &mut BTreeMap<Kind, Making>,
    verdict: Verdict,
    share: Option<Fraction>,
    weight: &Fraction,
    choice: Option<&Value>,
) {
    let kind = match &verdict {
        Verdict::Safe => Kind::Safe,
        Verdict::Mend(plan) => Kind::Mend(plan.length(), plan.clone()),
        Verdict::Out(endings) => Kind::Out(endings.clone()),
        Verdict::Lost { .. } => Kind::Lost,
        Verdict::Undecided => Kind::Undecided,
    };
    let chance = match &verdict {
        Verdict::Lost { chance } => chance.as_ref().map(Fraction::of_ratio),
        Verdict::Safe | Verdict::Mend(_) | Verdict::Out(_) | Verdict::Undecided => None,
    };
    let making = parts.entry(kind).or_insert_with(|| Making {
        part: Part {
            verdict,
            share: None,
            sets: 0,
            choices: BTreeSet::new(),
        },
        share: Some(Fraction::NOUGHT),
        chance: Some((Fraction::NOUGHT, Fraction::NOUGHT)),
        same: chance.clone(),
    });
    making.part.sets += 1;
    making.part.choices.extend(choice.cloned());
    if making.same != chance {
        making.same = None;
    }
    let by = share.as_ref().unwrap_or(weight);
    making.chance = match (making.chance.take(), chance) {
        (Some((sum, all)), Some(chance)) => Some((sum.plus(&by.times(&chance)), all.plus(by))),
        (None, _) | (_, None) => None,
    };
    making.share = match (making.share.take(), share) {
        (Some(one), Some(other)) => Some(one.plus(&other)),
        (None, _) | (_, None) => None,
    };
}

fn finished(parts: BTreeMap<Kind, Making>) -> Vec<Part> {
    let whole: Option<Fraction> = parts
        .values()
        .map(|making| making.share.clone())
        .try_fold(Fraction::NOUGHT, |sum, share| Some(sum.plus(&share?)));
    parts
        .into_values()
        .map(|making| {
            let Making {
                mut part,
                share,
                chance,
                same,
            } = making;
            if let Verdict::Lost { chance: told } = &mut part.verdict {
                let mean = chance
                    .filter(|(_, all)| share.is_some() && !all.is_nought())
                    .map(|(sum, all)| sum.over(&all));
                *told = mean.or(same).map(|chance| chance.big());
            }
            // Of the roads on which the stray can happen at all.
            part.share = match (&whole, share) {
                (Some(whole), Some(share)) if !whole.is_nought() => Some(share.over(whole).big()),
                (Some(_) | None, _) => None,
            };
            part
        })
        .collect()
}
