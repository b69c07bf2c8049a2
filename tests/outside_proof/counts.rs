//! How many roads there are, and how many different tables they end with.

use super::texts::{BALANCED, cut_and_turn_two};
use super::{agrees, any_cards, exactly, file, proved, routine, with_ends};
use allroads::proof::{Roads, Settled, Verdict};
use std::process::Command;

/// So many cards; some are taken off by `take`, and riffled back.
fn taken_off_and_riffled(n: usize, take: &str) -> String {
    let steps = format!(
        "  - id: off\n    fork: {{name: off, says: '{{off}}', number: {{from: 0, to: {n}}}}}\n    do: [{take}]\n  - id: push\n    fork: {{name: mix, seen: nothing, riffle: {{left: dealt, right: packet}}}}\n    do: [{{riffle: {{left: dealt, right: packet, to: packet, by: mix}}}}]\n"
    );
    file(
        &any_cards(n),
        "dealt",
        &steps,
        &format!("[{{count: {{piles: [packet], is: {n}}}}}]"),
    )
}

const DEALT: &str = "{deal: {from: packet, to: [dealt], count: off}}";
const LIFTED: &str = "{move: {from: packet, to: dealt, count: off}}";

#[test]
fn dealing_some_and_riffling_ends_with_two_to_the_n_less_one_packets() {
    // Diaconis & Graham, Magical Mathematics (2012), chapter 5; N. Gilbreath 1958, 1966.
    for (n, ends) in (1..=8).zip([1, 2, 4, 8, 16, 32, 64, 128]) {
        let text = taken_off_and_riffled(n, DEALT);
        let proof = proved(&routine(&text), with_ends());
        assert_eq!(proof.ends, Some(ends), "{n} cards");
        assert_eq!(proof.roads, exactly(1 << n), "{n} cards");
        assert_eq!(proof.verdict, Verdict::SureFire);
        agrees(&text);
    }
}

#[test]
fn one_riffle_ends_with_two_to_the_n_less_n_orders() {
    // Bayer & Diaconis, Trailing the dovetail shuffle to its lair, Ann. Appl. Prob. 2 (1992).
    for n in 1..=8 {
        let text = taken_off_and_riffled(n, LIFTED);
        let proof = proved(&routine(&text), with_ends());
        assert_eq!(proof.ends, Some((1 << n) - n as u64), "{n} cards");
        assert_eq!(proof.roads, exactly(1 << n), "{n} cards");
        agrees(&text);
    }
}

#[test]
fn cutting_and_turning_two_reaches_twice_the_factorial_of_arrangements() {
    // Magical Mathematics, chapter 1: 2·(2m)! arrangements, with facings.
    for (n, ends) in [(2, 4), (4, 48), (6, 1440)] {
        let text = cut_and_turn_two(&any_cards(n), BALANCED);
        let proof = proved(&routine(&text), with_ends());
        assert_eq!(proof.ends, Some(ends), "{n} cards");
        assert_eq!(proof.roads, Roads::Unbounded);
        assert_eq!(proof.verdict, Verdict::SureFire);
        assert_eq!(proof.loops.len(), 1);
        assert!(matches!(
            proof.loops[0].1,
            Settled::Induction | Settled::Fixpoint
        ));
    }
}

/// The same from the command line, as a performer asks.
#[test]
fn the_command_counts_roads_and_ends_of_a_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("eight.yaml");
    std::fs::write(&path, taken_off_and_riffled(8, DEALT)).expect("it can be written");
    let output = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .args(["prove", "--json", "--ends"])
        .arg(&path)
        .output()
        .expect("it runs");
    assert_eq!(output.status.code(), Some(0));
    let told: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(told["holds"], true);
    assert_eq!(told["roads"], "256");
    assert_eq!(told["ends"], 128);
}
