//! The thread that runs a voice: which line is said when, and who hears of it.
//!
//! It waits for one thing at a time: a wish of the rehearsal's, speech that was made, a sound that has ended, an output that
//! came or went. Nothing it does takes long.

use super::cache::{Cache, Key};
use super::line::Line;
use super::maker::{Delivery, Orders};
use super::mix::{Desk, Entry, Over};
use super::notice::Notice;
use super::output::{OutputState, Place};
use super::settings::Pace;
use super::speaking::{Ending, SayId, Shared};
use super::speech::{Manner, Samples, SpeechFault};
use super::wording;
use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::{Duration, Instant};

/// What the director is told.
#[derive(Debug)]
pub(super) enum Told {
    /// Make this ahead.
    Ahead(Vec<Line>),
    /// Say this.
    Say(SayId, Line),
    /// Be silent.
    Hush,
    /// From the next line on, speak at this pace.
    Pace(Pace),
    /// Speech was made, or not.
    Made(Delivery),
    /// A sound has ended.
    Over(Over),
    /// The output came or went.
    Output(OutputState),
    /// The voice has gone.
    Quit,
}

impl From<Over> for Told {
    fn from(over: Over) -> Self {
        Self::Over(over)
    }
}

/// How long a line waits for the first output to be found.
const FIRST_OUTPUT: Duration = Duration::from_secs(1);

/// How long a line waits for its speech to be made, before the rehearsal goes on without it: many times what it takes.
const MAKING: Duration = Duration::from_secs(2);

/// The pause between two lines, and between two sentences of one.
const BETWEEN_LINES: Duration = Duration::from_millis(260);
const BETWEEN_PARTS: Duration = Duration::from_millis(120);

/// What is known of the output.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Output {
    /// It is being looked for, since then.
    Sought(Instant),
    Up,
    Down,
}

/// The line that is being said.
#[derive(Debug)]
struct Current {
    id: SayId,
    /// What is still to be said of it.
    parts: VecDeque<Key>,
    /// What is being said of it.
    saying: Option<Key>,
    /// The sound that is playing.
    playing: Option<u64>,
    /// When its last sound is over.
    ends: Option<Instant>,
    /// Whether any of it was heard.
    heard: bool,
    /// Since when it waits for its speech to be made.
    waits: Option<Instant>,
    cut: Arc<AtomicBool>,
}

/// Runs a voice.
pub(super) struct Director {
    pub(super) desk: Arc<Desk>,
    pub(super) shared: Arc<Shared>,
    pub(super) orders: Arc<Orders>,
    pub(super) tell: Sender<Told>,
    pub(super) pace: Pace,
    /// Whether there is somebody to make speech.
    pub(super) speech: bool,
    /// Whether to give the caution of the first time.
    pub(super) caution: bool,
    pub(super) state: Stage,
}

/// What the director keeps in mind.
pub(super) struct Stage {
    output: Output,
    cache: Cache,
    queue: VecDeque<(SayId, Line)>,
    current: Option<Current>,
    /// When the last line ended, if it was spoken to its end.
    ended: Option<Instant>,
    token: u64,
    /// Whether there was an output when one was last told of.
    had: bool,
    /// What was told since there was none: that it went away, or that there is none.
    told_down: Option<Notice>,
    told_speech: bool,
}

impl Stage {
    pub(super) fn new() -> Self {
        Self {
            output: Output::Sought(Instant::now()),
            cache: Cache::default(),
            queue: VecDeque::new(),
            current: None,
            ended: None,
            token: 0,
            had: false,
            told_down: None,
            told_speech: false,
        }
    }
}

impl Director {
    /// Runs until the voice has gone.
    pub(super) fn run(mut self, told: &Receiver<Told>) {
        loop {
            let received = match self.wait() {
                None => told.recv().map_err(|_| RecvTimeoutError::Disconnected),
                Some(wait) => told.recv_timeout(wait),
            };
            match received {
                Ok(Told::Quit) | Err(RecvTimeoutError::Disconnected) => break,
                Ok(told) => self.take(told),
                Err(RecvTimeoutError::Timeout) => {}
            }
            self.go_on();
        }
        if let Some(current) = &self.state.current {
            current.cut.store(true, Ordering::Relaxed);
        }
        self.orders.close();
        self.desk.close();
    }

