//! The answers as the coach takes them.

use super::error::{LogbookError, told};
use super::store::Logbook;
use crate::coach::{Answer, Day, LONGEST_BRANCH, Skill};
use crate::drill::{Drill, Kind};
use crate::routine::{Millis, StepId};
use rusqlite::Row;
use std::collections::BTreeSet;

/// Answers of one routine in the order in which they were given, and the row that was written last among them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Told {
    /// The answers. Kinds of question that this version does not know are left out.
    pub answers: Vec<Answer>,
    /// The branches chosen on their roads at first visits, as `--choose` takes them; long ones, which no one repeats, are left out.
    pub branches: BTreeSet<String>,
    /// The last row written; 0 for none.
    pub row: i64,
}

impl Logbook {
    /// The answers of a routine that were written after a row, in the order in which they were given.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn told_since(&self, routine: &str, row: i64) -> Result<Told, LogbookError> {
        // From a row on, the table itself is quicker than its index, which a plus keeps out of the way.
        let select = if row > 0 {
            "SELECT rowid, step, drill, kind, was_right, total_ms, at_ms, at_offset, choices FROM answers
             WHERE rowid > ?2 AND +routine = ?1 ORDER BY at_ms, session, ordinal"
        } else {
            "SELECT rowid, step, drill, kind, was_right, total_ms, at_ms, at_offset, choices FROM answers
             WHERE routine = ?1 AND ?2 = 0 ORDER BY at_ms, session, ordinal"
        };
        let read = || {
            let mut select = self.store.prepare_cached(select)?;
            let mut rows = select.query((routine, row))?;
            let mut last = String::new();
            let mut told = Told {
                answers: Vec::new(),
                branches: BTreeSet::new(),
                row,
            };
            while let Some(found) = rows.next()? {
                told.row = told.row.max(found.get(0)?);
                told.answers.extend(answer(found)?);
                let choices: String = found.get(8)?;
                if choices != last {
                    told.branches.extend(branches(&choices));
                    last = choices;
                }
            }
            Ok(told)
        };
        read().map_err(|source| told(&self.path, "the answers could not be read", source))
    }

    /// The latest answers of all routines, at most so many, in the order in which they were given, each with its routine.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn told_lately(&self, most: u32) -> Result<Vec<(String, Answer)>, LogbookError> {
        let read = || {
            let mut select = self.store.prepare_cached(
                "SELECT * FROM (SELECT rowid, step, drill, kind, was_right, total_ms, at_ms, at_offset, routine, session, ordinal
                 FROM answers ORDER BY rowid DESC LIMIT ?1) ORDER BY at_ms, session, ordinal",
            )?;
            let mut rows = select.query([most])?;
            let mut all = Vec::new();
            while let Some(found) = rows.next()? {
                let routine: String = found.get(8)?;
                all.extend(answer(found)?.map(|answer| (routine, answer)));
            }
            Ok(all)
        };
        read().map_err(|source| told(&self.path, "the answers could not be read", source))
    }
}

/// The day on the performer's calendar: of the clock that stood beside the answer.
fn day(at_ms: i64, offset_minutes: i64) -> Day {
    const DAY_MS: i64 = 86_400_000;
    let local = at_ms.saturating_add(offset_minutes.saturating_mul(60_000));
    Day(i32::try_from(local.div_euclid(DAY_MS)).unwrap_or(i32::MAX))
}

/// The branches of a list of choices as the file keeps it; what cannot be read holds none.
fn branches(choices: &str) -> Vec<String> {
    let all: Vec<String> = serde_json::from_str(choices).unwrap_or_default();
    all.into_iter()
        .filter(|choice| choice.len() <= LONGEST_BRANCH && !choice.contains('@'))
        .collect()
}

fn answer(row: &Row<'_>) -> rusqlite::Result<Option<Answer>> {
    let (drill, kind): (String, String) = (row.get(2)?, row.get(3)?);
    let (Some(drill), Some(kind)) = (Drill::from_word(&drill), Kind::from_word(&kind)) else {
        return Ok(None);
    };
    let step: String = row.get(1)?;
    Ok(Some(Answer {
        skill: Skill {
            step: StepId(step.as_str().into()),
            drill,
            kind: kind.practises(),
        },
        day: day(row.get(6)?, row.get(7)?),
        right: row.get(4)?,
        time: Millis(u64::try_from(row.get::<_, i64>(5)?).unwrap_or(0)),
    }))
}
