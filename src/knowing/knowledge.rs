//! All tables that fit, listed.

use crate::cards::Card;
use crate::roads::{Walked, domain, take, unknown_start};
use crate::routine::{Fault, NameId, Routine, Scene, Seen, Value, World};
use rustc_hash::FxHashSet;

/// What the performer can know: every table that fits the sightings so far.
#[derive(Debug, Clone)]
pub struct Knowledge {
    /// `None` once there were more than the budget allows.
    worlds: Option<Vec<World>>,
    budget: usize,
}

/// The answer of the one query.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Known<T> {
    /// The same on every table that fits: this.
    Same(T),
    /// Not the same on all of them, or a face it needs is not fixed.
    Differs,
    /// More tables than the budget allows: not worked out.
    TooMany,
}

impl<T> Known<T> {
    /// The value, where it is known.
    pub fn same(self) -> Option<T> {
        match self {
            Self::Same(value) => Some(value),
            Self::Differs | Self::TooMany => None,
        }
    }
}

/// A step may try this many branches for each world that the budget allows before it is given up: most of them merge or
/// do not fit.
const TRIES_PER_WORLD: u128 = 8;

impl Knowledge {
    /// What is known before the first step: the set-up. `budget` is the most tables that are kept.
    #[must_use]
    pub fn at_start(routine: &Routine, budget: usize) -> Self {
        Self { worlds: Some(vec![unknown_start(routine)]), budget }
    }

    /// The tables that fit; `None` where there were too many.
    #[must_use]
    pub fn worlds(&self) -> Option<&[World]> {
        self.worlds.as_deref()
    }

    /// Takes in what was seen at the next stop.
    pub fn follow(&mut self, routine: &Routine, walked: &Walked) {
        let Some(worlds) = self.worlds.take() else { return };
        self.worlds = self.advance(routine, worlds, walked);
    }

    fn advance(&self, routine: &Routine, worlds: Vec<World>, walked: &Walked) -> Option<Vec<World>> {
        let stop = routine.stop(walked.stop)?;
        let tries = TRIES_PER_WORLD.saturating_mul(self.budget as u128);
        let mut tried: u128 = 0;
        let mut fitting: FxHashSet<World> = FxHashSet::default();
        for world in worlds {
            let fork = stop.fork.as_ref();
            if fork.is_none_or(|f| matches!(f.seen, Seen::All)) {
                let choice = walked.choice.as_ref().map(|(_, value)| value);
                fit(routine, &world, choice, walked, &mut fitting);
                tried += 1;
            } else {
                let open = domain(routine, &world).ok().flatten()?;
                tried = tried.saturating_add(open.count());
                if tried > tries {
                    return None;
                }
                for branch in open.branches() {
                    fit(routine, &world, Some(&branch), walked, &mut fitting);
                }
            }
            if fitting.len() > self.budget || tried > tries {
                return None;
            }
        }
        let mut fitting: Vec<World> = fitting.into_iter().collect();
        fitting.sort_unstable();
        Some(fitting)
    }

    /// The one query: is it the same on every table that fits, and what is it?
    pub fn known<T: Eq>(&self, routine: &Routine, what: impl Fn(Scene<'_>) -> Result<T, Fault>) -> Known<T> {
        let Some(worlds) = &self.worlds else { return Known::TooMany };
        let mut found: Option<T> = None;
        for world in worlds {
            match (what(Scene { routine, world }), &found) {
                (Err(_), _) => return Known::Differs,
                (Ok(value), None) => found = Some(value),
                (Ok(value), Some(first)) if value == *first => {}
                (Ok(_), Some(_)) => return Known::Differs,
            }
        }
        found.map_or(Known::Differs, Known::Same)
    }

    /// What is known of a remembered value.
    #[must_use]
    pub fn value(&self, routine: &Routine, name: NameId) -> Known<Value> {
        self.known(routine, |scene| {
            scene.world.value(name).cloned().ok_or_else(|| Fault::Value("nothing is remembered".to_owned()))
        })
    }
}

/// Takes the step on one world and keeps the result where the sightings agree. Where a face is needed that nothing has fixed, every
/// face that it could be is tried.
fn fit(routine: &Routine, world: &World, choice: Option<&Value>, walked: &Walked, fitting: &mut FxHashSet<World>) {
    match take(routine, world, choice) {
        Ok(taken) => {
            if taken.sights == walked.sights {
                fitting.insert(taken.world);
            }
        }
        Err(Fault::Unfixed(card)) => {
            for print in open_faces(routine, world) {
                fit(routine, &fixed(world, card, print), choice, walked, fitting);
            }
        }
        // A branch that cannot be gone on with is no table that fits.
        Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => {}
    }
}

fn fixed(world: &World, card: Card, print: Card) -> World {
    let mut world = world.clone();
    if let Some(slot) = world.faces.get_mut(card.index()) {
        *slot = Some(print);
    }
    world
}

/// The faces of the shuffled deck that no card has been given yet.
fn open_faces(routine: &Routine, world: &World) -> Vec<Card> {
    let taken: FxHashSet<Card> = world.faces.iter().flatten().copied().collect();
    routine.shuffled.iter().copied().filter(|card| !taken.contains(card)).collect()
}
