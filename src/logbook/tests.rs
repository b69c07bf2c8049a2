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
        kind: "top card".into(),
        question: "What lies on top — of the „dealt“ pile?\n".into(),
        seed: Some(7),
        choices: "n=4".into(),
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
