//! What can be said and sounded.

use crate::cards::Lang;

/// Who speaks. The two are told apart by voice, pitch and pace.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Somebody in front of the performer: choices, answers, strays.
    Spectator,
    /// The prompter beside the performer: questions, cues, corrections, patter read aloud.
    Prompter,
}

impl Role {
    /// Both.
    pub const ALL: [Role; 2] = [Role::Spectator, Role::Prompter];
}

/// A short sound. They are told apart by rhythm and contour, not by pitch alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cue {
    /// A question comes.
    Ask,
    /// That was right.
    Right,
    /// That was not it.
    Wrong,
    /// The time for this step is over.
    Time,
    /// Ready to begin.
    Ready,
    /// The end.
    Done,
}

impl Cue {
    /// All cues.
    pub const ALL: [Cue; 6] = [
        Cue::Ask,
        Cue::Right,
        Cue::Wrong,
        Cue::Time,
        Cue::Ready,
        Cue::Done,
    ];

    /// Its name, which is also the name of its sound's file: `ask` for `ask.wav`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Cue::Ask => "ask",
            Cue::Right => "right",
            Cue::Wrong => "wrong",
            Cue::Time => "time",
            Cue::Ready => "ready",
            Cue::Done => "done",
        }
    }
}

/// Something to say: plain words, as [`wording`](super::wording) makes them. Any text is safe: what cannot be spoken is left
/// out, and a line of which nothing remains ends at once.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Line {
    /// Who says it.
    pub role: Role,
    /// In which language.
    pub lang: Lang,
    /// The words.
    pub text: String,
}

impl Line {
    /// This line.
    #[must_use]
    pub fn new(role: Role, lang: Lang, text: impl Into<String>) -> Self {
        Self {
            role,
            lang,
            text: text.into(),
        }
    }
}
