//! Drills: questions, marking, timing, and the order of a session.
//!
//! Uses the rooms above it, from [`crate::cards`] down to [`crate::knowing`]; has no screen, no clock and no store of its own.
//! A [`Session`] is driven from outside: [`Session::prompt`] says what to show now, [`Session::update`] takes
//! what the performer did, with the times measured outside, and gives back what is to be kept.
//!
//! * [`Question`]: what is asked, what the performer has seen and heard, and the right answer.
//! * [`mark`]: reads an answer as people write it; unreadable is not the same as wrong.
//! * [`Session`]: road after road, told step by step with questions between.
//! * [`Interleaved`]: a session over several routines, one road of one of them at a time.
//! * [`Spoken`]: with real cards in the hands, or lines said aloud; it says what is to be spoken, and by whom.
//! * [`Summary`]: what went well, weak steps, times against target, and what to do next.
//! * [`Guide`]: what is worth practising today, made outside from earlier answers.
//!
//! A question is asked only if its answer is the same on every table that fits what was seen and heard. To add a sort of
//! question: a [`Kind`], a [`Subject`] with its answer on one table and what it looks at, where to find candidates, its words.

mod answer;
mod asking;
mod candidates;
mod choosing;
mod closing;
mod correcting;
mod doing;
mod guide;
mod guided;
mod heard;
mod interleaved;
mod marking;
mod patter;
mod prompt;
mod question;
mod say;
mod session;
mod sighting;
mod spoken;
mod summary;
mod telling;
mod tile;
mod walk;
mod watch;
mod why;
mod wording;

pub use asking::{LONGEST_PATTERN, MOST_TABLES};
pub use doing::done_in_words;
pub use guide::{Guide, SHARE, Topic, WHOLE_EVERY, Why, Worth, asked_about, whole_run, with_luck};
pub use interleaved::Interleaved;
pub use marking::{
    GIVEN_UP, Mark, mark, read_class, read_number, read_pattern, read_pile, read_yes,
};
pub use prompt::{Answered, Correction, DrillFault, Effect, Event, Line, Plan, Prompt, Tell, Word};
pub use question::{Drill, Expected, Key, Kind, Question, Spot, Subject, Timed};
pub use say::{choices_in_words, heading};
pub use session::{Session, USUAL_QUESTIONS};
pub use sighting::seen_in_words;
pub use spoken::{
    Along, Deed, EnterPacket, HandMarked, HandQuestion, HandStep, Help, Judge, Lay, LayCard,
    LaySetUp, LineCue, LinesOpening, MendAsked, Performer, ReadThrough, Reading, RealLine,
    RescueTold, Saying, Sound, Speaker, Speech, Spoken, SpokenEffect, SpokenPrompt, StrayMet,
    Strays, Verdict, WhereNow, WhereWrong, Which,
};
pub use summary::{StepSummary, Summary};
pub use tile::{Spread, Tile};

#[cfg(test)]
mod tests;
