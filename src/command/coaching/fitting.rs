//! Memory fitted to this performer: when it is due, and what came of it.

use crate::coach::{Answer, ENOUGH, Memory, Own, Series, Skill, fit, memory_text, read_memory};
use crate::logbook::{DERIVED, Logbook, LogbookError};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Memory is fitted to the latest answers, at most so many.
const FITTED_TO: u32 = 3_000;

/// And fitted again when the log has grown by a fifth.
const GROWN: u64 = 5;

/// How memory was fitted last.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Fit {
    /// The parameters, as text.
    memory: String,
    /// Answers in the logbook then.
    answers: u64,
    /// By how much better it foretells later answers than the usual memory does, as a share; below zero for worse.
    better_by: f64,
    /// How many later answers were foretold.
    foretold: usize,
    /// Whether it is gone by.
    adopted: bool,
}

impl Fit {
    /// What is told of it.
    pub fn own(&self) -> Own {
        Own {
            better_by: self.better_by,
            foretold: self.foretold,
            adopted: self.adopted,
        }
    }
}

const FIT_KEY: &str = "memory";

/// How memory was fitted last, if ever.
pub(super) fn fitted(logbook: &Logbook) -> Result<Option<Fit>, LogbookError> {
    let kept = logbook.remembered(&format!("{DERIVED}{FIT_KEY}"))?;
    Ok(kept.and_then(|text| serde_json::from_str(&text).ok()))
}

/// The memory to go by.
pub(super) fn memory(logbook: &Logbook) -> Result<Memory, LogbookError> {
    Ok(fitted(logbook)?
        .and_then(|fit| read_memory(&fit.memory))
        .unwrap_or_default())
}

/// Fits memory again where the log has grown enough since it was fitted last.
pub(super) fn refit(logbook: &mut Logbook) -> Result<(), LogbookError> {
    let answers: u64 = logbook
        .overview()?
        .iter()
        .map(|one| one.right + one.wrong)
        .sum();
    let before = fitted(logbook)?;
    let due = before
        .as_ref()
        .map_or(0, |fit| fit.answers + fit.answers / GROWN);
    if answers < u64::try_from(ENOUGH).unwrap_or(u64::MAX).max(due) {
        return Ok(());
    }
    let mut series: BTreeMap<(String, Skill), Series> = BTreeMap::new();
    for (
        routine,
        Answer {
            skill, day, right, ..
        },
    ) in logbook.told_lately(FITTED_TO)?
    {
        // The chance of a clean run goes by this memory, and in one nothing goes wrong.
        if !skill.drill.in_a_clean_run() {
            continue;
        }
        series
            .entry((routine, skill))
            .or_default()
            .push((day, right));
    }
    let series: Vec<Series> = series.into_values().collect();
    let Some(found) = fit(&series) else {
        return Ok(());
    };
    let fit = Fit {
        memory: memory_text(&found.memory),
        answers,
        better_by: found.better_by(),
        foretold: found.tested,
        adopted: found.adopted,
    };
    if let Ok(text) = serde_json::to_string(&fit) {
        logbook.remember(&format!("{DERIVED}{FIT_KEY}"), &text)?;
    }
    Ok(())
}
