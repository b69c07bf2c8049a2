//! Tests of the drills.

mod play;
mod transcript;
