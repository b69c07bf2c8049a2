//! `walk` as programs read it: the keys that stay, the same road from its choices, and claims that fail.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod program;

use program::{NOWHERE, program, told};
use serde_json::Value;
use std::path::Path;

fn walk(routine: &str, args: &[&str]) -> (i32, String, String) {
    told(
        program(NOWHERE)
            .args(["walk", routine])
            .args(args)
            .output()
            .unwrap(),
    )
}

fn json(routine: &str, args: &[&str]) -> Value {
    let (_, text, errors) = walk(routine, &[args, &["--json"]].concat());
    assert_eq!(errors, "");
    serde_json::from_str(&text).unwrap()
}

/// A routine of six cards, of which the claim holds only where one card is cut.
fn own(folder: &Path) -> String {
    let file = folder.join("six.yaml");
    let text = r#"allroads: 1
title: Six and a cut
blurb: One cut.
principle: A cut moves the top cards under the others.
lang: en-GB
running-time: 1m
cards:
  packet: {list: "AC 2H^ 3C 4H 5C 6H"}
piles: [dealt]
steps:
  - id: cut
    title: Cut the packet
    say: Cut anywhere. Was it {n}?
    fork: {name: n, about: where they cut, cut: {pile: packet, least: 1}}
    reckon: [{name: left, is: 6 - n, asks: How many were left?}]
    do: [{cut: {pile: packet, at: n}}, {move: {from: packet, to: dealt, count: 1}}]
    sees: [{count: dealt}]
    claims: [{says: the two lies there, lies: {pile: dealt, at: 1, card: 2H}}]
finale:
  id: look
  title: Look
  say: There it is.
  claims: [{count: {piles: [packet, dealt], is: 6}}]
"#;
    std::fs::write(&file, text).unwrap();
    file.to_str().unwrap().to_owned()
}

#[test]
fn the_json_has_the_keys_that_stay_and_the_cards_from_the_top() {
    let folder = tempfile::tempdir().unwrap();
    let routine = own(folder.path());
    let road = json(&routine, &["--seed", "5", "--choose", "n=1"]);
    assert_eq!(road["seed"], 5);
    assert_eq!(road["routine"], "Six and a cut");
    assert_eq!(road["setup"], 0);
    assert_eq!(road["choices"], serde_json::json!(["n=1"]));
    // By hand: the ace goes under, then the two, face up, is dealt.
    let card = |code: &str, face: &str| serde_json::json!({"card": code, "face": face});
    let step = &road["steps"][0];
    assert_eq!(step["step"], "cut");
    assert_eq!(step["choice"], "1");
    assert_eq!(step["visit"], 1);
    assert_eq!(step["say"], "Cut anywhere. Was it 1?");
    assert_eq!(
        step["remembered"],
        serde_json::json!({"n": "1", "left": "5"})
    );
    assert_eq!(step["holds"], true);
    let packet = ["3C", "4H", "5C", "6H", "AC"].map(|code| card(code, "down"));
    assert_eq!(step["piles"]["packet"], Value::from(packet.to_vec()));
    assert_eq!(step["piles"]["dealt"], Value::from(vec![card("2H", "up")]));
    assert_eq!(road["start"]["piles"]["packet"][1], card("2H", "up"));
    assert_eq!(road["steps"][1]["choice"], Value::Null);
    assert_eq!(road["steps"].as_array().unwrap().len(), 2);
    let reckoned = &road["names"][1];
    assert_eq!(
        (&reckoned["name"], &reckoned["kind"], &reckoned["asks"]),
        (
            &"left".into(),
            &"reckoning".into(),
            &"How many were left?".into()
        )
    );
}

#[test]
fn a_broken_claim_is_told_and_ends_with_code_one() {
    let folder = tempfile::tempdir().unwrap();
    let routine = own(folder.path());
    for n in 1..=5 {
        let choice = format!("n={n}");
        let (code, told, errors) = walk(&routine, &["--choose", &choice, "--seed", "9"]);
        assert_eq!(errors, "");
        assert_eq!(code, i32::from(n != 1), "{told}");
        assert_eq!(
            told.contains("NOT TRUE: the two lies there"),
            n != 1,
            "{told}"
        );
        assert!(
            told.contains("--choose n=") && told.contains("--seed 9"),
            "{told}"
        );
        let road = json(&routine, &["--choose", &choice]);
        assert_eq!(road["steps"][0]["holds"], n == 1);
        assert_eq!(road["steps"][0]["claims"][0]["holds"], n == 1);
    }
}

#[test]
fn the_line_that_is_printed_leads_along_the_same_road() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("drills");
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_str().unwrap();
        for seed in ["7", "123456"] {
            let (code, told, _) = walk(name, &["--seed", seed, "--setup", "3"]);
            assert_eq!(code, 0, "{told}");
            let line = told
                .lines()
                .find_map(|line| line.trim().strip_prefix("allroads walk "))
                .unwrap();
            let words: Vec<&str> = line.split(' ').collect();
            assert_eq!(words[0], name);
            assert_eq!(walk(name, &words[1..]).1, told);
        }
    }
}
