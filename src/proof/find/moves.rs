//! What a routine's steps do to the cells: each way from one moment at which all piles hold as many cards as at the start to the next is
//! one move, a fixed permutation of the cells.

use super::asks::names_read;
use super::canvas::Canvas;
use crate::roads::{domain, pass, unknown_start};
use crate::routine::{Fault, ForkKind, NameId, Routine, StopIndex, Then, Value, World};
use crate::table::Table;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeSet;

/// The most branches of a fork that are followed.
const MOST_BRANCHES: u128 = 1 << 12;
/// The most states followed on the way.
const MOST_STATES: usize = 1 << 16;

/// A permutation of the cells: after the move, cell `i` holds what lay on cell `from[i]`.
pub type Turn = Box<[u16]>;

/// The moves of a routine.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Moves {
    /// The different ways, each once; the one that changes nothing is left out.
    pub turns: BTreeSet<Turn>,
    /// The steps that they are made of, in the order of the file.
    pub steps: BTreeSet<StopIndex>,
    /// Steps after which the piles do not come to hold as many cards as at the start any more: they belong to no move.
    pub left_out: BTreeSet<StopIndex>,
    /// Why steps were left out that are no fixed moves.
    pub unsteady: Vec<Unsteady>,
}

/// Why the moves of a routine cannot be told.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unsteady {
    /// What a step does hangs on what lies where.
    #[error("what \u{201c}{0}\u{201d} does hangs on the cards themselves, so it is no fixed move")]
    Looks(String),
    /// A step cannot be done.
    #[error("\u{201c}{step}\u{201d} cannot be done on its own: {why}")]
    Stuck {
        /// The step.
        step: String,
        /// Why.
        why: String,
    },
    /// Too many branches.
    #[error("\u{201c}{0}\u{201d} can be done in too many ways to follow each")]
    TooMany(String),
    /// The steps named do not bring the cards back.
    #[error(
        "after {0} the piles do not hold as many cards as before; join steps with + until they do"
    )]
    NotBack(String),
    /// Cards of the pattern and others change places.
    #[error("in {0} cards of the pattern change places with others")]
    Mixed(String),
    /// It was asked to stop.
    #[error("it was stopped")]
    Stopped,
    /// Nothing is ever brought back.
    #[error(
        "the piles never come to hold as many cards again as at the start, so there is no move to repeat; name steps"
    )]
    NoMoves,
}

impl Moves {
    /// All moves of the routine as it goes.
    ///
    /// # Errors
    /// When a step hangs on the cards, cannot be done, or there is no move.
    pub fn of(canvas: &Canvas, stop: &(dyn Fn() -> bool + Sync)) -> Result<Self, Unsteady> {
        let routine = canvas.routine();
        let kept = Kept::of(routine);
        let mut moves = Self::default();
        let mut back = false;
        let mut met: FxHashSet<World> = FxHashSet::default();
        // Each world with the steps done since the piles were last as at the start.
        let mut open = vec![(opened(canvas), Vec::new())];
        let mut unfinished: BTreeSet<StopIndex> = BTreeSet::new();
        while let Some((world, done)) = open.pop() {
            if stop() {
                return Err(Unsteady::Stopped);
            }
            if routine.stop(world.at).is_none() {
                unfinished.extend(done.iter().copied());
                continue;
            }
            let next = match followers(routine, &kept, &world) {
                Ok(next) => next,
                // It is no fixed move, so neither is what would follow.
                Err(unsteady) => {
                    unfinished.extend(done.iter().copied());
                    if !moves.unsteady.contains(&unsteady) {
                        moves.unsteady.push(unsteady);
                    }
                    continue;
                }
            };
            for mut next in next {
                let mut done: Vec<StopIndex> = done.clone();
                done.push(world.at);
                if sizes(&next.table) == sizes(&routine.start) {
                    back = true;
                    let named = || names(routine, &done);
                    moves.add(canvas, &mut next, named)?;
                    moves.note(routine, done.drain(..));
                }
                if met.len() > MOST_STATES {
                    return Err(Unsteady::TooMany(title(routine, world.at)));
                }
                if met.insert(next.clone()) {
                    open.push((next, done));
                }
            }
        }
        moves.left_out = unfinished.difference(&moves.steps).copied().collect();
        if back {
            Ok(moves)
        } else {
            Err(moves.unsteady.pop().unwrap_or(Unsteady::NoMoves))
        }
    }

