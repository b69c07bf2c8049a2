//! Rescue: what to do when it goes wrong.
//!
//! Uses [`crate::cards`] to [`crate::proof`]. Slips are handling mistakes of the performer's: [`slip`] finds the one that explains
//! a packet.

pub mod slip;
