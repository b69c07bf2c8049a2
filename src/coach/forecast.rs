//! What a plan will probably lead to: rehearsals still to come, played through by performers who remember as this one seems to.
//!
//! Each of them has the skills of the [`Record`] and, since nobody knows how well the record tells, keeps what was learnt a little longer or
//! shorter than it says, throughout and at each step: by how much is drawn from what the answers leave open. On each day
//! they are asked what is worth most then, answer rightly as often as they would know it, and are asked again what
//! they missed. The chance of a clean run on the day of the show is worked out for each, as if they stopped after that day.
//!
//! What lies between the lowest and the highest tenth of them is not all that is unsure: people may forget in another way than the
//! model has it.

use super::footing::{Aim, Events};
use super::memory::{Day, Trace};
use super::next::worth_of;
use super::pace::median;
use super::readiness::{Nights, OnTheNight};
use super::record::{ALL_FADES, Record, STEP_FADES, log_odds, odds_chance};
use crate::drill::Drill;
use crate::roads::{Draw, Met};
use crate::routine::{Fault, Millis, Routine, StepId, Then};
use std::collections::BTreeMap;

/// A routine to be rehearsed, and what is known of it.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// The routine.
    pub routine: &'a Routine,
    /// What the answers so far say.
    pub record: &'a Record,
    /// What happened away from the questions.
    pub events: &'a BTreeMap<StepId, Events>,
    /// What spectators were seen to choose.
    pub met: &'a Met,
}

/// So long on one day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stint {
    /// The day.
    pub day: Day,
    /// How long.
    pub minutes: u32,
}

/// A chance with what it may well be instead.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Chance {
    /// The mean of all performers played.
    pub mean: f64,
    /// A tenth of them has less.
    pub low: f64,
    /// A tenth of them has more.
    pub high: f64,
}

impl Chance {
    /// Of these chances, one for each performer.
    #[must_use]
    pub fn of(chances: &[f64]) -> Self {
        let mut sorted = chances.to_vec();
        sorted.sort_by(f64::total_cmp);
        let at = |share: usize| sorted.get(sorted.len() * share / 10).copied();
        #[expect(clippy::cast_precision_loss, reason = "some hundreds of performers")]
        let mean = sorted.iter().sum::<f64>() / sorted.len().max(1) as f64;
        Self {
            mean,
            low: at(1).unwrap_or(mean),
            high: at(9).or(sorted.last().copied()).unwrap_or(mean),
        }
    }
}

/// What the stints will probably lead to.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// For each performer played, the chance of a clean run on the day of the show: without any of the stints, after the first, after
    /// the second, …
    pub chances: Vec<Vec<f64>>,
    /// For each stint the steps that would gain most from it, the first first, at most three.
    pub focus: Vec<Vec<StepId>>,
}

/// A question needs so much more time than its answer: the steps around it are told.
const TELLING: Millis = Millis(9_000);
/// An answer takes so long where none was timed.
const USUAL_ANSWER: Millis = Millis(6_000);
/// Steps differ from each other less in how long they are kept than performers do: by this share of what the record leaves open.
const STEP_SHARE: f64 = 0.5;

/// More often than so nothing is asked on one day.
const MOST_ROUNDS: u32 = 2;
/// So many steps are named for a day.
const NAMED: usize = 3;

/// A kind of question as a performer holds it.
#[derive(Debug, Clone)]
struct Item {
    step: usize,
    drill: Drill,
    trace: Option<Trace>,
}

/// A step for all performers.
struct Step<'a> {
    id: &'a StepId,
    slip: f64,
    /// Nothing is to be remembered there unless it was asked about.
    gate: bool,
}

/// How long a question takes from one to the next.
fn each(record: &Record) -> Millis {
    let times: Vec<Millis> = record
        .skills()
        .filter(|(skill, _)| skill.drill.in_a_clean_run())
        .flat_map(|(_, held)| held.pace.times().iter().copied())
        .collect();
    Millis(median(&times).unwrap_or(USUAL_ANSWER).0 + TELLING.0)
}

