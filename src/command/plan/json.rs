//! A plan for programs.

use super::Told;
use super::kept::{WEEKDAYS, date};
use crate::coach::Chance;
use serde::Serialize;

/// A plan.
#[derive(Debug, Serialize)]
pub(super) struct PlanJson {
    show: String,
    routines: Vec<RoutineJson>,
    minutes_per_day: u32,
    days_of_the_week: Vec<&'static str>,
    off: Vec<String>,
    spacing: &'static str,
    now: ChanceJson,
    days: Vec<DayJson>,
    other_shows: Vec<String>,
}

/// A routine of the show.
#[derive(Debug, Serialize)]
struct RoutineJson {
    routine: String,
    title: String,
    now: ChanceJson,
}

/// A day.
#[derive(Debug, Serialize)]
struct DayJson {
    date: String,
    begins: String,
    ends: String,
    minutes: u32,
    elsewhere: u32,
    dress: bool,
    each: Vec<ShareJson>,
    chance: ChanceJson,
    commands: Vec<String>,
}

/// What a routine gets of a day.
#[derive(Debug, Serialize)]
struct ShareJson {
    routine: String,
    minutes: u32,
    steps: Vec<String>,
    chance: ChanceJson,
}

/// A chance from 0 to 1, and between which bounds eight of ten performers lie.
#[derive(Debug, Serialize)]
struct ChanceJson {
    mean: f64,
    low: f64,
    high: f64,
}

impl From<Chance> for ChanceJson {
    fn from(chance: Chance) -> Self {
        Self {
            mean: chance.mean,
            low: chance.low,
            high: chance.high,
        }
    }
}

impl Told<'_> {
    /// The plan for programs.
    pub(super) fn json(&self) -> PlanJson {
        let names = || self.acts.iter().map(|act| act.planned.name.clone());
        PlanJson {
            show: self.kept.show.to_string(),
            routines: self
                .acts
                .iter()
                .zip(&self.plan.each)
                .map(|(act, now)| RoutineJson {
                    routine: act.planned.name.clone(),
                    title: act.planned.title.clone(),
                    now: (*now).into(),
                })
                .collect(),
            minutes_per_day: self.kept.most,
            days_of_the_week: WEEKDAYS
                .into_iter()
                .zip(self.kept.weekdays)
                .filter_map(|(word, free)| free.then_some(word))
                .collect(),
            off: self.kept.off.iter().map(ToString::to_string).collect(),
            spacing: self.plan.spacing.word(),
            now: self.plan.now.into(),
            days: self
                .plan
                .days
                .iter()
                .zip(&self.begins)
                .map(|(day, begins)| DayJson {
                    date: date(day.day).to_string(),
                    begins: begins.to_rfc3339(),
                    ends: (*begins + chrono::TimeDelta::minutes(i64::from(day.minutes)))
                        .to_rfc3339(),
                    minutes: day.minutes,
                    elsewhere: self.elsewhere(day),
                    dress: day.dress,
                    each: names()
                        .zip(&day.shares)
                        .map(|(routine, share)| ShareJson {
                            routine,
                            minutes: share.minutes,
                            steps: share.focus.iter().map(ToString::to_string).collect(),
                            chance: share.chance.into(),
                        })
                        .collect(),
                    chance: day.chance.into(),
                    commands: self.commands(day),
                })
                .collect(),
            other_shows: self
                .others
                .iter()
                .map(|plan| plan.show.to_string())
                .collect(),
        }
    }
}
