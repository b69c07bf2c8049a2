//! `find` through the real program: complete lists of small routines that can be counted by hand, how it ends, and that what it
//! prints goes into a file and proves.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod program;

use program::{NOWHERE, program, told};
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

fn run(args: &[&str]) -> (i32, String, String) {
    told(program(NOWHERE).args(args).output().unwrap())
}

fn json(args: &[&str]) -> (i32, Value) {
    let (code, text, errors) = run(&[&["find", "--json"], args].concat());
    assert_eq!(errors, "");
    (code, serde_json::from_str(&text).unwrap())
}

/// Every pattern told, in the order told.
fn patterns(found: &Value) -> Vec<String> {
    found["patterns"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["pattern"]["packet"].as_str().unwrap().to_owned())
        .collect()
}

/// A routine with these cards, steps and claims.
fn routine(folder: &Path, name: &str, cards: &str, steps: &str, claim: &str) -> String {
    let file = folder.join(format!("{name}.yaml"));
    let text = format!(
        "allroads: 1\ntitle: Small\nblurb: Small.\nprinciple: Counted by hand.\nlang: en-GB\nrunning-time: 1m\ncards:\n  {cards}\n{steps}finale:\n  id: end\n  title: The end\n  say: So.\n  claims: [{claim}]\n"
    );
    std::fs::write(&file, text).unwrap();
    file.to_str().unwrap().to_owned()
}

const DOWN_UNDER: &str = "piles: [dealt]
steps:
  - again:
      name: rounds
      says: Once more?
      steps:
        - {id: deal, title: Down and under, say: Down., do: [{down-under: {pile: packet, to: dealt}}]}
        - {id: back, title: Back, say: Back., do: [{move: {from: dealt, to: packet}}]}
";

const DEAL_AND_RIFFLE: &str = "piles: [dealt]
steps:
  - id: deal
    title: Deal some
    say: Some.
    fork: {name: n, says: Mine., number: {from: 1, to: 3}}
    do: [{deal: {from: packet, to: [dealt], count: n}}]
  - id: push
    title: Push
    say: Push.
    fork: {name: mix, says: There., seen: nothing, riffle: {left: dealt, right: packet}}
    do: [{riffle: {left: dealt, right: packet, to: packet, by: mix}}]
";

const CUT: &str = "steps:
  - id: cut
    title: Cut
    say: Cut.
    fork: {name: n, says: Here., seen: nothing, cut: {pile: packet, least: 0}}
    do: [{cut: {pile: packet, at: n}}]
";

#[test]
fn four_cards_under_a_down_under_deal_work_with_equal_ends() {
    let folder = tempfile::tempdir().unwrap();
    let file = routine(
        folder.path(),
        "four",
        "packet: {list: \"AC 2H 3C 4H\"}",
        DOWN_UNDER,
        "{same-as-start: {pile: packet, trait: colour}}",
    );
    // Common practice, no source: a b c d becomes d b c a.
    let wanted = [
        "R R R R", "R R B R", "R B R R", "R B B R", "B R R B", "B R B B", "B B R B", "B B B B",
    ];
    let (code, found) = json(&[&file, "--all"]);
    assert_eq!(code, 0);
    assert_eq!(patterns(&found), wanted);
    assert_eq!(found["of"], "16");
    assert_eq!(found["found"], "8");
    assert_eq!(found["complete"], true);
    // 26 · 25 · 24 · 23; 26 · 25 of each.
    assert_eq!(found["patterns"][0]["ways"], "358800");
    assert_eq!(found["patterns"][3]["ways"], "422500");
    // By its moves alone, which are two steps done one after the other.
    for more in [&["--survives"][..], &["--survives", "--steps", "deal+back"]] {
        let (code, found) = json(&[&[file.as_str(), "--all"], more].concat());
        assert_eq!(
            (code, patterns(&found)),
            (0, wanted.map(str::to_owned).to_vec())
        );
        assert_eq!(found["places"], serde_json::json!([[1, 4]]));
    }
    // Told as one: those that differ by an exchange of colours or by being read from the bottom.
    let (_, found) = json(&[&file]);
    assert_eq!(patterns(&found), ["R R R R", "R R B R", "R B B R"]);
    let (_, found) = json(&[&file, "--counts", "2,2"]);
    assert_eq!(patterns(&found), ["R B B R"]);
}

