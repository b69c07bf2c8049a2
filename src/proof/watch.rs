//! The watch set of a proof: what the steps and claims of a routine look at, and so which states are one.
//!
//! Two states are taken for one where nothing that is still to come can tell them apart:
//!
//! * Cards of the same *look*: no step and no claim asks for anything on which they differ. A card is taken for the first of
//!   its look. Sound, because a step moves cards by their places, and every expression and claim gives the same value on a table
//!   whose cards were exchanged for others of their looks (that is what its read set says).
//! * Choices, replies and reckonings that nobody reads any more (the liveness of compilers: backwards over the steps, a name is
//!   needed before a step that reads it, not before a step that sets it).
//! * Piles that nothing names any more.
//! * Which way cards face, where nothing asks.
//! * Which of two piles is which, where nothing names one without the other ([`super::swaps`]).
//!
//! By induction over the steps that remain, merged states have the same roads, and the same claims hold on each.

use super::swaps::Swaps;
use crate::cards::{Card, Class, TraitId};
use crate::routine::{
    Act, ClaimKind, Expr, Fork, ForkKind, NameId, Routine, Stop, StopIndex, Then, World,
};
use crate::table::{Laid, PileId};
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;

/// What is looked at, and where.
#[derive(Debug)]
pub(super) struct Watch {
    /// By card number, the first card whose print nothing can tell from this one's.
    looks: Vec<Card>,
    /// Cards that lie in unknown order, by number: what is printed on them is not their own print.
    shuffled: Vec<bool>,
    /// Whether anything asks which way a card faces.
    facing: bool,
    /// By stop, the names that must be kept before it; one more for the end of the road.
    names_before: Vec<BTreeSet<NameId>>,
    /// By stop, the names that its claims read.
    names_claimed: Vec<BTreeSet<NameId>>,
    /// By stop, the piles that must be kept before it; `None` where no pile may be dropped at all.
    piles_before: Option<Vec<BTreeSet<PileId>>>,
    /// By stop, the piles that its claims read.
    piles_claimed: Vec<BTreeSet<PileId>>,
    /// Which piles may swap names.
    swaps: Swaps,
    /// By stop, whether what it does hangs on nothing printed on a card.
    blind: Vec<bool>,
}

impl Watch {
    /// Everything that the routine's steps and claims look at.
    pub(super) fn of(routine: &Routine) -> Self {
        let mut shuffled = vec![false; routine.pack.size()];
        for card in &routine.shuffled {
            shuffled[card.index()] = true;
        }
        let piles_before = piles_before(routine);
        Self {
            looks: looks(routine),
            shuffled,
            facing: facing(routine),
            names_before: names_before(routine),
            names_claimed: names_claimed(routine),
            swaps: if piles_before.is_some() {
                Swaps::of(routine)
            } else {
                Swaps::none()
            },
            piles_before,
            piles_claimed: piles_claimed(routine),
            blind: routine
                .stops
                .iter()
                .map(|stop| blind(routine, stop))
                .collect(),
        }
    }

    /// Keeps these names and piles before every stop: something beside the road may look at them at any time.
    pub(super) fn keep(&mut self, names: &BTreeSet<NameId>, piles: &BTreeSet<PileId>) {
        for before in &mut self.names_before {
            before.extend(names);
        }
        for before in self.piles_before.iter_mut().flatten() {
            before.extend(piles);
        }
        self.swaps = Swaps::none();
    }

    /// The same with every card, facing and pile kept: only choices that nobody reads any more are dropped.
    pub(super) fn of_tables(routine: &Routine) -> Self {
        let mut watch = Self::of(routine);
        watch.looks = every_card(routine).collect();
        watch.facing = true;
        watch.piles_before = None;
        watch.swaps = Swaps::none();
        watch
    }

    /// Nothing is dropped and nothing taken for anything else; but how many rounds of a part there were that nothing ends, and that
    /// nobody counts, would tell every state from every other for ever.
    pub(super) fn of_everything(routine: &Routine) -> Self {
        let endless = |fork: &Fork| matches!(fork.kind, ForkKind::Again { at_most: None });
        let rounds: BTreeSet<NameId> = routine
            .stops
            .iter()
            .filter_map(|stop| stop.fork.as_ref())
            .filter(|fork| endless(fork))
            .map(|fork| fork.name)
            .collect();
        let kept: BTreeSet<NameId> = (0..routine.names.len())
            .filter_map(|n| u16::try_from(n).ok())
            .map(NameId)
            .filter(|name| !rounds.contains(name))
            .collect();
        let mut watch = Self::of_tables(routine);
        for names in &mut watch.names_before {
            names.extend(&kept);
        }
        watch
    }

