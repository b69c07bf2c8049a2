//! The form of the file, version by version. A version that has been released is never edited; a change is a new one.

use rusqlite_migration::{M, Migrations};

/// Version 1: what happened.
const EVENTS: &str = "
CREATE TABLE meta (
    key   TEXT PRIMARY KEY NOT NULL,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE sessions (
    id             TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
    routine        TEXT NOT NULL,
    content_hash   TEXT NOT NULL,
    seed           TEXT,                      -- decimal: it may be larger than an INTEGER holds
    setup          TEXT NOT NULL,             -- decimal
    drills         TEXT NOT NULL CHECK (json_valid(drills)),
    manner         TEXT NOT NULL CHECK (manner IN ('plain', 'screen')),
    started_ms     INTEGER NOT NULL,          -- UTC, since 1970
    started_offset INTEGER NOT NULL CHECK (abs(started_offset) < 1440),   -- minutes east of UTC
    ended_ms       INTEGER,
    ended_offset   INTEGER CHECK (abs(ended_offset) < 1440),
    CHECK ((ended_ms IS NULL) = (ended_offset IS NULL))
) STRICT;

CREATE TABLE answers (
    session      TEXT NOT NULL REFERENCES sessions (id),
    ordinal      INTEGER NOT NULL CHECK (ordinal >= 1),
    routine      TEXT NOT NULL,
    content_hash TEXT NOT NULL,
    step         TEXT NOT NULL,
    drill        TEXT NOT NULL,
    kind         TEXT NOT NULL,
    detail       TEXT NOT NULL,
    again        INTEGER NOT NULL CHECK (again IN (0, 1)),
    question     TEXT NOT NULL,
    seed         TEXT,
    choices      TEXT NOT NULL CHECK (json_valid(choices)),
    given        TEXT NOT NULL,
    expected     TEXT NOT NULL,
    answer       TEXT NOT NULL,
    was_right    INTEGER NOT NULL CHECK (was_right IN (0, 1)),
    first_key_ms INTEGER CHECK (first_key_ms >= 0),
    total_ms     INTEGER NOT NULL CHECK (total_ms >= 0),
    at_ms        INTEGER NOT NULL,
    at_offset    INTEGER NOT NULL CHECK (abs(at_offset) < 1440),
    PRIMARY KEY (session, ordinal)
) STRICT;

CREATE INDEX answers_by_step ON answers (routine, step, at_ms, session, ordinal, was_right);

CREATE TABLE practices (
    id        TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
    routine   TEXT NOT NULL,
    note      TEXT NOT NULL,
    stumbled  TEXT NOT NULL CHECK (json_valid(stumbled)),
    at_ms     INTEGER NOT NULL,
    at_offset INTEGER NOT NULL CHECK (abs(at_offset) < 1440)
) STRICT;
";

/// Version 2: how things stand, kept up to date by triggers. `recent` holds the latest answers, newest first, as a
/// string of 0 and 1, and `latest_ms` when the newest was given.
const STANDINGS: &str = "
CREATE TABLE step_standing (
    routine   TEXT NOT NULL,
    step      TEXT NOT NULL,
    answered  INTEGER NOT NULL,
    correct   INTEGER NOT NULL,
    stumbles  INTEGER NOT NULL,
    recent    TEXT NOT NULL,
    latest_ms INTEGER,
    PRIMARY KEY (routine, step)
) STRICT, WITHOUT ROWID;

CREATE TABLE routine_standing (
    routine   TEXT PRIMARY KEY NOT NULL,
    answered  INTEGER NOT NULL,
    correct   INTEGER NOT NULL,
    practices INTEGER NOT NULL,
    latest_ms INTEGER NOT NULL,
    latest_offset INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TRIGGER answer_kept AFTER INSERT ON answers BEGIN
    INSERT INTO step_standing VALUES (NEW.routine, NEW.step, 1, NEW.was_right, 0, NEW.was_right, NEW.at_ms)
    ON CONFLICT (routine, step) DO UPDATE SET
        answered  = answered + 1,
        correct   = correct + NEW.was_right,
        latest_ms = max(ifnull(latest_ms, NEW.at_ms), NEW.at_ms),
        recent    = (SELECT group_concat(was_right, '' ORDER BY at_ms DESC, session DESC, ordinal DESC) FROM (
                        SELECT was_right, at_ms, session, ordinal FROM answers
                        WHERE routine = NEW.routine AND step = NEW.step
                        ORDER BY at_ms DESC, session DESC, ordinal DESC LIMIT 8));
    INSERT INTO routine_standing VALUES (NEW.routine, 1, NEW.was_right, 0, NEW.at_ms, NEW.at_offset)
    ON CONFLICT (routine) DO UPDATE SET
        answered = answered + 1,
        correct  = correct + NEW.was_right,
        latest_offset = CASE WHEN NEW.at_ms > latest_ms THEN NEW.at_offset
                             WHEN NEW.at_ms = latest_ms THEN max(latest_offset, NEW.at_offset)
                             ELSE latest_offset END,
        latest_ms = max(latest_ms, NEW.at_ms);
END;

CREATE TRIGGER practice_kept AFTER INSERT ON practices BEGIN
    INSERT INTO step_standing
        SELECT NEW.routine, value, 0, 0, count(*), '', NULL FROM json_each(NEW.stumbled) WHERE true GROUP BY value
    ON CONFLICT (routine, step) DO UPDATE SET stumbles = stumbles + excluded.stumbles;
    INSERT INTO routine_standing VALUES (NEW.routine, 0, 0, 1, NEW.at_ms, NEW.at_offset)
    ON CONFLICT (routine) DO UPDATE SET
        practices = practices + 1,
        latest_offset = CASE WHEN NEW.at_ms > latest_ms THEN NEW.at_offset
                             WHEN NEW.at_ms = latest_ms THEN max(latest_offset, NEW.at_offset)
                             ELSE latest_offset END,
        latest_ms = max(latest_ms, NEW.at_ms);
END;

INSERT INTO step_standing
    SELECT routine, step, sum(answered), sum(correct), sum(stumbles), max(recent), max(latest_ms)
    FROM (SELECT routine, step, count(*) AS answered, sum(was_right) AS correct, 0 AS stumbles,
                 substr(group_concat(was_right, '' ORDER BY at_ms DESC, session DESC, ordinal DESC), 1, 8) AS recent,
                 max(at_ms) AS latest_ms
          FROM answers GROUP BY routine, step
          UNION ALL
          SELECT practices.routine, value, 0, 0, count(*), '', NULL
          FROM practices, json_each(practices.stumbled) GROUP BY practices.routine, value)
    GROUP BY routine, step;

INSERT INTO routine_standing
    SELECT routine, sum(answered), sum(correct), sum(practices), max(at_ms), 0
    FROM (SELECT routine, 1 AS answered, was_right AS correct, 0 AS practices, at_ms FROM answers
          UNION ALL SELECT routine, 0, 0, 1, at_ms FROM practices)
    GROUP BY routine;
UPDATE routine_standing SET latest_offset = (
    SELECT max(at_offset) FROM (
        SELECT at_offset FROM answers WHERE routine = routine_standing.routine AND at_ms = latest_ms
        UNION ALL SELECT at_offset FROM practices WHERE routine = routine_standing.routine AND at_ms = latest_ms));
";

/// Version 3: what happened on stage.
const SHOWS: &str = "
CREATE TABLE shows (
    id        TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
    date      TEXT NOT NULL CHECK (date IS date(date)),
    place     TEXT NOT NULL,
    note      TEXT NOT NULL,
    at_ms     INTEGER NOT NULL,
    at_offset INTEGER NOT NULL CHECK (abs(at_offset) < 1440)
) STRICT;

CREATE TABLE performances (
    show    TEXT NOT NULL REFERENCES shows (id) ON DELETE CASCADE,
    ordinal INTEGER NOT NULL CHECK (ordinal >= 1),
    routine TEXT NOT NULL,
    choices TEXT NOT NULL CHECK (json_valid(choices)),
    steps   TEXT NOT NULL CHECK (json_valid(steps)),
    strays  TEXT NOT NULL CHECK (json_valid(strays)),
    slips   TEXT NOT NULL CHECK (json_valid(slips)),
    PRIMARY KEY (show, ordinal)
) STRICT;

CREATE INDEX performances_by_routine ON performances (routine);
";

/// All versions, oldest first.
pub(super) const VERSIONS: &[M<'static>] = &[M::up(EVENTS), M::up(STANDINGS), M::up(SHOWS)];

/// The way to the latest version.
pub(super) fn migrations() -> Migrations<'static> {
    Migrations::from_slice(VERSIONS)
}

/// The latest version.
pub(super) fn latest() -> i64 {
    i64::try_from(VERSIONS.len()).unwrap_or(i64::MAX)
}
