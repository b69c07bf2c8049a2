//! Judging a given moment of a road: does every ending claim hold on all roads that remain from it, and what is the chance where
//! not.
//!
//! A proof begins at the start; here any world may be given, thousands of them for one routine. They are merged as in a proof, by what
//! is still to come, and numbered ([`Moment`]). What was found out about one is kept for all that lead to it.
//!
//! * **A fate is found depth first.** The first failure met ends the search: every state on the way to it is bad. Where none is met, all
//!   states seen are good; parts gone through again close circles, so that states are settled circle by circle (Tarjan 1972, "Depth-first
//!   search and linear graph algorithms").
//! * **Cards of unknown order are interchangeable** while nothing has fixed their faces, so they are numbered anew in the order in which
//!   they lie. A permutation of such cards leaves the chance of every road as it was.
//! * **Chances are worked out backwards**, each state's once (`chance`).
//! * **Free shuffles are followed** where that can be had, as in a proof; a moment may then be one packet of all that the shuffle can give.

mod anew;
mod chance;
mod fate;

use super::expand::Expander;
use super::follows::Next;
use super::fraction::Fraction;
use super::report::Limits;
use super::shuffled::Lost;
use super::state::{Core, CoreId, State};
use super::watch::{Watch, reachable};
use crate::cards::Card;
use crate::roads::pass;
use crate::routine::{Fault, NameId, Routine, StopIndex, Value, World};
use crate::table::{Laid, PileId};
use num_rational::BigRational;
use num_traits::ToPrimitive;
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;

/// A shuffle that can lay down more packets than this is not listed.
pub const MOST_LISTED: usize = 4_096;

/// So much may chances cost where nobody says how much.
const PATIENCE: u64 = 400_000;

/// Which free shuffles are followed; the others are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Follow {
    /// All that can be.
    All,
    /// Those of the stops before this one.
    Before(StopIndex),
    /// None.
    None,
}

/// A state of the routine, merged with all that nothing still to come can tell from it. Belongs to the judge that gave it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(u32);

/// Endings of a routine, by their index.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct EndingSet(u64);

impl EndingSet {
    fn with(self, index: usize) -> Self {
        Self(self.0 | 1 << index.min(63))
    }

    /// Both together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether the ending with this index is among them.
    #[must_use]
    pub fn has(self, index: usize) -> bool {
        self.0 >> index.min(63) & 1 == 1
    }

    /// Whether each of these is one of those.
    #[must_use]
    pub fn within(self, other: Self) -> bool {
        self.0 & !other.0 == 0
    }
}

/// What all roads from a moment come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fate {
    /// Every road keeps every claim and can be walked to its end: to one of these endings.
    Good(EndingSet),
    /// Some road breaks a claim, or cannot be walked on.
    Bad,
    /// The budget ran out, or a free shuffle could not be followed. Never to be taken for good.
    Undecided,
}

/// One thing that can follow a moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Onward {
    /// By this branch of the fork, counted from 0; 0 where nobody chooses.
    pub branch: u64,
    /// What follows; `None` where the step cannot be done.
    pub to: Option<Moment>,
    /// Its part of all that can follow: so much of so much.
    pub weight: (u128, u128),
}

/// Judges moments of a routine by the claims that it has. Whoever asks about endings only leaves the other claims out of the routine first.
pub struct Judge<'r> {
    expander: Expander<'r>,
    numbers: FxHashMap<State, u32>,
    states: Vec<State>,
    fates: Vec<Option<Fate>>,
    /// By state; none where it has no chance that can be worked out.
    chances: FxHashMap<u32, Option<Fraction>>,
    /// How many steps were taken so far, and up to how many a chance may take more.
    work: u64,
    most_work: u64,
    endings: Vec<StopIndex>,
    /// Cards of unknown order, rising.
    hidden: Vec<Card>,
}

/// What the expander gives: a state, the branches that lead there, the weight of all, and a chance of its own.
type Raw = (Option<State>, Vec<(u64, u64)>, u64, Option<BigRational>);

