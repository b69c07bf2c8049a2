//! Rescue: what to do when it goes wrong. Strays, what they do to the table, whether it is still safe, and what would mend it; and the
//! performer's own slips ([`slip`] finds the one that explains a packet).
//!
//! Uses [`crate::cards`] to [`crate::proof`].
//!
//! A **stray** happens instead of what a step asks for, or right after the step ([`When`]). What it does is laid out as further stops of
//! the routine ([`Ground`]), so that it is done, seen and chosen in by the engine that does the steps: no move has a second definition.
//! A [`Case`] is one stray at one step.
//!
//! A **verdict** ([`Verdict`]) is about a set of tables: all that fit what the performer saw. It goes by the claims of the endings alone,
//! over all roads that remain ([`crate::proof::Judge`]); a step that can no longer be done fails too:
//!
//! * *safe*: on every road from every table all claims of the ending that is taken hold, and it is an ending to which these roads could have
//!   come without the stray;
//! * *out*: the same, but some road comes to an ending to which it could not have come;
//! * *mend*: a shortest [`Plan`] of the routine's mends after which all roads end well on every one of the tables;
//! * *lost*: none of these with up to [`LONGEST_PLAN`] mends; with the chance that it goes well all the same.
//!
//! What a card seen tells is what something still to come can tell of it: where only colours matter, a seven of hearts is a red card.
//!
//! | file | what it does |
//! | --- | --- |
//! | `ground` | the routine with strays and mends laid out as stops; every case |
//! | `strays` | what each stray that the program knows does, exactly, and where it makes sense |
//! | `words` | strays and mends told to people |
//! | `rescuer` `verdict` `plan` | what comes of a stray, verdicts, and the search for mends |
//! | `reach` | the sets of tables that a performer can come to have before them |
//! | `table` `seat` | every case of a routine |
//! | `slip` | what went wrong in the hands |
//! | `hands` | what comes of a slip: harmless, mendable or fatal |

mod ground;
mod hands;
mod plan;
mod play;
mod reach;
mod rescuer;
mod seat;
pub mod slip;
mod strays;
mod table;
#[cfg(test)]
mod tests;
mod verdict;
mod words;

/// Raised whenever a verdict may come out otherwise than before: tables that were kept are then worked out anew.
pub const EDITION: u32 = 5;

pub use ground::{Case, Ground, When};
pub use hands::careful;
pub use plan::{LONGEST_PLAN, Plan, Seen};
pub use rescuer::{Deed, Happened, Rescuer};
pub use table::{Extent, Part, Row, Wanted, rows};
pub use verdict::Verdict;
