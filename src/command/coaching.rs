//! The coach at work on the logbook: what the answers say, kept beside them so that it need not be worked out each time; the day
//! practised for; the guide of the next session.

mod fitting;

use crate::coach::{
    Aim, Answer, Day, Events, Footing, History, Hold, Practised, Progress, Record, footings, guide,
};
use crate::drill::{Drill, Guide};
use crate::logbook::{DERIVED, Logbook, LogbookError, Night};
use crate::roads::Met;
use crate::routine::{Routine, StepId};
use chrono::{DateTime, Datelike, FixedOffset, NaiveDate};
use fitting::{fitted, memory, refit};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// So many unread answers are worth writing down what they say.
const WORTH_KEEPING: usize = 200;

/// What the answers of one routine say.
#[derive(Debug, Clone, Default)]
pub(super) struct Coached {
    /// All of it.
    pub record: Record,
    /// The branches practised, as `--choose` takes them for a first visit.
    pub practised: BTreeSet<String>,
    /// The weeks.
    pub history: History,
    /// What spectators were seen to choose on a stage.
    pub met: Met,
}

impl Coached {
    /// Takes in answers, in the order in which they were given.
    fn take_in<'a>(&mut self, answers: impl IntoIterator<Item = &'a Answer>) {
        for answer in answers {
            self.history.add(&self.record, answer);
            self.record.add(answer);
        }
    }

    /// Takes in what happened on a stage: a step that went wrong there counts as missed, the others that were done as known.
    fn perform(&mut self, night: &Night) {
        let performance = &night.performance;
        let wrong = |step: &str| performance.slips.iter().any(|slip| slip.step == step);
        let slipped = performance.slips.iter().map(|slip| &slip.step);
        let steps: BTreeSet<&String> = performance.steps.iter().chain(slipped).collect();
        let went: Vec<(StepId, bool)> = steps
            .into_iter()
            .map(|step| (StepId(step.as_str().into()), !wrong(step)))
            .collect();
        let steps = went.iter().map(|(step, right)| (step, *right));
        self.history.reach(&self.record, day(night.date));
        self.record.perform(day(night.date), steps);
        self.practised.extend(performance.choices.iter().cloned());
        for choice in &performance.choices {
            self.met.add(choice);
        }
    }
}

/// The text beside the logbook.
#[derive(Serialize, Deserialize)]
struct Note {
    row: i64,
    /// Which shows are in it.
    #[serde(default)]
    shows: String,
    practised: BTreeSet<String>,
    history: History,
    record: String,
}

/// The day on the performer's calendar.
pub(super) fn day_of(time: DateTime<FixedOffset>) -> Day {
    day(time.date_naive())
}

/// A date as a day.
pub(super) fn day(date: NaiveDate) -> Day {
    Day(date
        .num_days_from_ce()
        .saturating_sub(NaiveDate::default().num_days_from_ce()))
}

/// Under which name the date of the show is kept, as `2031-05-01`.
pub(super) fn show_key(routine: &str) -> String {
    format!("show of {routine}")
}

/// Today and the show, where one is set and not over.
pub(super) fn aim(
    logbook: &Logbook,
    routine: &str,
    now: DateTime<FixedOffset>,
) -> Result<Aim, LogbookError> {
    let show = logbook
        .remembered(&show_key(routine))?
        .and_then(|date| date.parse::<NaiveDate>().ok())
        .map(day);
    Ok(Aim::new(day_of(now), show))
}

fn note_key(routine: &str) -> String {
    format!("{DERIVED}record of {routine}")
}

/// What the answers of a routine say, the last row among them, and how many had not been read before: what was kept beside the
/// logbook, and what has come since. Where answers have come in that are older than what was kept, or memory has been fitted
/// anew, all of it is worked out again.
fn read_up(logbook: &Logbook, routine: &str) -> Result<(Coached, i64, usize), LogbookError> {
    let memory = memory(logbook)?;
    let nights = logbook.nights(routine)?;
    let shows = mark_of(&nights);
    let kept = logbook
        .remembered(&note_key(routine))?
        .and_then(|text| serde_json::from_str::<Note>(&text).ok())
        .and_then(|note| Some((Record::read(&note.record)?, note)))
        .filter(|(record, note)| {
            note.shows == shows && record.memory().parameters() == memory.parameters()
        });
    if let Some((record, note)) = kept {
        let told = logbook.told_since(routine, note.row)?;
        let latest = record.latest();
        let in_order = told
            .answers
            .first()
            .is_none_or(|first| latest.is_none_or(|latest| first.day >= latest));
        if in_order {
            let mut coached = Coached {
                record,
                practised: note.practised,
                history: note.history,
                met: met(&nights),
            };
            coached.take_in(&told.answers);
            coached.practised.extend(told.branches);
            return Ok((coached, told.row, told.answers.len()));
        }
    }
    let told = logbook.told_since(routine, 0)?;
    let mut coached = Coached {
        record: Record::new(memory),
        practised: told.branches,
        ..Coached::default()
    };
    // A show comes after the answers of its day.
    let mut left = told.answers.iter().peekable();
    for night in &nights {
        let on = day(night.date);
        coached.take_in(std::iter::from_fn(|| {
            left.next_if(|answer| answer.day <= on)
        }));
        coached.perform(night);
    }
    coached.take_in(left);
    Ok((coached, told.row, told.answers.len()))
}