    /// How long nothing happens by itself.
    fn wait(&self) -> Option<Duration> {
        let current = self.state.current.as_ref();
        let spoken = |c: &&Current| c.parts.is_empty() && c.playing.is_none();
        let ends = current.filter(spoken).and_then(|c| c.ends);
        let made = current.and_then(|c| c.waits).map(|since| since + MAKING);
        let sought = match &self.state.output {
            Output::Sought(since)
                if self.state.current.is_some() || !self.state.queue.is_empty() =>
            {
                Some(*since + FIRST_OUTPUT)
            }
            Output::Sought(_) | Output::Up | Output::Down => None,
        };
        let next = [ends, made, sought].into_iter().flatten().min()?;
        Some(next.saturating_duration_since(Instant::now()))
    }

    fn take(&mut self, told: Told) {
        match told {
            Told::Ahead(lines) => {
                for line in lines.iter().filter(|_| self.speech) {
                    for key in self.parts(line) {
                        if !self.state.cache.has(&key) {
                            self.orders.ahead(key);
                        }
                    }
                }
            }
            Told::Say(id, line) => self.state.queue.push_back((id, line)),
            Told::Hush => self.hush(),
            Told::Pace(pace) => self.pace = pace,
            Told::Made(delivery) => self.made(delivery),
            Told::Over(over) => self.over(over),
            Told::Output(state) => self.output(state),
            Told::Quit => {}
        }
    }

    fn parts(&self, line: &Line) -> VecDeque<Key> {
        let manner = Manner::of(line.role, line.lang, self.pace);
        let said = wording::plain(line.lang, &line.text);
        wording::parts(&said)
            .into_iter()
            .map(|part| (manner, part))
            .collect()
    }

    fn hush(&mut self) {
        if let Some(current) = self.state.current.take() {
            current.cut.store(true, Ordering::Relaxed);
            self.finish(current.id, Ending::Hushed, Instant::now());
        }
        for (id, _) in std::mem::take(&mut self.state.queue) {
            self.finish(id, Ending::Hushed, Instant::now());
        }
        self.orders.drop_waited();
    }

    fn made(&mut self, delivery: Delivery) {
        let Delivery { key, made } = delivery;
        let samples = match made {
            Ok(samples) => samples,
            Err(SpeechFault::Start(why)) => {
                if !std::mem::replace(&mut self.state.told_speech, true) {
                    self.shared.notice(Notice::NoSpeech(why));
                }
                self.skip(&key);
                return;
            }
            Err(SpeechFault::Refused(_) | SpeechFault::Died | SpeechFault::Slow) => {
                self.skip(&key);
                return;
            }
        };
        self.state.cache.put(key, samples);
    }

    /// This part is not said; the line goes on with the next.
    fn skip(&mut self, key: &Key) {
        if let Some(current) = &mut self.state.current {
            current.parts.retain(|part| part != key);
        }
    }

    fn over(&mut self, over: Over) {
        let Some(current) = &mut self.state.current else {
            return;
        };
        if current.playing != Some(over.token) {
            return;
        }
        current.playing = None;
        let said = current.saying.take();
        if over.whole {
            current.ends = Some(over.at);
        } else {
            // The output has gone in the middle of it: this part is said again if another comes at once.
            if let Some(part) = said {
                current.parts.push_front(part);
            }
            self.broken();
        }
    }

    /// The output has died. Whether it is tried again, or gone, will be told.
    fn broken(&mut self) {
        if self.state.output == Output::Up {
            self.state.output = Output::Sought(Instant::now());
        }
    }

    /// The line that is being said ends here, unheard.
    fn abandon(&mut self) {
        if let Some(current) = self.state.current.take() {
            current.cut.store(true, Ordering::Relaxed);
            self.finish(current.id, Ending::Unheard, Instant::now());
        }
    }

