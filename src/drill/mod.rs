//! Drills: questions, marking, timing, and the order of a session.
//!
//! Uses the rooms above it, from [`crate::cards`] down to [`crate::knowing`]; has no screen, no clock and no store of its own.
//! A [`Session`] is driven from outside: [`Session::prompt`] says what to show now, [`Session::update`] takes
//! what the performer did, with the times measured outside, and gives back what is to be kept.
//!
//! * [`Question`]: what is asked, what the performer has seen and heard, and the right answer.
//! * Marking reads an answer as people write it; unreadable is not the same as wrong.
//! * [`Session`]: road after road, told step by step with questions between.
//! * [`Summary`]: what went well, weak steps, times against target, and what to do next.
//!
//! A question is asked only if its answer is the same on every table that fits what was seen and heard.

mod question;
mod session;
mod summary;
mod tile;

pub use question::{Drill, Expected, Key, Kind, Question, Spot, Subject};
pub use session::{
    Answered, Correction, DrillFault, Effect, Event, Line, Plan, Prompt, Session, Tell, Word,
};
pub use summary::{StepSummary, Summary};
pub use tile::{Spread, Tile};
