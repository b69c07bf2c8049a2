//! How long an answer takes until it is on the disk (under 20 ms at the median), and how long the disk takes at the start
//! with 100,000 answers in the logbook.

#![expect(clippy::expect_used, reason = "a bench may fail by panicking")]

#[path = "many.rs"]
mod many;

use allroads::logbook::{Logbook, SessionId};
use criterion::{BatchSize, Criterion, SamplingMode, criterion_group, criterion_main};
use many::{ANSWERS, SESSIONS, answer, start};
use std::time::Duration;

const ROUTINES: [&str; 5] = ["one", "two", "three", "four", "five"];

fn durable(c: &mut Criterion) {
    // Beside the build, not in a folder that may be kept in memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let mut logbook = Logbook::open(folder.path()).expect("a logbook");
    let session: SessionId = logbook.begin(&start("routine-0")).expect("a session");
    let mut kept = 0;
    let mut group = c.benchmark_group("an answer");
    group
        .sampling_mode(SamplingMode::Flat)
        .measurement_time(Duration::from_secs(5));
    group.bench_function("until it is on the disk", |b| {
        b.iter(|| {
            kept += 1;
            logbook.record(&session, &answer(kept)).expect("kept");
        });
    });
    group.finish();
    assert_eq!(logbook.answers(&session).expect("answers").len(), kept);
    assert_eq!(logbook.check().expect("a check"), []);
}

fn opening(c: &mut Criterion) {
    let folder = many::logbook(ROUTINES.into_iter());
    let mut group = c.benchmark_group("100,000 answers");
    group.sampling_mode(SamplingMode::Flat).sample_size(20);
    group.bench_function("opened, and how five routines stand", |b| {
        b.iter_batched(
            || (),
            |()| {
                let logbook = Logbook::open(folder.path()).expect("the logbook");
                logbook.overview().expect("an overview")
            },
            BatchSize::PerIteration,
        );
    });
    group.finish();
    let overview = Logbook::open(folder.path())
        .and_then(|logbook| logbook.overview())
        .expect("an overview");
    // One more was the pattern of all others.
    assert_eq!(overview.len(), ROUTINES.len() + 1);
    let answers: u64 = overview.iter().map(|r| r.right + r.wrong).sum();
    assert_eq!(answers, (SESSIONS * ANSWERS) as u64 + 1);
}

criterion_group!(benches, durable, opening);
criterion_main!(benches);
