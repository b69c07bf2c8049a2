//! The sets of tables that a performer can come to have before them: at each step, all that fit what was seen so far.
//!
//! Roads are gone wave by wave. What is kept of a road is the set of tables that fit its sightings, each with its chance; equal sets are one.
//! What can follow a table, and what it shows, is worked out once for all sets that it is in. Where a wave holds too many, a part drawn by
//! the seed is kept, and everything behind it is partial.
//!
//! In a part that comes again without a last round the chances never settle, since they hang on how many rounds there were. There and
//! behind it sets go without them, and the waves end when no new set comes; once a part only is kept of them, nobody goes round again.

use crate::proof::{Fraction, Judge, Moment, Onward};
use crate::roads::{Draw, Sighted, domain, seen};
use crate::routine::{Fork, ForkKind, Routine, Scene, Seen, Stop, StopIndex, Then, Value, World};
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Arc;

use super::ground::nexts;

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
    /// Each table, by the number of its world, with its chance among them; all alike where that is not known.
    pub(super) tables: Vec<(u32, Fraction)>,
    /// Whether the chances are known.
    pub(super) weighed: bool,
    /// The share of the roads that lead here, where it is known.
    pub(super) share: Option<Fraction>,
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

type Tables = Vec<(Moment, Fraction)>;

/// A set on its way.
#[derive(Debug, Clone)]
struct Going {
    /// The stop that it comes from.
    from: Option<StopIndex>,
    at: StopIndex,
    tables: Tables,
    weighed: bool,
    share: Option<Fraction>,
}

/// What a step shows: where the road goes on, the choice as far as it is seen, and the sights.
type Shown = (StopIndex, Vec<Option<Sighted>>);

/// One thing that can follow a table: the number of what it shows, the table, its share.
type Step = (u32, Moment, Fraction);

struct Walker<'j, 'r> {
    judge: &'j mut Judge<'r>,
    routine: &'r Routine,
    numbers: FxHashMap<Moment, u32>,
    /// What can follow each table.
    steps: FxHashMap<Moment, Option<Arc<[Step]>>>,
    shown: FxHashMap<Shown, u32>,
    /// By the number of what is shown: where the road goes on.
    to: Vec<StopIndex>,
    reach: Reach,
    budget: Budget,
    partial: bool,
}

fn is_endless(stop: &Stop) -> bool {
    stop.fork
        .as_ref()
        .is_some_and(|fork| matches!(fork.kind, ForkKind::Again { at_most: None }))
}

/// By stop: whether how many rounds there were has a say in the chances of the tables before it.
fn looped(routine: &Routine, own: usize) -> Vec<bool> {
    let mut looped = vec![false; routine.stops.len() + 1];
    let mut open: Vec<StopIndex> = Vec::new();
    for stop in routine
        .stops
        .iter()
        .take(own)
        .filter(|stop| is_endless(stop))
    {
        open.extend(nexts(routine, stop));
    }
    while let Some(at) = open.pop() {
        if let Some(slot) = looped.get_mut(at.index())
            && !std::mem::replace(slot, true)
        {
            open.extend(
                routine
                    .stop(at)
                    .into_iter()
                    .flat_map(|stop| nexts(routine, stop)),
            );
        }
    }
    looped
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
    let looped = looped(routine, own);
    let first = judge.moment(start, None);
    let mut walker = Walker {
        judge,
        routine,
        numbers: FxHashMap::default(),
        steps: FxHashMap::default(),
        shown: FxHashMap::default(),
        to: Vec::new(),
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
        from: None,
        at: walker.judge.stop_of(first),
        tables: vec![(first, Fraction::ONE)],
        weighed: true,
        share: Some(Fraction::ONE),
    }];
    let mut known: FxHashSet<(Option<StopIndex>, StopIndex, Vec<Moment>)> = FxHashSet::default();
    for number in 0..MOST_WAVES {
        wave = united(wave);
        walker.cut_down(&mut wave, number);
        for going in &wave {
            let new = going.weighed || known.insert((going.from, going.at, set(going)));
            if new {
                walker.come_from(going);
            }
        }
        wave.retain(|going| going.at.index() < own);
        for going in &mut wave {
            going.from = None;
            if looped[going.at.index()] {
                unweigh(going);
            }
        }
        wave = united(wave);
        wave.retain(|going| going.weighed || known.insert((None, going.at, set(going))));
        if wave.is_empty() {
            return walker.reach;
        }
        let mut next: Vec<Going> = Vec::new();
        for going in wave {
            if stop() {
                walker.partial = true;
                continue;
            }
            walker.step(&going, &mut next);
        }
        wave = next;
    }
    walker.reach.part_before.fill(true);
    walker.reach.part_after.fill(true);
    walker.reach
}

