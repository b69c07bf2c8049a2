//! What is written into the logbook.

use chrono::{DateTime, FixedOffset};

/// The name of a session, unique among all logbooks.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SessionId(pub String);

impl std::fmt::Display for SessionId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

/// Where a session was held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Manner {
    /// Line by line.
    Plain,
    /// On the full screen of a terminal.
    Screen,
}

impl Manner {
    /// The word that stands for it in the file.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Screen => "screen",
        }
    }
    /// The manner that this word stands for.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        [Self::Plain, Self::Screen]
            .into_iter()
            .find(|m| m.word() == word)
    }
}

/// A session as it begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SessionStart {
    /// The routine: its shipped name, or the name of its file without the ending.
    pub routine: String,
    /// SHA-256 of the file's text.
    pub content_hash: String,
    /// The seed, when there is one.
    pub seed: Option<u64>,
    /// Which draw of the set-up.
    pub setup: u64,
    /// The drills, by name.
    pub drills: Vec<String>,
    /// Where it is held.
    pub manner: Manner,
    /// When it began.
    pub started: DateTime<FixedOffset>,
}

/// A session as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Its name.
    pub id: SessionId,
    /// How it began.
    pub start: SessionStart,
    /// When it ended; a session that was killed has no end.
    pub ended: Option<DateTime<FixedOffset>>,
}

/// One answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The routine, as in [`SessionStart::routine`].
    pub routine: String,
    /// SHA-256 of the file's text.
    pub content_hash: String,
    /// The id of the step.
    pub step: String,
    /// The drill, by name.
    pub drill: String,
    /// The kind of question.
    pub kind: String,
    /// What exactly was asked for, as one key: the pile, the place, the trait.
    pub detail: String,
    /// Whether the question came back after a miss.
    pub again: bool,
    /// The question as it was asked.
    pub question: String,
    /// The seed of the road.
    pub seed: Option<u64>,
    /// The choices of the road so far, each as `walk --choose` takes it.
    pub choices: Vec<String>,
    /// What the performer had seen and heard.
    pub given: String,
    /// The right answer.
    pub expected: String,
    /// What was answered.
    pub answer: String,
    /// Whether it was right.
    pub right: bool,
    /// Thousandths of a second to the first key; none when no key was pressed.
    pub first_key_ms: Option<u64>,
    /// Thousandths of a second to the end.
    pub total_ms: u64,
    /// When.
    pub at: DateTime<FixedOffset>,
}

/// A practice away from the screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Practice {
    /// The routine, as in [`SessionStart::routine`].
    pub routine: String,
    /// In the performer's own words.
    pub note: String,
    /// The ids of the steps that went wrong.
    pub stumbled: Vec<String>,
    /// When.
    pub at: DateTime<FixedOffset>,
}
