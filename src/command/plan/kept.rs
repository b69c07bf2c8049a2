//! The plans as they are kept in the logbook, one for each show: what was asked for, and how close and how long the rehearsals were
//! found to be best. The days themselves are worked out again each time, from what was really rehearsed. Where the files of routines
//! lie is kept beside them, and belongs to this machine: no export carries it.

use crate::coach::{Day, Season, Spacing};
use crate::command::coaching::{day, day_of, show_key};
use crate::command::failure::Failure;
use crate::command::shipped;
use crate::command::source::{Source, shown};
use crate::logbook::{DERIVED, Logbook, LogbookError};
use chrono::{
    DateTime, Datelike, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Weekday,
};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Under which name the plans are kept.
const KEY: &str = "plan";

/// The days of the week as they are written, Monday first.
pub(in crate::command) const WEEKDAYS: [&str; 7] =
    ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/// A routine of the plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(in crate::command) struct Planned {
    /// Its name in the logbook.
    pub name: String,
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
    /// How long the dress rehearsal is.
    #[serde(default)]
    pub dress: u32,
}

/// A rehearsal for another show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::command) struct Booked {
    /// The day.
    pub day: Day,
    /// When it begins, as the clock shows it.
    pub from: NaiveDateTime,
    /// How long it is.
    pub minutes: u32,
    /// The show.
    pub show: NaiveDate,
}

/// What is rehearsed for the shows before a date, by their plans: they come first, and what is planned for later shows goes by them.
pub(in crate::command) fn booked(
    plans: &[Kept],
    before: NaiveDate,
    logbook: &Logbook,
    now: DateTime<FixedOffset>,
) -> Result<Vec<Booked>, LogbookError> {
    let mut nearer: Vec<&Kept> = plans
        .iter()
        .filter(|plan| (now.date_naive()..before).contains(&plan.show))
        .collect();
    nearer.sort_by_key(|plan| plan.show);
    let mut all: Vec<Booked> = Vec::new();
    for plan in nearer {
        let season = plan.season(&all, logbook, now)?;
        let days = season.days(plan.spacing());
        let dress = days.last().copied();
        for day in days {
            let minutes = plan.minutes_on(&season, day, Some(day) == dress);
            all.push(Booked {
                day,
                from: plan.begins(day, minutes, &all, now),
                minutes,
                show: plan.show,
            });
        }
    }
    Ok(all)
}

/// The plans of this logbook, the nearest show first.
pub(in crate::command) fn kept(logbook: &Logbook) -> Result<Vec<Kept>, LogbookError> {
    // Plans that this version cannot read count as none.
    let mut plans = logbook
        .remembered(KEY)?
        .map_or_else(Vec::new, |text| read(&text));
    plans.sort_by_key(|plan| plan.show);
    Ok(plans)
}

/// Plans from their text. A logbook that knew one show only held its plan by itself.
fn read(text: &str) -> Vec<Kept> {
    serde_json::from_str(text)
        .or_else(|_| serde_json::from_str(text).map(|only| vec![only]))
        .unwrap_or_default()
}

/// The plan for the next show from today on, of those that this holds for.
pub(in crate::command) fn next_of(
    plans: &[Kept],
    today: NaiveDate,
    holds: impl Fn(&Kept) -> bool,
) -> Option<&Kept> {
    plans.iter().find(|plan| plan.show >= today && holds(plan))
}

/// Keeps these plans in the place of those before; what is practised until a show aims at it. Routines that are in none of
/// them have no show any more.
pub(in crate::command) fn keep(
    logbook: &mut Logbook,
    before: &[Kept],
    plans: &[Kept],
) -> Result<(), LogbookError> {
    for name in dropped(before, plans).map(|one| &one.name) {
        logbook.remember(&show_key(name), "")?;
    }
    for plan in plans {
        for one in &plan.routines {
            logbook.remember(&show_key(&one.name), &plan.show.to_string())?;
        }
    }
    // Dates and words always have a form as text.
    let text = serde_json::to_string(plans).unwrap_or_default();
    logbook.remember(KEY, &text)
}

/// The routines that are in no plan any more.
pub(in crate::command) fn dropped<'a>(
    before: &'a [Kept],
    plans: &'a [Kept],
) -> impl Iterator<Item = &'a Planned> {
    let routines = |plans: &'a [Kept]| plans.iter().flat_map(|plan| &plan.routines);
    routines(before).filter(move |one| routines(plans).all(|other| other.name != one.name))
}

fn place_key(name: &str) -> String {
    format!("{DERIVED}place of {name}")
}

/// Remembers where the file of a routine lies on this machine.
pub(in crate::command) fn note_place(
    logbook: &mut Logbook,
    name: &str,
    place: &str,
) -> Result<(), LogbookError> {
    logbook.remember(&place_key(name), place)
}

/// The routine of a plan, found again.
pub(in crate::command) fn found(logbook: &Logbook, planned: &Planned) -> Result<Source, Failure> {
    let name = &planned.name;
    if shipped::find(name).is_some() {
        return Source::find(name);
    }
    match logbook.remembered(&place_key(name))? {
        Some(place) if !place.is_empty() => Source::find(&place),
        Some(_) | None => Err(Failure::Wrong(format!(
            "{} is planned, but where its file lies on this machine is not known\n  Name its path once more: allroads plan PATH --show DATE.",
            shown(name)
        ))),
    }
}

