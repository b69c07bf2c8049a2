//! The routine with strays and mends laid out as stops.
//!
//! Further stops come after the routine's own and no road leads to them: a world is turned to one, takes the step as any other, and is
//! back on its road. Claims other than those of the endings are left out. Cards that a spectator takes away go to a pile of their own
//! (the pocket), so that none is ever lost.

use super::strays;
use crate::proof::needed_names;
use crate::routine::{
    ClaimKind, Expr, Fork, ForkKind, KnownStray, Name, NameId, NameKind, Routine, StepId, Stop,
    StopIndex, Stray, Then, Value, World,
};
use crate::table::PileId;
use std::collections::BTreeSet;

/// When a stray happens.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum When {
    /// In the place of what the step asks for.
    Instead,
    /// Right after the step.
    After,
}

/// One stray at one step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Case {
    /// The step.
    pub stop: StopIndex,
    /// What happens.
    pub stray: Stray,
    /// When.
    pub when: When,
    /// The piles that it happens to.
    pub piles: Vec<PileId>,
    /// The choice that is changed or forgotten.
    pub name: Option<NameId>,
    /// Whether the step lists it as one that is met there often.
    pub often: bool,
    pub(super) doing: Doing,
    /// So many cards must lie in each of the piles, or it makes no sense.
    pub(super) least: usize,
}

impl Case {
    /// Whether there are cards enough for it.
    #[must_use]
    pub fn makes_sense(&self, world: &World) -> bool {
        self.piles
            .iter()
            .all(|pile| world.table.size(*pile) >= self.least)
    }
}

/// How a case is done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Doing {
    /// By these stops: the first of them, for each stop that may come next.
    Stops(Vec<(StopIndex, StopIndex)>),
    /// A choice is forgotten.
    Forget(NameId),
}

/// A routine made ready for strays.
#[derive(Debug, Clone)]
pub struct Ground {
    pub(super) routine: Routine,
    /// How many stops the routine has of its own.
    own: usize,
    cases: Vec<Case>,
    /// By mend: its stop, for each stop that may come next.
    mends: Vec<Vec<StopIndex>>,
    pub(super) names: BTreeSet<NameId>,
    pub(super) piles: BTreeSet<PileId>,
}

impl Ground {
    /// Lays out every stray where it makes sense, and every mend.
    #[must_use]
    pub fn new(routine: &Routine) -> Self {
        let mut laid = Layout::new(routine);
        strays::lay_out(&mut laid);
        let own = laid.own;
        let mut mends = Vec::with_capacity(routine.mends.len());
        let (mut names, mut piles) = (BTreeSet::new(), BTreeSet::new());
        for mend in &routine.mends {
            let stops = (0..own)
                .filter_map(|at| u16::try_from(at).ok())
                .map(|at| {
                    laid.push(Stop {
                        acts: mend.acts.clone(),
                        ..bare(&mend.id.0, Then::Go(StopIndex(at)))
                    })
                })
                .collect();
            mends.push(stops);
            // What a mend reads is kept on every road.
            let stop = Stop {
                acts: mend.acts.clone(),
                sights: mend.looks.clone(),
                ..bare("", Then::Finish)
            };
            stop.each_expr(&mut |expr| {
                names.extend(&expr.reads().names);
                piles.extend(&expr.reads().piles);
            });
            stop.each_act(&mut |act| {
                names.extend(act.done_by());
                piles.extend(act.piles().into_iter().flatten());
            });
            piles.extend(mend.looks.iter().filter_map(crate::routine::Sight::pile));
        }
        // So is what a stray reads, and the piles that it names, though nothing on the road does any more.
        let needed = needed_names(&laid.routine);
        for case in &laid.cases {
            let Doing::Stops(stops) = &case.doing else {
                continue;
            };
            for (next, first) in stops.iter().filter(|_| case.when == When::After) {
                let later = &needed[next.index()];
                names.extend(needed[first.index()].difference(later));
                piles.extend(laid.routine.stop(*first).map(piles_of).unwrap_or_default());
            }
        }
        piles.remove(&laid.pocket);
        let Layout { routine, cases, .. } = laid;
        // Whoever changes a choice is asked what it was.
        let known = KnownStray::ChangesTheirMind;
        names.extend(
            cases
                .iter()
                .filter(|case| case.stray == Stray::Known(known))
                .filter_map(|case| case.name),
        );
        Self {
            routine,
            own,
            cases,
            mends,
            names,
            piles,
        }
    }

