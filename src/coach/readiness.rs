//! Readiness: the chance of a clean run, over the roads that spectators choose, and which steps cost most of it.
//!
//! A run is clean when every step of its road is remembered and no step is handled wrongly. A step that comes again on the
//! same road is remembered or not once; it can be handled wrongly each time.

use crate::roads::{Met, posterior, sample};
use crate::routine::{Fault, Fork, ForkKind, Routine, StepId, StopIndex, Then, Weights};
use std::collections::BTreeMap;

/// How one step stands on the night.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnTheNight {
    /// The chance that all of it is remembered, from 0 to 1.
    pub recall: f64,
    /// The chance of a slip of the hands each time it is done.
    pub slip: f64,
}

/// What one step costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Cost {
    /// The step.
    pub step: StepId,
    /// How much higher the chance of a clean run would be if this step never failed.
    pub costs: f64,
}

/// The chance of a clean run.
#[derive(Debug, Clone, PartialEq)]
pub struct Readiness {
    /// From 0 to 1.
    pub chance: f64,
    /// Where it was sampled, the bounds within which it lies 95 times of 100; otherwise the chance itself.
    pub low: f64,
    /// The upper bound.
    pub high: f64,
    /// Over how many random roads; `None` where it is exact.
    pub roads: Option<u32>,
    /// What each step costs, the dearest first.
    pub costs: Vec<Cost>,
}

/// So many roads are sampled where the chance is not worked out exactly.
pub const SAMPLED_ROADS: u32 = 400;

/// The quantile of the normal distribution for an interval of 95 %.
const Z95: f64 = 1.959_964;

/// The share of slips when nobody has counted yet, and how many runs that belief is worth.
const USUAL_SLIPS: f64 = 0.002;
const BELIEF: f64 = 50.0;

/// The chance of a slip at a step that went wrong so often in so many runs: the mean of a beta distribution.
#[must_use]
pub fn slip_chance(slips: f64, runs: f64) -> f64 {
    ((slips + USUAL_SLIPS * BELIEF) / (runs.max(slips) + BELIEF)).clamp(0.0, 1.0)
}

/// How often each stop is done: once on every road, or once in each round of a part that is repeated.
#[derive(Debug, Clone, PartialEq)]
struct Line {
    /// Stops outside repeated parts.
    once: Vec<StopIndex>,
    /// Repeated parts: their stops, the gate's included, and the chances of 1, 2, 3, … rounds.
    parts: Vec<(Vec<StopIndex>, Rounds)>,
}

/// How many rounds there are.
#[derive(Debug, Clone, PartialEq)]
struct Rounds {
    /// The chance to stop after a round that is not the last possible.
    stop: f64,
    /// The most rounds.
    most: Option<u16>,
}

impl Rounds {
    /// The expected value of `each` to the power of the number of rounds.
    fn power(&self, each: f64) -> f64 {
        match self.most {
            None => self.stop * each / (1.0 - (1.0 - self.stop) * each),
            Some(most) => {
                let (mut sum, mut here, mut power) = (0.0, 1.0, 1.0);
                for round in 1..=most.max(1) {
                    power *= each;
                    if round == most.max(1) {
                        sum += here * power;
                    } else {
                        sum += here * self.stop * power;
                        here *= 1.0 - self.stop;
                    }
                }
                sum
            }
        }
    }
}

