//! Plans and shows through the real program, with a moved clock and a time zone of its own.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

#[path = "plan/several.rs"]
mod several;

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Stdio};

/// Runs the program in Berlin at a time.
fn run(data: &Path, now: &str, args: &[&str]) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .env("TZ", "Europe/Berlin")
        .env("ALLROADS_DATA", data)
        .env("ALLROADS_NOW", now)
        .stdin(Stdio::null())
        .args(args)
        .output()
        .unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

fn done(data: &Path, now: &str, args: &[&str]) -> String {
    let (code, text, errors) = run(data, now, args);
    assert_eq!((code, errors.as_str()), (0, ""), "{args:?}: {text}");
    text
}

fn json(data: &Path, now: &str, args: &[&str]) -> Value {
    let args: Vec<&str> = args.iter().copied().chain(["--json"]).collect();
    serde_json::from_str(&done(data, now, &args)).unwrap()
}

fn dates(plan: &Value) -> Vec<&str> {
    let days = plan["days"].as_array().unwrap();
    days.iter()
        .map(|day| day["date"].as_str().unwrap())
        .collect()
}

const MORNING: &str = "2027-03-15T09:00:00+01:00";

#[test]
fn rehearsals_begin_at_the_same_time_of_the_clock_before_and_after_it_is_changed() {
    let data = tempfile::tempdir().unwrap();
    let plan = json(
        data.path(),
        MORNING,
        &["plan", "chairlift", "--show", "2027-04-05", "--at", "18:30"],
    );
    let days = plan["days"].as_array().unwrap();
    assert!(days.len() >= 3, "{plan}");
    let mut offsets = std::collections::BTreeSet::new();
    for day in days {
        let begins = day["begins"].as_str().unwrap();
        let date = day["date"].as_str().unwrap();
        // Clocks in Berlin go from +01:00 to +02:00 in the night to 28 March 2027 (the last Sunday of March, EU directive 2000/84).
        let offset = if date < "2027-03-28" {
            "+01:00"
        } else {
            "+02:00"
        };
        assert_eq!(begins, format!("{date}T18:30:00{offset}"));
        offsets.insert(offset);
    }
    assert_eq!(offsets.len(), 2, "{plan}");
    assert_eq!(dates(&plan).first(), Some(&"2027-03-15"));
    assert_eq!(dates(&plan).last(), Some(&"2027-04-04"));
    assert_eq!(days.last().unwrap()["dress"], true);
    // The hour that the clock leaves out: the same so long after the clock before.
    let skipped = json(
        data.path(),
        MORNING,
        &["plan", "--at", "02:30", "--show", "2027-03-29"],
    );
    let last = skipped["days"].as_array().unwrap().last().unwrap();
    assert_eq!(last["begins"], "2027-03-28T03:30:00+02:00");
}

#[test]
fn days_off_and_days_of_the_week_are_kept_free_and_the_plan_is_remembered() {
    let data = tempfile::tempdir().unwrap();
    let asked = [
        "plan",
        "chairlift",
        "geese",
        "--show",
        "2027-04-05",
        "--days",
        "mon,wed,sat",
        "--off",
        "2027-03-17",
        "--off",
        "2027-04-03",
        "--minutes-per-day",
        "30",
    ];
    let plan = json(data.path(), MORNING, &asked);
    let free = [
        "2027-03-15",
        "2027-03-20",
        "2027-03-22",
        "2027-03-24",
        "2027-03-27",
        "2027-03-29",
        "2027-03-31",
    ];
    for date in dates(&plan) {
        assert!(free.contains(&date), "{date}");
    }
    assert_eq!(dates(&plan).last(), Some(&"2027-03-31"));
    for day in plan["days"].as_array().unwrap() {
        let each: u64 = day["each"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["minutes"].as_u64().unwrap())
            .sum();
        assert_eq!(day["minutes"].as_u64().unwrap(), each);
        assert!(day["dress"] == true || each <= 30);
        for bound in ["low", "mean", "high"] {
            assert!((0.0..=1.0).contains(&day["chance"][bound].as_f64().unwrap()));
        }
    }
    // Both routines get some of it, and the forecast does not fall.
    let given = |n: usize| -> u64 {
        let days = plan["days"].as_array().unwrap();
        days.iter()
            .map(|day| day["each"][n]["minutes"].as_u64().unwrap())
            .sum()
    };
    assert!(given(0) > 0 && given(1) > 0, "{plan}");
    let last = plan["days"].as_array().unwrap().last().unwrap();
    assert!(last["chance"]["mean"].as_f64() > plan["now"]["mean"].as_f64());
    // Asked again without arguments it is the same; the next day it has moved on.
    assert_eq!(json(data.path(), MORNING, &["plan"]), plan);
    let later = json(data.path(), "2027-03-16T09:00:00+01:00", &["plan"]);
    assert_eq!(dates(&later).first(), Some(&"2027-03-20"));
    assert_eq!(
        later["off"],
        serde_json::json!(["2027-03-17", "2027-04-03"])
    );
    let text = done(data.path(), MORNING, &["plan", "--minutes-per-day", "60"]);
    assert!(text.contains("but not on 17 March, 3 April"), "{text}");
    assert!(
        text.contains("Rest your hands after twenty minutes"),
        "{text}"
    );
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    assert!(done(data.path(), MORNING, &["plan", "--forget"]).contains("forgotten"));
    assert_eq!(run(data.path(), MORNING, &["plan"]).0, 2);
}

