//! Handling: every cut, deal and shuffle, each defined once as a card-at-a-time program over piles.
//!
//! Uses [`crate::cards`] and [`crate::table`]. A [`Move`] is what the performer or a spectator does, with
//! every count and pile known. [`program`] turns it into a [`Program`]: carry one card from an end of a pile
//! to an end of another, repeat, and, where a shuffle is free, choose. Everything else (the run on a table,
//! the permutation, later the proof and the slips) is derived from that program, never written a second time.
//!
//! ```
//! use allroads::cards::Card;
//! use allroads::handling::{ByWeave, Forced, Move, Weave, permutation, program, run};
//! use allroads::table::{Laid, PileId, Table};
//!
//! // Where each card of six came from, top first, after a faro that keeps the top card on top.
//! let packet = PileId(0);
//! let faro = Move::Faro(packet, Weave::Out);
//! assert_eq!(permutation(&faro, 6)?, [0, 3, 1, 4, 2, 5]);
//!
//! // On a table: deal three of six cards, then riffle the two parts as a spectator did.
//! let dealt = PileId(1);
//! let mut table = Table::empty(2);
//! table.pile_mut(packet).extend((0..6).map(|n| Laid::new(Card(n), false)));
//! let deal = Move::Deal { from: packet, to: vec![dealt], count: 3, up: None };
//! run(&program(&deal, &table)?, &mut table, &mut Forced)?;
//! let riffle = Move::Riffle { left: dealt, right: packet, to: packet };
//! let mut mix = ByWeave::new(&[true, false, false, true, true, false]);
//! run(&program(&riffle, &table)?, &mut table, &mut mix)?;
//! let order: Vec<u16> = table.pile(packet).iter().map(|laid| laid.card().0).collect();
//! assert_eq!(order, [2, 3, 4, 1, 0, 5]);
//! # Ok::<(), allroads::handling::HandlingFault>(())
//! ```

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
