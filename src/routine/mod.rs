//! The routine: the file as written, its checks, and the routine as it runs.
//!
//! Uses [`crate::cards`], [`crate::table`] and [`crate::handling`]. A file is read into a draft that may hold anything
//! (with the line and column of every part); the checks turn the draft into a [`Routine`], which cannot be
//! wrong in any way that the checks know of, and report all faults at once. A state of the routine is a
//! [`World`]: where we are, the table, the choices remembered, and what is printed on cards of unknown order.

mod act;
mod build;
#[cfg(test)]
mod by_hand;
mod check;
mod claim;
mod draft;
mod draft_acts;
mod draft_claims;
mod draft_steps;
mod expr;
mod fault;
mod model;
mod parts;
mod print;
mod schema;
mod scope;
mod stray;
mod template;
mod value;
mod visit;
mod words;
mod world;
mod yaml;
mod yaml_read;

pub use build::load;
pub use check::{Spot, Trouble};
pub use claim::{Claim, ClaimKind, Wanted};
pub use expr::{
    Expr, ExprFault, Form, Kind, LONGEST, Meaning, Order, Part, Places, ReadSet, Scope, name_fault,
};
pub use model::{
    Act, Blank, Chain, Ending, Fork, ForkKind, Lookup, Mend, Millis, Name, NameId, NameKind,
    Reckoning, Reply, Routine, Seen, Sight, SightKind, StepId, Stop, StopIndex, Template, Then,
    Weights, Words,
};
pub use schema::schema;
pub use stray::{KnownStray, OwnStray, Stray};
pub use words::capital;
pub use world::{Fault, Scene, Value, World};
