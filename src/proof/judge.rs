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
//! * **Free shuffles are followed** where that can be had, as in a proof; a moment may then be one packet of all that the shuffle can give.

use super::expand::Expander;
use super::explore::broken;
use super::follows::Next;
use super::graph::{Graph, Taken};
use super::odds::{self, Failure};
use super::report::Limits;
use super::shuffled::Lost;
use super::state::{Core, CoreId, Cores, State};
use super::watch::{Watch, reachable};
use crate::cards::Card;
use crate::roads::{domain, pass};
use crate::routine::{Fault, ForkKind, NameId, Routine, Stop, StopIndex, Value, World};
use crate::table::{Laid, PileId};
use num_rational::BigRational;
use num_traits::ToPrimitive;
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;

/// A shuffle that can lay down more packets than this is not listed.
const MOST_LISTED: usize = 4_096;

/// So many ways of a shuffle are tried before it is listed.
const TRIED: u128 = 12;

/// A graph with more steps than this is not written out for a chance.
const MOST_WEIGHED: usize = 400_000;

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
    endings: Vec<StopIndex>,
    /// Cards of unknown order, rising.
    hidden: Vec<Card>,
}

/// What the expander gives: a state, the branches that lead there, the weight of all, and a chance of its own.
type Raw = (Option<State>, Vec<(u64, u64)>, u64, Option<BigRational>);

/// A state on the way of a search.
struct Frame {
    n: u32,
    onward: Vec<u32>,
    next: usize,
    index: u32,
    low: u32,
    endings: EndingSet,
}

