//! Shows: what happened on stage, written down afterwards.

use super::error::{LogbookError, told};
use super::moment::Moment;
use super::standing::time;
use super::store::{Logbook, list_text};
use chrono::{DateTime, FixedOffset, NaiveDate};
use rusqlite::types::Type;
use rusqlite::{Connection, Row, params};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Something that happened at a step on stage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Happened {
    /// The id of the step.
    pub step: String,
    /// What: the name of a stray, or what went wrong, in the performer's own words; empty when not said.
    pub what: String,
}

/// One routine as it was performed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Performance {
    /// The routine, by the name that commands take.
    pub routine: String,
    /// What the spectators chose, as far as it is remembered, as `walk --choose` takes it.
    pub choices: Vec<String>,
    /// The ids of the steps that were done for certain, given these choices.
    pub steps: Vec<String>,
    /// What spectators did that the routine does not offer.
    pub strays: Vec<Happened>,
    /// What went wrong.
    pub slips: Vec<Happened>,
}

/// A show.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Show {
    /// The day.
    pub date: NaiveDate,
    /// Where; empty when not said.
    pub place: String,
    /// In the performer's own words.
    pub note: String,
    /// The routines, in the order in which they were performed.
    pub performed: Vec<Performance>,
    /// When it was written down.
    pub at: DateTime<FixedOffset>,
}

/// A show as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptShow {
    /// Its name, unique among all logbooks.
    pub id: String,
    /// The show.
    pub show: Show,
}

/// A routine on one night.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Night {
    /// The show's name.
    pub show: String,
    /// The day.
    pub date: NaiveDate,
    /// What happened.
    pub performance: Performance,
}

/// The columns of a show, in the order in which [`show_of`] reads them.
pub(super) const SHOW_COLUMNS: &str = "id, date, place, note, at_ms, at_offset,
    (SELECT json_group_array(json_object('routine', routine, 'choices', json(choices), 'steps', json(steps),
                                         'strays', json(strays), 'slips', json(slips)) ORDER BY ordinal)
     FROM performances WHERE performances.show = shows.id)";

/// A routine of a show as the file and the export hold it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PerformanceLine {
    pub routine: String,
    pub choices: Vec<String>,
    pub steps: Vec<String>,
    pub strays: Vec<Happened>,
    pub slips: Vec<Happened>,
}

impl From<PerformanceLine> for Performance {
    fn from(line: PerformanceLine) -> Self {
        Self {
            routine: line.routine,
            choices: line.choices,
            steps: line.steps,
            strays: line.strays,
            slips: line.slips,
        }
    }
}

impl From<Performance> for PerformanceLine {
    fn from(one: Performance) -> Self {
        Self {
            routine: one.routine,
            choices: one.choices,
            steps: one.steps,
            strays: one.strays,
            slips: one.slips,
        }
    }
}

/// What is in a column as JSON.
pub(super) fn json<T: for<'a> Deserialize<'a>>(
    row: &Row<'_>,
    column: usize,
) -> rusqlite::Result<T> {
    let text: String = row.get(column)?;
    serde_json::from_str(&text)
        .map_err(|e| rusqlite::Error::FromSqlConversionFailure(column, Type::Text, Box::new(e)))
}

fn date(row: &Row<'_>, column: usize) -> rusqlite::Result<NaiveDate> {
    let text: String = row.get(column)?;
    text.parse()
        .map_err(|e| rusqlite::Error::FromSqlConversionFailure(column, Type::Text, Box::new(e)))
}

fn show_of(row: &Row<'_>) -> rusqlite::Result<KeptShow> {
    let performed: Vec<PerformanceLine> = json(row, 6)?;
    Ok(KeptShow {
        id: row.get(0)?,
        show: Show {
            date: date(row, 1)?,
            place: row.get(2)?,
            note: row.get(3)?,
            performed: performed.into_iter().map(Performance::from).collect(),
            at: time(row, 4, 5)?,
        },
    })
}

/// A list of happenings as the file keeps it.
fn happened_text(list: &[Happened]) -> String {
    // Words always have a form as text.
    serde_json::to_string(list).unwrap_or_else(|_| "[]".to_owned())
}

