//! What a spoken rehearsal says, as the voice takes it; and when all of it has been said.

use crate::drill::{Sound, Speaker, Speech};
use crate::routine::Millis;
use crate::voice::{Cue, Ending, Line, Role, SayId, Voice, wording};
use std::time::Instant;

/// The voice of a rehearsal, and the last line that it was given.
#[derive(Debug)]
pub struct Talk<'v> {
    voice: &'v Voice,
    began: Instant,
    waiting: Option<SayId>,
}

impl<'v> Talk<'v> {
    /// Nobody speaks yet. Times count from `began`.
    #[must_use]
    pub fn new(voice: &'v Voice, began: Instant) -> Self {
        Self {
            voice,
            began,
            waiting: None,
        }
    }

    /// Says this after what is being said.
    pub fn say(&mut self, speech: &Speech) {
        self.waiting = Some(self.voice.say(line(speech)));
    }

    /// Has this made ahead.
    pub fn ahead(&self, speech: &[Speech]) {
        let lines: Vec<Line> = speech.iter().map(line).collect();
        self.voice.ahead(&lines);
    }

    /// Plays a sound.
    pub fn play(&self, sound: Sound) {
        self.voice.cue(match sound {
            Sound::Ask => Cue::Ask,
            Sound::Right => Cue::Right,
            Sound::Wrong => Cue::Wrong,
            Sound::Time => Cue::Time,
            Sound::Ready => Cue::Ready,
            Sound::Done => Cue::Done,
        });
    }

    /// Is quiet at once. Nobody waits any more for what was being said.
    pub fn hush(&mut self) {
        self.waiting = None;
        self.voice.hush();
    }

    /// When the last line that was said ended, if it ended since the last call.
    pub fn over(&mut self) -> Option<Millis> {
        let heard = self.voice.finished();
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
        self.voice.notices().last().map(ToString::to_string)
    }
}

fn line(speech: &Speech) -> Line {
    let role = match speech.who {
        Speaker::Spectator => Role::Spectator,
        Speaker::Prompter => Role::Prompter,
    };
    Line::new(role, speech.lang, wording::plain(speech.lang, &speech.words))
}
