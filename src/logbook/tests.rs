mod files;

use super::*;
use chrono::{DateTime, FixedOffset};
use proptest::prelude::*;
use rusqlite::Connection;
use std::path::Path;

fn at(text: &str) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(text).unwrap()
}

fn start() -> SessionStart {
    SessionStart {
        routine: "pairs".into(),
        content_hash: "00ff".into(),
        seed: Some(u64::MAX),
        setup: 3,
        drills: vec!["picture".into(), "order".into()],
        manner: Manner::Screen,
        started: at("2031-05-01T19:30:00.250+02:00"),
    }
}

fn answer(step: &str, right: bool, when: &str) -> Answer {
    Answer {
        routine: "pairs".into(),
        content_hash: "00ff".into(),
        step: step.into(),
        drill: "picture".into(),
        kind: "card".into(),
        detail: "dealt 1".into(),
        again: !right,
        question: "What lies on top — of the „dealt“ pile?\n".into(),
        seed: Some(7),
        choices: vec!["n=4".into(), "how=\"so\"".into()],
        given: "They named 4.".into(),
        expected: "7♥".into(),
        answer: "sept de cœur \u{1F0B7}\u{0}".into(),
        right,
        first_key_ms: Some(820),
        total_ms: 1900,
        at: at(when),
    }
}

fn exported(book: &mut Logbook) -> Vec<u8> {
    let mut out = Vec::new();
    book.export(&mut out).unwrap();
    out
}

#[test]
fn what_is_recorded_is_read_back_word_for_word() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(&folder.path().join("deep/er")).unwrap();
    let id = book.begin(&start()).unwrap();
    let first = answer("deal", true, "2031-05-01T19:30:05.123+02:00");
    let second = Answer {
        first_key_ms: None,
        seed: None,
        ..answer("deal", false, "2031-05-01T19:31:00-03:30")
    };
    book.record(&id, &first).unwrap();
    book.record(&id, &second).unwrap();
    book.end(&id, at("2031-05-01T19:40:00+02:00")).unwrap();
    assert_eq!(book.answers(&id).unwrap(), vec![first, second]);
    assert_eq!(
        book.sessions().unwrap(),
        vec![Session {
            id,
            start: start(),
            ended: Some(at("2031-05-01T19:40:00+02:00"))
        }]
    );
    assert_eq!(book.check().unwrap(), vec![]);
}

#[test]
fn the_coach_hears_of_steps_done_with_real_cards_and_a_slip_is_a_miss_of_its_step() {
    use crate::coach::{Aim, Hold, Memory, Record, footings};
    use crate::drill::{Drill, Kind};
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(folder.path()).unwrap();
    let id = book.begin(&start()).unwrap();
    let lived = |step: &str, kind: &str, day: u32| Answer {
        drill: "hands".into(),
        kind: kind.into(),
        total_ms: 4_000,
        ..answer(step, kind != "slip", &format!("2031-05-{day:02}T19:30:00Z"))
    };
    let told = |book: &Logbook| book.told_since("pairs", 0).unwrap().answers;
    for day in 1..4 {
        book.record(&id, &lived("deal", "step", day)).unwrap();
        book.record(&id, &lived("end", "ending", day)).unwrap();
    }
    let skills: Vec<(&str, Drill, Kind, bool)> = vec![
        ("deal", Drill::Hands, Kind::Step, true),
        ("end", Drill::Hands, Kind::Ending, true),
    ];
    let as_told = |answers: &[crate::coach::Answer]| -> Vec<(String, Drill, Kind, bool)> {
        answers
            .iter()
            .map(|one| {
                let skill = &one.skill;
                (skill.step.to_string(), skill.drill, skill.kind, one.right)
            })
            .collect()
    };
    let wanted: Vec<_> = skills
        .iter()
        .cycle()
        .take(6)
        .map(|&(step, drill, kind, right)| (step.to_owned(), drill, kind, right))
        .collect();
    assert_eq!(as_told(&told(&book)), wanted);

    // How the step stands: held, then shaky after the slip, and held again once it was done well.
    let routine = crate::routine::load(include_str!("tests/deal.yaml"), "deal", 0).unwrap();
    let hold = |book: &Logbook, days: i32| {
        let record = Record::of(Memory::default(), &told(book));
        let aim = Aim::new(record.latest().unwrap().plus(days), None);
        let stands = footings(&routine, &record, &std::collections::BTreeMap::new(), aim);
        let deal = stands
            .iter()
            .find(|one| one.step.to_string() == "deal")
            .unwrap();
        // Four seconds are within the step's ten; an ending's time is no step's.
        let end = stands
            .iter()
            .find(|one| one.step.to_string() == "end")
            .unwrap();
        assert_eq!(end.tempo, None);
        assert!(deal.tempo.as_ref().unwrap().fits);
        deal.hold
    };
    let before = hold(&book, 0);
    assert!(before >= Hold::Steady, "{before:?}");
    book.record(&id, &lived("deal", "slip", 4)).unwrap();
    assert_eq!(
        as_told(&told(&book)).last().unwrap(),
        &("deal".to_owned(), Drill::Hands, Kind::Step, false)
    );
    assert_eq!(hold(&book, 0), Hold::Shaky);
    for day in 5..12 {
        book.record(&id, &lived("deal", "step", day)).unwrap();
    }
    let after = hold(&book, 0);
    assert!(after >= Hold::Steady, "{after:?}");
}

