//! The tables that fit, listed as one watch sees them.

use super::Watch;
use super::done::Done;
use super::reads;
use super::weaves::different_weaves;
use crate::cards::Card;
use crate::roads::{Sighted, Taken, domain, take, unknown_start};
use crate::routine::{Fault, ForkKind, NameId, Routine, Seen, Value, World};
use crate::table::{Laid, Table};
use rustc_hash::{FxHashMap, FxHashSet};

/// All tables that fit, as one watch sees them.
#[derive(Debug, Clone)]
pub(super) struct Layer {
    pub(super) watch: Watch,
    /// By card number, the card that stands for it.
    stands_for: Vec<Card>,
    /// `None` once there were more than the budget allows.
    pub(super) worlds: Option<Vec<World>>,
}

/// A step may try so many branches for each world that the budget allows before it is given up: most merge or do not fit.
const TRIES_PER_WORLD: u128 = 8;

impl Layer {
    pub(super) fn at_start(routine: &Routine, watch: Watch) -> Self {
        let cards = (0..routine.pack.size())
            .filter_map(|n| u16::try_from(n).ok())
            .map(Card);
        let mut first_of: FxHashMap<u16, Card> = FxHashMap::default();
        let stands_for: Vec<Card> = cards
            .map(|card| match watch {
                Watch::Cards => card,
                Watch::Sizes => Card(0),
                Watch::Trait(class) => {
                    let class = routine
                        .pack
                        .class(card, class)
                        .map_or(u16::MAX, |c| u16::from(c.0));
                    *first_of.entry(class).or_insert(card)
                }
            })
            .collect();
        let mut world = unknown_start(routine);
        if watch != Watch::Cards {
            // Faces are of no interest to the sizes; with a trait's watch no card is of unknown face.
            world.faces.clear();
            let mut table = Table::empty(world.table.count());
            for (pile, cards) in world.table.piles() {
                let merged = cards
                    .iter()
                    .map(|laid| Laid::new(stand_in(&stands_for, laid.card()), laid.face_up()));
                table.pile_mut(pile).extend(merged);
            }
            world.table = table;
        }
        Self {
            watch,
            stands_for,
            worlds: Some(vec![world]),
        }
    }

    /// Takes in a step; gives what was seen on every table that fits.
    pub(super) fn follow(&mut self, routine: &Routine, done: &Done, budget: usize) -> Vec<Sighted> {
        let mut agreed = None;
        if let Some(worlds) = self.worlds.take() {
            self.worlds = self.advance(routine, worlds, done, budget, &mut agreed);
        }
        agreed.unwrap_or_default()
    }

    fn advance(
        &self,
        routine: &Routine,
        worlds: Vec<World>,
        done: &Done,
        budget: usize,
        agreed: &mut Option<Vec<Sighted>>,
    ) -> Option<Vec<World>> {
        let stop = routine.stop(done.stop)?;
        let tries = TRIES_PER_WORLD.saturating_mul(budget as u128);
        let mut tried: u128 = 0;
        let wanted: Vec<Sighted> = done.sights.iter().map(|s| self.as_seen(s)).collect();
        let mut fitting: FxHashSet<World> = FxHashSet::default();
        for world in worlds {
            let mut try_branch = |branch: Option<&Value>| {
                fit(routine, &world, branch, &mut |taken: Taken| {
                    if done.fits(&taken.sights, &wanted, &taken.world) {
                        agree(agreed, &taken.sights);
                        fitting.insert(taken.world);
                    }
                });
            };
            match stop.fork.as_ref().filter(|_| done.choice.is_none()) {
                None => {
                    try_branch(done.choice.as_ref());
                    tried += 1;
                }
                Some(fork) => match &fork.kind {
                    ForkKind::Riffle { left, right }
                        if matches!(fork.seen, Seen::Nothing) || !done.whole =>
                    {
                        let weaves = different_weaves(
                            world.table.pile(*left),
                            world.table.pile(*right),
                            budget,
                        )?;
                        tried = tried.saturating_add(weaves.len() as u128);
                        for weave in weaves {
                            try_branch(Some(&Value::Weave(weave.into())));
                        }
                    }
                    ForkKind::Riffle { .. }
                    | ForkKind::Number { .. }
                    | ForkKind::Option(_)
                    | ForkKind::Pile(_)
                    | ForkKind::PileOrder(_)
                    | ForkKind::Place(_)
                    | ForkKind::Card(_)
                    | ForkKind::Cards { .. }
                    | ForkKind::Cut { .. }
                    | ForkKind::Overhand(_)
                    | ForkKind::Again { .. } => {
                        let open = domain(routine, &world).ok().flatten()?;
                        tried = tried.saturating_add(open.count());
                        if tried > tries {
                            return None;
                        }
                        for branch in open.branches() {
                            try_branch(Some(&branch));
                        }
                    }
                },
            }
            if fitting.len() > budget || tried > tries {
                return None;
            }
        }
        if let Some(name) = reads::forgettable(routine, stop) {
            fitting = fitting
                .into_iter()
                .map(|world| forgotten(world, name))
                .collect();
        }
        let mut fitting: Vec<World> = fitting.into_iter().collect();
        fitting.sort_unstable();
        Some(fitting)
    }

    /// A sighting as this watch sees it: a card's print as the card that stands for it.
    pub(super) fn as_seen(&self, sighted: &Sighted) -> Sighted {
        match sighted {
            Sighted::Card {
                pile,
                place,
                print,
                up,
            } => Sighted::Card {
                pile: *pile,
                place: *place,
                print: stand_in(&self.stands_for, *print),
                up: *up,
            },
            Sighted::Stop(_)
            | Sighted::Choice(..)
            | Sighted::Part { .. }
            | Sighted::Reply(..)
            | Sighted::Trait { .. }
            | Sighted::Count { .. }
            | Sighted::Value { .. } => sighted.clone(),
        }
    }
}

/// Takes the step on one world. Where a face is needed that nothing has fixed, every face that it could be is tried.
fn fit(routine: &Routine, world: &World, choice: Option<&Value>, taken: &mut dyn FnMut(Taken)) {
    match take(routine, world, choice) {
        Ok(found) => taken(found),
        Err(Fault::Unfixed(card)) => {
            for print in open_faces(routine, world) {
                fit(routine, &fixed(world, card, print), choice, taken);
            }
        }
        // A branch that cannot be gone on with is no table that fits.
        Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => {}
    }
}

/// Keeps of what was seen on all tables so far only what is seen on this one too.
fn agree(agreed: &mut Option<Vec<Sighted>>, seen: &[Sighted]) {
    match agreed {
        None => *agreed = Some(seen.to_vec()),
        Some(common) => common.retain(|one| seen.contains(one)),
    }
}

pub(super) fn forgotten(mut world: World, name: NameId) -> World {
    if let Some(slot) = world.memory.get_mut(name.index()) {
        *slot = None;
    }
    world
}

fn stand_in(stands_for: &[Card], card: Card) -> Card {
    stands_for.get(card.index()).copied().unwrap_or(card)
}

fn fixed(world: &World, card: Card, print: Card) -> World {
    let mut world = world.clone();
    if let Some(slot) = world.faces.get_mut(card.index()) {
        *slot = Some(print);
    }
    world
}

/// The faces of the shuffled deck that no card has been given yet.
pub(super) fn open_faces(routine: &Routine, world: &World) -> Vec<Card> {
    let taken: FxHashSet<Card> = world.faces.iter().flatten().copied().collect();
    routine
        .shuffled
        .iter()
        .copied()
        .filter(|card| !taken.contains(card))
        .collect()
}
