//! Progress through the real program: in a pipe, for programs, for spreadsheets, as pages; what is told of wrong names.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

use serde_json::Value;
use std::fmt::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

const ROUTINE: &str = "tests/fixtures/ferry.yaml";

/// Runs and gives the code, the output and the errors.
fn run(data: &Path, args: &[&str]) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("TZ", "UTC")
        .env("ALLROADS_NOW", "2021-05-09T20:00:00+00:00")
        .env("ALLROADS_DATA", data)
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

fn good(data: &Path, args: &[&str]) -> String {
    let (code, text, errors) = run(data, args);
    assert_eq!((code, errors.as_str()), (0, ""), "{args:?}");
    text
}

/// A logbook in which each step was answered so often, all on one Monday; every fourth answer is wrong.
fn logbook(routine: &str, steps: &[(&str, usize)]) -> tempfile::TempDir {
    let data = tempfile::tempdir().unwrap();
    let zeros = "0".repeat(64);
    let mut export = String::from("{\"logbook\":\"allroads\",\"version\":1}\n");
    let session = format!("{:0>32}", 1);
    let day = "2021-05-03T19:30:00.000+00:00";
    writeln!(
        export,
        "{{\"session\":{{\"id\":\"{session}\",\"routine\":\"{routine}\",\"content_hash\":\"{zeros}\",\"seed\":\"7\",\"setup\":\"0\",\
         \"drills\":[\"picture\"],\"manner\":\"plain\",\"started\":\"{day}\",\"ended\":\"{day}\"}}}}"
    )
    .unwrap();
    let mut ordinal = 0;
    for (step, answers) in steps {
        for n in 0..*answers {
            ordinal += 1;
            let right = n % 4 != 3;
            writeln!(
                export,
                "{{\"answer\":{{\"session\":\"{session}\",\"ordinal\":{ordinal},\"routine\":\"{routine}\",\"content_hash\":\"{zeros}\",\
                 \"step\":\"{step}\",\"drill\":\"picture\",\"kind\":\"card\",\"detail\":\"packet 1\",\"again\":false,\"question\":\"Which?\",\
                 \"seed\":\"7\",\"choices\":[\"n=3\"],\"given\":\"\",\"expected\":\"7♥\",\"answer\":\"7h\",\"right\":{right},\
                 \"first_key_ms\":800,\"total_ms\":{},\"at\":\"{day}\"}}}}",
                2_000 + 100 * n
            )
            .unwrap();
        }
    }
    let file = data.path().join("export.jsonl");
    std::fs::write(&file, export).unwrap();
    good(data.path(), &["log", "import", file.to_str().unwrap()]);
    data
}

fn practised() -> tempfile::TempDir {
    logbook("ferry", &[("board", 8), ("ashore", 4), ("away", 2)])
}

#[test]
fn for_programs_each_step_has_what_was_answered() {
    let data = practised();
    let text = good(data.path(), &["progress", ROUTINE, "--json"]);
    assert_eq!(text.lines().count(), 1);
    let told: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(told["routine"], "ferry");
    assert_eq!(told["title"], "Last Ferry");
    assert_eq!(told["answers"], 14);
    assert_eq!(told["show"], Value::Null);
    assert_eq!(told["gone"], serde_json::json!(["away"]));
    let steps: Vec<(&str, u64, u64, &str)> = told["steps"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| {
            (
                step["step"].as_str().unwrap(),
                step["answers"].as_u64().unwrap(),
                step["missed"].as_u64().unwrap(),
                step["sure"].as_str().unwrap(),
            )
        })
        .collect();
    assert_eq!(
        steps,
        [
            ("board", 8, 2, "some"),
            ("wind", 0, 0, "thin"),
            ("ashore", 4, 1, "thin"),
            ("where", 0, 0, "thin"),
            ("land", 0, 0, "thin"),
        ]
    );
    // The times of right answers were 2.0, 2.1, 2.2, 2.4, 2.5 and 2.6 s: the middle of the latest five.
    assert_eq!(told["steps"][0]["lately"], 2.4);
    assert_eq!(told["steps"][0]["target"], 10.0);
    // Of 2, 3 and 4 only 3 was ever chosen; the cut is not seen, and so is no branch.
    assert_eq!(
        told["untried"],
        serde_json::json!([{"step": "ashore", "about": "how many went ashore", "of": 3, "open": ["2", "4"]}])
    );
    // Sunday evening: the week is not over.
    assert_eq!(told["today"], "2021-05-09");
    assert_eq!(
        told["weeks"],
        serde_json::json!([{"monday": "2021-05-03", "answers": 14, "right": 11, "days": 1, "shows": 0,
                            "seconds": 31.5, "chance": null}])
    );
    // What one step costs is no more than what is missing.
    let chance = told["clean"]["chance"].as_f64().unwrap();
    for step in told["steps"].as_array().unwrap() {
        let costs = step["costs"].as_f64().unwrap();
        assert!((0.0..=1.0 - chance).contains(&costs), "{step}");
    }
}

