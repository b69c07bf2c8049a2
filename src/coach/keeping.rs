//! A record as text, so that it need not be worked out again from a million answers each time the program starts. Numbers are
//! kept by their bits: what is read is what was written.

use super::memory::{Day, Memory, PARAMETERS, Skill, Trace};
use super::pace::Pace;
use super::record::{Bearing, Held, Lean, Record};
use crate::drill::{Drill, Kind};
use crate::routine::{Millis, StepId};
use serde::{Deserialize, Serialize};

/// The form of the text; another number is not read. To be raised also where answers are taken in otherwise than before.
const FORM: u32 = 3;

#[derive(Serialize, Deserialize)]
struct Kept {
    form: u32,
    memory: Vec<u32>,
    skills: Vec<KeptSkill>,
    clean: KeptBearing,
    astray: KeptBearing,
    answers: u64,
}

#[derive(Serialize, Deserialize)]
struct KeptBearing {
    steps: Vec<(String, u64, u64)>,
    all: (u64, u64),
    first: (u32, u32),
}

#[derive(Serialize, Deserialize)]
struct KeptSkill {
    step: String,
    drill: String,
    kind: String,
    lasts: u32,
    resists: u32,
    last: i32,
    answers: u32,
    missed: u32,
    days: u32,
    last_right: bool,
    that_day: u32,
    times: Vec<u64>,
}

/// Parameters as text.
#[must_use]
pub fn memory_text(memory: &Memory) -> String {
    let bits: Vec<String> = memory
        .parameters()
        .iter()
        .map(|value| value.to_bits().to_string())
        .collect();
    bits.join(" ")
}

/// The memory that was written as this text.
#[must_use]
pub fn read_memory(text: &str) -> Option<Memory> {
    let bits: Option<Vec<u32>> = text.split(' ').map(|bits| bits.parse().ok()).collect();
    memory_of(&bits?)
}

fn memory_of(bits: &[u32]) -> Option<Memory> {
    let parameters: [u32; PARAMETERS] = bits.try_into().ok()?;
    Memory::with(&parameters.map(f32::from_bits))
}

impl Lean {
    fn bits(self) -> (u64, u64) {
        (self.sum.to_bits(), self.weight.to_bits())
    }
    fn of_bits((sum, weight): (u64, u64)) -> Self {
        Self {
            sum: f64::from_bits(sum),
            weight: f64::from_bits(weight),
        }
    }
}

impl Bearing {
    fn kept(&self) -> KeptBearing {
        KeptBearing {
            steps: self
                .steps
                .iter()
                .map(|(step, lean)| {
                    let (sum, weight) = lean.bits();
                    (step.to_string(), sum, weight)
                })
                .collect(),
            all: self.all.bits(),
            first: self.first,
        }
    }
    fn of_kept(kept: KeptBearing) -> Self {
        Self {
            steps: kept
                .steps
                .into_iter()
                .map(|(step, sum, weight)| {
                    let step = StepId(step.as_str().into());
                    (step, Lean::of_bits((sum, weight)))
                })
                .collect(),
            all: Lean::of_bits(kept.all),
            first: kept.first,
        }
    }
}

impl Record {
    /// The record as text.
    #[must_use]
    pub fn text(&self) -> String {
        let kept = Kept {
            form: FORM,
            memory: self.memory.parameters().map(f32::to_bits).to_vec(),
            skills: self
                .skills
                .iter()
                .map(|(skill, held)| KeptSkill {
                    step: skill.step.to_string(),
                    drill: skill.drill.word().to_owned(),
                    kind: skill.kind.word().to_owned(),
                    lasts: held.trace.lasts.to_bits(),
                    resists: held.trace.resists.to_bits(),
                    last: held.trace.last.0,
                    answers: held.answers,
                    missed: held.missed,
                    days: held.days,
                    last_right: held.last_right,
                    that_day: held.that_day,
                    times: held.pace.times().iter().map(|time| time.0).collect(),
                })
                .collect(),
            clean: self.clean.kept(),
            astray: self.astray.kept(),
            answers: self.answers,
        };
        // Numbers, words and lists always have a form as text.
        serde_json::to_string(&kept).unwrap_or_default()
    }

    /// The record that was written as this text; `None` for anything else, and for a text of another version.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let kept: Kept = serde_json::from_str(text).ok()?;
        if kept.form != FORM {
            return None;
        }
        let mut record = Self::new(memory_of(&kept.memory)?);
        for one in kept.skills {
            let skill = Skill {
                step: StepId(one.step.as_str().into()),
                drill: Drill::from_word(&one.drill)?,
                kind: Kind::from_word(&one.kind)?,
            };
            let held = Held {
                trace: Trace {
                    lasts: f32::from_bits(one.lasts),
                    resists: f32::from_bits(one.resists),
                    last: Day(one.last),
                },
                answers: one.answers,
                missed: one.missed,
                days: one.days,
                last_right: one.last_right,
                that_day: one.that_day,
                pace: Pace::of(one.times.into_iter().map(Millis)),
            };
            record.skills.insert(skill, held);
        }
        record.clean = Bearing::of_kept(kept.clean);
        record.astray = Bearing::of_kept(kept.astray);
        record.answers = kept.answers;
        Some(record)
    }
}
