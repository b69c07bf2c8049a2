//! The sets of tables that a performer can come to have before them: at each step, all that fit what was seen so far.
//!
//! Roads are gone wave by wave. What is kept of a road is the set of tables that fit its sightings, each with its chance; equal sets are one.
//! Where a wave holds too many, a part drawn by the seed is kept, and everything behind it is partial. In a part without a last round the
//! waves end when no new set comes, or with the budget.

use crate::proof::{Judge, Moment, Onward};
use crate::roads::{Draw, Sighted, domain, seen};
use crate::routine::{Fork, ForkKind, Routine, Scene, Seen, Stop, StopIndex, Value, World};
use num_rational::BigRational;
use num_traits::{One, Zero};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

use super::rescuer::share;

/// No more waves than this are gone.
const MOST_WAVES: usize = 400;

/// How much of the roads is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Budget {
    /// The most tables of one set.
    pub(super) set: usize,
    /// The most tables of one wave, in all its sets.
    pub(super) wave: usize,
    /// Where what is kept is drawn from.
    pub(super) seed: u64,
}

/// A set of tables that fit what was seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Belief {
    /// Each table with its chance among them: the number of a world.
    pub(super) tables: Vec<(u32, BigRational)>,
    /// The share of the roads that lead here, where it is known.
    pub(super) share: Option<BigRational>,
}

/// Everything that can be come to.
#[derive(Debug, Default)]
pub(super) struct Reach {
    /// The worlds, by number.
    pub(super) worlds: Vec<World>,
    /// By stop: the sets before it.
    pub(super) before: Vec<Vec<Belief>>,
    /// By stop: the sets right after it.
    pub(super) after: Vec<Vec<Belief>>,
    /// By stop: whether the sets before it are only a part of those that there are.
    pub(super) part_before: Vec<bool>,
    /// By stop: the same for those after it.
    pub(super) part_after: Vec<bool>,
}

type Tables = Vec<(Moment, BigRational)>;

/// A set on its way.
#[derive(Debug, Clone)]
struct Going {
    at: StopIndex,
    tables: Tables,
    share: Option<BigRational>,
}

/// What a step shows: where the road goes on, the choice as far as it is seen, and the sights.
type Shown = (StopIndex, Vec<Option<Sighted>>);

struct Walker<'j, 'r> {
    judge: &'j mut Judge<'r>,
    routine: &'r Routine,
    numbers: FxHashMap<Moment, u32>,
    reach: Reach,
    budget: Budget,
    partial: bool,
}

/// Goes all roads of the ground's own stops; `own` says how many stops those are.
pub(super) fn reach(
    judge: &mut Judge<'_>,
    start: World,
    own: usize,
    budget: Budget,
    stop: &dyn Fn() -> bool,
) -> Reach {
    let routine = judge.routine();
    let unbounded = |stop: &Stop| {
        stop.fork
            .as_ref()
            .is_some_and(|fork| matches!(fork.kind, ForkKind::Again { at_most: None }))
    };
    let endless = routine.stops[..own].iter().any(unbounded);
    let first = judge.moment(start, None);
    let one = BigRational::one();
    let mut walker = Walker {
        judge,
        routine,
        numbers: FxHashMap::default(),
        reach: Reach {
            before: vec![Vec::new(); own],
            after: vec![Vec::new(); own],
            part_before: vec![false; own],
            part_after: vec![false; own],
            ..Reach::default()
        },
        budget,
        partial: false,
    };
    let mut wave = vec![Going {
        at: walker.judge.stop_of(first),
        tables: vec![(first, one.clone())],
        share: (!endless).then_some(one),
    }];
    let mut known: FxHashSet<(StopIndex, Tables)> = FxHashSet::default();
    for number in 0..MOST_WAVES {
        wave.retain(|going| {
            going.at.index() < own && (!endless || known.insert((going.at, going.tables.clone())))
        });
        if wave.is_empty() {
            return walker.reach;
        }
        walker.cut_down(&mut wave, number);
        let mut next: Vec<Going> = Vec::new();
        for going in wave {
            if stop() {
                walker.partial = true;
                continue;
            }
            walker.step(&going, &mut next);
        }
        wave = united(next);
    }
    walker.reach.part_before.fill(true);
    walker.reach.part_after.fill(true);
    walker.reach
}

/// Equal sets become one.
fn united(sets: Vec<Going>) -> Vec<Going> {
    let mut places: FxHashMap<(StopIndex, Tables), usize> = FxHashMap::default();
    let mut united: Vec<Going> = Vec::new();
    for going in sets {
        let key = (going.at, going.tables.clone());
        match places.get(&key) {
            Some(place) => {
                let sum = &mut united[*place].share;
                *sum = match (sum.take(), going.share) {
                    (Some(one), Some(other)) => Some(one + other),
                    (None, _) | (_, None) => None,
                };
            }
            None => {
                places.insert(key, united.len());
                united.push(going);
            }
        }
    }
    united
}

