//! What a spoken rehearsal says, as the voice takes it; and when all of it has been said.

use crate::drill::{Sound, Speaker, Speech};
use crate::routine::Millis;
use crate::voice::{Cue, Ending, Line, Role, SayId, Settings, Voice, wording};
use std::time::Instant;

/// The voice of a rehearsal, and the last line that it was given. It is woken by the first spoken rehearsal: until then nobody
/// needs a loudspeaker.
#[derive(Debug)]
pub struct Voices {
    settings: Option<Settings>,
    voice: Option<Voice>,
    began: Instant,
    waiting: Option<SayId>,
}

impl Voices {
    /// Nobody speaks yet, and without settings nobody ever will. Times count from `began`.
    #[must_use]
    pub fn new(settings: Option<Settings>, began: Instant) -> Self {
        Self {
            settings,
            voice: None,
            began,
            waiting: None,
        }
    }

    /// Wakes the voice.
    pub fn wake(&mut self) {
        if self.voice.is_none() {
            let voice = self
                .settings
                .clone()
                .map_or_else(Voice::silent, Voice::start);
            self.voice = Some(voice);
        }
    }

    /// Times count from now.
    pub fn begin(&mut self) {
        self.began = Instant::now();
    }

    /// Says this after what is being said.
    pub fn say(&mut self, speech: &Speech) {
        self.waiting = self.voice.as_ref().map(|voice| voice.say(line(speech)));
    }

    /// Has this made ahead.
    pub fn ahead(&self, speech: &[Speech]) {
        if let Some(voice) = &self.voice {
            let lines: Vec<Line> = speech.iter().map(line).collect();
            voice.ahead(&lines);
        }
    }

    /// Plays a sound.
    pub fn play(&self, sound: Sound) {
        let cue = match sound {
            Sound::Ask => Cue::Ask,
            Sound::Right => Cue::Right,
            Sound::Wrong => Cue::Wrong,
            Sound::Time => Cue::Time,
            Sound::Ready => Cue::Ready,
            Sound::Done => Cue::Done,
        };
        if let Some(voice) = &self.voice {
            voice.cue(cue);
        }
    }

    /// Is quiet at once. Nobody waits any more for what was being said.
    pub fn hush(&mut self) {
        self.waiting = None;
        if let Some(voice) = &self.voice {
            voice.hush();
        }
    }

    /// When the last line that was said ended, if it ended since the last call.
    pub fn over(&mut self) -> Option<Millis> {
        let heard = self.voice.as_ref()?.finished();
        let last = heard
            .iter()
            .find(|heard| Some(heard.said) == self.waiting && heard.ending != Ending::Hushed)?;
        self.waiting = None;
        let passed = last.at.saturating_duration_since(self.began).as_millis();
        Some(Millis(u64::try_from(passed).unwrap_or(u64::MAX)))
    }

    /// What the performer should be told of the sound, the newest of it.
    #[must_use]
    pub fn notice(&self) -> Option<String> {
        let voice = self.voice.as_ref()?;
        voice.notices().last().map(ToString::to_string)
    }

    /// Makes it louder or quieter, or the speakers faster or slower, and says how it is now.
    pub fn turn(&self, knob: Knob) -> Option<String> {
        let voice = self.voice.as_ref().filter(|_| self.settings.is_some())?;
        match knob {
            Knob::Louder | Knob::Quieter => {
                voice.set_volume(voice.volume().stepped(knob == Knob::Louder));
                Some(format!("Volume {} of 100.", voice.volume().percent()))
            }
            Knob::Faster | Knob::Slower => {
                voice.set_pace(voice.pace().stepped(knob == Knob::Faster));
                Some(format!("Pace {} of 100.", voice.pace().percent()))
            }
        }
    }

    /// What is to be remembered of how loud and how fast it was, by name; nothing while nobody spoke.
    #[must_use]
    pub fn to_remember(&self) -> Vec<(&'static str, String)> {
        match (&self.voice, &self.settings) {
            (Some(voice), Some(_)) => Settings::to_remember(voice.volume(), voice.pace()).to_vec(),
            (_, _) => Vec::new(),
        }
    }
}

/// What can be turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Knob {
    /// Louder by a step.
    Louder,
    /// Quieter by a step.
    Quieter,
    /// People speak faster.
    Faster,
    /// People speak slower.
    Slower,
}

fn line(speech: &Speech) -> Line {
    let role = match speech.who {
        Speaker::Spectator => Role::Spectator,
        Speaker::Prompter => Role::Prompter,
    };
    Line::new(
        role,
        speech.lang,
        wording::plain(speech.lang, &speech.words),
    )
}
