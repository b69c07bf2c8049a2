//! Ctrl-C, while something lasts.

#[cfg(unix)]
mod system {
    use crate::command::failure::Failure;
    use signal_hook::consts::{SIGINT, SIGTERM};
    use signal_hook::{SigId, flag, low_level};
    use std::sync::Arc;
    use std::sync::atomic::AtomicBool;

    /// While this lives, the first Ctrl-C raises a flag; the second ends the program as ever.
    pub(in crate::command) struct Interrupt(Vec<SigId>);

    impl Interrupt {
        pub(in crate::command) fn watch(asked: &Arc<AtomicBool>) -> Result<Self, Failure> {
            let mut watch = Self(Vec::new());
            for signal in [SIGINT, SIGTERM] {
                // The order matters: the flag is looked at before it is raised.
                let ids = [
                    flag::register_conditional_default(signal, Arc::clone(asked)),
                    flag::register(signal, Arc::clone(asked)),
                ];
                for id in ids {
                    watch.0.push(id.map_err(|cause| {
                        Failure::Machine(format!("signals cannot be watched ({cause})"))
                    })?);
                }
            }
            Ok(watch)
        }
    }

    impl Drop for Interrupt {
        fn drop(&mut self) {
            for id in self.0.drain(..) {
                low_level::unregister(id);
            }
        }
    }
}

#[cfg(not(unix))]
mod system {
    use crate::command::failure::Failure;
    use std::sync::Arc;
    use std::sync::atomic::AtomicBool;

    /// No signals on this system: Ctrl-C ends the program as ever.
    pub(in crate::command) struct Interrupt;

    impl Interrupt {
        pub(in crate::command) fn watch(_asked: &Arc<AtomicBool>) -> Result<Self, Failure> {
            Ok(Self)
        }
    }
}

pub(in crate::command) use system::Interrupt;
