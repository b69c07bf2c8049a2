//! All roads: whether a claim can fail, the shortest road on which it does, and the exact odds.
//!
//! Uses [`crate::cards`] to [`crate::knowing`]. It is told what it may use ([`Limits`]) and how to go about it ([`Ways`]); it has no
//! clock. What a budget cut short is [`Verdict::Unfinished`], which is never a proof.

mod report;

pub use report::{
    Blame, ClaimProof, Counterexample, Ends, Limits, Odds, Proof, Roads, Settled, Verdict, Ways,
    Wrong,
};

use crate::routine::Routine;

/// Raised whenever a proof may come out otherwise than before: verdicts that were kept are then worked out anew.
pub const EDITION: u32 = 1;

/// Proves a routine, or finds where it can fail.
#[must_use]
pub fn prove(_routine: &Routine, _ways: Ways, limits: &Limits<'_>) -> Proof {
    (limits.progress)(0);
    Proof {
        verdict: Verdict::Unfinished,
        roads: Roads::Uncounted,
        states: 0,
        ends: None,
        claims: Vec::new(),
        counterexample: None,
        untaken: Vec::new(),
        unreached: Vec::new(),
        blame: Vec::new(),
        withdraw: None,
        loops: Vec::new(),
    }
}
