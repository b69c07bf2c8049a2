//! The speech process: reads requests, speaks into a pipe.

use super::engine::Engines;
use super::{frames, trim};
use std::io::{self, Write};
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// The argument that makes this program a speech process. Not for people, and not shown to them.
pub const HIDDEN: &str = "speak-into-pipe";

/// After so long at one request the process ends itself: whoever started it may be gone.
const AT_MOST: Duration = Duration::from_secs(20);

/// Serves requests from standard input until it ends. `cache` is where voices are unpacked.
#[must_use]
pub fn serve(cache: &Path) -> ExitCode {
    match serving(cache) {
        Ok(()) => ExitCode::SUCCESS,
        // The other end has gone, or speaks another language; there is nobody to tell.
        Err(_) => ExitCode::from(4),
    }
}

fn serving(cache: &Path) -> io::Result<()> {
    let busy = watch();
    let mut engines = Engines::default();
    let (mut from, mut to) = (io::stdin().lock(), io::stdout().lock());
    to.write_all(frames::GREETING)?;
    to.flush()?;
    while let Some((manner, text)) = frames::asked(&mut from)? {
        busy.fetch_add(1, Ordering::SeqCst);
        let spoken = engines
            .speak(manner, &text, cache)
            .map(|samples| trim::trimmed(&samples).to_vec())
            .map_err(|fault| fault.to_string());
        busy.fetch_add(1, Ordering::SeqCst);
        frames::answer(&mut to, &spoken)?;
    }
    Ok(())
}

/// A thread that ends the process when one request takes too long. The number is odd while a request is served.
fn watch() -> Arc<AtomicU64> {
    let busy = Arc::new(AtomicU64::new(0));
    let seen = Arc::clone(&busy);
    std::thread::spawn(move || {
        let (mut at, mut since) = (0, Instant::now());
        loop {
            std::thread::sleep(Duration::from_millis(500));
            let now = seen.load(Ordering::SeqCst);
            if now != at || now.is_multiple_of(2) {
                (at, since) = (now, Instant::now());
            } else if since.elapsed() > AT_MOST {
                std::process::exit(4);
            }
        }
    });
    busy
}