#[test]
fn what_cannot_be_planned_is_refused_with_what_to_do() {
    let data = tempfile::tempdir().unwrap();
    let cases: [(&[&str], &str); 8] = [
        (&["plan"], "there is no plan yet"),
        (&["plan", "chairlift"], "when is the show?"),
        (
            &["plan", "chairlift", "--show", "2027-03-14"],
            "the show was on 2027-03-14",
        ),
        (&["plan", "chairlift", "--show", "soon"], "--show"),
        (
            &["plan", "chairlift", "chairlift", "--show", "2027-04-05"],
            "named twice",
        ),
        (
            &[
                "plan",
                "chairlift",
                "--show",
                "2027-04-05",
                "--days",
                "someday",
            ],
            "the days are mon, tue",
        ),
        (
            &["plan", "chairlift", "--show", "2027-04-05", "--at", "noon"],
            "a time of day",
        ),
        (
            &["plan", "nothing-such", "--show", "2027-04-05"],
            "nothing-such",
        ),
    ];
    for (args, words) in cases {
        let (code, text, errors) = run(data.path(), MORNING, args);
        assert_eq!((code, text.as_str()), (2, ""), "{args:?}");
        assert!(errors.contains(words), "{args:?}: {errors}");
    }
    // More than an hour a day is never planned.
    let text = done(
        data.path(),
        MORNING,
        &[
            "plan",
            "chairlift",
            "--show",
            "2027-03-18",
            "--minutes-per-day",
            "600",
        ],
    );
    assert!(
        text.contains("600 minutes a day were allowed; more than 60 are never planned"),
        "{text}"
    );
    let (code, _, errors) = run(data.path(), "yesterday", &["plan"]);
    assert_eq!(code, 2);
    assert!(errors.contains("ALLROADS_NOW"), "{errors}");
}

#[test]
fn the_calendar_names_the_same_day_alike_each_time_it_is_written() {
    let data = tempfile::tempdir().unwrap();
    let file = data.path().join("plan.ics");
    let named = |now: &str, args: &[&str]| -> Vec<String> {
        let args: Vec<&str> = args
            .iter()
            .copied()
            .chain(["--ics", file.to_str().unwrap()])
            .collect();
        done(data.path(), now, &args);
        let text = std::fs::read_to_string(&file).unwrap();
        let names = text.lines().filter_map(|line| line.strip_prefix("UID:"));
        names.map(str::to_owned).collect()
    };
    let first = named(MORNING, &["plan", "chairlift", "--show", "2027-04-05"]);
    let again = named("2027-03-15T21:00:00+01:00", &["plan"]);
    assert_eq!(first, again);
    assert_eq!(first.last().unwrap(), "show-2027-04-05@allroads");
    assert_eq!(first[0], "rehearsal-2027-03-15-for-2027-04-05@allroads");
}