    /// The routine with its further stops. Its claims are those of the endings alone.
    #[must_use]
    pub fn routine(&self) -> &Routine {
        &self.routine
    }

    /// Every stray at every step where it makes sense, in the order of the road.
    #[must_use]
    pub fn cases(&self) -> &[Case] {
        &self.cases
    }

    /// The first stop that is not one of the routine's own.
    pub(super) fn first_added(&self) -> StopIndex {
        StopIndex(u16::try_from(self.own).unwrap_or(u16::MAX))
    }

    /// Whether a stop is one of the routine's own.
    #[must_use]
    pub fn is_own(&self, stop: StopIndex) -> bool {
        stop.index() < self.own
    }

    /// Whether somebody shuffles freely in a case.
    pub(super) fn shuffles(&self, case: &Case) -> bool {
        let Doing::Stops(stops) = &case.doing else {
            return false;
        };
        let mut open: Vec<StopIndex> = stops.iter().map(|(_, first)| *first).collect();
        while let Some(at) = open.pop() {
            let Some(stop) = self.routine.stop(at).filter(|_| !self.is_own(at)) else {
                continue;
            };
            let free =
                |fork: &Fork| matches!(fork.kind, ForkKind::Riffle { .. } | ForkKind::Overhand(_));
            if stop.fork.as_ref().is_some_and(free) {
                return true;
            }
            open.extend(nexts(&self.routine, stop));
        }
        false
    }

    /// The stop of a mend, where this stop comes next.
    pub(super) fn mend(&self, mend: usize, next: StopIndex) -> Option<StopIndex> {
        self.mends.get(mend)?.get(next.index()).copied()
    }

    /// A world of the routine as one of the ground.
    #[must_use]
    pub fn enter(&self, mut world: World) -> World {
        if !self.is_own(world.at) {
            world.at = self.routine.finish();
        }
        world.memory.resize(self.routine.names.len(), None);
        world.table.pile_mut(self.pocket());
        world
    }

    /// A world of the ground as one of the routine; a card taken away lies in a pile after the routine's own.
    #[must_use]
    pub fn leave(&self, routine: &Routine, mut world: World) -> World {
        if !self.is_own(world.at) {
            world.at = routine.finish();
        }
        world.memory.truncate(routine.names.len());
        if world.table.pile(self.pocket()).is_empty() {
            world.table.forget_scratch(routine.piles.len());
        }
        world
    }

    /// Where cards go that a spectator takes away.
    #[must_use]
    pub fn pocket(&self) -> PileId {
        last(self.routine.piles.len())
    }
}

fn last(count: usize) -> PileId {
    PileId(u8::try_from(count.saturating_sub(1)).unwrap_or(u8::MAX))
}

/// A stop at which nothing happens yet, and which no file has.
pub(super) fn bare(id: &str, then: Then) -> Stop {
    Stop::bare(StepId(id.into()), then, 0)
}

/// A ground in the making.
pub(super) struct Layout {
    pub(super) routine: Routine,
    pub(super) own: usize,
    pub(super) cases: Vec<Case>,
    /// What a stray's number, place or pair is remembered as.
    pub(super) whim: NameId,
    /// How a stray's shuffle is remembered.
    pub(super) mix: NameId,
    pub(super) pocket: PileId,
    /// By stop, the names that something from it on reads.
    pub(super) needed: Vec<BTreeSet<NameId>>,
    whim_name: String,
}

