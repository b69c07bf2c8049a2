//! Walking a road layer by layer, one step at a time, with every slip that can be made at each step.
//!
//! States that are alike are one state, with all the slips that lead to it; so most slips are followed for a step or two and not to the
//! end. What no slip at all leads to is kept apart: a slip that comes back to it shows in no packet.

use super::hands::Doing;
use super::kind::SlipKind;
use super::leap::{Leaps, Waiting};
use super::prior::weight;
use super::search::Slip;
use super::state::{Case, State, Stuck};
use super::wrong::Wrong;
use crate::cards::Card;
use crate::routine::Scene;
use hashbrown::HashTable;
use hashbrown::hash_table::Entry;
use rayon::prelude::*;
use rustc_hash::{FxBuildHasher, FxHashMap};
use std::hash::BuildHasher;

/// So many states take their step before it is asked again whether there were too many steps.
const AT_ONCE: usize = 4_096;
/// Fewer states than these are not worth a thread.
const LEAST_ALONE: usize = 64;

/// How likely a state is, with the slips that lead to it.
#[derive(Debug, Clone, Default)]
pub(super) struct Tag {
    /// Without a slip.
    pub(super) right: f64,
    /// With each of these.
    pub(super) slips: Vec<(u32, f64)>,
}

impl Tag {
    fn add(&mut self, slip: u32, likely: f64) {
        match self.slips.iter_mut().find(|(id, _)| *id == slip) {
            Some((_, sum)) => *sum += likely,
            None => self.slips.push((slip, likely)),
        }
    }
}

/// States after so many steps.
#[derive(Debug, Default)]
pub(super) struct Layer {
    /// The hash and the place of each.
    places: HashTable<(u64, usize)>,
    pub(super) states: Vec<(State, Tag)>,
}

impl Layer {
    fn tag(&mut self, hash: u64, state: State) -> &mut Tag {
        let states = &mut self.states;
        let same = |&(its, at): &(u64, usize)| its == hash && states[at].0 == state;
        let at = match self.places.entry(hash, same, |&(its, _)| its) {
            Entry::Occupied(there) => there.get().1,
            Entry::Vacant(free) => {
                free.insert((hash, states.len()));
                states.push((state, Tag::default()));
                states.len() - 1
            }
        };
        &mut states[at].1
    }

    /// A slip that shows in nothing is none.
    fn settle(&mut self) {
        self.places = HashTable::new();
        for (_, tag) in &mut self.states {
            if tag.right > 0.0 {
                tag.slips.clear();
            }
        }
    }
}

/// What is looked for on a walk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Looking {
    /// Whether the packet is right.
    Rightness,
    /// Single slips too, and a card, if it is missing, that may have left the table before any step.
    ForSlips(Option<Card>),
    /// The same, with every state on the way of each slip.
    ForPairs,
}

impl Looking {
    /// The card that may have left, where slips are looked for.
    fn for_slips(self) -> Option<Option<Card>> {
        match self {
            Self::Rightness => None,
            Self::ForSlips(lost) => Some(lost),
            Self::ForPairs => Some(None),
        }
    }
}

/// All that was walked.
#[derive(Debug, Default)]
pub(super) struct Walk {
    /// The slips, by number.
    pub(super) slips: Vec<Slip>,
    pub(super) layers: Vec<Layer>,
    pub(super) complete: bool,
}

impl Walk {
    /// Walks the road with no slip, or with one at most.
    pub(super) fn new(case: &Case<'_>, looking: Looking) -> Self {
        let mut walk = Self {
            complete: true,
            ..Self::default()
        };
        let mut ids: FxHashMap<Slip, u32> = FxHashMap::default();
        let mut first = Layer::default();
        let begin = case.begin();
        first.tag(hash(&begin), begin).right = 1.0;
        first.settle();
        walk.layers.push(first);
        let mut steps = 0_u64;
        let leaps = matches!(looking, Looking::ForSlips(_)).then(|| Leaps::of(case));
        let mut waiting: Vec<(usize, Waiting<Tag>)> = Vec::new();
        loop {
            let nth = u16::try_from(walk.layers.len() - 1).unwrap_or(u16::MAX);
            let Some(now) = walk.layers.last() else {
                return walk;
            };
            let done = now.states.iter().all(|(state, _)| case.done(state));
            if done && waiting.is_empty() {
                return walk;
            }
            let mut next = Layer::default();
            for some in now.states.chunks(AT_ONCE) {
                if steps > case.most_steps || walk.layers.len() > crate::roads::LONGEST_ROAD {
                    walk.complete = false;
                    break;
                }
                let gone: Vec<On> = some
                    .par_iter()
                    .with_min_len(LEAST_ALONE)
                    .map(|(state, tag)| on(case, (state, tag), nth, looking))
                    .collect();
                for on in gone {
                    walk.complete &= on.followed;
                    steps += on.taken;
                    for reached in on.reached {
                        let there = next.tag(reached.hash, reached.state);
                        there.right += reached.right;
                        for (slip, likely) in reached.slips {
                            there.add(slip, likely);
                        }
                        if let Some((slip, likely)) = reached.slipped {
                            let slips = &mut walk.slips;
                            let id = *ids.entry(slip).or_insert_with_key(|slip| {
                                slips.push(slip.clone());
                                u32::try_from(slips.len() - 1).unwrap_or(u32::MAX)
                            });
                            there.add(id, likely);
                        }
                    }
                }
            }
            let here = walk.layers.len();
            for (_, come) in waiting.extract_if(.., |(layer, _)| *layer == here) {
                let there = next.tag(hash(&come.state), come.state);
                for (slip, likely) in come.with.slips {
                    there.add(slip, likely);
                }
            }
            next.settle();
            if let Some(leaps) = leaps.as_ref().filter(|_| steps <= case.most_steps) {
                let (gone, taken) = leaps.leap(case, &mut next.states, |tag| tag.right <= 0.0);
                steps += taken + gone.len() as u64;
                waiting.extend(gone.into_iter().map(|one| (here + one.over, one)));
            }
            walk.layers.push(next);
        }
    }
}

