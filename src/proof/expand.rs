//! One step from a state to all that can follow it.
//!
//! Where a step hangs on nothing printed on a card, what it does is worked out once for each core and applied to the cells of
//! every state; elsewhere each state takes the step on its own. Either way the step itself is [`crate::roads`]'s.

use super::induct::Part;
use super::report::Limits;
use super::shuffled::{Lost, Shuffles};
use super::state::{Core, CoreId, Cores, Plan, State};
use super::watch::Watch;
use crate::cards::Card;
use crate::roads::{Domain, domain, pass, unknown_start};
use crate::routine::{Fault, Routine, StopIndex, Value, World};
use crate::table::{Laid, PileId};
use num_bigint::BigUint;
use num_rational::BigRational;
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A fork with more branches than this is gone through state by state.
const MOST_KEPT: u128 = 4_096;

/// A shuffle with more ways than this is listed by what it can lay down, not by how it is done.
const MOST_WEAVES_KEPT: u128 = 64;

/// The number of a plan.
type PlanId = u32;

/// A step, or several that do the same, from every state of a core.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Arrow {
    /// The core it leads to.
    pub(super) to: CoreId,
    /// What it does to the cells.
    pub(super) plan: PlanId,
    /// The branches that do this, each with its weight.
    pub(super) branches: Vec<(u64, u64)>,
}

/// What follows the states of a core.
#[derive(Debug)]
pub(super) enum Follows {
    /// Nothing: the road has ended.
    End,
    /// The same for all: these arrows.
    Arrows(Arrows),
    /// It hangs on the cards: each state on its own.
    Open,
}

/// The arrows of a core.
#[derive(Debug, Default)]
pub(super) struct Arrows {
    /// In the order of their first branches.
    pub(super) arrows: Vec<Arrow>,
    /// All weights together.
    pub(super) weights: u64,
    /// The branches with which it cannot be done, each with its weight.
    pub(super) lost: Vec<(u64, u64)>,
}

/// One thing that can follow a state.
#[derive(Debug)]
pub(super) enum Next<'a> {
    /// A state, by so many branches of so much weight out of so much.
    State {
        /// Its core.
        core: CoreId,
        /// Its cells.
        cells: &'a [u8],
        /// How many ways each of the branches stands for: more than one only where an unknown card is fixed.
        times: u64,
        /// The chance of it, where it is not the share of the branches' weights: a token of a followed shuffle is fixed.
        share: Option<BigRational>,
        /// The branches that lead there, each with its weight.
        branches: &'a [(u64, u64)],
        /// The weight of all that can follow.
        of: u64,
    },
    /// The step cannot be done by so many branches.
    Stuck {
        /// Which, each with its weight.
        branches: &'a [(u64, u64)],
        /// The weight of all that can follow.
        of: u64,
    },
}

/// Takes steps, and keeps what can be kept of them.
pub(super) struct Expander<'r> {
    /// The routine.
    pub(super) routine: &'r Routine,
    /// What it looks at.
    pub(super) watch: Watch,
    /// The cores met.
    pub(super) cores: Cores,
    /// What is known of followed shuffles.
    pub(super) shuffles: Shuffles,
    /// What may be used.
    pub(super) limits: &'r Limits<'r>,
    /// Whether chances are wanted, and not only what is possible.
    pub(super) weighs: bool,
    /// Why it cannot go on, once it cannot: what it gave since is not all there is.
    pub(super) lost: Option<Lost>,
    /// How many more branches it may take one by one.
    pub(super) patience: u64,
    /// The parts that are gone through by induction.
    pub(super) parts: Vec<Part>,
    /// The gates of those that were.
    pub(super) by_induction: BTreeSet<StopIndex>,
    /// The stops inside them.
    pub(super) inside: BTreeSet<StopIndex>,
    /// How many steps were taken inside them.
    pub(super) visited: u64,
    plans: Vec<Plan>,
    plan_numbers: FxHashMap<Plan, PlanId>,
    follows: Vec<Option<Arc<Follows>>>,
}

