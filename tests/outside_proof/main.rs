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
mod texts;
mod twenty_seven;

use every_road::{EveryRoad, held, proved, replays, routine};
use texts::{any_cards, file};

use allroads::proof::{Ends, Proof, Roads, Ways};

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
