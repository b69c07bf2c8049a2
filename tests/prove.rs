//! `prove` through the real program: what it says of the routines that come with it and of small ones whose roads are
//! counted here by hand, how it ends, and that the road it names does fail.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod program;

use program::{NOWHERE, program, shipped, told};
use serde_json::{Value, json};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

fn run(args: &[&str]) -> (i32, String, String) {
    told(program(NOWHERE).args(args).output().unwrap())
}

/// The code, and one object for each line.
fn json(args: &[&str]) -> (i32, Vec<Value>) {
    let (code, text, errors) = run(&[&["prove", "--json"], args].concat());
    assert_eq!(errors, "");
    let lines = text.lines().map(|line| serde_json::from_str(line).unwrap());
    (code, lines.collect())
}

/// A routine of six cards with these piles, steps and claims.
fn routine(folder: &Path, name: &str, title: &str, rest: &str) -> String {
    let file = folder.join(format!("{name}.yaml"));
    let head = format!(
        "allroads: 1\ntitle: {title}\nblurb: Small.\nprinciple: Counted by hand.\nlang: en-GB\nrunning-time: 1m\n"
    );
    std::fs::write(&file, head + rest).unwrap();
    file.to_str().unwrap().to_owned()
}

/// Six cards, cut, the top one dealt: it is the two only where one card was cut.
fn cut_once(folder: &Path) -> String {
    routine(
        folder,
        "six",
        "Six and a cut",
        r#"cards:
  packet: {list: "AC 2H^ 3C 4H 5C 6H"}
piles: [dealt]
steps:
  - id: cut
    title: Cut the packet
    say: Cut anywhere. Was it {n}?
    fork: {name: n, about: where they cut, cut: {pile: packet, least: 1}}
    reckon: [{name: left, is: 6 - n, asks: How many were left?}]
    do: [{cut: {pile: packet, at: n}}, {move: {from: packet, to: dealt, count: 1}}]
    claims: [{says: the two lies there, lies: {pile: dealt, at: 1, card: 2H}}]
finale:
  id: look
  title: Look
  say: There it is, of {left}.
  claims: [{count: {piles: [packet, dealt], is: 6}}]
"#,
    )
}

/// Two choices of three, the second heavier at its end; it fails where both are alike and not 1.
fn alike(folder: &Path) -> String {
    routine(
        folder,
        "alike",
        "Two alike",
        r#"cards:
  packet: {list: "AC 2H 3C"}
steps:
  - id: first
    title: The first
    say: One number.
    fork: {name: a, about: the first number, number: {from: 1, to: 3}}
  - id: second
    title: The second
    say: And another, after {a}.
    fork: {name: b, about: the second number, number: {from: 1, to: 3}, weights: [1, 1, 2]}
finale:
  id: look
  title: Look
  say: There. {b}
  claims:
    - {says: they differ or are one, expr: "a != b || a == 1"}
    - {count: {piles: [packet], is: 3}}
"#,
    )
}

/// A routine whose proof takes longer than anybody waits: see its principle.
fn no_end() -> String {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/no-end.yaml");
    file.to_str().unwrap().to_owned()
}

/// Four cards in an order that nobody knows, and the claim that the lowest never lies on top.
fn shuffled(folder: &Path) -> String {
    routine(
        folder,
        "shuffled",
        "Four shuffled",
        r#"cards:
  packet: {shuffled: "AC 2H 3C 4H"}
piles: [table]
steps:
  - id: deal
    title: Deal one
    say: One.
    do: [{deal: {from: packet, to: [table], count: 1, face: up}}]
finale:
  id: look
  title: Look
  say: There.
  claims:
    - {says: the ace is not the first, not: {lies: {pile: table, at: 1, card: AC}}}
"#,
    )
}

/// A card goes under as often as they like; the second time the ace of clubs is the last but one.
fn rounds(folder: &Path) -> String {
    routine(
        folder,
        "rounds",
        "Round and round",
        r#"cards:
  packet: {list: "AC 2H 3C 4H"}
steps:
  - again:
      name: more
      says: Again?
      steps:
        - id: under
          title: One goes under
          say: One.
          do: [{cut: {pile: packet, at: 1}}]
          claims:
            - {says: the ace is not the third, not: {lies: {pile: packet, at: 3, card: AC}}}
finale:
  id: look
  title: Look
  say: There.
"#,
    )
}

/// An ending that nobody comes to, and a branch of no weight.
fn about_nothing(folder: &Path) -> String {
    routine(
        folder,
        "nothing",
        "Much about nothing",
        r#"cards:
  packet: {list: "AC 2H 3C"}
steps:
  - id: pick
    title: Pick a number
    say: One number.
    fork: {name: n, about: the number, number: {from: 1, to: 3}, weights: [1, 1, 0]}
outs:
  - id: other
    title: Another ending
    say: Never.
    when: n == 9
    claims: [{says: the ace lies on top, lies: {pile: packet, at: 1, card: AC}}]
finale:
  id: look
  title: Look
  say: There.
  claims: [{count: {piles: [packet], is: 3}}]
"#,
    )
}

