//! The coach through the real program: a seed keeps it out, and it says why it asks.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

/// A rehearsal line by line with these answers, and what it wrote.
fn rehearse(data: &Path, more: &[&str], answers: &str) -> String {
    let all = [
        "tests/fixtures/everything.yaml",
        "--drill",
        "order",
        "--drill",
        "lines",
    ];
    rehearse_these(data, &[&all, more].concat(), answers)
}

fn rehearse_these(data: &Path, args: &[&str], answers: &str) -> String {
    let mut child = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .args(["rehearse", "--plain"])
        .args(args)
        .env("ALLROADS_DATA", data)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    // A session that ends before all is read closes the pipe.
    drop(input.write_all(answers.as_bytes()));
    drop(input);
    let output = child.wait_with_output().unwrap();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    String::from_utf8(output.stdout).unwrap()
}

/// Without the times, which differ.
fn without_times(text: &str) -> Vec<String> {
    text.lines()
        .filter(|line| !line.starts_with("look again at") && !line.starts_with("next"))
        .map(str::to_owned)
        .collect()
}

#[test]
fn with_a_seed_the_same_is_asked_whatever_was_answered_before() {
    let data = tempfile::tempdir().unwrap();
    let missed = "-\n".repeat(40);
    let run = || rehearse(data.path(), &["--questions", "8", "--seed", "7"], &missed);
    let first = run();
    assert!(first.matches("question ").count() >= 8, "{first}");
    rehearse(data.path(), &["--questions", "10"], &missed);
    assert_eq!(without_times(&run()), without_times(&first));
}

/// What a command that reads nothing wrote, on both ways, and its exit code.
fn told(data: &Path, args: &[&str]) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .args(args)
        .env("ALLROADS_DATA", data)
        .env("ALLROADS_NOW", "2027-03-15T09:00:00Z")
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stdin(Stdio::null())
        .output()
        .unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

#[test]
fn several_routines_take_turns_and_each_answer_is_kept_with_its_own() {
    let data = tempfile::tempdir().unwrap();
    let missed = "-\n".repeat(200);
    let run = || {
        let args = ["chairlift", "geese", "--questions", "80", "--seed", "7"];
        rehearse_these(data.path(), &args, &missed)
    };
    let first = run();
    assert_eq!(first.matches("\nquestion ").count(), 80, "{first}");
    let turns = first.lines().filter(|line| line.starts_with("routine: "));
    assert!(turns.count() > 1, "{first}");
    // The session before changes nothing for a seed.
    assert_eq!(without_times(&run()), without_times(&first));
    let (code, json, errors) = told(data.path(), &["progress", "--json"]);
    assert_eq!((code, errors.as_str()), (0, ""));
    let mut answers = 0;
    for routine in ["chairlift", "geese"] {
        let (_, one, _) = told(data.path(), &["progress", routine, "--json"]);
        let one: serde_json::Value = serde_json::from_str(&one).unwrap();
        let own = one["answers"].as_u64().unwrap();
        assert!(own > 0, "{json}");
        answers += own;
    }
    assert_eq!(answers, 160);
    let (_, text, _) = told(data.path(), &["log", "check"]);
    assert!(text.contains("sound"), "{text}");
    // By the coach, without a seed, what is missed comes back too.
    let coached = rehearse_these(
        data.path(),
        &["chairlift", "geese", "--questions", "24"],
        &missed,
    );
    assert_eq!(coached.matches("\nquestion ").count(), 24, "{coached}");
    assert!(coached.contains(" once more: "), "{coached}");
}

#[test]
fn what_takes_one_routine_at_a_time_says_so() {
    let data = tempfile::tempdir().unwrap();
    let cases: [(&[&str], &str); 8] = [
        (
            &["chairlift", "geese", "--drill", "hands"],
            "--drill hands takes one routine at a time",
        ),
        (
            &["chairlift", "geese", "--drill", "dress"],
            "--drill dress takes",
        ),
        (
            &["chairlift", "geese", "--drill", "lines"],
            "--drill lines takes",
        ),
        (
            &["chairlift", "geese", "--drill", "rescue"],
            "--drill rescue takes",
        ),
        (
            &["chairlift", "geese", "--as", "ann"],
            "this routine is for one performer",
        ),
        (&["chairlift", "chairlift"], "named twice"),
        (&["--planned"], "no show is planned"),
        (&["chairlift", "--planned"], "cannot be used with"),
    ];
    for (args, words) in cases {
        let args = [&["rehearse", "--plain"], args].concat();
        let (code, text, errors) = told(data.path(), &args);
        assert_eq!((code, text.as_str()), (2, ""), "{args:?}");
        assert!(errors.contains(words), "{args:?}: {errors}");
    }
    let (code, _, errors) = told(data.path(), &["rehearse", "--plain"]);
    assert_eq!(code, 2);
    assert!(errors.contains("ROUTINE"), "{errors}");
}

#[test]
fn the_routines_of_the_next_planned_show_are_rehearsed_together() {
    let data = tempfile::tempdir().unwrap();
    let plan = ["plan", "chairlift", "geese", "--show", "2027-03-20"];
    assert_eq!(told(data.path(), &plan).0, 0);
    let (code, text, errors) = told(data.path(), &["rehearse", "--planned", "--plain"]);
    assert_eq!((code, errors.as_str()), (0, ""));
    assert!(
        text.contains("routine: ") && text.contains("by your plan: "),
        "{text}"
    );
}

#[test]
fn why_a_question_is_asked_can_be_asked() {
    let data = tempfile::tempdir().unwrap();
    let by_seed = rehearse(
        data.path(),
        &["--questions", "4", "--seed", "7"],
        "why?\n-\n-\n-\n-\n",
    );
    assert!(
        by_seed.contains("why this: By lot: every kind of question comes alike here."),
        "{by_seed}"
    );
    let asked = "why?\n-\n".repeat(12);
    let coached = rehearse(data.path(), &["--questions", "12"], &asked);
    assert_eq!(coached.matches("why this: ").count(), 12, "{coached}");
    assert!(coached.contains("why this: You missed it a little while ago, so it comes back."));
    assert!(!coached.contains("By lot"), "{coached}");
}
