//! How long whole proofs take, from routine files as a performer writes them. Each asserts its answer.

#![expect(clippy::expect_used, reason = "a bench may fail by panicking")]

#[path = "../outside_proof/texts.rs"]
mod texts;

use allroads::proof::{Ends, Limits, Proof, Roads, Settled, Ways, prove};
use allroads::routine::{Routine, load};
use criterion::{Criterion, criterion_group, criterion_main};
use num_bigint::BigUint;
use std::hint::black_box;
use texts::{
    BALANCED, DIGITS, Handling, PLAIN, alternating, any_cards, cut_and_turn_two, half_apart,
    riffled, three_deals,
};

fn routine(text: &str) -> Routine {
    load(text, "bench.yaml", 0).expect("a routine without faults")
}

fn proved(text: &str, induction: bool) -> Proof {
    let ways = Ways {
        induction,
        ends: Ends::Never,
        ..Ways::default()
    };
    let limits = Limits {
        bytes: 2 << 30,
        stop: &|| false,
        progress: &|_| (),
    };
    prove(&routine(text), ways, &limits)
}

/// Reads the file, proves it, and expects it to be sure-fire on so many roads.
fn sure_fire(c: &mut Criterion, name: &str, text: &str, roads: &Roads, by: Option<Settled>) {
    let mut group = c.benchmark_group("proof");
    group.sample_size(10);
    group.bench_function(name, |b| {
        b.iter(|| {
            let proof = proved(black_box(text), by != Some(Settled::Fixpoint));
            assert!(proof.holds(), "{name}");
            assert_eq!(proof.roads, *roads, "{name}");
            assert!(proof.loops.iter().all(|(_, settled)| Some(*settled) == by));
        });
    });
    group.finish();
}

fn riffles(c: &mut Criterion) {
    for n in [52, 104, 200] {
        let roads = Roads::Exactly(BigUint::from(1_u8) << n);
        let text = riffled(&alternating(n), n, &PLAIN);
        sure_fire(c, &format!("pairs, {n} cards"), &text, &roads, None);
    }
    let roads = Roads::Exactly(BigUint::from(1_u8) << 52);
    for (name, deck, claims) in [
        (
            "four suits, 52 cards",
            "start: AC, step: 3",
            "[{blocks: {pile: packet, of: 4, trait: suit}}]",
        ),
        (
            "thirteen values, 52 cards",
            "order: by-suit",
            "[{blocks: {pile: packet, of: 13, trait: value}}]",
        ),
    ] {
        let cards = format!("  packet: {{deck: {{suits: CHSD, {deck}}}}}");
        let handling = Handling { claims, ..PLAIN };
        sure_fire(c, name, &riffled(&cards, 52, &handling), &roads, None);
    }
    let handling = Handling {
        after: "{inverse-faro: {pile: packet, top: odds}}",
        claims: &half_apart(24),
        ..PLAIN
    };
    let text = riffled(&alternating(24), 24, &handling);
    let roads = Roads::Exactly(BigUint::from(1_u8) << 24);
    sure_fire(c, "half a packet apart, 24 cards", &text, &roads, None);
}

fn rounds(c: &mut Criterion) {
    for (by, sizes) in [
        (Settled::Induction, [10, 52, 200]),
        (Settled::Fixpoint, [10, 16, 20]),
    ] {
        for n in sizes {
            let text = cut_and_turn_two(&any_cards(n), BALANCED);
            let name = format!("cut and turn two, {n} cards, {by:?}");
            sure_fire(c, &name, &text, &Roads::Unbounded, Some(by));
        }
    }
}

fn deals(c: &mut Criterion) {
    let roads = Roads::Exactly(BigUint::from(729_u16));
    let text = three_deals(true, DIGITS);
    sure_fire(c, "twenty-seven cards", &text, &roads, None);
}

criterion_group!(benches, riffles, rounds, deals);
criterion_main!(benches);
