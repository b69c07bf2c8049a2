//! The lines said aloud: the cue is heard, the line is said while its move is done, the real line answers; and a reading of the
//! whole patter at the pace of a performance.

mod cues;
mod line;
mod reading;

use super::prompt::{
    Along, Deed, Help, LineCue, LinesOpening, ReadThrough, Reading, RealLine, Saying, Sound,
    Speech, SpokenEffect, SpokenPrompt,
};
use super::words;
use crate::drill::asking::Moment;
use crate::drill::prompt::{DrillFault, Plan};
use crate::drill::question::{Expected, Subject};
use crate::drill::summary::{Given, Summary, sum_up};
use crate::drill::walk::{Walk, first_walk};
use crate::routine::{Millis, Routine, StepId};
use std::sync::Arc;

#[derive(Debug, Clone)]
enum Phase {
    Opening(LinesOpening),
    Line(LineCue, String),
    Real(RealLine),
    Reading(Reading),
    Read(ReadThrough),
    Done(Summary),
}

/// A rehearsal of the lines.
#[derive(Debug, Clone)]
pub(super) struct Aloud {
    routine: Arc<Routine>,
    plan: Plan,
    helps: Vec<(StepId, Help)>,
    walk: Walk,
    phase: Phase,
    answers: Vec<Given>,
    /// When the cue, or the line being read, began.
    since: Millis,
    road_since: Millis,
    /// When the cue was over.
    cue_over: Option<Millis>,
    /// When the performer began to speak, and how long after the cue.
    started: Option<(Millis, Millis)>,
    /// The line before on this road.
    before: Option<String>,
    said: Vec<Speech>,
    /// Whether the line being read has been read out.
    read_out: bool,
    /// Lines said on this road.
    lines_here: u32,
}

impl Aloud {
    pub fn new(
        routine: Arc<Routine>,
        plan: Plan,
        helps: Vec<(StepId, Help)>,
    ) -> Result<Self, DrillFault> {
        let walk = first_walk(&routine, &plan, plan.seed, 1)?;
        let mut aloud = Self {
            routine,
            plan,
            helps,
            walk,
            phase: Phase::Done(Summary::default()),
            answers: Vec::new(),
            since: Millis(0),
            road_since: Millis(0),
            cue_over: None,
            started: None,
            before: None,
            said: Vec::new(),
            read_out: false,
            lines_here: 0,
        };
        aloud.before = aloud.line_before();
        aloud.phase = Phase::Opening(LinesOpening {
            so_far: aloud
                .walk
                .given
                .iter()
                .map(|said| said.text.clone())
                .collect(),
            along: aloud.along(None),
            reading: aloud.whole_pace(),
        });
        Ok(aloud)
    }

    pub fn prompt(&self) -> SpokenPrompt {
        match &self.phase {
            Phase::Opening(opening) => SpokenPrompt::Opening(opening.clone()),
            Phase::Line(cue, _) => SpokenPrompt::Line(cue.clone()),
            Phase::Real(real) => SpokenPrompt::Real(real.clone()),
            Phase::Reading(reading) => SpokenPrompt::Reading(reading.clone()),
            Phase::Read(read) => SpokenPrompt::Read(*read),
            Phase::Done(summary) => SpokenPrompt::Done(summary.clone()),
        }
    }

    /// What will be said next.
    pub fn ahead(&self) -> Vec<Speech> {
        match &self.phase {
            Phase::Line(_, line) => {
                let mut coming = vec![words::reader(&self.routine, line)];
                let next = self.walk.road.walked.get(self.walk.done + 1);
                coming.extend(next.and_then(|next| self.cue(next, Some(line))));
                coming
            }
            Phase::Opening(_) | Phase::Read(_) => self
                .walk
                .next()
                .and_then(|next| self.cue(next, self.before.as_deref()))
                .into_iter()
                .collect(),
            Phase::Reading(_) => self
                .walk
                .road
                .walked
                .get(self.walk.done + 1)
                .map(|next| self.read_aloud(next).1)
                .unwrap_or_default(),
            Phase::Real(_) | Phase::Done(_) => Vec::new(),
        }
    }

