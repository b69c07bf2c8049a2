//! Work that may last: a budget, a look at the memory, Ctrl-C, and a line on the terminal that says how far it is.

pub(super) mod budget;
mod interrupt;
pub(super) mod numbers;

use super::failure::Failure;
use crate::screen::{Theme, fold};
use budget::Budget;
pub(super) use interrupt::Interrupt;
use std::io::{self, IsTerminal, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

/// How often the terminal, the memory and Ctrl-C are looked after.
pub(super) const LOOK: Duration = Duration::from_millis(100);
/// Nothing is said of how far it is before this.
const QUIET: Duration = Duration::from_secs(1);
/// As much stack as a main thread usually has.
pub(super) const STACK: usize = 8 << 20;
/// Cells of the road drawn while it lasts.
const ROAD: u32 = 24;

/// What ended work early.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cut {
    /// Its time was over.
    Time,
    /// The program had taken all the memory it may.
    Memory,
    /// Ctrl-C.
    Asked,
}

impl Cut {
    /// As JSON names it.
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Memory => "memory",
            Self::Asked => "asked",
        }
    }
}

/// Something done once, and how that ended.
pub(super) struct Done<T> {
    /// What came of it.
    pub(super) got: T,
    /// How long it took.
    pub(super) took: Duration,
    /// What there is to end it early by now.
    pub(super) cut: Option<Cut>,
}

/// Does one piece of work on a thread of its own. It is told how to find out whether to stop; `line` says how far it is.
///
/// # Errors
/// When no thread can be had.
pub(super) fn once<T: Send>(
    budget: Budget,
    theme: Theme,
    line: impl Fn(Duration) -> String,
    work: impl FnOnce(&(dyn Fn() -> bool + Sync)) -> T + Send,
) -> Result<Done<T>, Failure> {
    let asked = Arc::new(AtomicBool::new(false));
    let full = AtomicBool::new(false);
    let _watched = Interrupt::watch(&asked)?;
    let began = Instant::now();
    let cut = || {
        if asked.load(Ordering::SeqCst) {
            Some(Cut::Asked)
        } else if full.load(Ordering::SeqCst) {
            Some(Cut::Memory)
        } else {
            (began.elapsed() >= budget.time).then_some(Cut::Time)
        }
    };
    let stop = || cut().is_some();
    let failed =
        || Failure::Machine("the work broke off; this is a fault of the program".to_owned());
    thread::scope(|scope| {
        let (send, receive) = mpsc::channel();
        thread::Builder::new()
            .stack_size(STACK)
            .spawn_scoped(scope, || {
                // Nobody waits any more only where the program ends.
                drop(send.send(work(&stop)));
                drop(send);
            })
            .map_err(|cause| Failure::Machine(format!("no thread could be had ({cause})")))?;
        let mut bar = Bar::new(theme, began);
        loop {
            match receive.recv_timeout(LOOK) {
                Ok(got) => {
                    bar.wipe();
                    return Ok(Done {
                        got,
                        took: began.elapsed(),
                        cut: cut(),
                    });
                }
                Err(mpsc::RecvTimeoutError::Timeout) => {
                    let over = resident().is_some_and(|bytes| bytes > budget.bytes);
                    full.store(over, Ordering::SeqCst);
                    bar.draw(&line);
                }
                Err(mpsc::RecvTimeoutError::Disconnected) => {
                    bar.wipe();
                    return Err(failed());
                }
            }
        }
    })
}

/// How far it is: one line, only where somebody looks, and only when it lasts.
pub(super) struct Bar {
    theme: Theme,
    began: Instant,
    watched: bool,
    drawn: bool,
}

impl Bar {
    pub(super) fn new(theme: Theme, began: Instant) -> Self {
        Self {
            theme,
            began,
            watched: io::stderr().is_terminal(),
            drawn: false,
        }
    }
    /// Draws the line, which is told how much time has passed.
    pub(super) fn draw(&mut self, line: &dyn Fn(Duration) -> String) {
        let passed = self.began.elapsed();
        if !self.watched || passed < QUIET {
            return;
        }
        let line = line(passed);
        let line: String = if self.theme.unicode {
            line
        } else {
            line.chars().map(fold).collect()
        };
        // Where it cannot be drawn, nothing is lost.
        drop(write!(io::stderr(), "\r{line}\u{1b}[K"));
        self.drawn = true;
    }
    pub(super) fn wipe(&mut self) {
        if std::mem::take(&mut self.drawn) {
            drop(write!(io::stderr(), "\r\u{1b}[K"));
        }
    }
}

/// A road of which this part, from 0 to 1, lies behind.
pub(super) fn road(part: f64) -> String {
    let here = (0..ROAD)
        .take_while(|cell| f64::from(cell + 1) <= part * f64::from(ROAD))
        .count()
        .min(ROAD as usize - 1);
    format!(
        "{}◉{}○",
        "━".repeat(here),
        "─".repeat(ROAD as usize - 1 - here)
    )
}

/// Memory that this process holds, in bytes; `None` where the system does not say.
pub(super) fn resident() -> Option<u64> {
    // Linux, proc(5): "VmRSS:      1234 kB".
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmRSS:"))?;
    let kib: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kib * 1024)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    #[cfg(target_os = "linux")]
    fn the_memory_held_is_what_a_program_may_hold() {
        let bytes = resident().unwrap();
        assert!((1 << 20..1 << 40).contains(&bytes), "{bytes}");
    }

    #[test]
    fn work_is_told_when_its_time_is_over() {
        let budget = |time| Budget {
            time,
            bytes: 1 << 40,
        };
        let theme = Theme {
            colour: false,
            unicode: true,
        };
        let line = |_: Duration| String::new();
        let done = once(budget(Duration::from_secs(600)), theme, line, |stop| stop()).unwrap();
        assert!(!done.got);
        assert_eq!(done.cut, None);
        let done = once(budget(Duration::ZERO), theme, line, |stop| stop()).unwrap();
        assert!(done.got);
        assert_eq!(done.cut, Some(Cut::Time));
    }
}
