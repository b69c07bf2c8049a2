//! Spoken rehearsals in a terminal and line by line, on a machine without any sound: with `--mute` and without it, the same.

use super::{PATIENCE, Show, in_foyer, in_summary};
use serde_json::Value;
use std::collections::BTreeSet;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Nothing listens here, so there is no sound to be had.
pub const NOWHERE: &[(&str, &str)] = &[
    ("PULSE_SERVER", "unix:/nonexistent/pulse"),
    ("XDG_RUNTIME_DIR", "/nonexistent"),
];

/// Five steps: a cut by feel, a number that is spoken, an answer that only the table gives.
const FERRY: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures/ferry.yaml");

/// What is printed before an answer that may be "I do not know".
const OPEN: [&str; 4] = [
    "answer as:",
    "safe, mend, out or lost?",
    "what makes it safe?",
    "where do you go on?",
];

/// The keys that clickers and foot switches send to go on: page down, right, space, enter.
const GO_ON: [&str; 4] = ["\x1b[6~", "\x1b[C", " ", "\r"];

impl Show {
    /// Rehearses to the summary; every question is answered with "I do not know", the ending as told.
    fn rehearse(&mut self, came_true: bool) -> String {
        let until = Instant::now() + PATIENCE * 3;
        let mut pressed = 0;
        loop {
            let text = self.text();
            if in_summary(&text) {
                return text;
            }
            assert!(Instant::now() < until, "it never ends:\n{text}");
            let foot = self.foot();
            let keys = if foot.contains("1 to 9") {
                "1"
            } else if foot.contains("s m o l the answer") {
                "-"
            } else if foot.contains("y or enter yes") {
                if came_true { "y" } else { "n" }
            } else if text.contains("Type the cards") {
                "?\r"
            } else if text.contains("Where did it go wrong?") {
                "2\r"
            } else if foot.contains("enter answer") {
                "-\r"
            } else if foot.contains("any key")
                || foot.contains("enter ") && foot.contains("esc enough for now")
            {
                pressed += 1;
                GO_ON[pressed % GO_ON.len()]
            } else {
                std::thread::sleep(Duration::from_millis(5));
                continue;
            };
            self.press(keys);
            let _ = self.changed(&text);
        }
    }

    pub fn kept(&self) -> Vec<Value> {
        kept(self.data.path())
    }
}

/// Every answer in the logbook.
pub fn kept(data: &Path) -> Vec<Value> {
    let output = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .args(["log", "export", "--data"])
        .arg(data)
        .output()
        .unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout)
        .unwrap()
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap())
        .filter_map(|line| line.get("answer").cloned())
        .collect()
}

/// What was kept, but for the times.
pub fn what(kept: &[Value]) -> Vec<String> {
    kept.iter()
        .map(|answer| {
            format!(
                "{} {} {} {} {}",
                answer["drill"],
                answer["kind"],
                answer["step"],
                answer["question"],
                answer["right"]
            )
        })
        .collect()
}

/// So many questions of a drill that has no end of its own.
fn how_many(drill: &str) -> &'static [&'static str] {
    match drill {
        "hands" | "lines" | "dress" => &[],
        _ => &["--questions", "5"],
    }
}

fn rehearsed(drill: &str, mute: bool, came_true: bool) -> (String, Vec<Value>) {
    let mut arguments = vec!["rehearse", FERRY, "--drill", drill, "--seed", "4"];
    arguments.extend(how_many(drill));
    if mute {
        arguments.push("--mute");
    }
    let mut show = Show::open(80, 24, &arguments, NOWHERE);
    show.wait("the beginning", |text| text.contains("esc enough for now"));
    let summary = show.rehearse(came_true);
    let kept = show.kept();
    show.press("\r");
    assert_eq!(show.end(), 0);
    (summary, kept)
}

