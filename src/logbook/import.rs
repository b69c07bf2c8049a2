//! The import: reads what an export wrote, whole or not at all, and never twice.

use super::entry::Manner;
use super::error::{LogbookError, told};
use super::export::{
    ANSWER_COLUMNS, AnswerLine, FORM, Header, KIND, Line, PRACTICE_COLUMNS, PracticeLine,
    SESSION_COLUMNS, SessionLine, SettingLine, ShowLine, answer_line, practice_line, session_line,
    show_line,
};
use super::moment::Moment;
use super::shows::{self, SHOW_COLUMNS};
use super::store::{DERIVED, Logbook, list_text};
use chrono::DateTime;
use rusqlite::{OptionalExtension, Transaction, TransactionBehavior, params};
use std::io::{BufRead, Read};

/// The longest line that is read: far more than any row of ours.
const LONGEST_LINE: u64 = 1 << 20;

/// What an import did.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Imported {
    /// Sessions that were new.
    pub sessions: u64,
    /// Answers that were new.
    pub answers: u64,
    /// Practices that were new.
    pub practices: u64,
    /// Shows that were new.
    pub shows: u64,
    /// Settings that were new.
    pub settings: u64,
    /// Rows that were here already, word for word, or as sessions that have ended here and not there.
    pub known: u64,
    /// Lines whose row is here already with other contents; ours was kept.
    pub differing: Vec<u64>,
}

/// What became of a row.
enum Fate {
    New,
    Known,
    Differs,
}

impl Fate {
    /// What becomes of a row that is here already.
    fn beside<Row: PartialEq>(ours: &Row, theirs: &Row) -> Self {
        if ours == theirs {
            Self::Known
        } else {
            Self::Differs
        }
    }
}

impl Logbook {
    /// Adds the rows of an export that are not here yet.
    ///
    /// # Errors
    /// When a line is not what an export writes, or the rows could not be kept; then nothing was imported.
    pub fn import(&mut self, rows: &mut dyn BufRead) -> Result<Imported, LogbookError> {
        let path = self.path.clone();
        let tell = |source| told(&path, "nothing was imported", source);
        let all = self
            .store
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(tell)?;
        let mut done = Imported::default();
        let mut number = 0;
        let mut text = Vec::new();
        while next_line(rows, &mut text, number + 1)? {
            number += 1;
            let wrong = |message: String| LogbookError::Row {
                line: number,
                message,
            };
            if number == 1 {
                header(&text).map_err(wrong)?;
                continue;
            }
            let line = serde_json::from_slice(&text).map_err(|e| {
                wrong(format!(
                    "this is no row of an export ({e}); expected one object such as {{\"answer\":{{…}}}}"
                ))
            })?;
            let (fate, new) = match line {
                Line::Session(row) => (session(&all, &row), &mut done.sessions),
                Line::Answer(row) => (answer(&all, &row), &mut done.answers),
                Line::Practice(row) => (practice(&all, &row), &mut done.practices),
                Line::Show(row) => (show(&all, &row), &mut done.shows),
                Line::Setting(row) => (setting(&all, &row), &mut done.settings),
            };
            match fate {
                Ok(Fate::New) => *new += 1,
                Ok(Fate::Known) => done.known += 1,
                Ok(Fate::Differs) => done.differing.push(number),
                Err(Refusal::Row(message)) => return Err(wrong(message)),
                Err(Refusal::Store(source)) => return Err(tell(source)),
            }
        }
        if number == 0 {
            return Err(LogbookError::Row {
                line: 1,
                message: "there is nothing; expected what `allroads log export` writes".to_owned(),
            });
        }
        all.commit().map_err(tell)?;
        Ok(done)
    }
}

/// Why a row was not taken.
enum Refusal {
    Row(String),
    Store(rusqlite::Error),
}

impl From<rusqlite::Error> for Refusal {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(rusqlite::ErrorCode::ConstraintViolation) => {
                Self::Row(format!("this row cannot be right ({error})"))
            }
            _ => Self::Store(error),
        }
    }
}

