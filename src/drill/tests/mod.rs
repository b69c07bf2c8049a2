//! Tests of the drills.

mod fair;
pub mod made_up;
mod marking;
pub mod play;
mod sessions;
