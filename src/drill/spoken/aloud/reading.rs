//! The whole patter read at the pace of a performance.

use super::{Aloud, Phase};
use crate::drill::say;
use crate::drill::spoken::prompt::{ReadThrough, Reading, Sound, Speech, SpokenEffect};
use crate::drill::spoken::words;
use crate::drill::walk::first_walk;
use crate::roads::Walked;
use crate::routine::Millis;
use std::sync::Arc;

impl Aloud {
    /// The same road from its beginning.
    pub(super) fn rewind(&mut self) {
        let (seed, number) = (self.walk.road.seed, self.walk.number);
        if let Ok(walk) = first_walk(&self.routine, &self.plan, seed, number) {
            self.walk = walk;
        }
        self.before = self.line_before();
    }

    pub(super) fn begin_reading(&mut self, now: Millis) -> Vec<SpokenEffect> {
        self.rewind();
        self.road_since = now;
        self.read_here(now)
    }

    /// Reads the stop where we are, or the next that has something to read.
    pub(super) fn read_here(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let routine = Arc::clone(&self.routine);
        while let Some(walked) = self.walk.next().cloned() {
            let (spectator, speech) = self.read_aloud(&walked);
            if speech.is_empty() {
                self.walk.go(&routine);
                continue;
            }
            let line = self.open_line(&walked);
            self.since = now;
            self.read_out = false;
            self.phase = Phase::Reading(Reading {
                stop: walked.stop,
                along: self.along(Some(self.reading_pace(&walked, &line))),
                title: say::title_of(&routine, walked.stop),
                spectator,
                line,
            });
            return self.say(speech, now);
        }
        self.phase = Phase::Read(ReadThrough {
            along: self.along(None),
            took: Millis(now.0.saturating_sub(self.road_since.0)),
            running: routine.running_time,
        });
        vec![SpokenEffect::Hush, SpokenEffect::Play(Sound::Done)]
    }

    pub(super) fn read_aloud(&self, walked: &Walked) -> (Option<String>, Vec<Speech>) {
        let line = self.open_line(walked);
        let spectator = self.spectator(walked);
        let mut speech: Vec<Speech> = spectator
            .iter()
            .map(|said| words::spectator(&self.routine, said))
            .collect();
        if !line.is_empty() {
            speech.push(words::reader(&self.routine, &line));
        }
        (spectator, speech)
    }

    /// The next line is read when this one was read out and its time is over.
    pub(super) fn read_on(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let Phase::Reading(reading) = &self.phase else {
            return Vec::new();
        };
        let time = reading.along.target.unwrap_or(Millis(0));
        if self.read_out && now.0.saturating_sub(self.since.0) >= time.0 {
            return self.read_next(now);
        }
        Vec::new()
    }

    pub(super) fn read_next(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let routine = Arc::clone(&self.routine);
        self.walk.go(&routine);
        self.read_here(now)
    }
}
