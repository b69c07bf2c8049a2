//! After a performance: what happened, asked one thing at a time. The same questions on the screen and line by line.

use crate::drill::heading;
use crate::logbook::Happened;
use crate::roads::{Choices, replay};
use crate::routine::{ForkKind, Routine, Seen, StopIndex, Value};
use chrono::{Days, NaiveDate};
use std::sync::Arc;

/// So many roads are tried for one that has what was told.
const ROADS: u64 = 48;

/// What was told of a performance.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldShow {
    /// The routine, by the name that commands take.
    pub routine: String,
    /// The day.
    pub date: NaiveDate,
    /// Where; empty when not said.
    pub place: String,
    /// What the spectators chose, as `walk --choose` takes it.
    pub choices: Vec<String>,
    /// What spectators did that the routine does not offer.
    pub strays: Vec<Happened>,
    /// What went wrong.
    pub slips: Vec<Happened>,
    /// In the performer's own words.
    pub note: String,
}

/// What is asked now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Asking {
    When,
    Where,
    /// What they chose at the fork of a stop.
    Choice(StopIndex),
    Stray,
    Slip,
    /// What happened at the step named last.
    How,
    Note,
    Done,
}

/// The questions after a performance, as far as they are answered.
#[derive(Debug, Clone)]
pub struct AfterShow {
    routine: Arc<Routine>,
    today: NaiveDate,
    told: ToldShow,
    asking: Asking,
    /// The forks that can be told, in the order of the road.
    forks: Vec<StopIndex>,
}

impl AfterShow {
    /// The questions about a routine, by the name that commands take.
    #[must_use]
    pub fn new(name: &str, routine: Arc<Routine>, today: NaiveDate) -> Self {
        let forks = routine
            .stops
            .iter()
            .enumerate()
            .filter(|(_, stop)| {
                stop.fork.as_ref().is_some_and(|fork| {
                    fork.seen == Seen::All
                        && !matches!(
                            fork.kind,
                            ForkKind::Riffle { .. } | ForkKind::Overhand(_) | ForkKind::Cut { .. }
                        )
                })
            })
            .filter_map(|(n, _)| u16::try_from(n).ok().map(StopIndex))
            .collect();
        Self {
            told: ToldShow {
                routine: name.to_owned(),
                date: today,
                place: String::new(),
                choices: Vec::new(),
                strays: Vec::new(),
                slips: Vec::new(),
                note: String::new(),
            },
            routine,
            today,
            asking: Asking::When,
            forks,
        }
    }

    /// Another routine of the same evening: when and where are known.
    pub fn same_evening(&mut self, first: &ToldShow) {
        self.told.date = first.date;
        self.told.place.clone_from(&first.place);
        if matches!(self.asking, Asking::When | Asking::Where) {
            self.asking = self.first_choice();
        }
    }

    /// The routine that was performed.
    #[must_use]
    pub fn routine(&self) -> &Routine {
        &self.routine
    }

    /// All that was told, once every question is answered.
    #[must_use]
    pub fn done(&self) -> Option<&ToldShow> {
        (self.asking == Asking::Done).then_some(&self.told)
    }

