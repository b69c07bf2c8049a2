//! Who decides at the next stop: the program, aloud or in silence, or the hands.

use super::{HandRoad, Next};
use crate::knowing::{Done, acted_on};
use crate::roads::{Draw, Sighted, Walked, domain, take};
use crate::routine::{Fault, Fork, ForkKind, Routine, Seen, Value, World};

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

impl HandRoad {
    /// Looks at the stop that comes next and decides its fork.
    pub(super) fn arrive(&mut self, routine: &Routine) -> Result<(), Fault> {
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
    pub(super) fn apart(&self, decided: &Decided) -> bool {
        self.laid || !self.thoughts.is_empty() || matches!(decided, Decided::Thought(_))
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
}