#[test]
fn every_spoken_drill_goes_the_same_with_and_without_mute() {
    for drill in ["hands", "lines", "dress"] {
        let (summary, muted) = rehearsed(drill, true, true);
        let (_, aloud) = rehearsed(drill, false, true);
        assert_eq!(what(&muted), what(&aloud), "{drill}");
        let steps: BTreeSet<String> = muted.iter().map(|kept| kept["step"].to_string()).collect();
        assert_eq!(steps.len(), 5, "{drill}: {steps:?}");
        assert!(muted.iter().all(|kept| kept["drill"] == drill), "{drill}");
        assert!(summary.contains("right."), "{summary}");
    }
}

#[test]
fn every_other_drill_goes_the_same_with_and_without_mute() {
    for drill in ["picture", "order", "reckon", "rescue"] {
        let (_, muted) = rehearsed(drill, true, true);
        let (_, aloud) = rehearsed(drill, false, true);
        assert_eq!(what(&muted), what(&aloud), "{drill}");
        assert!(muted.len() >= 5, "{drill}: {muted:?}");
        assert!(muted.iter().all(|kept| kept["drill"] == drill), "{drill}");
        let (printed, plainly) = in_lines(drill, true);
        let (_, plainly_aloud) = in_lines(drill, false);
        assert_eq!(what(&plainly), what(&plainly_aloud), "{drill}");
        assert_eq!(what(&plainly), what(&muted), "{drill}:\n{printed}");
    }
}

#[test]
fn an_ending_that_did_not_come_true_names_the_step_that_is_weak() {
    let (summary, kept) = rehearsed("dress", true, false);
    let slip = kept.last().unwrap();
    assert_eq!(
        (&slip["kind"], &slip["right"]),
        (&"slip".into(), &false.into())
    );
    // The second step of the routine.
    assert!(summary.contains("The wind turns them round"), "{summary}");
}

#[test]
fn each_spoken_drill_begins_from_the_foyer_with_a_key_that_is_shown_there() {
    for (key, name, drill) in [
        ("h", "with real cards", "hands"),
        ("l", "lines aloud", "lines"),
        ("d", "dress rehearsal", "dress"),
    ] {
        let mut show = Show::open(80, 24, &[], NOWHERE);
        let foyer = show.wait("the foyer", in_foyer);
        assert!(foyer.contains(&format!("{key} {name}")), "{foyer}");
        show.press(key);
        show.wait("the drill", |text| {
            text.lines()
                .next()
                .is_some_and(|head| head.ends_with(drill))
        });
        show.press("\x1b");
        show.wait("the summary", in_summary);
        show.press("\r");
        show.wait("the foyer again", in_foyer);
        show.press("q");
        assert_eq!(show.end(), 0);
    }
}

#[test]
fn no_sound_is_said_once_in_one_line_and_nothing_else_changes() {
    let mut show = Show::open(
        80,
        24,
        &["rehearse", FERRY, "--drill", "hands", "--seed", "4"],
        NOWHERE,
    );
    show.wait("the notice", |text| text.contains("No sound:"));
    show.press(" ");
    show.wait("the first step", |text| text.contains("any key done"));
    show.signal("TERM");
    assert_eq!(show.end(), 143);
}

#[test]
fn how_loud_and_how_fast_it_was_is_remembered() {
    let data = Arc::new(tempfile::tempdir().unwrap());
    let begin = || {
        let arguments = ["rehearse", FERRY, "--drill", "hands", "--seed", "4"];
        let show = Show::open_with(Arc::clone(&data), (80, 24), &arguments, NOWHERE);
        show.wait("the notice", |text| text.contains("No sound:"));
        show
    };
    let turn = |show: &mut Show, key: &str, told: &str| {
        show.press(key);
        show.wait(told, |text| text.contains(told));
    };
    let mut first = begin();
    // It starts quiet, at thirty; a step is ten.
    turn(&mut first, "+", "Volume 40 of 100.");
    turn(&mut first, "+", "Volume 50 of 100.");
    turn(&mut first, "]", "Pace 110 of 100.");
    first.press("\x1b");
    first.wait("the summary", in_summary);
    first.press("q");
    assert_eq!(first.end(), 0);

    let mut second = begin();
    turn(&mut second, "-", "Volume 40 of 100.");
    turn(&mut second, "]", "Pace 120 of 100.");
    second.signal("TERM");
    assert_eq!(second.end(), 143);
}

