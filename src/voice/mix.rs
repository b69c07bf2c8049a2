//! What is heard at once: speech, cues under it, one volume over all.
//!
//! Everything is one channel at [`RATE`] samples a second; 1.0 is full scale. Speech is levelled before it comes here
//! (`level`), cues are made quiet, and cues go down further while somebody speaks, so that the sum stays below full scale by
//! itself; a limiter stands behind for sounds of the performer's own. A line lets the cue before it ring out, for a word under a
//! cue is easily taken for another. Nothing begins or ends abruptly: every source has a short ramp at both ends, volume and
//! ducking move slowly.

use super::speech::{RATE, Samples};
use rodio::mixer::{Mixer, mixer};
use rodio::source::{LimitSettings, Source, Zero};
use rodio::{ChannelCount, SampleRate};
use std::sync::atomic::{AtomicBool, AtomicU32, AtomicU64, AtomicUsize, Ordering};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// One channel.
pub(super) const CHANNELS: ChannelCount = ChannelCount::MIN;

/// [`RATE`] as the mixer wants it.
pub(super) const SAMPLE_RATE: SampleRate = match SampleRate::new(RATE) {
    Some(rate) => rate,
    None => SampleRate::MIN,
};

/// How far cues go down while somebody speaks: −10 dB.
const DUCKED: f32 = 0.316;

/// How fast volume and ducking move: a part of the way with each sample, so that two thirds are done in 10 ms.
const GLIDE: f32 = 1.0 / (0.010 * RATE as f32);

/// How long a line waits at most for the cues that sound when it would begin: as long as the longest of ours takes. A longer one, of the
/// performer's own, goes on under the line.
pub(super) const RING_OUT: usize = RATE as usize * 12 / 10;

/// Ramps at the ends of a source, in samples: 2 ms, and 8 ms where a line is cut short.
const RAMP: usize = 32;
const CUT_RAMP: usize = 128;

/// A sound has ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Over {
    /// The number it was given.
    pub(super) token: u64,
    /// When its last sample reached the loudspeaker, as near as is known.
    pub(super) at: Instant,
    /// Whether it came to its end, and was not dropped because the output went away.
    pub(super) whole: bool,
}

/// The mixing desk: what everybody who makes or plays sound shares.
#[derive(Default)]
pub(super) struct Desk {
    /// Where sounds go in, while there is an output.
    inlet: Mutex<Option<Mixer>>,
    /// The bits of an `f32` from 0 to 1.
    volume: AtomicU32,
    /// How many lines are being spoken, not counting those that still wait to begin.
    speaking: AtomicUsize,
    /// How many cues are being played.
    cues: AtomicUsize,
    /// How many lines and cues there are, also those that wait.
    sounding: AtomicUsize,
    pulled: AtomicU64,
    latency: AtomicU64,
}

impl std::fmt::Debug for Desk {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Desk").finish_non_exhaustive()
    }
}

impl Desk {
    /// Sets the volume, in percent. Loudness follows it evenly enough with an exponent of 1.5.
    pub(super) fn set_volume(&self, percent: u8) {
        let gain = (f32::from(percent) / 100.0).powf(1.5);
        self.volume.store(gain.to_bits(), Ordering::Relaxed);
    }

    fn volume(&self) -> f32 {
        f32::from_bits(self.volume.load(Ordering::Relaxed))
    }

    /// How long a sample is on its way from here to the loudspeaker.
    pub(super) fn set_latency(&self, latency: Duration) {
        let micros = u64::try_from(latency.as_micros()).unwrap_or(0);
        self.latency.store(micros, Ordering::Relaxed);
    }

    fn latency(&self) -> Duration {
        Duration::from_micros(self.latency.load(Ordering::Relaxed))
    }

    /// How many samples were taken by outputs so far.
    pub(super) fn pulled(&self) -> u64 {
        self.pulled.load(Ordering::Relaxed)
    }

