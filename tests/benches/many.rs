//! A logbook of 100,000 answers.

use allroads::logbook::{Answer, Logbook, Manner, SessionStart};
use chrono::{DateTime, FixedOffset};
use std::fmt::Write;

/// Sessions, evenly of all routines.
pub const SESSIONS: usize = 500;
/// Answers of each.
pub const ANSWERS: usize = 200;

fn moment(minutes: usize) -> DateTime<FixedOffset> {
    let seconds = 1_900_000_000 + 60 * i64::try_from(minutes).unwrap_or(0);
    DateTime::from_timestamp(seconds, 0)
        .expect("a moment of the century")
        .fixed_offset()
}

pub fn start(routine: &str) -> SessionStart {
    SessionStart {
        routine: routine.to_owned(),
        content_hash: "0".repeat(64),
        seed: Some(7),
        setup: 0,
        drills: vec!["picture".to_owned()],
        manner: Manner::Screen,
        started: moment(0),
    }
}

pub fn answer(n: usize) -> Answer {
    Answer {
        routine: format!("routine-{}", n % 5),
        content_hash: "0".repeat(64),
        step: format!("step-{}", n % 12),
        drill: "picture".to_owned(),
        kind: "card".to_owned(),
        detail: format!("packet {}", n % 20),
        again: false,
        question: "Which card lies on top of the packet?".to_owned(),
        seed: Some(7),
        choices: vec!["cut=5".to_owned(), "number=9".to_owned()],
        given: "They cut.\nThey named 9.".to_owned(),
        expected: "the seven of hearts".to_owned(),
        answer: "7H".to_owned(),
        right: !n.is_multiple_of(3),
        first_key_ms: Some(800),
        total_ms: 1_900,
        at: moment(n),
    }
}

/// A logbook of many answers of these routines, read in as an export is.
pub fn logbook<'a>(routines: impl Iterator<Item = &'a str>) -> tempfile::TempDir {
    let routines: Vec<&str> = routines.collect();
    // Beside the build, not in a folder that may be kept in memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let mut small = Logbook::open(folder.path()).expect("a new logbook");
    let session = small.begin(&start("routine-0")).expect("a session");
    small.record(&session, &answer(1)).expect("an answer");
    let mut text = Vec::new();
    small.export(&mut text).expect("an export");
    let text = String::from_utf8(text).expect("an export is text");
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 3, "{text}");
    let mut whole = format!("{}\n", lines[0]);
    for n in 0..SESSIONS {
        let id = format!("{n:032x}");
        let routine = routines[n % routines.len()];
        let rows = [lines[1], lines[2]].map(|line| {
            line.replace(&session.0, &id)
                .replace("routine-0", routine)
                .replace("routine-1", routine)
        });
        writeln!(whole, "{}", rows[0]).expect("text");
        for ordinal in 1..=ANSWERS {
            let row = rows[1]
                .replace("\"ordinal\":1,", &format!("\"ordinal\":{ordinal},"))
                .replace("step-1", &format!("step-{}", ordinal % 12));
            writeln!(whole, "{row}").expect("text");
        }
    }
    let done = small.import(&mut whole.as_bytes()).expect("an import");
    assert_eq!(done.answers, (SESSIONS * ANSWERS) as u64, "{done:?}");
    folder
}
