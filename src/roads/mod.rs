//! Roads: the branches of a fork, one step, one whole road, sampled or replayed.
//!
//! Uses [`crate::cards`] to [`crate::routine`]. A step is pure: [`take`] makes a new [`World`](crate::routine::World)
//! from a world and a choice, and says what the performer saw. Randomness comes only through [`Draw`], whose
//! stream is fixed for ever: a road is the same on every machine for the same routine and seed.

mod acts;
mod choices;
mod domain;
mod draw;
mod met;
mod ranks;
mod road;
mod step;
mod survey;

#[cfg(test)]
pub(crate) mod fixtures;
#[cfg(test)]
mod tests;

pub use acts::{AsChosen, Shuffler, do_plainly};
pub use choices::{ChoiceFault, Choices};
pub use domain::{Domain, domain};
pub use draw::Draw;
pub use met::{Met, STRENGTH, posterior};
pub use road::{
    LONGEST_ROAD, Road, Walked, broken_claims, choice_label, choice_name, replay, sample, start,
    start_as, unknown_start,
};
pub use step::{Sighted, Taken, pass, pass_among, pass_by_hand, pass_free, seen, take, take_free};
pub use survey::{Finding, Wrong, survey};
