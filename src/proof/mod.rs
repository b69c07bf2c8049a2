//! All roads: whether a claim can fail, the shortest road on which it does, and the exact odds.
//!
//! Uses [`crate::cards`] to [`crate::knowing`]. It is told what it may use ([`Limits`]) and how to go about it ([`Ways`]); it has no
//! clock. What a budget cut short is [`Verdict::Unfinished`], which is never a proof.

mod expand;
mod explore;
pub mod find;
mod graph;
mod induct;
mod odds;
mod prove;
mod report;
mod seek;
mod shards;
mod shuffled;
mod state;
mod trial;
mod watch;
mod withdraw;

pub use prove::prove;
pub use report::{
    Blame, ClaimProof, Counterexample, Ends, Limits, Odds, Proof, Roads, Settled, Verdict, Ways,
    Wrong,
};

/// Raised whenever a proof may come out otherwise than before: verdicts that were kept are then worked out anew.
pub const EDITION: u32 = 1;