/// Reads the next line without its end; false when there is none.
fn next_line(
    rows: &mut dyn BufRead,
    line: &mut Vec<u8>,
    number: u64,
) -> Result<bool, LogbookError> {
    line.clear();
    let read = Read::take(&mut *rows, LONGEST_LINE)
        .read_until(b'\n', line)
        .map_err(LogbookError::Reading)?;
    if line.last() == Some(&b'\n') {
        line.pop();
    } else if read as u64 == LONGEST_LINE {
        return Err(LogbookError::Row {
            line: number,
            message: format!("the line is longer than {LONGEST_LINE} bytes"),
        });
    }
    Ok(read > 0)
}

fn header(text: &[u8]) -> Result<(), String> {
    let header: Header = serde_json::from_slice(text).map_err(|_| {
        "this is no export of a logbook; the first line should be {\"logbook\":\"allroads\",\"version\":2}"
            .to_owned()
    })?;
    if header.logbook != KIND {
        return Err(format!(
            "this is the logbook of another program, {:?}",
            header.logbook
        ));
    }
    if header.version == 0 || header.version > FORM {
        return Err(format!(
            "this export has the form {}, and this program reads up to {FORM}; import it with the program that wrote it",
            header.version
        ));
    }
    Ok(())
}

fn moment(text: &str, field: &str) -> Result<Moment, Refusal> {
    let time = DateTime::parse_from_rfc3339(text).map_err(|e| {
        Refusal::Row(format!(
            "{field} is {text:?}, which is no time ({e}); expected one like 2031-05-01T19:30:00.000+02:00"
        ))
    })?;
    Moment::of(time).map_err(|e| Refusal::Row(format!("{field}: {e}")))
}

fn decimal(text: &str, field: &str) -> Result<u64, Refusal> {
    text.parse()
        .ok()
        .filter(|n: &u64| n.to_string() == text)
        .ok_or_else(|| {
            Refusal::Row(format!(
                "{field} is {text:?}; expected a whole number in text"
            ))
        })
}

fn session(all: &Transaction<'_>, row: &SessionLine) -> Result<Fate, Refusal> {
    let started = moment(&row.started, "started")?;
    let ended = row
        .ended
        .as_deref()
        .map(|text| moment(text, "ended"))
        .transpose()?;
    if let Some(seed) = &row.seed {
        decimal(seed, "seed")?;
    }
    decimal(&row.setup, "setup")?;
    if Manner::from_word(&row.manner).is_none() {
        return Err(Refusal::Row(format!(
            "manner is {:?}; expected \"plain\" or \"screen\"",
            row.manner
        )));
    }
    let ours = all
        .prepare_cached(&format!(
            "SELECT {SESSION_COLUMNS} FROM sessions WHERE id = ?"
        ))?
        .query_row([&row.id], session_line)
        .optional()?;
    let Some(ours) = ours else {
        all.prepare_cached("INSERT INTO sessions VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)")?
            .execute(params![
                row.id,
                row.routine,
                row.content_hash,
                row.seed,
                row.setup,
                list_text(&row.drills),
                row.manner,
                started.ms,
                started.offset,
                ended.map(|m| m.ms),
                ended.map(|m| m.offset),
            ])?;
        return Ok(Fate::New);
    };
    // Written again by us, so that a time said in another way is still the same time.
    let theirs = SessionLine {
        id: row.id.clone(),
        routine: row.routine.clone(),
        content_hash: row.content_hash.clone(),
        seed: row.seed.clone(),
        setup: row.setup.clone(),
        drills: row.drills.clone(),
        manner: row.manner.clone(),
        started: said_again(started, &row.started),
        ended: ended.map(|m| said_again(m, "")),
    };
    if ours == theirs {
        return Ok(Fate::Known);
    }
    let without_end = |line: SessionLine| SessionLine {
        ended: None,
        ..line
    };
    let (our_end, their_end) = (ours.ended.clone(), theirs.ended.clone());
    if without_end(ours) != without_end(theirs) {
        return Ok(Fate::Differs);
    }
    match (our_end, their_end, ended) {
        // It was still running when we last heard of it.
        (None, Some(_), Some(end)) => {
            all.prepare_cached(
                "UPDATE sessions SET ended_ms = ?2, ended_offset = ?3 WHERE id = ?1",
            )?
            .execute(params![row.id, end.ms, end.offset])?;
            Ok(Fate::New)
        }
        (Some(_), None, _) => Ok(Fate::Known),
        _ => Ok(Fate::Differs),
    }
}