#[test]
fn shows_are_added_listed_exported_and_taken_out() {
    let data = tempfile::tempdir().unwrap();
    let there = tempfile::tempdir().unwrap();
    let add = [
        "shows",
        "add",
        "chairlift",
        "geese",
        "--date",
        "2027-03-14",
        "--place",
        "the back room",
        "--choose",
        "thirsty=9",
        "--choose",
        "geese:debate=3",
        "--stray",
        "coach=cuts twice",
        "--slip",
        "elbows=dropped three",
        "--note",
        "warm",
        "--json",
    ];
    let kept: Value = serde_json::from_str(&done(data.path(), MORNING, &add)).unwrap();
    assert_eq!(kept["date"], "2027-03-14");
    let listed = done(data.path(), MORNING, &["shows", "list", "--json"]);
    let show: Value = serde_json::from_str(&listed).unwrap();
    assert_eq!(show["id"], kept["id"]);
    assert_eq!(show["place"], "the back room");
    let chairlift = &show["performed"][0];
    assert_eq!(chairlift["choices"], serde_json::json!(["thirsty=9"]));
    assert_eq!(
        chairlift["strays"],
        serde_json::json!([{"step": "coach", "what": "cuts twice"}])
    );
    assert_eq!(
        chairlift["slips"],
        serde_json::json!([{"step": "elbows", "what": "dropped three"}])
    );
    // Every road of this routine does every step.
    assert_eq!(chairlift["steps"].as_array().unwrap().len(), 10);
    // Three rounds are two times yes and then no.
    let geese = &show["performed"][1];
    assert_eq!(
        geese["choices"],
        serde_json::json!(["debate=yes", "debate@2=yes", "debate@3=no"])
    );
    let text = done(data.path(), MORNING, &["shows"]);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "2027-03-14 Nobody Rides Alone, The Goose Question, the back room",
        "how many went in for cocoa: 9",
        "The Goose Question: 3 rounds; clean",
        "not offered: “The coach empties” (cuts twice)",
        "went wrong: “Two queues become one” (dropped three)",
        "clean",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    let export = data.path().join("all.jsonl");
    let told = done(
        data.path(),
        MORNING,
        &["log", "export", export.to_str().unwrap()],
    );
    assert!(
        told.contains("0 sessions, 0 answers, 0 practices and 1 show"),
        "{told}"
    );
    done(
        there.path(),
        MORNING,
        &["log", "import", export.to_str().unwrap()],
    );
    assert_eq!(
        done(there.path(), MORNING, &["shows", "list", "--json"]),
        listed
    );
    assert!(done(there.path(), MORNING, &["log", "check"]).contains("sound"));
    // Written down, it is not still to come.
    let there = there.path();
    done(
        there,
        MORNING,
        &["plan", "chairlift", "--show", "2027-03-15"],
    );
    let add = |routine| done(there, MORNING, &["shows", "add", routine]);
    assert!(add("geese").contains("Next: the show is today."));
    assert!(done(there, MORNING, &["plan"]).contains("walk through it once"));
    assert!(!add("chairlift").contains("Next:"));
    assert!(done(there, MORNING, &["plan"]).contains("It is played"));
    let (code, _, errors) = run(there, "2027-03-16T09:00:00+01:00", &["plan"]);
    assert_eq!(code, 2);
    assert!(
        errors.contains("is written down. Plan the next one"),
        "{errors}"
    );
    let short: String = kept["id"].as_str().unwrap().chars().take(8).collect();
    done(data.path(), MORNING, &["shows", "remove", &short]);
    assert_eq!(done(data.path(), MORNING, &["shows", "list", "--json"]), "");
    assert!(done(data.path(), MORNING, &["log", "check"]).contains("sound"));
}

#[test]
fn shows_that_cannot_be_are_refused_with_what_to_do() {
    let data = tempfile::tempdir().unwrap();
    let cases: [(&[&str], &str); 9] = [
        (&["shows", "add"], "ROUTINE"),
        (
            &["shows", "add", "chairlift", "--date", "2027-03-16"],
            "still to come",
        ),
        (
            &["shows", "add", "chairlift", "--choose", "thirsty=99"],
            "no road has all these choices",
        ),
        (
            &["shows", "add", "chairlift", "--choose", "hungry=9"],
            "the choices are",
        ),
        (
            &["shows", "add", "chairlift", "--slip", "elbow"],
            "Did you mean elbows?",
        ),
        (
            &["shows", "add", "chairlift", "--stray", "coach"],
            "what did they do at coach?",
        ),
        (&["shows", "add", "chairlift", "chairlift"], "named twice"),
        (&["shows", "remove", "ffff"], "no show is called ffff"),
        (&["shows", "remove", ""], "no show is called"),
    ];
    for (args, words) in cases {
        let (code, text, errors) = run(data.path(), MORNING, args);
        assert_eq!((code, text.as_str()), (2, ""), "{args:?}");
        assert!(errors.contains(words), "{args:?}: {errors}");
    }
    assert_eq!(done(data.path(), MORNING, &["shows", "list", "--json"]), "");
}

