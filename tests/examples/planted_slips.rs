//! Plants random slips on random roads of the shipped routines and asks for each: the table in DEVELOPERS.md.
//!
//! `cargo run --release --example planted_slips [ROADS [PAIRS [SEEN]]]`: 2,000 roads of each routine with one slip and all told, a tenth of
//! them with a pair of slips, and a hundredth with one slip where only what was seen is told, unless other numbers are given. A number of
//! 0 leaves the rows out.

#[path = "../planted_slips/mod.rs"]
mod planted_slips;

use planted_slips::{Tally, shipped, tally};
use std::time::Duration;

/// How long pairs are looked for.
const PATIENCE: Duration = Duration::from_secs(2);

fn main() {
    let given: Result<Vec<u32>, _> = std::env::args().skip(1).map(|n| n.parse()).collect();
    let Ok(given) = given else {
        eprintln!(
            "how many roads of each routine, how many for pairs, how many for what was seen? three numbers"
        );
        std::process::exit(2);
    };
    let roads = given.first().copied().unwrap_or(2_000);
    let pairs = given.get(1).copied().unwrap_or(roads / 10);
    let seen = given.get(2).copied().unwrap_or(roads / 100);
    println!(
        "| routine | slips | told | roads | shows in nothing | fewer explain it | among | first | cut short | mean | slowest |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for (slips, open, roads) in [(1, false, roads), (2, false, pairs), (1, true, seen)] {
        if roads == 0 {
            continue;
        }
        for (name, routine) in shipped() {
            row(
                name,
                slips,
                open,
                &tally(&routine, roads, slips, open, PATIENCE),
            );
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