#[test]
fn the_store_writes_ahead_and_synchronises_fully() {
    let folder = tempfile::tempdir().unwrap();
    let book = Logbook::open(folder.path()).unwrap();
    let ask = |name: &str| {
        book.store
            .pragma_query_value(None, name, |row| {
                row.get_ref(0).map(|v| match v {
                    rusqlite::types::ValueRef::Integer(n) => n.to_string(),
                    other => other.as_str().unwrap().to_owned(),
                })
            })
            .unwrap()
    };
    assert_eq!(ask("journal_mode"), "wal");
    assert_eq!(ask("synchronous"), "2", "2 is FULL");
    assert_eq!(ask("foreign_keys"), "1");
    assert_eq!(ask("user_version"), schema::latest().to_string());
}

#[test]
fn a_session_that_is_not_there_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(folder.path()).unwrap();
    let nobody = SessionId("nobody".into());
    let given = answer("deal", true, "2031-05-01T19:30:05Z");
    assert!(matches!(
        book.record(&nobody, &given),
        Err(LogbookError::NoSession(_))
    ));
    assert!(matches!(
        book.end(&nobody, given.at),
        Err(LogbookError::NoSession(_))
    ));
}

#[test]
fn steps_stand_by_their_answers_whatever_the_order_they_came_in() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(folder.path()).unwrap();
    let id = book.begin(&start()).unwrap();
    // Given last, recorded first.
    book.record(&id, &answer("deal", true, "2031-05-01T20:00:00+02:00"))
        .unwrap();
    for minute in 0..10 {
        let when = format!("2031-05-01T19:{:02}:00+02:00", minute + 10);
        book.record(&id, &answer("deal", minute % 3 == 0, &when))
            .unwrap();
    }
    book.add_practice(&Practice {
        routine: "pairs".into(),
        note: "twice by hand".into(),
        stumbled: vec!["deal".into(), "turn \"over\"".into()],
        at: at("2031-05-02T08:00:00+02:00"),
    })
    .unwrap();
    let standing = book.standing("pairs").unwrap();
    assert_eq!(standing.len(), 2);
    assert_eq!(standing[0].step, "deal");
    assert_eq!((standing[0].right, standing[0].wrong), (5, 6));
    assert_eq!(standing[0].stumbles, 1);
    // By hand: 20:00 right, then minutes 9 (right), 8, 7 (wrong), 6 (right), 5, 4 (wrong), 3 (right).
    assert_eq!(
        standing[0].recent,
        [true, true, false, false, true, false, false, true]
    );
    assert_eq!(standing[0].right_in_a_row(), 2);
    assert_eq!(
        standing[0].last,
        Some(at("2031-05-01T20:00:00+02:00").to_utc())
    );
    assert_eq!(standing[1].step, "turn \"over\"");
    assert_eq!((standing[1].stumbles, standing[1].last), (1, None));
    assert_eq!(
        book.last_rehearsed("pairs").unwrap(),
        Some(at("2031-05-02T08:00:00+02:00"))
    );
    assert_eq!(book.last_rehearsed("other").unwrap(), None);
    let overview = book.overview().unwrap();
    assert_eq!(overview.len(), 1);
    assert_eq!(overview[0].steps, standing);
    assert_eq!(
        (overview[0].right, overview[0].wrong, overview[0].practices),
        (5, 6, 1)
    );
    assert_eq!(book.check().unwrap(), vec![]);
}

#[test]
fn an_export_imported_elsewhere_exports_the_same_bytes_and_stands_the_same() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut book = Logbook::open(here.path()).unwrap();
    for n in 0..3 {
        let id = book.begin(&start()).unwrap();
        for k in 0..5 {
            let when = format!("2031-05-0{}T1{k}:00:00.{k}00-05:30", n + 1);
            book.record(&id, &answer("deal", (n + k) % 2 == 0, &when))
                .unwrap();
        }
        if n > 0 {
            book.end(&id, at("2031-05-09T00:00:00Z")).unwrap();
        }
    }
    book.remember("last routine", "pairs").unwrap();
    let bytes = exported(&mut book);
    assert!(bytes.starts_with(b"{\"logbook\":\"allroads\",\"version\":2}\n{\"session\":"));

    let mut other = Logbook::open(there.path()).unwrap();
    let first = other.import(&mut bytes.as_slice()).unwrap();
    assert_eq!(
        first,
        Imported {
            sessions: 3,
            answers: 15,
            settings: 1,
            ..Imported::default()
        }
    );
    assert_eq!(exported(&mut other), bytes);
    let again = other.import(&mut bytes.as_slice()).unwrap();
    assert_eq!(
        again,
        Imported {
            known: 19,
            ..Imported::default()
        }
    );
    assert_eq!(exported(&mut other), bytes);
    assert_eq!(other.overview().unwrap(), book.overview().unwrap());
    assert_eq!(other.check().unwrap(), vec![]);
}

