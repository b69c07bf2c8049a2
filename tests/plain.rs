//! Rehearsals line by line through the real program, answered by a performer who knows nothing of the library: it reads
//! what is printed, and looks at tables with `walk --choose … --json`.
//!
//! What was not printed may be anything: every road that fits what was printed must give the same answer.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

#[path = "performer/mod.rs"]
mod performer;
mod program;

use performer::Performer;
use program::{program, shipped};
use serde_json::Value;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::Stdio;

const QUESTIONS: usize = 20;

/// A rehearsal held.
struct Held {
    /// All that was printed.
    printed: String,
    /// Each question in words, the answer typed, and whether it was marked right.
    answers: Vec<(String, String, bool)>,
}

/// Holds a rehearsal and answers every question, rightly or wrongly.
fn hold(data: &Path, routine: &str, seed: u64, rightly: bool) -> Held {
    let mut child = program(data)
        .args(["rehearse", routine, "--plain", "--seed", &seed.to_string()])
        .args(["--questions", &QUESTIONS.to_string()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut to = child.stdin.take().unwrap();
    let mut from = BufReader::new(child.stdout.take().unwrap());
    let mut performer = Performer::new(routine);
    let mut held = Held {
        printed: String::new(),
        answers: Vec::new(),
    };
    let mut asked: Option<(String, String)> = None;
    let mut line = String::new();
    while let Some(end) = next_piece(&mut from, &mut line) {
        held.printed.push_str(&line);
        if end == b'>' {
            let question = performer.question();
            let answer = if rightly {
                performer.answer()
            } else {
                performer.wrong()
            };
            writeln!(to, "{answer}").unwrap();
            to.flush().unwrap();
            asked = Some((question, answer));
        } else {
            let told = line.trim();
            assert!(
                !told.starts_with("not understood"),
                "{routine} {seed}: {asked:?}\n{}",
                held.printed
            );
            let mark = told
                .strip_suffix("kept.")
                .map(|mark| mark.trim_end_matches(['.', ' ']));
            if let Some(mark) = mark.filter(|mark| ["right", "not quite"].contains(mark)) {
                let (question, answer) = asked.take().unwrap();
                held.answers.push((question, answer, mark == "right"));
            } else {
                performer.read(told);
            }
        }
        line.clear();
    }
    drop(to);
    let rest = child.wait_with_output().unwrap();
    let errors = String::from_utf8(rest.stderr).unwrap();
    assert!(
        rest.status.success(),
        "{routine} {seed}: {errors}\n{}",
        held.printed
    );
    assert_eq!(errors, "", "{routine} {seed}");
    held
}

/// The next line, or the sign that an answer is wanted: the byte that ended it; none at the end.
fn next_piece(from: &mut impl BufRead, line: &mut String) -> Option<u8> {
    let mut bytes = Vec::new();
    loop {
        let mut byte = [0];
        if from.read(&mut byte).unwrap() == 0 {
            break;
        }
        bytes.push(byte[0]);
        if byte[0] == b'\n' || bytes == b"> " {
            break;
        }
    }
    line.push_str(std::str::from_utf8(&bytes).unwrap());
    match bytes.last()? {
        b' ' if bytes == b"> " => Some(b'>'),
        other => Some(*other),
    }
}

/// What was printed, without the times: numbers of seconds and minutes.
fn without_times(printed: &str) -> String {
    let mut kept: Vec<String> = Vec::new();
    for line in printed.lines() {
        // Whether the proof was finished in the second that it is given is a matter of the machine.
        if line.starts_with("proof: ") {
            continue;
        }
        let words: Vec<&str> = line.split(' ').collect();
        let timed = |n: usize| {
            let unit = words
                .get(n + 1)
                .map_or("", |w| w.trim_end_matches([',', '.', ';', ')']));
            let number = words[n].trim_start_matches('(').parse::<f64>().is_ok();
            let joined = words[n].trim_end_matches([',', '.', ';', ')', 's', 'm']);
            number && ["s", "seconds", "second", "min", "minutes", "minute"].contains(&unit)
                || joined != words[n] && joined.parse::<f64>().is_ok() && words[n].contains('s')
        };
        let shown: Vec<&str> = (0..words.len())
            .map(|n| if timed(n) { "(time)" } else { words[n] })
            .collect();
        kept.push(shown.join(" "));
    }
    kept.join("\n")
}

/// The answers that the logbook holds, in order.
fn logged(data: &Path) -> Vec<(String, String, bool)> {
    let output = program(data).args(["log", "export"]).output().unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout)
        .unwrap()
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap())
        .filter_map(|row| row.get("answer").cloned())
        .map(|row| {
            let text = |key: &str| row[key].as_str().unwrap().to_owned();
            (
                text("question"),
                text("answer"),
                row["right"].as_bool().unwrap(),
            )
        })
        .collect()
}

/// Every shipped routine with every seed, and with the first seed twice.
fn rehearse_all(rightly: bool, seeds: &[u64]) {
    // Each routine on a thread of its own: most of the time is spent waiting for the disk and for other processes.
    let routines = shipped();
    std::thread::scope(|scope| {
        for routine in &routines {
            scope.spawn(move || {
                for (n, seed) in seeds.iter().enumerate() {
                    let folder = tempfile::tempdir().unwrap();
                    let mut held = vec![hold(folder.path(), routine, *seed, rightly)];
                    if n == 0 {
                        let other = tempfile::tempdir().unwrap();
                        held.push(hold(other.path(), routine, *seed, rightly));
                    }
                    let told = format!("{routine} {seed}\n{}", held[0].printed);
                    assert_eq!(held[0].answers.len(), QUESTIONS, "{told}");
                    for (question, answer, right) in &held[0].answers {
                        assert_eq!(*right, rightly, "{question} {answer}\n{told}");
                    }
                    let score = if rightly { QUESTIONS } else { 0 };
                    assert!(
                        held[0]
                            .printed
                            .contains(&format!("{score}/{QUESTIONS} right")),
                        "{told}"
                    );
                    let corrections = held[0]
                        .printed
                        .lines()
                        .filter(|line| line.starts_with("answer: "))
                        .count();
                    assert_eq!(corrections, QUESTIONS - score, "{told}");
                    for again in &held[1..] {
                        let one = without_times(&held[0].printed);
                        assert_eq!(one, without_times(&again.printed), "{routine} {seed}");
                    }
                    assert_eq!(logged(folder.path()), held[0].answers, "{told}");
                }
            });
        }
    });
}

#[test]
fn right_answers_worked_out_from_what_is_printed_are_all_right() {
    rehearse_all(true, &[7, 1_000_003]);
}

#[test]
fn wrong_answers_are_all_wrong_and_corrected() {
    rehearse_all(false, &[7]);
}

#[test]
fn the_end_of_the_input_ends_the_rehearsal() {
    let data = tempfile::tempdir().unwrap();
    for routine in shipped() {
        let output = program(data.path())
            .args(["rehearse", &routine, "--plain", "--seed", "7"])
            .stdin(Stdio::null())
            .output()
            .unwrap();
        assert!(output.status.success(), "{output:?}");
        let printed = String::from_utf8(output.stdout).unwrap();
        assert!(printed.contains("0/0 right"), "{printed}");
    }
    assert_eq!(logged(data.path()), []);
}
