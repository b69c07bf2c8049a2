//! How each step stands: its chances, its times, what went wrong there, what was never practised.

use super::hold::{Grip, Hold, USUAL_HORIZON};
use super::memory::{Day, Skill};
use super::pace::{Curve, fits_the_beat, median};
use super::readiness::{OnTheNight, slip_chance};
use super::record::{Held, Record};
use crate::drill::{Drill, Kind, Timed};
use crate::routine::{Millis, Routine, StepId, Then};
use std::collections::BTreeMap;

/// Today, and the day that everything is practised for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Aim {
    /// Today.
    pub today: Day,
    /// The day of the show, if one is set and not over.
    pub show: Option<Day>,
}

impl Aim {
    /// An aim; a show that is over counts as none.
    #[must_use]
    pub fn new(today: Day, show: Option<Day>) -> Self {
        Self {
            today,
            show: show.filter(|show| *show >= today),
        }
    }
    /// The day that everything is practised for: the show's, or with none set the day a week from now.
    #[must_use]
    pub fn day(self) -> Day {
        self.show.unwrap_or(self.today.plus(USUAL_HORIZON))
    }
}

/// What happened at a step away from the questions.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Events {
    /// Slips of the hands.
    pub slips: f64,
    /// Those among them that happened on a stage.
    pub staged: f64,
    /// Odd things spectators did there.
    pub strays: f64,
    /// Runs that came through here.
    pub runs: f64,
    /// Those among them that were performances.
    pub shows: f64,
}

/// A run on stage tells as much of the hands as so many at home, where nothing hangs on it. Our own judgement, no source.
const ON_STAGE: f64 = 3.0;

impl Events {
    /// The chance of a slip each time the step is done.
    #[must_use]
    pub fn slip(self) -> f64 {
        let more = ON_STAGE - 1.0;
        slip_chance(
            self.slips + more * self.staged,
            self.runs + more * self.shows,
        )
    }
}

/// How much there is to go by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sureness {
    /// Fewer than five answers: a guess.
    Thin,
    /// Fewer than twelve.
    Some,
    /// Twelve or more.
    Good,
}

impl Sureness {
    /// For so many answers.
    #[must_use]
    pub fn of(answers: u32) -> Self {
        match answers {
            0..5 => Self::Thin,
            5..12 => Self::Some,
            12.. => Self::Good,
        }
    }
    /// In words, to stand beside a chance.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Thin => "a guess so far",
            Self::Some => "fairly sure",
            Self::Good => "sure",
        }
    }
}

/// Times at a step.
#[derive(Debug, Clone, PartialEq)]
pub struct Tempo {
    /// The drill and kind of question asked most here: what the times are of.
    pub of: (Drill, Kind),
    /// The times of its latest right answers, oldest first.
    pub times: Vec<Millis>,
    /// The median of the latest answers to the kind of question asked most here.
    pub lately: Millis,
    /// What this performer usually takes for that kind of question.
    pub usual: Option<Millis>,
    /// The step's target.
    pub target: Option<Millis>,
    /// Whether that fits the beat.
    pub fits: bool,
    /// The performer's own curve here; `None` for too few times.
    pub curve: Option<Curve>,
}

/// How a step stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Footing {
    /// The step.
    pub step: StepId,
    /// Answers there.
    pub answers: u32,
    /// Wrong ones among them.
    pub missed: u32,
    /// The chance now, from 0 to 1.
    pub now: f64,
    /// The chance on the day practised for.
    pub show: f64,
    /// How it is held.
    pub hold: Hold,
    /// How much there is to go by.
    pub sure: Sureness,
    /// Times, once there is one.
    pub tempo: Option<Tempo>,
    /// Slips and strays.
    pub events: Events,
    /// Whether it only asks whether to go round again: nothing is to be remembered there unless it was asked about.
    pub gate: bool,
}

/// The chance that a step is remembered: of its weakest drill, and of a drill the mean over the kinds of question asked in it. What
/// belongs to one step is remembered together or not at all, so chances within it are not multiplied.
fn step_chance(record: &Record, skills: &[(&Skill, &Held)], on: Day) -> f64 {
    let mut by_drill: BTreeMap<Drill, (f64, f64)> = BTreeMap::new();
    for (skill, _) in skills {
        let (sum, count) = by_drill.entry(skill.drill).or_default();
        *sum += record.chance(skill, on);
        *count += 1.0;
    }
    by_drill
        .values()
        .map(|(sum, count)| sum / count)
        .reduce(f64::min)
        .unwrap_or_else(|| record.first_chance())
}