impl Kept {
    /// Whether a routine of this name is in the show.
    pub fn holds(&self, name: &str) -> bool {
        self.routines.iter().any(|one| one.name == name)
    }

    /// The titles of its routines.
    pub fn titles(&self) -> String {
        let titles: Vec<&str> = self.routines.iter().map(|one| &*one.title).collect();
        titles.join(", ")
    }

    /// The days there are, beside what is booked for nearer shows, and what was really rehearsed of them.
    pub fn season(
        &self,
        booked: &[Booked],
        logbook: &Logbook,
        now: DateTime<FixedOffset>,
    ) -> Result<Season, LogbookError> {
        // A day on which one of several was left out is still to come for that one.
        let mut each = Vec::with_capacity(self.routines.len());
        for one in &self.routines {
            each.push(logbook.last_rehearsed(&one.name)?.map(day_of));
        }
        let rehearsed = each.into_iter().min().flatten();
        let mut taken: BTreeMap<Day, u32> = BTreeMap::new();
        for other in booked {
            *taken.entry(other.day).or_insert(0) += other.minutes;
        }
        Ok(Season {
            today: day_of(now),
            show: day(self.show),
            weekdays: self.weekdays,
            off: self.off.iter().copied().map(day).collect(),
            taken,
            rehearsed,
        })
    }

    /// The spacing it was found to need.
    pub fn spacing(&self) -> Spacing {
        Spacing::from_word(&self.spacing).unwrap_or(Spacing::Wide)
    }

    /// Whether it is written down how the show went.
    pub fn played(&self, logbook: &Logbook) -> Result<bool, LogbookError> {
        for one in &self.routines {
            let nights = logbook.nights(&one.name)?;
            if nights.iter().any(|night| night.date == self.show) {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// How long the rehearsal of a day is.
    fn minutes_on(&self, season: &Season, day: Day, dress: bool) -> u32 {
        let minutes = if dress {
            self.minutes.max(self.dress)
        } else {
            self.minutes
        };
        minutes.min(season.room(day))
    }

    /// When the rehearsal of a day begins, as the clock shows it: at the time wished for, or soon where that is past, or after those
    /// for other shows that are in its way.
    pub fn begins(
        &self,
        day: Day,
        minutes: u32,
        booked: &[Booked],
        now: DateTime<FixedOffset>,
    ) -> NaiveDateTime {
        let long = |minutes: u32| TimeDelta::minutes(minutes.into());
        let mut from = date(day).and_time(self.at);
        if day == day_of(now) {
            from = from.max(now.naive_local() + until_quarter(now));
        }
        let mut there: Vec<&Booked> = booked.iter().filter(|other| other.day == day).collect();
        there.sort_by_key(|other| other.from);
        for other in there {
            let until = other.from + long(other.minutes);
            if other.from < from + long(minutes) && from < until {
                from = until;
            }
        }
        from
    }

    /// What comes next by it, in a sentence's worth of words: "Thursday 25 March, 20 minutes; the show is on Friday 2 April";
    /// none once the show is over, or written down.
    pub fn next(
        &self,
        plans: &[Self],
        logbook: &Logbook,
        now: DateTime<FixedOffset>,
    ) -> Result<Option<String>, LogbookError> {
        let season = self.season(&booked(plans, self.show, logbook, now)?, logbook, now)?;
        if season.show < season.today {
            return Ok(None);
        }
        if season.show == season.today {
            let over = self.played(logbook)?;
            return Ok((!over).then(|| "the show is today".to_owned()));
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
            format!("{} minutes", self.minutes_on(&season, *next, false))
        };
        Ok(Some(format!("{when}, {what}; the show is {show}")))
    }
}

/// How long it is to the next full quarter of an hour.
pub(super) fn until_quarter(now: DateTime<FixedOffset>) -> TimeDelta {
    const QUARTER: i64 = 15 * 60;
    // Full seconds: what lies behind the last one is left out.
    let second = TimeDelta::nanoseconds(now.timestamp_subsec_nanos().into());
    TimeDelta::seconds((-now.timestamp()).rem_euclid(QUARTER)) - second
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

#[cfg(test)]
mod tests {
    use super::*;

    /// As it was written when a logbook knew one show only; the folder in it is made up.
    const ALONE: &str = r#"{"show":"2031-05-01","routines":[{"name":"mine","origin":"/home/ann/mine.yaml","title":"Mine"}],"most":20,
        "weekdays":[true,true,true,true,true,true,true],"off":["2031-04-19"],"at":"18:30:00","spacing":"wide","minutes":15}"#;

    #[test]
    fn a_plan_kept_when_there_was_one_alone_is_not_lost() {
        let plans = read(ALONE);
        let [plan] = plans.as_slice() else {
            panic!("{plans:?}");
        };
        assert_eq!(plan.show.to_string(), "2031-05-01");
        assert!(plan.holds("mine") && !plan.holds("other"));
        assert_eq!((plan.most, plan.minutes), (20, 15));
        assert_eq!(read(&serde_json::to_string(&plans).unwrap()), plans);
        assert_eq!(read(""), []);
        assert_eq!(read("{}"), []);
    }
}