/// The tables of a set alone.
fn set(going: &Going) -> Vec<Moment> {
    going.tables.iter().map(|(moment, _)| *moment).collect()
}

/// Forgets the chances of a set.
fn unweigh(going: &mut Going) {
    going.weighed = false;
    going.share = None;
    for (_, chance) in &mut going.tables {
        *chance = Fraction::ONE;
    }
}

/// Equal sets become one.
fn united(sets: Vec<Going>) -> Vec<Going> {
    let mut places: FxHashMap<(Option<StopIndex>, StopIndex, Tables), usize> = FxHashMap::default();
    let mut united: Vec<Going> = Vec::new();
    for going in sets {
        let key = (going.from, going.at, going.tables.clone());
        match places.get(&key) {
            Some(place) => {
                let sum = &mut united[*place].share;
                *sum = match (sum.take(), going.share) {
                    (Some(one), Some(other)) => Some(one.plus(&other)),
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
                going.tables.sort_unstable_by_key(|(moment, _)| *moment);
                if going.weighed {
                    evened(&mut going.tables);
                }
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
            weighed: going.weighed,
            share: going.share.clone(),
        }
    }

    /// What can follow a table; `None` where that cannot be worked out.
    fn steps(&mut self, moment: Moment, stop: &Stop) -> Option<Arc<[Step]>> {
        if let Some(known) = self.steps.get(&moment) {
            return known.clone();
        }
        let found = self.judge.onward(moment).map(|onward| {
            let world = self.judge.world(moment);
            let mut steps = Vec::with_capacity(onward.len());
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
                let new = u32::try_from(self.to.len()).unwrap_or(u32::MAX);
                if !self.shown.contains_key(&key) {
                    self.to.push(key.0);
                }
                let key = *self.shown.entry(key).or_insert(new);
                steps.push((key, to, Fraction::of(part, of)));
            }
            Arc::from(steps)
        });
        self.steps.insert(moment, found.clone());
        found
    }

    /// Notes a set as one after the stop that it comes from.
    fn come_from(&mut self, going: &Going) {
        if let Some(from) = going.from {
            let after = self.belief(going);
            self.reach.after[from.index()].push(after);
            self.reach.part_after[from.index()] |= self.partial;
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
        let mut parts: FxHashMap<u32, FxHashMap<Moment, Fraction>> = FxHashMap::default();
        for (moment, chance) in &going.tables {
            let Some(steps) = self.steps(*moment, stop) else {
                self.partial = true;
                continue;
            };
            for (key, to, share) in steps.iter() {
                let chance = if going.weighed {
                    chance.times(share)
                } else {
                    Fraction::ONE
                };
                let sum = parts
                    .entry(*key)
                    .or_default()
                    .entry(*to)
                    .or_insert(Fraction::NOUGHT);
                *sum = sum.plus(&chance);
            }
        }
        let mut parts: Vec<(u32, FxHashMap<Moment, Fraction>)> = parts.into_iter().collect();
        parts.sort_unstable_by_key(|(key, _)| *key);
        for (key, tables) in parts {
            let to = self.to[key as usize];
            if self.partial
                && is_endless(stop)
                && matches!(stop.then, Then::Gate { again, .. } if again == to)
            {
                continue;
            }
            let mut tables: Tables = tables.into_iter().collect();
            tables.sort_unstable_by_key(|(moment, _)| *moment);
            let all = if going.weighed {
                evened(&mut tables)
            } else {
                Fraction::NOUGHT
            };
            let mut on = Going {
                from: Some(at),
                at: to,
                tables,
                weighed: going.weighed,
                share: going.share.as_ref().map(|share| share.times(&all)),
            };
            if !on.weighed {
                unweigh(&mut on);
            }
            next.push(on);
        }
    }
}

/// Makes chances sum to one, and gives what they summed to.
fn evened(tables: &mut Tables) -> Fraction {
    let all = tables
        .iter()
        .fold(Fraction::NOUGHT, |sum, (_, chance)| sum.plus(chance));
    if !all.is_nought() {
        for (_, chance) in tables {
            *chance = chance.over(&all);
        }
    }
    all
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
