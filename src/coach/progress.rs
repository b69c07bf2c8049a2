//! Progress: everything about one routine that a performer may want to look at, in one value. The screen, the page and the
//! exports say it each in their way.

use super::branches::{Untried, untried};
use super::footing::{Aim, Events, Footing, Sureness, footings, night};
use super::history::{History, monday};
use super::memory::Day;
use super::readiness::{Nights, OnTheNight, Readiness};
use super::record::Record;
use crate::drill::{Drill, Kind, heading};
use crate::roads::Met;
use crate::routine::{Millis, Routine, StepId};
use std::collections::{BTreeMap, BTreeSet};

/// A kind of question at a step.
#[derive(Debug, Clone, PartialEq)]
pub struct SkillProgress {
    /// The drill.
    pub drill: Drill,
    /// The kind of question.
    pub kind: Kind,
    /// Answers given.
    pub answers: u32,
    /// Wrong ones among them.
    pub missed: u32,
    /// On how many days.
    pub days: u32,
    /// The day of the latest.
    pub last: Day,
    /// Whether the latest was right.
    pub last_right: bool,
    /// The chance now, from 0 to 1.
    pub now: f64,
    /// The chance on the day practised for.
    pub show: f64,
    /// The median of the latest times.
    pub lately: Option<Millis>,
}

/// A step.
#[derive(Debug, Clone, PartialEq)]
pub struct StepProgress {
    /// Its title.
    pub title: String,
    /// How it stands.
    pub footing: Footing,
    /// Whether somebody chooses there.
    pub fork: bool,
    /// How much higher the chance of a clean run would be if it never failed.
    pub costs: Option<f64>,
    /// By kind of question, those asked about.
    pub skills: Vec<SkillProgress>,
}

/// A week.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekProgress {
    /// Its Monday.
    pub monday: Day,
    /// Answers given.
    pub answers: u32,
    /// Right ones among them.
    pub right: u32,
    /// On how many days.
    pub days: u32,
    /// The time that answering took, all together.
    pub time: Millis,
    /// How often it was performed.
    pub shows: u32,
    /// The chance of a clean run, had the show been on the Monday after; `None` for the week that is not over.
    pub chance: Option<f64>,
}

/// All there is to look at of one routine.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Its name, as commands take it.
    pub name: String,
    /// Its title.
    pub title: String,
    /// The language of its title and steps.
    pub lang: &'static str,
    /// Today, and the show.
    pub aim: Aim,
    /// Answers given, ever.
    pub answers: u64,
    /// Its steps in order.
    pub steps: Vec<StepProgress>,
    /// The chance of a clean run on the day practised for; `None` where no road can be walked, or nothing was answered.
    pub readiness: Option<Readiness>,
    /// The weeks up to the present one, oldest first; none before the first answer.
    pub weeks: Vec<WeekProgress>,
    /// Branches never practised.
    pub untried: Vec<Untried>,
    /// Steps that were asked about and that the routine no longer has.
    pub gone: Vec<StepId>,
    /// How the performer's own way of forgetting was found to foretell their answers; `None` while there are too few.
    pub own: Option<Own>,
}

/// A performer's own way of forgetting, beside the usual one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Own {
    /// By how much less surprising later answers were, as a share of the usual surprise; below zero for more.
    pub better_by: f64,
    /// How many later answers were foretold.
    pub foretold: usize,
    /// Whether it is gone by.
    pub adopted: bool,
}

/// What progress is made of.
#[derive(Debug, Clone, Copy)]
pub struct Practised<'a> {
    /// What the answers say.
    pub record: &'a Record,
    /// The weeks.
    pub history: &'a History,
    /// The branches practised, as `--choose` takes them for a first visit.
    pub branches: &'a BTreeSet<String>,
    /// What happened at each step away from the questions.
    pub events: &'a BTreeMap<StepId, Events>,
    /// What spectators were seen to choose on a stage.
    pub met: &'a Met,
    /// The days on which it was performed.
    pub shows: &'a [Day],
    /// How the performer's own way of forgetting was found to foretell their answers.
    pub own: Option<Own>,
}

/// Roads are sampled from this seed on, so that two looks on one day show the same.
const SEED: u64 = 0;

