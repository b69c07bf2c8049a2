//! Knowing: the set of tables that fit what the performer has seen, and what is therefore known.
//!
//! Uses [`crate::cards`] to [`crate::roads`]. Something is *known* when it is the same on every table that fits. All of it
//! is asked through one query, [`Knowledge::known`]; how the tables are found (here: by listing them all, equal ones
//! merged, up to a budget) is nobody else's business.

mod knowledge;

pub use knowledge::{Known, Knowledge};
