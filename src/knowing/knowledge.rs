//! What the performer can know, and the one query.

use super::done::Done;
use super::layer::Layer;
use super::reads;
use super::shuffled::{Hands, Unlisted};
use super::streams::Streams;
use crate::cards::TraitId;
use crate::roads::{Sighted, Walked};
use crate::routine::{ClaimKind, Fault, NameId, Routine, Scene, Value, World};

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
    /// For what a watch has too many tables to list.
    unlisted: Unlisted,
    /// The road so far.
    road: Vec<Done>,
    budget: usize,
}

impl Knowledge {
    /// What is known before the first step: the set-up. `budget` is the most tables that are kept.
    #[must_use]
    pub fn at_start(routine: &Routine, budget: usize) -> Self {
        let exact = Layer::at_start(routine, Watch::Cards);
        Self {
            exact,
            coarse: Vec::new(),
            unlisted: Unlisted::default(),
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
            self.road.push(done);
            return Vec::new();
        }
        let agreed = self.exact.follow(routine, &done, self.budget);
        self.road.push(done);
        if self.exact.worlds.is_none() {
            self.coarse = self.coarse_layers(routine);
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

    /// Whether a claim is known to hold, or known to fail, by a watch that sees all that it looks at.
    #[must_use]
    pub fn holds(&self, routine: &Routine, watch: Watch, claim: &ClaimKind) -> Known<bool> {
        self.asked(
            routine,
            watch,
            &|scene| claim.holds(scene),
            &|hands, streams| hands.holds(streams, routine, claim),
        )
    }

    /// The one query: is it the same on every table that fits, and what is it? `what` must look at no more than the watch
    /// says, and at what is printed on a card through the scene.
    pub fn known<T: Eq>(
        &self,
        routine: &Routine,
        watch: Watch,
        what: impl Fn(Scene<'_>) -> Result<T, Fault>,
    ) -> Known<T> {
        self.asked(routine, watch, &what, &|hands, streams| {
            hands.known(streams, routine, &what)
        })
    }

    /// Asks the tables that are listed; where there are too many, the hands of the watch; and where that does not tell, because more
    /// was seen than the watch can tell, the hands that know each card.
    fn asked<T: Eq>(
        &self,
        routine: &Routine,
        watch: Watch,
        what: &impl Fn(Scene<'_>) -> Result<T, Fault>,
        of_hands: &dyn Fn(&Hands, &mut Streams) -> Known<T>,
    ) -> Known<T> {
        let hands = |watch| {
            let (road, budget) = (&self.road, self.budget);
            self.unlisted.ask(routine, watch, road, budget, of_hands)
        };
        let known = match self.worlds_for(watch) {
            Some(worlds) => same(routine, worlds, what),
            None => hands(watch),
        };
        let exact = self.exact.worlds.is_some() || watch == Watch::Cards;
        let mut sights = self.road.iter().flat_map(|done| &done.sights);
        match known {
            Known::Same(value) => Known::Same(value),
            Known::Differs | Known::TooMany if !exact && sights.any(is_a_card) => {
                match hands(Watch::Cards) {
                    Known::TooMany => known,
                    better @ (Known::Same(_) | Known::Differs) => better,
                }
            }
            Known::Differs | Known::TooMany => known,
        }
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

fn is_a_card(seen: &Sighted) -> bool {
    matches!(seen, Sighted::Card { .. })
}

/// What is the same on all these tables.
fn same<T: Eq>(
    routine: &Routine,
    worlds: &[World],
    what: &impl Fn(Scene<'_>) -> Result<T, Fault>,
) -> Known<T> {
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
