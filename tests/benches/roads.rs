//! How long sampling a whole road takes, for each routine that comes with the program. It should stay under 50 µs.

#![expect(clippy::expect_used, reason = "a bench may fail by panicking")]

use allroads::command::SHIPPED;
use allroads::roads::{Choices, choice_label, replay, sample};
use allroads::routine::load;
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

fn roads(c: &mut Criterion) {
    assert!(!SHIPPED.is_empty());
    for shipped in SHIPPED {
        let routine = match load(shipped.text, shipped.name, 0) {
            Ok(routine) => routine,
            Err(troubles) => panic!("{}: {troubles:?}", shipped.name),
        };
        // The answer: the road's own printed choices lead the same way (how a shuffled deck lies still comes from the seed).
        for seed in 0..50 {
            let road = sample(&routine, seed).expect(shipped.name);
            let labels: Vec<String> = road
                .walked
                .iter()
                .filter_map(|walked| choice_label(&routine, walked))
                .collect();
            let choices =
                Choices::read(&routine, labels.iter().map(String::as_str)).expect(shipped.name);
            let again = replay(&routine, seed, &choices).expect(shipped.name);
            assert_eq!(again, road, "{} {seed}", shipped.name);
        }
        let mut seed = 0;
        c.bench_function(&format!("road of {}", shipped.name), |b| {
            b.iter(|| {
                seed += 1;
                sample(black_box(&routine), seed)
            });
        });
    }
}

criterion_group!(benches, roads);
criterion_main!(benches);
