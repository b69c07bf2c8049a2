//! Tests of the drills.

mod fair;
mod guided;
pub mod made_up;
mod marking;
pub mod play;
mod sessions;
