//! How long it takes to find every set-up: the answers are asserted.

use allroads::proof::Limits;
use allroads::proof::find::{Canvas, Wish, search};
use allroads::routine::{Routine, load};
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

const NO_LIMITS: Limits<'static> = Limits {
    bytes: 1 << 30,
    stop: &|| false,
    progress: &|_| {},
};

/// Six cards as the file has them; so many are asked for.
fn routine(steps: &str, claim: &str) -> Routine {
    let text = format!(
        "allroads: 1\ntitle: T\nblurb: b\nprinciple: p\nlang: en-GB\nrunning-time: 1m\ncards:\n  packet: {{list: \"AC 2C 3C 4C 5C 6C\"}}\n{steps}finale:\n  id: end\n  title: The end\n  say: So.\n  claims: [{claim}]\n"
    );
    match load(&text, "bench.yaml", 0) {
        Ok(routine) => routine,
        Err(troubles) => panic!("{troubles:?}"),
    }
}

fn found(routine: &Routine, cards: usize) -> usize {
    let wish = Wish {
        cards: Some(cards),
        ..Wish::default()
    };
    let canvas = match Canvas::new(routine, &wish) {
        Ok(canvas) => canvas,
        Err(unfit) => panic!("{unfit}"),
    };
    match search(&canvas, usize::MAX, &NO_LIMITS, &|_| {}) {
        Ok(sought) => {
            assert!(sought.complete);
            sought.patterns.len()
        }
        Err(unfit) => panic!("{unfit}"),
    }
}

fn benches(c: &mut Criterion) {
    let riffle = routine(
        "piles: [dealt]\nsteps:\n  - id: deal\n    title: Deal\n    say: Some.\n    fork: {name: n, says: Mine., number: {from: 0, to: 6}}\n    do: [{deal: {from: packet, to: [dealt], count: n}}]\n  - id: riffle\n    title: Riffle\n    say: Push.\n    fork: {name: mix, says: There., seen: nothing, riffle: {left: dealt, right: packet}}\n    do: [{riffle: {left: dealt, right: packet, to: packet, by: mix}}]\n",
        "{blocks: {pile: packet, of: 2, trait: colour}}",
    );
    let cut = routine(
        "steps:\n  - id: cut\n    title: Cut\n    say: Cut.\n    fork: {name: n, says: Here., seen: nothing, cut: {pile: packet, least: 0}}\n    do: [{cut: {pile: packet, at: n}}]\n",
        "{expr: \"colour(card(packet, 1)) != colour(card(packet, 11))\"}",
    );
    let mut group = c.benchmark_group("find");
    group.sample_size(10);
    // The alternating ones alone (N. Gilbreath 1958).
    group.bench_function("20 cards, pairs after a deal and a riffle", |b| {
        b.iter(|| assert_eq!(found(black_box(&riffle), 20), 2));
    });
    // One of two for each of ten pairs of places: 2^10.
    group.bench_function("20 cards, opposite colours in any cut", |b| {
        b.iter(|| assert_eq!(found(black_box(&cut), 20), 1_024));
    });
    group.finish();
}

criterion_group!(all, benches);
criterion_main!(all);