#[test]
fn a_panic_with_cards_in_the_hands_gives_the_terminal_back() {
    let mut show = Show::open(
        80,
        24,
        &["rehearse", FERRY, "--drill", "hands", "--seed", "4"],
        &[
            ("ALLROADS_TEST_PANIC", "1"),
            ("RUST_BACKTRACE", "0"),
            ("PULSE_SERVER", "unix:/nonexistent/pulse"),
        ],
    );
    show.wait("the set-up", |text| text.contains("enter begin"));
    show.press(" ");
    show.wait("the panic", |text| text.contains("a test asked for this"));
    assert_eq!(show.end(), 101);
}

/// Line by line: a performer who answers by what is asked last.
fn in_lines(drill: &str, mute: bool) -> (String, Vec<Value>) {
    let data = tempfile::tempdir().unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_allroads"));
    command
        .args([
            "rehearse", FERRY, "--plain", "--drill", drill, "--seed", "4",
        ])
        .args(how_many(drill))
        .arg("--data")
        .arg(data.path())
        .envs(NOWHERE.iter().copied())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped());
    if mute {
        command.arg("--mute");
    }
    let mut child = command.spawn().unwrap();
    let mut to = child.stdin.take().unwrap();
    let mut from = child.stdout.take().unwrap();
    let mut printed = String::new();
    let mut bytes = [0; 4096];
    loop {
        let count = std::io::Read::read(&mut from, &mut bytes).unwrap();
        if count == 0 {
            break;
        }
        printed.push_str(&String::from_utf8_lossy(&bytes[..count]));
        if !printed.ends_with("\n> ") {
            continue;
        }
        let asked: Vec<&str> = printed.lines().rev().skip(1).take(2).collect();
        let answer = match asked[0] {
            "did the ending come true? yes or no" => "yes",
            "did yours differ? yes or no" => "no",
            "the number of the answer" => "1",
            asked if OPEN.iter().any(|open| asked.starts_with(open)) => "-",
            _ => "",
        };
        // Whoever has ended reads no more.
        let _ = writeln!(to, "{answer}").and_then(|()| to.flush());
    }
    assert!(child.wait().unwrap().success());
    let kept = kept(data.path());
    (printed, kept)
}

#[test]
fn every_spoken_drill_goes_the_same_line_by_line() {
    for drill in ["hands", "lines", "dress"] {
        let (printed, muted) = in_lines(drill, true);
        let (_, aloud) = in_lines(drill, false);
        assert_eq!(what(&muted), what(&aloud), "{drill}");
        assert!(muted.len() >= 5, "{drill}:\n{printed}");
        assert!(printed.contains("summary: "), "{printed}");
        // What is said in the lines is all there is to say of them: every line of the routine was printed.
        let (_, screen) = rehearsed(drill, true, true);
        assert_eq!(what(&muted), what(&screen), "{drill}");
    }
}

#[test]
fn drills_that_stand_alone_say_so() {
    let run = |arguments: &[&str]| {
        let data = tempfile::tempdir().unwrap();
        let output = Command::new(env!("CARGO_BIN_EXE_allroads"))
            .args(["rehearse", FERRY, "--plain"])
            .args(arguments)
            .arg("--data")
            .arg(data.path())
            .stdin(Stdio::null())
            .output()
            .unwrap();
        (
            output.status.code(),
            String::from_utf8(output.stderr).unwrap(),
        )
    };
    let (code, told) = run(&["--drill", "hands", "--drill", "picture"]);
    assert_eq!(code, Some(2));
    assert!(told.contains("hands is rehearsed on its own"), "{told}");
    let (code, told) = run(&["--drill", "dress", "--from", "nowhere"]);
    assert_eq!(code, Some(2), "{told}");
    assert!(told.contains("no step"), "{told}");
}