#[test]
fn all_routines_are_told_and_those_whose_files_are_elsewhere_are_named() {
    let data = practised();
    let told = good(data.path(), &["progress", "--json"]);
    let told: Value = serde_json::from_str(&told).unwrap();
    assert_eq!(
        told,
        serde_json::json!({"routine": "ferry", "title": null, "answers": 14})
    );
    let told = good(data.path(), &["progress"]);
    assert!(
        told.contains("ferry: 14 answers, but its file is not in this folder"),
        "{told}"
    );
    let nothing = tempfile::tempdir().unwrap();
    let told = good(nothing.path(), &["progress"]);
    assert!(told.starts_with("Nothing has been rehearsed yet"), "{told}");
    assert_eq!(good(nothing.path(), &["progress", "--json"]), "");
}

#[test]
fn in_a_pipe_it_is_told_line_by_line_without_codes() {
    let data = practised();
    let told = good(data.path(), &["progress", ROUTINE]);
    assert_eq!(told, good(data.path(), &["progress", ROUTINE, "--plain"]));
    assert!(!told.contains('\u{1b}'));
    for line in told.lines() {
        assert!(line.contains(": "), "{line}");
    }
    for words in [
        "routine: Last Ferry (ferry)",
        "how sure: A guess so far: 4 of 5 steps",
        "never practised: how many went ashore: 2, 4 (2 of 3)",
        "no longer in the routine: away",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
}

#[test]
fn for_spreadsheets_there_is_a_row_for_each_step_and_kind() {
    let data = practised();
    let told = good(data.path(), &["progress", ROUTINE, "--csv"]);
    let rows: Vec<&str> = told.split_terminator("\r\n").collect();
    assert!(!told.replace("\r\n", "").contains(['\r', '\n']));
    assert_eq!(rows.len(), 1 + 5);
    assert_eq!(
        rows[0],
        "routine,step,title,hold,drill,kind,answers,missed,days,last,right,now,show,lately,target"
    );
    assert!(
        rows[1]
            .starts_with("ferry,board,They go on board,shaky,picture,card,8,2,1,2021-05-03,no,0.")
    );
    assert!(rows[1].ends_with(",2.4,10"), "{}", rows[1]);
    assert!(rows[2].starts_with("ferry,wind,The wind turns them round,new,,,0,0,0,,,,,,"));
}

#[test]
fn pages_are_written_whole_and_replace_the_one_before() {
    let data = practised();
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("page.html");
    let named = page.to_str().unwrap();
    for args in [
        &["progress", ROUTINE, "--html", named][..],
        &["progress", "--html", named],
        &["sheet", ROUTINE, "--html", named],
    ] {
        let told = good(data.path(), args);
        assert_eq!(told, format!("Written: {named}\n"));
        let text = std::fs::read_to_string(&page).unwrap();
        let body = text.strip_prefix("<!DOCTYPE html>\n").unwrap();
        let document = roxmltree::Document::parse(body).unwrap();
        assert!(document.root_element().has_tag_name("html"));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}

#[test]
fn wrong_names_are_told_and_nothing_is_written() {
    let data = practised();
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path().to_str().unwrap();
    let lost = folder.path().join("no/such/page.html");
    let lost = lost.to_str().unwrap();
    for (args, words) in [
        (
            &["progress", "no-such-routine"][..],
            "there is no routine and no file named",
        ),
        (&["progress", ROUTINE, "--html", here], "is a folder"),
        (&["sheet", ROUTINE, "--html", here], "is a folder"),
        (&["progress", ROUTINE, "--html", lost], "there is no folder"),
        (
            &["progress", ROUTINE, "--json", "--csv"],
            "cannot be used with",
        ),
        (&["sheet", ROUTINE], "--html"),
    ] {
        let (code, text, errors) = run(data.path(), args);
        assert_eq!((code, text.as_str()), (2, ""), "{args:?}: {errors}");
        assert!(errors.contains(words), "{args:?}: {errors}");
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[cfg(target_os = "linux")]
#[test]
fn what_the_machine_cannot_write_ends_with_code_four() {
    let data = practised();
    // Nobody makes files there, whoever they are.
    let (code, text, errors) = run(
        data.path(),
        &["progress", ROUTINE, "--html", "/proc/page.html"],
    );
    assert_eq!((code, text.as_str()), (4, ""), "{errors}");
    assert!(
        errors.contains("/proc/page.html could not be written"),
        "{errors}"
    );
    let (code, text, errors) = run(data.path(), &["progress", ROUTINE, "--html", "/dev/full"]);
    assert_eq!((code, text.as_str()), (4, ""), "{errors}");
}
