//! Proofs side by side, with all that the proof room does not have: a clock, a look at the memory, Ctrl-C, and a line on
//! the terminal that says how far it is.

use super::{Proved, Wanted};
use crate::command::failure::Failure;
use crate::command::lasting::budget::Budget;
use crate::command::lasting::numbers::{seconds, thousands};
use crate::command::lasting::{Bar, Cut, Interrupt, LOOK, STACK, resident, road};
use crate::proof::{Limits, Proof, Verdict, Ways, prove};
use crate::screen::Theme;
use std::num::NonZeroUsize;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

/// What all proofs share.
#[derive(Default)]
struct Shared {
    /// The next routine that nobody has taken.
    next: AtomicUsize,
    /// How many are done.
    done: AtomicUsize,
    /// What all of them have looked at so far.
    looked_at: AtomicU64,
    asked: Arc<AtomicBool>,
    full: AtomicBool,
}

impl Shared {
    /// Whether too much memory is held now.
    fn look(&self, budget: Budget) {
        let full = resident().is_some_and(|bytes| bytes > budget.bytes);
        self.full.store(full, Ordering::SeqCst);
    }
}

/// Proves all, as many at once as the machine has cores, and tells each in the order given, as soon as those before it are
/// told.
pub(super) fn all(
    wanted: &[Wanted],
    ways: Ways,
    budget: Budget,
    theme: Theme,
    mut tell: impl FnMut(&Proved<'_>) -> Result<(), Failure>,
) -> Result<(), Failure> {
    let shared = Shared::default();
    let _watched = Interrupt::watch(&shared.asked)?;
    let threads = thread::available_parallelism()
        .map_or(1, NonZeroUsize::get)
        .min(wanted.len());
    let began = Instant::now();
    thread::scope(|scope| {
        let (send, receive) = mpsc::channel();
        for _ in 0..threads {
            let send = send.clone();
            let shared = &shared;
            thread::Builder::new()
                .stack_size(STACK)
                .spawn_scoped(scope, move || {
                    loop {
                        let index = shared.next.fetch_add(1, Ordering::SeqCst);
                        let Some(one) = wanted.get(index) else {
                            return;
                        };
                        let proved = one_of(one, ways, budget, threads, shared);
                        shared.done.fetch_add(1, Ordering::SeqCst);
                        if send.send((index, proved)).is_err() {
                            return;
                        }
                    }
                })
                .map_err(|cause| Failure::Machine(format!("no thread could be had ({cause})")))?;
        }
        drop(send);
        let mut bar = Bar::new(theme, began);
        let mut waiting: Vec<Option<Proved<'_>>> = wanted.iter().map(|_| None).collect();
        let mut told = 0;
        let ended = loop {
            match receive.recv_timeout(LOOK) {
                Ok((index, proved)) => {
                    if let Some(place) = waiting.get_mut(index) {
                        *place = Some(proved);
                    }
                    bar.wipe();
                    let mut ended = Ok(());
                    while ended.is_ok()
                        && let Some(proved) = waiting.get_mut(told).and_then(Option::take)
                    {
                        told += 1;
                        ended = tell(&proved);
                    }
                    if ended.is_err() {
                        break ended;
                    }
                }
                Err(mpsc::RecvTimeoutError::Timeout) => {
                    shared.look(budget);
                    bar.draw(&|passed| {
                        line(
                            passed,
                            (shared.done.load(Ordering::SeqCst), wanted.len()),
                            budget.time,
                            shared.looked_at.load(Ordering::SeqCst),
                        )
                    });
                }
                Err(mpsc::RecvTimeoutError::Disconnected) => break Ok(()),
            }
        };
        // Nobody reads on: the others need not end either.
        if ended.is_err() {
            shared.asked.store(true, Ordering::SeqCst);
        }
        bar.wipe();
        ended
    })
}

fn one_of<'a>(
    one: &'a Wanted,
    ways: Ways,
    budget: Budget,
    at_once: usize,
    shared: &Shared,
) -> Proved<'a> {
    // The one before may have taken all, and given it back since.
    shared.look(budget);
    let began = Instant::now();
    let cut = || {
        if shared.asked.load(Ordering::SeqCst) {
            Some(Cut::Asked)
        } else if shared.full.load(Ordering::SeqCst) {
            Some(Cut::Memory)
        } else {
            (began.elapsed() >= budget.time).then_some(Cut::Time)
        }
    };
    let before = AtomicU64::new(0);
    let share = budget.bytes / u64::try_from(at_once.max(1)).unwrap_or(1);
    let limits = Limits {
        bytes: usize::try_from(share).unwrap_or(usize::MAX),
        stop: &|| cut().is_some(),
        progress: &|looked_at| {
            let more = looked_at.saturating_sub(before.swap(looked_at, Ordering::SeqCst));
            shared.looked_at.fetch_add(more, Ordering::SeqCst);
        },
    };
    let proof: Proof = prove(&one.routine, ways, &limits);
    let took = began.elapsed();
    Proved {
        origin: &one.source.origin,
        routine: &one.routine,
        cut: match proof.verdict {
            Verdict::SureFire | Verdict::Refuted => None,
            Verdict::Unfinished => cut(),
        },
        proof,
        seconds: took.as_secs_f64(),
        budget,
    }
}

/// The road so far: of several routines, those that are done; of one, its time.
fn line(passed: Duration, (done, count): (usize, usize), time: Duration, looked_at: u64) -> String {
    let part = if count > 1 {
        f64::from(u32::try_from(done).unwrap_or(u32::MAX))
            / f64::from(u32::try_from(count).unwrap_or(u32::MAX))
    } else {
        passed.as_secs_f64() / time.as_secs_f64().max(0.001)
    };
    let road = road(part);
    let so_far = if count > 1 {
        format!("{done} of {count} done, {}", seconds(passed.as_secs_f64()))
    } else {
        format!(
            "{} of at most {}",
            seconds(passed.as_secs_f64()),
            seconds(time.as_secs_f64())
        )
    };
    format!("{road} {so_far}, {} tables looked at", thousands(looked_at))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_says_how_far_it_is() {
        let time = Duration::from_secs(60);
        assert_eq!(
            line(Duration::from_secs(30), (0, 1), time, 1_234_567),
            "━━━━━━━━━━━━◉───────────○ 30 s of at most 60 s, 1,234,567 tables looked at"
        );
        assert_eq!(
            line(Duration::from_secs(2), (3, 4), time, 9),
            "━━━━━━━━━━━━━━━━━━◉─────○ 3 of 4 done, 2.0 s, 9 tables looked at"
        );
        let late = line(Duration::from_secs(70), (0, 1), time, 9);
        assert!(late.starts_with("━━━━━━━━━━━━━━━━━━━━━━━◉○ 70 s"), "{late}");
    }
}