/// Plays the stints through with so many performers; the same seed gives the same.
///
/// # Errors
/// When a road cannot be walked.
pub fn forecast(
    part: &Part<'_>,
    stints: &[Stint],
    aim: Aim,
    performers: u32,
    seed: u64,
) -> Result<Forecast, Fault> {
    let Part {
        routine,
        record,
        events,
        met,
    } = *part;
    let roads = Nights::met(routine, seed, met)?;
    let steps: Vec<Step<'_>> = routine
        .stops
        .iter()
        .map(|stop| {
            let here = events.get(&stop.id).copied().unwrap_or_default();
            Step {
                id: &stop.id,
                slip: here.slip(),
                gate: matches!(stop.then, Then::Gate { .. }),
            }
        })
        .collect();
    let items = items(&steps, record);
    let each = each(record);
    let mut gains: Vec<Vec<f64>> = vec![vec![0.0; steps.len()]; stints.len()];
    let mut chances = Vec::new();
    for n in 0..performers {
        let mut performer = Performer::new(record, &steps, items.clone(), seed, n);
        let ready =
            |performer: &Performer<'_>| roads.chance(routine, &performer.night(&steps, aim.day()));
        let mut course = vec![ready(&performer)];
        for (stint, gains) in stints.iter().zip(&mut gains) {
            let questions = u64::from(stint.minutes) * 60_000 / each.0.max(1);
            performer.rehearse(stint.day, questions, gains);
            course.push(ready(&performer));
        }
        chances.push(course);
    }
    let focus = gains
        .iter()
        .map(|gains| {
            let mut order: Vec<usize> = (0..steps.len()).filter(|n| gains[*n] > 0.0).collect();
            order.sort_by(|a, b| gains[*b].total_cmp(&gains[*a]));
            order
                .iter()
                .take(NAMED)
                .map(|n| steps[*n].id.clone())
                .collect()
        })
        .collect();
    Ok(Forecast { chances, focus })
}

/// What is taken to be asked at a step never asked about: the packet, what comes, and its line.
const NEVER_ASKED: [Drill; 3] = [Drill::Picture, Drill::Order, Drill::Lines];

/// What there is to be asked: every skill known that a clean run asks for, and what is taken to come at steps never asked about.
fn items(steps: &[Step<'_>], record: &Record) -> Vec<Item> {
    let mut items = Vec::new();
    for (n, step) in steps.iter().enumerate() {
        let known = items.len();
        items.extend(record.needed_at(step.id).map(|(skill, held)| Item {
            step: n,
            drill: skill.drill,
            trace: Some(held.trace),
        }));
        if items.len() == known && !step.gate {
            items.extend(NEVER_ASKED.map(|drill| Item {
                step: n,
                drill,
                trace: None,
            }));
        }
    }
    items
}

/// One performer, as the record leaves it open.
struct Performer<'a> {
    record: &'a Record,
    ids: Vec<&'a StepId>,
    /// The natural logarithm of how much longer each step is kept than the record tells, and what is added to it: a lognormal factor
    /// exp(off + spread²/2) leaves the mean rate of forgetting, which goes with one over it, as the record has it.
    longer: Vec<(f64, f64)>,
    /// By how much they are better or worse than memory alone tells, throughout and at each step: as the record has it, and nearer to
    /// nothing with every answer, as the record's evidence fades.
    throughout: f64,
    shifts: Vec<f64>,
    items: Vec<Item>,
    draw: Draw,
}

