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
mod book;
mod chance;
mod fate;

use super::expand::Expander;
use super::follows::Next;
use super::report::Limits;
use super::shuffled::Lost;
use super::state::{Core, CoreId};
use super::watch::{Watch, reachable};
use crate::cards::Card;
use crate::roads::{Domain, domain, pass_among};
use crate::routine::{Fault, NameId, Routine, StopIndex, Value, World};
use crate::table::{Laid, PileId};
use anew::Hidden;
use book::Book;
use num_traits::ToPrimitive;
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;
use std::sync::Arc;

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
    book: Book,
    /// By core and stop: the core with that stop to come next.
    turned: FxHashMap<(CoreId, StopIndex), CoreId>,
    /// The state whose shuffle was listed last, and what it can lay down, unless that is too much: it is asked for twice in a row.
    last_listing: Option<(u32, Option<Arc<[Laying]>>)>,
    /// How many steps were taken so far, and up to how many a chance may take more.
    work: u64,
    most_work: u64,
    endings: Vec<StopIndex>,
    hidden: Hidden,
}

/// One packet that a free shuffle can lay down: the branch, the choice, in how many ways, of how many.
type Laying = (u64, Value, u64, u64);

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
        let hidden = Hidden::new(routine.shuffled.clone());
        // Cards that nothing tells apart are better listed: there are few packets of them.
        let follows = follow != Follow::None && hidden.cards().is_empty();
        let mut expander = Expander::new(routine, watch, follows, limits);
        if let Follow::Before(stop) = follow {
            expander.shuffles.list_from(stop);
        }
        Self {
            expander,
            book: Book::default(),
            turned: FxHashMap::default(),
            last_listing: None,
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
        let (core, cells) = (self.book.core(moment.0), self.book.cells(moment.0));
        self.expander.cores.world(core, cells)
    }

    /// Whether the moment is one of all packets that a free shuffle can give: its world has cards that stand for what came.
    #[must_use]
    pub fn is_followed(&self, moment: Moment) -> bool {
        self.core(moment.0).origin != 0
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
        self.core(moment.0).done.is_some()
    }

    /// The stop that comes next.
    #[must_use]
    pub fn stop_of(&self, moment: Moment) -> StopIndex {
        self.core(moment.0).at
    }

    /// What is remembered under a name, as far as anything to come reads it.
    #[must_use]
    pub fn value(&self, moment: Moment, name: NameId) -> Option<&Value> {
        self.core(moment.0).memory.get(name.index())?.as_ref()
    }

    /// How many cards a pile holds.
    #[must_use]
    pub fn size(&self, moment: Moment, pile: PileId) -> usize {
        let sizes = &self.core(moment.0).sizes;
        sizes
            .get(usize::from(pile.0))
            .copied()
            .map_or(0, usize::from)
    }

    /// The same moment with another stop to come next: one that the road did not lead to.
    pub fn turned_to(&mut self, moment: Moment, stop: StopIndex) -> Moment {
        let core = self.turned_core(moment, stop);
        let cells = self.book.cells(moment.0).to_vec();
        Moment(self.number(core, &cells))
    }

    /// The core of a moment with another stop to come next.
    fn turned_core(&mut self, moment: Moment, stop: StopIndex) -> CoreId {
        let core = self.book.core(moment.0);
        if let Some(turned) = self.turned.get(&(core, stop)) {
            return *turned;
        }
        let mut whole = self.expander.cores.core(core).clone();
        whole.at = stop;
        let turned = self.expander.cores.number(whole);
        self.turned.insert((core, stop), turned);
        turned
    }

    /// Whether a stop is a free shuffle.
    #[must_use]
    pub fn is_shuffle(&self, stop: StopIndex) -> bool {
        self.expander.shuffles.is_shuffle(stop)
    }

    /// Everything that can follow a moment if this stop comes next, one that the road did not lead to. As [`Self::onward`] of the moment
    /// turned to it; where that is one step, the turned moment itself is not kept.
    pub fn onward_by(&mut self, moment: Moment, stop: StopIndex) -> Option<Vec<Onward>> {
        let core = self.turned_core(moment, stop);
        let cells = self.book.cells(moment.0).to_vec();
        if self.is_shuffle(stop) || self.expander.splits_at(core, &cells) {
            let turned = Moment(self.number(core, &cells));
            return self.onward(turned);
        }
        self.expander.weighs = true;
        let mut steps = self.steps_from(core, &cells, None);
        if self.gave_up() {
            return None;
        }
        for step in &mut steps {
            step.weight = shortened(step.weight);
        }
        Some(steps)
    }

    /// Everything that can follow a moment when the next step is done; `None` where that cannot be worked out.
    pub fn onward(&mut self, moment: Moment) -> Option<Vec<Onward>> {
        self.expander.weighs = true;
        let mut found = Vec::new();
        let mut waiting = vec![(moment.0, (1_u128, 1_u128))];
        while let Some((n, share)) = waiting.pop() {
            let at = self.core(n).at;
            // A shuffle is not gone through branch by branch to find out.
            let splits = !self.expander.shuffles.is_shuffle(at)
                && self
                    .expander
                    .splits_at(self.book.core(n), self.book.cells(n));
            let steps = self.steps(n, None);
            if self.gave_up() {
                return None;
            }
            found.reserve(steps.len());
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

    /// The core of a state.
    fn core(&self, n: u32) -> &Core {
        self.expander.cores.core(self.book.core(n))
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
        self.shuffles(moment) && self.listing(moment.0).is_none()
    }

    /// The moment after the next step of a moment's world with this one of the choices that are open there; `None` where it cannot be done,
    /// or hangs on a face that nothing has fixed.
    pub fn by_choice(&mut self, world: &World, open: &Domain, choice: &Value) -> Option<Moment> {
        let next = pass_among(self.expander.routine, world, Some(open), Some(choice)).ok()?;
        Some(self.moment(next, Some(world.at)))
    }

    /// The world with cards of unknown order taken for one another as far as nothing tells them apart: no face is fixed, and nobody remembers
    /// them.
    fn alike(&self, world: &World) -> World {
        let mut alike = world.clone();
        let plain = |card: Card| {
            self.hidden.has(card)
                && world.face_of(card).is_none()
                && !world.memory.contains(&Some(Value::Card(card)))
        };
        let Some(first) = self
            .hidden
            .cards()
            .iter()
            .copied()
            .find(|card| plain(*card))
        else {
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

    /// What the free shuffle that comes next can lay down; `None` where that is too much.
    fn listing(&mut self, n: u32) -> Option<Arc<[Laying]>> {
        if let Some((last, listing)) = &self.last_listing
            && *last == n
        {
            return listing.clone();
        }
        let alike = self.alike(&self.world(Moment(n)));
        let listing = self.expander.listed_up_to(&alike, MOST_LISTED);
        let listing: Option<Arc<[Laying]>> = listing.map(Arc::from);
        self.last_listing = Some((n, listing.clone()));
        listing
    }

    /// What follows a free shuffle that comes next, where it is listed; `None` where it is not, or there is too much of it.
    fn listed(&mut self, n: u32) -> Option<Vec<Onward>> {
        if !self.shuffles(Moment(n)) {
            return None;
        }
        let listing = self.listing(n)?;
        let world = self.world(Moment(n));
        let open = domain(self.expander.routine, &world).ok()?;
        let mut onward = Vec::with_capacity(listing.len());
        for (branch, choice, count, of) in listing.iter() {
            let to = match pass_among(self.expander.routine, &world, open.as_ref(), Some(choice)) {
                Ok(next) => Some(self.moment(next, Some(world.at))),
                Err(Fault::Unfixed(_)) => return None,
                Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => None,
            };
            onward.push(Onward {
                branch: *branch,
                to,
                weight: (u128::from(*count), u128::from(*of)),
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
        numbered(
            &mut self.expander,
            &mut self.book,
            &self.hidden,
            core,
            cells,
        )
    }

    /// What follows a state; the face of a card fixed instead, where one is named or the step asks for it.
    fn steps(&mut self, n: u32, card: Option<Card>) -> Vec<Onward> {
        if card.is_none()
            && let Some(listed) = self.listed(n)
        {
            return listed;
        }
        let core = self.book.core(n);
        let cells = self.book.cells(n).to_vec();
        self.steps_from(core, &cells, card)
    }

    /// The same of a state that need not be in the book.
    fn steps_from(&mut self, core: CoreId, cells: &[u8], card: Option<Card>) -> Vec<Onward> {
        let (book, hidden) = (&mut self.book, &self.hidden);
        let mut onward = Vec::new();
        let mut receive = |expander: &mut Expander<'_>, next: Next<'_>| match next {
            Next::State {
                core,
                cells,
                times: _,
                share,
                branches,
                of,
            } => {
                let to = Moment(numbered(expander, book, hidden, core, cells));
                let share = share
                    .and_then(|share| Some((share.numer().to_u128()?, share.denom().to_u128()?)));
                onward.extend(branches.iter().map(|(branch, weight)| Onward {
                    branch: *branch,
                    to: Some(to),
                    weight: share.unwrap_or((u128::from(*weight), u128::from(of.max(1)))),
                }));
            }
            Next::Stuck { branches, of } => {
                onward.extend(branches.iter().map(|(branch, weight)| Onward {
                    branch: *branch,
                    to: None,
                    weight: (u128::from(*weight), u128::from(of.max(1))),
                }));
            }
        };
        let mut scratch = Vec::new();
        match card {
            None => self.expander.each(core, cells, &mut scratch, &mut receive),
            Some(card) => {
                let world = self.expander.cores.world(core, cells);
                self.expander
                    .split(&world, core, card, &mut scratch, &mut receive);
            }
        }
        onward
    }
}

/// The number of a state whose unknown cards are numbered in the order in which they lie.
fn numbered(
    expander: &mut Expander<'_>,
    book: &mut Book,
    hidden: &Hidden,
    core: CoreId,
    cells: &[u8],
) -> u32 {
    if !hidden.cards().is_empty()
        && expander.cores.core(core).origin == 0
        && let Some((core, cells)) = hidden.settled(&mut expander.cores, core, cells)
    {
        return book.number(core, &cells);
    }
    book.number(core, cells)
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
