//! A road as real hands take it: choices that can be spoken are spoken, and what the hands do freely stays open.
//!
//! Nothing that happens on the table is seen here. What is known is what the program chose itself, and what the performer
//! told; everything else is kept as the set of tables that could be. There are two such sets: what the performer can
//! know, from which alone questions are asked, and what the program knows on top, because it plays a spectator who has
//! thought of something and says nothing.

mod deciding;
mod telling;

pub(in crate::drill) use deciding::Decided;

use super::super::asking::{MOST_TABLES, Moment};
use super::super::heard::open;
use super::super::sighting::{Stated, sightings};
use crate::knowing::{Done, Knowledge, acted_on};
use crate::roads::{Sighted, Walked, choice_label, sample, start};
use crate::routine::{Blank, Fault, Fork, NameId, Routine, Scene, Seen, StopIndex, Value, World};
use std::collections::BTreeMap;

/// The stop that comes next.
#[derive(Debug, Clone)]
pub(in crate::drill) struct Next {
    pub stop: StopIndex,
    pub decided: Decided,
    /// On the table that is taken for an example.
    pub walked: Walked,
    /// What is seen on every table that could be.
    pub agreed: Vec<Sighted>,
    /// What the performer can know after it, before anything is told.
    pub open: Knowledge,
    /// What the program knows after it.
    pub all: Knowledge,
}

/// A road as hands take it.
#[derive(Debug, Clone)]
pub(in crate::drill) struct HandRoad {
    /// From 1.
    pub number: u32,
    pub seed: u64,
    /// How many stops there would be if the hands did as the seed says.
    pub likely: usize,
    /// What the performer can know.
    pub open: Knowledge,
    /// What the program knows.
    pub all: Knowledge,
    /// The stops done, on a table that could be; their sights are only those that are known.
    pub walked: Vec<Walked>,
    pub sights: Vec<Sighted>,
    pub given: Vec<Stated>,
    /// The choices that were spoken, each as `--choose` takes it.
    pub choices: Vec<String>,
    pub next: Option<Next>,
    /// A table that could be.
    example: World,
    visits: BTreeMap<StopIndex, u32>,
    /// Whether the cards were laid in the middle of a road, after choices that the performer could not see.
    laid: bool,
    /// What was thought of.
    pub thoughts: Vec<(NameId, Value)>,
    /// Whether another table than the example may lie there: cards were shuffled, the hands did something freely, somebody thought
    /// of something, or the table told what nobody could know.
    pub felt: bool,
}

impl HandRoad {
    pub fn new(routine: &Routine, seed: u64, number: u32) -> Result<Self, Fault> {
        let likely = sample(routine, seed)?.walked.len();
        let mut road = Self {
            number,
            seed,
            likely,
            open: Knowledge::at_start(routine, MOST_TABLES),
            all: Knowledge::at_start(routine, MOST_TABLES),
            walked: Vec::new(),
            sights: Vec::new(),
            given: Vec::new(),
            choices: Vec::new(),
            next: None,
            example: start(routine, seed),
            visits: BTreeMap::new(),
            laid: false,
            thoughts: Vec::new(),
            felt: !routine.shuffled.is_empty(),
        };
        road.arrive(routine)?;
        Ok(road)
    }

    /// The same road with these stops done, and the cards laid as they lie after them: the program has told each of them, so that it
    /// knows every choice made.
    pub fn laid_after(mut self, routine: &Routine, walked: &[Walked]) -> Result<Self, Fault> {
        for (n, step) in walked.iter().enumerate() {
            self.all.follow_done(
                routine,
                Done {
                    stop: step.stop,
                    choice: step.choice.as_ref().map(|(_, value)| value.clone()),
                    sights: step.sights.clone(),
                    whole: true,
                    on: walked.get(n + 1).map(|next| next.stop),
                },
            );
            self.open.follow(routine, step);
            *self.visits.entry(step.stop).or_insert(0) += 1;
            self.sights.extend(step.sights.iter().cloned());
            self.given.extend(sightings(routine, step));
            self.choices.extend(choice_label(routine, step));
            let silent = routine
                .stop(step.stop)
                .and_then(|stop| stop.fork.as_ref())
                .is_some_and(|fork| fork.seen != Seen::All);
            if silent && let Some((name, value)) = &step.choice {
                if acted_on(routine, *name) {
                    self.laid = true;
                } else {
                    self.thoughts.push((*name, value.clone()));
                }
            }
            self.example = step.after.clone();
            self.walked.push(step.clone());
        }
        self.arrive(routine)?;
        Ok(self)
    }