#[test]
fn of_an_hour_that_comes_twice_the_first_is_meant_and_what_is_over_today_begins_soon() {
    let data = tempfile::tempdir().unwrap();
    let plan = json(
        data.path(),
        "2027-10-29T09:07:30+02:00",
        &[
            "plan",
            "geese",
            "--show",
            "2027-11-02",
            "--at",
            "02:30",
            "--minutes-per-day",
            "5",
        ],
    );
    let begins: Vec<&str> = plan["days"]
        .as_array()
        .unwrap()
        .iter()
        .map(|day| day["begins"].as_str().unwrap())
        .collect();
    // Clocks in Berlin go from 3 back to 2 in the night to 31 October 2027 (the last Sunday of October, EU directive 2000/84).
    for begins in &begins {
        assert!(
            [
                "2027-10-29T09:15:00+02:00",
                "2027-10-30T02:30:00+02:00",
                "2027-10-31T02:30:00+02:00",
                "2027-11-01T02:30:00+01:00",
            ]
            .contains(begins),
            "{plan}"
        );
    }
    assert_eq!(begins.first(), Some(&"2027-10-29T09:15:00+02:00"));
    assert!(begins.contains(&"2027-10-31T02:30:00+02:00"), "{plan}");
}

#[test]
fn what_no_plan_can_be_made_of_is_told_in_words_and_nothing_is_kept() {
    let data = tempfile::tempdir().unwrap();
    let folder = data.path().to_str().unwrap();
    let nowhere = data.path().join("no/plan.ics");
    let cases: [(&[&str], &str); 7] = [
        (
            &["--show", "2027-03-14"],
            "the show was on 2027-03-14, and today is 2027-03-15",
        ),
        (&["--show", "tomorrow"], "such as 2031-05-01"),
        (
            &["--show", "2027-04-05", "--minutes-per-day", "0"],
            "a number of minutes is needed",
        ),
        (
            &["--show", "2027-04-05", "--minutes-per-day", "-5"],
            "a number of minutes is needed",
        ),
        (
            &["--show", "2027-04-05", "--days", "mon,xyz"],
            "the days are mon, tue",
        ),
        (&["--show", "2027-04-05", "--ics", folder], "is a folder"),
        (
            &["--show", "2027-04-05", "--ics", nowhere.to_str().unwrap()],
            "there is no folder",
        ),
    ];
    for (args, words) in cases {
        let args = [&["plan", "chairlift"][..], args].concat();
        let (code, text, errors) = run(data.path(), MORNING, &args);
        assert_eq!((code, text.as_str()), (2, ""), "{args:?}");
        assert!(errors.contains(words), "{args:?}: {errors}");
        let (_, _, errors) = run(data.path(), MORNING, &["plan"]);
        assert!(
            errors.contains("there is no plan yet"),
            "{args:?}: {errors}"
        );
    }
}

#[test]
fn no_folder_of_this_machine_leaves_it_with_a_plan() {
    let (data, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let own = tempfile::tempdir().unwrap();
    let file = own.path().join("own.yaml");
    let text = include_str!("fixtures/everything.yaml");
    std::fs::write(&file, text).unwrap();
    let (calendar, export) = (data.path().join("plan.ics"), data.path().join("all.jsonl"));
    let folder = own.path().to_str().unwrap();
    let plan = [
        "plan",
        file.to_str().unwrap(),
        "--show",
        "2027-03-22",
        "--ics",
        calendar.to_str().unwrap(),
    ];
    let told = json(data.path(), MORNING, &plan).to_string();
    done(
        data.path(),
        MORNING,
        &["log", "export", export.to_str().unwrap()],
    );
    let exported = std::fs::read_to_string(&export).unwrap();
    assert!(exported.contains("2027-03-22"), "{exported}");
    let unfolded = std::fs::read_to_string(&calendar)
        .unwrap()
        .replace("\r\n ", "");
    assert!(
        unfolded.contains("allroads rehearse own.yaml"),
        "{unfolded}"
    );
    for text in [told.as_str(), &exported, &unfolded] {
        assert!(!text.contains(folder), "{text}");
    }
    // It is found again here; elsewhere it has to be named once more.
    assert_eq!(json(data.path(), MORNING, &["plan"])["show"], "2027-03-22");
    done(
        there.path(),
        MORNING,
        &["log", "import", export.to_str().unwrap()],
    );
    let (code, _, errors) = run(there.path(), MORNING, &["plan"]);
    assert_eq!(code, 2);
    assert!(
        errors.contains("own is planned") && errors.contains("allroads plan PATH"),
        "{errors}"
    );
}
