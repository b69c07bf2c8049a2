//! "Again, as often as you like" by induction.
//!
//! At the head of a part that may be gone through any number of times every card on the table is taken for any card whatever, facing
//! either way, and only what some claims say is kept of it. If one round from any such table, by every branch, leads to such a
//! table again, and no claim breaks on the way, then any number of rounds does: the road goes on behind the part from any such
//! table. Which claims are kept is found by starting with all that hold when the part is entered and dropping those that a
//! round does not keep, until nothing changes (as Houdini does: Flanagan and Leino 2001).
//!
//! What is proved so holds for more tables than can really be met. Where that is too many (a claim would break on one of them), nothing
//! is concluded, and every state is visited instead.

use super::expand::{Expander, branches};
use super::shuffled::{Lost, Origin};
use super::state::Core;
use crate::knowing::{Claimed, StreamState, Tokens, all_tokens};
use crate::roads::{domain, pass};
use crate::routine::{ClaimKind, ForkKind, Routine, Scene, StopIndex, Then, Value, World};
use crate::table::Laid;
use rustc_hash::FxHashSet;
use std::collections::BTreeSet;

/// A fork inside the part with more branches than this is not gone through by induction.
const MOST_BRANCHES: u128 = 4_096;

/// A part that may be gone through any number of times.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Part {
    /// Its first stop.
    pub(super) first: StopIndex,
    /// The stop where it is asked whether to go round again.
    pub(super) gate: StopIndex,
}

impl Part {
    /// Whether a stop lies inside.
    fn holds(&self, stop: StopIndex) -> bool {
        (self.first..=self.gate).contains(&stop)
    }
}

/// The parts of a routine that induction may be tried on: not inside one another, and nothing from their head on lays cards a
/// stated way up or asks which way one faces, apart from claims.
pub(super) fn parts(routine: &Routine) -> Vec<Part> {
    let mut parts: Vec<Part> = Vec::new();
    for (n, stop) in routine.stops.iter().enumerate() {
        let unbounded = stop
            .fork
            .as_ref()
            .is_some_and(|fork| matches!(fork.kind, ForkKind::Again { at_most: None }));
        if let (Then::Gate { again, .. }, true) = (stop.then, unbounded) {
            let gate = StopIndex(u16::try_from(n).unwrap_or(u16::MAX));
            parts.push(Part { first: again, gate });
        }
    }
    let all = parts.clone();
    let alone = |part: &Part| {
        all.iter()
            .all(|other| other == part || !other.holds(part.first) && !part.holds(other.first))
    };
    parts.retain(|part| alone(part) && !asks_facing(routine, *part));
    parts
}

fn asks_facing(routine: &Routine, part: Part) -> bool {
    let from = part.gate.index();
    let mut asks = false;
    for stop in routine.stops.iter().skip(from) {
        stop.each_act(&mut |act| asks |= act.sets_facing());
        stop.each_expr(&mut |expr| asks |= expr.reads().facing);
    }
    let whens = routine.endings.iter().filter_map(|e| e.when.as_ref());
    asks | whens.into_iter().any(|when| when.reads().facing)
}

/// A table whatever, at the head of a part.
struct Head {
    down: World,
    up: World,
    tokens: Tokens,
    start: StreamState,
}

