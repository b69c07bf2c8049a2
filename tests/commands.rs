//! The real program on its command line: the logbook from the outside, wrong arguments, closed pipes.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod program;

use program::told;
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};

fn program(data: &Path) -> Command {
    let mut command = program::program(data);
    command.stdin(Stdio::null());
    command
}

fn run(data: &Path, args: &[&str]) -> (i32, String, String) {
    told(program(data).args(args).output().unwrap())
}

fn own_routine(folder: &Path) -> String {
    let file = folder.join("my pairs.yaml");
    let (code, _, errors) = run(folder, &["new", file.to_str().unwrap()]);
    assert_eq!((code, errors.as_str()), (0, ""));
    file.to_str().unwrap().to_owned()
}

#[test]
fn in_a_pipe_it_says_what_to_do_next() {
    let data = tempfile::tempdir().unwrap();
    let (code, text, errors) = run(data.path(), &[]);
    assert_eq!((code, errors.as_str()), (0, ""));
    assert!(text.contains("What to do next"), "{text}");
    assert!(text.is_ascii() && !text.contains('\u{1b}'), "{text}");
}

#[test]
fn the_licence_of_the_speech_engine_is_in_the_program_and_beside_it() {
    let data = tempfile::tempdir().unwrap();
    let (code, text, errors) = run(data.path(), &["sound-check", "--licence"]);
    assert_eq!((code, errors.as_str()), (0, ""));
    let beside = include_str!("../LICENSE");
    // What the fourth section of the Apache License asks of whoever hands the work on: the licence itself, and whose work it is.
    for words in ["SVOX AG", "Apache License", "Version 2.0"] {
        assert!(text.contains(words), "{words}: {text}");
        assert!(beside.contains(words), "{words}");
    }
}

#[test]
fn wrong_command_lines_end_with_code_two_and_say_what_is_wrong() {
    let data = tempfile::tempdir().unwrap();
    let cases: [(&[&str], &str); 7] = [
        (&["juggle"], "juggle"),
        (&["--loud"], "--loud"),
        (&["log"], "Usage"),
        (&["log", "import"], "FILE"),
        (&["log", "import", "/no/such/file"], "/no/such/file"),
        (
            &["log", "add", "no-such-routine"],
            "there is no routine and no file named no-such-routine",
        ),
        (&["completions", "no-such-shell"], "no-such-shell"),
    ];
    for (args, words) in cases {
        let (code, text, errors) = run(data.path(), args);
        assert_eq!((code, text.as_str()), (2, ""), "{args:?}: {errors}");
        assert!(errors.contains(words), "{args:?}: {errors}");
        assert!(!errors.contains('\u{1b}'), "no colour in a pipe: {errors}");
    }
}