    /// The question, what it may be answered with, and how to leave it open.
    #[must_use]
    pub fn question(&self) -> (String, Vec<String>, &'static str) {
        match self.asking {
            Asking::When => (
                "When was it?".to_owned(),
                Vec::new(),
                "enter for today, \u{201c}yesterday\u{201d}, or a date as 2031-05-01",
            ),
            Asking::Where => (
                "Where was it?".to_owned(),
                Vec::new(),
                "a few words; enter to leave it open",
            ),
            Asking::Choice(at) => (
                self.choice_question(at),
                self.branches(at),
                "what they chose; enter if you do not remember",
            ),
            Asking::Stray => (
                if self.told.strays.is_empty() {
                    "Did anybody do something that you had not offered?".to_owned()
                } else {
                    "Anything else that you had not offered?".to_owned()
                },
                self.strays()
                    .into_iter()
                    .enumerate()
                    .map(|(n, (at, what))| format!("{} {what} ({})", n + 1, self.title(at)))
                    .collect(),
                "a number, or your own words; enter for no",
            ),
            Asking::Slip => (
                if self.told.slips.is_empty() {
                    "Did anything go wrong? At which step?".to_owned()
                } else {
                    "Did anything else go wrong?".to_owned()
                },
                self.steps()
                    .into_iter()
                    .enumerate()
                    .map(|(n, at)| format!("{} {}", n + 1, self.title(at)))
                    .collect(),
                "its number; enter for no",
            ),
            Asking::How => (
                "What happened there?".to_owned(),
                Vec::new(),
                "a few words; enter to leave it open",
            ),
            Asking::Note => (
                "Anything to remember of this evening?".to_owned(),
                Vec::new(),
                "a few words; enter for no",
            ),
            Asking::Done => (String::new(), Vec::new(), ""),
        }
    }

    /// Takes an answer.
    ///
    /// # Errors
    /// When it cannot be read: what to write instead. The same question stands.
    pub fn answer(&mut self, text: &str) -> Result<(), String> {
        let text = text.trim();
        self.asking = match self.asking {
            Asking::When => {
                self.told.date = self.day(text)?;
                Asking::Where
            }
            Asking::Where => {
                text.clone_into(&mut self.told.place);
                self.first_choice()
            }
            Asking::Choice(at) => {
                if !text.is_empty() {
                    let choice = self.choice(at, text)?;
                    self.told.choices.push(choice);
                }
                self.after_choice(at)
            }
            Asking::Stray if text.is_empty() => Asking::Slip,
            Asking::Stray => {
                let stray = self.stray(text)?;
                self.told.strays.push(stray);
                Asking::Stray
            }
            Asking::Slip if text.is_empty() => Asking::Note,
            Asking::Slip => {
                let step = self.step(text)?;
                self.told.slips.push(Happened {
                    step,
                    what: String::new(),
                });
                Asking::How
            }
            Asking::How => {
                if let Some(slip) = self.told.slips.last_mut() {
                    text.clone_into(&mut slip.what);
                }
                Asking::Slip
            }
            Asking::Note => {
                text.clone_into(&mut self.told.note);
                Asking::Done
            }
            Asking::Done => Asking::Done,
        };
        Ok(())
    }

    fn day(&self, text: &str) -> Result<NaiveDate, String> {
        let day = match text.to_lowercase().as_str() {
            "" | "today" => self.today,
            "yesterday" => self
                .today
                .checked_sub_days(Days::new(1))
                .unwrap_or(self.today),
            other => other
                .parse()
                .map_err(|_| "Write the day as 2031-05-01, or yesterday.".to_owned())?,
        };
        if day > self.today {
            return Err(format!("That is still to come; today is {}.", self.today));
        }
        Ok(day)
    }

    fn first_choice(&self) -> Asking {
        self.forks
            .first()
            .map_or(Asking::Stray, |at| Asking::Choice(*at))
    }

    fn after_choice(&self, at: StopIndex) -> Asking {
        let here = self.forks.iter().position(|fork| *fork == at);
        here.and_then(|n| self.forks.get(n + 1))
            .map_or(Asking::Stray, |next| Asking::Choice(*next))
    }

    fn fork(&self, at: StopIndex) -> Option<(&ForkKind, &crate::routine::Name)> {
        let fork = self.routine.stop(at)?.fork.as_ref()?;
        Some((&fork.kind, self.routine.names.get(fork.name.index())?))
    }

    fn choice_question(&self, at: StopIndex) -> String {
        let Some((kind, name)) = self.fork(at) else {
            return String::new();
        };
        if matches!(kind, ForkKind::Again { .. }) {
            return format!("How many rounds did they go ({})?", name.name);
        }
        let what = name.about.as_deref().unwrap_or(&name.name);
        format!("What did they choose: {what}?")
    }