/// A mark that differs wherever the shows do.
fn mark_of(nights: &[Night]) -> String {
    let mut all = Sha256::new();
    for night in nights {
        all.update(format!("{night:?}\n"));
    }
    let sum = all.finalize();
    sum.iter().take(8).fold(String::new(), |mut text, byte| {
        // Writing into a string cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// What spectators chose on these nights.
fn met(nights: &[Night]) -> Met {
    let mut met = Met::default();
    for choice in nights.iter().flat_map(|night| &night.performance.choices) {
        met.add(choice);
    }
    met
}

/// What the answers of a routine say; kept beside the logbook when so many had not been read before.
fn read_and_keep(
    logbook: &mut Logbook,
    routine: &str,
    worth: usize,
) -> Result<Coached, LogbookError> {
    let (coached, row, new) = read_up(logbook, routine)?;
    if new >= worth {
        let note = Note {
            row,
            shows: mark_of(&logbook.nights(routine)?),
            practised: coached.practised.clone(),
            history: coached.history.clone(),
            record: coached.record.text(),
        };
        // A note that cannot be kept is worked out again another time.
        if let Ok(text) = serde_json::to_string(&note) {
            drop(logbook.remember(&note_key(routine), &text));
        }
    }
    Ok(coached)
}

/// What the answers of a routine say.
pub(super) fn read(logbook: &mut Logbook, routine: &str) -> Result<Coached, LogbookError> {
    read_and_keep(logbook, routine, WORTH_KEEPING)
}

/// After a session: fits memory when there is much to learn from, and keeps what the answers say.
pub(super) fn after_session(logbook: &mut Logbook, routine: &str) -> Result<(), LogbookError> {
    refit(logbook)?;
    read_and_keep(logbook, routine, 1).map(drop)
}

/// What happened at each step of a routine away from the questions.
pub(super) fn events(
    logbook: &Logbook,
    routine: &str,
) -> Result<BTreeMap<StepId, Events>, LogbookError> {
    #[expect(clippy::cast_precision_loss, reason = "numbers of practices")]
    let number = |n: u64| n as f64;
    let nights = logbook.nights(routine)?;
    let shows = number(nights.len() as u64);
    let runs = number(logbook.times_practised(routine)?) + shows;
    let mut all: BTreeMap<StepId, Events> = BTreeMap::new();
    let mut at = |step: &str, happened: Events| {
        let here = all.entry(StepId(step.into())).or_insert(Events {
            runs,
            shows,
            ..Events::default()
        });
        here.slips += happened.slips;
        here.staged += happened.staged;
        here.strays += happened.strays;
    };
    let none = Events::default();
    for step in logbook.standing(routine)? {
        let slips = number(step.stumbles);
        at(&step.step, Events { slips, ..none });
    }
    for night in &nights {
        let (slips, staged, strays) = (1.0, 1.0, 1.0);
        for slip in &night.performance.slips {
            let slipped = Events {
                slips,
                staged,
                ..none
            };
            at(&slip.step, slipped);
        }
        for stray in &night.performance.strays {
            at(&stray.step, Events { strays, ..none });
        }
    }
    Ok(all)
}

/// How each step of a routine stands, in its order.
pub(super) fn stands(
    logbook: &Logbook,
    name: &str,
    routine: &Routine,
    coached: &Coached,
    aim: Aim,
) -> Result<Vec<Footing>, LogbookError> {
    let events = events(logbook, name)?;
    Ok(footings(routine, &coached.record, &events, aim))
}

/// All there is to look at of a routine.
pub(super) fn progress(
    logbook: &mut Logbook,
    name: &str,
    routine: &Routine,
    now: DateTime<FixedOffset>,
) -> Result<Progress, LogbookError> {
    let coached = read(logbook, name)?;
    let events = events(logbook, name)?;
    let shows: Vec<Day> = logbook
        .nights(name)?
        .iter()
        .map(|night| day(night.date))
        .collect();
    let practised = Practised {
        record: &coached.record,
        history: &coached.history,
        branches: &coached.practised,
        events: &events,
        met: &coached.met,
        shows: &shows,
        own: fitted(logbook)?.map(|fit| fit.own()),
    };
    Ok(Progress::of(
        name,
        routine,
        practised,
        aim(logbook, name, now)?,
    ))
}

/// How the lines of each step are held: help with them is taken away by how they were said, not by how the hands did.
pub(super) fn lines(routine: &Routine, coached: &Coached, aim: Aim) -> Vec<(StepId, Hold)> {
    let record = coached.record.of_drill(Drill::Lines);
    footings(routine, &record, &BTreeMap::new(), aim)
        .into_iter()
        .map(|footing| (footing.step, footing.hold))
        .collect()
}

/// The guide of the next session; none before the first answer.
pub(super) fn guide_of(coached: &Coached, aim: Aim) -> Option<Guide> {
    (coached.record.answers() > 0).then(|| Guide {
        met: coached.met.clone(),
        ..guide(&coached.record, aim, Some(coached.practised.clone()))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::{Answer as Entry, Manner, SessionStart};
    use chrono::Duration;

    fn at(hours: i64) -> DateTime<FixedOffset> {
        DateTime::parse_from_rfc3339("2031-05-01T08:00:00+02:00").unwrap() + Duration::hours(hours)
    }

    fn entry(n: i64, hours: i64) -> Entry {
        Entry {
            routine: "pairs".into(),
            content_hash: "00ff".into(),
            step: format!("s{}", n % 3),
            drill: "picture".into(),
            kind: "card".into(),
            detail: "packet 1".into(),
            again: false,
            question: "What lies on top?".into(),
            seed: Some(7),
            choices: vec![format!("n={n}"), "n@2=9".into()],
            given: String::new(),
            expected: "7♥".into(),
            answer: "7h".into(),
            right: n % 4 != 0,
            first_key_ms: None,
            total_ms: 1_900,
            at: at(hours),
        }
    }

    #[test]
    fn what_is_kept_beside_the_logbook_is_what_all_its_answers_say() {
        let folder = tempfile::tempdir().unwrap();
        let mut book = Logbook::open(folder.path()).unwrap();
        let session = book
            .begin(&SessionStart {
                routine: "pairs".into(),
                content_hash: "00ff".into(),
                seed: None,
                setup: 0,
                drills: vec!["picture".into()],
                manner: Manner::Plain,
                started: at(0),
            })
            .unwrap();
        // The plain way: all answers, from the start.
        let plainly = |book: &Logbook| {
            let mut all = Coached::default();
            all.take_in(&book.told_since("pairs", 0).unwrap().answers);
            (all.record.text(), all.history)
        };
        let said = |coached: &Coached| (coached.record.text(), coached.history.clone());
        for n in 0..10 {
            book.record(&session, &entry(n, 9 * n)).unwrap();
        }
        let first = read_and_keep(&mut book, "pairs", 1).unwrap();
        assert_eq!(said(&first), plainly(&book));
        for n in 10..15 {
            book.record(&session, &entry(n, 9 * n)).unwrap();
        }
        // Five new ones are added to what was kept.
        assert_eq!(read_up(&book, "pairs").unwrap().2, 5);
        let second = read(&mut book, "pairs").unwrap();
        assert_eq!(said(&second), plainly(&book));
        assert_eq!(second.record.answers(), 15);
        assert_eq!(
            second.practised,
            (0..15).map(|n| format!("n={n}")).collect()
        );
        // One that is older than what was kept: all of it again.
        book.record(&session, &entry(15, 2)).unwrap();
        let third = read(&mut book, "pairs").unwrap();
        assert_eq!(said(&third), plainly(&book));
        assert_eq!(third.record.answers(), 16);
    }

    #[test]
    fn a_day_is_a_date_on_the_performer_s_calendar() {
        let day_at = |text| day_of(DateTime::parse_from_rfc3339(text).unwrap());
        assert_eq!(day_at("1970-01-01T00:00:00+02:00"), Day(0));
        assert_eq!(day_at("1970-01-02T23:59:59-11:00"), Day(1));
        let folder = tempfile::tempdir().unwrap();
        let mut book = Logbook::open(folder.path()).unwrap();
        book.remember(&show_key("pairs"), "2031-05-11").unwrap();
        let found = aim(&book, "pairs", at(0)).unwrap();
        assert_eq!(found.day().since(found.today), 10);
        assert_eq!(aim(&book, "else", at(0)).unwrap().show, None);
    }
}
