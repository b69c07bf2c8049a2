//! What goes in and out of a session: what to show, what the performer did, what to keep.

use super::question::{Drill, Expected, Question};
use super::summary::Summary;
use super::tile::Spread;
use crate::routine::{Millis, Routine, StepId, StopIndex};

/// What to practise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// The drills to mix.
    pub drills: Vec<Drill>,
    /// Stop after so many questions.
    pub questions: Option<u32>,
    /// Stop when so many minutes are over.
    pub minutes: Option<u32>,
    /// The seed of the first road; the next road has the next number.
    pub seed: u64,
    /// Begin at this step; what came before is told in one go.
    pub from: Option<StepId>,
}

/// What the performer did, with times measured outside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// On, past something told or corrected.
    Go,
    /// An answer. To a line of patter the empty answer means "I said it aloud".
    Answer {
        /// As typed.
        text: String,
        /// From the question on the screen to the first key.
        first_key: Millis,
        /// From the question on the screen to the end of the answer.
        total: Millis,
    },
    /// After a line said aloud: whether it differed from the real one.
    Differed(bool),
    /// So much time of the session is over, pauses not counted.
    Elapsed(Millis),
    /// Enough for today.
    Stop,
}

/// What is to be done outside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Effect {
    /// Keep this answer.
    Keep(Answered),
    /// The answer could not be read; the same question stands. With what to type, in words.
    Unread(String),
    /// The session is over.
    Finished(Summary),
}

/// An answer given, with all that the logbook keeps. When it was is for the store to add.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answered {
    /// The routine's title.
    pub routine: String,
    /// SHA-256 of its file.
    pub content_hash: String,
    /// Which draw of its set-up.
    pub setup: u64,
    /// The step asked about.
    pub step: StepId,
    /// The drill.
    pub drill: Drill,
    /// The sort of question, as a word: `card`, `pattern`.
    pub kind: String,
    /// What exactly: `packet 1 colour`.
    pub detail: String,
    /// The question in words.
    pub question: String,
    /// What the performer had seen and heard, one line each.
    pub stated: Vec<String>,
    /// The seed of the road.
    pub seed: u64,
    /// The choices so far, each as `--choose` takes it.
    pub choices: Vec<String>,
    /// The right answer in words.
    pub expected: String,
    /// The answer as given; `(said aloud)` for a line spoken.
    pub given: String,
    /// Whether it was right.
    pub right: bool,
    /// Whether it was a question missed before.
    pub again: bool,
    /// To the first key.
    pub first_key: Millis,
    /// To the end of the answer.
    pub total: Millis,
}

impl Answered {
    /// An answer to a question: whether it is right, and how long it took to the first key and to the end.
    pub(super) fn to(
        routine: &Routine,
        question: &Question,
        text: &str,
        right: bool,
        (first_key, total): (Millis, Millis),
    ) -> Self {
        Self {
            routine: routine.title.clone(),
            content_hash: routine.content_hash.clone(),
            setup: routine.setup,
            step: question.key.step.clone(),
            drill: question.key.drill,
            kind: question.key.kind.word().to_owned(),
            detail: question.key.detail.clone(),
            question: question.text.clone(),
            stated: question.given.clone(),
            seed: question.seed,
            choices: question.choices.clone(),
            expected: question.expected_words.clone(),
            given: text.trim().to_owned(),
            right,
            again: question.again,
            first_key,
            total,
        }
    }
}

/// A step told.
#[derive(Debug, Clone)]
pub struct Tell {
    /// The step; `None` for the set-up or the summary of what came before.
    pub stop: Option<StopIndex>,
    /// Its title.
    pub title: String,
    /// The patter, with blanks filled; empty when it is about to be asked for.
    pub patter: String,
    /// What is done, in words.
    pub handling: Vec<String>,
    /// What the spectators choose and answer, and what is seen, one line each.
    pub seen: Vec<String>,
    /// Which road of the session, from 1.
    pub road: u32,
    /// How many stops of this road are done, and how many it has.
    pub done: usize,
    /// How many stops the road has.
    pub of: usize,
    /// The seed of the road.
    pub seed: u64,
    /// The choices so far, each as `--choose` takes it.
    pub choices: Vec<String>,
    /// The table as the performer may know it.
    pub table: Vec<Spread>,
}

/// One word of a comparison between a line and what was typed or said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Word {
    /// In both.
    Same(String),
    /// In the line only.
    Missed(String),
    /// Typed only.
    Added(String),
    /// Typed differently: the line's word and the typed one.
    Changed(String, String),
}

/// A line of patter shown after it was typed or said.
#[derive(Debug, Clone)]
pub struct Line {
    /// The question it answers.
    pub question: Question,
    /// The real line.
    pub line: String,
    /// The move it goes with.
    pub handling: Vec<String>,
    /// Word by word, when it was typed.
    pub words: Vec<Word>,
    /// Whether it was said aloud, so that the performer must say whether it differed.
    pub aloud: bool,
}

/// The right answer after a miss.
#[derive(Debug, Clone)]
pub struct Correction {
    /// The question.
    pub question: Question,
    /// The answer as given.
    pub given: String,
    /// The right one.
    pub expected: Expected,
    /// The right one in words.
    pub answer: String,
    /// Why: the step that brought it about.
    pub why: String,
    /// The piles it is about, as the performer may know them.
    pub packet: Vec<Spread>,
    /// For a line: word by word.
    pub words: Vec<Word>,
}

/// What to show now.
#[derive(Debug, Clone)]
pub enum Prompt {
    /// A step told; [`Event::Go`] goes on.
    Tell(Tell),
    /// A question; [`Event::Answer`] answers it.
    Ask(Question),
    /// The right answer after a miss; [`Event::Go`] goes on.
    Correct(Correction),
    /// The real line: after one said aloud [`Event::Differed`] answers, after one typed [`Event::Go`] goes on.
    Line(Line),
    /// The end.
    Done(Summary),
}

/// Why a session cannot begin.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DrillFault {
    /// No such step.
    #[error("the routine has no step called {0}")]
    NoStep(StepId),
    /// No road led through the step.
    #[error("no road led through the step {0}; try another seed")]
    NotReached(StepId),
    /// A road could not be walked.
    #[error("{0}")]
    Road(String),
    /// No routine to practise.
    #[error("choose at least one routine")]
    NoRoutine,
    /// Nothing to practise.
    #[error("choose at least one drill")]
    NoDrill,
    /// A drill that is no question was to be mixed with others.
    #[error("{0} is rehearsed on its own: name no other drill beside it")]
    Alone(&'static str),
    /// No stray of which anybody could say what to do.
    #[error("on no road could a stray be found here of which it can be said what to do")]
    NothingAstray,
}
