//! From the start of the whole program to its first frame in a terminal of 120×40, with 100,000 answers in the logbook. It
//! should stay under 50 ms.

#![expect(clippy::expect_used, reason = "a bench may fail by panicking")]

#[cfg(unix)]
#[path = "many.rs"]
mod many;

#[cfg(unix)]
mod terminal {
    use super::many;
    use allroads::command::SHIPPED;
    use criterion::{Criterion, SamplingMode};
    use portable_pty::{CommandBuilder, PtySize, native_pty_system};
    use std::io::{Read, Write};
    use std::num::NonZero;
    use std::path::Path;
    use std::time::{Duration, Instant};

    const ROWS: NonZero<u16> = NonZero::new(40).expect("not zero");
    const COLUMNS: NonZero<u16> = NonZero::new(120).expect("not zero");

    /// Starts the program, waits until the foot of the foyer is drawn, and leaves.
    fn first_frame(data: &Path) -> Duration {
        let pair = native_pty_system()
            .openpty(PtySize {
                rows: ROWS.get(),
                cols: COLUMNS.get(),
                pixel_width: 0,
                pixel_height: 0,
            })
            .expect("a terminal");
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_allroads"));
        command.arg("--data");
        command.arg(data);
        command.cwd(data);
        command.env("TERM", "xterm-256color");
        command.env("LC_ALL", "C.UTF-8");
        let mut from = pair.master.try_clone_reader().expect("its output");
        let mut to = pair.master.take_writer().expect("its input");
        let begun = Instant::now();
        let mut child = pair.slave.spawn_command(command).expect("the program");
        drop(pair.slave);
        let mut screen = vt100::Parser::new(ROWS, COLUMNS, 0);
        let mut bytes = [0; 8_192];
        loop {
            let count = from.read(&mut bytes).expect("output");
            assert!(count > 0, "it ended: {}", screen.screen().contents());
            screen.process(&bytes[..count]);
            let shown = screen.screen().contents();
            let foot = shown.lines().last().unwrap_or_default().to_owned();
            if foot.contains("q ") {
                break;
            }
        }
        let took = begun.elapsed();
        let shown = screen.screen().contents();
        let words = SHIPPED.first().expect("a routine").text;
        let title = words
            .lines()
            .find_map(|line| line.strip_prefix("title: "))
            .expect("a title");
        assert!(shown.contains(title), "{shown}");
        to.write_all(b"q").expect("a key");
        drop(to);
        // What it says on leaving must be read, or it waits for somebody to do so.
        std::thread::spawn(move || while matches!(from.read(&mut bytes), Ok(1..)) {});
        let ended = child.wait().expect("an end");
        assert!(ended.success(), "{ended:?}");
        took
    }

    pub fn start(c: &mut Criterion) {
        let folder = many::logbook(SHIPPED.iter().map(|shipped| shipped.name));
        let mut group = c.benchmark_group("with 100,000 answers");
        group
            .sampling_mode(SamplingMode::Flat)
            .sample_size(20)
            .measurement_time(Duration::from_secs(5));
        group.bench_function("from the start to the first frame", |b| {
            b.iter_custom(|times| (0..times).map(|_| first_frame(folder.path())).sum());
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