impl<'r> Expander<'r> {
    /// Nothing taken yet.
    pub(super) fn new(
        routine: &'r Routine,
        watch: Watch,
        follow: bool,
        limits: &'r Limits<'r>,
    ) -> Self {
        // A followed shuffle gives every card on the table a second number.
        let cards = routine.pack.size() * 2;
        Self {
            routine,
            watch,
            cores: Cores::new(cards),
            shuffles: Shuffles::new(routine, follow),
            limits,
            weighs: false,
            lost: None,
            patience: u64::MAX,
            parts: Vec::new(),
            by_induction: BTreeSet::new(),
            inside: BTreeSet::new(),
            visited: 0,
            plans: Vec::new(),
            plan_numbers: FxHashMap::default(),
            follows: Vec::new(),
        }
    }

    /// The state before the first step.
    pub(super) fn start(&mut self) -> State {
        let mut world = unknown_start(self.routine);
        self.watch.forget(&mut world, None);
        self.watch.merge(&mut world);
        self.cores.state(world)
    }

    /// The stop, where it makes claims.
    fn claimed(&self, done: Option<StopIndex>) -> Option<StopIndex> {
        done.filter(|done| {
            self.routine
                .stop(*done)
                .is_some_and(|stop| !stop.claims.is_empty())
        })
    }

    /// The plan with this number.
    pub(super) fn plan(&self, id: PlanId) -> &Plan {
        &self.plans[id as usize]
    }

    /// Whether the step from states of this core is a spectator's choice.
    pub(super) fn forks(&self, core: CoreId) -> bool {
        let at = self.cores.core(core).at;
        self.routine
            .stop(at)
            .is_some_and(|stop| stop.fork.is_some())
    }

    /// What follows the states of a core.
    pub(super) fn follows(&mut self, core: CoreId) -> Arc<Follows> {
        let index = core as usize;
        if self.follows.len() <= index {
            self.follows.resize(self.cores.count().max(index + 1), None);
        }
        if let Some(follows) = &self.follows[index] {
            return Arc::clone(follows);
        }
        let follows = Arc::new(self.work_out(core));
        if self.follows.len() <= index {
            self.follows.resize(index + 1, None);
        }
        self.follows[index] = Some(Arc::clone(&follows));
        follows
    }

    fn work_out(&mut self, id: CoreId) -> Follows {
        let core = self.cores.core(id).clone();
        if self.routine.stop(core.at).is_none() {
            return Follows::End;
        }
        let special = self.shuffles.follows(core.at) || self.part_at(core.at).is_some();
        if special || !self.watch.is_blind(core.at) {
            return Follows::Open;
        }
        let numbered = |up: bool| {
            let mut world = self.cores.world(id, &[]);
            let mut next = 0..;
            for (n, size) in core.sizes.iter().enumerate() {
                let pile = PileId(u8::try_from(n).unwrap_or(u8::MAX));
                let cards = next.by_ref().take(usize::from(*size));
                world
                    .table
                    .pile_mut(pile)
                    .extend(cards.map(|n| Laid::new(Card(n), up)));
            }
            world
        };
        let (down, up) = (numbered(false), numbered(true));
        let open = match domain(self.routine, &down) {
            Ok(open) => open,
            Err(_) => return Follows::Arrows(Arrows::stuck()),
        };
        let kept = if self.shuffles.is_shuffle(core.at) {
            MOST_WEAVES_KEPT
        } else {
            MOST_KEPT
        };
        if open.as_ref().is_some_and(|open| open.count() > kept) {
            return Follows::Open;
        }
        let mut arrows = Arrows::default();
        for (branch, choice, weight) in branches(open.as_ref()) {
            arrows.weights += weight;
            match pass(self.routine, &down, choice.as_ref()) {
                Ok(one) => {
                    let other = pass(self.routine, &up, choice.as_ref()).ok();
                    let Some(arrow) = self.arrow(&core, one, other, (branch, weight)) else {
                        return Follows::Open;
                    };
                    arrows.add(arrow);
                }
                Err(_) => arrows.lost.push((branch, weight)),
            }
        }
        Follows::Arrows(arrows)
    }

