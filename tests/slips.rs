//! Slips: planted ones are found, known answers come out, and what is right is called right.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod planted_slips;

use planted_slips::{shipped, tally};
use std::time::Duration;

/// So many random roads of each routine; `cargo run --release --example planted_slips` walks 2,000.
const ROADS: u32 = 60;

#[test]
fn a_planted_slip_is_always_among_the_explanations_and_mostly_first() {
    for (name, routine) in shipped() {
        let tally = tally(&routine, ROADS, 1, false, Duration::from_secs(600));
        println!("{name} {tally:?}");
        assert_eq!(tally.missed, Vec::<u64>::new(), "{name}");
        assert!(tally.first * 10 >= tally.shown() * 8, "{name}: {tally:?}");
    }
}

#[test]
fn a_planted_slip_is_found_where_only_what_was_seen_is_told() {
    for (name, routine) in shipped() {
        let tally = tally(&routine, 3, 1, true, Duration::from_secs(600));
        println!("{name} {tally:?}");
    }
}
