//! The way to the loudspeaker, and back to it when it went away.
//!
//! A thread of its own opens the output, watches it, and tries again every second when there is none or it has died. A
//! connection that died is tried once more at once, before anybody is told: it may have been the connection alone, as when
//! the program was stopped and woken. The output takes samples when it needs them; nothing here ever waits for it.

#[cfg(not(target_os = "linux"))]
mod device;
#[cfg(target_os = "linux")]
mod pulse;

#[cfg(not(target_os = "linux"))]
use device as system;
#[cfg(target_os = "linux")]
use pulse as system;

use super::mix::Desk;
use super::speech::RATE;
use std::convert::Infallible;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

/// Between two tries.
const AGAIN: Duration = Duration::from_secs(1);

/// How often an output is looked at.
const LOOK: Duration = Duration::from_millis(100);

/// An output that takes no samples for so many looks, four seconds, has gone. A device that slept may have played two seconds
/// ahead. Looks are counted and not the clock: while this program was stopped, or had no turn, an output had none either.
const STALLED: u32 = 40;

/// Whether there is an output.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum OutputState {
    /// It plays; what and where.
    Up(Place),
    /// It has died, and is tried once more: `Up` or `Down` follows.
    Broken,
    /// There is none, or no longer; why.
    Down(String),
}

/// Where sound comes out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The sound server, with its version if it says.
    pub server: String,
    /// The device.
    pub device: String,
    /// How long a sample is on its way.
    pub latency: Duration,
}

/// An output that plays. Dropping it ends it.
pub(super) struct Playing {
    pub(super) place: Place,
    /// Disconnected when the output has died by itself.
    pub(super) lost: Receiver<Infallible>,
    /// What keeps it alive.
    pub(super) _keep: Box<dyn std::any::Any>,
}

/// How an output ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    /// It died.
    Died,
    /// It takes no samples any more.
    Stalled,
    /// Nobody needs it any more.
    Quit,
}

/// Keeps the desk connected to the loudspeaker until `quit`, and tells each change.
pub(super) fn run(desk: &Arc<Desk>, quit: &AtomicBool, tell: impl Fn(OutputState) -> bool) {
    keep(|| system::open(desk), desk, quit, AGAIN, tell);
}

/// The same with any way to open an output, and any time between two tries.
fn keep(
    open: impl Fn() -> Result<Playing, String>,
    desk: &Desk,
    quit: &AtomicBool,
    again: Duration,
    tell: impl Fn(OutputState) -> bool,
) {
    let mut ended = End::Quit;
    let mut told_down = false;
    // A connection was tried again at once, and the one before it had not played yet.
    let mut hasty = false;
    while !quit.load(Ordering::Relaxed) {
        let before = std::mem::replace(&mut ended, End::Quit);
        let began = desk.pulled();
        let why = match open() {
            Err(why) => {
                desk.close();
                why
            }
            Ok(playing) => {
                desk.set_latency(playing.place.latency);
                // After a stall an output must show that it takes samples before anybody is told that it is back.
                if before == End::Stalled && !takes(desk, &playing, began) {
                    ended = End::Stalled;
                } else {
                    if !tell(OutputState::Up(playing.place.clone())) {
                        return;
                    }
                    told_down = false;
                    ended = watch(desk, &playing, quit);
                }
                desk.close();
                drop(playing);
                let played = desk.pulled() - began > u64::from(RATE) / 2;
                if ended == End::Died && (played || !hasty) && !quit.load(Ordering::Relaxed) {
                    hasty = !played;
                    if !tell(OutputState::Broken) {
                        return;
                    }
                    continue;
                }
                "it went away".to_owned()
            }
        };
        if quit.load(Ordering::Relaxed) {
            return;
        }
        hasty = false;
        if !std::mem::replace(&mut told_down, true) && !tell(OutputState::Down(why)) {
            return;
        }
        let since = Instant::now();
        while since.elapsed() < again && !quit.load(Ordering::Relaxed) {
            std::thread::sleep(again.min(LOOK / 2));
        }
    }
}

/// Whether the output takes half a second of sound before it counts as stalled.
fn takes(desk: &Desk, playing: &Playing, began: u64) -> bool {
    for _ in 0..STALLED {
        if playing.lost.recv_timeout(LOOK) != Err(RecvTimeoutError::Timeout) {
            return false;
        }
        if desk.pulled() - began > u64::from(RATE) / 2 {
            return true;
        }
    }
    false
}

/// Waits until the output has ended; how.
fn watch(desk: &Desk, playing: &Playing, quit: &AtomicBool) -> End {
    let mut pulled = desk.pulled();
    let mut still = 0;
    while still < STALLED {
        match playing.lost.recv_timeout(LOOK) {
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return End::Died,
            Ok(never) => match never {},
        }
        if quit.load(Ordering::Relaxed) {
            return End::Quit;
        }
        let now = desk.pulled();
        still = if now == pulled { still + 1 } else { 0 };
        pulled = now;
    }
    End::Stalled
}

/// Asks where sound would come out now, without playing any.
///
/// # Errors
/// With the reason, in words, when there is no output.
pub fn where_to() -> Result<Place, String> {
    let desk = Arc::new(Desk::default());
    system::open(&desk).map(|playing| playing.place)
}

#[cfg(test)]
mod tests;
