//! All roads: whether a claim can fail, the shortest road on which it does, and the exact odds; and which set-ups would work.
//!
//! Uses [`crate::cards`] to [`crate::knowing`]. It is told what it may use ([`Limits`]) and how to go about it ([`Ways`]); it has no
//! clock. What a budget cut short is [`Verdict::Unfinished`], which is never a proof.
//!
//! | file | what it does |
//! | --- | --- |
//! | `prove` | the proof from start to end: explore, then explain |
//! | `report` | what a proof says |
//! | `watch` `swaps` | what steps and claims look at, and so which states are one |
//! | `state` | states in few bytes, compared whole |
//! | `expand` `follows` `one_by_one` | from a state to all that can follow it |
//! | `explore` `shards` | every state once, in waves, on all cores |
//! | `shuffled` | packets that were shuffled freely, followed and not listed |
//! | `induct` | "again, as often as you like" by induction |
//! | `graph` `odds` `seek` `withdraw` | written out: exact odds, blame, the shortest failing road, branches to withdraw |
//! | `judge` `fraction` | any moment of a road judged: what all roads that remain come to, and the exact chance |
//! | `trial` | random roads, where not all can be gone |
//! | `find` | set-ups that work, and what survives |

mod expand;
mod explore;
pub mod find;
mod follows;
mod fraction;
mod graph;
mod induct;
mod judge;
mod odds;
mod one_by_one;
mod prove;
mod report;
mod seek;
mod shards;
mod shuffled;
mod state;
mod swaps;
mod trial;
mod watch;
mod withdraw;

pub use fraction::Fraction;
pub use judge::{EndingSet, Fate, Follow, Judge, MOST_LISTED, Moment, Onward};
pub use prove::prove;
pub use report::{
    Blame, ClaimProof, Counterexample, Ends, Limits, Odds, Proof, Roads, Settled, Verdict, Ways,
    Wrong,
};

/// By stop, the names that anything from it on reads before it is chosen or worked out anew; one more for the end of the road.
#[must_use]
pub fn needed_names(
    routine: &crate::routine::Routine,
) -> Vec<std::collections::BTreeSet<crate::routine::NameId>> {
    watch::names_before(routine)
}

/// Whether a step hangs on nothing but what was chosen and how many cards lie in each pile: not on what is printed on a card, nor on
/// where a card lies, nor on which way one faces.
#[must_use]
pub fn is_blind(routine: &crate::routine::Routine, stop: &crate::routine::Stop) -> bool {
    watch::blind(routine, stop)
}

/// Raised whenever a proof may come out otherwise than before: verdicts that were kept are then worked out anew.
pub const EDITION: u32 = 1;