fn said_again(moment: Moment, otherwise: &str) -> String {
    moment.text().unwrap_or_else(|| otherwise.to_owned())
}

/// The same moment may be written in two ways: then ours is written as theirs.
fn same_moment(ours: &mut String, at: Moment, theirs: &str) {
    if said_again(at, theirs) == *ours {
        theirs.clone_into(ours);
    }
}

fn answer(all: &Transaction<'_>, row: &AnswerLine) -> Result<Fate, Refusal> {
    let at = moment(&row.at, "at")?;
    if let Some(seed) = &row.seed {
        decimal(seed, "seed")?;
    }
    let ours = all
        .prepare_cached(&format!(
            "SELECT {ANSWER_COLUMNS} FROM answers AS a WHERE a.session = ? AND a.ordinal = ?"
        ))?
        .query_row(params![row.session, row.ordinal], answer_line)
        .optional()?;
    if let Some(mut ours) = ours {
        same_moment(&mut ours.at, at, &row.at);
        return Ok(Fate::beside(&ours, row));
    }
    let known = all
        .prepare_cached("SELECT 1 FROM sessions WHERE id = ?")?
        .exists([&row.session])?;
    if !known {
        return Err(Refusal::Row(format!(
            "this answer belongs to the session {:?}, which is neither above nor in the logbook",
            row.session
        )));
    }
    all.prepare_cached(
        "INSERT INTO answers (session, ordinal, routine, content_hash, step, drill, kind, detail, again, question, seed, choices,
             given, expected, answer, was_right, first_key_ms, total_ms, at_ms, at_offset)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
    )?
    .execute(params![
        row.session,
        row.ordinal,
        row.routine,
        row.content_hash,
        row.step,
        row.drill,
        row.kind,
        row.detail,
        row.again,
        row.question,
        row.seed,
        list_text(&row.choices),
        row.given,
        row.expected,
        row.answer,
        row.right,
        row.first_key_ms,
        row.total_ms,
        at.ms,
        at.offset,
    ])?;
    Ok(Fate::New)
}

fn practice(all: &Transaction<'_>, row: &PracticeLine) -> Result<Fate, Refusal> {
    let at = moment(&row.at, "at")?;
    let ours = all
        .prepare_cached(&format!(
            "SELECT {PRACTICE_COLUMNS} FROM practices WHERE id = ?"
        ))?
        .query_row([&row.id], practice_line)
        .optional()?;
    if let Some(mut ours) = ours {
        same_moment(&mut ours.at, at, &row.at);
        return Ok(Fate::beside(&ours, row));
    }
    all.prepare_cached("INSERT INTO practices VALUES (?, ?, ?, ?, ?, ?)")?
        .execute(params![
            row.id,
            row.routine,
            row.note,
            list_text(&row.stumbled),
            at.ms,
            at.offset,
        ])?;
    Ok(Fate::New)
}

fn show(all: &Transaction<'_>, row: &ShowLine) -> Result<Fate, Refusal> {
    let at = moment(&row.at, "at")?;
    let ours = all
        .prepare_cached(&format!("SELECT {SHOW_COLUMNS} FROM shows WHERE id = ?"))?
        .query_row([&row.id], show_line)
        .optional()?;
    if let Some(mut ours) = ours {
        same_moment(&mut ours.at, at, &row.at);
        return Ok(Fate::beside(&ours, row));
    }
    shows::insert(
        all,
        &row.id,
        (&row.date, &row.place, &row.note),
        at,
        &row.performed,
    )?;
    Ok(Fate::New)
}

fn setting(all: &Transaction<'_>, row: &SettingLine) -> Result<Fate, Refusal> {
    // What can be worked out here is not taken from elsewhere.
    if row.key.starts_with(DERIVED) {
        return Ok(Fate::Known);
    }
    let ours: Option<String> = all
        .prepare_cached("SELECT value FROM meta WHERE key = ?")?
        .query_row([&row.key], |found| found.get(0))
        .optional()?;
    match ours {
        None => {
            all.prepare_cached("INSERT INTO meta VALUES (?, ?)")?
                .execute([&row.key, &row.value])?;
            Ok(Fate::New)
        }
        Some(value) if value == row.value => Ok(Fate::Known),
        Some(_) => Ok(Fate::Differs),
    }
}
