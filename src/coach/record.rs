//! What the answers so far say: every skill's trace, and where the performer is better or worse than memory alone would tell.

use super::memory::{Day, Memory, Skill, Trace};
use super::pace::Pace;
use crate::drill::{Drill, Kind, Timed};
use crate::routine::{Millis, StepId};
use std::collections::BTreeMap;

/// One answer, as far as the coach looks at it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// What was asked for.
    pub skill: Skill,
    /// On which day.
    pub day: Day,
    /// Whether it was right.
    pub right: bool,
    /// To the end of the answer.
    pub time: Millis,
}

/// How one skill is held.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The trace in memory.
    pub trace: Trace,
    /// Answers given.
    pub answers: u32,
    /// Wrong ones among them.
    pub missed: u32,
    /// On how many days.
    pub days: u32,
    /// Whether the latest was right.
    pub last_right: bool,
    /// Answers given on the latest day.
    pub that_day: u32,
    /// The times of right answers.
    pub pace: Pace,
}

/// A running comparison of answers with what memory foretold, on the scale of log odds: a weighted sum of (answer − chance), and
/// the weight of evidence, Σ chance·(1 − chance). One Newton step from zero with a normal prior gives the shift.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Lean {
    pub(super) sum: f64,
    pub(super) weight: f64,
}

/// Older evidence counts less: by this factor for every later answer of the same lean.
pub(super) const STEP_FADES: f64 = 0.9;
pub(super) const ALL_FADES: f64 = 0.98;
/// The spread of shifts between the steps of one routine, and between performers, in log odds.
const STEP_SPREAD: f64 = 1.0;
const ALL_SPREAD: f64 = 0.7;

/// A skill never practised is known so much more seldom than first answers are right.
const UNPRACTISED: f64 = 0.5;

impl Lean {
    fn add(&mut self, chance: f64, right: bool, fades: f64) {
        let seen = if right { 1.0 } else { 0.0 };
        self.sum = self.sum * fades + (seen - chance);
        self.weight = self.weight * fades + chance * (1.0 - chance);
    }
    /// The standard deviation of the shift after this evidence.
    fn spread(self, before: f64) -> f64 {
        (self.weight + 1.0 / (before * before)).sqrt().recip()
    }
    fn shift(self, spread: f64) -> f64 {
        (self.sum / (self.weight + 1.0 / (spread * spread))).clamp(-3.0, 3.0)
    }
}

/// The log odds of a chance, kept within what thousands of answers could tell.
pub(super) fn log_odds(chance: f64) -> f64 {
    let p = chance.clamp(1e-4, 1.0 - 1e-4);
    (p / (1.0 - p)).ln()
}

/// The chance with these log odds.
pub(super) fn odds_chance(log_odds: f64) -> f64 {
    1.0 / (1.0 + (-log_odds).exp())
}

/// How a performer compares with memory alone, in one sort of questions.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Bearing {
    pub(super) steps: BTreeMap<StepId, Lean>,
    pub(super) all: Lean,
    /// First answers ever: right, and all.
    pub(super) first: (u32, u32),
}

impl Bearing {
    fn at(&self, step: &StepId) -> Lean {
        self.steps.get(step).copied().unwrap_or_default()
    }
    fn first_chance(&self) -> f64 {
        (f64::from(self.first.0) + 1.0) / (f64::from(self.first.1) + 2.0)
    }
}

/// All that the answers of one routine say.
///
/// What somebody who does something odd asks of the performer is kept apart: in a clean run nobody does, so those answers say
/// nothing about it, neither by themselves nor by what they tell of the performer.
#[derive(Debug, Clone, Default)]
pub struct Record {
    pub(super) memory: Memory,
    pub(super) skills: BTreeMap<Skill, Held>,
    /// By all that a clean run asks for.
    pub(super) clean: Bearing,
    /// By what is asked when it goes wrong.
    pub(super) astray: Bearing,
    pub(super) answers: u64,
}

impl Record {
    /// An empty record for this memory.
    #[must_use]
    pub fn new(memory: Memory) -> Self {
        Self {
            memory,
            ..Self::default()
        }
    }

