//! What a slip does to the rest of the road: harmless, mendable or fatal, for every step and every slip that can be made there.

use super::got::Got;
use super::kind::SlipKind;
use super::search::{MOST_STEPS, Slip};
use super::state::{Case, Chance, State};
use crate::roads::{Choices, domain, pass, sample, unknown_start};
use crate::routine::{Routine, StopIndex, Value, World};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Of a kind of slip that has more ways than this at one moment (any card may fall) so many are looked at, spread over them all.
const MOST_WAYS: usize = 6;

/// What comes of a slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Effect {
    /// Every ending claim still holds on all roads that remain.
    Harmless,
    /// A mend of the routine, or another of its endings, makes it so.
    Mendable,
    /// That could not be decided.
    Undecided,
    /// Neither.
    Fatal,
}

impl Effect {
    /// As people say it, and in JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Harmless => "harmless",
            Self::Mendable => "mendable",
            Self::Undecided => "undecided",
            Self::Fatal => "fatal",
        }
    }
}

/// What was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Looked {
    /// Every table and every choice that a road can have before any step.
    All,
    /// Those of so many random roads.
    Roads(u64),
}

/// How much is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reach {
    /// Up to so many tables with a choice each are all looked at.
    pub all: usize,
    /// Else those of so many random roads.
    pub roads: u64,
}

/// One kind of slip at one step.
#[derive(Debug, Clone, PartialEq)]
pub struct Consequence {
    /// Where.
    pub stop: StopIndex,
    /// Which kind.
    pub kind: SlipKind,
    /// The worst that can come of it.
    pub effect: Effect,
    /// A slip of which that comes.
    pub example: Slip,
    /// How many were looked at, and of how many the worst came.
    pub looked: u64,
    /// So many times the worst came.
    pub worst: u64,
    /// The worst by what was chosen at this step, where something was; in the order of the choices.
    pub by_choice: Vec<(Value, Effect)>,
}

/// Judges slips one by one.
pub trait Judging {
    /// What comes of a slip at this stop: the table after it as written, where that can be done, and after the slip, both at the stop that comes
    /// next. Claims of the stop itself are still to be looked at.
    fn effect(&mut self, stop: StopIndex, right: Option<&World>, slipped: &World) -> Effect;
}

/// The consequences of every kind of slip at every step, in the order of the steps and of [`SlipKind::ALL`]. Each thread has a judge of its
/// own; they must all say the same.
#[must_use]
pub fn consequences<J: Judging>(
    routine: &Routine,
    reach: Reach,
    judge: impl Fn() -> J + Sync,
) -> (Vec<Consequence>, Looked) {
    let (moments, looked) = match every(routine, reach.all) {
        Some(moments) => (moments, Looked::All),
        None => (some(routine, reach.roads), Looked::Roads(reach.roads)),
    };
    let start = unknown_start(routine);
    let (choices, got) = (Choices::default(), Got::default());
    let case = Case {
        routine,
        start: &start,
        choices: &choices,
        until: None,
        got: &got,
        most_steps: MOST_STEPS,
    };
    let next = AtomicUsize::new(0);
    let mut judged: Vec<(usize, Vec<(Chance, Effect)>)> = (0..rayon::current_num_threads().max(1))
        .into_par_iter()
        .flat_map_iter(|_| {
            let mut judge = judge();
            let mut known: FxHashMap<(StopIndex, World), Effect> = FxHashMap::default();
            let mut judged = Vec::new();
            loop {
                let n = next.fetch_add(1, Ordering::Relaxed);
                let Some((world, choice)) = moments.get(n) else {
                    return judged;
                };
                let right = pass(routine, world, choice.as_ref()).ok();
                let state = case.at(world.clone());
                let slips = ways(case.slipped(&state, choice.as_ref()).0).into_iter();
                let effects = slips.map(|(slip, reached)| {
                    let effect = *known.entry((world.at, reached.world)).or_insert_with_key(
                        |(stop, slipped)| judge.effect(*stop, right.as_ref(), slipped),
                    );
                    (slip, effect)
                });
                judged.push((n, effects.collect()));
            }
        })
        .collect();
    judged.sort_unstable_by_key(|(n, _)| *n);
    let mut found: FxHashMap<(StopIndex, SlipKind), Consequence> = FxHashMap::default();
    for (n, effects) in judged {
        let (world, choice) = &moments[n];
        let stop = world.at;
        for (slip, effect) in effects {
            let one = found
                .entry((stop, slip.kind))
                .or_insert_with(|| Consequence {
                    stop,
                    kind: slip.kind,
                    effect,
                    example: Slip::of(0, (stop, 1), &slip),
                    looked: 0,
                    worst: 0,
                    by_choice: Vec::new(),
                });
            one.note(effect, choice.as_ref(), || Slip::of(0, (stop, 1), &slip));
        }
    }
    let mut all: Vec<Consequence> = found.into_values().collect();
    for one in &mut all {
        one.by_choice.sort();
    }
    all.sort_by_key(|one| (one.stop, one.kind));
    (all, looked)
}

