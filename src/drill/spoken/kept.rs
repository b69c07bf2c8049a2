//! What is kept of a spoken rehearsal, in the form of all answers.

use super::super::prompt::Answered;
use super::super::question::{Drill, Kind};
use crate::routine::{Millis, Routine, StepId, StopIndex};

/// What was told of the road so far.
#[derive(Debug, Clone)]
pub(super) struct SoFar {
    pub seed: u64,
    pub choices: Vec<String>,
    pub given: Vec<String>,
}

/// Something lived through rather than asked.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lived<'a> {
    pub question: &'a str,
    pub expected: &'a str,
    pub given: &'a str,
    pub right: bool,
    pub first: Millis,
    pub total: Millis,
}

/// A step done, a line said, an ending, a slip.
pub(super) fn lived(
    routine: &Routine,
    so_far: &SoFar,
    (drill, kind, stop): (Drill, Kind, StopIndex),
    lived: &Lived<'_>,
) -> Answered {
    let step = routine
        .stop(stop)
        .map_or_else(|| StepId("".into()), |stop| stop.id.clone());
    Answered {
        routine: routine.title.clone(),
        content_hash: routine.content_hash.clone(),
        setup: routine.setup,
        detail: step.to_string(),
        step,
        drill,
        kind: kind.word().to_owned(),
        question: lived.question.to_owned(),
        stated: so_far.given.clone(),
        seed: so_far.seed,
        choices: so_far.choices.clone(),
        expected: lived.expected.to_owned(),
        given: lived.given.to_owned(),
        right: lived.right,
        again: false,
        first_key: lived.first,
        total: lived.total,
    }
}

/// A time in words, to the second: "5 min 12 s".
pub(super) fn in_words(time: Millis) -> String {
    let seconds = (time.0 + 500) / 1_000;
    match (seconds / 60, seconds % 60) {
        (0, seconds) => format!("{seconds} s"),
        (minutes, 0) => format!("{minutes} min"),
        (minutes, seconds) => format!("{minutes} min {seconds} s"),
    }
}

/// How long the whole took, against how long it should.
pub(super) fn whole_time(what: &str, took: Millis, running: Option<Millis>) -> String {
    match running {
        Some(running) => format!(
            "{what} took {}; its running time is {}.",
            in_words(took),
            in_words(running)
        ),
        None => format!("{what} took {}.", in_words(took)),
    }
}
