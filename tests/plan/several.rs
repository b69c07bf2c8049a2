//! Several shows, and shows of several routines.

use super::{MORNING, dates, done, json, run};
use serde_json::Value;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

#[test]
fn each_show_has_a_plan_of_its_own_and_a_routine_is_in_one_of_them() {
    let data = tempfile::tempdir().unwrap();
    let first = json(
        data.path(),
        MORNING,
        &["plan", "chairlift", "--show", "2027-04-05"],
    );
    let second = json(
        data.path(),
        MORNING,
        &["plan", "geese", "--show", "2027-05-02"],
    );
    assert_eq!(first["other_shows"], serde_json::json!([]));
    assert_eq!(second["other_shows"], serde_json::json!(["2027-04-05"]));
    // Without a name the next show is meant; by its day the other.
    let nearest = json(data.path(), MORNING, &["plan"]);
    assert_eq!(
        (&nearest["show"], &nearest["days"]),
        (&first["show"], &first["days"])
    );
    let other = json(data.path(), MORNING, &["plan", "--show", "2027-05-02"]);
    assert_eq!(other["routines"][0]["routine"], "geese");
    assert_eq!(other["days"], second["days"]);
    let text = done(data.path(), MORNING, &["plan"]);
    assert!(
        text.contains("Another show is planned for Sunday 2 May"),
        "{text}"
    );
    // Both aim at their own day.
    let aims = |routine: &str| json(data.path(), MORNING, &["progress", routine])["show"].clone();
    assert_eq!(aims("chairlift"), "2027-04-05");
    assert_eq!(aims("geese"), "2027-05-02");
    let (code, _, errors) = run(data.path(), MORNING, &["plan", "--show", "2027-06-01"]);
    assert_eq!(code, 2);
    assert!(
        errors.contains("which show?") && errors.contains("2027-05-02"),
        "{errors}"
    );
    // A routine named for another show leaves the one before, and an empty plan goes.
    done(
        data.path(),
        MORNING,
        &["plan", "chairlift", "geese", "--show", "2027-05-02"],
    );
    let both = json(data.path(), MORNING, &["plan"]);
    assert_eq!(both["show"], "2027-05-02");
    assert_eq!(both["routines"].as_array().unwrap().len(), 2);
    assert_eq!(both["other_shows"], serde_json::json!([]));
    assert_eq!(aims("chairlift"), "2027-05-02");
    let text = done(
        data.path(),
        MORNING,
        &["plan", "geese", "--show", "2027-05-02"],
    );
    assert!(
        text.contains("Planned no more: Nobody Rides Alone."),
        "{text}"
    );
    assert_eq!(aims("chairlift"), Value::Null);
    // Of several, one is forgotten by its day.
    done(
        data.path(),
        MORNING,
        &["plan", "chairlift", "--show", "2027-04-05"],
    );
    assert_eq!(run(data.path(), MORNING, &["plan", "--forget"]).0, 2);
    let told = done(
        data.path(),
        MORNING,
        &["plan", "--forget", "--show", "2027-05-02"],
    );
    assert!(told.contains("2027-05-02 is forgotten"), "{told}");
    assert_eq!(json(data.path(), MORNING, &["plan"])["show"], "2027-04-05");
    // What is over is planned for no more once there is another.
    done(
        data.path(),
        "2027-04-06T09:00:00+02:00",
        &["plan", "geese", "--show", "2027-05-02"],
    );
    let left = json(data.path(), "2027-04-06T10:00:00+02:00", &["plan"]);
    assert_eq!(left["show"], "2027-05-02");
    assert_eq!(left["other_shows"], serde_json::json!([]));
}

