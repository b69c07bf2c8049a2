//! All tables that fit, listed.

use super::done::Done;
use super::reads;
use super::weaves::different_weaves;
use crate::cards::{Card, TraitId};
use crate::roads::{Sighted, Taken, Walked, domain, take, unknown_start};
use crate::routine::{Fault, ForkKind, NameId, Routine, Scene, Seen, Value, World};
use crate::table::{Laid, Table};
use rustc_hash::{FxHashMap, FxHashSet};

/// What a question looks at. Cards that it cannot tell apart may be taken for one another, for this question only.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Watch {
    /// Which card lies where.
    Cards,
    /// This trait of each card, and which way it faces.
    Trait(TraitId),
    /// How many cards lie where, and which way they face.
    Sizes,
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

/// What the performer can know: every table that fits the sightings so far.
#[derive(Debug, Clone)]
pub struct Knowledge {
    exact: Layer,
    /// Made when the exact listing grows over the budget.
    coarse: Vec<Layer>,
    /// The road so far, kept until then.
    road: Vec<Done>,
    budget: usize,
}

/// All tables that fit, as one watch sees them.
#[derive(Debug, Clone)]
struct Layer {
    watch: Watch,
    /// By card number, the card that stands for it.
    stands_for: Vec<Card>,
    /// `None` once there were more than the budget allows.
    worlds: Option<Vec<World>>,
}

/// A step may try so many branches for each world that the budget allows before it is given up: most merge or do not fit.
const TRIES_PER_WORLD: u128 = 8;

impl Knowledge {
    /// What is known before the first step: the set-up. `budget` is the most tables that are kept.
    #[must_use]
    pub fn at_start(routine: &Routine, budget: usize) -> Self {
        let exact = Layer::at_start(routine, Watch::Cards);
        Self {
            exact,
            coarse: Vec::new(),
            road: Vec::new(),
            budget,
        }
    }

    /// The tables that fit, card by card; `None` where there were too many.
    #[must_use]
    pub fn worlds(&self) -> Option<&[World]> {
        self.exact.worlds.as_deref()
    }

    /// Takes in what was seen at the next stop.
    pub fn follow(&mut self, routine: &Routine, walked: &Walked) {
        self.follow_done(routine, Done::of(routine, walked));
    }

    /// Takes in a step that was done out of our sight, as far as it is known. Gives what was seen on every table that fits, in
    /// order: that much is known to have been seen, whether or not we were told. Nothing where the tables are not listed.
    pub fn follow_done(&mut self, routine: &Routine, done: Done) -> Vec<Sighted> {
        if self.exact.worlds.is_none() {
            for layer in &mut self.coarse {
                layer.follow(routine, &done, self.budget);
            }
            return Vec::new();
        }
        let agreed = self.exact.follow(routine, &done, self.budget);
        self.road.push(done);
        if self.exact.worlds.is_none() {
            self.coarse = self.coarse_layers(routine);
            self.road.clear();
            return Vec::new();
        }
        agreed
    }

    fn coarse_layers(&self, routine: &Routine) -> Vec<Layer> {
        let traits = reads::spoken_of(routine).into_iter().map(Watch::Trait);
        traits
            .chain([Watch::Sizes])
            .filter(|watch| reads::allows(routine, *watch))
            .map(|watch| {
                let mut layer = Layer::at_start(routine, watch);
                for done in &self.road {
                    layer.follow(routine, done, self.budget);
                }
                layer
            })
            .collect()
    }

    /// The one query: is it the same on every table that fits, and what is it? `what` must look at no more than the watch
    /// says.
    pub fn known<T: Eq>(
        &self,
        routine: &Routine,
        watch: Watch,
        what: impl Fn(Scene<'_>) -> Result<T, Fault>,
    ) -> Known<T> {
        let Some(worlds) = self.worlds_for(watch) else {
            return Known::TooMany;
        };
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

    /// The tables that fit, as this watch sees them: cards that it cannot tell apart may be taken for one another.
    /// `None` where there were too many.
    #[must_use]
    pub fn worlds_for(&self, watch: Watch) -> Option<&[World]> {
        if let Some(worlds) = &self.exact.worlds {
            return Some(worlds);
        }
        let layer = |watch| {
            self.coarse
                .iter()
                .find(|l| l.watch == watch)
                .and_then(|l| l.worlds.as_deref())
        };
        match watch {
            Watch::Cards => None,
            Watch::Trait(_) => layer(watch),
            // Any watch shows the sizes too.
            Watch::Sizes => {
                layer(watch).or_else(|| self.coarse.iter().find_map(|l| l.worlds.as_deref()))
            }
        }
    }

    /// What is known of a remembered value.
    #[must_use]
    pub fn value(&self, routine: &Routine, name: NameId) -> Known<Value> {
        self.known(routine, Watch::Sizes, |scene| {
            scene
                .world
                .value(name)
                .cloned()
                .ok_or_else(|| Fault::Value("nothing is remembered".to_owned()))
        })
    }
}

impl Layer {
    fn at_start(routine: &Routine, watch: Watch) -> Self {
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
    fn follow(&mut self, routine: &Routine, done: &Done, budget: usize) -> Vec<Sighted> {
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
    fn as_seen(&self, sighted: &Sighted) -> Sighted {
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

fn forgotten(mut world: World, name: NameId) -> World {
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
fn open_faces(routine: &Routine, world: &World) -> Vec<Card> {
    let taken: FxHashSet<Card> = world.faces.iter().flatten().copied().collect();
    routine
        .shuffled
        .iter()
        .copied()
        .filter(|card| !taken.contains(card))
        .collect()
}