    pub fn moment<'a>(&'a self, routine: &'a Routine) -> Moment<'a> {
        Moment {
            routine,
            walked: &self.walked,
            done: self.walked.len(),
            knowledge: &self.open,
            sights: &self.sights,
        }
    }

    /// What was heard up to the next stop and at it.
    pub fn heard(&self, next: &Next) -> Vec<Sighted> {
        let mut heard = self.sights.clone();
        heard.extend(next.agreed.iter().cloned());
        heard
    }

    fn with(
        &self,
        routine: &Routine,
        next: &Next,
        before: &Knowledge,
        choice: Option<Value>,
        told: &[Sighted],
        on: Option<StopIndex>,
    ) -> Knowledge {
        let mut sights = next.agreed.clone();
        sights.extend(told.iter().cloned());
        let mut known = before.clone();
        known.follow_done(
            routine,
            Done {
                stop: next.stop,
                choice,
                sights,
                whole: false,
                on,
            },
        );
        known
    }

    /// The next stop is done. `told` is what the performer saw there that could not be known, `on` where the road goes on, if
    /// that could not be known either.
    pub fn commit(
        &mut self,
        routine: &Routine,
        told: &[Sighted],
        on: Option<StopIndex>,
    ) -> Result<(), Fault> {
        let Some(next) = self.next.take() else {
            return Ok(());
        };
        let mut walked = next.walked.clone();
        walked.sights.extend(told.iter().cloned());
        if told.is_empty() && on.is_none() {
            self.open = next.open;
            self.all = next.all;
        } else {
            let (ours, spoken) = (next.decided.known_to_us(), next.decided.spoken());
            let all = self.with(routine, &next, &self.all, ours, told, on);
            let open = if self.apart(&next.decided) {
                self.with(routine, &next, &self.open, spoken, told, on)
            } else {
                all.clone()
            };
            self.all = all;
            self.open = open;
        }
        // The example must be one of the tables that still could be.
        let fits = |world: &World| {
            on.is_none_or(|on| world.at == on)
                && told.iter().all(|one| match one {
                    Sighted::Reply(name, value) => world.value(*name) == Some(value),
                    Sighted::Stop(_)
                    | Sighted::Choice(..)
                    | Sighted::Part { .. }
                    | Sighted::Card { .. }
                    | Sighted::Trait { .. }
                    | Sighted::Count { .. }
                    | Sighted::Value { .. } => true,
                })
        };
        if !fits(&walked.after)
            && let Some(other) = self.all.worlds().and_then(<[World]>::first)
        {
            walked.after = other.clone();
        }
        self.example = walked.after.clone();
        *self.visits.entry(walked.stop).or_insert(0) += 1;
        self.sights.extend(walked.sights.iter().cloned());
        self.given.extend(sightings(routine, &walked));
        match &next.decided {
            Decided::Spoken(_) => self.choices.extend(choice_label(routine, &walked)),
            Decided::Thought(value) => {
                self.felt = true;
                if let Some((name, _)) = &walked.choice {
                    self.thoughts.push((*name, value.clone()));
                }
            }
            Decided::Free => self.felt = true,
            Decided::Nobody => {}
        }
        self.felt |= !told.is_empty() || on.is_some();
        self.walked.push(walked);
        self.arrive(routine)
    }

    /// The state after the last stop, on a table that could be.
    pub fn scene<'a>(&'a self, routine: &'a Routine) -> Scene<'a> {
        Scene {
            routine,
            world: &self.example,
        }
    }
}

/// Whether the words a spectator says give away nothing but what was heard.
pub(in crate::drill) fn says_openly(routine: &Routine, heard: &[Sighted], fork: &Fork) -> bool {
    fork.says.0.iter().all(|blank| match blank {
        Blank::Plain(_) => true,
        Blank::Value(expr) => open(routine, heard, expr),
    })
}