    /// The card whose print is taken for this one's.
    pub(super) fn look(&self, print: Card) -> Card {
        self.looks.get(print.index()).copied().unwrap_or(print)
    }

    /// Whether what the stop does hangs on nothing printed on a card: then it does the same to every table with such piles.
    pub(super) fn is_blind(&self, stop: StopIndex) -> bool {
        self.blind.get(stop.index()).copied().unwrap_or(false)
    }

    /// Whether anything asks which way a card faces.
    pub(super) fn sees_facing(&self) -> bool {
        self.facing
    }

    /// Drops from a state the values and the piles that nothing looks at any more. `done` is the stop just done, whose claims are
    /// still to be looked at.
    pub(super) fn forget(&self, world: &mut World, done: Option<StopIndex>) {
        let claimed = done.and_then(|done| self.names_claimed.get(done.index()));
        let before = self.names_before.get(world.at.index());
        for (n, slot) in world.memory.iter_mut().enumerate() {
            let name = NameId(u16::try_from(n).unwrap_or(u16::MAX));
            let read = |names: Option<&BTreeSet<NameId>>| names.is_some_and(|n| n.contains(&name));
            if !read(claimed) && !read(before) {
                *slot = None;
            }
        }
        let Some(before) = self.piles_before.as_ref().map(|b| b.get(world.at.index())) else {
            return;
        };
        let claimed = done.and_then(|done| self.piles_claimed.get(done.index()));
        for n in 0..world.table.count() {
            let pile = PileId(u8::try_from(n).unwrap_or(u8::MAX));
            let named = |piles: Option<&BTreeSet<PileId>>| piles.is_some_and(|p| p.contains(&pile));
            if !named(claimed) && !named(before) {
                world.table.pile_mut(pile).clear();
            }
        }
    }

    /// Whether two piles may swap names before this stop.
    pub(super) fn swaps_at(&self, at: StopIndex) -> bool {
        self.swaps.any(at)
    }

    /// Takes cards for others of their look, lays all face down where nothing asks which way they face, and settles which of two piles is
    /// which where nothing tells them apart. `done` is the stop just done, whose claims are still to be looked at.
    pub(super) fn merge(&self, world: &mut World, done: Option<StopIndex>) {
        for n in 0..world.table.count() {
            let pile = PileId(u8::try_from(n).unwrap_or(u8::MAX));
            for laid in world.table.pile_mut(pile).iter_mut() {
                let card = laid.card();
                let hidden = self.shuffled.get(card.index()).copied().unwrap_or(false);
                let card = if hidden { card } else { self.look(card) };
                *laid = Laid::new(card, self.facing && laid.face_up());
            }
        }
        self.swaps.settle(world, done);
    }
}

fn every_card(routine: &Routine) -> impl Iterator<Item = Card> {
    (0..routine.pack.size())
        .filter_map(|n| u16::try_from(n).ok())
        .map(Card)
}

/// What anything asks of a card.
enum Asked {
    /// Only these traits, and whether it bears one of these prints.
    Of(BTreeSet<TraitId>, BTreeSet<Card>),
    /// Which card it is.
    All,
}

fn asked(routine: &Routine) -> Asked {
    let mut traits = BTreeSet::new();
    let mut prints = BTreeSet::new();
    let mut all = false;
    let mut expr = |expr: &Expr| {
        traits.extend(&expr.reads().traits);
        all |= expr.reads().identity;
    };
    for stop in &routine.stops {
        stop.each_expr(&mut expr);
    }
    routine
        .endings
        .iter()
        .filter_map(|e| e.when.as_ref())
        .for_each(&mut expr);
    for stop in &routine.stops {
        all |= stop
            .fork
            .as_ref()
            .is_some_and(|fork| matches!(fork.kind, ForkKind::Card(_)));
        stop.each_act(&mut |act| match act {
            Act::Chain(_) => {
                traits.insert(TraitId::VALUE);
            }
            act => all |= act.reads_faces(),
        });
        for claim in &stop.claims {
            traits.extend(claim.kind.traits());
            claim.kind.each_claim(&mut |claim| match claim {
                ClaimKind::Place { card, is, .. } => {
                    match card.written_card() {
                        Some(print) => {
                            prints.insert(print);
                        }
                        None => all = true,
                    }
                    all |= is.reads().identity;
                }
                ClaimKind::Mirror { class: None, .. }
                | ClaimKind::MatesTogether(_)
                | ClaimKind::SameAs { class: None, .. } => all = true,
                ClaimKind::Count { is, .. } | ClaimKind::Sum { is, .. } => {
                    all |= is.reads().identity;
                }
                ClaimKind::Expr(expr) => all |= expr.reads().identity,
                ClaimKind::AllOne { .. }
                | ClaimKind::Sequence { .. }
                | ClaimKind::Blocks { .. }
                | ClaimKind::Mirror { class: Some(_), .. }
                | ClaimKind::SameAs { class: Some(_), .. }
                | ClaimKind::And(_)
                | ClaimKind::Or(_)
                | ClaimKind::Not(_) => {}
            });
        }
    }
    if all {
        Asked::All
    } else {
        Asked::Of(traits, prints)
    }
}

