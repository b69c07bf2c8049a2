//! From the start of the whole program to its first frame in a terminal of 120×40, with 100,000 answers in the logbook. It
//! should stay under 50 ms.

#![expect(clippy::expect_used, reason = "a bench may fail by panicking")]

#[cfg(unix)]
#[path = "frame.rs"]
mod frame;
#[cfg(unix)]
#[path = "many.rs"]
mod many;

#[cfg(unix)]
mod terminal {
    use super::frame::first_frame;
    use super::many;
    use allroads::command::SHIPPED;
    use criterion::{Criterion, SamplingMode};
    use std::time::Duration;

    pub fn start(c: &mut Criterion) {
        let folder = many::logbook(SHIPPED.iter().map(|shipped| shipped.name));
        let mut group = c.benchmark_group("with 100,000 answers");
        group
            .sampling_mode(SamplingMode::Flat)
            .sample_size(20)
            .measurement_time(Duration::from_secs(5));
        group.bench_function("from the start to the first frame", |b| {
            b.iter_custom(|times| (0..times).map(|_| first_frame(folder.path()).0).sum());
        });
        group.finish();
    }
}

#[cfg(unix)]
criterion::criterion_group!(benches, terminal::start);
#[cfg(unix)]
criterion::criterion_main!(benches);

#[cfg(not(unix))]
fn main() {}
