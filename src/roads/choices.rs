//! Choices given by name: `NAME=VALUE`, as they are printed and as `walk --choose` takes them.

use super::road::Walked;
use crate::cards::Card;
use crate::routine::{Fault, ForkKind, NameId, Routine, Scene, Value};
use rustc_hash::FxHashMap;

/// Choices by fork and visit. `NAME=VALUE` is the first visit, `NAME@2=VALUE` the second; for an "again" part
/// `NAME=3` means three rounds in all, and `NAME@1=yes` one answer; `shuffle=7H,2C,…` is how a shuffled deck lies.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Choices {
    by_visit: FxHashMap<(NameId, u32), Value>,
    rounds: FxHashMap<NameId, u32>,
    shuffle: Option<Vec<Card>>,
}

/// Why a choice was not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ChoiceFault {
    /// Not of the form `NAME=VALUE`.
    #[error("\u{201c}{0}\u{201d} is not of the form NAME=VALUE")]
    Form(String),
    /// No fork of this name.
    #[error("nobody chooses \u{201c}{name}\u{201d} in this routine; the choices are {known}")]
    Name {
        /// As given.
        name: String,
        /// The names there are.
        known: String,
    },
    /// The value cannot be one of the fork's.
    #[error("{name}: {fault}")]
    Value {
        /// The fork.
        name: String,
        /// What is wrong.
        fault: Fault,
    },
}

impl Choices {
    /// Reads choices.
    ///
    /// # Errors
    /// The first that is not understood.
    pub fn read<'a>(
        routine: &Routine,
        given: impl IntoIterator<Item = &'a str>,
    ) -> Result<Self, ChoiceFault> {
        let mut choices = Self::default();
        for text in given {
            choices.add(routine, text)?;
        }
        Ok(choices)
    }

    fn add(&mut self, routine: &Routine, text: &str) -> Result<(), ChoiceFault> {
        let (label, value) = text
            .split_once('=')
            .ok_or_else(|| ChoiceFault::Form(text.to_owned()))?;
        let (label, value) = (label.trim(), value.trim());
        let form = || ChoiceFault::Form(text.to_owned());
        if label == "shuffle" && !routine.shuffled.is_empty() {
            self.shuffle = Some(read_shuffle(routine, value)?);
            return Ok(());
        }
        let (name, visit) = match label.split_once('@') {
            None => (label, None),
            Some((name, visit)) => (
                name,
                Some(
                    visit
                        .parse::<u32>()
                        .ok()
                        .filter(|v| *v > 0)
                        .ok_or_else(form)?,
                ),
            ),
        };
        let fork = routine
            .stops
            .iter()
            .filter_map(|s| s.fork.as_ref())
            .find(|f| {
                routine
                    .names
                    .get(f.name.index())
                    .is_some_and(|n| n.name == name)
            });
        let Some(fork) = fork else {
            let known: Vec<&str> = routine
                .stops
                .iter()
                .filter_map(|s| s.fork.as_ref())
                .filter_map(|f| routine.names.get(f.name.index()))
                .map(|n| n.name.as_str())
                .collect();
            let known = if known.is_empty() {
                "none".to_owned()
            } else {
                known.join(", ")
            };
            return Err(ChoiceFault::Name {
                name: name.to_owned(),
                known,
            });
        };
        if matches!(fork.kind, ForkKind::Again { .. })
            && visit.is_none()
            && let Ok(rounds) = value.parse::<u32>()
        {
            if rounds == 0 {
                let fault = Fault::Choice("the part is gone through once at least".to_owned());
                return Err(ChoiceFault::Value {
                    name: name.to_owned(),
                    fault,
                });
            }
            self.rounds.insert(fork.name, rounds);
            return Ok(());
        }
        let value =
            Value::read(value, &fork.kind, routine).map_err(|fault| ChoiceFault::Value {
                name: name.to_owned(),
                fault,
            })?;
        self.by_visit.insert((fork.name, visit.unwrap_or(1)), value);
        Ok(())
    }

    /// The choice given for a visit, if any. `again` says whether the fork asks to go round again.
    #[must_use]
    pub fn at(&self, name: NameId, visit: u32, again: bool) -> Option<Value> {
        if again && let Some(rounds) = self.rounds.get(&name) {
            return Some(Value::Bool(visit < *rounds));
        }
        self.by_visit.get(&(name, visit)).cloned()
    }

    /// The same with one more choice; a card by what is printed on it.
    #[must_use]
    pub fn with(mut self, name: NameId, visit: u32, value: Value) -> Self {
        self.by_visit.insert((name, visit), value);
        self
    }

    /// The choices of a road that was walked, those that are wanted; cards by what is printed on them.
    #[must_use]
    pub fn of_road(routine: &Routine, walked: &[Walked], wanted: impl Fn(&Walked) -> bool) -> Self {
        let mut choices = Self::default();
        for one in walked.iter().filter(|one| wanted(one)) {
            if let Some((name, value)) = &one.choice {
                let scene = Scene {
                    routine,
                    world: &one.before,
                };
                let value = match value {
                    Value::Card(card) => Value::Card(scene.print(*card).unwrap_or(*card)),
                    other => other.clone(),
                };
                choices.by_visit.insert((*name, one.visit), value);
            }
        }
        choices
    }

    /// How the shuffled deck lies, if given.
    #[must_use]
    pub fn shuffle(&self) -> Option<&[Card]> {
        self.shuffle.as_deref()
    }
}

fn read_shuffle(routine: &Routine, value: &str) -> Result<Vec<Card>, ChoiceFault> {
    let fault = |fault: String| ChoiceFault::Value {
        name: "shuffle".to_owned(),
        fault: Fault::Choice(fault),
    };
    let mut cards = Vec::new();
    for text in value.split(',') {
        let card = routine.pack.read(text).map_err(|e| fault(e.to_string()))?;
        cards.push(card);
    }
    let (mut given, mut wanted) = (cards.clone(), routine.shuffled.clone());
    given.sort_unstable();
    wanted.sort_unstable();
    if given == wanted {
        Ok(cards)
    } else {
        Err(fault(format!(
            "each of the {} cards of the shuffled deck must come exactly once",
            wanted.len()
        )))
    }
}
