//! The watch that times one answer, from the moment the question was drawn. It has no clock: every time comes in.

use crate::routine::Millis;

/// Times one answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Watch {
    /// When the question was on the screen.
    drawn: Option<Millis>,
    /// Since when we pause.
    paused: Option<Millis>,
    /// Time spent in pauses that are over.
    lost: u64,
    /// From the question to the first key, pauses not counted.
    first_key: Option<Millis>,
}

impl Watch {
    /// A watch for a question that is not on the screen yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }
    /// The screen was drawn: the first time starts the watch.
    pub fn drawn(&mut self, now: Millis) {
        if self.drawn.is_none() && self.paused.is_none() {
            self.drawn = Some(now);
        }
    }
    /// A key of the answer was pressed: the first one counts.
    pub fn key(&mut self, now: Millis) {
        if self.first_key.is_none() {
            self.first_key = Some(self.passed(now));
        }
    }
    /// Stops, until [`Watch::resume`].
    pub fn pause(&mut self, now: Millis) {
        if self.paused.is_none() {
            self.paused = Some(now);
        }
    }
    /// Goes on.
    pub fn resume(&mut self, now: Millis) {
        if let Some(since) = self.paused.take()
            && self.drawn.is_some()
        {
            self.lost += now.0.saturating_sub(since.0);
        }
    }
    /// Whether it stands still.
    #[must_use]
    pub fn is_paused(&self) -> bool {
        self.paused.is_some()
    }
    /// From the question on the screen to now, pauses not counted.
    #[must_use]
    pub fn passed(&self, now: Millis) -> Millis {
        let until = self.paused.unwrap_or(now);
        let from = self.drawn.unwrap_or(until);
        Millis(until.0.saturating_sub(from.0).saturating_sub(self.lost))
    }
    /// The two times of an answer that ends now: to the first key and to the end.
    #[must_use]
    pub fn times(&self, now: Millis) -> (Millis, Millis) {
        let total = self.passed(now);
        (self.first_key.unwrap_or(total), total)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_times_run_from_the_drawn_question() {
        let mut watch = Watch::new();
        watch.drawn(Millis(1_000));
        watch.drawn(Millis(1_500));
        watch.key(Millis(1_800));
        watch.key(Millis(2_000));
        assert_eq!(watch.times(Millis(2_300)), (Millis(800), Millis(1_300)));
    }

    #[test]
    fn a_pause_stops_the_watch() {
        let mut watch = Watch::new();
        watch.drawn(Millis(0));
        watch.pause(Millis(100));
        assert_eq!(watch.passed(Millis(9_000)), Millis(100));
        watch.resume(Millis(10_000));
        watch.key(Millis(10_050));
        watch.pause(Millis(10_100));
        watch.resume(Millis(20_100));
        assert_eq!(watch.times(Millis(20_200)), (Millis(150), Millis(300)));
    }

    #[test]
    fn a_question_drawn_while_pausing_starts_when_the_pause_is_over() {
        let mut watch = Watch::new();
        watch.pause(Millis(10));
        watch.drawn(Millis(20));
        watch.resume(Millis(500));
        watch.drawn(Millis(510));
        assert_eq!(watch.times(Millis(610)), (Millis(100), Millis(100)));
    }
}
