//! The export: JSON, one row a line, always the same bytes for the same rows.
//!
//! The first line is `{"logbook":"allroads","version":2}`. Then all sessions, oldest first; all answers, in the order of
//! their sessions and as they were given; all practices, oldest first; all shows, oldest first; all remembered settings, in
//! the order of their names. Version 1 had no shows. Each line is one object with one key that says what it is. Seeds are written as text, since they may be larger
//! than many readers of JSON can hold.

use super::entry::{Answer, Manner, Session, SessionId, SessionStart};
use super::error::{LogbookError, told};
use super::moment::Moment;
use super::shows::{PerformanceLine, SHOW_COLUMNS, json};
use super::standing::time;
use super::store::{DERIVED, Logbook};
use rusqlite::types::Type;
use rusqlite::{Connection, Row};
use serde::{Deserialize, Serialize};
use std::io::Write;

/// The version of the export's form.
pub(super) const FORM: u32 = 2;
/// What the first line says it is.
pub(super) const KIND: &str = "allroads";

/// The first line.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Header {
    pub logbook: String,
    pub version: u32,
}

/// Any other line.
#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Line {
    Session(SessionLine),
    Answer(AnswerLine),
    Practice(PracticeLine),
    Show(ShowLine),
    Setting(SettingLine),
}

#[derive(Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SessionLine {
    pub id: String,
    pub routine: String,
    pub content_hash: String,
    pub seed: Option<String>,
    pub setup: String,
    pub drills: Vec<String>,
    pub manner: String,
    pub started: String,
    pub ended: Option<String>,
}

#[derive(Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct AnswerLine {
    pub session: String,
    pub ordinal: i64,
    pub routine: String,
    pub content_hash: String,
    pub step: String,
    pub drill: String,
    pub kind: String,
    pub detail: String,
    pub again: bool,
    pub question: String,
    pub seed: Option<String>,
    pub choices: Vec<String>,
    pub given: String,
    pub expected: String,
    pub answer: String,
    pub right: bool,
    pub first_key_ms: Option<i64>,
    pub total_ms: i64,
    pub at: String,
}

#[derive(Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PracticeLine {
    pub id: String,
    pub routine: String,
    pub note: String,
    pub stumbled: Vec<String>,
    pub at: String,
}

#[derive(Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ShowLine {
    pub id: String,
    pub date: String,
    pub place: String,
    pub note: String,
    pub performed: Vec<PerformanceLine>,
    pub at: String,
}

#[derive(Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SettingLine {
    pub key: String,
    pub value: String,
}

/// How much was exported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Exported {
    /// Sessions.
    pub sessions: u64,
    /// Answers.
    pub answers: u64,
    /// Practices away from the screen.
    pub practices: u64,
    /// Shows.
    pub shows: u64,
    /// Remembered settings.
    pub settings: u64,
}

impl Logbook {
    /// Writes everything as JSON lines. What other programs write meanwhile is not among them.
    ///
    /// # Errors
    /// When the file cannot be read or the export cannot be written.
    pub fn export(&mut self, out: &mut dyn Write) -> Result<Exported, LogbookError> {
        let path = self.path.clone();
        let tell = |source| told(&path, "the export was NOT made", source);
        // One transaction, so that all rows are of the same moment.
        let snapshot = self.store.transaction().map_err(tell)?;
        let mut done = Exported::default();
        let header = Header {
            logbook: KIND.to_owned(),
            version: FORM,
        };
        put(out, &header)?;
        for (sql, read) in parts() {
            let mut select = snapshot.prepare(&sql).map_err(tell)?;
            let mut rows = select.query([]).map_err(tell)?;
            while let Some(row) = rows.next().map_err(tell)? {
                let line = read(row).map_err(tell)?;
                match &line {
                    Line::Session(_) => done.sessions += 1,
                    Line::Answer(_) => done.answers += 1,
                    Line::Practice(_) => done.practices += 1,
                    Line::Show(_) => done.shows += 1,
                    Line::Setting(_) => done.settings += 1,
                }
                put(out, &line)?;
            }
        }
        out.flush().map_err(LogbookError::Writing)?;
        Ok(done)
    }
}

/// The columns of a session, in the order in which [`session_line`] reads them.
pub(super) const SESSION_COLUMNS: &str = "id, routine, content_hash, seed, setup, drills, manner, started_ms, started_offset, ended_ms, ended_offset";
/// The columns of an answer, in the order in which [`answer_line`] reads them.
pub(super) const ANSWER_COLUMNS: &str = "a.session, a.ordinal, a.routine, a.content_hash, a.step, a.drill, a.kind, a.detail, a.again, a.question, a.seed, a.choices, a.given, a.expected, a.answer, a.was_right, a.first_key_ms, a.total_ms, a.at_ms, a.at_offset";
/// The columns of a practice, in the order in which [`practice_line`] reads them.
pub(super) const PRACTICE_COLUMNS: &str = "id, routine, note, stumbled, at_ms, at_offset";