fn hash(state: &State) -> u64 {
    FxBuildHasher.hash_one(state)
}

/// Where a step led from one state.
#[derive(Default)]
struct On {
    reached: Vec<Reached>,
    /// Whether all of it could be followed.
    followed: bool,
    /// How many steps were taken.
    taken: u64,
}

/// A state that was reached, and how likely it is that way.
struct Reached {
    hash: u64,
    state: State,
    right: f64,
    /// With slips made before.
    slips: Vec<(u32, f64)>,
    /// With a slip made at this step.
    slipped: Option<(Slip, f64)>,
}

impl Reached {
    fn of(state: State) -> Self {
        Self {
            hash: hash(&state),
            state,
            right: 0.0,
            slips: Vec::new(),
            slipped: None,
        }
    }
}

impl On {
    fn keep(&mut self, reached: Result<State, Stuck>, with: impl FnOnce(Reached) -> Reached) {
        match reached {
            Ok(state) => self.reached.push(with(Reached::of(state))),
            Err(stuck) => self.followed &= stuck == Stuck::Ended,
        }
    }
}

/// One step on from a state, as written and with every slip.
fn on(case: &Case<'_>, (state, tag): (&State, &Tag), nth: u16, looking: Looking) -> On {
    let mut on = On {
        followed: true,
        ..On::default()
    };
    let as_before = |chance: f64| {
        move |there: Reached| Reached {
            right: tag.right * chance,
            slips: tag.slips.iter().map(|(id, w)| (*id, w * chance)).collect(),
            ..there
        }
    };
    if case.done(state) {
        on.keep(Ok(state.clone()), as_before(1.0));
        return on;
    }
    let here = case.coming(state);
    let branches = match case.branches(state) {
        Ok(branches) => branches,
        Err(stuck) => {
            on.followed = stuck == Stuck::Ended;
            return on;
        }
    };
    for (state, choice, chance) in branches {
        on.taken += 1;
        let choice = choice.as_ref();
        on.keep(case.step(&state, choice, &[]), as_before(chance));
        let right = tag.right * chance;
        let Some(lost) = looking.for_slips() else {
            continue;
        };
        if right <= 0.0 {
            continue;
        }
        let (slipped, all) = case.slipped(&state, choice);
        on.taken += slipped.len() as u64;
        on.followed &= all;
        for (slip, reached) in slipped {
            on.keep(Ok(reached), |there| Reached {
                slipped: Some((Slip::of(nth, here, &slip), right * slip.weight)),
                ..there
            });
        }
        if let Some(without) = lost.and_then(|card| without(case, &state, card)) {
            let slip = Slip {
                nth,
                stop: here.0,
                visit: here.1,
                moment: 0,
                doing: Doing::Step,
                wrong: Wrong::Lost,
                kind: SlipKind::Lost,
            };
            on.keep(case.step(&without, choice, &[]), |there| Reached {
                slipped: Some((slip, right * weight(SlipKind::Lost))),
                ..there
            });
        }
    }
    on
}

/// The same table without a card, told by its print.
fn without(case: &Case<'_>, state: &State, print: Card) -> Option<State> {
    let scene = Scene {
        routine: case.routine,
        world: &state.world,
    };
    let card = scene.bearing(print).ok()?;
    let (pile, place) = state.world.table.find(card)?;
    let mut state = state.clone();
    state.world.table.pile_mut(pile).remove(place.index()?)?;
    Some(state)
}

impl Walk {
    /// The states after the last step.
    pub(super) fn ends(&self) -> &[(State, Tag)] {
        self.layers.last().map_or(&[], |layer| &layer.states)
    }

    pub(super) fn slip(&self, id: u32) -> Option<&Slip> {
        self.slips.get(usize::try_from(id).ok()?)
    }
}

#[cfg(test)]
mod tests;