#[test]
fn practices_are_added_exported_imported_copied_and_checked() {
    let (here, there) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let routine = own_routine(here.path());
    let (code, text, errors) = run(
        here.path(),
        &[
            "log",
            "add",
            &routine,
            "--note",
            "ran it twice — by hand",
            "--at",
            "2031-05-01T19:30:00+02:00",
        ],
    );
    assert_eq!((code, errors.as_str()), (0, ""));
    assert!(text.starts_with("Kept: my pairs"), "{text}");

    let (code, first, errors) = run(here.path(), &["log", "export"]);
    assert_eq!((code, errors.as_str()), (0, ""));
    let lines: Vec<&str> = first.lines().collect();
    assert_eq!(lines.len(), 2);
    assert_eq!(lines[0], r#"{"logbook":"allroads","version":2}"#);
    assert!(
        lines[1].starts_with(r#"{"practice":{"id":""#)
            && lines[1].ends_with(
                r#","routine":"my pairs","note":"ran it twice — by hand","stumbled":[],"at":"2031-05-01T19:30:00.000+02:00"}}"#
            ),
        "{}",
        lines[1]
    );

    let file = here.path().join("out.jsonl");
    let file = file.to_str().unwrap();
    let (code, _, errors) = run(here.path(), &["log", "export", file]);
    assert_eq!((code, errors.as_str()), (0, ""));
    assert_eq!(std::fs::read_to_string(file).unwrap(), first);
    let (code, _, errors) = run(here.path(), &["log", "export", file]);
    assert_eq!(code, 2, "an export never overwrites");
    assert!(errors.contains("is there already"), "{errors}");

    for (words, times) in [("1 practice; 0 rows", 1), ("0 practices; 1 row was", 2)] {
        let (code, text, errors) = run(there.path(), &["log", "import", file]);
        assert_eq!((code, errors.as_str()), (0, ""), "import {times}");
        assert!(text.contains(words), "{text}");
    }
    assert_eq!(run(there.path(), &["log", "export"]).1, first);

    let mut child = program(there.path())
        .args(["log", "import", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(first.replace("twice", "once").as_bytes())
        .unwrap();
    let (code, text, _) = told(child.wait_with_output().unwrap());
    assert_eq!(code, 1, "a row that differs is a finding: {text}");
    assert!(text.contains("line 2"), "{text}");

    let copy = there.path().join("copied");
    std::fs::create_dir(&copy).unwrap();
    let target = copy.join("logbook.sqlite");
    let target = target.to_str().unwrap();
    assert_eq!(run(there.path(), &["log", "backup", target]).0, 0);
    assert_eq!(run(there.path(), &["log", "backup", target]).0, 2);
    assert_eq!(run(&copy, &["log", "export"]).1, first);
    let (code, text, errors) = run(&copy, &["log", "check"]);
    assert_eq!((code, errors.as_str()), (0, ""));
    assert!(text.starts_with("The logbook is sound"), "{text}");
}

#[test]
fn an_import_that_is_no_export_ends_with_code_two_and_names_the_line() {
    let data = tempfile::tempdir().unwrap();
    let file = data.path().join("in");
    std::fs::write(
        &file,
        "{\"logbook\":\"allroads\",\"version\":1}\n{\"answer\":7}\n",
    )
    .unwrap();
    let (code, _, errors) = run(data.path(), &["log", "import", file.to_str().unwrap()]);
    assert_eq!(code, 2);
    assert!(errors.contains("line 2"), "{errors}");
    assert!(errors.contains("Nothing was imported"), "{errors}");
}

#[test]
fn a_damaged_or_later_logbook_ends_with_code_four_and_says_what_to_do() {
    let data = tempfile::tempdir().unwrap();
    std::fs::write(
        data.path().join("logbook.sqlite"),
        "not a logbook ".repeat(99),
    )
    .unwrap();
    let (code, _, errors) = run(data.path(), &["log", "check"]);
    assert_eq!(code, 4);
    assert!(errors.contains("damaged"), "{errors}");
    assert!(errors.contains("log backup"), "{errors}");
    // A data folder that is a file.
    let (code, _, errors) = run(&data.path().join("logbook.sqlite"), &["log", "check"]);
    assert_eq!(code, 4);
    assert!(errors.contains("--data"), "{errors}");
}

#[test]
fn the_data_folder_may_come_from_the_environment() {
    let data = tempfile::tempdir().unwrap();
    let home = data.path().join("home");
    let ask = |folder: &str| {
        told(
            Command::new(env!("CARGO_BIN_EXE_allroads"))
                .args(["log", "check"])
                .env("ALLROADS_DATA", folder)
                .env("HOME", &home)
                .env("XDG_DATA_HOME", home.join("share"))
                .output()
                .unwrap(),
        )
    };
    let named = data.path().join("named");
    let (code, text, _) = ask(named.to_str().unwrap());
    assert_eq!(code, 0);
    assert!(text.contains(named.to_str().unwrap()), "{text}");
    let (code, text, errors) = ask("");
    assert_eq!(code, 0, "an empty variable is none: {errors}");
    assert!(text.contains(home.to_str().unwrap()), "{text}");
}

#[test]
fn completions_and_the_manual_name_every_command() {
    let data = tempfile::tempdir().unwrap();
    let (_, help, _) = run(data.path(), &["--help"]);
    let commands: Vec<&str> = help
        .split("Commands:\n")
        .nth(1)
        .unwrap()
        .split("\n\n")
        .next()
        .unwrap()
        .lines()
        .filter_map(|line| line.strip_prefix("  "))
        .filter(|line| !line.starts_with(' '))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(commands.len() >= 3, "{commands:?}");
    let (code, manual, errors) = run(data.path(), &["man"]);
    assert_eq!((code, errors.as_str()), (0, ""));
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let (code, script, errors) = run(data.path(), &["completions", shell]);
        assert_eq!((code, errors.as_str()), (0, ""));
        for command in &commands {
            assert!(script.contains(command), "{shell}: {command}");
        }
    }
    for command in &commands {
        assert!(manual.contains(command), "{command}");
    }
    assert!(manual.starts_with(".ie"), "{manual}");
}

#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_ends_it_quietly() {
    let data = tempfile::tempdir().unwrap();
    for args in [
        &["completions", "bash"][..],
        &["man"],
        &["log", "export"],
        &[],
    ] {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let mut child = program(data.path())
            .args(args)
            .stdout(writer)
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut errors = String::new();
        child
            .stderr
            .take()
            .unwrap()
            .read_to_string(&mut errors)
            .unwrap();
        assert_eq!(child.wait().unwrap().code(), Some(0), "{args:?}");
        assert_eq!(errors, "", "{args:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn output_that_cannot_be_written_ends_with_code_four() {
    let data = tempfile::tempdir().unwrap();
    let full = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .unwrap();
    let output = program(data.path())
        .args(["completions", "bash"])
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(4));
    let errors = String::from_utf8(output.stderr).unwrap();
    assert!(errors.contains("could not be written"), "{errors}");
}

/// The names of the shipped routines, as the first screen lists them.
fn shipped() -> Vec<String> {
    let data = tempfile::tempdir().unwrap();
    let (_, text, _) = run(data.path(), &[]);
    let names: Vec<String> = text
        .lines()
        .skip_while(|line| !line.starts_with("Routines"))
        .skip(1)
        .take_while(|line| !line.is_empty())
        .map(|line| line.trim().to_owned())
        .collect();
    assert!(!names.is_empty(), "{text}");
    names
}

#[test]
fn every_shipped_routine_is_checked_laid_walked_and_reset() {
    let data = tempfile::tempdir().unwrap();
    for name in shipped() {
        let (code, text, errors) = run(data.path(), &["check", &name]);
        assert_eq!((code, errors.as_str()), (0, ""), "{text}");

        let (code, text, errors) = run(data.path(), &["setup", &name]);
        assert_eq!((code, errors.as_str()), (0, ""));
        assert!(text.contains("cards"), "{text}");

        let (code, text, errors) = run(data.path(), &["reset", &name]);
        assert_eq!((code, errors.as_str()), (0, ""));
        assert!(
            text.contains("shuffle") || text.contains("To lay it again") || text.contains("back"),
            "{text}"
        );

        let (code, text, errors) = run(data.path(), &["walk", &name, "--seed", "7"]);
        assert_eq!((code, errors.as_str()), (0, ""), "{text}");
        assert!(text.contains("Every claim on it is true."), "{text}");
        let (_, json, _) = run(data.path(), &["walk", &name, "--seed", "7", "--json"]);
        let road: serde_json::Value = serde_json::from_str(&json).unwrap();
        let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for step in road["steps"].as_array().unwrap() {
            for seen in step["seen"].as_array().unwrap() {
                let seen = seen.as_str().unwrap();
                let own = ["You saw ", "You counted "];
                if let Some(seen) = own.iter().find_map(|start| seen.strip_prefix(start)) {
                    assert!(one_line.contains(&format!("You see: {seen}")), "{text}");
                }
            }
        }
        assert!(!text.contains('\u{1b}'), "{text}");
    }
}

#[test]
fn a_walk_told_again_by_its_choices_is_the_same_road() {
    let data = tempfile::tempdir().unwrap();
    for name in shipped() {
        let (_, first, _) = run(data.path(), &["walk", &name, "--seed", "7", "--json"]);
        let road: serde_json::Value = serde_json::from_str(&first).unwrap();
        assert_eq!(road["seed"], 7);
        let steps = road["steps"].as_array().unwrap();
        let cards = |piles: &serde_json::Value| -> usize {
            let piles = piles.as_object().unwrap();
            piles.values().map(|p| p.as_array().unwrap().len()).sum()
        };
        let count = cards(&road["start"]["piles"]);
        let mut again = vec!["walk".to_owned(), name.clone(), "--json".to_owned()];
        for step in steps {
            assert_eq!(cards(&step["piles"]), count, "no card is lost in {name}");
        }
        for choice in road["choices"].as_array().unwrap() {
            again.extend(["--choose".to_owned(), choice.as_str().unwrap().to_owned()]);
        }
        // The seed still says how a shuffled deck lies.
        again.extend(["--seed".to_owned(), "7".to_owned()]);
        let again: Vec<&str> = again.iter().map(String::as_str).collect();
        let (code, second, errors) = run(data.path(), &again);
        assert_eq!((code, errors.as_str()), (0, ""));
        assert_eq!(second, first);
    }
}

#[test]
fn wrong_choices_steps_and_drills_are_told_with_what_there_is() {
    let data = tempfile::tempdir().unwrap();
    let routine = own_routine(data.path());
    let cases: [(&[&str], &str); 8] = [
        (&["walk", &routine, "--choose", "many"], "NAME=VALUE"),
        (&["walk", &routine, "--choose", "few=3"], "many"),
        (&["walk", &routine, "--choose", "many=77"], "77"),
        (
            &["rehearse", &routine, "--plain", "--from", "mixx"],
            "Did you mean mix?",
        ),
        (
            &["rehearse", &routine, "--drill", "juggle"],
            "picture, order, reckon, lines",
        ),
        (&["rehearse", &routine, "--questions", "0"], "0"),
        (
            &["log", "add", &routine, "--stumbled", "nowhere-at-all"],
            "count-off, mix",
        ),
        (&["walk", "geeese"], "Did you mean geese?"),
    ];
    for (args, words) in cases {
        let (code, text, errors) = run(data.path(), args);
        assert_eq!((code, text.as_str()), (2, ""), "{args:?}: {errors}");
        assert!(errors.contains(words), "{args:?}: {errors}");
    }
}

#[test]
fn slip_names_what_was_done_wrong_and_says_when_nothing_was() {
    let data = tempfile::tempdir().unwrap();
    let mine = data.path().join("deal.yaml");
    std::fs::write(
        &mine,
        "allroads: 1\ntitle: Deal\nlang: en-GB\ncards:\n  packet: {list: \"AC 2C 3C 4C\"}\npiles: [heap]\nsteps:\n  \
         - id: deal\n    title: Deal some\n    fork: {name: k, says: \"{k}\", number: {from: 1, to: 3}}\n    do:\n      \
         - deal: {from: packet, to: [heap], count: k}\nfinale:\n  id: end\n  title: Done\n  claims:\n    - says: dealt\n      \
         expr: size(heap) == k\n",
    )
    .unwrap();
    let mine = mine.to_str().unwrap();
    let slip = |more: &[&str]| {
        let args: Vec<&str> = ["slip", mine].iter().chain(more).copied().collect();
        run(data.path(), &args)
    };
    let (code, text, errors) = slip(&[
        "--choose",
        "k=2",
        "--got",
        "packet=3C 4C",
        "--got",
        "heap=2C AC",
    ]);
    assert_eq!((code, errors.as_str()), (0, ""));
    assert!(text.starts_with("The packet is right"), "{text}");

    let lifted = [
        "--choose",
        "k=2",
        "--got",
        "packet=3C 4C",
        "--got",
        "heap=AC 2C",
    ];
    let (code, text, errors) = slip(&lifted);
    assert_eq!((code, errors.as_str()), (1, ""));
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.starts_with(
            "You lifted the two cards as a block at “Deal some” instead of dealing them one by one."
        ),
        "{text}"
    );
    let (code, text, _) = slip(&[&lifted[..], &["--json"]].concat());
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(code, 1);
    assert_eq!(json["right"], false);
    assert_eq!(json["complete"], true);
    assert_eq!(json["explanations"][0]["slips"][0]["step"], "deal");
    assert_eq!(json["explanations"][0]["slips"][0]["kind"], "lifted");

    let (code, text, _) = slip(&[
        "--choose",
        "k=2",
        "--got",
        "packet=3C",
        "--got",
        "heap=2C AC",
    ]);
    assert_eq!(code, 1);
    assert!(text.starts_with("The four of clubs is missing."), "{text}");

    for (args, words) in [
        (&["--got", "AC"][..], "are needed: --choose k=…"),
        (
            &["--choose", "k=2", "--got", "AC"],
            "cards lie in several piles there",
        ),
        (
            &["--choose", "k=2", "--got", "heap=AC zz"],
            "card 2 of “heap”, “zz”, is no card",
        ),
        (
            &["--choose", "k=9", "--got", "heap=AC", "--seed", "1"],
            "is not offered",
        ),
        (
            &["--choose", "k=2", "--got", "heap=AC", "--after", "dael"],
            "did you mean deal?",
        ),
        (
            &["--choose", "k=2", "--got", "heap=AC", "--seconds=-1"],
            "--seconds",
        ),
    ] {
        let (code, text, errors) = slip(args);
        assert_eq!((code, text.as_str()), (2, ""), "{args:?}: {errors}");
        assert!(errors.contains(words), "{args:?}: {errors}");
    }
}

#[test]
fn check_tells_all_faults_of_all_files_and_claims_that_fail() {
    let data = tempfile::tempdir().unwrap();
    let good = own_routine(data.path());
    let text = std::fs::read_to_string(&good).unwrap();
    let (wrong, untrue) = (
        data.path().join("wrong.yaml"),
        data.path().join("untrue.yaml"),
    );
    std::fs::write(&wrong, text.replace("running-time", "runing-time")).unwrap();
    std::fs::write(
        &untrue,
        text.replace("piles: [counted], is: many", "piles: [counted], is: 3"),
    )
    .unwrap();
    let (wrong, untrue) = (wrong.to_str().unwrap(), untrue.to_str().unwrap());

    let (code, _, errors) = run(data.path(), &["check", wrong, &good, "no-such-file"]);
    assert_eq!(code, 2);
    assert!(
        errors.contains("running-time"),
        "the nearest name: {errors}"
    );
    assert!(errors.contains("no-such-file"), "{errors}");

    let (code, text, errors) = run(data.path(), &["check", untrue]);
    assert_eq!((code, errors.as_str()), (1, ""), "{text}");
    assert!(
        text.contains("not true") && text.contains("many="),
        "with the road: {text}"
    );
    let (code, _, _) = run(data.path(), &["walk", untrue, "--seed", "1"]);
    assert_eq!(code, 1);
}

#[test]
fn new_never_overwrites_and_the_schema_is_json() {
    let data = tempfile::tempdir().unwrap();
    let routine = own_routine(data.path());
    let before = std::fs::read_to_string(&routine).unwrap();
    let (code, _, errors) = run(data.path(), &["new", &routine]);
    assert_eq!(code, 2);
    assert!(errors.contains("is there already"), "{errors}");
    assert_eq!(std::fs::read_to_string(&routine).unwrap(), before);

    let bare = data.path().join("bare");
    assert_eq!(run(data.path(), &["new", bare.to_str().unwrap()]).0, 0);
    assert!(data.path().join("bare.yaml").exists());
    let spaced = data.path().join("a b");
    let (_, text, _) = run(data.path(), &["new", spaced.to_str().unwrap()]);
    let hint = format!("allroads check '{}.yaml'", spaced.display());
    assert!(text.contains(&hint), "{text}");
    assert_eq!(run(data.path(), &["new", "/"]).0, 2);

    let (code, text, errors) = run(data.path(), &["schema"]);
    assert_eq!((code, errors.as_str()), (0, ""));
    let schema: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert!(schema.get("properties").is_some(), "{text}");
}

#[test]
fn a_plain_rehearsal_is_kept_answer_by_answer() {
    let data = tempfile::tempdir().unwrap();
    let routine = own_routine(data.path());
    let mut child = program(data.path())
        .args([
            "rehearse",
            &routine,
            "--plain",
            "--seed",
            "7",
            "--questions",
            "6",
        ])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // "I do not know", to whatever is asked. The program may be gone before it has read them all.
    let _ = child
        .stdin
        .take()
        .unwrap()
        .write_all("-\n".repeat(40).as_bytes());
    let (code, text, errors) = told(child.wait_with_output().unwrap());
    assert_eq!((code, errors.as_str()), (0, ""), "{text}");
    let kept = text.lines().filter(|l| l.ends_with(". kept.")).count();
    assert_eq!(kept, 6, "{text}");

    let (_, export, _) = run(data.path(), &["log", "export"]);
    let rows: Vec<serde_json::Value> = export
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    // Last comes which steps the text had that was rehearsed.
    assert_eq!(rows.len(), 1 + 1 + 6 + 1);
    assert_eq!(rows[8]["setting"]["key"], "steps of my pairs");
    assert_eq!(rows[1]["session"]["manner"], "plain");
    assert!(rows[1]["session"]["ended"].is_string());
    for (n, row) in rows[2..8].iter().enumerate() {
        assert_eq!(row["answer"]["ordinal"], n + 1);
        assert_eq!(row["answer"]["routine"], "my pairs");
        assert_eq!(row["answer"]["right"], false);
    }
    assert_eq!(run(data.path(), &["log", "check"]).0, 0);
}
