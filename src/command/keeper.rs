//! What the screen keeps goes into the logbook, stamped with the time.

use super::changed;
use super::coaching;
use super::failure::{Failure, Outcome};
use super::machine::Machine;
use super::plan::kept::{found, kept, next_of};
use super::rescue::slips;
use super::shows;
use super::source::Source;
use super::verdicts::{self, BEFORE_LINES, Background, Found, ON_SCREEN};
use crate::coach::Progress;
use crate::drill::{Answered, Drill};
use crate::logbook::{Answer, Logbook, LogbookError, Manner, SessionId, SessionStart};
use crate::routine::{Routine, StepId};
use crate::screen::{
    Begun, KeepFault, Keeper, News, Proven, Shelved, Standing, ToldShow, WholeShow,
};
use chrono::{DateTime, FixedOffset, NaiveDate};
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// The logbook as the screen sees it.
#[derive(Debug)]
pub(super) struct Diary<'m> {
    logbook: Logbook,
    machine: &'m Machine,
    /// The rehearsal of each routine that has begun and not ended, and its session once its beginning is kept.
    begun: Vec<(Begun, Option<SessionId>)>,
    /// Answers that could not be kept, and why the last could not.
    lost: Option<(u32, String)>,
    /// Proofs under way.
    proofs: Option<Background>,
    /// The routines by name, as far as they are loaded.
    routines: HashMap<String, Arc<Routine>>,
    /// Whether the coach has a say: not where a seed was given.
    coached: bool,
}

impl<'m> Diary<'m> {
    /// Opens the logbook.
    pub fn open(machine: &'m Machine) -> Result<Self, Failure> {
        Ok(Self {
            logbook: machine.logbook()?,
            machine,
            begun: Vec::new(),
            lost: None,
            proofs: None,
            routines: HashMap::new(),
            coached: true,
        })
    }

    /// How every routine stands that was ever rehearsed, by its name.
    pub fn overview(&self) -> Result<HashMap<String, Standing>, Failure> {
        let now = self.machine.now();
        Ok(self
            .logbook
            .overview()?
            .into_iter()
            .map(|one| {
                let standing = Standing {
                    days: Some(days_between(one.last_rehearsed, now)),
                    ..Standing::default()
                };
                (one.routine, standing)
            })
            .collect())
    }

    /// From now on the coach has no say.
    pub fn without_coach(&mut self) {
        self.coached = false;
    }

    /// Tells of each routine how its steps are held, and what is worth practising.
    pub fn coach(&mut self, shelf: &mut [Shelved]) {
        for shelved in shelf {
            self.routines
                .insert(shelved.name.clone(), Arc::clone(&shelved.routine));
            // A routine that is planned for and was never rehearsed stands in the foyer's head all the same.
            (shelved.standing.planned, shelved.standing.show) =
                self.planned(&shelved.name).unwrap_or_default();
            shelved.standing.careful = self.careful(&shelved.routine);
            if shelved.standing.days.is_some() {
                // What cannot be read counts as never asked; whoever rehearses it hears of the fault.
                drop(self.fill_in(&shelved.name.clone(), &mut shelved.standing));
            }
        }
    }

    fn fill_in(&mut self, name: &str, standing: &mut Standing) -> Result<(), LogbookError> {
        let Some(routine) = self.routines.get(name) else {
            return Ok(());
        };
        let coached = coaching::read(&mut self.logbook, name)?;
        let aim = coaching::aim(&self.logbook, name, self.machine.now())?;
        standing.holds = coaching::stands(&self.logbook, name, routine, &coached, aim)?
            .into_iter()
            .map(|footing| (footing.step, footing.hold))
            .collect();
        standing.lines = coaching::lines(routine, &coached, aim);
        standing.careful = self.careful(routine);
        (standing.planned, standing.show) = self.planned(name)?;
        standing.changed = changed::changed(&self.logbook, name, routine)?;
        standing.guide = self
            .coached
            .then(|| coaching::guide_of(&coached, aim))
            .flatten();
        // A seed brings the same strays each time, whatever happened on stage.
        if self.coached {
            standing.met = self.logbook.strays_met(name)?;
        }
        Ok(())
    }

    /// By step, which slips are fatal there, as far as that was worked out.
    fn careful(&self, routine: &Routine) -> BTreeMap<StepId, String> {
        slips::recall(&self.logbook, routine)
            .map_or_else(BTreeMap::new, |told| slips::careful_by_step(&told))
    }

