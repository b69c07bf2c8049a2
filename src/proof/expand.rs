//! One step from a state to all that can follow it.
//!
//! Where a step hangs on nothing printed on a card, what it does is worked out once for each core and applied to the cells of
//! every state; elsewhere each state takes the step on its own. Either way the step itself is [`crate::roads`]'s.

use super::follows::{Arrow, Arrows, Follows, Next, PlanId};
use super::induct::Part;
use super::report::Limits;
use super::shuffled::{Lost, Shuffles};
use super::state::{Core, CoreId, Cores, Plan, State};
use super::watch::Watch;
use crate::cards::Card;
use crate::roads::{Domain, domain, pass, pass_among, unknown_start};
use crate::routine::{Fault, Routine, StopIndex, Value, World};
use crate::table::{Laid, PileId};
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;
use std::sync::Arc;

/// A fork with more branches than this is gone through state by state.
const MOST_KEPT: u128 = 4_096;

/// From so many states of a core on it pays to work out once what follows them all, which takes each step twice.
const WORTH_WORKING_OUT: usize = 3;

/// A shuffle with more ways than this is listed by what it can lay down, not by how it is done.
const MOST_WEAVES_KEPT: u128 = 64;

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
    /// Where states that take their own step are laid out.
    pub(super) desk: World,
    /// By core: how many of its states took their step on their own, before it was worth working out.
    alone: Vec<usize>,
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
            desk: Cores::desk(),
            alone: Vec::new(),
        }
    }

    /// The state before the first step.
    pub(super) fn start(&mut self) -> State {
        let mut world = unknown_start(self.routine);
        self.watch.forget(&mut world, None);
        self.watch.merge(&mut world, None);
        self.cores.state(world)
    }

    /// The stop, where it makes claims.
    pub(super) fn claimed(&self, done: Option<StopIndex>) -> Option<StopIndex> {
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

    /// Whether roads end in the states of a core.
    pub(super) fn ends(&self, core: CoreId) -> bool {
        self.routine.stop(self.cores.core(core).at).is_none()
    }

    /// What follows the states of a core, if it is worth working out for so many of them: otherwise each takes its own step.
    pub(super) fn follows(&mut self, core: CoreId, states: usize) -> Option<Arc<Follows>> {
        let index = core as usize;
        let least = self.cores.count().max(index + 1);
        if self.follows.len() < least {
            self.follows.resize(least, None);
            self.alone.resize(least, 0);
        }
        let worth = self.ends(core) || self.alone[index] + states >= WORTH_WORKING_OUT;
        if worth && self.follows[index].is_none() {
            let follows = Arc::new(self.work_out(core));
            self.follows[index] = Some(follows);
        }
        self.follows[index].clone()
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
            match pass_among(self.routine, &down, open.as_ref(), choice.as_ref()) {
                // Which pile is which then hangs on the cards.
                Ok(one) if self.watch.swaps_at(one.at) => return Follows::Open,
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
    pub(super) fn splits_at(&self, core: CoreId, cells: &[u8]) -> bool {
        let whole = self.cores.core(core);
        self.may_ask(whole.at, &whole.faces) && self.asked(&self.cores.world(core, cells)).is_some()
    }

    /// Whether the step from this stop can hang on a face that is not fixed yet.
    fn may_ask(&self, at: StopIndex, faces: &[Option<Card>]) -> bool {
        let fixed = faces.iter().all(Option::is_some);
        !(fixed || self.shuffles.follows(at) || self.watch.is_blind(at))
    }

    /// The first card whose face must be fixed before the next step can be taken from this world.
    pub(super) fn asked(&self, world: &World) -> Option<Card> {
        if !self.may_ask(world.at, &world.faces) {
            return None;
        }
        let open = match domain(self.routine, world) {
            Ok(open) => open,
            Err(Fault::Unfixed(card)) => return Some(card),
            Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => return None,
        };
        // A face that a branch asks for is fixed for all branches alike.
        branches(open.as_ref()).find_map(|(_, choice, _)| {
            match pass_among(self.routine, world, open.as_ref(), choice.as_ref()) {
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
        if self.ends(core) {
            return;
        }
        match self.follows(core, 1).as_deref() {
            None => {
                self.alone[core as usize] += 1;
                self.open(core, cells, scratch, visit);
            }
            Some(Follows::Open) => self.open(core, cells, scratch, visit),
            Some(Follows::End) => {}
            Some(Follows::Arrows(arrows)) => {
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
        }
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
