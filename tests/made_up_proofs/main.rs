//! Routines made up by dice: the prover with merging and without says the same, and the same as every road walked one by one.

#![expect(clippy::expect_used, reason = "a test may fail by panicking")]

#[path = "../every_road/mod.rs"]
mod every_road;

mod dice;

use allroads::proof::{Ends, Ways};
use allroads::roads::sample;
use allroads::routine::Scene;
use every_road::{EveryRoad, held, proved, routine};
use std::collections::BTreeSet;

/// How many routines are made up.
const ROUTINES: u64 = 500;

/// How many random roads the claims of every second routine must survive.
const RANDOM_ROADS: u64 = 12;

/// A routine file of dice. Every second one keeps only claims that hold on some random roads: they hold on all roads, or fail on
/// few.
fn made_up(number: u64) -> String {
    let mut file = dice::file(number);
    if number % 2 == 1 {
        let loaded = routine(&file.text());
        let mut broken: BTreeSet<(String, usize)> = BTreeSet::new();
        for seed in 0..RANDOM_ROADS {
            let Ok(road) = sample(&loaded, seed) else {
                continue;
            };
            for walked in &road.walked {
                let stop = &loaded.stops[walked.stop.index()];
                let scene = Scene {
                    routine: &loaded,
                    world: &walked.after,
                };
                for (index, claim) in stop.claims.iter().enumerate() {
                    if claim.kind.holds(scene) != Ok(true) {
                        broken.insert((stop.id.to_string(), index));
                    }
                }
            }
        }
        for (step, index) in broken.into_iter().rev() {
            file.claims
                .get_mut(&step)
                .expect("its claims")
                .remove(index);
        }
    }
    file.text()
}

#[test]
fn made_up_routines_are_proved_and_refuted_as_walking_every_road_says() {
    let (mut sure_fire, mut refuted, mut stuck) = (0, 0, 0);
    for number in 0..ROUTINES {
        let text = made_up(number);
        let loaded = routine(&text);
        let all = EveryRoad::of(&loaded);
        for merge in [true, false] {
            let ways = Ways {
                merge,
                ends: Ends::Always,
                ..Ways::default()
            };
            held(&text, &loaded, &all, &proved(&loaded, ways));
        }
        match (all.fails(), all.stuck) {
            (false, _) => sure_fire += 1,
            (true, false) => refuted += 1,
            (true, true) => stuck += 1,
        }
    }
    println!(
        "{sure_fire} sure-fire, {refuted} refuted, {stuck} with a step that cannot always be done"
    );
    // The dice throw all three, or this says little.
    assert!(sure_fire >= 60 && refuted >= 60 && stuck >= 10);
}