impl Expander<'_> {
    /// The part that begins with this stop, where it is gone through by induction: then a state at its head has come from outside.
    pub(super) fn part_at(&self, at: StopIndex) -> Option<Part> {
        self.parts.iter().find(|part| part.first == at).copied()
    }

    /// Goes through a part by induction: the worlds behind it, each with what is known of its cards.
    pub(super) fn inducted(
        &mut self,
        part: Part,
        entry: &World,
        from: &Core,
    ) -> Result<Vec<(World, Core)>, Lost> {
        let claims = self.kept_at(part, entry, from)?;
        let head = self.head(entry).ok_or(Lost::NotInductive)?;
        let mut kept: Vec<ClaimKind> = claims;
        loop {
            match self.round(part, &head, &kept)? {
                Round::Drops(dropped) => {
                    let mut n = 0;
                    kept.retain(|_| {
                        n += 1;
                        !dropped.contains(&(n - 1))
                    });
                }
                Round::Keeps(exits) => return self.behind(part, exits, &kept, &head),
            }
        }
    }

    /// The claims that could be kept: of all stops from the head on, those that hold where the part is entered.
    fn kept_at(&mut self, part: Part, entry: &World, from: &Core) -> Result<Vec<ClaimKind>, Lost> {
        let mut kept = Vec::new();
        let given = self.given(from)?;
        for stop in self.routine.stops.iter().skip(part.first.index()) {
            for claim in &stop.claims {
                let holds = match &given {
                    None => {
                        let scene = Scene {
                            routine: self.routine,
                            world: entry,
                        };
                        claim.kind.holds(scene).unwrap_or(false)
                    }
                    Some((origin, given)) => {
                        let monitor = self.monitor(origin, entry, &claim.kind);
                        match monitor {
                            Ok(monitor) => !self.can_break(origin, *given, monitor)?,
                            Err(_) => false,
                        }
                    }
                };
                if holds {
                    kept.push(claim.kind.clone());
                }
            }
        }
        Ok(kept)
    }

    /// Any table with piles of these sizes.
    fn head(&mut self, entry: &World) -> Option<Head> {
        if !self.routine.shuffled.is_empty() {
            return None;
        }
        let mut plain = entry.clone();
        plain.faces.clear();
        let (down, up, tokens) = all_tokens(self.routine, &plain)?;
        let looks = self.every_look();
        let start = self.shuffles.streams.any_of(&looks, tokens.count);
        Some(Head {
            down,
            up,
            tokens,
            start,
        })
    }

    /// Everything a cell can be.
    fn every_look(&self) -> Vec<Laid> {
        let cards: BTreeSet<_> = self
            .routine
            .start
            .piles()
            .flat_map(|(_, pile)| pile.iter().map(|laid| self.watch.look(laid.card())))
            .collect();
        let both = [false, true];
        let facings = if self.watch.sees_facing() {
            &both[..]
        } else {
            &both[..1]
        };
        cards
            .into_iter()
            .flat_map(|card| facings.iter().map(move |up| Laid::new(card, *up)))
            .collect()
    }

    /// One round from any table on which the claims hold.
    fn round(&mut self, part: Part, head: &Head, kept: &[ClaimKind]) -> Result<Round, Lost> {
        let mut open = vec![(head.down.clone(), head.up.clone())];
        let mut seen: FxHashSet<(World, World)> = FxHashSet::default();
        let mut dropped = BTreeSet::new();
        let mut exits: Vec<World> = Vec::new();
        while let Some((down, up)) = open.pop() {
            let at = down.at;
            self.inside.insert(at);
            if !part.holds(at) || !self.watch.is_blind(at) {
                return Err(Lost::NotInductive);
            }
            let Ok(choices) = domain(self.routine, &down) else {
                return Err(Lost::NotInductive);
            };
            if choices
                .as_ref()
                .is_some_and(|choices| choices.count() > MOST_BRANCHES)
            {
                return Err(Lost::NotInductive);
            }
            for (_, choice, _) in branches(choices.as_ref()) {
                let after = |world: &World| pass(self.routine, world, choice.as_ref());
                let (Ok(mut one), Ok(mut other)) = (after(&down), after(&up)) else {
                    return Err(Lost::NotInductive);
                };
                self.visited += 1;
                self.watch.forget(&mut one, Some(at));
                self.watch.forget(&mut other, Some(at));
                let claims = self.routine.stop(at).map_or(&[][..], |stop| &stop.claims);
                for claim in claims {
                    if !self.keeps(head, kept, (&one, &other), &claim.kind)? {
                        return Err(Lost::NotInductive);
                    }
                }
                self.watch.forget(&mut one, None);
                self.watch.forget(&mut other, None);
                if at != part.gate {
                    if seen.insert((one.clone(), other.clone())) {
                        open.push((one, other));
                    }
                    continue;
                }
                if choice != Some(Value::Bool(true)) {
                    exits.push(one);
                    continue;
                }
                let sizes = |world: &World| -> Vec<usize> {
                    world.table.piles().map(|(_, pile)| pile.len()).collect()
                };
                if sizes(&one) != sizes(&head.down) || one.memory != head.down.memory {
                    return Err(Lost::NotInductive);
                }
                for (n, claim) in kept.iter().enumerate() {
                    if !dropped.contains(&n) && !self.keeps(head, kept, (&one, &other), claim)? {
                        dropped.insert(n);
                    }
                }
            }
        }
        Ok(if dropped.is_empty() {
            Round::Keeps(exits)
        } else {
            Round::Drops(dropped)
        })
    }

    /// Whether a claim holds on a world after part of a round, whatever table it began with.
    fn keeps(
        &mut self,
        head: &Head,
        kept: &[ClaimKind],
        after: (&World, &World),
        claim: &ClaimKind,
    ) -> Result<bool, Lost> {
        let (routine, limits) = (self.routine, self.limits);
        let before = |claim| Claimed {
            routine,
            world: &head.down,
            turned: Some(&head.up),
            claim,
        };
        let given: Vec<Claimed<'_>> = kept.iter().map(before).collect();
        let then = Claimed {
            routine,
            world: after.0,
            turned: Some(after.1),
            claim,
        };
        let streams = &mut self.shuffles.streams;
        let kept = streams.preserved(head.start, &head.tokens, &given, then, &mut |_| {
            (limits.stop)()
        })?;
        Ok(kept.unwrap_or(false))
    }

    /// The worlds behind the part: any table on which the claims hold.
    fn behind(
        &mut self,
        part: Part,
        exits: Vec<World>,
        kept: &[ClaimKind],
        head: &Head,
    ) -> Result<Vec<(World, Core)>, Lost> {
        let mut behind: Vec<(World, Core)> = Vec::new();
        for exit in exits {
            let mut plain = exit.clone();
            plain.faces.clear();
            let (down, up, tokens) = all_tokens(self.routine, &plain).ok_or(Lost::NotInductive)?;
            if behind.iter().any(|(world, _)| *world == down) {
                continue;
            }
            // Where a pile is of no more use behind the part, what was kept of it is of none either.
            let whole = tokens.count == head.tokens.count;
            let start = if whole {
                head.start
            } else {
                let looks = self.every_look();
                self.shuffles.streams.any_of(&looks, tokens.count)
            };
            let mut given = Vec::new();
            for claim in kept.iter().filter(|_| whole) {
                let claimed = Claimed {
                    routine: self.routine,
                    world: &down,
                    turned: Some(&up),
                    claim,
                };
                let monitor = self.shuffles.streams.monitor(start, &tokens, claimed);
                given.push((monitor.ok_or(Lost::NotInductive)?, true));
            }
            let origin = Origin {
                start,
                tokens,
                anything: true,
            };
            let core = Core {
                done: None,
                at: down.at,
                sizes: Vec::new(),
                memory: Vec::new(),
                faces: Vec::new(),
                origin: self.shuffles.number(origin),
                given,
            };
            behind.push((down, core));
        }
        self.by_induction.insert(part.gate);
        Ok(behind)
    }
}

/// What a round came to.
enum Round {
    /// These of the claims are not kept.
    Drops(BTreeSet<usize>),
    /// All are; and the worlds on which the part is left.
    Keeps(Vec<World>),
}
