//! The file itself: its versions, a full disk, several writers, copies, checks.

use super::*;

#[test]
fn a_file_of_the_first_version_is_brought_up_to_date_with_all_it_holds() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut book = Logbook::open(here.path()).unwrap();
    let id = book.begin(&start()).unwrap();
    for minute in 0..12 {
        let when = format!("2031-05-01T19:{:02}:00+02:00", 59 - minute);
        book.record(&id, &answer("deal", minute % 3 == 0, &when))
            .unwrap();
    }
    for (stumbled, when) in [
        ("deal", "2031-05-03T08:00:00-04:00"),
        ("cut", "2030-01-01T08:00:00Z"),
    ] {
        book.add_practice(&Practice {
            routine: "pairs".into(),
            note: String::new(),
            stumbled: vec![stumbled.into()],
            at: at(when),
        })
        .unwrap();
    }
    let rows: Vec<String> = ["sessions", "answers", "practices"]
        .map(String::from)
        .into();
    let path = there.path().join(FILE_NAME);
    let mut old = Connection::open(&path).unwrap();
    rusqlite_migration::Migrations::from_slice(&schema::VERSIONS[..1])
        .to_latest(&mut old)
        .unwrap();
    old.execute("ATTACH ? AS now", [book.path().to_str().unwrap()])
        .unwrap();
    for table in rows {
        old.execute(
            &format!("INSERT INTO {table} SELECT * FROM now.{table}"),
            [],
        )
        .unwrap();
    }
    drop(old);

    let mut updated = Logbook::open(there.path()).unwrap();
    assert_eq!(updated.check().unwrap(), vec![]);
    assert_eq!(updated.overview().unwrap(), book.overview().unwrap());
    assert_eq!(exported(&mut updated), exported(&mut book));
}

#[test]
fn the_way_through_all_versions_is_sound() {
    schema::migrations().validate().unwrap();
}

#[test]
fn a_file_of_a_later_version_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    drop(Logbook::open(folder.path()).unwrap());
    let path = folder.path().join(FILE_NAME);
    let later = Connection::open(&path).unwrap();
    later.pragma_update(None, "user_version", 99).unwrap();
    drop(later);
    let before = std::fs::read(&path).unwrap();
    match Logbook::open(folder.path()) {
        Err(LogbookError::Newer {
            found: 99, known, ..
        }) => assert_eq!(known, schema::latest()),
        result => panic!("{result:?}"),
    }
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

#[test]
fn a_file_that_is_no_logbook_is_told_as_such() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join(FILE_NAME), "shopping list\n".repeat(500)).unwrap();
    assert!(matches!(
        Logbook::open(folder.path()),
        Err(LogbookError::Damaged { .. })
    ));
    let file = folder.path().join("file");
    std::fs::write(&file, "").unwrap();
    assert!(matches!(
        Logbook::open(&file),
        Err(LogbookError::Folder { .. })
    ));
}

#[test]
fn a_full_disk_refuses_the_answer_and_loses_none_before() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(folder.path()).unwrap();
    let id = book.begin(&start()).unwrap();
    // The store says the same when the file may not grow as when the disk has no room.
    let pages: i64 = book
        .store
        .pragma_query_value(None, "page_count", |row| row.get(0))
        .unwrap();
    book.store
        .pragma_update_and_check(None, "max_page_count", pages + 4, |_| Ok(()))
        .unwrap();
    let mut kept = 0;
    let refusal = loop {
        match book.record(&id, &answer("deal", true, "2031-05-01T19:30:05Z")) {
            Ok(()) => kept += 1,
            Err(refusal) => break refusal,
        }
        assert!(kept < 10_000, "the file should have filled up");
    };
    assert!(matches!(refusal, LogbookError::DiskFull { .. }));
    let words = refusal.to_string();
    assert!(
        words.starts_with("the disk is full: the answer was NOT kept"),
        "{words}"
    );
    assert_eq!(book.answers(&id).unwrap().len(), kept);
    assert_eq!(book.check().unwrap(), vec![]);
    // Room again: it goes on.
    book.store
        .pragma_update_and_check(None, "max_page_count", pages + 1000, |_| Ok(()))
        .unwrap();
    book.record(&id, &answer("deal", true, "2031-05-01T19:31:05Z"))
        .unwrap();
    drop(book);
    let book = Logbook::open(folder.path()).unwrap();
    assert_eq!(book.answers(&id).unwrap().len(), kept + 1);
}