/// By card number, the first card from which nothing can tell it.
fn looks(routine: &Routine) -> Vec<Card> {
    let Asked::Of(traits, prints) = asked(routine) else {
        return every_card(routine).collect();
    };
    let mut first: FxHashMap<(Vec<Option<Class>>, Vec<bool>), Card> = FxHashMap::default();
    let pack = &routine.pack;
    every_card(routine)
        .map(|card| {
            let classes = traits
                .iter()
                .map(|class| pack.class(card, *class))
                .collect();
            let borne = prints
                .iter()
                .map(|print| pack.face(card) == pack.face(*print))
                .collect();
            *first.entry((classes, borne)).or_insert(card)
        })
        .collect()
}

fn facing(routine: &Routine) -> bool {
    let mut facing = false;
    for stop in &routine.stops {
        stop.each_expr(&mut |expr| facing |= expr.reads().facing);
        for claim in &stop.claims {
            claim
                .kind
                .each_expr(&mut |expr| facing |= expr.reads().facing);
            claim.kind.each_claim(&mut |claim| {
                facing |= matches!(claim, ClaimKind::Count { up: Some(_), .. });
            });
        }
    }
    let ends = routine.endings.iter().filter_map(|e| e.when.as_ref());
    facing | ends.into_iter().any(|when| when.reads().facing)
}

/// Whether an expression hangs on nothing printed on a card, nor on where cards lie.
fn is_blind(expr: &Expr) -> bool {
    let reads = expr.reads();
    !(reads.places || reads.facing || reads.faces || reads.identity)
}

/// Whether a stop hangs on nothing printed on a card, nor on where cards lie.
pub(super) fn blind(routine: &Routine, stop: &Stop) -> bool {
    let mut blind = !stop
        .fork
        .as_ref()
        .is_some_and(|fork| matches!(fork.kind, ForkKind::Card(_)));
    stop.each_expr(&mut |expr| blind &= is_blind(expr));
    stop.each_act(&mut |act| blind &= !act.reads_faces());
    let ends = match stop.then {
        Then::Endings => true,
        Then::Gate { on, .. } => ends_at(routine, on),
        Then::Go(_) | Then::Finish => false,
    };
    blind
        && (!ends
            || routine
                .endings
                .iter()
                .filter_map(|e| e.when.as_ref())
                .all(is_blind))
}

/// Whether going on at this stop means choosing an ending.
fn ends_at(routine: &Routine, on: StopIndex) -> bool {
    on == routine.finish() || routine.endings.iter().any(|ending| ending.first == on)
}

/// Where the road may go on after a stop, and whether the conditions of the endings are looked at.
pub(super) fn following(routine: &Routine, stop: &Stop) -> (Vec<StopIndex>, bool) {
    let endings = || {
        routine
            .endings
            .iter()
            .map(|e| e.first)
            .chain([routine.finish()])
    };
    match stop.then {
        Then::Go(at) => (vec![at], false),
        Then::Gate { again, on } if ends_at(routine, on) => {
            (endings().chain([again]).collect(), true)
        }
        Then::Gate { again, on } => (vec![again, on], false),
        Then::Endings => (endings().collect(), true),
        Then::Finish => (vec![routine.finish()], false),
    }
}

/// The stops from this one on, itself included.
pub(super) fn reachable(routine: &Routine, from: usize) -> BTreeSet<usize> {
    let mut found = BTreeSet::new();
    let mut open = vec![from];
    while let Some(n) = open.pop() {
        if let Some(stop) = routine.stops.get(n)
            && found.insert(n)
        {
            open.extend(following(routine, stop).0.into_iter().map(StopIndex::index));
        }
    }
    found
}

/// Works backwards over the stops until nothing changes: what must be kept before each, and nothing at the end of the road.
fn backwards<T: Ord + Copy>(
    routine: &Routine,
    before: impl Fn(&Stop, BTreeSet<T>, bool) -> BTreeSet<T>,
    claimed: &[BTreeSet<T>],
) -> Vec<BTreeSet<T>> {
    let mut needed = vec![BTreeSet::new(); routine.stops.len() + 1];
    loop {
        let mut changed = false;
        for (n, stop) in routine.stops.iter().enumerate().rev() {
            let (next, ends) = following(routine, stop);
            let mut after = claimed.get(n).cloned().unwrap_or_default();
            for at in next {
                after.extend(needed.get(at.index()).into_iter().flatten().copied());
            }
            let now = before(stop, after, ends);
            changed |= now != needed[n];
            needed[n] = now;
        }
        if !changed {
            return needed;
        }
    }
}