impl<'a> Performer<'a> {
    fn new(record: &'a Record, steps: &[Step<'a>], items: Vec<Item>, seed: u64, n: u32) -> Self {
        let mut draw = Draw::for_step(seed, "forecast", n + 1);
        let all = record.spread_of_all();
        let everywhere = all * normal(&mut draw);
        let longer = steps
            .iter()
            .map(|step| {
                let here = STEP_SHARE * record.spread_at(step.id);
                let off = everywhere + here * normal(&mut draw);
                (off, (all * all + here * here) / 2.0)
            })
            .collect();
        Self {
            record,
            ids: steps.iter().map(|step| step.id).collect(),
            longer,
            throughout: steps.first().map_or(0.0, |step| record.shifts(step.id).0),
            shifts: steps.iter().map(|step| record.shifts(step.id).1).collect(),
            items,
            draw,
        }
    }

    /// The chance that an item is known on a day.
    fn chance(&self, item: &Item, on: Day) -> f64 {
        let (off, more) = self.longer[item.step];
        match &item.trace {
            Some(trace) => {
                #[expect(clippy::cast_possible_truncation, reason = "days in single precision")]
                let lasts = (f64::from(trace.lasts) * (off + more).exp()) as f32;
                let trace = Trace { lasts, ..*trace };
                let shift = self.throughout + self.shifts[item.step];
                odds_chance(log_odds(self.record.memory().recall(&trace, on)) + shift)
            }
            // What is picked up at once goes with what is kept.
            None => odds_chance(log_odds(self.record.first_chance()) + off),
        }
    }

    /// A rehearsal of so many questions. What each step is worth that day is added to `gains`.
    fn rehearse(&mut self, day: Day, questions: u64, gains: &mut [f64]) {
        let aim = Aim::new(day, None);
        let worths: Vec<f64> = self
            .items
            .iter()
            .map(|item| {
                let step = self.ids[item.step];
                worth_of(self.record, step, item.drill, item.trace.as_ref(), aim)
            })
            .collect();
        for (item, worth) in self.items.iter().zip(&worths) {
            gains[item.step] += worth;
        }
        let mut order: Vec<usize> = (0..self.items.len()).collect();
        order.sort_by(|a, b| worths[*b].total_cmp(&worths[*a]));
        let mut left = questions;
        for _ in 0..MOST_ROUNDS {
            for &n in &order {
                // A miss comes back once.
                for _ in 0..2 {
                    if left == 0 {
                        return;
                    }
                    left -= 1;
                    if self.ask(n, day) {
                        break;
                    }
                }
            }
        }
    }

    fn ask(&mut self, n: usize, day: Day) -> bool {
        const FINE: u64 = 1 << 32;
        let chance = self.chance(&self.items[n], day);
        #[expect(clippy::cast_precision_loss, reason = "a share of 2³²")]
        let right = (self.draw.below(FINE) as f64) < chance * FINE as f64;
        let item = &mut self.items[n];
        item.trace = Some(self.record.memory().after(item.trace.as_ref(), day, right));
        self.throughout *= ALL_FADES;
        self.shifts[self.items[n].step] *= STEP_FADES;
        right
    }

    /// The steps on the night, as [`night`](super::night) has them: of a step's drills the weakest, of a drill the mean.
    fn night(&self, steps: &[Step<'_>], on: Day) -> BTreeMap<StepId, OnTheNight> {
        let mut by_drill: BTreeMap<(usize, Drill), (f64, f64)> = BTreeMap::new();
        for item in &self.items {
            let (sum, count) = by_drill.entry((item.step, item.drill)).or_default();
            *sum += self.chance(item, on);
            *count += 1.0;
        }
        let mut night: BTreeMap<StepId, OnTheNight> = BTreeMap::new();
        for ((step, _), (sum, count)) in by_drill {
            let recall = sum / count;
            night
                .entry(steps[step].id.clone())
                .and_modify(|here| here.recall = here.recall.min(recall))
                .or_insert(OnTheNight {
                    recall,
                    slip: steps[step].slip,
                });
        }
        night
    }
}

/// A number from the standard normal distribution (Box and Muller 1958).
fn normal(draw: &mut Draw) -> f64 {
    const FINE: u64 = 1 << 32;
    #[expect(clippy::cast_precision_loss, reason = "a share of 2³²")]
    let mut share = || (draw.below(FINE) as f64 + 0.5) / FINE as f64;
    let (radius, turn) = (share(), share());
    (-2.0 * radius.ln()).sqrt() * (std::f64::consts::TAU * turn).cos()
}
