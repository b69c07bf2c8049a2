//! A road of a session, as far as it is walked, and what the performer has seen and heard of it.

use super::asking::{MOST_TABLES, Moment};
use super::prompt::{DrillFault, Plan};
use super::sighting::{Stated, sightings};
use crate::knowing::Knowledge;
use crate::roads::{Road, Sighted, Walked, choice_label, sample};
use crate::routine::{Routine, StepId};

/// So many roads are tried to reach the step to begin from.
const ROADS_TO_STEP: u64 = 64;

/// The road being walked, and what the performer has seen and heard of it.
#[derive(Debug, Clone)]
pub(super) struct Walk {
    /// From 1.
    pub number: u32,
    pub road: Road,
    pub knowledge: Knowledge,
    pub done: usize,
    pub sights: Vec<Sighted>,
    pub given: Vec<Stated>,
    pub choices: Vec<String>,
    /// Whether the line of the next step was asked for, so that it need not be told.
    pub line_known: bool,
    pub questions: u32,
    /// Whether to ask after so many stops of it; where that is not said, something is asked.
    pub asks: Vec<bool>,
    /// Whether knowing has taken in the next stop already.
    ahead: bool,
}

impl Walk {
    fn new(routine: &Routine, road: Road, number: u32) -> Self {
        Self {
            number,
            road,
            knowledge: Knowledge::at_start(routine, MOST_TABLES),
            done: 0,
            sights: Vec::new(),
            given: Vec::new(),
            choices: Vec::new(),
            line_known: false,
            questions: 0,
            asks: Vec::new(),
            ahead: false,
        }
    }

    pub fn next(&self) -> Option<&Walked> {
        self.road.walked.get(self.done)
    }

    /// Whether a new question may come at this moment.
    pub fn asks_here(&self) -> bool {
        self.asks.get(self.done).copied().unwrap_or(true)
    }

    /// Takes in the next stop.
    pub fn go(&mut self, routine: &Routine) {
        let Some(walked) = self.road.walked.get(self.done) else {
            return;
        };
        if !self.ahead {
            self.knowledge.follow(routine, walked);
        }
        self.ahead = false;
        self.sights.extend(walked.sights.iter().cloned());
        self.given.extend(sightings(routine, walked));
        self.choices.extend(choice_label(routine, walked));
        self.done += 1;
    }

    /// Lets knowing take in the next stop before it is told to be done.
    pub fn look_ahead(&mut self, routine: &Routine) {
        if !self.ahead
            && let Some(walked) = self.road.walked.get(self.done)
        {
            self.knowledge.follow(routine, walked);
            self.ahead = true;
        }
    }

    pub fn moment<'a>(&'a self, routine: &'a Routine) -> Moment<'a> {
        Moment {
            routine,
            walked: &self.road.walked,
            done: self.done,
            knowledge: &self.knowledge,
            sights: &self.sights,
        }
    }
}

/// A road for this session, begun: from the first step, or with everything done that comes before the step to begin from.
pub(super) fn first_walk(
    routine: &Routine,
    plan: &Plan,
    seed: u64,
    number: u32,
) -> Result<Walk, DrillFault> {
    let (road, before) = first_road(routine, plan, seed)?;
    let mut walk = Walk::new(routine, road, number);
    for _ in 0..before {
        walk.go(routine);
    }
    Ok(walk)
}

/// A road that comes by the step to begin from, where there is one, and how many stops come before that.
pub(super) fn first_road(
    routine: &Routine,
    plan: &Plan,
    seed: u64,
) -> Result<(Road, usize), DrillFault> {
    let from = match &plan.from {
        Some(step) => Some(
            routine
                .find_step(&step.0)
                .ok_or_else(|| DrillFault::NoStep(step.clone()))?,
        ),
        None => None,
    };
    for tried in 0..ROADS_TO_STEP {
        let road = sample(routine, seed.wrapping_add(tried))
            .map_err(|fault| DrillFault::Road(fault.to_string()))?;
        let Some(from) = from else {
            return Ok((road, 0));
        };
        if let Some(before) = road.walked.iter().position(|walked| walked.stop == from) {
            return Ok((road, before));
        }
    }
    Err(DrillFault::NotReached(
        plan.from.clone().unwrap_or_else(|| StepId("".into())),
    ))
}
