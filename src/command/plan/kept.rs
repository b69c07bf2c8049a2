//! The plan as it is kept in the logbook: what was asked for, and how close and how long the rehearsals were found to be best. The
//! days themselves are worked out again each time, from what was really rehearsed.

use crate::coach::{Season, Spacing};
use crate::command::coaching::{day, day_of, show_key};
use crate::logbook::{Logbook, LogbookError};
use chrono::{DateTime, Datelike, FixedOffset, NaiveDate, NaiveTime, Weekday};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Under which name the plan is kept.
const KEY: &str = "plan";

/// The days of the week as they are written, Monday first.
pub(in crate::command) const WEEKDAYS: [&str; 7] =
    ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/// A routine of the plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(in crate::command) struct Planned {
    /// Its name in the logbook.
    pub name: String,
    /// How to find it again.
    pub origin: String,
    /// Its title.
    pub title: String,
}

/// A plan as it is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(in crate::command) struct Kept {
    /// The day of the show.
    pub show: NaiveDate,
    /// The routines of the show.
    pub routines: Vec<Planned>,
    /// The most minutes on one day.
    pub most: u32,
    /// The days of the week that are free, Monday first.
    pub weekdays: [bool; 7],
    /// Days that are not.
    pub off: BTreeSet<NaiveDate>,
    /// When a rehearsal begins.
    pub at: NaiveTime,
    /// How close the rehearsals come, in a word.
    pub spacing: String,
    /// How long they are.
    pub minutes: u32,
}

/// The plan of this logbook, if there is one.
pub(in crate::command) fn kept(logbook: &Logbook) -> Result<Option<Kept>, LogbookError> {
    let text = logbook.remembered(KEY)?;
    // A plan that this version cannot read counts as none.
    Ok(text.and_then(|text| serde_json::from_str(&text).ok()))
}

/// Keeps a plan; what is practised until then aims at its show. Routines that are no longer in it have no show any more.
pub(in crate::command) fn keep(
    logbook: &mut Logbook,
    before: Option<&Kept>,
    plan: &Kept,
) -> Result<(), LogbookError> {
    // Dates and words always have a form as text.
    let text = serde_json::to_string(plan).unwrap_or_default();
    forget_shows(logbook, before, |name| {
        plan.routines.iter().any(|one| one.name == name)
    })?;
    for one in &plan.routines {
        logbook.remember(&show_key(&one.name), &plan.show.to_string())?;
    }
    logbook.remember(KEY, &text)
}

/// Forgets the plan.
pub(in crate::command) fn forget(logbook: &mut Logbook, before: &Kept) -> Result<(), LogbookError> {
    forget_shows(logbook, Some(before), |_| false)?;
    logbook.remember(KEY, "")
}

fn forget_shows(
    logbook: &mut Logbook,
    before: Option<&Kept>,
    stays: impl Fn(&str) -> bool,
) -> Result<(), LogbookError> {
    for one in before.iter().flat_map(|before| &before.routines) {
        if !stays(&one.name) {
            logbook.remember(&show_key(&one.name), "")?;
        }
    }
    Ok(())
}

impl Kept {
    /// The days there are, and what was really rehearsed of them.
    pub fn season(
        &self,
        logbook: &Logbook,
        now: DateTime<FixedOffset>,
    ) -> Result<Season, LogbookError> {
        let mut rehearsed = None;
        for one in &self.routines {
            rehearsed = rehearsed.max(logbook.last_rehearsed(&one.name)?.map(day_of));
        }
        Ok(Season {
            today: day_of(now),
            show: day(self.show),
            weekdays: self.weekdays,
            off: self.off.iter().copied().map(day).collect(),
            rehearsed,
        })
    }

    /// The spacing it was found to need.
    pub fn spacing(&self) -> Spacing {
        Spacing::from_word(&self.spacing).unwrap_or(Spacing::Wide)
    }

    /// What comes next by it, in a sentence's worth of words: "Thursday 25 March, 20 minutes; the show is on Friday 2 April";
    /// none once the show is over.
    pub fn next(
        &self,
        logbook: &Logbook,
        now: DateTime<FixedOffset>,
    ) -> Result<Option<String>, LogbookError> {
        let season = self.season(logbook, now)?;
        if season.show < season.today {
            return Ok(None);
        }
        if season.show == season.today {
            return Ok(Some("the show is today".to_owned()));
        }
        let today = now.date_naive();
        let show = spoken(self.show, today);
        let days = season.days(self.spacing());
        let Some(next) = days.first() else {
            return Ok(Some(format!("rest; the show is {show}")));
        };
        let when = spoken(date(*next), today);
        let what = if days.len() == 1 {
            "dress rehearsal".to_owned()
        } else {
            format!("{} minutes", self.minutes)
        };
        Ok(Some(format!("{when}, {what}; the show is {show}")))
    }
}

/// The date of a day.
pub(in crate::command) fn date(day: crate::coach::Day) -> NaiveDate {
    NaiveDate::default()
        .checked_add_signed(chrono::TimeDelta::days(i64::from(day.0)))
        .unwrap_or(NaiveDate::MAX)
}

/// A date as it is said: "today", "tomorrow", "Thursday 25 March", and the year where it is another.
pub(in crate::command) fn spoken(date: NaiveDate, today: NaiveDate) -> String {
    match (date - today).num_days() {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        _ if date.year() == today.year() => date.format("%A %-d %B").to_string(),
        _ => date.format("%A %-d %B %Y").to_string(),
    }
}

/// A day of the week as it is written.
pub(in crate::command) fn weekday(word: &str) -> Result<usize, String> {
    let folded = word.trim().to_lowercase();
    let known: Option<Weekday> = folded.parse().ok();
    match known {
        Some(day) => Ok(day.num_days_from_monday() as usize),
        None => Err(format!("the days are {}", WEEKDAYS.join(", "))),
    }
}
