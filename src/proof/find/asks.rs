//! What a routine asks of the prints of its cards, as far as it matters to its roads and claims.

use crate::cards::TraitId;
use crate::routine::{Act, ClaimKind, Expr, NameId, Reply, Routine, SightKind, Wanted, Words};
use std::collections::{BTreeMap, BTreeSet};

/// What is asked.
#[derive(Debug, Default)]
pub(super) struct Asks {
    /// Traits, each with the first place in the file that asks for it, in words.
    pub(super) traits: BTreeMap<TraitId, String>,
    /// Whether anything tells classes by their names, and does not only compare cards.
    pub(super) by_name: bool,
    /// What asks for more than traits, in words.
    pub(super) prints: Vec<String>,
}

impl Asks {
    /// Of a routine.
    pub(super) fn of(routine: &Routine) -> Self {
        let mut asks = Self::default();
        for stop in &routine.stops {
            let place = format!("line {}, \u{201c}{}\u{201d}", stop.line, stop.title);
            stop.each_expr(&mut |expr| asks.expr(expr, &place));
            stop.each_act(&mut |act| asks.act(act, &place));
            for claim in &stop.claims {
                let place = format!("line {}, the claim that {}", claim.line, claim.words);
                claim.kind.each_expr(&mut |expr| asks.expr(expr, &place));
                claim.kind.each_claim(&mut |kind| asks.claim(kind, &place));
            }
        }
        for ending in &routine.endings {
            if let Some(when) = &ending.when {
                asks.expr(
                    when,
                    &format!("when the ending \u{201c}{}\u{201d} is taken", ending.id),
                );
            }
        }
        asks
    }

    fn trait_of(&mut self, id: TraitId, place: &str) {
        self.traits.entry(id).or_insert_with(|| place.to_owned());
    }

    fn print(&mut self, place: &str) {
        if !self.prints.iter().any(|known| known == place) {
            self.prints.push(place.to_owned());
        }
    }

    fn expr(&mut self, expr: &Expr, place: &str) {
        for id in &expr.reads().traits {
            self.trait_of(*id, place);
        }
        self.by_name |= expr.part().names_classes();
        if expr.part().looks_at_print() {
            self.print(place);
        }
    }

    fn act(&mut self, act: &Act, place: &str) {
        match act {
            Act::Chain(_) => {
                self.trait_of(TraitId::VALUE, place);
                self.by_name = true;
            }
            Act::Spell {
                words: Words::CardName(_),
                ..
            } => self.print(place),
            Act::Spell {
                words: Words::Plain(_),
                ..
            }
            | Act::Cut { .. }
            | Act::Block { .. }
            | Act::Deal { .. }
            | Act::Gather { .. }
            | Act::DownUnder { .. }
            | Act::Klondike(_)
            | Act::Monge { .. }
            | Act::Faro { .. }
            | Act::InverseFaro { .. }
            | Act::Riffle { .. }
            | Act::Overhand { .. }
            | Act::Turn { .. }
            | Act::TurnEach { .. }
            | Act::Reverse(_)
            | Act::Take { .. }
            | Act::Put { .. }
            | Act::Swap { .. }
            | Act::Repeat { .. }
            | Act::When { .. } => {}
        }
    }

    fn claim(&mut self, kind: &ClaimKind, place: &str) {
        match kind {
            ClaimKind::AllOne { class, .. }
            | ClaimKind::Blocks { class, .. }
            | ClaimKind::Mirror {
                class: Some(class), ..
            }
            | ClaimKind::SameAs {
                class: Some(class), ..
            } => self.trait_of(*class, place),
            ClaimKind::Sequence { wanted, .. } => {
                for wanted in wanted {
                    self.wanted(wanted, place);
                }
            }
            ClaimKind::Count {
                wanted: Some(wanted),
                ..
            } => self.wanted(wanted, place),
            ClaimKind::Sum { .. } => {
                self.trait_of(TraitId::VALUE, place);
                self.by_name = true;
            }
            ClaimKind::Mirror { class: None, .. } | ClaimKind::MatesTogether(_) => {
                self.print(place);
            }
            ClaimKind::SameAs { class: None, .. }
            | ClaimKind::Count { wanted: None, .. }
            | ClaimKind::Place { .. }
            | ClaimKind::And(_)
            | ClaimKind::Or(_)
            | ClaimKind::Not(_)
            | ClaimKind::Expr(_) => {}
        }
    }

    fn wanted(&mut self, wanted: &Wanted, place: &str) {
        if let Wanted::Is(id, _) = wanted {
            self.trait_of(*id, place);
            self.by_name = true;
        }
    }
}

/// Leaves out what no road and no claim hangs on: sights of what is printed, and answers and reckonings that only the patter uses.
pub(super) fn bare(routine: &mut Routine) {
    for stop in &mut routine.stops {
        stop.sights.retain(|sight| match &sight.kind {
            SightKind::Card { at, .. } | SightKind::Trait { at, .. } => !at.reads().faces,
            SightKind::Count(_) => true,
            SightKind::Value(expr) => !expr.reads().faces,
        });
    }
    loop {
        let read = names_read(routine);
        let mut dropped = false;
        for stop in &mut routine.stops {
            let before = stop.reckonings.len();
            stop.reckonings.retain(|one| read.contains(&one.name));
            dropped |= stop.reckonings.len() < before;
            let unread = |reply: &Reply| !read.contains(&reply.name);
            if stop.reply.as_ref().is_some_and(unread) {
                stop.reply = None;
                dropped = true;
            }
        }
        if !dropped {
            return;
        }
    }
}

/// The names that a step, a claim or an ending reads.
pub(super) fn names_read(routine: &Routine) -> BTreeSet<NameId> {
    let mut names = BTreeSet::new();
    for stop in &routine.stops {
        stop.each_expr(&mut |expr| names.extend(&expr.reads().names));
        stop.each_act(&mut |act| names.extend(act.done_by()));
        for claim in &stop.claims {
            claim
                .kind
                .each_expr(&mut |expr| names.extend(&expr.reads().names));
        }
    }
    let ends = routine.endings.iter().filter_map(|e| e.when.as_ref());
    names.extend(ends.flat_map(|when| &when.reads().names));
    names
}
