//! The speech engine itself. Only the child process comes here.

use super::Manner;
use super::respelt::respelt;
use super::unpack;
use std::collections::BTreeMap;
use std::path::Path;
use ttspico::{EngineStatus, System};

/// Memory given to the engine for one voice, in bytes: what its own programs give it.
const MEMORY: usize = 2_500_000;

/// The volume at which the engine is asked to speak, in percent of its own: at its own it saturates by itself, and the Italian
/// voice still does at half of it.
const LEVEL: u32 = 20;

/// At most so many samples for one request (two minutes): more means that the engine has lost its way.
const LONGEST: usize = 120 * super::RATE as usize;

/// After so many rounds in which it neither took text nor spoke, it never will.
const MOST_IDLE: u32 = 1000;

/// It takes some hundred steps from one sound to the next; after so many it goes round in circles.
const MOST_MUTE: u32 = 500_000;

/// A word of more characters is given in pieces.
const LONGEST_WORD: usize = 60;

/// Why nothing was spoken.
#[derive(Debug, thiserror::Error)]
pub(super) enum EngineFault {
    /// No such voice.
    #[error("there is no voice {0}")]
    Voice(String),
    /// The language files could not be unpacked.
    #[error("the voice could not be unpacked ({0})")]
    Unpack(#[from] std::io::Error),
    /// The engine refused.
    #[error("the speech engine refused: {0}")]
    Engine(String),
    /// The engine takes no more text and makes no more sound.
    #[error("the speech engine is stuck")]
    Stuck,
    /// The engine spoke without end.
    #[error("the speech engine did not come to an end")]
    Endless,
}

impl From<ttspico::PicoError> for EngineFault {
    fn from(error: ttspico::PicoError) -> Self {
        Self::Engine(error.to_string())
    }
}

/// The engines of the voices used so far; each has a system of its own, since a system takes one engine.
#[derive(Default)]
pub(super) struct Engines(BTreeMap<&'static str, ttspico::Engine>);

impl Engines {
    /// Speaks a text. Of the text only letters, digits, spaces and the signs that make a pause reach the engine.
    ///
    /// # Errors
    /// When the voice cannot be had, or the engine refuses.
    pub(super) fn speak(
        &mut self,
        manner: Manner,
        text: &str,
        cache: &Path,
    ) -> Result<Vec<i16>, EngineFault> {
        match self.once(manner, text, cache) {
            // What came before has got it stuck: a fresh engine knows nothing of that.
            Err(EngineFault::Stuck) => self.once(manner, text, cache),
            spoken => spoken,
        }
    }

    fn once(&mut self, manner: Manner, text: &str, cache: &Path) -> Result<Vec<i16>, EngineFault> {
        let tag = manner.voice.tag();
        if !self.0.contains_key(tag) {
            self.0.insert(tag, open(tag, cache)?);
        }
        let Some(engine) = self.0.get_mut(tag) else {
            return Err(EngineFault::Voice(tag.to_owned()));
        };
        let spoken = run(engine, manner, text);
        if spoken.is_err() {
            // What it had begun must not be heard in the next line.
            self.0.remove(tag);
        }
        spoken
    }
}

fn open(tag: &'static str, cache: &Path) -> Result<ttspico::Engine, EngineFault> {
    let files = unpack::voice(tag).ok_or_else(|| EngineFault::Voice(tag.to_owned()))?;
    let system = System::new(MEMORY)?;
    let voice = System::create_voice(system.clone(), "allroads")?;
    for part in [&files.analysis, &files.generation] {
        let path = part.unpacked(cache)?;
        let path = path
            .to_str()
            .ok_or_else(|| EngineFault::Engine("the cache folder is not Unicode".to_owned()))?;
        let resource = System::load_resource(system.clone(), path)?;
        voice.borrow_mut().add_resource(resource)?;
    }
    // SAFETY: the engine must not be created before both resources are with the voice, and they are: `add_resource`
    // returned without an error for the text analysis and for the speech generation of one language.
    #[expect(unsafe_code, reason = "the binding marks its constructor so")]
    let engine = unsafe { ttspico::Voice::create_engine(voice)? };
    Ok(engine)
}

fn run(engine: &mut ttspico::Engine, manner: Manner, text: &str) -> Result<Vec<i16>, EngineFault> {
    let Manner { pitch, pace, .. } = manner;
    let mut asked = format!(
        "<volume level=\"{LEVEL}\"><pitch level=\"{pitch}\"><speed level=\"{pace}\">{}</speed></pitch></volume>",
        unmarked(&respelt(manner.voice, text))
    )
    .into_bytes();
    // The engine speaks when a text ends, which it takes a zero for.
    asked.push(0);
    let mut left = &asked[..];
    let mut spoken = Vec::new();
    let mut buffer = [0_i16; 2048];
    // It takes a part of the text, speaks for a while, takes the next part.
    let mut idle = 0;
    loop {
        let before = (left.len(), spoken.len());
        if !left.is_empty() {
            let taken = engine.put_text(left)?;
            left = &left[taken..];
        }
        let mut mute = 0;
        loop {
            let (count, status) = engine.get_data(&mut buffer[..])?;
            mute = if count == 0 { mute + 1 } else { 0 };
            if mute > MOST_MUTE {
                return Err(EngineFault::Stuck);
            }
            spoken.extend_from_slice(&buffer[..count]);
            if spoken.len() > LONGEST {
                return Err(EngineFault::Endless);
            }
            match status {
                EngineStatus::Busy => {}
                EngineStatus::Idle => break,
            }
        }
        if left.is_empty() {
            return Ok(spoken);
        }
        idle = if before == (left.len(), spoken.len()) {
            idle + 1
        } else {
            0
        };
        if idle > MOST_IDLE {
            return Err(EngineFault::Stuck);
        }
    }
}

/// The last guard before the engine: no sign of its markup, no control character, no endless word, over which it broods.
fn unmarked(text: &str) -> String {
    let mut run = 0;
    text.chars()
        .flat_map(|c| {
            let gap = c.is_control() || c.is_whitespace() || "<>&\\".contains(c);
            run = if gap { 0 } else { run + 1 };
            let full = run > LONGEST_WORD;
            if full {
                run = 1;
            }
            [full.then_some(' '), Some(if gap { ' ' } else { c })]
        })
        .flatten()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::unmarked;

    #[test]
    fn no_markup_and_no_endless_word_reaches_the_engine() {
        assert_eq!(
            unmarked("<play file=\"x\"/>\u{1b}\n&amp;"),
            " play file=\"x\"/    amp;"
        );
        let word = "a".repeat(200);
        assert_eq!(unmarked(&word).replace(' ', ""), word);
        assert!(unmarked(&word).split(' ').all(|part| part.len() <= 60));
    }
}
