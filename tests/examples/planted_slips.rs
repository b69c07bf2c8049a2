//! Plants random slips on random roads of the shipped routines and asks for each: the table in DEVELOPERS.md.
//!
//! `cargo run --release --example planted_slips [ROADS]`: 2,000 roads of each routine unless another number is given; a tenth of
//! them where only what was seen is told, and for pairs of slips.

#[path = "../planted_slips/mod.rs"]
mod planted_slips;

use planted_slips::{Tally, shipped, tally};
use std::time::Duration;

/// How long pairs are looked for.
const PATIENCE: Duration = Duration::from_secs(2);

fn main() {
    let roads = std::env::args()
        .nth(1)
        .and_then(|text| text.parse().ok())
        .unwrap_or(2_000);
    println!(
        "| routine | slips | told | roads | shows in nothing | fewer explain it | among | first | cut short | mean | slowest |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for (name, routine) in shipped() {
        for (slips, open, roads) in [
            (1, false, roads),
            (1, true, (roads / 10).max(1)),
            (2, false, (roads / 10).max(1)),
        ] {
            let one = tally(&routine, roads, slips, open, PATIENCE);
            row(name, slips, open, &one);
        }
    }
}

fn row(name: &str, slips: usize, open: bool, tally: &Tally) {
    let shown = tally.shown();
    let share = |n: u32| {
        if shown == 0 {
            "none".to_owned()
        } else {
            format!("{:.1} %", 100.0 * f64::from(n) / f64::from(shown))
        }
    };
    println!(
        "| {name} | {slips} | {} | {} | {} | {} | {} | {} | {} | {:.0} ms | {:.0} ms |",
        if open { "what was seen" } else { "all" },
        tally.roads,
        tally.hidden,
        tally.fewer,
        share(tally.among),
        share(tally.first),
        tally.partly,
        tally.whole.as_secs_f64() * 1000.0 / f64::from(tally.roads),
        tally.slowest.as_secs_f64() * 1000.0,
    );
}
