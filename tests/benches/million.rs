//! Ten years of daily practice: a million answers in the logbook. From the start of the whole program to its first frame under 80 ms
//! and with less than 80 MiB, `progress --json` under 300 ms, the next question under 5 ms.

#![expect(clippy::expect_used, reason = "a bench may fail by panicking")]

#[cfg(unix)]
#[path = "frame.rs"]
mod frame;

#[cfg(unix)]
mod years {
    use super::frame::first_frame;
    use allroads::coach::{Aim, Memory, Record, guide};
    use allroads::command::{SHIPPED, Source};
    use allroads::drill::{Drill, Event, Plan, Prompt, Session};
    use allroads::logbook::Logbook;
    use chrono::{DateTime, SecondsFormat, TimeDelta};
    use criterion::{Criterion, SamplingMode};
    use std::io::{BufReader, Read};
    use std::path::Path;
    use std::process::Command;
    use std::sync::Arc;
    use std::time::{Duration, Instant};

    /// Sessions in ten years of days, and answers in each.
    const SESSIONS: u64 = 3_652;
    const ANSWERS: u64 = 274;
    const ALL: u64 = SESSIONS * ANSWERS;
    /// The most memory, in kibibytes.
    const MOST_MEMORY: u64 = 80 * 1_024;

    /// An export of a million answers, made line by line as it is read.
    struct Export {
        steps: Vec<(&'static str, Vec<String>)>,
        session: u64,
        ordinal: u64,
        line: Vec<u8>,
        read: usize,
    }

    impl Export {
        fn next_line(&mut self) -> Option<String> {
            if self.session == 0 {
                self.session = 1;
                return Some("{\"logbook\":\"allroads\",\"version\":2}\n".into());
            }
            if self.session > SESSIONS {
                return None;
            }
            let (n, ordinal) = (self.session, self.ordinal);
            let day = i64::try_from(n).expect("a day");
            let second = i64::try_from(ordinal).expect("a second") * 9;
            let at = DateTime::from_timestamp(1_500_000_000, 0).expect("a time")
                + TimeDelta::days(day)
                + TimeDelta::seconds(second);
            let at = at.to_rfc3339_opts(SecondsFormat::Millis, false);
            let (routine, steps) =
                &self.steps[usize::try_from(n).expect("small") % self.steps.len()];
            let hash = "0".repeat(64);
            let line = if ordinal == 0 {
                format!(
                    "{{\"session\":{{\"id\":\"{n:032x}\",\"routine\":\"{routine}\",\"content_hash\":\"{hash}\",\"seed\":\"7\",\"setup\":\"0\",\"drills\":[\"picture\"],\"manner\":\"screen\",\"started\":\"{at}\",\"ended\":null}}}}\n"
                )
            } else {
                let step = &steps[usize::try_from(ordinal).expect("small") % steps.len()];
                let kind = ["card", "trait", "count", "next", "line"]
                    [usize::try_from(ordinal / 3).expect("small") % 5];
                let drill = match kind {
                    "next" => "order",
                    "line" => "lines",
                    _ => "picture",
                };
                // One in nine is missed, at some steps more often.
                let right = (n * 31 + ordinal * 17) % 9 != 0;
                format!(
                    "{{\"answer\":{{\"session\":\"{n:032x}\",\"ordinal\":{ordinal},\"routine\":\"{routine}\",\"content_hash\":\"{hash}\",\"step\":\"{step}\",\"drill\":\"{drill}\",\"kind\":\"{kind}\",\"detail\":\"packet 1\",\"again\":false,\"question\":\"Which card lies on top?\",\"seed\":\"7\",\"choices\":[\"n={}\"],\"given\":\"They cut.\",\"expected\":\"7♥\",\"answer\":\"7h\",\"right\":{right},\"first_key_ms\":800,\"total_ms\":{},\"at\":\"{at}\"}}}}\n",
                    ordinal % 13,
                    1_500 + (n * 7 + ordinal * 13) % 3_000,
                )
            };
            self.ordinal += 1;
            if self.ordinal > ANSWERS {
                (self.session, self.ordinal) = (n + 1, 0);
            }
            Some(line)
        }
    }

    impl Read for Export {
        fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
            if self.read == self.line.len() {
                let Some(line) = self.next_line() else {
                    return Ok(0);
                };
                self.line = line.into_bytes();
                self.read = 0;
            }
            let count = into.len().min(self.line.len() - self.read);
            into[..count].copy_from_slice(&self.line[self.read..self.read + count]);
            self.read += count;
            Ok(count)
        }
    }