/// The routine as a line, if every road does the same steps but for rounds of repeated parts that do not lie within each other.
fn line(routine: &Routine, met: &Met) -> Option<Line> {
    let mut order: Vec<StopIndex> = Vec::new();
    let mut parts: Vec<(usize, usize, Rounds)> = Vec::new();
    let mut at = StopIndex(0);
    while let Some(stop) = routine.stop(at) {
        if order.contains(&at) {
            return None;
        }
        order.push(at);
        at = match stop.then {
            Then::Go(next) => next,
            Then::Finish => break,
            Then::Endings => match routine.endings.as_slice() {
                [only] => only.first,
                _ => return None,
            },
            Then::Gate { again, on } => {
                let first = order.iter().position(|done| *done == again)?;
                if parts.iter().any(|(_, last, _)| first <= *last) {
                    return None;
                }
                parts.push((
                    first,
                    order.len() - 1,
                    rounds(routine, stop.fork.as_ref()?, met)?,
                ));
                on
            }
        };
    }
    let inside = |n: usize| {
        parts
            .iter()
            .any(|(first, last, _)| (*first..=*last).contains(&n))
    };
    Some(Line {
        once: (0..order.len())
            .filter(|n| !inside(*n))
            .map(|n| order[n])
            .collect(),
        parts: parts
            .iter()
            .map(|(first, last, rounds)| (order[*first..=*last].to_vec(), rounds.clone()))
            .collect(),
    })
}

fn rounds(routine: &Routine, fork: &Fork, met: &Met) -> Option<Rounds> {
    let ForkKind::Again { at_most } = fork.kind else {
        return None;
    };
    let stop = match &fork.weights {
        Weights::Even => 0.5,
        Weights::Listed(weights) => match weights.as_slice() {
            [stop, again] if *stop > 0 => f64::from(*stop) / (f64::from(*stop) + f64::from(*again)),
            _ => return None,
        },
    };
    let name = routine
        .names
        .get(fork.name.index())
        .map_or("", |name| name.name.as_str());
    let [stopped, again] = ["no", "yes"].map(|branch| f64::from(met.times(name, branch)));
    Some(Rounds {
        stop: posterior(stop, stopped, stopped + again),
        most: at_most,
    })
}

/// A road: each step on it, and how often it is done.
type Visits = BTreeMap<StepId, i32>;

/// The roads, as far as a clean run goes by them.
enum Roads {
    Line(Line),
    /// Random roads, each with how much it counts.
    Sampled(Vec<(Visits, f64)>),
}

fn of_road(visits: &Visits, night: &BTreeMap<StepId, OnTheNight>, sure: Option<&StepId>) -> f64 {
    visits
        .iter()
        .filter(|(step, _)| Some(*step) != sure)
        .filter_map(|(step, times)| Some((night.get(step)?, *times)))
        .map(|(here, times)| here.recall * (1.0 - here.slip).powi(times))
        .product()
}

impl Roads {
    fn chance(
        &self,
        routine: &Routine,
        night: &BTreeMap<StepId, OnTheNight>,
        sure: Option<&StepId>,
    ) -> f64 {
        match self {
            Self::Line(line) => {
                let here = |at: &StopIndex| {
                    routine
                        .stop(*at)
                        .filter(|stop| Some(&stop.id) != sure)
                        .and_then(|stop| night.get(&stop.id))
                };
                let recall: f64 = line
                    .once
                    .iter()
                    .chain(line.parts.iter().flat_map(|(stops, _)| stops))
                    .filter_map(here)
                    .map(|night| night.recall)
                    .product();
                let steady = |stops: &[StopIndex]| -> f64 {
                    stops
                        .iter()
                        .filter_map(here)
                        .map(|n| 1.0 - n.slip)
                        .product()
                };
                let rounds: f64 = line
                    .parts
                    .iter()
                    .map(|(stops, rounds)| rounds.power(steady(stops)))
                    .product();
                recall * steady(&line.once) * rounds
            }
            Self::Sampled(roads) => {
                let sum: f64 = roads
                    .iter()
                    .map(|(road, counts)| counts * of_road(road, night, sure))
                    .sum();
                let all: f64 = roads.iter().map(|(_, counts)| counts).sum();
                if all > 0.0 { sum / all } else { 0.0 }
            }
        }
    }
}

/// The roads of a routine, drawn once, so that several nights can be asked about: exactly where every road does the same steps
/// but for the rounds of repeated parts, otherwise over [`SAMPLED_ROADS`] random roads from a seed on.
pub struct Nights {
    roads: Roads,
}

impl std::fmt::Debug for Nights {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Nights")
    }
}