    fn output(&mut self, output: OutputState) {
        match output {
            OutputState::Up(place) => {
                self.state.output = Output::Up;
                self.up(place);
            }
            OutputState::Broken => self.broken(),
            OutputState::Down(why) => {
                self.state.output = Output::Down;
                self.shared.set_place(None);
                let told = if std::mem::take(&mut self.state.had) {
                    Notice::Lost
                } else {
                    Notice::NoOutput(why)
                };
                self.state.told_down = Some(told.clone());
                self.shared.notice(told);
            }
        }
    }

    fn up(&mut self, place: Place) {
        self.shared.set_place(Some(place));
        self.state.had = true;
        match self.state.told_down.take() {
            Some(Notice::Lost) => self.shared.notice(Notice::Back),
            Some(_) => self.shared.notice(Notice::Come),
            None => {}
        }
        if std::mem::take(&mut self.caution) {
            self.shared.notice(Notice::FirstTime);
        }
    }

    fn finish(&mut self, id: SayId, ending: Ending, at: Instant) {
        // What follows a line that was cut short follows a key: it comes at once.
        self.state.ended = (ending == Ending::Spoken).then_some(at);
        self.shared.ended(id, ending, at);
    }

    /// Does what can be done now.
    fn go_on(&mut self) {
        if let Output::Sought(since) = self.state.output
            && since.elapsed() >= FIRST_OUTPUT
        {
            self.state.output = Output::Down;
        }
        if self.state.output == Output::Down || !self.speech {
            self.end_all_unheard();
            return;
        }
        while self.step() {}
    }

    fn end_all_unheard(&mut self) {
        self.abandon();
        for (id, _) in std::mem::take(&mut self.state.queue) {
            self.finish(id, Ending::Unheard, Instant::now());
        }
        self.orders.drop_waited();
    }

    /// One step; whether another may follow at once.
    fn step(&mut self) -> bool {
        let Some(current) = &mut self.state.current else {
            return self.begin();
        };
        if current.playing.is_some() {
            return false;
        }
        if let Some(part) = current.parts.front() {
            if self.state.output != Output::Up {
                return false;
            }
            let Some(samples) = self.state.cache.get(part) else {
                // When it is made it comes as a delivery.
                self.orders.now(part.clone());
                if current.waits.get_or_insert_with(Instant::now).elapsed() >= MAKING {
                    self.abandon();
                    return true;
                }
                return false;
            };
            current.waits = None;
            current.saying = current.parts.pop_front();
            return !self.play(samples);
        }
        let at = current.ends.unwrap_or_else(Instant::now);
        if at > Instant::now() {
            return false;
        }
        let (id, heard) = (current.id, current.heard);
        self.state.current = None;
        let ending = if heard {
            Ending::Spoken
        } else {
            Ending::Unheard
        };
        self.finish(id, ending, at);
        true
    }

    /// Takes the next line.
    fn begin(&mut self) -> bool {
        let Some((id, line)) = self.state.queue.pop_front() else {
            return false;
        };
        let parts = self.parts(&line);
        for part in parts.iter().filter(|part| !self.state.cache.has(part)) {
            self.orders.now(part.clone());
        }
        self.state.current = Some(Current {
            id,
            parts,
            saying: None,
            playing: None,
            ends: None,
            heard: false,
            waits: None,
            cut: Arc::new(AtomicBool::new(false)),
        });
        true
    }

    /// Plays a part; whether there was anything in it to play.
    fn play(&mut self, samples: Samples) -> bool {
        let Some(current) = &mut self.state.current else {
            return false;
        };
        if samples.is_empty() {
            return false;
        }
        let now = Instant::now();
        let since = |then: Option<Instant>| then.map(|t| now.saturating_duration_since(t));
        let entry = if current.heard {
            Entry::Part(BETWEEN_PARTS)
        } else {
            // What comes some time after the line before needs no pause.
            let pause = since(self.state.ended)
                .map_or(Duration::ZERO, |gone| BETWEEN_LINES.saturating_sub(gone));
            Entry::Line(pause)
        };
        self.state.token += 1;
        current.playing = Some(self.state.token);
        current.heard = true;
        current.ends = None;
        let cut = Arc::clone(&current.cut);
        self.desk
            .speak(samples, entry, self.state.token, cut, self.tell.clone());
        true
    }
}

#[cfg(test)]
mod tests;
