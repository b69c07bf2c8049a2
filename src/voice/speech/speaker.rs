//! The program's end of the speech process.

use super::frames::{self, Answer};
use super::{HIDDEN, Manner, Samples};
use std::collections::HashSet;
use std::io::{self, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

/// How long the process may take to greet, and to speak one text: about a thousand times what it needs.
const START_LIMIT: Duration = Duration::from_secs(10);
const SPEAK_LIMIT: Duration = Duration::from_secs(5);

/// A process that could not be started is not tried again for so long.
const REST: Duration = Duration::from_secs(5);

/// At most so many texts are remembered as unspeakable.
const MOST_REFUSED: usize = 10_000;

/// What was made: samples, none at all if the text holds nothing that sounds.
pub type Made = Result<Samples, SpeechFault>;

/// Why a text was not spoken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SpeechFault {
    /// The process could not be started: speech cannot be had at all for now.
    #[error("the speech process could not be started ({0})")]
    Start(String),
    /// The engine refused this text.
    #[error("{0}")]
    Refused(String),
    /// The engine died of this text, twice.
    #[error("the speech engine died")]
    Died,
    /// The engine took too long over this text and was ended.
    #[error("the speech engine took too long")]
    Slow,
}

/// Makes speech by asking a process of its own, which is started when it is needed, and again when it has died.
#[derive(Debug)]
pub struct Speaker {
    program: PathBuf,
    cache: PathBuf,
    running: Option<Running>,
    refused: HashSet<(Manner, String)>,
    limit: Duration,
    /// When a process could last not be started, and why.
    failed: Option<(Instant, String)>,
    /// How many processes were started so far.
    started: u32,
}

impl Speaker {
    /// A speaker whose process is this program (`allroads` itself), with its voices unpacked in this folder.
    #[must_use]
    pub fn new(program: &Path, cache: &Path) -> Self {
        Self {
            program: program.to_path_buf(),
            cache: cache.to_path_buf(),
            running: None,
            refused: HashSet::new(),
            limit: SPEAK_LIMIT,
            failed: None,
            started: 0,
        }
    }

    /// With another limit for one text.
    #[must_use]
    pub fn with_limit(mut self, limit: Duration) -> Self {
        self.limit = limit;
        self
    }

    /// How many processes were started so far: more than one means that one has died or was ended.
    #[must_use]
    pub fn started(&self) -> u32 {
        self.started
    }

    /// The process that speaks now, if one runs.
    #[must_use]
    pub fn process(&self) -> Option<u32> {
        self.running.as_ref().map(|running| running.child.id())
    }

    /// Speaks a text. Takes a few milliseconds for a sentence, at worst twice the limit; a text that killed the engine or kept
    /// it too long is not tried again.
    ///
    /// # Errors
    /// When nothing can be spoken; see [`SpeechFault`].
    pub fn make(&mut self, manner: Manner, text: &str) -> Made {
        let key = (manner, text.to_owned());
        if self.refused.contains(&key) {
            return Err(SpeechFault::Refused("it was tried before".to_owned()));
        }
        let mut made = self.once(manner, text);
        if made == Err(SpeechFault::Died) {
            // It may have been ended from outside.
            made = self.once(manner, text);
        }
        match &made {
            Err(SpeechFault::Died | SpeechFault::Slow | SpeechFault::Refused(_)) => {
                if self.refused.len() < MOST_REFUSED {
                    self.refused.insert(key);
                }
            }
            Ok(_) | Err(SpeechFault::Start(_)) => {}
        }
        made
    }

    fn once(&mut self, manner: Manner, text: &str) -> Made {
        if text.len() > frames::LONGEST_TEXT {
            return Err(SpeechFault::Refused("it is too long".to_owned()));
        }
        let running = match &mut self.running {
            Some(running) => running,
            empty => {
                if let Some((when, why)) = &self.failed
                    && when.elapsed() < REST
                {
                    return Err(SpeechFault::Start(why.clone()));
                }
                self.started = self.started.saturating_add(1);
                match Running::start(&self.program, &self.cache) {
                    Ok(started) => empty.insert(started),
                    Err(cause) => {
                        let why = cause.to_string();
                        self.failed = Some((Instant::now(), why.clone()));
                        return Err(SpeechFault::Start(why));
                    }
                }
            }
        };
        let fault = match running.ask(manner, text, self.limit) {
            Ok(Ok(samples)) => return Ok(samples.into()),
            Ok(Err(words)) => return Err(SpeechFault::Refused(words)),
            Err(fault) => fault,
        };
        // Dropping it ends it; the next text has a new one.
        self.running = None;
        Err(fault)
    }
}

/// A process that has greeted.
#[derive(Debug)]
struct Running {
    child: Child,
    to: ChildStdin,
    answers: Receiver<io::Result<Answer>>,
}

impl Running {
    fn start(program: &Path, cache: &Path) -> io::Result<Self> {
        let mut child = Command::new(program)
            .arg(HIDDEN)
            .arg(cache)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        let (Some(to), Some(from)) = (child.stdin.take(), child.stdout.take()) else {
            return Err(ended(&mut child, "it has no pipes"));
        };
        let (greeted, greeting) = mpsc::channel();
        let (send, answers) = mpsc::channel();
        let reader = std::thread::Builder::new().name("speech".to_owned());
        let begun = reader.spawn(move || {
            let mut from = BufReader::new(from);
            let met = greet(&mut from);
            let well = met.is_ok();
            // A receiver that has gone has given up on this process.
            if greeted.send(met).is_err() || !well {
                return;
            }
            loop {
                let answer = frames::answered(&mut from);
                let last = answer.is_err();
                if send.send(answer).is_err() || last {
                    return;
                }
            }
        });
        if begun.is_err() {
            return Err(ended(&mut child, "there is no room for a thread"));
        }
        match greeting.recv_timeout(START_LIMIT) {
            Ok(Ok(())) => Ok(Self { child, to, answers }),
            Ok(Err(cause)) => Err(ended(&mut child, &cause.to_string())),
            Err(_) => Err(ended(&mut child, "it did not greet")),
        }
    }

    fn ask(&mut self, manner: Manner, text: &str, limit: Duration) -> Result<Answer, SpeechFault> {
        frames::ask(&mut self.to, manner, text).map_err(|_| SpeechFault::Died)?;
        match self.answers.recv_timeout(limit) {
            Ok(Ok(answer)) => Ok(answer),
            Ok(Err(_)) | Err(RecvTimeoutError::Disconnected) => Err(SpeechFault::Died),
            Err(RecvTimeoutError::Timeout) => Err(SpeechFault::Slow),
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        end(&mut self.child);
    }
}

fn greet(from: &mut BufReader<ChildStdout>) -> io::Result<()> {
    let mut greeting = [0; frames::GREETING.len()];
    from.read_exact(&mut greeting)?;
    if greeting == *frames::GREETING {
        Ok(())
    } else {
        Err(io::Error::other("it did not greet as it should"))
    }
}

fn ended(child: &mut Child, why: &str) -> io::Error {
    end(child);
    io::Error::other(why.to_owned())
}

/// Ends a process, and lets the system forget it.
fn end(child: &mut Child) {
    // Both fail only when it is over already.
    drop(child.kill());
    drop(child.wait());
}