impl Nights {
    /// The roads of a routine, with the weights of its file.
    ///
    /// # Errors
    /// When a road cannot be walked.
    pub fn of(routine: &Routine, seed: u64) -> Result<Self, Fault> {
        Self::met(routine, seed, &Met::default())
    }

    /// The roads of a routine, with the weights of its file as far as what spectators were seen to choose does not move them.
    ///
    /// # Errors
    /// When a road cannot be walked.
    pub fn met(routine: &Routine, seed: u64, met: &Met) -> Result<Self, Fault> {
        let roads = match line(routine, met) {
            Some(line) => Roads::Line(line),
            None => Roads::Sampled(sampled(routine, met, seed)?),
        };
        Ok(Self { roads })
    }

    /// The chance of a clean run alone. Steps that are not in `night` count as sure.
    #[must_use]
    pub fn chance(&self, routine: &Routine, night: &BTreeMap<StepId, OnTheNight>) -> f64 {
        self.roads.chance(routine, night, None)
    }

    /// The chance of a clean run, its bounds, and what each step costs. Steps that are not in `night` count as sure.
    #[must_use]
    pub fn readiness(&self, routine: &Routine, night: &BTreeMap<StepId, OnTheNight>) -> Readiness {
        let chance = self.chance(routine, night);
        let (low, high, count) = match &self.roads {
            Roads::Line(_) => (chance, chance, None),
            Roads::Sampled(all) => {
                let (low, high) = interval(
                    &all.iter()
                        .map(|(road, counts)| (of_road(road, night, None), *counts))
                        .collect::<Vec<_>>(),
                );
                (low, high, Some(SAMPLED_ROADS))
            }
        };
        let mut costs: Vec<Cost> = routine
            .stops
            .iter()
            .filter(|stop| night.contains_key(&stop.id))
            .map(|stop| Cost {
                step: stop.id.clone(),
                costs: self.roads.chance(routine, night, Some(&stop.id)) - chance,
            })
            .collect();
        costs.sort_by(|a, b| b.costs.total_cmp(&a.costs));
        Readiness {
            chance,
            low,
            high,
            roads: count,
            costs,
        }
    }
}

/// The chance of a clean run on one night, as [`Nights::readiness`] has it.
///
/// # Errors
/// When a road cannot be walked.
pub fn readiness(
    routine: &Routine,
    night: &BTreeMap<StepId, OnTheNight>,
    seed: u64,
) -> Result<Readiness, Fault> {
    Ok(Nights::of(routine, seed)?.readiness(routine, night))
}

fn sampled(routine: &Routine, met: &Met, seed: u64) -> Result<Vec<(Visits, f64)>, Fault> {
    (0..u64::from(SAMPLED_ROADS))
        .map(|n| {
            let mut visits = Visits::new();
            let road = sample(routine, seed.wrapping_add(n))?;
            let counts = met.likelier(routine, &road);
            for walked in road.walked {
                if let Some(stop) = routine.stop(walked.stop) {
                    *visits.entry(stop.id.clone()).or_insert(0) += 1;
                }
            }
            Ok((visits, counts))
        })
        .collect()
}

/// The interval of 95 % for the mean of these, each with how much it counts, by the normal approximation, kept within 0 to 1. The
/// variance is that of a ratio of sums, with n − 1 for n as usual.
fn interval(values: &[(f64, f64)]) -> (f64, f64) {
    #[expect(clippy::cast_precision_loss, reason = "some hundreds of values")]
    let n = values.len() as f64;
    let all: f64 = values.iter().map(|(_, counts)| counts).sum();
    if n < 2.0 || all <= 0.0 {
        return (0.0, 1.0);
    }
    let mean = values.iter().map(|(v, counts)| v * counts).sum::<f64>() / all;
    let spread: f64 = values
        .iter()
        .map(|(v, counts)| (counts * (v - mean)).powi(2))
        .sum();
    let half = Z95 * (spread * n / (n - 1.0)).sqrt() / all;
    ((mean - half).max(0.0), (mean + half).min(1.0))
}