    /// Whether anything is being played, speech or cue.
    pub(super) fn busy(&self) -> bool {
        self.sounding.load(Ordering::SeqCst) > 0
    }

    /// A fresh outlet for an output that begins. What is added from now on goes to it.
    pub(super) fn open(self: &Arc<Self>) -> Outlet {
        let (inlet, sum) = mixer(CHANNELS, SAMPLE_RATE);
        // Without it the mixer would end when nothing is played.
        inlet.add(Zero::new(CHANNELS, SAMPLE_RATE));
        *self.inlet.lock().unwrap_or_else(PoisonError::into_inner) = Some(inlet);
        let guard = LimitSettings::default()
            .with_threshold(-1.0)
            .with_knee_width(1.0)
            .with_attack(Duration::from_millis(1))
            .with_release(Duration::from_millis(60));
        Outlet {
            sum: Box::new(sum.limit(guard)),
            gain: self.volume(),
            desk: Arc::clone(self),
        }
    }

    /// The output has gone: what is played is dropped, and what is added from now on too.
    pub(super) fn close(&self) {
        *self.inlet.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }

    fn add(&self, source: impl Iterator<Item = f32> + Send + 'static) {
        if let Some(inlet) = &*self.inlet.lock().unwrap_or_else(PoisonError::into_inner) {
            inlet.add(Plain(source));
        }
    }

    /// Plays speech as it comes in. `over` hears of its end, also when the output goes away in the middle; at once when there is
    /// none. Setting `cut` ends it early.
    pub(super) fn speak<T: From<Over> + Send + 'static>(
        self: &Arc<Self>,
        samples: Samples,
        entry: Entry,
        token: u64,
        cut: Arc<AtomicBool>,
        over: Sender<T>,
    ) {
        self.sounding.fetch_add(1, Ordering::SeqCst);
        let (pause, patience) = match entry {
            Entry::Line(pause) => (pause, RING_OUT),
            Entry::Part(pause) => (pause, 0),
        };
        let pause = usize::try_from(pause.as_millis()).unwrap_or(0) * RATE as usize / 1000;
        self.add(Speech {
            samples,
            pause,
            patience,
            begun: false,
            at: 0,
            cut,
            cutting: None,
            desk: Arc::clone(self),
            token,
            over,
        });
    }

    /// Plays a cue.
    pub(super) fn sound(self: &Arc<Self>, samples: Arc<[f32]>) {
        self.sounding.fetch_add(1, Ordering::SeqCst);
        self.cues.fetch_add(1, Ordering::SeqCst);
        let gain = self.cue_gain();
        self.add(Sounding {
            samples,
            at: 0,
            gain,
            desk: Arc::clone(self),
        });
    }

    fn cue_gain(&self) -> f32 {
        if self.speaking.load(Ordering::Relaxed) > 0 {
            DUCKED
        } else {
            1.0
        }
    }
}

/// How speech comes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Entry {
    /// As the beginning of a line: after so long a pause, and when the cues before it have rung out.
    Line(Duration),
    /// In the middle of a line: after so long a pause, whatever else sounds.
    Part(Duration),
}

/// How loud a sample is near the ends of its sound, from 0 to 1.
fn ramp(at: usize, length: usize) -> f32 {
    let near = (at + 1).min(length - at);
    if near >= RAMP {
        1.0
    } else {
        near as f32 / RAMP as f32
    }
}

/// Speech being played.
struct Speech<T: From<Over> + Send + 'static> {
    samples: Samples,
    pause: usize,
    /// How many samples more it waits for cues that sound.
    patience: usize,
    begun: bool,
    at: usize,
    cut: Arc<AtomicBool>,
    cutting: Option<usize>,
    desk: Arc<Desk>,
    token: u64,
    over: Sender<T>,
}