/// Writes a show under a name, with its routines: whole or not at all, if the caller has a transaction.
pub(super) fn insert(
    store: &Connection,
    id: &str,
    (date, place, note): (&str, &str, &str),
    at: Moment,
    performed: &[PerformanceLine],
) -> rusqlite::Result<()> {
    store
        .prepare_cached("INSERT INTO shows VALUES (?, ?, ?, ?, ?, ?)")?
        .execute(params![id, date, place, note, at.ms, at.offset])?;
    let mut each = store.prepare_cached("INSERT INTO performances VALUES (?, ?, ?, ?, ?, ?, ?)")?;
    for (n, one) in performed.iter().enumerate() {
        each.execute(params![
            id,
            i64::try_from(n + 1).unwrap_or(i64::MAX),
            one.routine,
            list_text(&one.choices),
            list_text(&one.steps),
            happened_text(&one.strays),
            happened_text(&one.slips),
        ])?;
    }
    Ok(())
}

impl Logbook {
    /// Keeps a show, and gives its name. When this returns `Ok`, it is on the disk.
    ///
    /// # Errors
    /// When it could not be kept; then nothing of it is in the logbook.
    pub fn add_show(&mut self, show: &Show) -> Result<String, LogbookError> {
        let at = Moment::of(show.at)?;
        let day = show.date.to_string();
        let performed: Vec<PerformanceLine> = show
            .performed
            .iter()
            .cloned()
            .map(PerformanceLine::from)
            .collect();
        self.write("the show was NOT kept", |store| {
            let whole = store.unchecked_transaction()?;
            let id: String =
                whole.query_row("SELECT lower(hex(randomblob(16)))", [], |row| row.get(0))?;
            insert(&whole, &id, (&day, &show.place, &show.note), at, &performed)?;
            whole.commit()?;
            Ok(id)
        })
    }

    /// All shows, oldest first.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn shows(&self) -> Result<Vec<KeptShow>, LogbookError> {
        let sql = format!("SELECT {SHOW_COLUMNS} FROM shows ORDER BY date, at_ms, id");
        self.store
            .prepare_cached(&sql)
            .and_then(|mut select| select.query_map([], show_of)?.collect())
            .map_err(|source| told(&self.path, "the shows could not be read", source))
    }

    /// Takes a show out again. False when there is none of this name.
    ///
    /// # Errors
    /// When it could not be taken out; then it is there as before.
    pub fn remove_show(&mut self, id: &str) -> Result<bool, LogbookError> {
        let gone = self.write("the show was NOT taken out", |store| {
            store
                .prepare_cached("DELETE FROM shows WHERE id = ?")?
                .execute([id])
        })?;
        Ok(gone > 0)
    }

    /// The nights on which a routine was performed, oldest first.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn nights(&self, routine: &str) -> Result<Vec<Night>, LogbookError> {
        let read = || {
            let mut select = self.store.prepare_cached(
                "SELECT p.show, s.date, p.routine, p.choices, p.steps, p.strays, p.slips
                 FROM performances AS p JOIN shows AS s ON s.id = p.show
                 WHERE p.routine = ? ORDER BY s.date, s.at_ms, s.id, p.ordinal",
            )?;
            let rows = select.query_map([routine], |row| {
                Ok(Night {
                    show: row.get(0)?,
                    date: date(row, 1)?,
                    performance: Performance {
                        routine: row.get(2)?,
                        choices: json(row, 3)?,
                        steps: json(row, 4)?,
                        strays: json(row, 5)?,
                        slips: json(row, 6)?,
                    },
                })
            })?;
            rows.collect::<rusqlite::Result<Vec<Night>>>()
        };
        read().map_err(|source| told(&self.path, "the shows could not be read", source))
    }

    /// How often each stray of a routine happened on stage, by its name as the routine's file gives it, or the performer did.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn strays_met(&self, routine: &str) -> Result<BTreeMap<String, u32>, LogbookError> {
        let mut met = BTreeMap::new();
        for night in self.nights(routine)? {
            for stray in night.performance.strays {
                *met.entry(stray.what).or_insert(0) += 1;
            }
        }
        Ok(met)
    }
}