    /// The moves made of these steps: each part is one move, its steps done one after the other.
    ///
    /// # Errors
    /// When a step hangs on the cards or cannot be done, or a part does not bring the cards back.
    pub fn named(
        canvas: &Canvas,
        parts: &[Vec<StopIndex>],
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Result<Self, Unsteady> {
        let routine = canvas.routine();
        let kept = Kept::of(routine);
        let mut moves = Self::default();
        for part in parts {
            let mut worlds = vec![opened(canvas)];
            for step in part {
                let mut after = FxHashSet::default();
                for mut world in worlds {
                    if stop() {
                        return Err(Unsteady::Stopped);
                    }
                    world.at = *step;
                    after.extend(followers(routine, &kept, &world)?);
                    if after.len() > MOST_STATES {
                        return Err(Unsteady::TooMany(title(routine, *step)));
                    }
                }
                worlds = after.into_iter().collect();
            }
            for mut world in worlds {
                if sizes(&world.table) != sizes(&routine.start) {
                    return Err(Unsteady::NotBack(names(routine, part)));
                }
                moves.add(canvas, &mut world, || names(routine, part))?;
            }
            moves.note(routine, part.iter().copied());
        }
        Ok(moves)
    }

    /// Notes the steps of a move that do anything.
    fn note(&mut self, routine: &Routine, steps: impl Iterator<Item = StopIndex>) {
        let acts = |at: &StopIndex| routine.stop(*at).is_some_and(|stop| !stop.acts.is_empty());
        self.steps.extend(steps.filter(acts));
    }

    /// Notes where the cells went, and numbers them anew.
    fn add(
        &mut self,
        canvas: &Canvas,
        world: &mut World,
        named: impl Fn() -> String,
    ) -> Result<(), Unsteady> {
        let places = canvas.places(&canvas.routine().start);
        let cells: FxHashMap<_, u16> = places.iter().copied().zip(0..).collect();
        let now = canvas.places(&world.table);
        let turn: Option<Turn> = now.iter().map(|card| cells.get(card).copied()).collect();
        let turn = turn.ok_or_else(|| Unsteady::Mixed(named()))?;
        if turn
            .iter()
            .enumerate()
            .any(|(n, from)| n != usize::from(*from))
        {
            self.turns.insert(turn);
        }
        world.table = canvas.routine().start.clone();
        // A card that is remembered is another after the cells were numbered anew.
        for value in &mut world.memory {
            if matches!(value, Some(Value::Card(_))) {
                *value = None;
            }
        }
        Ok(())
    }
}

/// The start with all cells open.
fn opened(canvas: &Canvas) -> World {
    let mut world = canvas.open(&vec![0; canvas.size()], &vec![false; canvas.size()]);
    world.memory = unknown_start(canvas.routine()).memory;
    world
}

fn sizes(table: &Table) -> Vec<usize> {
    table.piles().map(|(_, pile)| pile.len()).collect()
}

fn title(routine: &Routine, stop: StopIndex) -> String {
    routine
        .stop(stop)
        .map_or_else(String::new, |stop| stop.title.clone())
}

fn names(routine: &Routine, stops: &[StopIndex]) -> String {
    let titles = stops
        .iter()
        .map(|stop| format!("\u{201c}{}\u{201d}", title(routine, *stop)));
    titles.collect::<Vec<_>>().join(" and ")
}

/// The choices, replies and reckonings that some step may look at again.
struct Kept(BTreeSet<NameId>);

impl Kept {
    fn of(routine: &Routine) -> Self {
        Self(names_read(routine))
    }

    /// Forgets what nothing reads; how often a part without end was gone through, too, since the rounds would never come round.
    fn forget(&self, routine: &Routine, stop: StopIndex, world: &mut World) {
        let fork = routine.stop(stop).and_then(|stop| stop.fork.as_ref());
        let endless = fork.filter(|f| matches!(f.kind, ForkKind::Again { at_most: None }));
        for (n, slot) in world.memory.iter_mut().enumerate() {
            let name = NameId(u16::try_from(n).unwrap_or(u16::MAX));
            let limited = routine
                .stops
                .iter()
                .filter_map(|stop| stop.fork.as_ref())
                .any(|fork| {
                    fork.name == name && matches!(fork.kind, ForkKind::Again { at_most: Some(_) })
                });
            let read = self.0.contains(&name) || limited;
            if !read || endless.is_some_and(|fork| fork.name == name) {
                *slot = None;
            }
        }
    }
}

/// Every world that can follow.
fn followers(routine: &Routine, kept: &Kept, world: &World) -> Result<Vec<World>, Unsteady> {
    let fault = |fault: Fault| match fault {
        Fault::Unfixed(_) => Unsteady::Looks(title(routine, world.at)),
        Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_) => Unsteady::Stuck {
            step: title(routine, world.at),
            why: fault.told(routine),
        },
    };
    if looks_at_facing(routine, world.at) {
        return Err(Unsteady::Looks(title(routine, world.at)));
    }
    let Some(open) = domain(routine, world).map_err(fault)? else {
        let mut next = pass(routine, world, None).map_err(fault)?;
        kept.forget(routine, world.at, &mut next);
        return Ok(vec![next]);
    };
    if open.count() > MOST_BRANCHES {
        return Err(Unsteady::TooMany(title(routine, world.at)));
    }
    open.branches()
        .map(|choice| {
            let mut next = pass(routine, world, Some(&choice)).map_err(fault)?;
            kept.forget(routine, world.at, &mut next);
            Ok(next)
        })
        .collect()
}

/// Whether a step, or the choice of an ending after it, looks at which way cards face: that changes from one time to the next.
fn looks_at_facing(routine: &Routine, at: StopIndex) -> bool {
    let Some(stop) = routine.stop(at) else {
        return false;
    };
    let mut facing = false;
    stop.each_expr(&mut |expr| facing |= expr.reads().facing);
    let to_endings = match stop.then {
        Then::Endings => true,
        Then::Gate { on, .. } => routine.endings.iter().any(|ending| ending.first == on),
        Then::Go(_) | Then::Finish => false,
    };
    let mut ends = routine.endings.iter().filter_map(|e| e.when.as_ref());
    facing || to_endings && ends.any(|when| when.reads().facing)
}
