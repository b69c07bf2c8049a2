//! Finding set-ups: every pattern of classes with which a routine is sure-fire, and what a handling leaves unchanged.
//!
//! **How.** A pattern says of which class of a trait each card of the packet is. A SAT solver proposes one; [`prove`] judges it. Where it
//! can fail, the road that shows it is walked again with cells left open, one after the other: a step or a claim that asks for an open
//! cell says so, and the cell is put back. What is left is a few cells whose classes alone make that road fail, and a clause tells
//! the solver never to lay them so again. Where it is sure-fire, it is noted, and a clause tells the solver not to propose it again.
//!
//! **Why the list is complete.** Every clause is sound: it rules out either one pattern that was noted (or is left undecided, which is told),
//! or patterns on which a road fails: on each of them the same road is open, because no step of it asked for an open cell, and its
//! claim is false, because it is false whatever lies on the open cells (`truth`). When the solver says that no pattern is left, each
//! pattern was noted, undecided or ruled out. Every clause rules out the pattern it was made for, so the search ends.
//!
//! **Symmetry.** Where a routine never tells the classes by name (it compares them, or counts different ones), the same holds of a pattern
//! and of the one with classes exchanged, clauses included; so each is judged once for all. A reversed pattern is no such thing, since
//! the handling is not reversed with it: it is judged on its own, and told together with the other only where both are found.
//!
//! [`prove`]: super::prove

mod asks;
mod canvas;
mod evidence;
mod moves;
mod pattern;
mod search;
mod solver;
mod survive;
mod truth;

#[cfg(test)]
mod tests;

pub use canvas::{Canvas, Kind, Unfit, Wish};
pub use moves::{Moves, Turn, Unsteady};
pub use pattern::{Alike, Group, Pattern, group};
pub use search::{Sought, Tally, search};
pub use survive::{Survivors, survivors};