impl Layout {
    fn new(routine: &Routine) -> Self {
        let mut routine = routine.clone();
        let own = routine.stops.len();
        let first_ending = routine.endings.iter().map(|e| e.first.index()).min();
        for stop in &mut routine.stops[..first_ending.unwrap_or(own).min(own)] {
            stop.claims.clear();
        }
        let needed = needed_names(&routine);
        routine.piles.push("their pocket".to_owned());
        let pocket = last(routine.piles.len());
        routine.start.pile_mut(pocket);
        let free = |wanted: &str| {
            let mut name = wanted.to_owned();
            while routine.find_name(&name).is_some() || routine.find_pile(&name).is_some() {
                name.push('_');
            }
            name
        };
        let (whim_name, mix_name) = (free("whim"), free("mix"));
        let mut learn = |name: &str| {
            routine.names.push(Name {
                name: name.to_owned(),
                kind: NameKind::Fork,
                about: None,
            });
            NameId(u16::try_from(routine.names.len() - 1).unwrap_or(u16::MAX))
        };
        let (whim, mix) = (learn(&whim_name), learn(&mix_name));
        Self {
            routine,
            own,
            cases: Vec::new(),
            whim,
            mix,
            pocket,
            needed,
            whim_name,
        }
    }

    /// A further stop.
    pub(super) fn push(&mut self, stop: Stop) -> StopIndex {
        self.routine.stops.push(stop);
        StopIndex(u16::try_from(self.routine.stops.len() - 1).unwrap_or(u16::MAX))
    }

    /// An expression; `whim` in it is what the stray chose.
    pub(super) fn expr(&self, source: &str) -> Option<Expr> {
        Expr::compile(&source.replace("whim", &self.whim_name), &self.routine).ok()
    }

    /// What the stray chose.
    pub(super) fn whim(&self) -> Option<Expr> {
        self.expr("whim")
    }

    /// Where the road may go on after a step; nowhere where it ends.
    pub(super) fn nexts(&self, stop: &Stop) -> Vec<StopIndex> {
        nexts(&self.routine, stop)
    }

    /// The piles that something from one of these stops on names.
    pub(super) fn later_piles(&self, nexts: &[StopIndex]) -> BTreeSet<PileId> {
        let mut piles = BTreeSet::new();
        let mut seen: BTreeSet<StopIndex> = BTreeSet::new();
        let mut waiting = nexts.to_vec();
        while let Some(at) = waiting.pop() {
            let Some(stop) = self.routine.stop(at).filter(|_| seen.insert(at)) else {
                continue;
            };
            piles.extend(piles_of(stop));
            for claim in &stop.claims {
                piles.extend(claimed(&claim.kind));
            }
            waiting.extend(self.nexts(stop));
        }
        piles
    }
}

/// Where the road may go on after a step of a routine; nowhere where it ends.
pub(super) fn nexts(routine: &Routine, stop: &Stop) -> Vec<StopIndex> {
    match stop.then {
        Then::Go(at) => vec![at],
        Then::Gate { again, on } => vec![again, on],
        Then::Endings => routine.endings.iter().map(|e| e.first).collect(),
        Then::Finish => Vec::new(),
    }
}

/// The piles that a step names.
pub(super) fn piles_of(stop: &Stop) -> BTreeSet<PileId> {
    let mut piles = BTreeSet::new();
    stop.each_expr(&mut |expr| {
        piles.extend(&expr.reads().piles);
        if let Some(Value::Pile(pile)) = expr.fixed() {
            piles.insert(*pile);
        }
    });
    stop.each_act(&mut |act| piles.extend(act.piles().into_iter().flatten()));
    piles.extend(stop.fork.iter().flat_map(crate::routine::Fork::piles));
    piles.extend(stop.sights.iter().filter_map(crate::routine::Sight::pile));
    piles
}

fn claimed(claim: &ClaimKind) -> BTreeSet<PileId> {
    let mut piles: BTreeSet<PileId> = claim.piles().into_iter().collect();
    claim.each_expr(&mut |expr| piles.extend(&expr.reads().piles));
    piles
}
