//! What is known of a routine's roads, as a shape and a word: "✓ proved".

use super::theme::Theme;
use crate::proof::Verdict;
use ratatui::style::Style;

/// Whether the ending of a routine, on its present text and set-up, is proved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Proven {
    /// Nothing is known yet.
    #[default]
    NotYet,
    /// It was tried, and not settled in the time it was given.
    NotProved,
    /// Every road leads to the ending.
    Proved,
    /// Some road does not.
    CanFail,
}

impl Proven {
    /// The shape and the word.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::NotYet => "… not proved yet",
            Self::NotProved => "– not proved",
            Self::Proved => "✓ proved",
            Self::CanFail => "! can fail",
        }
    }
    /// How it is drawn.
    #[must_use]
    pub fn style(self, theme: Theme) -> Style {
        match self {
            Self::NotYet | Self::NotProved | Self::Proved => theme.quiet(),
            Self::CanFail => theme.here(),
        }
    }
    /// The same as a sentence, for the plain mode.
    #[must_use]
    pub fn sentence(self) -> &'static str {
        match self {
            Self::NotYet | Self::NotProved => "It is not proved that the ending holds.",
            Self::Proved => "The ending holds on every road.",
            Self::CanFail => Self::WARNING,
        }
    }
    const WARNING: &str = "This routine can fail on some road: `allroads prove` shows which.";
    /// What a performer is told when such a rehearsal begins, if anything.
    #[must_use]
    pub fn warning(self) -> Option<&'static str> {
        match self {
            Self::NotYet | Self::NotProved | Self::Proved => None,
            Self::CanFail => Some(Self::WARNING),
        }
    }
}

impl From<Verdict> for Proven {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::SureFire => Self::Proved,
            Verdict::Refuted => Self::CanFail,
            Verdict::Unfinished => Self::NotProved,
        }
    }
}

/// A verdict that has come in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct News {
    /// SHA-256 of the routine's file.
    pub content_hash: String,
    /// Which draw of the set-up.
    pub setup: u64,
    /// The verdict.
    pub proven: Proven,
}