impl<'r> Judge<'r> {
    /// Nothing judged yet. These names and piles are kept at every stop, whatever the stops themselves read: mends may go by them.
    /// `follow` says whether free shuffles are followed, or else listed.
    #[must_use]
    pub fn new(
        routine: &'r Routine,
        names: &BTreeSet<NameId>,
        piles: &BTreeSet<PileId>,
        follow: bool,
        limits: &'r Limits<'r>,
    ) -> Self {
        let mut watch = Watch::of(routine);
        watch.keep(names, piles);
        let mut hidden = routine.shuffled.clone();
        hidden.sort_unstable();
        Self {
            // Cards that nothing tells apart are better listed: there are few packets of them.
            expander: Expander::new(routine, watch, follow && hidden.is_empty(), limits),
            numbers: FxHashMap::default(),
            states: Vec::new(),
            fates: Vec::new(),
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

    /// Whether what comes next is a free shuffle that must be listed, and can lay down more packets than are listed.
    pub fn overflows(&mut self, moment: Moment) -> bool {
        let at = self.stop_of(moment);
        let shuffles = &self.expander.shuffles;
        if !shuffles.is_shuffle(at) || shuffles.follows(at) || self.is_followed(moment) {
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

    /// Whether a few ways of a free shuffle that comes next and must be listed show that it can go wrong: most that can, do soon.
    fn goes_wrong_soon(&mut self, n: u32) -> bool {
        let moment = Moment(n);
        let at = self.stop_of(moment);
        let shuffles = &self.expander.shuffles;
        if !shuffles.is_shuffle(at) || shuffles.follows(at) || self.is_followed(moment) {
            return false;
        }
        let world = self.world(moment);
        let Ok(Some(open)) = domain(self.expander.routine, &world) else {
            return false;
        };
        let count = open.count();
        (0..TRIED.min(count)).any(|k| {
            let Some(choice) = open.nth(count / TRIED.min(count) * k) else {
                return false;
            };
            let after = self.by_choice(moment, &choice);
            after.is_some_and(|after| self.fate(after) == Fate::Bad)
        })
    }

    /// What all roads from the moment come to.
    pub fn fate(&mut self, moment: Moment) -> Fate {
        if let Some(fate) = self.fates[moment.0 as usize] {
            return fate;
        }
        let fate = self.searched(moment.0);
        if fate == Fate::Undecided && !(self.expander.limits.stop)() {
            self.fates[moment.0 as usize] = Some(fate);
        }
        fate
    }

    /// By moment, the chance that all goes well on a random road from it; `None` where it cannot be worked out: too many states, a road
    /// that can come round again, or a free shuffle on the way that is followed and not listed.
    pub fn chances(&mut self, moments: &[Moment]) -> Option<Vec<BigRational>> {
        if moments.iter().any(|moment| self.cannot_weigh(*moment)) {
            return None;
        }
        let mut different: Vec<Moment> = moments.to_vec();
        different.sort_unstable();
        different.dedup();
        let starts = different
            .iter()
            .map(|moment| self.states[moment.0 as usize].clone())
            .collect();
        let graph = Graph::write_from(&mut self.expander, starts, MOST_WEIGHED, Taken::Apart);
        self.expander.weighs = false;
        if self.gave_up() {
            return None;
        }
        let graph = graph?;
        let cores = &self.expander.cores;
        let done = |n: usize| cores.core(graph.vertices[n].state.core).done;
        let kept = odds::kept(&graph, done, Failure::Any)?;
        moments
            .iter()
            .map(|moment| {
                let n = different.binary_search(moment).ok()?;
                kept.get(n).cloned()
            })
            .collect()
    }

    /// Whether a road from here may go round again for ever, comes by a followed shuffle, or needs a shuffle listed that is not.
    fn cannot_weigh(&mut self, moment: Moment) -> bool {
        let routine = self.expander.routine;
        let from = self.stop_of(moment).index();
        let endless = |stop: &Stop| {
            let fork = stop.fork.as_ref();
            fork.is_some_and(|fork| matches!(fork.kind, ForkKind::Again { at_most: None }))
        };
        let shuffles = &self.expander.shuffles;
        let followed = |n: usize| {
            let stop = u16::try_from(n).map(StopIndex);
            stop.is_ok_and(|stop| shuffles.follows(stop))
        };
        reachable(routine, from)
            .into_iter()
            .any(|n| endless(&routine.stops[n]) || followed(n))
            || self.is_followed(moment)
            || self.overflows(moment)
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
        if !numbered_anew(&self.hidden, &mut world) {
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

    /// Whether a claim that is still to be looked at breaks. A card whose face must be fixed first comes back.
    fn breaks(&mut self, n: u32) -> Result<Result<bool, Card>, Lost> {
        let State { core, cells } = self.states[n as usize].clone();
        let whole = self.expander.cores.core(core).clone();
        if whole.done.is_none() {
            return Ok(Ok(false));
        }
        if whole.origin != 0 {
            let world = self.expander.cores.world(core, &cells);
            return Ok(Ok(self.expander.breakable(&whole, &world)? != 0));
        }
        Ok(broken(&self.expander, core, &cells, &mut Cores::desk()).map(|broken| broken != 0))
    }

    /// A state opened: what follows it, or `None` where something goes wrong at once.
    fn opened(&mut self, n: u32, index: u32) -> Result<Option<Frame>, Lost> {
        let card = match self.breaks(n)? {
            Ok(true) => return Ok(None),
            Ok(false) => None,
            Err(card) => Some(card),
        };
        if self.goes_wrong_soon(n) {
            return Ok(None);
        }
        if self.overflows(Moment(n)) {
            return Err(Lost::Unfollowable);
        }
        let steps = self.steps(n, card);
        if let Some(lost) = self.expander.lost.take() {
            return Err(lost);
        }
        let at = self.expander.cores.core(self.states[n as usize].core).at;
        let ending = self.endings.iter().position(|first| *first == at);
        let mut onward = Vec::with_capacity(steps.len());
        for step in steps {
            match step.to {
                None => return Ok(None),
                Some(to) => {
                    if onward.last() != Some(&to.0) {
                        onward.push(to.0);
                    }
                }
            }
        }
        Ok(Some(Frame {
            n,
            onward,
            next: 0,
            index,
            low: index,
            endings: ending.map_or_else(EndingSet::default, |e| EndingSet::default().with(e)),
        }))
    }

    fn searched(&mut self, start: u32) -> Fate {
        let mut indices: FxHashMap<u32, u32> = FxHashMap::default();
        // States that a circle may still hold together.
        let mut open: Vec<u32> = Vec::new();
        let mut way: Vec<Frame> = Vec::new();
        let mut coming = Some(start);
        loop {
            if let Some(n) = coming.take() {
                if indices.len() % 256 == 255 && (self.expander.limits.stop)() {
                    return Fate::Undecided;
                }
                let index = u32::try_from(indices.len()).unwrap_or(u32::MAX);
                indices.insert(n, index);
                match self.opened(n, index) {
                    Err(_) => return Fate::Undecided,
                    Ok(None) => {
                        self.fates[n as usize] = Some(Fate::Bad);
                        return self.all_bad(&way);
                    }
                    Ok(Some(frame)) => {
                        open.push(n);
                        way.push(frame);
                    }
                }
            }
            let Some(frame) = way.last_mut() else {
                // The start was settled with the last circle.
                return self.fates[start as usize].unwrap_or(Fate::Undecided);
            };
            if let Some(to) = frame.onward.get(frame.next).copied() {
                frame.next += 1;
                match self.fates[to as usize] {
                    Some(Fate::Good(endings)) => frame.endings = frame.endings.and(endings),
                    Some(Fate::Bad) => return self.all_bad(&way),
                    Some(Fate::Undecided) => return Fate::Undecided,
                    None => match indices.get(&to) {
                        Some(index) => frame.low = frame.low.min(*index),
                        None => coming = Some(to),
                    },
                }
                continue;
            }
            let Some(done) = way.pop() else { continue };
            if done.low == done.index {
                while let Some(n) = open.pop() {
                    self.fates[n as usize] = Some(Fate::Good(done.endings));
                    if n == done.n {
                        break;
                    }
                }
            }
            if let Some(before) = way.last_mut() {
                before.low = before.low.min(done.low);
                before.endings = before.endings.and(done.endings);
            }
        }
    }

    fn all_bad(&mut self, way: &[Frame]) -> Fate {
        for frame in way {
            self.fates[frame.n as usize] = Some(Fate::Bad);
        }
        Fate::Bad
    }
}

fn shortened((part, of): (u128, u128)) -> (u128, u128) {
    let common = num_integer::gcd(part, of).max(1);
    (part / common, of / common)
}

/// Numbers unknown cards anew: those that lie on the table in the order in which they lie, then those that are remembered, then the others by
/// what is printed on them. Whether that changes anything.
fn numbered_anew(hidden: &[Card], world: &mut World) -> bool {
    let mut order: Vec<Card> = Vec::with_capacity(hidden.len());
    let is_hidden = |card: &Card| hidden.binary_search(card).is_ok();
    let laid = world.table.piles().flat_map(|(_, pile)| pile.iter());
    order.extend(laid.map(|laid| laid.card()).filter(is_hidden));
    for value in world.memory.iter().flatten() {
        if let Value::Card(card) = value
            && is_hidden(card)
            && !order.contains(card)
        {
            order.push(*card);
        }
    }
    let mut rest: Vec<Card> = hidden
        .iter()
        .copied()
        .filter(|card| !order.contains(card))
        .collect();
    rest.sort_by_key(|card| world.faces.get(card.index()).copied().flatten());
    order.extend(rest);
    if order == hidden {
        return false;
    }
    let new: FxHashMap<Card, Card> = order.iter().copied().zip(hidden.iter().copied()).collect();
    for n in 0..world.table.count() {
        let pile = PileId(u8::try_from(n).unwrap_or(u8::MAX));
        for laid in world.table.pile_mut(pile).iter_mut() {
            if let Some(card) = new.get(&laid.card()) {
                *laid = Laid::new(*card, laid.face_up());
            }
        }
    }
    for value in world.memory.iter_mut().flatten() {
        if let Value::Card(card) = value
            && let Some(as_now) = new.get(card)
        {
            *card = *as_now;
        }
    }
    let before = world.faces.clone();
    for (card, as_now) in &new {
        if let Some(slot) = world.faces.get_mut(as_now.index()) {
            *slot = before.get(card.index()).copied().flatten();
        }
    }
    true
}