#[test]
fn plans_for_two_shows_know_of_each_other_s_minutes_on_the_same_day() {
    let data = tempfile::tempdir().unwrap();
    let show = |routine, date: &str| {
        let args = ["plan", routine, "--show", date, "--minutes-per-day", "60"];
        json(
            data.path(),
            MORNING,
            &[&args[..], &["--at", "18:30"]].concat(),
        )
    };
    // The later show is planned first: the nearer one comes before it all the same.
    show("geese", "2027-03-25");
    let first = show("chairlift", "2027-03-22");
    assert!(
        first["days"]
            .as_array()
            .unwrap()
            .iter()
            .all(|day| day["elsewhere"] == 0)
    );
    let second = json(data.path(), MORNING, &["plan", "--show", "2027-03-25"]);
    let mut shared = 0;
    for day in second["days"].as_array().unwrap() {
        let minutes = |day: &Value| day["minutes"].as_u64().unwrap();
        let there = first["days"].as_array().unwrap().iter();
        let other = there.clone().find(|other| other["date"] == day["date"]);
        let Some(other) = other else {
            assert_eq!(day["elsewhere"], 0, "{day}");
            assert!(
                day["begins"].as_str().unwrap().contains("T18:30:00"),
                "{day}"
            );
            continue;
        };
        shared += 1;
        assert_eq!(day["elsewhere"], other["minutes"], "{day} {other}");
        assert!(minutes(day) + minutes(other) <= 60, "{day} {other}");
        // One after the other.
        assert_eq!(day["begins"], other["ends"], "{day} {other}");
    }
    assert!(shared > 2, "{second}");
    let text = done(data.path(), MORNING, &["plan", "--show", "2027-03-25"]);
    assert!(
        text.contains("of these days are also planned for a show before this"),
        "{text}"
    );
    // The foyer's line and the end of a show say the same as the plan.
    let next = done(data.path(), MORNING, &["shows", "add", "geese"]);
    let today = &second["days"][0];
    assert_eq!(today["date"], "2027-03-15");
    assert!(
        next.contains(&format!("Next: today, {} minutes", today["minutes"])),
        "{next}"
    );
    // Without the nearer show the later one has its days to itself.
    done(
        data.path(),
        MORNING,
        &["plan", "--forget", "--show", "2027-03-22"],
    );
    let alone = json(data.path(), MORNING, &["plan"]);
    assert!(
        alone["days"]
            .as_array()
            .unwrap()
            .iter()
            .all(|day| day["elsewhere"] == 0)
    );
}

#[test]
fn what_two_shows_have_for_today_begins_soon_and_one_after_the_other() {
    let data = tempfile::tempdir().unwrap();
    let late = "2027-03-15T20:52:10+01:00";
    for (routine, date) in [("chairlift", "2027-03-22"), ("geese", "2027-03-25")] {
        let args = ["plan", routine, "--show", date, "--at", "18:30"];
        done(
            data.path(),
            late,
            &[&args[..], &["--minutes-per-day", "20"]].concat(),
        );
    }
    let today = |show| {
        let plan = json(data.path(), late, &["plan", "--show", show]);
        plan["days"][0].clone()
    };
    let (first, second) = (today("2027-03-22"), today("2027-03-25"));
    assert_eq!(first["begins"], "2027-03-15T21:00:00+01:00", "{first}");
    assert_eq!(second["begins"], first["ends"], "{second}");
}

/// Practises a routine, knowing nothing.
fn rehearse(data: &Path, now: &str, routine: &str) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .env("TZ", "Europe/Berlin")
        .env("ALLROADS_DATA", data)
        .env("ALLROADS_NOW", now)
        .args(["rehearse", routine, "--plain", "--mute", "--seed", "3"])
        .args(["--questions", "4"])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let mut to = child.stdin.take().unwrap();
    to.write_all("-\n".repeat(40).as_bytes()).unwrap();
    drop(to);
    assert!(child.wait().unwrap().success());
}

#[test]
fn a_day_on_which_one_routine_of_the_show_was_left_out_is_still_to_come() {
    let data = tempfile::tempdir().unwrap();
    let args = ["plan", "chairlift", "geese", "--show", "2027-03-25"];
    let before = json(data.path(), MORNING, &args);
    assert_eq!(dates(&before)[0], "2027-03-15");
    rehearse(data.path(), "2027-03-15T10:00:00+01:00", "chairlift");
    let noon = "2027-03-15T12:00:00+01:00";
    assert_eq!(
        dates(&json(data.path(), noon, &["plan"]))[0],
        "2027-03-15",
        "the geese were left out"
    );
    rehearse(data.path(), "2027-03-15T11:00:00+01:00", "geese");
    let after = json(data.path(), noon, &["plan"]);
    assert!(dates(&after)[0] > "2027-03-15", "{after}");
}
