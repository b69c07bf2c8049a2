//! The output elsewhere than on Linux: the default device, by rodio.

use super::{Place, Playing};
use crate::voice::mix::Desk;
use rodio::DeviceSinkBuilder;
use std::convert::Infallible;
use std::sync::mpsc::{self, Sender};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// Opens the default device and begins to play the desk's sound.
pub(super) fn open(desk: &Arc<Desk>) -> Result<Playing, String> {
    let none = |cause: rodio::DeviceSinkError| format!("there is no sound device ({cause})");
    let (alive, lost) = mpsc::channel::<Infallible>();
    // The device's errors end the connection; the watcher then opens it anew.
    let alive: Arc<Mutex<Option<Sender<Infallible>>>> = Arc::new(Mutex::new(Some(alive)));
    let held = Arc::clone(&alive);
    let mut sink = DeviceSinkBuilder::from_default_device()
        .map_err(none)?
        .with_error_callback(move |_| {
            drop(alive.lock().unwrap_or_else(PoisonError::into_inner).take());
        })
        .open_stream()
        .map_err(none)?;
    sink.log_on_drop(false);
    let rate = sink.config().sample_rate();
    sink.mixer().add(desk.open().into_source());
    Ok(Playing {
        place: Place {
            server: "the system's own sound".to_owned(),
            device: format!("the default device at {rate} Hz"),
            latency: Duration::from_millis(50),
        },
        lost,
        _keep: Box::new((sink, held)),
    })
}