#[test]
fn every_routine_that_comes_with_the_program_is_sure_fire() {
    let names = shipped();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let (code, all) = json(&names);
    assert_eq!(code, 0);
    assert_eq!(all.len(), names.len());
    for (one, name) in all.iter().zip(&names) {
        assert_eq!(one["file"], *name, "in the order given");
        assert_eq!(one["holds"], true, "{one}");
        assert_eq!(one["verdict"], "sure-fire");
        assert_eq!(one["counterexample"], Value::Null);
        let roads = one["roads"].as_str().unwrap();
        assert!(
            roads == "unbounded" || roads.bytes().all(|b| b.is_ascii_digit()),
            "{roads}"
        );
        assert!(one["states"].as_u64().unwrap() > 0);
        assert!(one["seconds"].as_f64().unwrap() >= 0.0);
        let claims = one["claims"].as_array().unwrap();
        assert!(!claims.is_empty(), "{name}");
        for claim in claims {
            assert_eq!(
                (&claim["holds"], &claim["reached"]),
                (&true.into(), &true.into()),
                "{name}: {claim}"
            );
            assert_eq!(
                (&claim["odds"]["num"], &claim["odds"]["den"]),
                (&"1".into(), &"1".into())
            );
        }
        assert_eq!(one["unreached"], json!([]), "{name}");
        assert_eq!(one["untaken"], json!([]), "{name}");
    }
}