impl<T: From<Over> + Send + 'static> Iterator for Speech<T> {
    type Item = f32;

    fn next(&mut self) -> Option<f32> {
        if self.cutting.is_none() && self.cut.load(Ordering::Relaxed) {
            self.cutting = Some(CUT_RAMP);
        }
        let fade = match &mut self.cutting {
            None => 1.0,
            Some(0) => return None,
            Some(left) => {
                *left -= 1;
                *left as f32 / CUT_RAMP as f32
            }
        };
        if self.pause > 0 {
            self.pause -= 1;
            return Some(0.0);
        }
        if !self.begun {
            if self.patience > 0 && self.desk.cues.load(Ordering::SeqCst) > 0 {
                self.patience -= 1;
                return Some(0.0);
            }
            self.begun = true;
            self.desk.speaking.fetch_add(1, Ordering::SeqCst);
        }
        let sample = *self.samples.get(self.at)?;
        let shaped = f32::from(sample) / 32768.0 * ramp(self.at, self.samples.len()) * fade;
        self.at += 1;
        Some(shaped)
    }
}

impl<T: From<Over> + Send + 'static> Drop for Speech<T> {
    fn drop(&mut self) {
        if self.begun {
            self.desk.speaking.fetch_sub(1, Ordering::SeqCst);
        }
        self.desk.sounding.fetch_sub(1, Ordering::SeqCst);
        let over = Over {
            token: self.token,
            at: Instant::now() + self.desk.latency(),
            whole: self.at >= self.samples.len() || self.cutting.is_some(),
        };
        // Nobody waits for it any more when the voice has gone.
        drop(self.over.send(over.into()));
    }
}

/// A cue being played.
struct Sounding {
    samples: Arc<[f32]>,
    at: usize,
    gain: f32,
    desk: Arc<Desk>,
}

impl Iterator for Sounding {
    type Item = f32;

    fn next(&mut self) -> Option<f32> {
        let sample = *self.samples.get(self.at)?;
        self.gain += (self.desk.cue_gain() - self.gain) * GLIDE;
        let shaped = sample * ramp(self.at, self.samples.len()) * self.gain;
        self.at += 1;
        Some(shaped)
    }
}

impl Drop for Sounding {
    fn drop(&mut self) {
        self.desk.cues.fetch_sub(1, Ordering::SeqCst);
        self.desk.sounding.fetch_sub(1, Ordering::SeqCst);
    }
}

/// Where an output takes its samples. Never ends; silence where nothing is played.
pub(super) struct Outlet {
    sum: Box<dyn Source + Send>,
    gain: f32,
    desk: Arc<Desk>,
}

impl Iterator for Outlet {
    type Item = f32;

    fn next(&mut self) -> Option<f32> {
        self.gain += (self.desk.volume() - self.gain) * GLIDE;
        self.desk.pulled.fetch_add(1, Ordering::Relaxed);
        let sum = self.sum.next().unwrap_or(0.0);
        Some((sum * self.gain).clamp(-1.0, 1.0))
    }
}

#[cfg(not(target_os = "linux"))]
impl Outlet {
    /// As a mixer of the device takes it.
    pub(super) fn into_source(self) -> impl Source + Send + 'static {
        Plain(self)
    }
}

/// All our sources are alike: one channel, one rate, no known length.
struct Plain<I>(I);

impl<I: Iterator<Item = f32>> Iterator for Plain<I> {
    type Item = f32;

    fn next(&mut self) -> Option<f32> {
        self.0.next()
    }
}