type ReadLine = fn(&Row<'_>) -> rusqlite::Result<Line>;

/// What is read, in the order in which it is written, and how a row becomes a line.
fn parts() -> [(String, ReadLine); 5] {
    [
        (
            format!("SELECT {SESSION_COLUMNS} FROM sessions ORDER BY started_ms, id"),
            |row| session_line(row).map(Line::Session),
        ),
        (
            format!(
                "SELECT {ANSWER_COLUMNS} FROM answers AS a JOIN sessions AS s ON s.id = a.session
                 ORDER BY s.started_ms, s.id, a.ordinal"
            ),
            |row| answer_line(row).map(Line::Answer),
        ),
        (
            format!("SELECT {PRACTICE_COLUMNS} FROM practices ORDER BY at_ms, id"),
            |row| practice_line(row).map(Line::Practice),
        ),
        (
            format!("SELECT {SHOW_COLUMNS} FROM shows ORDER BY date, at_ms, id"),
            |row| show_line(row).map(Line::Show),
        ),
        (
            format!("SELECT key, value FROM meta WHERE key NOT LIKE '{DERIVED}%' ORDER BY key"),
            |row| {
                Ok(Line::Setting(SettingLine {
                    key: row.get(0)?,
                    value: row.get(1)?,
                }))
            },
        ),
    ]
}

fn put(out: &mut dyn Write, line: &impl Serialize) -> Result<(), LogbookError> {
    serde_json::to_writer(&mut *out, line)
        .map_err(std::io::Error::from)
        .and_then(|()| out.write_all(b"\n"))
        .map_err(LogbookError::Writing)
}

fn text_time(row: &Row<'_>, ms: usize, offset: usize) -> rusqlite::Result<String> {
    let moment = Moment {
        ms: row.get(ms)?,
        offset: row.get(offset)?,
    };
    moment
        .text()
        .ok_or(rusqlite::Error::IntegralValueOutOfRange(ms, moment.ms))
}

fn list(row: &Row<'_>, column: usize) -> rusqlite::Result<Vec<String>> {
    json(row, column)
}

pub(super) fn session_line(row: &Row<'_>) -> rusqlite::Result<SessionLine> {
    let ended = match row.get::<_, Option<i64>>(9)? {
        Some(_) => Some(text_time(row, 9, 10)?),
        None => None,
    };
    Ok(SessionLine {
        id: row.get(0)?,
        routine: row.get(1)?,
        content_hash: row.get(2)?,
        seed: row.get(3)?,
        setup: row.get(4)?,
        drills: list(row, 5)?,
        manner: row.get(6)?,
        started: text_time(row, 7, 8)?,
        ended,
    })
}

pub(super) fn answer_line(row: &Row<'_>) -> rusqlite::Result<AnswerLine> {
    Ok(AnswerLine {
        session: row.get(0)?,
        ordinal: row.get(1)?,
        routine: row.get(2)?,
        content_hash: row.get(3)?,
        step: row.get(4)?,
        drill: row.get(5)?,
        kind: row.get(6)?,
        detail: row.get(7)?,
        again: row.get(8)?,
        question: row.get(9)?,
        seed: row.get(10)?,
        choices: list(row, 11)?,
        given: row.get(12)?,
        expected: row.get(13)?,
        answer: row.get(14)?,
        right: row.get(15)?,
        first_key_ms: row.get(16)?,
        total_ms: row.get(17)?,
        at: text_time(row, 18, 19)?,
    })
}

pub(super) fn practice_line(row: &Row<'_>) -> rusqlite::Result<PracticeLine> {
    Ok(PracticeLine {
        id: row.get(0)?,
        routine: row.get(1)?,
        note: row.get(2)?,
        stumbled: list(row, 3)?,
        at: text_time(row, 4, 5)?,
    })
}

pub(super) fn show_line(row: &Row<'_>) -> rusqlite::Result<ShowLine> {
    Ok(ShowLine {
        id: row.get(0)?,
        date: row.get(1)?,
        place: row.get(2)?,
        note: row.get(3)?,
        performed: json(row, 6)?,
        at: text_time(row, 4, 5)?,
    })
}

/// A number kept as decimal text.
fn number(column: usize, text: &str) -> rusqlite::Result<u64> {
    text.parse().map_err(|e: std::num::ParseIntError| {
        rusqlite::Error::FromSqlConversionFailure(column, Type::Text, Box::new(e))
    })
}

/// All sessions, oldest first.
pub(super) fn sessions(store: &Connection) -> rusqlite::Result<Vec<Session>> {
    let sql = format!("SELECT {SESSION_COLUMNS} FROM sessions ORDER BY started_ms, id");
    let mut select = store.prepare_cached(&sql)?;
    let rows = select.query_map([], |row| {
        let line = session_line(row)?;
        Ok(Session {
            id: SessionId(line.id),
            start: SessionStart {
                routine: line.routine,
                content_hash: line.content_hash,
                seed: line.seed.map(|s| number(3, &s)).transpose()?,
                setup: number(4, &line.setup)?,
                drills: line.drills,
                manner: Manner::from_word(&line.manner).ok_or_else(|| {
                    rusqlite::Error::InvalidColumnType(6, "manner".to_owned(), Type::Text)
                })?,
                started: time(row, 7, 8)?,
            },
            ended: match line.ended {
                Some(_) => Some(time(row, 9, 10)?),
                None => None,
            },
        })
    })?;
    rows.collect()
}

/// The answers of a session, in the order in which they were given.
pub(super) fn answers_of(store: &Connection, session: &SessionId) -> rusqlite::Result<Vec<Answer>> {
    let sql =
        format!("SELECT {ANSWER_COLUMNS} FROM answers AS a WHERE a.session = ? ORDER BY a.ordinal");
    let mut select = store.prepare_cached(&sql)?;
    let rows = select.query_map([&session.0], |row| {
        let line = answer_line(row)?;
        Ok(Answer {
            routine: line.routine,
            content_hash: line.content_hash,
            step: line.step,
            drill: line.drill,
            kind: line.kind,
            detail: line.detail,
            again: line.again,
            question: line.question,
            seed: line.seed.map(|s| number(10, &s)).transpose()?,
            choices: line.choices,
            given: line.given,
            expected: line.expected,
            answer: line.answer,
            right: line.right,
            first_key_ms: line.first_key_ms.and_then(|ms| u64::try_from(ms).ok()),
            total_ms: u64::try_from(line.total_ms).unwrap_or(0),
            at: time(row, 18, 19)?,
        })
    })?;
    rows.collect()
}