    /// The arrow of a step done on numbered cards, all face down and all face up.
    fn arrow(
        &mut self,
        from: &Core,
        mut down: World,
        up: Option<World>,
        branch: (u64, u64),
    ) -> Option<Arrow> {
        let mut up = up?;
        let done = self.claimed(Some(from.at));
        self.watch.forget(&mut down, done);
        self.watch.forget(&mut up, done);
        if !self.watch.sees_facing() {
            lay_down(&mut down);
            lay_down(&mut up);
        }
        let plan = Plan::read(&down.table, &up.table)?;
        let next = u32::try_from(self.plans.len()).unwrap_or(u32::MAX);
        let plan = *self.plan_numbers.entry(plan).or_insert_with_key(|plan| {
            self.plans.push(plan.clone());
            next
        });
        let mut unused = Vec::new();
        let to = self.cores.pack(down, done, from, &mut unused);
        Some(Arrow {
            to,
            plan,
            branches: vec![branch],
        })
    }

    /// Whether a face must be fixed before the step from this state can be taken.
    pub(super) fn splits_at(&mut self, core: CoreId, cells: &[u8]) -> bool {
        matches!(*self.follows(core), Follows::Open)
            && self.asked(&self.cores.world(core, cells)).is_some()
    }

    /// The first card whose face must be fixed before the next step can be taken from this world.
    fn asked(&self, world: &World) -> Option<Card> {
        if self.shuffles.follows(world.at) || world.faces.iter().all(Option::is_some) {
            return None;
        }
        let open = match domain(self.routine, world) {
            Ok(open) => open,
            Err(Fault::Unfixed(card)) => return Some(card),
            Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => return None,
        };
        // A face that a branch asks for is fixed for all branches alike.
        branches(open.as_ref()).find_map(|(_, choice, _)| {
            match pass(self.routine, world, choice.as_ref()) {
                Err(Fault::Unfixed(card)) => Some(card),
                Ok(_) | Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => None,
            }
        })
    }