    fn logbook() -> tempfile::TempDir {
        // Beside the build, not in a folder that may be kept in memory.
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
        let steps = SHIPPED
            .iter()
            .map(|shipped| {
                let source = Source::find(shipped.name).expect("a shipped routine");
                let routine = source.load(0).expect("without faults");
                let ids = routine.stops.iter().map(|stop| stop.id.to_string());
                (shipped.name, ids.collect())
            })
            .collect();
        let export = Export {
            steps,
            session: 0,
            ordinal: 0,
            line: Vec::new(),
            read: 0,
        };
        let mut book = Logbook::open(folder.path()).expect("a new logbook");
        let done = book
            .import(&mut BufReader::with_capacity(1 << 16, export))
            .expect("an import");
        assert_eq!((done.sessions, done.answers), (SESSIONS, ALL));
        folder
    }

    fn progress(data: &Path) -> Duration {
        let begun = Instant::now();
        let output = Command::new(env!("CARGO_BIN_EXE_allroads"))
            .args(["progress", "--json", "--data"])
            .arg(data)
            .current_dir(data)
            .output()
            .expect("the program");
        let took = begun.elapsed();
        assert!(output.status.success(), "{output:?}");
        let lines: Vec<serde_json::Value> = String::from_utf8(output.stdout)
            .expect("text")
            .lines()
            .map(|line| serde_json::from_str(line).expect("an object"))
            .collect();
        let sum: u64 = lines
            .iter()
            .filter_map(|line| line["answers"].as_u64())
            .sum();
        assert_eq!((lines.len(), sum), (SHIPPED.len(), ALL));
        took
    }

    pub fn ten_years(c: &mut Criterion) {
        let folder = logbook();
        // Once all answers are read; from then on what they say is kept beside them.
        let (first, _) = first_frame(folder.path());
        println!(
            "the very first start, which reads all of them: {:.2} s",
            first.as_secs_f64()
        );
        let mut group = c.benchmark_group("with 1,000,000 answers");
        group
            .sampling_mode(SamplingMode::Flat)
            .sample_size(20)
            .measurement_time(Duration::from_secs(8));
        let mut most = 0;
        group.bench_function("from the start to the first frame", |b| {
            b.iter_custom(|times| {
                (0..times)
                    .map(|_| {
                        let (took, memory) = first_frame(folder.path());
                        most = most.max(memory.unwrap_or(0));
                        took
                    })
                    .sum()
            });
        });
        println!(
            "the most memory until then: {:.1} MiB",
            most as f64 / 1_024.0
        );
        assert!(most <= MOST_MEMORY, "{most} KiB");
        group.bench_function("progress --json", |b| {
            b.iter_custom(|times| (0..times).map(|_| progress(folder.path())).sum());
        });
        let name = SHIPPED.first().expect("a routine").name;
        let routine = Arc::new(Source::find(name).expect("it").load(0).expect("it"));
        let book = Logbook::open(folder.path()).expect("the logbook");
        let told = book.told_since(name, 0).expect("its answers");
        let record = Record::of(Memory::default(), &told.answers);
        assert!(record.answers() > ALL / 6, "{}", record.answers());
        let today = record.latest().expect("a day").plus(1);
        group.bench_function("the next question", |b| {
            b.iter_batched(
                || {
                    let plan = Plan {
                        drills: Drill::ASKED.to_vec(),
                        questions: Some(20),
                        minutes: None,
                        seed: 7,
                        from: None,
                    };
                    let guide = guide(&record, Aim::new(today, None), Some(told.branches.clone()));
                    let mut session =
                        Session::guided(Arc::clone(&routine), plan, guide).expect("a session");
                    session.work_ahead();
                    session
                },
                |mut session| {
                    while matches!(session.prompt(), Prompt::Tell(_)) {
                        session.update(Event::Go);
                    }
                    assert!(matches!(session.prompt(), Prompt::Ask(_)));
                    session
                },
                criterion::BatchSize::SmallInput,
            );
        });
        group.finish();
    }
}

#[cfg(unix)]
criterion::criterion_group!(benches, years::ten_years);
#[cfg(unix)]
criterion::criterion_main!(benches);

#[cfg(not(unix))]
fn main() {}