    /// What comes next by the plan to a show, for a routine that is part of it, and that show where it has several routines.
    fn planned(&self, name: &str) -> Result<(Option<String>, Option<WholeShow>), LogbookError> {
        let now = self.machine.now();
        let plans = kept(&self.logbook)?;
        let Some(plan) = next_of(&plans, now.date_naive(), |plan| plan.holds(name)) else {
            return Ok((None, None));
        };
        let show = (plan.routines.len() > 1).then(|| WholeShow {
            routines: plan.routines.iter().map(|one| one.name.clone()).collect(),
            minutes: plan.minutes,
        });
        Ok((plan.next(&plans, &self.logbook, now)?, show))
    }

    /// The routines of the next show that is planned, and the minutes of one day.
    pub fn of_next_show(&self) -> Result<(Vec<Source>, u32), Failure> {
        let today = self.machine.now().date_naive();
        let plans = kept(&self.logbook)?;
        let Some(plan) = next_of(&plans, today, |_| true) else {
            return Err(Failure::Wrong(
                "no show is planned\n  Plan one: allroads plan ROUTINE --show 2031-05-01"
                    .to_owned(),
            ));
        };
        let sources = plan.routines.iter().map(|one| found(&self.logbook, one));
        Ok((sources.collect::<Result<_, _>>()?, plan.minutes))
    }

    /// Tells of each routine whether it is proved; those of which nothing is known are proved in the background, and
    /// come in as news.
    pub fn prove_meanwhile(&mut self, shelf: &mut [Shelved]) {
        let mut open = Vec::new();
        for shelved in shelf.iter_mut() {
            match verdicts::recall(&self.logbook, &shelved.routine, ON_SCREEN) {
                Some(proven) => shelved.proven = proven,
                None => open.push(Arc::clone(&shelved.routine)),
            }
        }
        // Then what slips do, for the walk-through.
        let slips = shelf
            .iter()
            .map(|shelved| &shelved.routine)
            .filter(|routine| slips::recall(&self.logbook, routine).is_none())
            .map(Arc::clone)
            .collect();
        self.proofs = Some(Background::begin(open, slips, ON_SCREEN));
    }

    /// Whether a routine is proved: as it is known, or as a moment's proof finds.
    pub fn proven(&mut self, routine: &Routine) -> Proven {
        if let Some(proven) = verdicts::recall(&self.logbook, routine, BEFORE_LINES) {
            return proven;
        }
        let proven =
            verdicts::attempt(routine, BEFORE_LINES, &AtomicBool::new(false)).unwrap_or_default();
        self.keep_verdict(
            &News {
                content_hash: routine.content_hash.clone(),
                setup: routine.setup,
                proven,
            },
            BEFORE_LINES.seconds,
        );
        proven
    }

    /// A verdict that cannot be kept is worked out again another time: nobody needs to hear of it.
    fn keep_verdict(&mut self, news: &News, seconds: u64) {
        drop(verdicts::keep(&mut self.logbook, news, seconds));
    }

    /// Done, or a failure when answers were lost: whoever started us must learn of it.
    pub fn closed(self, outcome: Outcome) -> Result<Outcome, Failure> {
        match self.lost {
            None => Ok(outcome),
            Some((1, why)) => Err(Failure::Machine(format!("one answer was NOT kept: {why}"))),
            Some((lost, why)) => Err(Failure::Machine(format!(
                "{lost} answers were NOT kept; the last one: {why}"
            ))),
        }
    }

    fn write(&mut self, answered: &Answered) -> Result<(), LogbookError> {
        let own = |begun: &Begun| {
            begun.content_hash == answered.content_hash && begun.setup == answered.setup
        };
        let Some(at) = self.begun.iter().position(|(begun, _)| own(begun)) else {
            return Err(LogbookError::NoSession(answered.routine.clone()));
        };
        let session = self.session(at)?;
        let answer = entry(answered, self.begun[at].0.name.clone(), self.machine.now());
        self.logbook.record(&session, &answer)
    }

    fn session(&mut self, at: usize) -> Result<SessionId, LogbookError> {
        let (begun, session) = &mut self.begun[at];
        if let Some(session) = session {
            return Ok(session.clone());
        }
        let start = SessionStart {
            routine: begun.name.clone(),
            content_hash: begun.content_hash.clone(),
            seed: Some(begun.seed),
            setup: begun.setup,
            drills: begun.drills.iter().map(|d| d.word().to_owned()).collect(),
            manner: if begun.plain {
                Manner::Plain
            } else {
                Manner::Screen
            },
            started: self.machine.now(),
        };
        Ok(session.insert(self.logbook.begin(&start)?).clone())
    }
}

fn fault(cause: LogbookError) -> KeepFault {
    KeepFault(Box::new(cause))
}

