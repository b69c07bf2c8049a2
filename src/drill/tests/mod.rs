//! Tests of the drills.

mod fair;
mod made_up;
mod marking;
mod play;
mod sessions;