    /// Everything that can follow a state, one after the other.
    pub(super) fn each(
        &mut self,
        core: CoreId,
        cells: &[u8],
        scratch: &mut Vec<u8>,
        visit: &mut dyn FnMut(&mut Self, Next<'_>),
    ) {
        let follows = self.follows(core);
        match &*follows {
            Follows::End => {}
            Follows::Arrows(arrows) => {
                for arrow in &arrows.arrows {
                    scratch.clear();
                    self.plans[arrow.plan as usize].apply(cells, self.cores.width(), scratch);
                    let next = Next::State {
                        core: arrow.to,
                        cells: scratch,
                        times: 1,
                        share: None,
                        branches: &arrow.branches,
                        of: arrows.weights,
                    };
                    visit(self, next);
                }
                if !arrows.lost.is_empty() {
                    let next = Next::Stuck {
                        branches: &arrows.lost,
                        of: arrows.weights,
                    };
                    visit(self, next);
                }
            }
            Follows::Open => self.open(core, cells, scratch, visit),
        }
    }

    /// What follows a state whose next step hangs on the cards.
    fn open(
        &mut self,
        core: CoreId,
        cells: &[u8],
        scratch: &mut Vec<u8>,
        visit: &mut dyn FnMut(&mut Self, Next<'_>),
    ) {
        let world = self.cores.world(core, cells);
        let from = self.cores.core(core).clone();
        if let Some(part) = self.part_at(world.at) {
            return self.around(part, &world, &from, scratch, visit);
        }
        if from.origin != 0 && !self.watch.is_blind(world.at) && !self.is_plain(&world, world.at) {
            self.lost.get_or_insert(Lost::Unfollowable);
            return;
        }
        if let Some(card) = self.asked(&world) {
            return self.split(&world, core, card, scratch, visit);
        }
        if self.shuffles.follows(world.at) && domain(self.routine, &world).is_ok() {
            match self.shuffled(&world) {
                Some((next, origin)) => {
                    let from = Core { origin, ..from };
                    return self.step(next, &from, (0, 1), (1, 1), scratch, visit);
                }
                // Listed from here on, and never followed afterwards: what follows must be of one kind.
                None => {
                    self.lost.get_or_insert(Lost::Unfollowable);
                    return;
                }
            }
        }
        if let Some(listed) = self.listed(&world) {
            for (branch, choice, count, of) in listed {
                if self.is_out_of_patience() {
                    return;
                }
                let branch = (branch, count);
                match pass(self.routine, &world, Some(&choice)) {
                    Ok(next) => self.step(next, &from, branch, (count, of), scratch, visit),
                    Err(_) => {
                        let branches = &[branch];
                        visit(self, Next::Stuck { branches, of });
                    }
                }
            }
            return;
        }
        let open = match domain(self.routine, &world) {
            Ok(open) => open,
            Err(_) => {
                let next = Next::Stuck {
                    branches: &[(0, 1)],
                    of: 1,
                };
                return visit(self, next);
            }
        };
        let of = match &open {
            None => 1,
            Some(open) => match open.open_weights() {
                None => u64::try_from(open.count()).unwrap_or(u64::MAX),
                Some(weights) => weights.iter().sum(),
            },
        };
        for (branch, choice, weight) in branches(open.as_ref()) {
            if self.is_out_of_patience() {
                return;
            }
            match pass(self.routine, &world, choice.as_ref()) {
                Ok(next) => self.step(next, &from, (branch, weight), (1, of), scratch, visit),
                Err(_) => {
                    let next = Next::Stuck {
                        branches: &[(branch, weight)],
                        of,
                    };
                    visit(self, next);
                }
            }
        }
    }

    /// Goes through a part by induction; what follows is behind it.
    fn around(
        &mut self,
        part: Part,
        world: &World,
        from: &Core,
        scratch: &mut Vec<u8>,
        visit: &mut dyn FnMut(&mut Self, Next<'_>),
    ) {
        let behind = match self.inducted(part, world, from) {
            Ok(behind) => behind,
            Err(lost) => {
                self.lost.get_or_insert(lost);
                return;
            }
        };
        for (world, from) in behind {
            scratch.clear();
            let core = self.cores.pack(world, None, &from, scratch);
            let next = Next::State {
                core,
                cells: scratch,
                times: 1,
                share: None,
                branches: &[(0, 1)],
                of: 1,
            };
            visit(self, next);
        }
    }

    /// Counts a branch taken one by one, and asks now and then whether to stop.
    fn is_out_of_patience(&mut self) -> bool {
        self.patience = self.patience.saturating_sub(1);
        if self.patience == 0 || (self.patience.is_multiple_of(256) && (self.limits.stop)()) {
            self.lost.get_or_insert(Lost::Stopped);
        }
        self.lost.is_some()
    }

    /// Hands on the world after a step: by a branch of this weight, which stands for so many ways, out of so much weight.
    fn step(
        &mut self,
        mut next: World,
        from: &Core,
        branch: (u64, u64),
        (times, of): (u64, u64),
        scratch: &mut Vec<u8>,
        visit: &mut dyn FnMut(&mut Self, Next<'_>),
    ) {
        let done = self.claimed(Some(from.at));
        self.watch.forget(&mut next, done);
        self.watch.merge(&mut next);
        scratch.clear();
        let core = self.cores.pack(next, done, from, scratch);
        let next = Next::State {
            core,
            cells: scratch,
            times,
            share: None,
            branches: &[branch],
            of,
        };
        visit(self, next);
    }

    /// The same state with a face fixed in every way that something can tell from another.
    pub(super) fn split(
        &mut self,
        world: &World,
        core: CoreId,
        card: Card,
        scratch: &mut Vec<u8>,
        visit: &mut dyn FnMut(&mut Self, Next<'_>),
    ) {
        let from = self.cores.core(core).clone();
        let tokens = match self.token_prints(&from, card) {
            Ok(tokens) => tokens,
            Err(lost) => {
                self.lost.get_or_insert(lost);
                return;
            }
        };
        let prints: Vec<(Card, u64, Option<BigRational>)> = match tokens {
            None => {
                let open = self.open_prints(world);
                open.into_iter()
                    .map(|(print, count)| (print, count, None))
                    .collect()
            }
            Some(tokens) => {
                let all: BigUint = tokens.iter().map(|(_, count)| count).sum();
                let share = |count: BigUint| BigRational::new(count.into(), all.clone().into());
                tokens
                    .into_iter()
                    .map(|(print, count)| (print, 1, Some(share(count))))
                    .collect()
            }
        };
        let of = prints.iter().map(|(_, count, _)| count).sum();
        for (n, (print, count, share)) in prints.into_iter().enumerate() {
            let mut fixed = world.clone();
            if let Some(slot) = fixed.faces.get_mut(card.index()) {
                *slot = Some(print);
            }
            scratch.clear();
            let core = self.cores.pack(fixed, from.done, &from, scratch);
            let next = Next::State {
                core,
                cells: scratch,
                // The outcomes of a followed shuffle are counted at the end of the road.
                times: count,
                share,
                branches: &[(n as u64, count)],
                of,
            };
            visit(self, next);
        }
    }

    /// The prints of the shuffled cards that no card has been given yet: the first of each look, and how many look so.
    fn open_prints(&self, world: &World) -> Vec<(Card, u64)> {
        let mut taken = vec![false; self.routine.pack.size()];
        for print in world.faces.iter().flatten() {
            if let Some(slot) = taken.get_mut(print.index()) {
                *slot = true;
            }
        }
        let mut open: Vec<(Card, Card, u64)> = Vec::new();
        for print in self
            .routine
            .shuffled
            .iter()
            .filter(|print| !taken[print.index()])
        {
            let look = self.watch.look(*print);
            match open.iter_mut().find(|(first, _, _)| *first == look) {
                Some((_, _, count)) => *count += 1,
                None => open.push((look, *print, 1)),
            }
        }
        open.into_iter()
            .map(|(_, print, count)| (print, count))
            .collect()
    }
}

/// Every branch with its number, its choice and its weight; one without a choice where nobody chooses.
pub(super) fn branches(
    open: Option<&Domain>,
) -> Box<dyn Iterator<Item = (u64, Option<Value>, u64)> + '_> {
    let Some(open) = open else {
        return Box::new(std::iter::once((0, None, 1)));
    };
    let weights = open.open_weights();
    let weighed = open.branches().enumerate().map(move |(n, choice)| {
        let weight = weights
            .as_ref()
            .map_or(1, |w| w.get(n).copied().unwrap_or(0));
        (n as u64, Some(choice), weight)
    });
    Box::new(weighed)
}

fn lay_down(world: &mut World) {
    for n in 0..world.table.count() {
        let pile = PileId(u8::try_from(n).unwrap_or(u8::MAX));
        for laid in world.table.pile_mut(pile).iter_mut() {
            *laid = Laid::new(laid.card(), false);
        }
    }
}

impl Arrows {
    fn stuck() -> Self {
        Self {
            weights: 1,
            lost: vec![(0, 1)],
            ..Self::default()
        }
    }

    fn add(&mut self, arrow: Arrow) {
        let same = |a: &&mut Arrow| a.to == arrow.to && a.plan == arrow.plan;
        match self.arrows.iter_mut().find(same) {
            Some(old) => old.branches.extend(arrow.branches),
            None => self.arrows.push(arrow),
        }
    }
}