#[test]
fn what_can_be_worked_out_again_does_not_travel() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(folder.path()).unwrap();
    let before = exported(&mut book);
    let key = format!("{DERIVED}proof of 00ff 0");
    book.remember(&key, "sure-fire").unwrap();
    assert_eq!(exported(&mut book), before);

    let mut forged = before;
    forged.extend(
        serde_json::to_vec(
            &serde_json::json!({"setting": {"key": format!("{DERIVED}x"), "value": "sure-fire"}}),
        )
        .unwrap(),
    );
    forged.push(b'\n');
    let report = book.import(&mut forged.as_slice()).unwrap();
    assert_eq!((report.settings, report.known), (0, 1));
    assert_eq!(book.remembered(&format!("{DERIVED}x")).unwrap(), None);
    assert_eq!(book.remembered(&key).unwrap().as_deref(), Some("sure-fire"));
}

#[test]
fn an_import_takes_over_the_end_of_a_session_and_keeps_ours_where_rows_differ() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut book = Logbook::open(here.path()).unwrap();
    let id = book.begin(&start()).unwrap();
    book.record(&id, &answer("deal", true, "2031-05-01T19:30:05Z"))
        .unwrap();
    let early = exported(&mut book);
    book.end(&id, at("2031-05-01T20:00:00Z")).unwrap();
    let late = exported(&mut book);

    let mut other = Logbook::open(there.path()).unwrap();
    other.import(&mut early.as_slice()).unwrap();
    other.import(&mut late.as_slice()).unwrap();
    assert_eq!(exported(&mut other), late);
    other.import(&mut early.as_slice()).unwrap();
    assert_eq!(exported(&mut other), late, "an end is not taken back");

    let changed = String::from_utf8(late.clone())
        .unwrap()
        .replace("\"right\":true", "\"right\":false");
    let report = other.import(&mut changed.as_bytes()).unwrap();
    assert_eq!(report.differing, [3]);
    assert_eq!(exported(&mut other), late);
}

#[test]
fn an_import_that_goes_wrong_says_where_and_leaves_nothing() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut book = Logbook::open(here.path()).unwrap();
    let id = book.begin(&start()).unwrap();
    book.record(&id, &answer("deal", true, "2031-05-01T19:30:05Z"))
        .unwrap();
    let good = String::from_utf8(exported(&mut book)).unwrap();
    let mut other = Logbook::open(there.path()).unwrap();
    let empty = exported(&mut other);
    let lines: Vec<&str> = good.lines().collect();
    let cases: [(String, u64, &str); 10] = [
        (String::new(), 1, "there is nothing"),
        ("{}\n".into(), 1, "no export of a logbook"),
        (
            good.replacen("allroads", "elsewhere", 1),
            1,
            "another program",
        ),
        (
            good.replacen("\"version\":2", "\"version\":3", 1),
            1,
            "form 3",
        ),
        (format!("{good}\n"), 4, "no row of an export"),
        (
            format!("{}\n{}\n", lines[0], lines[2]),
            2,
            "neither above nor in the logbook",
        ),
        (
            good.replace("\"ordinal\":1", "\"ordinal\":0"),
            3,
            "cannot be right",
        ),
        (
            good.replace("\"total_ms\":1900", "\"total_ms\":-1"),
            3,
            "cannot be right",
        ),
        (
            good.replace("2031-05-01T19:30:05", "2031-05-41T19:30:05"),
            3,
            "no time",
        ),
        (
            good.replace("\"screen\"", "\"loud\""),
            2,
            "expected \"plain\" or \"screen\"",
        ),
    ];
    for (text, line, words) in cases {
        match other.import(&mut text.as_bytes()) {
            Err(LogbookError::Row { line: at, message }) => {
                assert_eq!(at, line, "{message}");
                assert!(message.contains(words), "{message:?} should say {words:?}");
            }
            result => panic!("{words}: {result:?}"),
        }
        assert_eq!(exported(&mut other), empty);
    }
    let long = format!("{}\n{}", lines[0], "x".repeat(2 << 20));
    assert!(matches!(
        other.import(&mut long.as_bytes()),
        Err(LogbookError::Row { line: 2, .. })
    ));
}