    pub fn update(&mut self, deed: &Deed, now: Millis) -> Vec<SpokenEffect> {
        if matches!(self.phase, Phase::Done(_)) {
            return Vec::new();
        }
        match deed {
            Deed::Stop => self.finish(),
            Deed::Go => self.go(now),
            Deed::Back => self.back(now),
            Deed::Read => match self.phase {
                Phase::Opening(_) | Phase::Read(_) => self.begin_reading(now),
                Phase::Line(..) | Phase::Real(_) | Phase::Reading(_) | Phase::Done(_) => Vec::new(),
            },
            Deed::Spoken => {
                self.cue_over.get_or_insert(now);
                self.read_out = true;
                self.read_on(now)
            }
            Deed::Tick => self.read_on(now),
            Deed::Answer(text) => self.typed(text, now),
            Deed::Cards => Vec::new(),
        }
    }

    fn go(&mut self, now: Millis) -> Vec<SpokenEffect> {
        match &self.phase {
            Phase::Opening(_) => {
                self.road_since = now;
                let mut effects = vec![SpokenEffect::Play(Sound::Ready)];
                effects.extend(self.next_line(now));
                effects
            }
            Phase::Line(cue, _) => match cue.at {
                Saying::Cue => self.start(now),
                Saying::Said => self.said(now),
            },
            Phase::Real(real) => {
                if real.typed.is_some() {
                    return self.line_over(now);
                }
                self.judged(true, now)
            }
            Phase::Reading(_) => self.read_next(now),
            Phase::Read(_) => {
                // The lines are said on the road that was read.
                self.rewind();
                self.road_since = now;
                self.next_line(now)
            }
            Phase::Done(_) => Vec::new(),
        }
    }

    fn back(&mut self, now: Millis) -> Vec<SpokenEffect> {
        match &self.phase {
            Phase::Real(real) if real.typed.is_none() => self.judged(false, now),
            Phase::Line(cue, _) if cue.at == Saying::Cue => {
                self.cue_over = None;
                self.repeat(now)
            }
            Phase::Reading(_) => {
                self.since = now;
                self.read_out = false;
                self.repeat(now)
            }
            Phase::Opening(_)
            | Phase::Line(..)
            | Phase::Real(_)
            | Phase::Read(_)
            | Phase::Done(_) => Vec::new(),
        }
    }

    fn repeat(&mut self, now: Millis) -> Vec<SpokenEffect> {
        if self.said.is_empty() {
            self.cue_over = Some(now);
        }
        std::iter::once(SpokenEffect::Hush)
            .chain(self.said.iter().cloned().map(SpokenEffect::Say))
            .collect()
    }

    fn say(&mut self, speech: Vec<Speech>, now: Millis) -> Vec<SpokenEffect> {
        self.said = speech;
        self.repeat(now)
    }

    fn along(&self, target: Option<Millis>) -> Along {
        Along {
            road: self.walk.number,
            seed: self.walk.road.seed,
            done: self.walk.done,
            of: self.walk.road.walked.len(),
            since: self.since,
            target,
            road_since: self.road_since,
        }
    }

    fn moment(&self) -> Moment<'_> {
        self.walk.moment(&self.routine)
    }

    /// Goes to the next line of this road, or of the next.
    fn next_line(&mut self, now: Millis) -> Vec<SpokenEffect> {
        self.since = now;
        self.cue_over = None;
        self.started = None;
        let routine = Arc::clone(&self.routine);
        while let Some(walked) = self.walk.next() {
            let subject = Subject::Line(walked.stop);
            let asks = routine
                .stop(walked.stop)
                .is_some_and(|stop| !stop.say.is_empty() && !stop.theirs);
            if asks && let Some(Expected::Line(line)) = self.moment().fair(&subject) {
                let walked = walked.clone();
                return self.show_cue(&walked, line, now);
            }
            self.walk.go(&routine);
        }
        self.road_over(now)
    }

    fn road_over(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let once = self.plan.minutes.is_none() && self.plan.questions.is_none();
        if once || self.lines_here == 0 {
            return self.finish();
        }
        let seed = self.walk.road.seed.wrapping_add(1);
        match first_walk(&self.routine, &self.plan, seed, self.walk.number + 1) {
            Ok(walk) => {
                self.walk = walk;
                self.lines_here = 0;
                self.road_since = now;
                self.before = self.line_before();
                self.next_line(now)
            }
            Err(_) => self.finish(),
        }
    }

    fn finish(&mut self) -> Vec<SpokenEffect> {
        let summary = sum_up(&self.routine, &self.plan, &self.answers, self.walk.number);
        self.phase = Phase::Done(summary.clone());
        vec![SpokenEffect::Hush, SpokenEffect::Finished(summary)]
    }
}

#[cfg(test)]
mod tests;