#[test]
fn two_writers_at_once_lose_and_double_nothing() {
    let folder = tempfile::tempdir().unwrap();
    // Both make the file, too.
    let write = |name: &'static str, path: &Path| {
        let path = path.to_path_buf();
        std::thread::spawn(move || {
            let mut book = Logbook::open(&path).unwrap();
            let id = book.begin(&start()).unwrap();
            for _ in 0..60 {
                book.record(&id, &answer(name, true, "2031-05-01T19:30:05Z"))
                    .unwrap();
                book.overview().unwrap();
            }
            id
        })
    };
    let threads = ["deal", "cut", "turn", "deal"].map(|name| write(name, folder.path()));
    let ids = threads.map(|t| t.join().unwrap());
    let book = Logbook::open(folder.path()).unwrap();
    for id in &ids {
        assert_eq!(book.answers(id).unwrap().len(), 60);
    }
    let standing = book.standing("pairs").unwrap();
    let counts: Vec<(&str, u64)> = standing.iter().map(|s| (&*s.step, s.right)).collect();
    assert_eq!(counts, [("cut", 60), ("deal", 120), ("turn", 60)]);
    assert_eq!(book.check().unwrap(), vec![]);
}

#[test]
fn two_programs_may_write_into_one_session() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = Logbook::open(folder.path()).unwrap();
    let mut two = Logbook::open(folder.path()).unwrap();
    let id = one.begin(&start()).unwrap();
    for n in 0..6 {
        let book = if n % 2 == 0 { &mut one } else { &mut two };
        book.record(&id, &answer("deal", true, "2031-05-01T19:30:05Z"))
            .unwrap();
    }
    assert_eq!(two.answers(&id).unwrap().len(), 6);
    assert_eq!(one.check().unwrap(), vec![]);
}

#[test]
fn a_copy_is_a_logbook_and_never_overwrites() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(&folder.path().join("a")).unwrap();
    let id = book.begin(&start()).unwrap();
    book.record(&id, &answer("deal", true, "2031-05-01T19:30:05Z"))
        .unwrap();
    let home = folder.path().join("b");
    std::fs::create_dir(&home).unwrap();
    book.backup(&home.join(FILE_NAME)).unwrap();
    let mut copy = Logbook::open(&home).unwrap();
    assert_eq!(exported(&mut copy), exported(&mut book));
    assert_eq!(copy.check().unwrap(), vec![]);
    assert!(matches!(
        book.backup(&home.join(FILE_NAME)),
        Err(LogbookError::CopyExists(_))
    ));
    assert!(book.backup(&folder.path().join("none/copy")).is_err());
}

#[test]
fn the_check_finds_what_does_not_agree() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(folder.path()).unwrap();
    let id = book.begin(&start()).unwrap();
    for _ in 0..3 {
        book.record(&id, &answer("deal", true, "2031-05-01T19:30:05Z"))
            .unwrap();
    }
    let rules = |book: &Logbook| -> Vec<&'static str> {
        book.check().unwrap().into_iter().map(|f| f.rule).collect()
    };
    book.store
        .execute_batch("SAVEPOINT s; DELETE FROM answers WHERE ordinal = 2")
        .unwrap();
    assert_eq!(
        rules(&book),
        [
            "the answers of a session are numbered from 1 without a gap",
            "how the steps stand agrees with the answers",
            "how the steps stand agrees with the answers",
            "how the routines stand agrees with the answers",
            "how the routines stand agrees with the answers",
        ]
    );
    book.store
        .execute_batch(
            "ROLLBACK TO s; UPDATE answers SET first_key_ms = 5000 WHERE ordinal = 3;
             UPDATE sessions SET seed = '7x', drills = '[1]'",
        )
        .unwrap();
    assert_eq!(
        rules(&book),
        [
            "the first key comes before the end of an answer",
            "lists are lists of words",
            "seeds are whole numbers",
        ]
    );
    book.store.execute_batch("ROLLBACK").unwrap();
    book.store
        .execute_batch("PRAGMA foreign_keys = OFF; DELETE FROM sessions")
        .unwrap();
    assert_eq!(
        rules(&book),
        ["every answer belongs to a session, and what was performed to a show"; 3]
    );
}

