//! Tests of the drills.

mod fair;
mod guided;
mod interleaved;
pub mod made_up;
mod marking;
pub mod play;
mod sessions;
