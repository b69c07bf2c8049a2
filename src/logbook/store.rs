//! Opening the file, and writing into it.

use super::entry::{Answer, Practice, Session, SessionId, SessionStart};
use super::error::{LogbookError, told};
use super::moment::Moment;
use super::schema;
use chrono::{DateTime, FixedOffset};
use rusqlite::{Connection, OptionalExtension, params};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The name of the logbook's file in the data folder.
pub const FILE_NAME: &str = "logbook.sqlite";

/// Settings whose name begins so can be worked out again: they are neither exported nor imported.
pub const DERIVED: &str = "derived ";

/// How long a call waits for another program that is writing.
const PATIENCE: Duration = Duration::from_secs(10);

/// An open logbook. Several programs may have the same one open; each write is whole or not at all.
#[derive(Debug)]
pub struct Logbook {
    pub(super) store: Connection,
    pub(super) path: PathBuf,
}

impl Logbook {
    /// Opens the logbook of this data folder, making folder and file when they are not there, and bringing an
    /// older file up to date.
    ///
    /// # Errors
    /// When folder or file cannot be made or read, when the file is damaged or from a later version.
    pub fn open(folder: &Path) -> Result<Self, LogbookError> {
        std::fs::create_dir_all(folder).map_err(|source| LogbookError::Folder {
            path: folder.to_path_buf(),
            source,
        })?;
        let path = folder.join(FILE_NAME);
        // Two programs that make or update the same file at once get in each other's way in places where the store
        // does not wait by itself; the loser finds the work done when it looks again.
        let mut last = Self::try_open(&path);
        for pause in [5, 20, 50, 100, 200, 400, 800] {
            match &last {
                Err(e) if e.is_locked() || matches!(e, LogbookError::Update { .. }) => {
                    std::thread::sleep(Duration::from_millis(pause));
                    last = Self::try_open(&path);
                }
                Ok(_) | Err(_) => break,
            }
        }
        last
    }

    fn try_open(path: &Path) -> Result<Self, LogbookError> {
        let what = "it cannot be opened";
        let tell = |source| told(path, what, source);
        let mut store = Connection::open(path).map_err(tell)?;
        store.busy_timeout(PATIENCE).map_err(tell)?;
        store
            .pragma_update(None, "foreign_keys", true)
            .map_err(tell)?;
        let found: i64 = store
            .pragma_query_value(None, "user_version", |row| row.get(0))
            .map_err(tell)?;
        let known = schema::latest();
        if found > known {
            return Err(LogbookError::Newer {
                path: path.to_path_buf(),
                found,
                known,
            });
        }
        let mode: String = store
            .pragma_query_value(None, "journal_mode", |row| row.get(0))
            .map_err(tell)?;
        if mode != "wal" {
            store
                .pragma_update_and_check(None, "journal_mode", "wal", |row| row.get::<_, String>(0))
                .map_err(tell)?;
        }
        store
            .pragma_update(None, "synchronous", "full")
            .map_err(tell)?;
        store.set_prepared_statement_cache_capacity(32);
        if found < known {
            schema::migrations()
                .to_latest(&mut store)
                .map_err(|source| match source {
                    rusqlite_migration::Error::RusqliteError { query, err } => {
                        match told(path, what, err) {
                            LogbookError::Store { source: err, .. } => LogbookError::Update {
                                path: path.to_path_buf(),
                                source: rusqlite_migration::Error::RusqliteError { query, err },
                            },
                            better => better,
                        }
                    }
                    source => LogbookError::Update {
                        path: path.to_path_buf(),
                        source,
                    },
                })?;
        }
        Ok(Self {
            store,
            path: path.to_path_buf(),
        })
    }

    /// Writes; when the disk has no room, makes what room the write-ahead file gives back, and tries once more. That
    /// file grows by whole pages for every answer, the logbook itself only by what is new.
    pub(super) fn write<T>(
        &self,
        what: &'static str,
        write: impl Fn(&Connection) -> rusqlite::Result<T>,
    ) -> Result<T, LogbookError> {
        let tell = |source| told(&self.path, what, source);
        match write(&self.store).map_err(tell) {
            Err(LogbookError::DiskFull { .. }) => {
                // Where this fails nothing is lost, and the second try will tell.
                let _unmade = self
                    .store
                    .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
                write(&self.store).map_err(tell)
            }
            done => done,
        }
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Begins a session.
    ///
    /// # Errors
    /// When it could not be kept.
    pub fn begin(&mut self, start: &SessionStart) -> Result<SessionId, LogbookError> {
        let started = Moment::of(start.started)?;
        let id: String = self.write("the session was NOT kept", |store| {
            store
            .prepare_cached(
                "INSERT INTO sessions (id, routine, content_hash, seed, setup, drills, manner, started_ms, started_offset)
                 VALUES (lower(hex(randomblob(16))), ?, ?, ?, ?, ?, ?, ?, ?) RETURNING id",
            )
            .and_then(|mut insert| {
                insert.query_row(
                    params![
                        start.routine,
                        start.content_hash,
                        start.seed.map(|s| s.to_string()),
                        start.setup.to_string(),
                        list_text(&start.drills),
                        start.manner.word(),
                        started.ms,
                        started.offset,
                    ],
                    |row| row.get(0),
                )
            })
        })?;
        Ok(SessionId(id))
    }

    /// Keeps an answer. When this returns `Ok`, the answer is on the disk.
    ///
    /// # Errors
    /// When it could not be kept; then nothing of it is in the logbook.
    pub fn record(&mut self, session: &SessionId, answer: &Answer) -> Result<(), LogbookError> {
        let at = Moment::of(answer.at)?;
        let kept = self.write("the answer was NOT kept", |store| {
            store
            .prepare_cached(
                "INSERT INTO answers (session, ordinal, routine, content_hash, step, drill, kind, detail, again, question, seed,
                     choices, given, expected, answer, was_right, first_key_ms, total_ms, at_ms, at_offset)
                 SELECT id, (SELECT ifnull(max(ordinal), 0) + 1 FROM answers WHERE session = ?1),
                     ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19
                 FROM sessions WHERE id = ?1",
            )
            .and_then(|mut insert| {
                insert.execute(params![
                    session.0,
                    answer.routine,
                    answer.content_hash,
                    answer.step,
                    answer.drill,
                    answer.kind,
                    answer.detail,
                    answer.again,
                    answer.question,
                    answer.seed.map(|s| s.to_string()),
                    list_text(&answer.choices),
                    answer.given,
                    answer.expected,
                    answer.answer,
                    answer.right,
                    answer.first_key_ms.map(whole),
                    whole(answer.total_ms),
                    at.ms,
                    at.offset,
                ])
            })
        })?;
        if kept == 1 {
            Ok(())
        } else {
            Err(LogbookError::NoSession(session.0.clone()))
        }
    }

