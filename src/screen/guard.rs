//! The terminal, taken and given back: raw mode and the second screen, left again on every way out.

use super::ScreenFault;
use crossterm::{cursor, execute, terminal};
use std::io::{self, Write};
use std::sync::Once;
use std::sync::atomic::{AtomicBool, Ordering};

/// Whether the terminal is ours at the moment; the panic hook asks.
static TAKEN: AtomicBool = AtomicBool::new(false);
static HOOK: Once = Once::new();

/// The name of threads whose work nobody waits for: should it fail, the screen stays as it is.
pub const ON_THE_SIDE: &str = "on the side";

/// While this lives, the terminal is ours. Dropping it gives the terminal back as it was.
#[derive(Debug)]
pub struct Guard(());

impl Guard {
    /// Takes the terminal.
    ///
    /// # Errors
    /// When the terminal refuses; it is then left as it was.
    pub fn take() -> Result<Self, ScreenFault> {
        HOOK.call_once(|| {
            let before = std::panic::take_hook();
            std::panic::set_hook(Box::new(move |panic| {
                if std::thread::current().name() == Some(ON_THE_SIDE) {
                    return;
                }
                give_back();
                before(panic);
            }));
        });
        terminal::enable_raw_mode().map_err(ScreenFault::Terminal)?;
        TAKEN.store(true, Ordering::SeqCst);
        let guard = Self(());
        execute!(
            io::stdout(),
            terminal::EnterAlternateScreen,
            terminal::Clear(terminal::ClearType::All)
        )
        .map_err(ScreenFault::Terminal)?;
        Ok(guard)
    }
}

impl Drop for Guard {
    fn drop(&mut self) {
        give_back();
    }
}

/// Gives the terminal back if it is ours. Faults are passed over: it may be gone, and there is nothing left to do.
pub(super) fn give_back() {
    if TAKEN.swap(false, Ordering::SeqCst) {
        let _ = execute!(io::stdout(), terminal::LeaveAlternateScreen, cursor::Show);
        let _ = io::stdout().flush();
        let _ = terminal::disable_raw_mode();
    }
}
