//! Fitting memory to one performer: their own numbers, once there are answers enough, and only where they foretell better.
//!
//! The crate's own fitting leaves out most of a log as small as a performer's (it is made for tens of thousands of items), so the
//! numbers that matter most here are fitted by a plain search instead: the most likely ones given the answers and a prior
//! around the published ones (a maximum a posteriori estimate).

use super::memory::{Day, Memory, PARAMETERS, Trace};

/// From so many answers on, memory is fitted.
pub const ENOUGH: usize = 400;

/// The answers to one skill, in the order in which they were given.
pub type Series = Vec<(Day, bool)>;

/// How memory was fitted, and by how much it foretells better.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// The memory to go by: the performer's own, or the usual one.
    pub memory: Memory,
    /// The mean surprise (natural log loss) of the later answers under the usual memory.
    pub usual: f64,
    /// The same under the performer's own, fitted on the earlier answers only.
    pub own: f64,
    /// How many later answers were foretold.
    pub tested: usize,
    /// Whether the performer's own is gone by.
    pub adopted: bool,
}

impl Fitted {
    /// By how much less surprising the later answers are under the performer's own memory, as a share of the usual surprise; below
    /// zero where they are more surprising.
    #[must_use]
    pub fn better_by(&self) -> f64 {
        if self.usual > 0.0 {
            1.0 - self.own / self.usual
        } else {
            0.0
        }
    }
}

/// The parameters that are fitted, each with the spread of its prior on a log scale: how long the first answers last (after a miss,
/// after a right one), how hard things get with misses, how fast they come to last longer, how much that slows, what
/// nearness to forgetting adds, what a miss leaves, what more of the same day adds, and the shape of fading.
const FREE: [(usize, f64); 9] = [
    (0, 1.0),
    (2, 1.0),
    (6, 0.5),
    (8, 0.3),
    (9, 0.5),
    (10, 0.7),
    (11, 0.7),
    (17, 0.7),
    (20, 0.7),
];

/// The first and the last step of the search, on a log scale.
const FIRST_STEP: f64 = 0.4;
const LAST_STEP: f64 = 0.04;

/// Chances are kept this far from 0 and 1, so that one answer cannot outweigh a hundred.
const FLOOR: f64 = 0.002;

/// The share of the answers on which memory is fitted for the test; the later ones are foretold.
const EARLIER: f64 = 0.75;

/// The surprise of the answers given after at least a night, from one day (included) to another (not included), and their number.
#[must_use]
pub fn surprise(memory: &Memory, series: &[Series], from: Day, to: Day) -> (f64, usize) {
    let (mut sum, mut count) = (0.0, 0);
    for answers in series {
        let mut trace: Option<Trace> = None;
        for &(day, right) in answers {
            if day >= to {
                break;
            }
            if let Some(held) = &trace
                && day > held.last
                && day >= from
            {
                let chance = memory.recall(held, day).clamp(FLOOR, 1.0 - FLOOR);
                sum -= if right { chance } else { 1.0 - chance }.ln();
                count += 1;
            }
            trace = Some(memory.after(trace.as_ref(), day, right));
        }
    }
    (sum, count)
}

fn parameters(logs: &[f64]) -> [f32; PARAMETERS] {
    let mut all = *Memory::default().parameters();
    for ((index, _), log) in FREE.iter().zip(logs) {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "parameters are single precision"
        )]
        let value = (f64::from(all[*index]) * log.exp()) as f32;
        all[*index] = value;
    }
    all
}

/// The most likely memory for the answers before a day: each parameter in turn is moved while that helps, by smaller and smaller steps.
fn search(series: &[Series], before: Day) -> Memory {
    let cost = |logs: &[f64]| -> f64 {
        let Some(memory) = Memory::with(&parameters(logs)) else {
            return f64::INFINITY;
        };
        let prior: f64 = FREE
            .iter()
            .zip(logs)
            .map(|((_, spread), log)| 0.5 * (log / spread).powi(2))
            .sum();
        surprise(&memory, series, Day(i32::MIN), before).0 + prior
    };
    let mut logs = vec![0.0; FREE.len()];
    let mut best = cost(&logs);
    let mut step = FIRST_STEP;
    while step > LAST_STEP {
        let mut moved = false;
        for n in 0..logs.len() {
            for way in [step, -step] {
                let kept = logs[n];
                logs[n] += way;
                let tried = cost(&logs);
                if tried + 1e-3 < best {
                    best = tried;
                    moved = true;
                    break;
                }
                logs[n] = kept;
            }
        }
        if !moved {
            step /= 2.0;
        }
    }
    Memory::with(&parameters(&logs)).unwrap_or_default()
}

/// Fits memory to these answers; `None` while there are fewer than [`ENOUGH`], or none of them after a night.
#[must_use]
pub fn fit(series: &[Series]) -> Option<Fitted> {
    if series.iter().map(Vec::len).sum::<usize>() < ENOUGH {
        return None;
    }
    let mut days: Vec<Day> = series
        .iter()
        .flat_map(|answers| answers.windows(2))
        .filter(|pair| pair[1].0 > pair[0].0)
        .map(|pair| pair[1].0)
        .collect();
    days.sort_unstable();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a share of a length"
    )]
    let split = *days.get((days.len() as f64 * EARLIER) as usize)?;
    let end = Day(i32::MAX);
    let usual_memory = Memory::default();
    let (usual, tested) = surprise(&usual_memory, series, split, end);
    let (own, _) = surprise(&search(series, split), series, split, end);
    let adopted = own < usual;
    #[expect(clippy::cast_precision_loss, reason = "a number of answers")]
    let mean = |sum: f64| sum / tested.max(1) as f64;
    Some(Fitted {
        memory: if adopted {
            search(series, end)
        } else {
            usual_memory
        },
        usual: mean(usual),
        own: mean(own),
        tested,
        adopted,
    })
}
