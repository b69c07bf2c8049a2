//! The way to the loudspeaker, and back to it when it went away.
//!
//! A thread of its own opens the output, watches it, and tries again every second when there is none or it has died. The
//! output takes samples when it needs them; nothing here ever waits for it.

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

/// An output that takes no samples for so long has gone. A device that slept may have played two seconds ahead.
const STALLED: Duration = Duration::from_secs(4);

/// Whether there is an output.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum OutputState {
    /// It plays; what and where.
    Up(Place),
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

/// Keeps the desk connected to the loudspeaker until `quit`, and tells each change.
pub(super) fn run(desk: &Arc<Desk>, quit: &AtomicBool, tell: impl Fn(OutputState) -> bool) {
    let mut stalled = false;
    let mut told_down = false;
    while !quit.load(Ordering::Relaxed) {
        match system::open(desk) {
            Ok(playing) => {
                let began = desk.pulled();
                desk.set_latency(playing.place.latency);
                // After a stall an output must show that it takes samples before anybody is told that it is back.
                if stalled && !takes(desk, &playing, began) {
                    desk.close();
                    drop(playing);
                } else {
                    if !tell(OutputState::Up(playing.place.clone())) {
                        return;
                    }
                    stalled = watch(desk, &playing, quit);
                    desk.close();
                    drop(playing);
                    if quit.load(Ordering::Relaxed)
                        || !tell(OutputState::Down("it went away".to_owned()))
                    {
                        return;
                    }
                    told_down = true;
                }
            }
            Err(why) => {
                desk.close();
                if !told_down && !tell(OutputState::Down(why)) {
                    return;
                }
                told_down = true;
            }
        }
        let since = Instant::now();
        while since.elapsed() < AGAIN && !quit.load(Ordering::Relaxed) {
            std::thread::sleep(Duration::from_millis(50));
        }
    }
}

/// Whether the output takes half a second of sound before it counts as stalled.
fn takes(desk: &Desk, playing: &Playing, began: u64) -> bool {
    let since = Instant::now();
    while since.elapsed() < STALLED {
        if playing.lost.recv_timeout(Duration::from_millis(100)) != Err(RecvTimeoutError::Timeout) {
            return false;
        }
        if desk.pulled() - began > u64::from(RATE) / 2 {
            return true;
        }
    }
    false
}

/// Waits until the output is lost; true if it stopped taking samples, false if it died or we quit.
fn watch(desk: &Desk, playing: &Playing, quit: &AtomicBool) -> bool {
    let mut pulled = desk.pulled();
    let mut moved = Instant::now();
    loop {
        match playing.lost.recv_timeout(Duration::from_millis(100)) {
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return false,
            Ok(never) => match never {},
        }
        if quit.load(Ordering::Relaxed) {
            return false;
        }
        let now = desk.pulled();
        if now != pulled {
            (pulled, moved) = (now, Instant::now());
        } else if moved.elapsed() > STALLED {
            return true;
        }
    }
}

/// Asks where sound would come out now, without playing any.
///
/// # Errors
/// With the reason, in words, when there is no output.
pub fn where_to() -> Result<Place, String> {
    let desk = Arc::new(Desk::default());
    system::open(&desk).map(|playing| playing.place)
}