impl Walker<'_, '_> {
    /// Keeps what the budget allows.
    fn cut_down(&mut self, wave: &mut Vec<Going>, number: usize) {
        let visit = u32::try_from(number).unwrap_or(u32::MAX);
        let mut draw = Draw::for_step(self.budget.seed, "rescue", visit);
        let size: usize = wave.iter().map(|going| going.tables.len()).sum();
        if size > self.budget.wave {
            self.partial = true;
            draw.shuffle(wave);
            let mut left = self.budget.wave;
            wave.retain(|going| {
                let fits = going.tables.len() <= left || left == self.budget.wave;
                if fits {
                    left = left.saturating_sub(going.tables.len());
                }
                fits
            });
        }
        for going in wave.iter_mut() {
            if going.tables.len() > self.budget.set {
                self.partial = true;
                draw.shuffle(&mut going.tables);
                going.tables.truncate(self.budget.set);
                evened(&mut going.tables);
            }
        }
        if self.partial {
            for going in wave {
                going.share = None;
            }
        }
    }

    fn belief(&mut self, going: &Going) -> Belief {
        let mut tables = Vec::with_capacity(going.tables.len());
        for (moment, chance) in &going.tables {
            let new = u32::try_from(self.reach.worlds.len()).unwrap_or(u32::MAX);
            let number = *self.numbers.entry(*moment).or_insert(new);
            if number == new {
                self.reach.worlds.push(self.judge.world(*moment));
            }
            tables.push((number, chance.clone()));
        }
        Belief {
            tables,
            share: going.share.clone(),
        }
    }

    /// Takes the step from a set; every set that can be told apart afterwards is handed on.
    fn step(&mut self, going: &Going, next: &mut Vec<Going>) {
        let at = going.at;
        let Some(stop) = self.routine.stop(at) else {
            return;
        };
        let before = self.belief(going);
        self.reach.before[at.index()].push(before);
        self.reach.part_before[at.index()] |= self.partial;
        let mut parts: BTreeMap<Shown, FxHashMap<Moment, BigRational>> = BTreeMap::new();
        for (moment, chance) in &going.tables {
            let world = self.judge.world(*moment);
            let Some(onward) = self.judge.onward(*moment) else {
                self.partial = true;
                continue;
            };
            for Onward {
                branch,
                to,
                weight: (part, of),
            } in onward
            {
                // A branch that nobody takes can still be taken; it has no part in the chances.
                let Some(to) = to else { continue };
                let chosen = chosen(self.routine, stop, &world, branch);
                let after = self.judge.world(to);
                let shown = shown(self.routine, stop, chosen, &after);
                let key = (self.judge.stop_of(to), shown);
                *parts
                    .entry(key)
                    .or_default()
                    .entry(to)
                    .or_insert_with(BigRational::zero) += chance * share(part, of);
            }
        }
        for ((to, _), tables) in parts {
            let mut tables: Tables = tables.into_iter().collect();
            tables.sort_unstable();
            let all: BigRational = tables.iter().map(|(_, chance)| chance).sum();
            if !all.is_zero() {
                for (_, chance) in &mut tables {
                    *chance /= &all;
                }
            }
            let on = Going {
                at: to,
                tables,
                share: going.share.as_ref().map(|share| share * all),
            };
            let after = self.belief(&on);
            self.reach.after[at.index()].push(after);
            self.reach.part_after[at.index()] |= self.partial;
            next.push(on);
        }
    }
}

/// Makes chances sum to one.
fn evened(tables: &mut Tables) {
    tables.sort_unstable();
    let all: BigRational = tables.iter().map(|(_, chance)| chance).sum();
    if !all.is_zero() {
        for (_, chance) in tables {
            *chance /= &all;
        }
    }
}

/// The choice of a branch, and the fork, where the performer sees anything of it.
pub(super) fn chosen<'s>(
    routine: &Routine,
    stop: &'s Stop,
    world: &World,
    branch: u64,
) -> Option<(&'s Fork, Value)> {
    let fork = stop
        .fork
        .as_ref()
        .filter(|fork| fork.seen != Seen::Nothing)?;
    let open = domain(routine, world).ok()??;
    Some((fork, open.nth(u128::from(branch))?))
}

/// What the performer sees of a step, on the world after it; nothing is known of what cannot be told there.
pub(super) fn shown(
    routine: &Routine,
    stop: &Stop,
    chosen: Option<(&Fork, Value)>,
    after: &World,
) -> Vec<Option<Sighted>> {
    let mut shown = Vec::new();
    if let Some((fork, value)) = chosen {
        match &fork.seen {
            Seen::All => shown.push(Some(Sighted::Choice(fork.name, value))),
            Seen::Nothing => {}
            Seen::These(parts) => {
                let mut world = after.clone();
                if let Some(slot) = world.memory.get_mut(fork.name.index()) {
                    *slot = Some(value);
                }
                for (index, part) in parts.iter().enumerate() {
                    let value = part.value(Scene {
                        routine,
                        world: &world,
                    });
                    shown.push(value.ok().map(|value| Sighted::Part {
                        name: fork.name,
                        index,
                        value,
                    }));
                }
            }
        }
    }
    if let Some(reply) = &stop.reply {
        let scene = Scene {
            routine,
            world: after,
        };
        let told = after.value(reply.name).cloned();
        let value = told.or_else(|| reply.is.value(scene).ok());
        shown.push(value.map(|value| Sighted::Reply(reply.name, value)));
    }
    shown.extend(
        seen(routine, after, &stop.sights)
            .into_iter()
            .map(Result::ok),
    );
    shown
}