/// The chance that each step asked about so far is remembered on a day, in the order of their ids; only what a clean run asks for counts.
#[must_use]
pub(super) fn step_chances(record: &Record, on: Day) -> BTreeMap<StepId, f64> {
    let mut steps: BTreeMap<&StepId, Vec<(&Skill, &Held)>> = BTreeMap::new();
    for (skill, held) in record.skills() {
        if !skill.drill.in_a_clean_run() {
            continue;
        }
        steps.entry(&skill.step).or_default().push((skill, held));
    }
    steps
        .into_iter()
        .map(|(step, skills)| (step.clone(), step_chance(record, &skills, on)))
        .collect()
}

/// How each step of the routine stands, in its order. Every stop has one, asked about or not. What is asked when it goes wrong is left
/// out: it says nothing about a run in which nothing does.
#[must_use]
pub fn footings(
    routine: &Routine,
    record: &Record,
    events: &BTreeMap<StepId, Events>,
    aim: Aim,
) -> Vec<Footing> {
    let usual = usual_times(record);
    routine
        .stops
        .iter()
        .map(|stop| {
            let skills: Vec<(&Skill, &Held)> = record.needed_at(&stop.id).collect();
            let answers = skills.iter().map(|(_, held)| held.answers).sum();
            let missed = skills.iter().map(|(_, held)| held.missed).sum();
            let tempo = tempo(&skills, stop.target, &usual);
            let grip = Grip {
                answers,
                days: skills.iter().map(|(_, h)| h.days).max().unwrap_or(0),
                last_right: skills.iter().all(|(_, held)| held.last_right),
                tomorrow: step_chance(record, &skills, aim.today.plus(1)),
                show: step_chance(record, &skills, aim.day()),
                fits: tempo.as_ref().is_none_or(|tempo| tempo.fits),
            };
            Footing {
                step: stop.id.clone(),
                answers,
                missed,
                now: step_chance(record, &skills, aim.today),
                show: grip.show,
                hold: Hold::of(grip),
                sure: Sureness::of(answers),
                tempo,
                events: events.get(&stop.id).copied().unwrap_or_default(),
                gate: matches!(stop.then, Then::Gate { .. }),
            }
        })
        .collect()
}

fn usual_times(record: &Record) -> BTreeMap<Kind, Millis> {
    let mut times: BTreeMap<Kind, Vec<Millis>> = BTreeMap::new();
    let compared = record
        .skills()
        .filter(|(skill, _)| skill.kind.timed() == Timed::Answer);
    for (skill, held) in compared {
        times
            .entry(skill.kind)
            .or_default()
            .extend(held.pace.times());
    }
    times
        .into_iter()
        .filter_map(|(kind, times)| Some((kind, median(&times)?)))
        .collect()
}

fn tempo(
    skills: &[(&Skill, &Held)],
    target: Option<Millis>,
    usual: &BTreeMap<Kind, Millis>,
) -> Option<Tempo> {
    let (skill, held) = skills
        .iter()
        .max_by_key(|(_, held)| held.pace.times().len())?;
    let lately = held.pace.lately()?;
    let usual = usual.get(&skill.kind).copied();
    Some(Tempo {
        of: (skill.drill, skill.kind),
        times: held.pace.times().to_vec(),
        lately,
        usual,
        target,
        fits: fits_the_beat(lately, target, usual),
        curve: Curve::fit(held.pace.times()),
    })
}

/// The steps as they will stand on the night, for [`readiness`](super::readiness()).
#[must_use]
pub fn night(footings: &[Footing]) -> BTreeMap<StepId, OnTheNight> {
    footings
        .iter()
        .filter(|step| step.answers > 0 || !step.gate)
        .map(|step| {
            let night = OnTheNight {
                recall: step.show,
                slip: step.events.slip(),
            };
            (step.step.clone(), night)
        })
        .collect()
}
