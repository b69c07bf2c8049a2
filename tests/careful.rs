//! What a slip of the performer's own does to the rest of the road, through the real program: told, for programs, and on a walk.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod program;

use program::{NOWHERE, program, told};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Stdio;

/// Eight cards of alternating colours, three to five dealt off, both parts riffled; the pairs must hold one of each colour. One mend brings
/// the top card of the packet to its bottom.
const TRAIN: &str = "tests/fixtures/train.yaml";

fn slips(data: &Path, routine: &str, args: &[&str]) -> String {
    let (code, text, errors) = told(
        program(data)
            .args(["rescue", routine, "--slips"])
            .args(args)
            .output()
            .unwrap(),
    );
    assert_eq!((code, errors.as_str()), (0, ""));
    text
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Effect {
    Harmless,
    Mendable,
    Fatal,
}

impl Effect {
    fn word(self) -> &'static str {
        match self {
            Self::Harmless => "harmless",
            Self::Mendable => "mendable",
            Self::Fatal => "fatal",
        }
    }
}

/// Whether every riffle of two heaps, told by their colours from the top, leaves pairs of two colours.
fn pairs(one: &[bool], other: &[bool]) -> bool {
    let n = one.len() + other.len();
    (0_u32..1 << n)
        .filter(|weave| weave.count_ones() as usize == one.len())
        .all(|weave| {
            let (mut one, mut other) = (one.iter(), other.iter());
            let packet: Vec<bool> = (0..n)
                .map(|at| {
                    let next = if weave >> at & 1 == 1 {
                        one.next()
                    } else {
                        other.next()
                    };
                    *next.unwrap()
                })
                .collect();
            packet.chunks(2).all(|pair| pair[0] != pair[1])
        })
}

/// What comes of two heaps before the riffle, with up to three mends.
fn effect((platform, packet): (Vec<bool>, Vec<bool>)) -> Effect {
    let mended = |times: usize| {
        let mut packet = packet.clone();
        packet.rotate_left(times);
        pairs(&platform, &packet)
    };
    if mended(0) {
        Effect::Harmless
    } else if (1..=3).any(mended) {
        Effect::Mendable
    } else {
        Effect::Fatal
    }
}

/// By kind of slip at the deal and number named: the two heaps after it, by colours, laid by hand.
fn heaps(slip: &str, many: usize) -> Vec<(Vec<bool>, Vec<bool>)> {
    let cards: Vec<bool> = (0..8).map(|n| n % 2 == 0).collect();
    let dealt = |many: usize| -> (Vec<bool>, Vec<bool>) {
        let platform = cards[..many].iter().rev().copied().collect();
        (platform, cards[many..].to_vec())
    };
    match slip {
        "lifted" => vec![(cards[..many].to_vec(), cards[many..].to_vec())],
        "count" => vec![dealt(many - 1), dealt(many + 1)],
        "left-out" => vec![dealt(0)],
        "twice" if 2 * many <= 8 => vec![dealt(2 * many)],
        "twice" => Vec::new(),
        "last-across" => {
            let (mut platform, packet) = dealt(many);
            platform.rotate_left(1);
            vec![(platform, packet)]
        }
        other => panic!("{other}"),
    }
}

#[test]
fn what_comes_of_a_slip_is_what_every_riffle_and_every_mend_tried_by_hand_say() {
    let data = tempfile::tempdir().unwrap();
    let text = slips(data.path(), TRAIN, &["--step", "part", "--json"]);
    let rows: Vec<Value> = text
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let mut effects: BTreeMap<&str, Effect> = BTreeMap::new();
    for slip in ["lifted", "count", "left-out", "twice", "last-across"] {
        let row = rows.iter().find(|row| row["slip"] == slip).unwrap();
        let by_many: BTreeMap<usize, Effect> = (3..=5)
            .filter_map(|many| Some((many, heaps(slip, many).into_iter().map(effect).max()?)))
            .collect();
        let worst = *by_many.values().max().unwrap();
        assert_eq!(row["effect"], worst.word(), "{row}");
        assert_eq!(row["extent"], "all");
        assert_eq!(row["step"], "part");
        // Where it is so with some numbers only, they are told.
        let with: BTreeSet<String> = by_many
            .iter()
            .filter(|(_, effect)| **effect == worst)
            .map(|(many, _)| many.to_string())
            .collect();
        let told: BTreeSet<String> = row["choices"]
            .as_array()
            .unwrap()
            .iter()
            .map(|choice| choice.as_str().unwrap().to_owned())
            .collect();
        let all = with.len() == by_many.len();
        assert_eq!(told, if all { BTreeSet::new() } else { with }, "{row}");
        effects.insert(slip, worst);
    }
    // All three come up; that lifting four is mended and losing count harms nothing was worked out by hand too.
    assert_eq!(effects["lifted"], Effect::Mendable);
    assert_eq!(effects["count"], Effect::Harmless);
    assert_eq!(effects["last-across"], Effect::Fatal);
    let lifted = rows.iter().find(|row| row["slip"] == "lifted").unwrap();
    assert_eq!(lifted["choices"], serde_json::json!(["4"]));
    assert_eq!(
        (&lifted["looked"], &lifted["worst"]),
        (&3.into(), &1.into())
    );
    // The same in words.
    let words = slips(data.path(), TRAIN, &["--step", "part"]);
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    for line in [
        "To be mended: lifted the four cards as a block instead of dealing them one by one (with 4)",
        "Fatal: put the last card on the other side (with 3 or 5)",
    ] {
        assert!(words.contains(line), "{line}\n{words}");
    }
}

#[test]
fn a_walk_says_where_to_be_careful_once_that_was_worked_out() {
    let data = tempfile::tempdir().unwrap();
    let walk = |args: &[&str]| {
        let all = [&["walk", TRAIN, "--seed", "1"], args].concat();
        let (code, text, _) = told(program(data.path()).args(all).output().unwrap());
        assert_eq!(code, 0, "{text}");
        text
    };
    let json = || -> Value { serde_json::from_str(&walk(&["--json"])).unwrap() };
    // A logbook, as any rehearsal makes it.
    let begun = program(data.path())
        .args(["rehearse", TRAIN, "--plain"])
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert!(begun.status.success());
    assert_eq!(json()["steps"][0]["careful"], Value::Null);
    assert!(!walk(&[]).contains("Careful here"));
    slips(data.path(), TRAIN, &[]);
    let road = json();
    let line = road["steps"][0]["careful"].as_str().unwrap();
    assert!(
        line.starts_with("Careful here: there may be no way back if you "),
        "{line}"
    );
    // As worked out in the test above.
    assert!(line.contains("put the last card on the other side"));
    assert!(!line.contains("lift as a block") && !line.contains("lose count"));
    // At the end there is nothing left to do.
    assert_eq!(road["steps"][2]["careful"], Value::Null);
    let text = walk(&[]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains(line), "{text}");
}

#[test]
fn slips_of_a_routine_that_comes_with_the_program() {
    let text = slips(Path::new(NOWHERE), "chairlift", &[]);
    insta::assert_snapshot!("slips_of_chairlift", text);
    let json = slips(
        Path::new(NOWHERE),
        "chairlift",
        &["--step", "cocoa", "--json"],
    );
    insta::assert_snapshot!("slips_of_chairlift_at_cocoa", json);
}
