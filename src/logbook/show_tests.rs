use super::*;
use chrono::{DateTime, FixedOffset, NaiveDate};
use std::collections::BTreeMap;

fn at(text: &str) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(text).unwrap()
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn happened(step: &str, what: &str) -> Happened {
    Happened {
        step: step.into(),
        what: what.into(),
    }
}

fn show(date: &str, routine: &str) -> Show {
    Show {
        date: day(date),
        place: "the back room, „upstairs“".into(),
        note: "Warm; they laughed\nat the cow.".into(),
        performed: vec![
            Performance {
                routine: "other".into(),
                ..Performance::default()
            },
            Performance {
                routine: routine.into(),
                choices: vec!["n=9".into(), "how=\"so\"".into()],
                steps: vec!["deal".into(), "turn".into()],
                strays: vec![
                    happened("deal", "cuts twice"),
                    happened("turn", "cuts twice"),
                ],
                slips: vec![happened("turn", "")],
            },
        ],
        at: at("2031-05-02T00:15:00.250+02:00"),
    }
}

fn exported(book: &mut Logbook) -> Vec<u8> {
    let mut out = Vec::new();
    book.export(&mut out).unwrap();
    out
}

#[test]
fn a_show_is_read_back_word_for_word_and_can_be_taken_out() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(folder.path()).unwrap();
    let later = book.add_show(&show("2031-05-01", "pairs")).unwrap();
    let earlier = book.add_show(&show("2031-04-01", "pairs")).unwrap();
    let kept = book.shows().unwrap();
    assert_eq!(kept.len(), 2);
    assert_eq!(kept[0].id, earlier);
    assert_eq!(kept[0].show, show("2031-04-01", "pairs"));
    assert_eq!(kept[1].id, later);
    assert_eq!(kept[1].show, show("2031-05-01", "pairs"));
    let nights = book.nights("pairs").unwrap();
    assert_eq!(nights.len(), 2);
    assert_eq!(nights[1].date, day("2031-05-01"));
    assert_eq!(
        nights[1].performance,
        show("2031-05-01", "pairs").performed[1]
    );
    assert_eq!(book.nights("elsewhere").unwrap(), vec![]);
    assert_eq!(
        book.strays_met("pairs").unwrap(),
        BTreeMap::from([("cuts twice".to_owned(), 4)])
    );
    assert_eq!(book.check().unwrap(), vec![]);
    assert!(book.remove_show(&earlier).unwrap());
    assert!(!book.remove_show(&earlier).unwrap());
    assert_eq!(book.shows().unwrap().len(), 1);
    assert_eq!(book.nights("other").unwrap().len(), 1);
    assert_eq!(book.check().unwrap(), vec![]);
}

#[test]
fn shows_go_out_and_in_again_unchanged_and_never_twice() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut book = Logbook::open(here.path()).unwrap();
    book.add_show(&show("2031-05-01", "pairs")).unwrap();
    book.add_show(&show("2031-04-01", "ring \"7\"")).unwrap();
    let bytes = exported(&mut book);
    let mut other = Logbook::open(there.path()).unwrap();
    assert_eq!(other.import(&mut bytes.as_slice()).unwrap().shows, 2);
    assert_eq!(exported(&mut other), bytes);
    assert_eq!(other.shows().unwrap(), book.shows().unwrap());
    let again = other.import(&mut bytes.as_slice()).unwrap();
    assert_eq!((again.shows, again.known), (0, 2));
    let changed = String::from_utf8(bytes)
        .unwrap()
        .replace("cuts twice", "cuts once");
    let differing = other.import(&mut changed.as_bytes()).unwrap().differing;
    assert_eq!(differing, vec![2, 3]);
    assert_eq!(other.check().unwrap(), vec![]);
}

#[test]
fn a_show_on_a_day_that_no_calendar_has_is_refused_whole() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut book = Logbook::open(here.path()).unwrap();
    book.add_show(&show("2031-05-01", "pairs")).unwrap();
    let text = String::from_utf8(exported(&mut book)).unwrap();
    let mut other = Logbook::open(there.path()).unwrap();
    for wrong in ["2031-02-30", "yesterday"] {
        let wrong = text.replace("2031-05-01", wrong);
        match other.import(&mut wrong.as_bytes()) {
            Err(LogbookError::Row { line: 2, message }) => {
                assert!(message.contains("cannot be right"), "{message}");
            }
            result => panic!("{result:?}"),
        }
        assert_eq!(other.shows().unwrap(), vec![]);
    }
}

#[test]
fn the_check_finds_shows_that_do_not_agree() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = Logbook::open(folder.path()).unwrap();
    book.add_show(&show("2031-05-01", "pairs")).unwrap();
    let rules = |book: &Logbook| -> Vec<&'static str> {
        book.check().unwrap().into_iter().map(|f| f.rule).collect()
    };
    book.store
        .execute_batch(
            "UPDATE performances SET slips = '[{\"step\":7}]', choices = '[7]' WHERE ordinal = 2",
        )
        .unwrap();
    assert_eq!(
        rules(&book),
        [
            "lists are lists of words",
            "what happened on stage has a step and words"
        ]
    );
    book.store
        .execute_batch("DELETE FROM performances WHERE ordinal = 1; UPDATE performances SET slips = '[]', choices = '[]'")
        .unwrap();
    assert_eq!(
        rules(&book),
        ["the routines of a show are numbered from 1 without a gap"]
    );
}
