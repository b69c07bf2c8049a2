//! What to practise next: what an answer today is worth for the day practised for.

use super::footing::Aim;
use super::memory::{Day, Skill, Trace};
use super::record::{Held, Record};
use crate::drill::{Drill, Guide, Topic, Why, Worth};
use crate::roads::Met;
use crate::routine::StepId;
use std::collections::BTreeSet;

/// Below this chance on the day practised for, a skill is called weak; above it, it is called ripe.
const WEAK_BELOW: f64 = 0.9;

/// Where an answer would gain nothing that memory knows of, what may fail still counts this much.
const REST: f64 = 0.1;

/// A skill answered today is worth so much less for every answer.
const AGAIN: f64 = 0.5;

/// The day looked at: tomorrow. What is held from day to day is held on the show; looking further
/// would put off what is lost already.
fn horizon(aim: Aim) -> Day {
    aim.today.plus(1)
}

/// What one answer to a skill today is worth, above zero: by how much it raises the log of the chance that it is remembered.
#[must_use]
pub fn worth(record: &Record, skill: &Skill, aim: Aim) -> f64 {
    let trace = record.held(skill).map(|held| &held.trace);
    let once = worth_of(record, &skill.step, skill.drill, trace, aim);
    let today = record
        .held(skill)
        .filter(|held| held.trace.last >= aim.today)
        .map_or(0, |held| held.that_day);
    once * AGAIN.powi(i32::try_from(today).unwrap_or(i32::MAX))
}

/// What one answer today is worth where nothing was answered today yet.
pub(super) fn worth_of(
    record: &Record,
    step: &StepId,
    drill: Drill,
    trace: Option<&Trace>,
    aim: Aim,
) -> f64 {
    let on = horizon(aim);
    let (gain, chance) = match trace {
        Some(trace) => (
            record.gain_from(step, drill, trace, (aim.today, on)),
            record.chance_of(step, drill, trace, on),
        ),
        None => (record.gain_of_new(aim.today, on), record.first_chance()),
    };
    gain.max(REST * (1.0 - chance)).max(1e-6)
}

fn why(record: &Record, skill: &Skill, held: &Held, aim: Aim) -> Why {
    let chance = record.chance(skill, aim.day());
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a number from 0 to 100"
    )]
    let of_a_hundred = (chance * 100.0).round() as u8;
    if !held.last_right {
        Why::Missed
    } else if chance < WEAK_BELOW {
        Why::Weak(of_a_hundred)
    } else {
        Why::Ripe(of_a_hundred)
    }
}

/// The guide of a session today. `practised` are the branches practised so far, as `--choose` takes them, where that is known.
#[must_use]
pub fn guide(record: &Record, aim: Aim, practised: Option<BTreeSet<String>>) -> Guide {
    let topics = record
        .skills()
        .map(|(skill, held)| {
            let topic = Topic {
                step: skill.step.clone(),
                drill: skill.drill,
                kind: skill.kind,
            };
            let worth = Worth {
                worth: worth(record, skill, aim),
                why: why(record, skill, held, aim),
            };
            (topic, worth)
        })
        .collect();
    Guide {
        topics,
        fresh: record.gain_of_new(aim.today, horizon(aim)).max(1e-6),
        practised,
        met: Met::default(),
    }
}