impl Consequence {
    fn note(&mut self, effect: Effect, choice: Option<&Value>, slip: impl FnOnce() -> Slip) {
        self.looked += 1;
        if effect > self.effect {
            self.effect = effect;
            self.example = slip();
            self.worst = 0;
        }
        self.worst += u64::from(effect == self.effect);
        if let Some(choice) = choice {
            match self.by_choice.iter_mut().find(|(value, _)| value == choice) {
                Some((_, worst)) => *worst = effect.max(*worst),
                None => self.by_choice.push((choice.clone(), effect)),
            }
        }
    }
}

/// Of kinds with very many ways at a moment some, spread over all.
fn ways(slipped: Vec<(Chance, State)>) -> Vec<(Chance, State)> {
    let mut of_kind: FxHashMap<(u16, SlipKind), usize> = FxHashMap::default();
    for (slip, _) in &slipped {
        *of_kind.entry((slip.at, slip.kind)).or_default() += 1;
    }
    let mut met: FxHashMap<(u16, SlipKind), usize> = FxHashMap::default();
    slipped
        .into_iter()
        .filter(|(slip, _)| {
            let key = (slip.at, slip.kind);
            let all = of_kind.get(&key).copied().unwrap_or(0);
            let nth = met.entry(key).or_default();
            *nth += 1;
            all <= MOST_WAYS || (*nth - 1) * MOST_WAYS / all < *nth * MOST_WAYS / all
        })
        .collect()
}

type Moments = Vec<(World, Option<Value>)>;

/// Every table and choice before every step, where there are no more than so many and every card is known.
fn every(routine: &Routine, most: usize) -> Option<Moments> {
    if !routine.shuffled.is_empty() {
        return None;
    }
    let mut met: FxHashSet<World> = FxHashSet::default();
    let mut open = vec![unknown_start(routine)];
    let mut moments = Moments::new();
    while let Some(world) = open.pop() {
        if routine.stop(world.at).is_none() || !met.insert(world.clone()) {
            continue;
        }
        let choices: Vec<Option<Value>> = match domain(routine, &world).ok()? {
            None => vec![None],
            Some(fork) => {
                if fork.count() > u128::try_from(most - moments.len()).unwrap_or(0) {
                    return None;
                }
                fork.branches().map(Some).collect()
            }
        };
        for choice in choices {
            if moments.len() == most {
                return None;
            }
            open.push(pass(routine, &world, choice.as_ref()).ok()?);
            moments.push((world.clone(), choice));
        }
    }
    Some(moments)
}

/// The tables and choices of random roads, each once.
fn some(routine: &Routine, roads: u64) -> Moments {
    let mut met: FxHashSet<(World, Option<Value>)> = FxHashSet::default();
    let mut moments = Moments::new();
    for road in (0..roads).filter_map(|seed| sample(routine, seed).ok()) {
        for walked in road.walked {
            let moment = (walked.before, walked.choice.map(|(_, value)| value));
            if met.insert(moment.clone()) {
                moments.push(moment);
            }
        }
    }
    moments
}
