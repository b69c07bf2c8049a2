//! Slips: which handling mistake explains the packet one ended with.
//!
//! A slip is one thing of a step done wrong: a move, a round of a part that is repeated, the step itself. Which ones there are follows
//! from the moves (the file `wrong.rs`), how likely each kind is from one stated table (`prior.rs`). [`explain`] walks the road again
//! with every slip, and keeps those that lead to the packet exactly, the likeliest first.
//!
//! What nobody saw is not guessed: a choice that is not told can be any that the fork offers, a riffle every interleaving
//! of its two parts.

mod consequences;
mod count;
mod got;
mod hands;
mod kind;
mod leap;
mod mix;
mod pairs;
mod prior;
mod search;
mod state;
mod walk;
mod words;
mod wrong;

pub use consequences::{Consequence, Effect, Judging, Looked, Reach, consequences};
pub use count::CardFault;
pub use got::{Found, Got, GotFault, Held, Seen};
pub use hands::Doing;
pub use kind::SlipKind;
pub use prior::weight;
pub use search::{Explanation, MOST_STEPS, Pairs, Report, Slip, end_piles, explain, untold};
pub use state::Case;
pub use words::{
    card_words, careful_words, deed_words, explanation_words, kind_words, slip_words, step_title,
};
pub use wrong::{Instead, Wrong, drops, instead};