impl<I: Iterator<Item = f32>> Source for Plain<I> {
    fn current_span_len(&self) -> Option<usize> {
        None
    }
    fn channels(&self) -> ChannelCount {
        CHANNELS
    }
    fn sample_rate(&self) -> SampleRate {
        SAMPLE_RATE
    }
    fn total_duration(&self) -> Option<Duration> {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc;

    /// The loudest of the next so many milliseconds.
    fn loudest(outlet: &mut Outlet, millis: usize) -> f32 {
        let samples = millis * RATE as usize / 1000;
        let pulled: Vec<f32> = (0..samples).filter_map(|_| outlet.next()).collect();
        assert_eq!(pulled.len(), samples);
        pulled.into_iter().map(f32::abs).fold(0.0, f32::max)
    }

    /// A second of speech whose samples are all alike.
    fn say(desk: &Arc<Desk>, sample: i16, entry: Entry) -> mpsc::Receiver<Over> {
        let (over, told) = mpsc::channel::<Over>();
        let samples: Samples = vec![sample; RATE as usize].into();
        desk.speak(samples, entry, 1, Arc::new(AtomicBool::new(false)), over);
        told
    }

    /// After how many of the next milliseconds anything is louder than this.
    fn begins(outlet: &mut Outlet, louder: f32) -> Option<usize> {
        (0..2_000).find(|_| loudest(outlet, 1) > louder)
    }

    #[test]
    fn a_line_lets_the_cue_before_it_ring_out_but_not_for_ever() {
        // How long the cue is, and when the line begins, in milliseconds.
        for (cue, begin) in [(0, 0), (300, 300), (900, 900), (5_000, 1_200)] {
            let desk = Arc::new(Desk::default());
            desk.set_volume(100);
            let mut outlet = desk.open();
            loudest(&mut outlet, 200);
            if cue > 0 {
                desk.sound(vec![0.1; cue * RATE as usize / 1000].into());
            }
            // Louder than the cue, which does not go down before.
            let _told = say(&desk, i16::MAX / 2, Entry::Line(Duration::ZERO));
            let begun = begins(&mut outlet, 0.15).unwrap();
            assert!(begun.abs_diff(begin) <= 10, "{begun} after a cue of {cue}");
        }
    }

    #[test]
    fn the_cue_before_a_line_is_as_loud_as_without_it() {
        let desk = Arc::new(Desk::default());
        desk.set_volume(100);
        let mut outlet = desk.open();
        desk.sound(vec![0.1; RATE as usize / 2].into());
        let _told = say(&desk, 0, Entry::Line(Duration::ZERO));
        loudest(&mut outlet, 200);
        let alone = loudest(&mut outlet, 200);
        assert!((alone - 0.1).abs() < 0.001, "{alone}");
    }

    #[test]
    fn the_middle_of_a_line_waits_for_no_cue() {
        let desk = Arc::new(Desk::default());
        desk.set_volume(100);
        let mut outlet = desk.open();
        loudest(&mut outlet, 200);
        desk.sound(vec![0.1; RATE as usize].into());
        let _told = say(&desk, i16::MAX / 2, Entry::Part(Duration::from_millis(120)));
        let begun = begins(&mut outlet, 0.15).unwrap();
        assert!(begun.abs_diff(120) <= 10, "{begun}");
    }

    #[test]
    fn a_cue_goes_down_by_ten_decibels_while_somebody_speaks_and_comes_back() {
        let desk = Arc::new(Desk::default());
        desk.set_volume(100);
        let mut outlet = desk.open();
        desk.sound(vec![0.1; 3 * RATE as usize].into());
        loudest(&mut outlet, 200);
        let alone = loudest(&mut outlet, 100);
        assert!((alone - 0.1).abs() < 0.001, "{alone}");

        // A second of speech that is silent, so that the cue alone is heard.
        let told = say(&desk, 0, Entry::Part(Duration::ZERO));
        loudest(&mut outlet, 200);
        let under = loudest(&mut outlet, 100);
        let decibels = 20.0 * (under / alone).log10();
        assert!((decibels + 10.0).abs() < 0.1, "{decibels}");

        loudest(&mut outlet, 1_000);
        assert!(told.recv().unwrap().whole);
        let again = loudest(&mut outlet, 100);
        assert!((again - alone).abs() < 0.001, "{again}");
    }
}
