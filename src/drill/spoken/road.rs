//! A road as real hands take it: choices that can be spoken are spoken, and what the hands do freely stays open.
//!
//! Nothing that happens on the table is seen here. What is known is what the program chose itself, and what the performer
//! told; everything else is kept as the set of tables that could be. There are two such sets: what the performer can
//! know, from which alone questions are asked, and what the program knows on top, because it plays a spectator who has
//! thought of something and says nothing.

use super::super::asking::{MOST_TABLES, Moment};
use super::super::heard::open;
use super::super::sighting::{Stated, sightings};
use crate::knowing::{Done, Knowledge, Known, Watch, acted_on};
use crate::roads::{Draw, Sighted, Walked, choice_label, domain, sample, start, take};
use crate::routine::{
    Blank, Fault, Fork, ForkKind, NameId, Routine, Scene, Seen, StopIndex, Value, World,
};
use std::collections::BTreeMap;

/// So many branches are looked at to find one that every table allows.
const TRIES: usize = 64;

/// Who decides at a fork.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::drill) enum Decided {
    /// There is no fork.
    Nobody,
    /// The program, aloud: hands can follow it exactly.
    Spoken(Value),
    /// The program, in silence: somebody has thought of something, and nothing is done with it yet.
    Thought(Value),
    /// The hands.
    Free,
}

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
    /// What was thought of.
    pub thoughts: Vec<(NameId, Value)>,
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
            thoughts: Vec::new(),
        };
        road.arrive(routine)?;
        Ok(road)
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

    /// Looks at the stop that comes next and decides its fork.
    fn arrive(&mut self, routine: &Routine) -> Result<(), Fault> {
        self.next = None;
        let at = self.example.at;
        let Some(stop) = routine.stop(at) else {
            return Ok(());
        };
        let visit = self.visits.get(&at).copied().unwrap_or(0) + 1;
        let (value, decided) = match (&stop.fork, domain(routine, &self.example)?) {
            (Some(fork), Some(branches)) => {
                let drawn = branches.sample(&mut Draw::for_step(self.seed, &stop.id.0, visit));
                match self.decide(routine, fork, &drawn) {
                    Decided::Spoken(_) | Decided::Thought(_) if !self.allowed(routine, &drawn) => {
                        let other = branches
                            .branches()
                            .take(TRIES)
                            .find(|value| self.allowed(routine, value));
                        match other {
                            Some(value) => {
                                let decided = self.decide(routine, fork, &value);
                                (Some(value), decided)
                            }
                            None => (Some(drawn), Decided::Free),
                        }
                    }
                    decided => (Some(drawn), decided),
                }
            }
            (_, _) => (None, Decided::Nobody),
        };
        let taken = take(routine, &self.example, value.as_ref())?;
        let choice = match (&stop.fork, value) {
            (Some(fork), Some(value)) => Some((fork.name, value)),
            (_, _) => None,
        };
        let done = |choice: Option<Value>, sights: Vec<Sighted>| Done {
            stop: at,
            choice,
            sights,
            whole: false,
            on: None,
        };
        let mut all = self.all.clone();
        let mut agreed = all.follow_done(routine, done(decided.known_to_us(), Vec::new()));
        if agreed.is_empty() {
            agreed.push(Sighted::Stop(at));
            if let (Decided::Spoken(value), Some((name, _))) = (&decided, &choice) {
                agreed.push(Sighted::Choice(*name, value.clone()));
            }
        }
        let open = if self.apart(&decided) {
            let mut open = self.open.clone();
            open.follow_done(routine, done(decided.spoken(), agreed.clone()));
            open
        } else {
            all.clone()
        };
        self.next = Some(Next {
            stop: at,
            decided,
            walked: Walked {
                stop: at,
                visit,
                choice,
                before: self.example.clone(),
                after: taken.world,
                sights: agreed.clone(),
            },
            agreed,
            open,
            all,
        });
        Ok(())
    }

    /// Whether the program knows more than the performer can: somebody has thought of something.
    fn apart(&self, decided: &Decided) -> bool {
        !self.thoughts.is_empty() || matches!(decided, Decided::Thought(_))
    }

    /// Who decides at a fork, if it were this.
    fn decide(&self, routine: &Routine, fork: &Fork, value: &Value) -> Decided {
        // A card can be named only where it is known which card bears the name.
        let nameable = match value {
            Value::Card(card) => !routine.shuffled.contains(card),
            Value::Int(_)
            | Value::Bool(_)
            | Value::Text(_)
            | Value::Pile(_)
            | Value::Order(_)
            | Value::Places(_)
            | Value::Weave(_)
            | Value::Chunks(_) => true,
        };
        match (&fork.kind, &fork.seen) {
            // No words make hands do the same twice.
            (ForkKind::Riffle { .. } | ForkKind::Overhand(_), _) => Decided::Free,
            // Whether to go round again cannot be hidden.
            (ForkKind::Again { .. }, _) => Decided::Spoken(value.clone()),
            (_, Seen::All) if nameable => Decided::Spoken(value.clone()),
            (_, Seen::Nothing) if nameable && !acted_on(routine, fork.name) => {
                Decided::Thought(value.clone())
            }
            (
                ForkKind::Number { .. }
                | ForkKind::Option(_)
                | ForkKind::Pile(_)
                | ForkKind::PileOrder(_)
                | ForkKind::Place(_)
                | ForkKind::Card(_)
                | ForkKind::Cards { .. }
                | ForkKind::Cut { .. },
                Seen::All | Seen::Nothing | Seen::These(_),
            ) => Decided::Free,
        }
    }

    /// Whether every table that could be offers this.
    fn allowed(&self, routine: &Routine, value: &Value) -> bool {
        let offers = |world: &World| {
            domain(routine, world).is_ok_and(|open| open.is_some_and(|open| open.contains(value)))
        };
        match self.all.worlds() {
            Some(worlds) => worlds.iter().all(offers),
            None => offers(&self.example),
        }
    }

    /// What the spectator may answer at the next stop, if that cannot be told: each answer once.
    pub fn open_replies(&self, routine: &Routine) -> Vec<(Sighted, Value)> {
        let Some(next) = &self.next else {
            return Vec::new();
        };
        let Some(reply) = routine.stop(next.stop).and_then(|stop| stop.reply.as_ref()) else {
            return Vec::new();
        };
        let told = |one: &Sighted| matches!(one, Sighted::Reply(name, _) if *name == reply.name);
        if next.agreed.iter().any(told) {
            return Vec::new();
        }
        let mut values: Vec<Value> = next
            .all
            .worlds()
            .unwrap_or_default()
            .iter()
            .filter_map(|world| world.value(reply.name).cloned())
            .collect();
        values.sort_unstable();
        values.dedup();
        values
            .into_iter()
            .map(|value| (Sighted::Reply(reply.name, value.clone()), value))
            .collect()
    }

    /// Where the road may go on after the next stop, once this was told.
    pub fn ways_on(&self, routine: &Routine, told: &[Sighted]) -> Vec<StopIndex> {
        let Some(next) = &self.next else {
            return Vec::new();
        };
        let told_more;
        let known = if told.is_empty() {
            &next.all
        } else {
            let ours = next.decided.known_to_us();
            told_more = self.with(routine, next, &self.all, ours, told, None);
            &told_more
        };
        if let Known::Same(at) = known.known(routine, Watch::Sizes, |scene| Ok(scene.world.at)) {
            return vec![at];
        }
        let mut ways: Vec<StopIndex> = known
            .worlds()
            .unwrap_or_default()
            .iter()
            .map(|world| world.at)
            .collect();
        ways.sort_unstable();
        ways.dedup();
        if ways.is_empty() {
            ways.push(next.walked.after.at);
        }
        ways
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
                if let Some((name, _)) = &walked.choice {
                    self.thoughts.push((*name, value.clone()));
                }
            }
            Decided::Nobody | Decided::Free => {}
        }
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

impl Decided {
    /// What the performer hears of it.
    pub fn spoken(&self) -> Option<Value> {
        match self {
            Self::Spoken(value) => Some(value.clone()),
            Self::Nobody | Self::Thought(_) | Self::Free => None,
        }
    }
    /// What the program knows of it.
    pub fn known_to_us(&self) -> Option<Value> {
        match self {
            Self::Spoken(value) | Self::Thought(value) => Some(value.clone()),
            Self::Nobody | Self::Free => None,
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