#[test]
fn what_is_printed_goes_into_a_file_and_proves() {
    let folder = tempfile::tempdir().unwrap();
    let claim = "{blocks: {pile: packet, of: 2, trait: colour}}";
    let file = routine(
        folder.path(),
        "pairs",
        "packet: {list: \"AC 2C 3C 4C 5C 6C\"}",
        DEAL_AND_RIFFLE,
        claim,
    );
    assert_eq!(run(&["prove", &file]).0, 1);
    let (code, told, errors) = run(&["find", &file]);
    assert_eq!((code, errors.as_str()), (0, ""), "{told}");
    assert!(
        told.starts_with("Small: 2 of 64 patterns of red and black work on every road."),
        "{told}"
    );
    let line = told
        .lines()
        .find(|line| line.trim_start().starts_with("packet: {pattern:"))
        .unwrap_or_else(|| panic!("no line for a file in\n{told}"));
    let pasted = routine(folder.path(), "pasted", line.trim(), DEAL_AND_RIFFLE, claim);
    let (code, told, errors) = run(&["prove", &pasted]);
    assert_eq!(code, 0, "{told}{errors}");
}

#[test]
fn it_ends_with_one_where_nothing_works_and_with_three_where_a_budget_ran_out() {
    let folder = tempfile::tempdir().unwrap();
    let four = "packet: {list: \"AC 2H 3C 4H\"}";
    let claim = "{sequence: {pile: packet, is: \"red black black black\"}}";
    let none = routine(folder.path(), "none", four, CUT, claim);
    let (code, told, _) = run(&["find", &none]);
    assert_eq!(code, 1);
    assert!(
        told.contains("none of 16 patterns of red and black works on every road."),
        "{told}"
    );
    let (code, found) = json(&[&none, "--budget", "0s"]);
    assert_eq!(code, 3);
    assert_eq!(found["complete"], false);
    assert_eq!(found["cut"], "time");
    let (code, told, _) = run(&["find", &none, "--budget", "0s"]);
    assert_eq!(code, 3);
    assert!(told.contains("so far. The"), "{told}");
}

#[test]
fn what_cannot_be_sought_is_told_with_what_would_help() {
    let folder = tempfile::tempdir().unwrap();
    let four = "packet: {list: \"AC 2H 3C 4H\"}";
    let mates = routine(folder.path(), "mates", four, CUT, "{mates: packet}");
    let cases: [(&[&str], &str); 7] = [
        (&["find", &mates], "line 19, the claim that"),
        (
            &["find", &mates, "--survives", "--steps", "cot"],
            "Did you mean cut?",
        ),
        (
            &["find", &mates, "--survives", "--trait", "weight"],
            "there is no trait",
        ),
        (
            &["find", &mates, "--survives", "--trait", "value"],
            "--classes names them",
        ),
        (
            &["find", &mates, "--survives", "--counts", "9,9"],
            "--counts takes one number",
        ),
        (
            &["find", &mates, "--survives", "--classes", "red,rod"],
            "there is no class rod",
        ),
        (&["find", &mates, "--up-to", "swap"], "--survives"),
    ];
    for (args, wanted) in cases {
        let (code, _, errors) = run(args);
        assert_eq!(code, 2, "{args:?}");
        assert!(errors.contains(wanted), "{args:?}\n{errors}");
    }
    // By the moves alone it can be said: under any cuts only one class stays as it is.
    let (code, found) = json(&[&mates, "--survives"]);
    assert_eq!(code, 0);
    assert_eq!(patterns(&found), ["R R R R"]);
    // Up to a cut all stay what they are: five after an exchange of colours and a cut, reversed or not: 0, 1, 2 (two kinds) red.
    let (_, found) = json(&[&mates, "--survives", "--up-to", "rotation"]);
    assert_eq!(found["found"], "16");
    assert_eq!(patterns(&found).len(), 4);
}

#[cfg(unix)]
#[test]
fn ctrl_c_gives_what_it_has() {
    let folder = tempfile::tempdir().unwrap();
    let cards: Vec<String> = (2..=10)
        .flat_map(|n| ["C", "H", "S"].map(|suit| format!("{n}{suit}")))
        .collect();
    let file = routine(
        folder.path(),
        "long",
        &format!("packet: {{list: \"{}\"}}", cards.join(" ")),
        CUT,
        // Any thirteen of 27: there are twenty million.
        "{count: {piles: [packet], class: red, is: 13}}",
    );
    let child = program(NOWHERE)
        .args(["find", "--json", "--most", "99999999", &file])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_secs(2));
    let killed = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(killed.success());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(3));
    let found: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(found["cut"], "asked");
    assert_eq!(found["complete"], false);
    // 2^27, without all red and all black: a pack has only 26 of each.
    assert_eq!(found["of"], "134217726");
    assert!(!patterns(&found).is_empty());
    for pattern in patterns(&found) {
        assert_eq!(pattern.matches('R').count(), 13, "{pattern}");
    }
}
