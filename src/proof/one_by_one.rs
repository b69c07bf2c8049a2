//! Steps that hang on the cards: each state takes its own.

use super::expand::{Expander, branches};
use super::follows::Next;
use super::induct::Part;
use super::shuffled::Lost;
use super::state::{Core, CoreId, Cores};
use crate::cards::Card;
use crate::roads::{domain, pass_among};
use crate::routine::World;
use num_bigint::BigUint;
use num_rational::BigRational;

impl Expander<'_> {
    /// What follows a state whose next step hangs on the cards.
    pub(super) fn open(
        &mut self,
        core: CoreId,
        cells: &[u8],
        scratch: &mut Vec<u8>,
        visit: &mut dyn FnMut(&mut Self, Next<'_>),
    ) {
        let mut world = std::mem::replace(&mut self.desk, Cores::desk());
        self.cores.lay_out(core, cells, &mut world);
        self.open_on(&world, core, scratch, visit);
        self.desk = world;
    }

    /// The same on the world of the state.
    fn open_on(
        &mut self,
        world: &World,
        core: CoreId,
        scratch: &mut Vec<u8>,
        visit: &mut dyn FnMut(&mut Self, Next<'_>),
    ) {
        let from = self.cores.core(core).clone();
        if let Some(part) = self.part_at(world.at) {
            return self.around(part, world, &from, scratch, visit);
        }
        if from.origin != 0 && !self.watch.is_blind(world.at) && !self.is_plain(world, world.at) {
            self.lost.get_or_insert(Lost::Unfollowable);
            return;
        }
        if let Some(card) = self.asked(world) {
            return self.split(world, core, card, scratch, visit);
        }
        let open = domain(self.routine, world);
        if self.shuffles.follows(world.at) && open.is_ok() {
            match self.shuffled(world) {
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
        if let Some(listed) = self.listed(world) {
            let open = open.ok().flatten();
            for (branch, choice, count, of) in listed {
                if self.is_out_of_patience() {
                    return;
                }
                let branch = (branch, count);
                match pass_among(self.routine, world, open.as_ref(), Some(&choice)) {
                    Ok(next) => self.step(next, &from, branch, (count, of), scratch, visit),
                    Err(_) => {
                        let branches = &[branch];
                        visit(self, Next::Stuck { branches, of });
                    }
                }
            }
            return;
        }
        let open = match open {
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
            match pass_among(self.routine, world, open.as_ref(), choice.as_ref()) {
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
        self.watch.merge(&mut next, done);
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