#[test]
fn a_claim_that_can_fail_comes_with_its_road_its_odds_and_what_to_withdraw() {
    let folder = tempfile::tempdir().unwrap();
    let file = cut_once(folder.path());
    let (code, all) = json(&[&file]);
    assert_eq!((code, all.len()), (1, 1));
    let one = &all[0];
    // By hand: five cuts, 1 to 5; all but the first fail.
    assert_eq!(one["routine"], "Six and a cut");
    assert_eq!((&one["holds"], &one["roads"]), (&false.into(), &"5".into()));
    assert_eq!(one["claims"][0]["holds"], false);
    assert_eq!(
        one["claims"][0]["odds"],
        json!({"num": "1", "den": "5", "sampled": false})
    );
    assert_eq!(one["claims"][1]["holds"], true);
    assert_eq!(
        one["counterexample"],
        json!([{"step": "cut", "choice": "n=2"}])
    );
    assert_eq!(one["wrong"]["claim"], "the two lies there");
    assert_eq!(
        one["wrong"]["piles"]["dealt"],
        json!([{"card": "3C", "face": "down"}])
    );
    let branches: Vec<&str> = one["withdraw"]
        .as_array()
        .unwrap()
        .iter()
        .map(|b| b["branch"].as_str().unwrap())
        .collect();
    assert_eq!(branches, ["2", "3", "4", "5"]);

    let (code, text, errors) = run(&["prove", &file]);
    assert_eq!((code, errors.as_str()), (1, ""));
    for words in [
        "Six and a cut can fail:",
        "true with a chance of 1/5 (20 %)",
        " --choose n=2",
        "dealt (1): 3♣",
        "where they cut: 0 % with 2, 3, 4 or 5; 100 % with 1.",
        "Sure-fire if nobody may choose 2, 3, 4 or 5 for where they cut.",
        "It has 5 roads",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

#[test]
fn odds_follow_the_weights_of_the_forks() {
    let folder = tempfile::tempdir().unwrap();
    let (code, all) = json(&[&alike(folder.path())]);
    assert_eq!(code, 1);
    // By hand: it fails with (2, 2), a third of a quarter, and with (3, 3), a third of a half: a quarter in all.
    assert_eq!(all[0]["roads"], "9");
    assert_eq!(
        all[0]["claims"][0]["odds"],
        json!({"num": "3", "den": "4", "sampled": false})
    );
    assert_eq!(
        all[0]["counterexample"],
        json!([{"step": "first", "choice": "a=2"}, {"step": "second", "choice": "b=2"}])
    );
    // Given the first: 1 never fails, 2 fails with 2 (a quarter), 3 with 3 (a half). Given the second: 1 never, 2 and 3 in a third.
    let of = |step: &str, branch: &str| {
        let blame = all[0]["blame"].as_array().unwrap();
        let found = blame
            .iter()
            .find(|b| b["step"] == step && b["branch"] == branch);
        let odds = &found.unwrap()["odds"];
        format!(
            "{}/{}",
            odds["num"].as_str().unwrap(),
            odds["den"].as_str().unwrap()
        )
    };
    for (step, branch, odds) in [
        ("first", "1", "1/1"),
        ("first", "2", "3/4"),
        ("first", "3", "1/2"),
        ("second", "1", "1/1"),
        ("second", "2", "2/3"),
        ("second", "3", "2/3"),
    ] {
        assert_eq!(of(step, branch), odds, "{step}={branch}");
    }
    // One branch of each pair must go: two at least.
    assert_eq!(all[0]["withdraw"].as_array().unwrap().len(), 2);
}

#[test]
fn the_road_that_is_named_fails_when_it_is_walked() {
    let folder = tempfile::tempdir().unwrap();
    for file in [cut_once, alike, shuffled, rounds].map(|write| write(folder.path())) {
        let (_, text, _) = run(&["prove", &file, "--sample", "100"]);
        let line = text
            .lines()
            .find_map(|line| line.trim().strip_prefix("allroads walk "))
            .unwrap();
        let words: Vec<&str> = line.split(' ').collect();
        assert_eq!(words[0], file);
        let (_, proof) = json(&[&file, "--sample", "100"]);
        let wrong = &proof[0]["wrong"];
        // Whatever the seed chooses beyond it.
        for seed in ["1", "2", "3"] {
            let walked = [&["walk"], words.as_slice(), &["--seed", seed, "--json"]].concat();
            let (code, road, errors) = run(&walked);
            assert_eq!((code, errors.as_str()), (1, ""));
            let road: Value = serde_json::from_str(&road).unwrap();
            let steps = road["steps"].as_array().unwrap();
            // A step may come several times; it is the first that fails.
            let step = steps
                .iter()
                .find(|step| step["step"] == wrong["step"] && step["holds"] == false)
                .unwrap();
            let claims = step["claims"].as_array().unwrap();
            let broken = claims
                .iter()
                .find(|c| c["claim"] == wrong["claim"])
                .unwrap();
            assert_eq!(broken["holds"], false);
            assert_eq!(step["piles"], wrong["piles"]);
        }
    }
}

#[test]
fn a_step_that_cannot_be_done_on_some_road_is_a_failure_too() {
    let folder = tempfile::tempdir().unwrap();
    // Twice so many cards as they say: six have enough for three at most.
    let file = routine(
        folder.path(),
        "double",
        "Twice as many",
        r#"cards:
  packet: {list: "AC 2H 3C 4H 5C 6H"}
piles: [dealt]
steps:
  - id: ask
    title: Ask for a number
    say: Some number.
    fork: {name: n, about: the number, number: {from: 1, to: 4}}
  - id: deal
    title: Deal twice as many
    say: Twice {n} it is.
    do: [{deal: {from: packet, to: [dealt], count: 2 * n}}]
    claims: [{count: {piles: [dealt], is: 2 * n}}]
finale:
  id: look
  title: Look
  say: There.
"#,
    );
    let (code, all) = json(&[&file]);
    assert_eq!(code, 1);
    let one = &all[0];
    assert_eq!(
        one["counterexample"],
        json!([{"step": "ask", "choice": "n=4"}])
    );
    assert_eq!(
        (&one["wrong"]["step"], &one["wrong"]["claim"]),
        (&"deal".into(), &Value::Null)
    );
    let fault = one["wrong"]["fault"].as_str().unwrap();
    assert!(fault.contains("holds 6 cards, and 8 are needed"), "{fault}");
    assert_eq!(one["wrong"]["piles"]["packet"].as_array().unwrap().len(), 6);
    let (_, text, _) = run(&["prove", &file]);
    assert!(
        text.contains("“Deal twice as many” cannot always be done"),
        "{text}"
    );
    assert!(
        text.contains("Sure-fire if nobody may choose 4 for the number."),
        "{text}"
    );
    let (code, _, errors) = run(&["walk", &file, "--choose", "n=4"]);
    assert_eq!(code, 2);
    assert!(errors.contains("the road cannot be walked"), "{errors}");
}

#[test]
fn a_proof_about_nothing_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let file = about_nothing(folder.path());
    let (code, all) = json(&[&file]);
    assert_eq!(code, 0);
    assert_eq!(all[0]["untaken"], json!([{"step": "pick", "branch": "3"}]));
    assert_eq!(all[0]["unreached"], json!(["other"]));
    let claims = all[0]["claims"].as_array().unwrap();
    let reached: Vec<&Value> = claims.iter().filter(|c| c["reached"] == true).collect();
    assert_eq!((claims.len(), reached.len()), (2, 1));
    let (_, text, _) = run(&["prove", &file]);
    assert!(
        text.contains("3 is never chosen for the number: it has no weight"),
        "{text}"
    );
    assert!(text.contains("no road comes by “Another ending”"), "{text}");
    assert!(text.contains("nothing is proved of it"), "{text}");
}

#[test]
fn of_several_the_worst_decides_and_what_fails_outranks_what_is_not_known() {
    let folder = tempfile::tempdir().unwrap();
    let (six, long) = (cut_once(folder.path()), no_end());
    let good = about_nothing(folder.path());
    let good = good.as_str();
    assert_eq!(run(&["prove", good, &six]).0, 1);
    let (code, all) = json(&["--budget", "1s", &long, good]);
    assert_eq!(code, 3);
    let verdicts: Vec<&Value> = all.iter().map(|one| &one["verdict"]).collect();
    assert_eq!(verdicts, ["not proved", "sure-fire"]);
    assert_eq!(run(&["prove", "--budget", "1s", &long, &six, good]).0, 1);
    // A wrong file is told on the side; the others are proved all the same.
    let (code, text, errors) = run(&["prove", "no-such-routine", &six, "--json"]);
    assert_eq!(code, 2);
    assert_eq!(text.lines().count(), 1);
    assert!(errors.contains("no-such-routine"), "{errors}");
}

#[test]
fn a_budget_that_runs_out_is_no_proof() {
    let file = no_end();
    let began = Instant::now();
    let (code, all) = json(&["--budget", "1s", &file]);
    assert!(began.elapsed() < Duration::from_secs(20));
    assert_eq!(code, 3);
    let one = &all[0];
    assert_eq!(
        (&one["holds"], &one["verdict"], &one["cut"]),
        (&false.into(), &"not proved".into(), &"time".into())
    );
    assert_eq!(one["claims"][0]["holds"], Value::Null);
    assert_eq!(one["counterexample"], Value::Null);
    assert!(one["states"].as_u64().unwrap() > 0);

    let (code, text, errors) = run(&["prove", "--budget", "600s,48MiB", &file]);
    assert_eq!((code, errors.as_str()), (3, ""), "{text}");
    assert!(text.contains("is not proved: "), "{text}");
}

#[test]
fn wrong_command_lines_and_files_end_with_code_two() {
    let folder = tempfile::tempdir().unwrap();
    let faulty = routine(folder.path(), "faulty", "Faulty", "cards: 7\n");
    for (args, words) in [
        (vec!["prove"], "ROUTINE"),
        (vec!["prove", "six", "--budget", "2 parsecs"], "512MiB"),
        (vec!["prove", "no-such-routine"], "no routine and no file"),
        (vec!["prove", &faulty], "faulty.yaml"),
        (
            vec!["prove", folder.path().to_str().unwrap()],
            "is a folder",
        ),
    ] {
        let (code, text, errors) = run(&args);
        assert_eq!((code, text.as_str()), (2, ""), "{args:?}");
        assert!(errors.contains(words), "{args:?}: {errors}");
    }
}

#[test]
#[cfg(unix)]
fn ctrl_c_ends_with_what_it_has() {
    let file = no_end();
    let child = program(NOWHERE)
        .args(["prove", &file, "--budget", "600s,8GiB"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_millis(700));
    let id = child.id().to_string();
    let killed = Command::new("kill")
        .args(["-s", "INT", &id])
        .status()
        .unwrap();
    assert!(killed.success());
    let began = Instant::now();
    let output = child.wait_with_output().unwrap();
    assert!(began.elapsed() < Duration::from_secs(20));
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(3), "{text}");
    assert!(
        text.contains("Thirteen and no end is not proved: you stopped it after"),
        "{text}"
    );
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
}

#[test]
fn what_was_proved_is_known_to_a_rehearsal_until_the_text_changes() {
    let folder = tempfile::tempdir().unwrap();
    let file = cut_once(folder.path());
    let data = folder.path().join("data");
    let with_data = |args: &[&str]| {
        let mut command = program(&data);
        let (code, text, _) = told(command.args(args).stdin(Stdio::null()).output().unwrap());
        (code, text)
    };
    // Without a logbook, none is made.
    assert_eq!(with_data(&["prove", &file]).0, 1);
    assert!(!data.exists());
    let rehearse = [
        "rehearse",
        &file,
        "--plain",
        "--seed",
        "7",
        "--questions",
        "1",
    ];
    let (code, text) = with_data(&rehearse);
    assert_eq!(code, 0);
    let warning = "proof: This routine can fail on some road: `allroads prove` shows which.";
    assert_eq!(text.matches(warning).count(), 1, "{text}");
    assert_eq!(
        text,
        with_data(&rehearse).1,
        "the same when it is known already"
    );
    // The claim is made true, and the file with it.
    let sound = std::fs::read_to_string(&file)
        .unwrap()
        .replace("cut: {pile: packet, least: 1}", "number: {from: 1, to: 1}");
    std::fs::write(&file, sound).unwrap();
    let (_, text) = with_data(&rehearse);
    assert!(
        text.contains("proof: The ending holds on every road."),
        "{text}"
    );
}
