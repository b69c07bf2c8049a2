//! Knowing: the set of tables that fit what the performer has seen, and what is therefore known.
//!
//! Uses [`crate::cards`] to [`crate::roads`]. Something is *known* when it is the same on every table that fits. All of it
//! is asked through one query, [`Knowledge::known`], which is told what the question looks at (its [`Watch`]); how the
//! tables are found is nobody else's business. They are listed, equal ones merged, up to a budget. Where there are
//! too many, free shuffles that nobody saw are followed a card at a time ([`Streams`]), with what was seen since as what is given of
//! them; and the tables are listed once more with the cards that the watch cannot tell apart taken for one another.

mod done;
mod knowledge;
mod layer;
mod monitor;
mod reads;
mod shuffled;
mod stream;
mod streams;
mod weaves;

#[cfg(test)]
mod tests;

pub use done::Done;
pub use knowledge::{Knowledge, Known, Watch};
pub use monitor::Monitor;
pub use reads::{act_goes_by, acted_on};
pub use stream::StreamState;
pub use streams::{
    Claimed, Followed, Halt, Outcome, Streams, Tokens, all_tokens, is_plain_with_tokens,
    step_is_plain_with_tokens, step_looks_at_facing,
};