    /// Ends a session.
    ///
    /// # Errors
    /// When that could not be kept, or there is no such session.
    pub fn end(
        &mut self,
        session: &SessionId,
        ended: DateTime<FixedOffset>,
    ) -> Result<(), LogbookError> {
        let ended = Moment::of(ended)?;
        let changed = self.write("the end of the session was NOT kept", |store| {
            store
                .prepare_cached(
                    "UPDATE sessions SET ended_ms = ?2, ended_offset = ?3 WHERE id = ?1",
                )
                .and_then(|mut update| update.execute(params![session.0, ended.ms, ended.offset]))
        })?;
        if changed == 1 {
            Ok(())
        } else {
            Err(LogbookError::NoSession(session.0.clone()))
        }
    }

    /// Keeps a practice away from the screen.
    ///
    /// # Errors
    /// When it could not be kept.
    pub fn add_practice(&mut self, practice: &Practice) -> Result<(), LogbookError> {
        let at = Moment::of(practice.at)?;
        self.write("the practice was NOT kept", |store| {
            store
                .prepare_cached(
                    "INSERT INTO practices (id, routine, note, stumbled, at_ms, at_offset)
                 VALUES (lower(hex(randomblob(16))), ?, ?, ?, ?, ?)",
                )
                .and_then(|mut insert| {
                    insert.execute(params![
                        practice.routine,
                        practice.note,
                        list_text(&practice.stumbled),
                        at.ms,
                        at.offset,
                    ])
                })
        })?;
        Ok(())
    }

    /// Remembers a setting under a name.
    ///
    /// # Errors
    /// When it could not be kept.
    pub fn remember(&mut self, key: &str, value: &str) -> Result<(), LogbookError> {
        self.store
            .prepare_cached(
                "INSERT INTO meta VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET value = excluded.value",
            )
            .and_then(|mut insert| insert.execute([key, value]))
            .map_err(|source| told(&self.path, "the setting was NOT kept", source))?;
        Ok(())
    }

    /// What was remembered under a name.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn remembered(&self, key: &str) -> Result<Option<String>, LogbookError> {
        self.store
            .prepare_cached("SELECT value FROM meta WHERE key = ?")
            .and_then(|mut select| select.query_row([key], |row| row.get(0)).optional())
            .map_err(|source| told(&self.path, "the setting could not be read", source))
    }

    /// Copies the whole logbook into a new file, which is a logbook in its own right. Other programs may go on
    /// writing meanwhile.
    ///
    /// # Errors
    /// When the file is there already, or cannot be written.
    pub fn backup(&self, copy: &Path) -> Result<(), LogbookError> {
        let tell = |source| told(copy, "the copy was NOT made", source);
        // Claims the name, so that two copies cannot be written into one file.
        match std::fs::File::create_new(copy) {
            Ok(_) => {}
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {
                return Err(LogbookError::CopyExists(copy.to_path_buf()));
            }
            Err(source) => {
                return Err(LogbookError::Folder {
                    path: copy.to_path_buf(),
                    source,
                });
            }
        }
        let done = Connection::open(copy).map_err(tell).and_then(|mut target| {
            target
                .pragma_update(None, "synchronous", "full")
                .map_err(tell)?;
            let backup = rusqlite::backup::Backup::new(&self.store, &mut target).map_err(tell)?;
            backup
                .run_to_completion(1024, Duration::ZERO, None)
                .map_err(tell)
        });
        if done.is_err() {
            // Half a copy would only mislead; the error that matters is the one in hand.
            drop(std::fs::remove_file(copy));
        }
        done
    }

    /// All sessions, oldest first.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn sessions(&self) -> Result<Vec<Session>, LogbookError> {
        super::export::sessions(&self.store)
            .map_err(|source| told(&self.path, "the sessions could not be read", source))
    }

    /// The answers of a session, in the order in which they were given.
    ///
    /// # Errors
    /// When the file could not be read.
    pub fn answers(&self, session: &SessionId) -> Result<Vec<Answer>, LogbookError> {
        super::export::answers_of(&self.store, session)
            .map_err(|source| told(&self.path, "the answers could not be read", source))
    }
}

/// A list of words as the file keeps it.
pub(super) fn list_text(words: &[String]) -> String {
    serde_json::Value::from(words.to_vec()).to_string()
}

/// A duration as the file keeps it; 292 million years is as far as it goes.
fn whole(ms: u64) -> i64 {
    i64::try_from(ms).unwrap_or(i64::MAX)
}
