//! The `rescue` drill: in the middle of a random road somebody does something odd.
//!
//! Road after road is told step by step. On each a stray is drawn ([`chance`]) and happens on the table that really lies there. First
//! question: safe, mend, out or lost? Where it can be mended, the performer then keys what to do ([`keyed`]); any sequence is right that is
//! safe on every table that fits what was seen ([`tables`]), and what works on the real one alone is luck, and a miss. Then the road
//! goes on with the table as the performer left it, to whatever ending that comes to. Some roads begin in the middle, after an
//! interruption: where are we ([`whereabouts`])?

mod asking;
pub(in crate::drill) mod chance;
pub(in crate::drill) mod keyed;
mod mending;
mod onward;
pub(in crate::drill) mod tables;
pub(in crate::drill) mod telling;
pub(in crate::drill) mod whereabouts;

use super::prompt::HandStep;
use super::prompt::{
    Along, Deed, MendAsked, RescueTold, Sound, Speech, SpokenEffect, SpokenPrompt, StrayMet,
    WhereNow,
};
use crate::drill::prompt::{DrillFault, Plan};
use crate::drill::summary::{Given, Summary, sum_up};
use crate::drill::walk::first_road;
use crate::rescue::Ground;
use crate::roads::{Draw, Road, Sighted};
use crate::routine::{Millis, Routine, StepId, StopIndex, World};
pub use chance::Strays;
use std::collections::BTreeMap;
use std::sync::Arc;
use tables::Astray;

/// Questions of a rehearsal when the plan gives neither a number nor a time.
pub(in crate::drill) const USUAL_QUESTIONS: u32 = 8;

/// So many strays are tried on a road before another road is taken.
const TRIES: usize = 8;

/// So many roads are tried before there is nothing to ask.
const ROADS: u32 = 24;

/// On one road of so many the performer is interrupted.
const INTERRUPTED: u64 = 3;

/// What follows what is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Then {
    /// The question for the mend.
    Mend,
    /// The road as it was before the stray.
    Road,
    /// The road after the stray.
    Onward,
    /// Another road.
    NextRoad,
}

#[derive(Debug, Clone)]
enum Phase {
    /// A step of the road before the stray.
    Step(HandStep),
    /// A step after it.
    After(HandStep),
    Where(WhereNow),
    Stray(StrayMet),
    Mend(MendAsked),
    Told(RescueTold, Then),
    Done(Summary),
}

/// What the performer has done about the stray so far.
#[derive(Debug, Clone)]
struct Mending {
    /// The table that really lies there.
    real: World,
    /// The tables that fit.
    tables: Vec<World>,
    /// What was keyed and seen, for the logbook.
    given: Vec<String>,
    /// What looks have shown.
    seen: Vec<String>,
}

/// A rescue rehearsal.
#[derive(Debug, Clone)]
pub(super) struct Rescue {
    routine: Arc<Routine>,
    ground: Arc<Ground>,
    plan: Plan,
    strays: Strays,
    road: Road,
    number: u32,
    /// Stops done.
    done: usize,
    /// Stops to be done before the stray.
    until: usize,
    astray: Astray,
    mending: Mending,
    /// The road after the stray.
    onward: onward::Onward,
    /// The steps that are right where the performer was interrupted.
    right_here: Vec<StopIndex>,
    phase: Phase,
    answers: Vec<Given>,
    /// How often each step was asked about.
    asked_at: BTreeMap<StepId, u32>,
    since: Millis,
    road_since: Millis,
    /// When the first key of an answer came.
    said: Vec<Speech>,
}

/// A road with a stray on it.
struct Drawn {
    road: Road,
    number: u32,
    until: usize,
    astray: Astray,
    /// Where it begins: the stops done, and the steps that are right there; none where it begins at the beginning.
    interrupted: Option<(usize, Vec<StopIndex>)>,
    begin: usize,
}

impl Rescue {
    pub fn new(routine: Arc<Routine>, plan: Plan, strays: Strays) -> Result<Self, DrillFault> {
        let ground = Arc::new(Ground::new(&routine));
        let asked_at = BTreeMap::new();
        let drawn = draw_road((&routine, &ground), (&plan, &strays), 1, &asked_at)?;
        let mut rescue = Self {
            routine,
            ground,
            plan,
            strays,
            mending: Mending {
                real: drawn.astray.real.clone(),
                tables: Vec::new(),
                given: Vec::new(),
                seen: Vec::new(),
            },
            onward: onward::Onward::default(),
            road: drawn.road.clone(),
            number: drawn.number,
            done: 0,
            until: drawn.until,
            astray: drawn.astray.clone(),
            right_here: Vec::new(),
            phase: Phase::Done(Summary::default()),
            answers: Vec::new(),
            asked_at,
            since: Millis(0),
            road_since: Millis(0),
            said: Vec::new(),
        };
        // What is said at the first step is said when it is gone to.
        rescue.begin_road(drawn, Millis(0));
        Ok(rescue)
    }

