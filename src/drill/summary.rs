//! The summary of a session: what went well, weak steps, times against target, what to do next.

use crate::routine::{Millis, StepId};

/// How one step went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepSummary {
    /// The step.
    pub step: StepId,
    /// Its title.
    pub title: String,
    /// Questions answered there.
    pub asked: u32,
    /// Right ones among them.
    pub right: u32,
    /// The median time to the end of an answer.
    pub median: Option<Millis>,
    /// The time the step should take.
    pub target: Option<Millis>,
}

/// How a session went.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Summary {
    /// Questions answered.
    pub asked: u32,
    /// Right ones among them.
    pub right: u32,
    /// Roads begun.
    pub roads: u32,
    /// Every step that was asked about, in the routine's order.
    pub steps: Vec<StepSummary>,
    /// The weak ones, weakest first: by misses, then by time against the target.
    pub weak: Vec<StepSummary>,
    /// What went well, a sentence each.
    pub went_well: Vec<String>,
    /// One sentence: what to do next.
    pub next: String,
}
