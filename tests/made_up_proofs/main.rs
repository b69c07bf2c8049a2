//! Routines made up by dice: the prover with merging and without says the same, and the same as every road walked one by one.

#![expect(clippy::expect_used, reason = "a test may fail by panicking")]

#[path = "../every_road/mod.rs"]
mod every_road;

mod dice;

use allroads::proof::{Ends, Roads, Settled, Ways};
use allroads::roads::{domain, sample, take, unknown_start};
use allroads::routine::{ForkKind, Routine, Scene, StopIndex, Value, World};
use every_road::{EveryRoad, broken_after, held, proved, replays, routine};
use std::collections::BTreeSet;

/// How many routines are made up.
const ROUTINES: u64 = 500;

/// How many routines with a part gone through as often as they like.
const ROUNDS: u64 = 300;

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

/// The claims that some number of rounds breaks, and whether a step cannot be done after some: every state visited, and told apart
/// by all but how many rounds there were.
fn after_any_number(loaded: &Routine) -> (BTreeSet<(StopIndex, usize)>, bool) {
    let (mut broken, mut stuck) = (BTreeSet::new(), false);
    let mut seen: BTreeSet<World> = BTreeSet::new();
    let mut waiting = vec![unknown_start(loaded)];
    while let Some(mut world) = waiting.pop() {
        if loaded.stop(world.at).is_none() {
            continue;
        }
        for stop in &loaded.stops {
            if let Some(fork) = stop
                .fork
                .as_ref()
                .filter(|f| matches!(f.kind, ForkKind::Again { .. }))
            {
                world.memory[fork.name.index()] = None;
            }
        }
        if !seen.insert(world.clone()) {
            continue;
        }
        let choices: Vec<Option<Value>> = match domain(loaded, &world) {
            Err(_) => Vec::new(),
            Ok(None) => vec![None],
            Ok(Some(open)) => open.branches().map(Some).collect(),
        };
        stuck |= choices.is_empty();
        for choice in choices {
            match take(loaded, &world, choice.as_ref()) {
                Err(_) => stuck = true,
                Ok(taken) => {
                    broken.extend(broken_after(loaded, world.at, &taken.world));
                    waiting.push(taken.world);
                }
            }
        }
    }
    (broken, stuck)
}

#[test]
fn made_up_rounds_are_settled_alike_by_reasoning_by_going_round_and_by_visiting_every_table() {
    let (mut by_reasoning, mut by_going_round, mut refuted) = (0, 0, 0);
    for number in 0..ROUNDS {
        let text = dice::rounds(number);
        let loaded = routine(&text);
        let (broken, stuck) = after_any_number(&loaded);
        for (merge, induction) in [(true, true), (true, false), (false, false)] {
            let ways = Ways {
                merge,
                induction,
                odds: false,
                ends: Ends::Never,
                ..Ways::default()
            };
            let proof = proved(&loaded, ways);
            assert_eq!(proof.holds(), broken.is_empty() && !stuck, "{text}");
            // A step that can never be done ends every road before its first "once more?".
            assert!(stuck || proof.roads == Roads::Unbounded, "{text}");
            for claim in &proof.claims {
                let breaks = broken.contains(&(claim.stop, claim.index));
                assert_eq!(claim.holds, Some(!breaks), "{} in {text}", claim.words);
            }
            if let Some(found) = &proof.counterexample {
                replays(&loaded, found);
            }
            if (merge, induction) == (true, true) {
                match proof.loops.first() {
                    _ if !proof.holds() => refuted += 1,
                    Some((_, Settled::Induction)) => by_reasoning += 1,
                    Some((_, Settled::Fixpoint)) | None => by_going_round += 1,
                }
            }
        }
    }
    println!(
        "{by_reasoning} proved by reasoning about one round, {by_going_round} by going round, {refuted} refuted"
    );
    assert!(by_reasoning >= 10 && by_going_round >= 10 && refuted >= 60);
}