fn names_claimed(routine: &Routine) -> Vec<BTreeSet<NameId>> {
    let claimed = |stop: &Stop| {
        let mut names = BTreeSet::new();
        for claim in &stop.claims {
            claim
                .kind
                .each_expr(&mut |expr| names.extend(&expr.reads().names));
        }
        names
    };
    routine.stops.iter().map(claimed).collect()
}

pub(super) fn names_before(routine: &Routine) -> Vec<BTreeSet<NameId>> {
    let before = |stop: &Stop, mut names: BTreeSet<NameId>, ends: bool| {
        if ends {
            for when in routine.endings.iter().filter_map(|e| e.when.as_ref()) {
                names.extend(&when.reads().names);
            }
        }
        let mut read = BTreeSet::new();
        let bare = Stop {
            fork: None,
            reckonings: Vec::new(),
            reply: None,
            acts: Vec::new(),
            ..stop.clone()
        };
        bare.each_expr(&mut |expr| read.extend(&expr.reads().names));
        names.append(&mut read);
        if let Some(reply) = &stop.reply {
            names.remove(&reply.name);
            names.extend(&reply.is.reads().names);
        }
        for act in stop.acts.iter().rev() {
            if let Act::Chain(chain) = act {
                names.remove(&chain.name);
            }
            act.each_act(&mut |act| {
                act.each_expr(&mut |expr| names.extend(&expr.reads().names));
                names.extend(act.done_by());
            });
        }
        for reckoning in stop.reckonings.iter().rev() {
            names.remove(&reckoning.name);
            names.extend(&reckoning.is.reads().names);
        }
        if let Some(fork) = &stop.fork {
            match fork.kind {
                // How many rounds were done is looked at where it is limited, or where something reads it.
                ForkKind::Again { at_most: Some(_) } => {
                    names.insert(fork.name);
                }
                ForkKind::Again { at_most: None } => {}
                ForkKind::Number { .. }
                | ForkKind::Option(_)
                | ForkKind::Pile(_)
                | ForkKind::PileOrder(_)
                | ForkKind::Place(_)
                | ForkKind::Card(_)
                | ForkKind::Cards { .. }
                | ForkKind::Cut { .. }
                | ForkKind::Riffle { .. }
                | ForkKind::Overhand(_) => {
                    names.remove(&fork.name);
                }
            }
            fork.each_expr(&mut |expr| names.extend(&expr.reads().names));
        }
        names
    };
    backwards(routine, before, &names_claimed(routine))
}

fn piles_claimed(routine: &Routine) -> Vec<BTreeSet<PileId>> {
    let claimed = |stop: &Stop| {
        let mut piles = BTreeSet::new();
        for claim in &stop.claims {
            piles.extend(claim.kind.piles());
            claim
                .kind
                .each_expr(&mut |expr| piles.extend(&expr.reads().piles));
        }
        piles
    };
    routine.stops.iter().map(claimed).collect()
}

/// Which piles must be kept; `None` where an expression may look through all of them, or says which pile it means.
fn piles_before(routine: &Routine) -> Option<Vec<BTreeSet<PileId>>> {
    let mut named_only = true;
    let mut expr = |expr: &Expr| named_only &= !expr.reads().identity;
    for stop in &routine.stops {
        stop.each_expr(&mut expr);
        for claim in &stop.claims {
            claim.kind.each_expr(&mut expr);
        }
    }
    routine
        .endings
        .iter()
        .filter_map(|e| e.when.as_ref())
        .for_each(&mut expr);
    for stop in &routine.stops {
        named_only &= !stop
            .fork
            .as_ref()
            .is_some_and(|f| matches!(f.kind, ForkKind::Pile(_) | ForkKind::PileOrder(_)));
        stop.each_act(&mut |act| named_only &= act.piles().is_some());
    }
    let before = |stop: &Stop, mut piles: BTreeSet<PileId>, ends: bool| {
        if ends {
            for when in routine.endings.iter().filter_map(|e| e.when.as_ref()) {
                piles.extend(&when.reads().piles);
            }
        }
        stop.each_expr(&mut |expr| piles.extend(&expr.reads().piles));
        stop.each_act(&mut |act| piles.extend(act.piles().into_iter().flatten()));
        piles.extend(stop.fork.iter().flat_map(crate::routine::Fork::piles));
        for sight in &stop.sights {
            piles.extend(sight.pile());
        }
        piles
    };
    named_only.then(|| backwards(routine, before, &piles_claimed(routine)))
}