    pub fn prompt(&self) -> SpokenPrompt {
        match &self.phase {
            Phase::Step(step) | Phase::After(step) => SpokenPrompt::Step(step.clone()),
            Phase::Where(now) => SpokenPrompt::WhereNow(now.clone()),
            Phase::Stray(met) => SpokenPrompt::Stray(met.clone()),
            Phase::Mend(asked) => SpokenPrompt::Mend(asked.clone()),
            Phase::Told(told, _) => SpokenPrompt::Rescue(told.clone()),
            Phase::Done(summary) => SpokenPrompt::Done(summary.clone()),
        }
    }

    pub fn update(&mut self, deed: &Deed, now: Millis) -> Vec<SpokenEffect> {
        if matches!(self.phase, Phase::Done(_)) {
            return Vec::new();
        }
        match deed {
            Deed::Stop => self.finish(),
            Deed::Go => self.go(now),
            Deed::Back => self.repeat(),
            Deed::Answer(text) => self.answer(text, now),
            Deed::Cards | Deed::Read | Deed::Spoken | Deed::Tick => Vec::new(),
        }
    }

    fn go(&mut self, now: Millis) -> Vec<SpokenEffect> {
        match &self.phase {
            Phase::Step(_) => {
                self.done += 1;
                self.on_the_road(now)
            }
            Phase::After(_) => self.after_step(now),
            Phase::Told(_, then) => match then {
                Then::Mend => self.ask_mend(now),
                Then::Road => self.on_the_road(now),
                Then::Onward => self.go_on(now),
                Then::NextRoad => self.next_road(now),
            },
            Phase::Where(_) | Phase::Stray(_) | Phase::Mend(_) | Phase::Done(_) => Vec::new(),
        }
    }

    fn answer(&mut self, text: &str, now: Millis) -> Vec<SpokenEffect> {
        match &self.phase {
            Phase::Stray(_) => self.judged(text, now),
            Phase::Mend(_) => self.mended(text, now),
            Phase::Where(_) => self.placed(text, now),
            Phase::Step(_) | Phase::After(_) | Phase::Told(..) | Phase::Done(_) => Vec::new(),
        }
    }

    fn repeat(&self) -> Vec<SpokenEffect> {
        let again = self.said.iter().cloned().map(SpokenEffect::Say);
        std::iter::once(SpokenEffect::Hush).chain(again).collect()
    }

    /// Says something new; what was still being said is cut off.
    fn say(&mut self, speech: Vec<Speech>) -> Vec<SpokenEffect> {
        self.said = speech;
        self.repeat()
    }

    fn along(&self, since: Millis, target: Option<Millis>) -> Along {
        Along {
            road: self.number,
            seed: self.road.seed,
            done: self.done,
            of: self.road.walked.len().max(self.done + 1),
            since,
            target,
            road_since: self.road_since,
        }
    }

    /// The next step before the stray, or the stray.
    fn on_the_road(&mut self, now: Millis) -> Vec<SpokenEffect> {
        self.since = now;
        if self.done >= self.until {
            return self.goes_astray(now);
        }
        let Some(walked) = self.road.walked.get(self.done).cloned() else {
            return self.next_road(now);
        };
        let heard: Vec<Sighted> = self.road.walked[..=self.done]
            .iter()
            .flat_map(|walked| walked.sights.iter().cloned())
            .collect();
        let (step, speech) = self.step(&walked, &heard, now);
        self.phase = Phase::Step(step);
        self.say(speech)
    }

    fn begin_road(&mut self, drawn: Drawn, now: Millis) -> Vec<SpokenEffect> {
        self.mending = Mending {
            real: drawn.astray.real.clone(),
            tables: drawn.astray.tables.clone(),
            given: Vec::new(),
            seen: Vec::new(),
        };
        self.road = drawn.road;
        self.number = drawn.number;
        self.done = drawn.begin;
        self.until = drawn.until;
        self.astray = drawn.astray;
        self.road_since = now;
        self.since = now;
        if let Some((_, right)) = drawn.interrupted {
            self.right_here = right;
            return self.where_now(now);
        }
        if self.done > 0 {
            return self.so_far(now);
        }
        self.on_the_road(now)
    }