    /// The record of these answers, which must come in the order in which they were given.
    pub fn of<'a>(memory: Memory, answers: impl IntoIterator<Item = &'a Answer>) -> Self {
        let mut record = Self::new(memory);
        for answer in answers {
            record.add(answer);
        }
        record
    }

    /// Takes in an answer.
    pub fn add(&mut self, answer: &Answer) {
        self.answers += 1;
        self.take_in(&answer.skill, answer.day, answer.right, Some(answer.time));
    }

    /// Takes in a performance: each step done on stage, and whether it went right. It counts as an answer, right or wrong, to
    /// everything that a clean run asks for there, since all of it was needed at once and nobody helped; a step that went wrong and was
    /// never asked about counts as one that was not known to come. Nobody timed it.
    pub fn perform<'a>(&mut self, day: Day, steps: impl IntoIterator<Item = (&'a StepId, bool)>) {
        for (step, right) in steps {
            let mut skills: Vec<Skill> = self
                .needed_at(step)
                .map(|(skill, _)| skill.clone())
                .collect();
            if skills.is_empty() && !right {
                skills.push(Skill {
                    step: step.clone(),
                    drill: Drill::Order,
                    kind: Kind::Next,
                });
            }
            for skill in skills {
                self.take_in(&skill, day, right, None);
            }
        }
    }

    fn take_in(&mut self, skill: &Skill, day: Day, right: bool, time: Option<Millis>) {
        let before = self.skills.get(skill);
        let bearing = if skill.drill.in_a_clean_run() {
            &mut self.clean
        } else {
            &mut self.astray
        };
        match before {
            Some(held) if day > held.trace.last => {
                let chance = self.memory.recall(&held.trace, day);
                let shift = bearing.all.shift(ALL_SPREAD);
                let shifted = odds_chance(log_odds(chance) + shift);
                bearing
                    .steps
                    .entry(skill.step.clone())
                    .or_default()
                    .add(shifted, right, STEP_FADES);
                bearing.all.add(chance, right, ALL_FADES);
            }
            Some(_) => {}
            None => {
                let chance = bearing.first_chance();
                bearing
                    .steps
                    .entry(skill.step.clone())
                    .or_default()
                    .add(chance, right, STEP_FADES);
                bearing.first.0 += u32::from(right);
                bearing.first.1 += 1;
            }
        }
        let trace = self
            .memory
            .after(before.map(|held| &held.trace), day, right);
        let mut held = match self.skills.remove(skill) {
            Some(held) => held,
            None => Held {
                trace,
                answers: 0,
                missed: 0,
                days: 0,
                last_right: false,
                that_day: 0,
                pace: Pace::default(),
            },
        };
        if held.answers == 0 || day > held.trace.last {
            held.days += 1;
            held.that_day = 0;
        }
        held.that_day += 1;
        held.answers += 1;
        held.missed += u32::from(!right);
        held.last_right = right;
        held.trace = trace;
        if let Some(time) = time.filter(|_| right && skill.kind.timed() != Timed::Whole) {
            held.pace.add(time);
        }
        self.skills.insert(skill.clone(), held);
    }

    /// The same as far as one drill goes: only its skills. What is said of the performer as a whole stays.
    #[must_use]
    pub fn of_drill(&self, drill: Drill) -> Self {
        let mut own = self.clone();
        own.skills.retain(|skill, _| skill.drill == drill);
        own
    }

    /// The memory it goes by.
    #[must_use]
    pub fn memory(&self) -> &Memory {
        &self.memory
    }

    /// How many answers went into it.
    #[must_use]
    pub fn answers(&self) -> u64 {
        self.answers
    }

    /// The latest day on which anything was answered.
    #[must_use]
    pub fn latest(&self) -> Option<Day> {
        self.skills.values().map(|held| held.trace.last).max()
    }

    /// Every skill ever asked for.
    pub fn skills(&self) -> impl Iterator<Item = (&Skill, &Held)> {
        self.skills.iter()
    }

    /// The skills asked for at a step.
    pub fn at_step<'a>(&'a self, step: &'a StepId) -> impl Iterator<Item = (&'a Skill, &'a Held)> {
        self.skills
            .iter()
            .filter(move |(skill, _)| skill.step == *step)
    }

    /// Those among them that a clean run asks for.
    pub fn needed_at<'a>(
        &'a self,
        step: &'a StepId,
    ) -> impl Iterator<Item = (&'a Skill, &'a Held)> {
        self.at_step(step)
            .filter(|(skill, _)| skill.drill.in_a_clean_run())
    }

    /// Whether anything was answered that a clean run asks for.
    #[must_use]
    pub fn tells_of_clean_runs(&self) -> bool {
        self.skills.keys().any(|skill| skill.drill.in_a_clean_run())
    }

    fn bearing(&self, drill: Drill) -> &Bearing {
        if drill.in_a_clean_run() {
            &self.clean
        } else {
            &self.astray
        }
    }

    /// How a skill is held, if it was ever asked for.
    #[must_use]
    pub fn held(&self, skill: &Skill) -> Option<&Held> {
        self.skills.get(skill)
    }

    /// The chance that this skill's answer would be right on a day. A skill never asked for has the chance of this performer's
    /// first answers.
    #[must_use]
    pub fn chance(&self, skill: &Skill, on: Day) -> f64 {
        match self.skills.get(skill) {
            Some(held) => self.chance_of(&skill.step, skill.drill, &held.trace, on),
            None => self.bearing(skill.drill).first_chance(),
        }
    }

    /// The chance that a first answer is right, of those that a clean run asks for: this performer's share so far, with two imagined
    /// answers, one right.
    #[must_use]
    pub fn first_chance(&self) -> f64 {
        self.clean.first_chance()
    }

    /// What one answer today is worth for a later day: by how much it raises the log of the chance there. Below zero where the model
    /// expects more from leaving it.
    #[must_use]
    pub fn gain(&self, skill: &Skill, today: Day, later: Day) -> f64 {
        let Some(held) = self.skills.get(skill) else {
            return self.gain_of_new(today, later);
        };
        self.gain_from(&skill.step, skill.drill, &held.trace, (today, later))
    }

    /// The same for a trace at a step, of a skill of this drill.
    pub(super) fn gain_from(
        &self,
        step: &StepId,
        drill: Drill,
        trace: &Trace,
        (today, later): (Day, Day),
    ) -> f64 {
        let now = self.chance_of(step, drill, trace, today);
        let then = |right| {
            let after = self.memory.after(Some(trace), today, right);
            self.chance_of(step, drill, &after, later)
        };
        let practised = now * then(true) + (1.0 - now) * then(false);
        (practised / self.chance_of(step, drill, trace, later)).ln()
    }

    /// By how much this performer is better or worse than memory alone tells, in log odds, in what a clean run asks for: throughout,
    /// and at one step beside that.
    pub(super) fn shifts(&self, step: &StepId) -> (f64, f64) {
        (
            self.clean.all.shift(ALL_SPREAD),
            self.clean.at(step).shift(STEP_SPREAD),
        )
    }

    /// How far this performer may throughout be better or worse than the answers tell: the standard deviation of the normal
    /// posterior, in log odds.
    pub(super) fn spread_of_all(&self) -> f64 {
        self.clean.all.spread(ALL_SPREAD)
    }

    /// The same for one step beside that.
    pub(super) fn spread_at(&self, step: &StepId) -> f64 {
        self.clean.at(step).spread(STEP_SPREAD)
    }

    /// The same for a skill never asked for: left alone, it is taken to be known half as often as first answers are.
    #[must_use]
    pub fn gain_of_new(&self, today: Day, later: Day) -> f64 {
        let now = self.first_chance();
        let then = |right| {
            let after = self.memory.after(None, today, right);
            self.memory.recall(&after, later)
        };
        let practised = now * then(true) + (1.0 - now) * then(false);
        (practised / (now * UNPRACTISED)).ln()
    }

    /// The chance for a trace at a step, of a skill of this drill.
    pub(super) fn chance_of(&self, step: &StepId, drill: Drill, trace: &Trace, on: Day) -> f64 {
        let bearing = self.bearing(drill);
        odds_chance(
            log_odds(self.memory.recall(trace, on))
                + bearing.all.shift(ALL_SPREAD)
                + bearing.at(step).shift(STEP_SPREAD),
        )
    }
}
