//! The coach through the real program: a seed keeps it out, and it says why it asks.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

/// A rehearsal line by line with these answers, and what it wrote.
fn rehearse(data: &Path, more: &[&str], answers: &str) -> String {
    let mut child = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .args(["rehearse", "tests/fixtures/everything.yaml", "--plain"])
        .args(["--drill", "order", "--drill", "lines"])
        .args(more)
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