    fn next_road(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let asked = u32::try_from(self.answers.len()).unwrap_or(u32::MAX);
        let over = match (self.plan.minutes, self.plan.questions) {
            (Some(minutes), _) if now.0 >= u64::from(minutes) * 60_000 => true,
            (_, Some(questions)) => asked >= questions,
            (Some(_), None) => false,
            (None, None) => asked >= USUAL_QUESTIONS,
        };
        if over {
            return self.finish();
        }
        let next = draw_road(
            (&self.routine, &self.ground),
            (&self.plan, &self.strays),
            self.number + 1,
            &self.asked_at,
        );
        match next {
            Ok(drawn) => self.begin_road(drawn, now),
            Err(_) => self.finish(),
        }
    }

    fn finish(&mut self) -> Vec<SpokenEffect> {
        let summary = sum_up(&self.routine, &self.plan, &self.answers, self.number);
        self.phase = Phase::Done(summary.clone());
        vec![
            SpokenEffect::Hush,
            SpokenEffect::Play(Sound::Done),
            SpokenEffect::Finished(summary),
        ]
    }
}

/// The next road on which a stray can be judged.
fn draw_road(
    (routine, ground): (&Routine, &Ground),
    (plan, strays): (&Plan, &Strays),
    first: u32,
    asked_at: &BTreeMap<StepId, u32>,
) -> Result<Drawn, DrillFault> {
    for number in first..first.saturating_add(ROADS) {
        let seed = plan.seed.wrapping_add(u64::from(number) - 1);
        let (road, begin) = first_road(routine, plan, seed)?;
        let mut draw = Draw::for_strays(plan.seed, number);
        let Some((until, astray)) = stray_on(ground, &road, begin, &mut draw, |case| {
            let asked = routine
                .stop(case.stop)
                .and_then(|stop| asked_at.get(&stop.id))
                .copied()
                .unwrap_or(0);
            strays.weight(ground, case, asked)
        }) else {
            continue;
        };
        let interrupted = (begin == 0 && draw.below(INTERRUPTED) == 0)
            .then(|| interruption(ground, &road, until, &mut draw))
            .flatten();
        let begin = interrupted.as_ref().map_or(begin, |(at, _)| *at);
        return Ok(Drawn {
            road,
            number,
            until,
            astray,
            interrupted,
            begin,
        });
    }
    Err(DrillFault::NothingAstray)
}

/// A stray on this road, and how many stops are done before it.
fn stray_on(
    ground: &Ground,
    road: &Road,
    begin: usize,
    draw: &mut Draw,
    weight: impl Fn(&crate::rescue::Case) -> u64,
) -> Option<(usize, Astray)> {
    use crate::rescue::When;
    // By case, the stops to be done before it can happen.
    let mut open: Vec<(usize, usize, u64)> = Vec::new();
    for (at, walked) in road.walked.iter().enumerate().skip(begin) {
        for (number, case) in ground.cases().iter().enumerate() {
            if case.stop == walked.stop {
                let until = match case.when {
                    When::Instead => at,
                    When::After => at + 1,
                };
                if until < road.walked.len() {
                    open.push((number, until, weight(case)));
                }
            }
        }
    }
    let mut known: BTreeMap<usize, crate::knowing::Knowledge> = BTreeMap::new();
    for _ in 0..TRIES {
        if open.is_empty() {
            return None;
        }
        let weights: Vec<u64> = open.iter().map(|(.., weight)| *weight).collect();
        let (number, until, _) = open.remove(draw.weighted(&weights));
        let known = known
            .entry(until)
            .or_insert_with(|| fitting(ground, road, until));
        let Some(fitted) = known.worlds() else {
            continue;
        };
        let real = &road.walked.get(until)?.before;
        if let Some(astray) = tables::astray(ground, number, real, fitted, draw) {
            return Some((until, astray));
        }
    }
    None
}

/// What can be known after so many stops.
fn fitting(ground: &Ground, road: &Road, done: usize) -> crate::knowing::Knowledge {
    let routine = ground.routine();
    let mut known = crate::knowing::Knowledge::at_start(routine, crate::drill::asking::MOST_TABLES);
    for walked in road.walked.iter().take(done) {
        known.follow(routine, walked);
    }
    known
}

/// Where the performer is interrupted before the stray, with the steps that are right there.
fn interruption(
    ground: &Ground,
    road: &Road,
    until: usize,
    draw: &mut Draw,
) -> Option<(usize, Vec<StopIndex>)> {
    let right = whereabouts::right_steps(ground, &road.walked);
    let mut fair: Vec<usize> = (1..=until.min(right.len().saturating_sub(1)))
        .filter(|at| !right[*at].is_empty())
        .collect();
    draw.shuffle(&mut fair);
    let at = *fair.first()?;
    Some((at, right[at].iter().copied().collect()))
}

#[cfg(test)]
mod tests;