#[test]
fn a_broken_pipe_is_told_apart() {
    struct Closed;
    impl std::io::Write for Closed {
        fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
            Err(std::io::ErrorKind::BrokenPipe.into())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(folder.path()).unwrap();
    assert!(book.export(&mut Closed).unwrap_err().is_broken_pipe());
}

#[test]
fn times_no_calendar_holds_are_refused_and_fine_ones_are_cut() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(folder.path()).unwrap();
    let never = SessionStart {
        started: DateTime::<chrono::Utc>::MAX_UTC.fixed_offset(),
        ..start()
    };
    assert!(matches!(book.begin(&never), Err(LogbookError::Time(_))));
    let fine = SessionStart {
        started: at("2031-05-01T19:30:00.123456789Z"),
        ..start()
    };
    book.begin(&fine).unwrap();
    assert_eq!(
        book.sessions().unwrap()[0].start.started,
        at("2031-05-01T19:30:00.123Z")
    );
}

fn any_time() -> impl Strategy<Value = DateTime<FixedOffset>> {
    (-1_000_000_000_000i64..4_000_000_000_000, -1439i32..=1439).prop_map(|(ms, minutes)| {
        DateTime::from_timestamp_millis(ms)
            .unwrap()
            .with_timezone(&FixedOffset::east_opt(minutes * 60).unwrap())
    })
}

prop_compose! {
    fn any_answer()(
        words in prop::collection::vec(any::<String>(), 8),
        choices in prop::collection::vec(any::<String>(), 0..3),
        again in any::<bool>(),
        step in "[a-c]",
        seed in any::<Option<u64>>(),
        right in any::<bool>(),
        first_key_ms in prop::option::of(0u64..1000),
        total_ms in 1000u64..u64::MAX / 2,
        at in any_time(),
    ) -> Answer {
        let [content_hash, drill, kind, detail, question, given, expected, answer] =
            <[String; 8]>::try_from(words).unwrap();
        Answer { routine: "pairs".into(), content_hash, step, drill, kind, detail, again, question, seed, choices, given, expected,
            answer, right, first_key_ms, total_ms, at }
    }
}

prop_compose! {
    fn any_session()(
        seed in any::<Option<u64>>(),
        setup in any::<u64>(),
        routine in any::<String>(),
        drills in prop::collection::vec(any::<String>(), 0..3),
        started in any_time(),
        ended in prop::option::of(any_time()),
        answers in prop::collection::vec(any_answer(), 0..12),
    ) -> (SessionStart, Option<DateTime<FixedOffset>>, Vec<Answer>) {
        (SessionStart { routine, seed, setup, drills, started, ..start() }, ended, answers)
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn any_logbook_goes_out_and_in_again_unchanged(
        sessions in prop::collection::vec(any_session(), 0..4),
        notes in prop::collection::vec((any::<String>(), prop::collection::vec("[a-c]", 0..3), any_time()), 0..3),
    ) {
        let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let mut book = Logbook::open(here.path()).unwrap();
        for (start, ended, answers) in &sessions {
            let id = book.begin(start).unwrap();
            for answer in answers {
                book.record(&id, answer).unwrap();
            }
            if let Some(ended) = ended {
                book.end(&id, *ended).unwrap();
            }
            prop_assert_eq!(&book.answers(&id).unwrap(), answers);
        }
        for (note, stumbled, at) in notes {
            book.add_practice(&Practice { routine: "pairs".into(), note, stumbled, at }).unwrap();
        }
        let bytes = exported(&mut book);
        let mut other = Logbook::open(there.path()).unwrap();
        other.import(&mut bytes.as_slice()).unwrap();
        prop_assert_eq!(exported(&mut other), bytes.clone());
        let again = other.import(&mut bytes.as_slice()).unwrap();
        prop_assert_eq!(again.sessions + again.answers + again.practices, 0);
        prop_assert_eq!(exported(&mut other), bytes);
        prop_assert_eq!(other.overview().unwrap(), book.overview().unwrap());
        prop_assert_eq!(other.check().unwrap(), vec![]);
    }
}
