//! Handling: every cut, deal and shuffle, each defined once as a card-at-a-time program over piles.
//!
//! Uses [`crate::cards`] and [`crate::table`]. A [`Move`] is what the performer or a spectator does, with
//! every count and pile known. [`program`] turns it into a [`Program`]: carry one card from an end of a pile
//! to an end of another, repeat, and, where a shuffle is free, choose. Everything else (the run on a table,
//! the permutation, later the proof and the slips) is derived from that program, never written a second time.

mod choose;
mod define;
mod fault;
mod moves;
mod program;
mod run;

pub use choose::{ByChunks, ByWeave, Chooser, Forced, all_chunks, all_weaves};
pub use define::program;
pub use fault::HandlingFault;
pub use moves::{Halves, Kept, Move, Over, Weave};
pub use program::{Carry, End, Facing, Op, Program};
pub use run::{permutation, permutation_of, run};

#[cfg(test)]
mod tests;