impl Progress {
    /// The progress of a routine, which the logbook knows by this name.
    #[must_use]
    pub fn of(name: &str, routine: &Routine, practised: Practised<'_>, aim: Aim) -> Self {
        let record = practised.record;
        let footings = footings(routine, record, practised.events, aim);
        // Where no road can be walked, everything else is still worth looking at.
        let nights = Nights::met(routine, SEED, practised.met)
            .ok()
            .filter(|_| record.tells_of_clean_runs());
        let readiness = nights
            .as_ref()
            .map(|nights| nights.readiness(routine, &night(&footings)));
        let weeks = weeks(routine, practised, &footings, nights.as_ref(), aim.today);
        let cost = |step: &StepId| {
            let costs = &readiness.as_ref()?.costs;
            costs.iter().find(|c| c.step == *step).map(|c| c.costs)
        };
        let gone: BTreeSet<&StepId> = record.skills().map(|(skill, _)| &skill.step).collect();
        Self {
            name: name.to_owned(),
            title: routine.title.clone(),
            lang: routine.lang.tag(),
            aim,
            answers: record.answers(),
            steps: routine
                .stops
                .iter()
                .zip(&footings)
                .map(|(stop, footing)| StepProgress {
                    title: heading(routine, stop),
                    footing: footing.clone(),
                    fork: stop.fork.is_some(),
                    costs: cost(&stop.id),
                    skills: skills(record, &stop.id, aim),
                })
                .collect(),
            weeks,
            untried: untried(routine, practised.branches).unwrap_or_default(),
            gone: gone
                .into_iter()
                .filter(|step| routine.find_step(&step.0).is_none())
                .cloned()
                .collect(),
            readiness,
            own: practised.own,
        }
    }

    /// The steps that cost most of the clean run, the dearest first: those that cost a hundredth or more.
    #[must_use]
    pub fn dearest(&self) -> Vec<(&StepProgress, f64)> {
        let mut dear: Vec<(&StepProgress, f64)> = self
            .steps
            .iter()
            .filter_map(|step| Some((step, step.costs.filter(|costs| *costs >= 0.005)?)))
            .collect();
        dear.sort_by(|a, b| b.1.total_cmp(&a.1));
        dear
    }

    /// How many of the steps that count for the clean run have hardly any answers to go by.
    #[must_use]
    pub fn guesses(&self) -> usize {
        self.steps
            .iter()
            .filter(|step| step.costs.is_some() && step.footing.sure == Sureness::Thin)
            .count()
    }

    /// Whether the chance of a clean run is a guess: at half of its steps or more.
    #[must_use]
    pub fn is_a_guess(&self) -> bool {
        let counted = self.steps.iter().filter(|step| step.costs.is_some());
        self.guesses() * 2 >= counted.count()
    }
}

fn skills(record: &Record, step: &StepId, aim: Aim) -> Vec<SkillProgress> {
    record
        .at_step(step)
        .map(|(skill, held)| SkillProgress {
            drill: skill.drill,
            kind: skill.kind,
            answers: held.answers,
            missed: held.missed,
            days: held.days,
            last: held.trace.last,
            last_right: held.last_right,
            now: record.chance(skill, aim.today),
            show: record.chance(skill, aim.day()),
            lately: held.pace.lately(),
        })
        .collect()
}

/// The weeks, each with the chance of a clean run on the Monday after. Steps not asked about by then count as first answers do; slips
/// of the hands are taken to have been as likely as they are now.
fn weeks(
    routine: &Routine,
    practised: Practised<'_>,
    footings: &[Footing],
    nights: Option<&Nights>,
    today: Day,
) -> Vec<WeekProgress> {
    let history = practised.history.to(practised.record, today);
    let unknown: BTreeMap<StepId, OnTheNight> = footings
        .iter()
        .filter(|step| !step.gate || step.answers > 0)
        .map(|step| {
            let night = OnTheNight {
                recall: practised.record.first_chance(),
                slip: step.events.slip(),
            };
            (step.step.clone(), night)
        })
        .collect();
    history
        .weeks()
        .iter()
        .map(|week| {
            let chance = history.stood_after(week).and_then(|stood| {
                let mut night = unknown.clone();
                for (step, recall) in stood {
                    if let Some(here) = night.get_mut(&step) {
                        here.recall = recall;
                    }
                }
                Some(nights?.chance(routine, &night))
            });
            let shows = practised.shows.iter();
            let shows = shows.filter(|day| monday(**day) == week.monday()).count();
            WeekProgress {
                shows: u32::try_from(shows).unwrap_or(u32::MAX),
                monday: week.monday(),
                answers: week.answers,
                right: week.right,
                days: week.days(),
                time: week.time(),
                chance,
            }
        })
        .collect()
}