impl Keeper for Diary<'_> {
    fn begin(&mut self, begun: &Begun) -> Result<(), KeepFault> {
        self.begun.retain(|(other, _)| other.name != begun.name);
        self.begun.push((begun.clone(), None));
        let last = self.begun.len() - 1;
        if let Some(routine) = self.routines.get(&begun.name) {
            // What cannot be noted is told again another time.
            drop(changed::note(&mut self.logbook, &begun.name, routine));
        }
        self.session(last).map(drop).map_err(fault)
    }

    fn keep(&mut self, answered: &Answered) -> Result<(), KeepFault> {
        self.write(answered).map_err(|cause| {
            let before = self.lost.take().map_or(0, |(lost, _)| lost);
            self.lost = Some((before.saturating_add(1), cause.to_string()));
            fault(cause)
        })
    }

    fn end(&mut self) -> Result<(), KeepFault> {
        let mut ended = Ok(());
        for (begun, session) in std::mem::take(&mut self.begun) {
            let Some(session) = session else {
                continue;
            };
            ended = ended.and(self.logbook.end(&session, self.machine.now()));
            // What the answers say is worked out again when it could not be kept.
            drop(coaching::after_session(&mut self.logbook, &begun.name));
        }
        ended.map_err(fault)
    }

    fn remember(&mut self, name: &str, value: &str) -> Result<(), KeepFault> {
        self.logbook.remember(name, value).map_err(fault)
    }

    fn today(&self) -> Option<NaiveDate> {
        Some(self.machine.now().date_naive())
    }

    fn keep_show(&mut self, told: &ToldShow) -> Result<String, KeepFault> {
        let Some(routine) = self.routines.get(&told.routine).map(Arc::clone) else {
            return Err(KeepFault("its routine is not here".into()));
        };
        shows::keep_told(&mut self.logbook, &routine, told, self.machine.now())
            .map_err(|failure| KeepFault(Box::new(failure)))
    }

    fn standing(&mut self, name: &str) -> Option<Standing> {
        let last = self.logbook.last_rehearsed(name).ok()?;
        let mut standing = Standing {
            days: last.map(|last| days_between(last, self.machine.now())),
            ..Standing::default()
        };
        self.fill_in(name, &mut standing).ok()?;
        Some(standing)
    }

    fn progress(&mut self, name: &str) -> Option<Progress> {
        let routine = Arc::clone(self.routines.get(name)?);
        coaching::progress(&mut self.logbook, name, &routine, self.machine.now()).ok()
    }

    fn news(&mut self) -> Vec<News> {
        let mut news = Vec::new();
        for found in self.proofs.as_ref().map_or_else(Vec::new, Background::news) {
            match found {
                Found::Proof(one) => {
                    self.keep_verdict(&one, ON_SCREEN.seconds);
                    news.push(one);
                }
                Found::Slips(routine, told) => slips::keep(&mut self.logbook, &routine, &told),
            }
        }
        news
    }
}

/// An answer as the logbook keeps it.
fn entry(answered: &Answered, routine: String, at: DateTime<FixedOffset>) -> Answer {
    Answer {
        routine,
        content_hash: answered.content_hash.clone(),
        step: answered.step.to_string(),
        drill: answered.drill.word().to_owned(),
        kind: answered.kind.clone(),
        detail: answered.detail.clone(),
        again: answered.again,
        question: answered.question.clone(),
        seed: Some(answered.seed),
        choices: answered.choices.clone(),
        given: answered.stated.join("\n"),
        expected: answered.expected.clone(),
        answer: answered.given.clone(),
        right: answered.right,
        first_key_ms: Some(answered.first_key.0),
        total_ms: answered.total.0,
        at,
    }
}

/// Midnights between two times on the performer's calendar of today; none when the clock was put back.
fn days_between(last: DateTime<FixedOffset>, now: DateTime<FixedOffset>) -> u32 {
    let days = now.date_naive() - last.with_timezone(now.offset()).date_naive();
    u32::try_from(days.num_days()).unwrap_or(0)
}

/// The drill of this word, for the command line.
pub(super) fn drill(word: &str) -> Result<Drill, String> {
    Drill::from_word(word).ok_or_else(|| {
        let known = Drill::ALL.map(Drill::word).join(", ");
        format!("the drills are {known}")
    })
}

#[cfg(test)]
mod tests {
    use super::days_between;
    use chrono::DateTime;

    #[test]
    fn days_are_midnights_on_todays_calendar() {
        let at = |text| DateTime::parse_from_rfc3339(text).unwrap();
        let now = at("2031-05-02T00:30:00+02:00");
        for (last, days) in [
            ("2031-05-02T00:10:00+02:00", 0),
            ("2031-05-01T23:50:00+02:00", 1),
            ("2031-05-01T22:10:00Z", 0),
            ("2031-04-02T12:00:00+02:00", 30),
            ("2031-05-09T12:00:00+02:00", 0),
        ] {
            assert_eq!(days_between(at(last), now), days, "{last}");
        }
    }
}
