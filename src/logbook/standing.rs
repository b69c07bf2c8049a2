//! How things stand: each step, and each routine for the foyer.

use super::error::{LogbookError, told};
use super::moment::Moment;
use super::store::Logbook;
use chrono::{DateTime, FixedOffset, Utc};
use rusqlite::{OptionalExtension, Row};

/// How a step stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepStanding {
    /// The id of the step.
    pub step: String,
    /// Right answers, ever.
    pub right: u64,
    /// Wrong answers, ever.
    pub wrong: u64,
    /// How often the performer reported stumbling at it away from the screen.
    pub stumbles: u64,
    /// The latest answers, newest first, at most eight.
    pub recent: Vec<bool>,
    /// When the newest answer was given; none when there is only stumbling.
    pub last: Option<DateTime<Utc>>,
}

impl StepStanding {
    /// How many of the latest answers were right without a miss between, at most eight.
    #[must_use]
    pub fn right_in_a_row(&self) -> usize {
        self.recent.iter().take_while(|right| **right).count()
    }
}

/// How a routine stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoutineStanding {
    /// The routine.
    pub routine: String,
    /// Right answers, ever.
    pub right: u64,
    /// Wrong answers, ever.
    pub wrong: u64,
    /// Practices away from the screen.
    pub practices: u64,
    /// When it was last rehearsed or practised.
    pub last_rehearsed: DateTime<FixedOffset>,
    /// Its steps, in the order of their ids; only those that were asked for or stumbled at.
    pub steps: Vec<StepStanding>,
}

impl Logbook {
    /// How each step of a routine stands, in the order of the steps' ids; a step never asked for is not among them.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn standing(&self, routine: &str) -> Result<Vec<StepStanding>, LogbookError> {
        self.store
            .prepare_cached(
                "SELECT step, answered, correct, stumbles, recent, latest_ms FROM step_standing
                 WHERE routine = ? ORDER BY step",
            )
            .and_then(|mut select| select.query_map([routine], |row| step(row, 0))?.collect())
            .map_err(|source| told(&self.path, "how the steps stand could not be read", source))
    }

    /// When a routine was last rehearsed, or practised away from the screen.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn last_rehearsed(
        &self,
        routine: &str,
    ) -> Result<Option<DateTime<FixedOffset>>, LogbookError> {
        self.store
            .prepare_cached(
                "SELECT latest_ms, latest_offset FROM routine_standing WHERE routine = ?",
            )
            .and_then(|mut select| {
                select
                    .query_row([routine], |row| time(row, 0, 1))
                    .optional()
            })
            .map_err(|source| {
                told(
                    &self.path,
                    "when it was rehearsed could not be read",
                    source,
                )
            })
    }

    /// How often a routine was practised away from the screen.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn times_practised(&self, routine: &str) -> Result<u64, LogbookError> {
        self.store
            .prepare_cached("SELECT practices FROM routine_standing WHERE routine = ?")
            .and_then(|mut select| select.query_row([routine], |row| row.get(0)).optional())
            .map(|practices| count(practices.unwrap_or(0)))
            .map_err(|source| {
                told(
                    &self.path,
                    "how often it was practised could not be read",
                    source,
                )
            })
    }

    /// Every routine that was ever rehearsed, with its steps, in the order of their names: what the foyer shows, read
    /// at once.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn overview(&self) -> Result<Vec<RoutineStanding>, LogbookError> {
        self.read_overview().map_err(|source| {
            told(
                &self.path,
                "how the routines stand could not be read",
                source,
            )
        })
    }

    fn read_overview(&self) -> rusqlite::Result<Vec<RoutineStanding>> {
        let mut select = self.store.prepare_cached(
            "SELECT r.routine, r.answered, r.correct, r.practices, r.latest_ms, r.latest_offset,
                    s.step, s.answered, s.correct, s.stumbles, s.recent, s.latest_ms
             FROM routine_standing AS r LEFT JOIN step_standing AS s ON s.routine = r.routine
             ORDER BY r.routine, s.step",
        )?;
        let mut rows = select.query([])?;
        let mut all: Vec<RoutineStanding> = Vec::new();
        while let Some(row) = rows.next()? {
            let routine: String = row.get(0)?;
            if all.last().is_none_or(|last| last.routine != routine) {
                let (right, wrong) = right_and_wrong(row.get(1)?, row.get(2)?);
                all.push(RoutineStanding {
                    routine,
                    right,
                    wrong,
                    practices: count(row.get(3)?),
                    last_rehearsed: time(row, 4, 5)?,
                    steps: Vec::new(),
                });
            }
            // A routine that was only practised, without stumbling, has no steps here.
            if row.get::<_, Option<String>>(6)?.is_some()
                && let Some(last) = all.last_mut()
            {
                last.steps.push(step(row, 6)?);
            }
        }
        Ok(all)
    }
}

fn count(n: i64) -> u64 {
    u64::try_from(n).unwrap_or(0)
}

fn right_and_wrong(answered: i64, correct: i64) -> (u64, u64) {
    (count(correct), count(answered.saturating_sub(correct)))
}

fn step(row: &Row<'_>, first: usize) -> rusqlite::Result<StepStanding> {
    let (right, wrong) = right_and_wrong(row.get(first + 1)?, row.get(first + 2)?);
    let recent: String = row.get(first + 4)?;
    let last: Option<i64> = row.get(first + 5)?;
    Ok(StepStanding {
        step: row.get(first)?,
        right,
        wrong,
        stumbles: count(row.get(first + 3)?),
        recent: recent.chars().map(|c| c == '1').collect(),
        last: last.and_then(DateTime::from_timestamp_millis),
    })
}

/// The time in these two columns.
pub(super) fn time(
    row: &Row<'_>,
    ms: usize,
    offset: usize,
) -> rusqlite::Result<DateTime<FixedOffset>> {
    let moment = Moment {
        ms: row.get(ms)?,
        offset: row.get(offset)?,
    };
    moment
        .time()
        .ok_or(rusqlite::Error::IntegralValueOutOfRange(ms, moment.ms))
}