impl<'r> Judge<'r> {
    /// Nothing judged yet. These names and piles are kept at every stop, whatever the stops themselves read: mends may go by them.
    #[must_use]
    pub fn new(
        routine: &'r Routine,
        names: &BTreeSet<NameId>,
        piles: &BTreeSet<PileId>,
        follow: Follow,
        limits: &'r Limits<'r>,
    ) -> Self {
        let mut watch = Watch::of(routine);
        watch.keep(names, piles);
        let mut hidden = routine.shuffled.clone();
        hidden.sort_unstable();
        // Cards that nothing tells apart are better listed: there are few packets of them.
        let follows = follow != Follow::None && hidden.is_empty();
        let mut expander = Expander::new(routine, watch, follows, limits);
        if let Follow::Before(stop) = follow {
            expander.shuffles.list_from(stop);
        }
        Self {
            expander,
            numbers: FxHashMap::default(),
            states: Vec::new(),
            fates: Vec::new(),
            chances: FxHashMap::default(),
            work: 0,
            most_work: PATIENCE,
            endings: routine.endings.iter().map(|ending| ending.first).collect(),
            hidden,
        }
    }

    /// The routine that is judged by.
    #[must_use]
    pub fn routine(&self) -> &'r Routine {
        self.expander.routine
    }

    /// The moment of a world. `done` is the stop just done, whose claims are still to be looked at.
    pub fn moment(&mut self, mut world: World, done: Option<StopIndex>) -> Moment {
        let done = self.expander.claimed(done);
        let routine = self.expander.routine;
        world.memory.resize(routine.names.len(), None);
        if let Some(last) = routine.piles.len().checked_sub(1) {
            // The table holds every pile, the empty ones too, so that equal states are equal.
            world
                .table
                .pile_mut(PileId(u8::try_from(last).unwrap_or(u8::MAX)));
        }
        self.expander.watch.forget(&mut world, done);
        self.expander.watch.merge(&mut world, done);
        let from = Core::nothing(world.at);
        let mut cells = Vec::new();
        let core = self.expander.cores.pack(world, done, &from, &mut cells);
        Moment(self.number(core, &cells))
    }

    /// A world of the moment.
    #[must_use]
    pub fn world(&self, moment: Moment) -> World {
        let state = &self.states[moment.0 as usize];
        self.expander.cores.world(state.core, &state.cells)
    }

    /// Whether the moment is one of all packets that a free shuffle can give: its world has cards that stand for what came.
    #[must_use]
    pub fn is_followed(&self, moment: Moment) -> bool {
        let core = self.states[moment.0 as usize].core;
        self.expander.cores.core(core).origin != 0
    }

    /// Whether a followed shuffle may still come.
    #[must_use]
    pub fn may_follow(&self, moment: Moment) -> bool {
        let from = self.stop_of(moment).index();
        let shuffles = &self.expander.shuffles;
        reachable(self.expander.routine, from)
            .into_iter()
            .any(|n| u16::try_from(n).is_ok_and(|n| shuffles.follows(StopIndex(n))))
    }

    /// Whether claims of the stop just done are still to be looked at.
    #[must_use]
    pub fn is_pending(&self, moment: Moment) -> bool {
        let core = self.states[moment.0 as usize].core;
        self.expander.cores.core(core).done.is_some()
    }

    /// The stop that comes next.
    #[must_use]
    pub fn stop_of(&self, moment: Moment) -> StopIndex {
        let core = self.states[moment.0 as usize].core;
        self.expander.cores.core(core).at
    }

    /// The same moment with another stop to come next: one that the road did not lead to.
    pub fn turned_to(&mut self, moment: Moment, stop: StopIndex) -> Moment {
        let State { core, cells } = self.states[moment.0 as usize].clone();
        let mut core = self.expander.cores.core(core).clone();
        core.at = stop;
        let core = self.expander.cores.number(core);
        Moment(self.number(core, &cells))
    }

    /// Everything that can follow a moment when the next step is done; `None` where that cannot be worked out.
    pub fn onward(&mut self, moment: Moment) -> Option<Vec<Onward>> {
        self.expander.weighs = true;
        let mut found = Vec::new();
        let mut waiting = vec![(moment.0, (1_u128, 1_u128))];
        while let Some((n, share)) = waiting.pop() {
            let State { core, cells } = self.states[n as usize].clone();
            let at = self.expander.cores.core(core).at;
            // A shuffle is not gone through branch by branch to find out.
            let splits =
                !self.expander.shuffles.is_shuffle(at) && self.expander.splits_at(core, &cells);
            let steps = self.steps(n, None);
            if self.gave_up() {
                return None;
            }
            for step in steps {
                let (part, of) = step.weight;
                let weight = shortened((share.0.checked_mul(part)?, share.1.checked_mul(of)?));
                match step.to {
                    Some(to) if splits => {
                        debug_assert_eq!(self.stop_of(to), at);
                        waiting.push((to.0, weight));
                    }
                    Some(_) | None => found.push(Onward { weight, ..step }),
                }
            }
        }
        Some(found)
    }

    /// Whether what comes next is a free shuffle that must be listed.
    #[must_use]
    pub fn shuffles(&self, moment: Moment) -> bool {
        let at = self.stop_of(moment);
        let shuffles = &self.expander.shuffles;
        shuffles.is_shuffle(at) && !shuffles.follows(at) && !self.is_followed(moment)
    }

    /// Whether what comes next is a free shuffle that must be listed, and can lay down more packets than are listed.
    pub fn overflows(&mut self, moment: Moment) -> bool {
        if !self.shuffles(moment) {
            return false;
        }
        let world = self.world(moment);
        let alike = self.alike(&world);
        self.expander.listed_up_to(&alike, MOST_LISTED).is_none()
    }

    /// The moment after the next step with this choice; `None` where it cannot be done, or hangs on a face that nothing has fixed.
    pub fn by_choice(&mut self, moment: Moment, choice: &Value) -> Option<Moment> {
        let world = self.world(moment);
        let next = pass(self.expander.routine, &world, Some(choice)).ok()?;
        Some(self.moment(next, Some(world.at)))
    }

    /// The world with cards of unknown order taken for one another as far as nothing tells them apart: no face is fixed, and nobody remembers
    /// them.
    fn alike(&self, world: &World) -> World {
        let mut alike = world.clone();
        let plain = |card: Card| {
            self.hidden.binary_search(&card).is_ok()
                && world.face_of(card).is_none()
                && !world.memory.contains(&Some(Value::Card(card)))
        };
        let Some(first) = self.hidden.iter().copied().find(|card| plain(*card)) else {
            return alike;
        };
        for n in 0..alike.table.count() {
            let pile = PileId(u8::try_from(n).unwrap_or(u8::MAX));
            for laid in alike.table.pile_mut(pile).iter_mut() {
                if plain(laid.card()) {
                    *laid = Laid::new(first, laid.face_up());
                }
            }
        }
        alike
    }

    /// What a free shuffle that comes next can lay down, where it is listed; `None` where it is not, or there is too much of it.
    fn listed(&mut self, n: u32) -> Option<Vec<Onward>> {
        let State { core, cells } = self.states[n as usize].clone();
        let at = self.expander.cores.core(core).at;
        let origin = self.expander.cores.core(core).origin;
        let shuffles = &self.expander.shuffles;
        if origin != 0 || !shuffles.is_shuffle(at) || shuffles.follows(at) {
            return None;
        }
        let world = self.expander.cores.world(core, &cells);
        let alike = self.alike(&world);
        let listed = self.expander.listed_up_to(&alike, MOST_LISTED)?;
        let mut onward = Vec::with_capacity(listed.len());
        for (branch, choice, count, of) in listed {
            let to = match pass(self.expander.routine, &world, Some(&choice)) {
                Ok(next) => Some(self.moment(next, Some(at))),
                Err(Fault::Unfixed(_)) => return None,
                Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => None,
            };
            onward.push(Onward {
                branch,
                to,
                weight: (u128::from(count), u128::from(of)),
            });
        }
        Some(onward)
    }

    /// Whether the expander met something that it cannot go on from. It is ready for the next question afterwards.
    fn gave_up(&mut self) -> bool {
        match self.expander.lost.take() {
            None => false,
            Some(Lost::Unfollowable | Lost::NotInductive | Lost::Stopped) => true,
        }
    }

    fn number(&mut self, core: CoreId, cells: &[u8]) -> u32 {
        let state = match self.settled(core, cells) {
            Some(state) => state,
            None => State {
                core,
                cells: cells.into(),
            },
        };
        if let Some(n) = self.numbers.get(&state) {
            return *n;
        }
        let n = u32::try_from(self.states.len()).unwrap_or(u32::MAX);
        self.states.push(state.clone());
        self.fates.push(None);
        self.numbers.insert(state, n);
        n
    }

    /// The state with its unknown cards numbered in the order in which they lie; `None` where they are.
    fn settled(&mut self, core: CoreId, cells: &[u8]) -> Option<State> {
        if self.hidden.is_empty() || self.expander.cores.core(core).origin != 0 {
            return None;
        }
        let mut world = self.expander.cores.world(core, cells);
        let from = self.expander.cores.core(core).clone();
        if !anew::numbered(&self.hidden, &mut world) {
            return None;
        }
        let mut cells = Vec::new();
        let core = self
            .expander
            .cores
            .pack(world, from.done, &from, &mut cells);
        Some(State {
            core,
            cells: cells.into(),
        })
    }

    /// What follows a state; the face of a card fixed instead, where one is named or the step asks for it.
    fn steps(&mut self, n: u32, card: Option<Card>) -> Vec<Onward> {
        if card.is_none()
            && let Some(listed) = self.listed(n)
        {
            return listed;
        }
        let State { core, cells } = self.states[n as usize].clone();
        let mut raw: Vec<Raw> = Vec::new();
        let mut receive = |_: &mut Expander<'_>, next: Next<'_>| match next {
            Next::State {
                core,
                cells,
                times: _,
                share,
                branches,
                of,
            } => {
                let cells = cells.into();
                raw.push((Some(State { core, cells }), branches.to_vec(), of, share));
            }
            Next::Stuck { branches, of } => raw.push((None, branches.to_vec(), of, None)),
        };
        let mut scratch = Vec::new();
        match card {
            None => self.expander.each(core, &cells, &mut scratch, &mut receive),
            Some(card) => {
                let world = self.expander.cores.world(core, &cells);
                self.expander
                    .split(&world, core, card, &mut scratch, &mut receive);
            }
        }
        let mut onward = Vec::with_capacity(raw.len());
        for (state, branches, of, share) in raw {
            let to = state.map(|state| Moment(self.number(state.core, &state.cells)));
            let share = share.and_then(|share| {
                let (part, of) = (share.numer().to_u128()?, share.denom().to_u128()?);
                Some((part, of))
            });
            for (branch, weight) in branches {
                onward.push(Onward {
                    branch,
                    to,
                    weight: share.unwrap_or((u128::from(weight), u128::from(of.max(1)))),
                });
            }
        }
        onward
    }
}

/// What it costs to look at a claim on so many cards after a followed shuffle, where a step costs 1: the pairs of states of the
/// shuffle and the claim are about as many as the square of the cards, and each is reached by as many ways.
fn followed(cards: usize) -> u64 {
    let cards = cards as u64;
    cards.saturating_mul(cards).saturating_mul(cards) / 8
}

fn shortened((part, of): (u128, u128)) -> (u128, u128) {
    let common = num_integer::gcd(part, of).max(1);
    (part / common, of / common)
}
