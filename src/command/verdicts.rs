//! Verdicts kept in the logbook by the routine's content, and proofs in the background, which keep nobody waiting.

use super::rescue::slips;
use crate::logbook::{DERIVED, Logbook, LogbookError};
use crate::proof::{EDITION, Ends, Limits, Verdict, Ways, prove};
use crate::routine::Routine;
use crate::screen::{News, ON_THE_SIDE, Proven};
use rayon::ThreadPoolBuilder;
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// What a proof that nobody asked for may take: on a screen, and before the first line of the plain mode.
pub(super) const ON_SCREEN: Effort = Effort {
    seconds: 10,
    bytes: 256 << 20,
};
pub(super) const BEFORE_LINES: Effort = Effort {
    seconds: 1,
    bytes: 64 << 20,
};
/// As much stack as a main thread usually has.
const STACK: usize = 8 << 20;

/// How far a proof goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Effort {
    /// Whole seconds.
    pub seconds: u64,
    /// Memory for states, in bytes.
    pub bytes: usize,
}

/// What is known of a routine's text and set-up: a verdict; `None` where there is none, or where this effort may do
/// better.
pub(super) fn recall(logbook: &Logbook, routine: &Routine, effort: Effort) -> Option<Proven> {
    let kept = logbook
        .remembered(&key(&routine.content_hash, routine.setup))
        .ok()??;
    read(&kept, effort)
}

/// Keeps a verdict. One that was reached is never lost to one that was not.
///
/// # Errors
/// When it could not be kept.
pub(super) fn keep(logbook: &mut Logbook, news: &News, seconds: u64) -> Result<(), LogbookError> {
    let word = match news.proven {
        Proven::NotYet => return Ok(()),
        Proven::NotProved => "unfinished",
        Proven::Proved => "sure-fire",
        Proven::CanFail => "can-fail",
    };
    let key = key(&news.content_hash, news.setup);
    let before = logbook.remembered(&key)?;
    let least = Effort { seconds, bytes: 0 };
    if news.proven == Proven::NotProved
        && before
            .as_deref()
            .and_then(|kept| read(kept, least))
            .is_some()
    {
        return Ok(());
    }
    let text = format!("{} {word} {seconds}", edition());
    if before.as_deref() == Some(&text) {
        return Ok(());
    }
    logbook.remember(&key, &text)
}

fn key(content_hash: &str, setup: u64) -> String {
    format!("{DERIVED}proof of {content_hash} {setup}")
}

/// The program's version and the edition of its reasoning: another one proves again.
fn edition() -> String {
    format!("{}/{EDITION}", env!("CARGO_PKG_VERSION"))
}

fn read(kept: &str, effort: Effort) -> Option<Proven> {
    let mut words = kept.split(' ');
    if words.next() != Some(edition().as_str()) {
        return None;
    }
    match (words.next()?, words.next()?.parse::<u64>().ok()?) {
        ("sure-fire", _) => Some(Proven::Proved),
        ("can-fail", _) => Some(Proven::CanFail),
        ("unfinished", seconds) if seconds >= effort.seconds => Some(Proven::NotProved),
        _ => None,
    }
}

/// Proves within an effort, or until told to stop; `None` when told to, or when the proof broke down.
pub(super) fn attempt(routine: &Routine, effort: Effort, stopped: &AtomicBool) -> Option<Proven> {
    let (began, time) = (Instant::now(), Duration::from_secs(effort.seconds));
    let limits = Limits {
        bytes: effort.bytes,
        stop: &|| stopped.load(Ordering::SeqCst) || began.elapsed() >= time,
        progress: &|_| {},
    };
    let ways = Ways {
        odds: false,
        ends: Ends::Never,
        sample: 0,
        ..Ways::default()
    };
    // Nobody asked for this proof, so nobody's rehearsal ends should it break down.
    let proof = std::panic::catch_unwind(AssertUnwindSafe(|| prove(routine, ways, &limits)));
    let verdict = proof.ok()?.verdict;
    let settled = verdict != Verdict::Unfinished || !stopped.load(Ordering::SeqCst);
    settled.then(|| verdict.into())
}

/// Something that was found out in the background.
#[derive(Debug)]
pub(super) enum Found {
    /// A verdict on a routine.
    Proof(News),
    /// What slips do in it.
    Slips(Arc<Routine>, Vec<slips::Told>),
}