    fn branches(&self, at: StopIndex) -> Vec<String> {
        match self.fork(at) {
            Some((ForkKind::Option(words), _)) => words.iter().map(ToString::to_string).collect(),
            Some((ForkKind::Pile(piles), _)) => {
                let pile = |pile: &_| self.routine.pile_name(*pile).to_owned();
                piles.iter().map(pile).collect()
            }
            _ => Vec::new(),
        }
    }

    fn choice(&self, at: StopIndex, text: &str) -> Result<String, String> {
        let Some((kind, name)) = self.fork(at) else {
            return Err(String::new());
        };
        let rounds = text.parse::<u16>().is_ok_and(|rounds| rounds > 0);
        if !(matches!(kind, ForkKind::Again { .. }) && rounds) {
            Value::read(text, kind, &self.routine).map_err(|fault| fault.to_string())?;
        }
        let choice = format!("{}={text}", name.name);
        if self.on_a_road(&choice) {
            Ok(choice)
        } else {
            Err("That is not on offer there, with what they chose before; enter if you do not remember.".to_owned())
        }
    }

    /// Whether a road has all the choices told so far and this one.
    fn on_a_road(&self, choice: &str) -> bool {
        let told = self.told.choices.iter().map(String::as_str);
        Choices::read(&self.routine, told.chain([choice])).is_ok_and(|choices| {
            (0..ROADS).any(|seed| replay(&self.routine, seed, &choices).is_ok())
        })
    }

    fn title(&self, at: StopIndex) -> String {
        self.routine
            .stop(at)
            .map_or_else(String::new, |stop| heading(&self.routine, stop))
    }

    /// The steps that can go wrong: all that are titled.
    fn steps(&self) -> Vec<StopIndex> {
        (0..self.routine.finish().0).map(StopIndex).collect()
    }

    fn strays(&self) -> Vec<(StopIndex, String)> {
        let of = |at: &StopIndex| {
            let strays = self.routine.stop(*at).map_or(&[][..], |stop| &stop.strays);
            strays
                .iter()
                .map(|stray| (*at, self.routine.stray_in_words(*stray)))
                .collect::<Vec<_>>()
        };
        self.steps().iter().flat_map(of).collect()
    }

    fn stray(&self, text: &str) -> Result<Happened, String> {
        let strays = self.strays();
        if let Ok(n) = text.parse::<usize>() {
            let (at, what) = n
                .checked_sub(1)
                .and_then(|n| strays.get(n))
                .ok_or_else(|| format!("There are numbers from 1 to {}.", strays.len()))?;
            return Ok(Happened {
                step: self.id(*at),
                what: what.clone(),
            });
        }
        // A stray that the file names is the same whoever writes it.
        let known = strays
            .iter()
            .find(|(_, what)| what.to_lowercase() == text.to_lowercase());
        Ok(match known {
            Some((at, what)) => Happened {
                step: self.id(*at),
                what: what.clone(),
            },
            None => Happened {
                step: String::new(),
                what: text.to_owned(),
            },
        })
    }

    fn step(&self, text: &str) -> Result<String, String> {
        let steps = self.steps();
        if let Ok(n) = text.parse::<usize>() {
            return n
                .checked_sub(1)
                .and_then(|n| steps.get(n))
                .map(|at| self.id(*at))
                .ok_or_else(|| format!("There are numbers from 1 to {}.", steps.len()));
        }
        let folded = text.to_lowercase();
        steps
            .iter()
            .find(|at| {
                self.id(**at) == text || self.title(**at).to_lowercase().starts_with(&folded)
            })
            .map(|at| self.id(*at))
            .ok_or_else(|| "No step is called so: give its number.".to_owned())
    }

    fn id(&self, at: StopIndex) -> String {
        self.routine
            .stop(at)
            .map_or_else(String::new, |stop| stop.id.to_string())
    }
}
