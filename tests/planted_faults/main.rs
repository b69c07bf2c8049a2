//! Every single fault of three kinds, planted into every routine that comes with the program: cards of the set-up swapped or
//! exchanged, a move done otherwise, a choice more than there should be. Each routine is made small enough first that every road
//! can be walked; walking them, never the prover, decides whether a fault does harm. The prover must find all that do.
//!
//! `cargo test --test planted_faults -- --nocapture` prints the table.

#![expect(clippy::expect_used, reason = "a test may fail by panicking")]

#[path = "../every_road/mod.rs"]
mod every_road;

mod faults;
mod small;

use allroads::proof::{Ends, Verdict, Ways};
use allroads::routine::load;
use every_road::held::fails_without;
use every_road::{EveryRoad, held, proved, replays, routine};
use faults::{Fault, Kind};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// What became of the faults of one kind.
#[derive(Debug, Default)]
struct Tally {
    planted: usize,
    /// The checks of the file refuse it already.
    refused: usize,
    /// It does harm on some road, and the prover has found such a road.
    caught: usize,
    /// It does no harm on any road, in words.
    harmless: Vec<String>,
}

/// A shipped routine as a tree.
fn tree(path: &Path) -> Value {
    let text = std::fs::read_to_string(path).expect("the routine can be read");
    let options = serde_yaml::options! { strict_booleans: true };
    serde_yaml::from_str_with_options(&text, options).expect("the routine is YAML")
}

fn quickly() -> Ways {
    Ways {
        odds: false,
        ends: Ends::Never,
        ..Ways::default()
    }
}

fn plant(tree: &Value, as_it_comes: &Value) -> BTreeMap<Kind, Tally> {
    let mut tallies: BTreeMap<Kind, Tally> = BTreeMap::new();
    for Fault { kind, words, tree } in faults::all(tree, as_it_comes) {
        let tally = tallies.entry(kind).or_default();
        tally.planted += 1;
        let text = tree.to_string();
        let Ok(faulty) = load(&text, "faulty.yaml", 0) else {
            tally.refused += 1;
            continue;
        };
        let harmful = fails_without(&faulty, &BTreeSet::new());
        let proof = proved(&faulty, quickly());
        let verdict = if harmful {
            Verdict::Refuted
        } else {
            Verdict::SureFire
        };
        assert_eq!(proof.verdict, verdict, "{words}\n{text}");
        if harmful {
            replays(&faulty, &proof.counterexample.expect("a road that fails"));
            tally.caught += 1;
        } else {
            tally.harmless.push(words);
        }
    }
    tallies
}

#[test]
fn every_planted_fault_that_does_harm_is_caught() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("drills");
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .expect("there are drills")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    paths.sort();
    assert!(paths.len() >= 5);
    println!("routine        | kind   | planted | refused | caught | harmless");
    for path in paths {
        let name = path
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let as_it_comes = tree(&path);
        let mut tree = as_it_comes.clone();
        small::make(&name, &mut tree);
        let text = tree.to_string();
        let loaded = routine(&text);
        let all = EveryRoad::of(&loaded);
        assert!(!all.fails(), "{name}, made small, fails without any fault");
        let ways = Ways {
            ends: Ends::Always,
            ..Ways::default()
        };
        held(&text, &loaded, &all, &proved(&loaded, ways));
        for (kind, tally) in plant(&tree, &as_it_comes) {
            println!(
                "{name:14} | {:6} | {:7} | {:7} | {:6} | {:8}",
                kind.word(),
                tally.planted,
                tally.refused,
                tally.caught,
                tally.harmless.len()
            );
            for words in &tally.harmless {
                println!("    does no harm: {words}");
            }
            assert_eq!(
                tally.planted,
                tally.refused + tally.caught + tally.harmless.len()
            );
        }
    }
}