/// What slips do, within an effort, or until told to stop; `None` where that was not enough, or when it broke down.
fn what_slips_do(
    routine: &Routine,
    effort: Effort,
    stopped: &AtomicBool,
) -> Option<Vec<slips::Told>> {
    let (began, time) = (Instant::now(), Duration::from_secs(effort.seconds));
    let stop = || stopped.load(Ordering::SeqCst) || began.elapsed() >= time;
    let limits = Limits {
        bytes: effort.bytes,
        stop: &stop,
        progress: &|_| {},
    };
    let told = std::panic::catch_unwind(AssertUnwindSafe(|| slips::work_out(routine, &limits)));
    let told = told.ok()?.ok()?;
    (!stop()).then_some(told)
}

/// Proofs under way in a thread of their own; dropping this ends them.
#[derive(Debug)]
pub(super) struct Background {
    receive: Receiver<Found>,
    stopped: Arc<AtomicBool>,
}

impl Background {
    /// Begins with these routines, one after the other: proofs, then what slips do. Where the machine has no thread for it, nothing is found.
    pub(super) fn begin(
        routines: Vec<Arc<Routine>>,
        slips: Vec<Arc<Routine>>,
        effort: Effort,
    ) -> Self {
        let (send, receive) = channel();
        let stopped = Arc::new(AtomicBool::new(false));
        let told = Arc::clone(&stopped);
        let work = move || {
            for routine in routines {
                if told.load(Ordering::SeqCst) {
                    return;
                }
                let Some(proven) = attempt(&routine, effort, &told) else {
                    continue;
                };
                let news = News {
                    content_hash: routine.content_hash.clone(),
                    setup: routine.setup,
                    proven,
                };
                if send.send(Found::Proof(news)).is_err() {
                    return;
                }
            }
            for routine in slips {
                let found = what_slips_do(&routine, effort, &told);
                if told.load(Ordering::SeqCst)
                    || found.is_some_and(|found| send.send(Found::Slips(routine, found)).is_err())
                {
                    return;
                }
            }
        };
        // One thread and no more, so that the screen has the rest of the machine. Without it the channel is closed at once, and
        // the routines stay "not proved yet".
        if let Ok(pool) = ThreadPoolBuilder::new()
            .num_threads(1)
            .thread_name(|_| ON_THE_SIDE.to_owned())
            .stack_size(STACK)
            .build()
        {
            pool.spawn(work);
        }
        Self { receive, stopped }
    }
    /// What has come in since the last look.
    pub(super) fn news(&self) -> Vec<Found> {
        self.receive.try_iter().collect()
    }
}

impl Drop for Background {
    fn drop(&mut self) {
        self.stopped.store(true, Ordering::SeqCst);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn news(proven: Proven) -> News {
        News {
            content_hash: "00ff".into(),
            setup: 3,
            proven,
        }
    }

    #[test]
    fn a_verdict_is_kept_by_content_set_up_and_edition() {
        let folder = tempfile::tempdir().unwrap();
        let mut logbook = Logbook::open(folder.path()).unwrap();
        let kept = |logbook: &Logbook, hash: &str, setup: u64, seconds: u64| {
            logbook
                .remembered(&key(hash, setup))
                .unwrap()
                .and_then(|kept| read(&kept, Effort { seconds, bytes: 0 }))
        };
        keep(&mut logbook, &news(Proven::NotProved), 10).unwrap();
        assert_eq!(kept(&logbook, "00ff", 3, 10), Some(Proven::NotProved));
        assert_eq!(kept(&logbook, "00ff", 3, 1), Some(Proven::NotProved));
        // More time may do better.
        assert_eq!(kept(&logbook, "00ff", 3, 60), None);
        // A shorter attempt that came to nothing does not hide the longer one.
        keep(&mut logbook, &news(Proven::NotProved), 1).unwrap();
        assert_eq!(kept(&logbook, "00ff", 3, 10), Some(Proven::NotProved));
        keep(&mut logbook, &news(Proven::CanFail), 1).unwrap();
        keep(&mut logbook, &news(Proven::NotProved), 90).unwrap();
        assert_eq!(kept(&logbook, "00ff", 3, 600), Some(Proven::CanFail));
        keep(&mut logbook, &news(Proven::Proved), 1).unwrap();
        assert_eq!(kept(&logbook, "00ff", 3, 600), Some(Proven::Proved));
        keep(&mut logbook, &news(Proven::NotYet), 1).unwrap();
        assert_eq!(kept(&logbook, "00ff", 3, 600), Some(Proven::Proved));
        assert_eq!(kept(&logbook, "00ff", 4, 0), None);
        assert_eq!(kept(&logbook, "00fe", 3, 0), None);
        logbook
            .remember(&key("00ff", 3), "0.0.9/1 sure-fire 1")
            .unwrap();
        assert_eq!(kept(&logbook, "00ff", 3, 0), None);
    }
}
