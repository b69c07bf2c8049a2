//! The prover against facts from outside the project, by the public path: a routine file, loaded and proved. Each value has its
//! source beside it.

#![expect(
    clippy::expect_used,
    reason = "a test that cannot read or write its files must stop"
)]

#[path = "../every_road/mod.rs"]
mod every_road;

mod chains;
mod counts;
mod distance;
mod five_cards;
mod riffles;
mod rounds;
mod twenty_seven;

use every_road::{EveryRoad, held, proved, replays, routine};

use allroads::proof::{Ends, Proof, Roads, Ways};

/// A routine file with these cards, further piles, steps and claims at the end.
fn file(cards: &str, piles: &str, steps: &str, claims: &str) -> String {
    format!(
        "allroads: 1\ntitle: Held against the world outside\ncards:\n{cards}\npiles: [{piles}]\nsteps:\n{steps}finale:\n  id: end\n  claims: {claims}\n"
    )
}

/// So many different cards from the top, suit by suit.
fn any_cards(n: usize) -> String {
    let suits = ["C", "H", "S", "D"];
    let values = [
        "A", "2", "3", "4", "5", "6", "7", "8", "9", "T", "J", "Q", "K",
    ];
    let all = suits
        .iter()
        .flat_map(|suit| values.iter().map(move |value| format!("{value}{suit}")));
    let cards: Vec<String> = all.take(n).collect();
    assert_eq!(cards.len(), n, "a pack has no more");
    format!("  packet: {{list: \"{}\"}}", cards.join(" "))
}

/// Ends counted, however many.
fn with_ends() -> Ways {
    Ways {
        ends: Ends::Always,
        ..Ways::default()
    }
}

fn exactly(roads: u128) -> Roads {
    Roads::Exactly(roads.into())
}

/// Holds a proof against every road walked one by one.
fn agrees(text: &str) -> (Proof, EveryRoad) {
    let loaded = routine(text);
    let proof = proved(&loaded, with_ends());
    let all = EveryRoad::of(&loaded);
    held(text, &loaded, &all, &proof);
    (proof, all)
}
