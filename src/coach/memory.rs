//! What is held in memory: how one skill fades with the days, and what an answer does to it.
//!
//! The open FSRS-6 model, through the `fsrs` crate (Ye, Su and Cao 2022, "A stochastic shortest path algorithm for optimizing
//! spaced repetition scheduling", and its sixth revision as published with the crate). Right and wrong are all that goes in.
//! Its words stay in this file: nothing that a performer reads speaks of them.

use crate::drill::{Drill, Kind};
use crate::routine::StepId;
use fsrs::{FSRS, FSRSItem, FSRSReview, MemoryState, current_retrievability};

/// A day on the performer's calendar, counted from 1 January 1970.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Day(pub i32);

impl Day {
    /// Days from another day to this one; negative when that one is later.
    #[must_use]
    pub fn since(self, earlier: Self) -> i32 {
        self.0.saturating_sub(earlier.0)
    }
    /// So many days later.
    #[must_use]
    pub fn plus(self, days: i32) -> Self {
        Self(self.0.saturating_add(days))
    }
}

/// What is remembered or forgotten as one: a kind of question of a drill at a step of a routine.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Skill {
    /// The step.
    pub step: StepId,
    /// The drill.
    pub drill: Drill,
    /// The kind of question.
    pub kind: Kind,
}

/// How a skill is held after its latest answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trace {
    /// Days after which nine of ten answers would still be right.
    pub lasts: f32,
    /// How hard it is to make it last longer, from 1 to 10.
    pub resists: f32,
    /// The day of the latest answer.
    pub last: Day,
}

/// The grade that the model knows for a miss, and the one for a right answer.
const MISSED: u32 = 1;
const RIGHT: u32 = 3;

/// Where the forgetting curve's exponent stands among the parameters.
const FADING: usize = 20;

/// A skill answered today is taken to be wanted again half a day later, not in the same breath.
const SAME_DAY: f32 = 0.5;

/// How many parameters a memory has.
pub const PARAMETERS: usize = 21;

/// A performer's memory.
#[derive(Debug, Clone)]
pub struct Memory {
    model: FSRS,
    parameters: [f32; PARAMETERS],
}

impl Default for Memory {
    fn default() -> Self {
        Self {
            model: FSRS::default(),
            parameters: fsrs::DEFAULT_PARAMETERS,
        }
    }
}

impl Memory {
    /// A memory with these parameters, each brought into its published bounds; `None` when one is not a number.
    #[must_use]
    pub fn with(parameters: &[f32; PARAMETERS]) -> Option<Self> {
        let finite = parameters.iter().all(|value| value.is_finite());
        let model = finite.then(|| FSRS::new(parameters).ok()).flatten()?;
        Some(Self {
            model,
            parameters: *parameters,
        })
    }

    /// Its parameters.
    #[must_use]
    pub fn parameters(&self) -> &[f32; PARAMETERS] {
        &self.parameters
    }

    /// How a skill is held after an answer. An answer on an earlier day than the latest counts as given on the same day.
    #[must_use]
    pub fn after(&self, before: Option<&Trace>, day: Day, right: bool) -> Trace {
        let gap = before.map_or(0, |trace| day.since(trace.last).max(0));
        let item = FSRSItem {
            reviews: vec![FSRSReview {
                rating: if right { RIGHT } else { MISSED },
                delta_t: gap.unsigned_abs(),
            }],
        };
        let held = before.map(|trace| MemoryState {
            stability: trace.lasts,
            difficulty: trace.resists,
        });
        let last = before.map_or(day, |trace| trace.last.max(day));
        match self.model.memory_state(item, held) {
            Ok(state) => Trace {
                lasts: state.stability,
                resists: state.difficulty,
                last,
            },
            // Only numbers that are none are refused, and a trace holds none.
            Err(_) => before.map_or(
                Trace {
                    lasts: self.parameters[0],
                    resists: 5.0,
                    last,
                },
                |trace| Trace { last, ..*trace },
            ),
        }
    }

    /// The chance, from 0 to 1, that an answer on this day would be right. On the day of the latest answer, and before it, as
    /// half a day later.
    #[must_use]
    pub fn recall(&self, trace: &Trace, on: Day) -> f64 {
        let gap = on.since(trace.last);
        let days = if gap <= 0 {
            SAME_DAY
        } else {
            u16::try_from(gap).map_or(f32::from(u16::MAX), f32::from)
        };
        let state = MemoryState {
            stability: trace.lasts,
            difficulty: trace.resists,
        };
        f64::from(current_retrievability(state, days, self.parameters[FADING])).clamp(0.0, 1.0)
    }
}
