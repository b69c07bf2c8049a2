//! Signals as flags that the loop looks at: the handlers themselves do nothing.

use super::ScreenFault;

#[cfg(unix)]
mod watch {
    use super::ScreenFault;
    use crate::screen::guard::give_back;
    use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGTERM, SIGTSTP};
    use signal_hook::{SigId, flag, low_level};
    use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
    use std::sync::{Arc, Weak};
    use std::thread;
    use std::time::Duration;

    /// The signals that have come in.
    #[derive(Debug)]
    pub struct Signals {
        end: Arc<AtomicUsize>,
        stop: Arc<AtomicBool>,
        again: Arc<AtomicBool>,
        ids: Vec<SigId>,
    }

    /// How often the last resort looks whether the end was asked for.
    const LOOKS: Duration = Duration::from_millis(200);
    /// How long the loop may take to end by itself.
    const GRACE: Duration = Duration::from_secs(1);

    /// Ends the process where the loop does not. A terminal that is gone can hold the loop in a read that gives nothing for
    /// ever; each answer is on disk already, so there is nothing to lose.
    fn last_resort(end: Weak<AtomicUsize>) {
        thread::spawn(move || {
            loop {
                thread::sleep(LOOKS);
                let Some(asked) = end.upgrade().map(|end| end.load(Ordering::SeqCst)) else {
                    return;
                };
                if asked != 0 {
                    thread::sleep(GRACE);
                    if end.upgrade().is_none() {
                        return;
                    }
                    give_back();
                    std::process::exit(i32::try_from(asked).map_or(1, |number| 128 + number));
                }
            }
        });
    }

    impl Signals {
        /// Watches from now on.
        ///
        /// # Errors
        /// When the system refuses a handler.
        pub fn watch() -> Result<Self, ScreenFault> {
            let mut signals = Self {
                end: Arc::default(),
                stop: Arc::default(),
                again: Arc::default(),
                ids: Vec::new(),
            };
            for number in [SIGTERM, SIGINT, SIGHUP] {
                let value = usize::try_from(number).unwrap_or_default();
                let id = flag::register_usize(number, Arc::clone(&signals.end), value);
                signals.ids.push(id.map_err(ScreenFault::Signals)?);
            }
            for (number, seen) in [(SIGTSTP, &signals.stop), (SIGCONT, &signals.again)] {
                let id = flag::register(number, Arc::clone(seen)).map_err(ScreenFault::Signals)?;
                signals.ids.push(id);
            }
            last_resort(Arc::downgrade(&signals.end));
            Ok(signals)
        }
        /// The number of the signal that asked us to end.
        #[must_use]
        pub fn end(&self) -> Option<u8> {
            let number = self.end.load(Ordering::SeqCst);
            u8::try_from(number).ok().filter(|&n| n != 0)
        }
        /// Whether we were asked to pause since the last look.
        #[must_use]
        pub fn suspend(&self) -> bool {
            self.stop.swap(false, Ordering::SeqCst)
        }
        /// Whether we were woken since the last look.
        #[must_use]
        pub fn woken(&self) -> bool {
            self.again.swap(false, Ordering::SeqCst)
        }
        /// Stops the process as an ordinary program is stopped; returns when it is woken.
        ///
        /// # Errors
        /// When the signal cannot be raised.
        pub fn sleep(&self) -> Result<(), ScreenFault> {
            low_level::emulate_default_handler(SIGTSTP).map_err(ScreenFault::Signals)?;
            self.again.store(false, Ordering::SeqCst);
            Ok(())
        }
    }

    impl Drop for Signals {
        fn drop(&mut self) {
            for id in self.ids.drain(..) {
                low_level::unregister(id);
            }
        }
    }
}

#[cfg(not(unix))]
mod watch {
    use super::ScreenFault;

    /// No signals on this system: the keys do what is needed.
    #[derive(Debug)]
    pub struct Signals;

    impl Signals {
        /// Nothing to watch.
        ///
        /// # Errors
        /// Never.
        pub fn watch() -> Result<Self, ScreenFault> {
            Ok(Self)
        }
        /// Never.
        #[must_use]
        pub fn end(&self) -> Option<u8> {
            None
        }
        /// Never.
        #[must_use]
        pub fn suspend(&self) -> bool {
            false
        }
        /// Never.
        #[must_use]
        pub fn woken(&self) -> bool {
            false
        }
        /// Nothing to do.
        ///
        /// # Errors
        /// Never.
        pub fn sleep(&self) -> Result<(), ScreenFault> {
            Ok(())
        }
    }
}

pub use watch::Signals;
