//! `progress --json` of a routine with 20,000 answers among 100,000, whole process: once what they say is kept beside them, it should
//! stay under 300 ms however many there are.

#![expect(clippy::expect_used, reason = "a bench may fail by panicking")]

#[path = "many.rs"]
mod many;

use allroads::command::SHIPPED;
use criterion::{Criterion, SamplingMode, criterion_group, criterion_main};
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

fn told(data: &Path, routine: &str) -> (Duration, serde_json::Value) {
    let begun = Instant::now();
    let output = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .arg("--data")
        .arg(data)
        .args(["progress", routine, "--json"])
        .output()
        .expect("the program");
    let took = begun.elapsed();
    assert!(output.status.success(), "{output:?}");
    let told = serde_json::from_slice(&output.stdout).expect("an object");
    (took, told)
}

fn progress(c: &mut Criterion) {
    let folder = many::logbook(SHIPPED.iter().map(|shipped| shipped.name));
    let routine = SHIPPED.first().expect("a routine").name;
    let answers = many::SESSIONS * many::ANSWERS / SHIPPED.len();
    // The first look keeps what they say.
    assert_eq!(told(folder.path(), routine).1["answers"], answers);
    let mut group = c.benchmark_group("with 100,000 answers");
    group
        .sampling_mode(SamplingMode::Flat)
        .sample_size(20)
        .measurement_time(Duration::from_secs(5));
    group.bench_function("progress of a routine, for programs", |b| {
        b.iter_custom(|times| {
            (0..times)
                .map(|_| {
                    let (took, told) = told(folder.path(), routine);
                    assert_eq!(told["answers"], answers);
                    took
                })
                .sum()
        });
    });
    group.finish();
}

criterion_group!(benches, progress);
criterion_main!(benches);
