//! The terminal: foyer, walk-through, rehearsal, summary; and the plain mode, line by line.
//!
//! May use every room. A frame is a pure function of a [`State`]: [`update`] takes one [`Event`] and gives back
//! [`Effect`]s, [`view`] draws. Neither has a clock, a disk or a terminal; [`run_foyer`] and [`run_rehearsal`] have all three.
//!
//! | file | what it draws or does |
//! | --- | --- |
//! | `foyer` `walk` `rehearsal` `correction` `summary` `help` | one pane each |
//! | `after` `after_view` | what happened on stage, asked one thing at a time |
//! | `road` `tiles` `sheet` `theme` | the road, the table, text on a sheet, the look |
//! | `keys` | the table of keys, from which the foot and the help page are written too |
//! | `live` `live_view` `live_lines` `live_rescue` `large` | a spoken rehearsal: its state, its pane, the letters that are read from afar |
//! | `sound` | what is to be said, as the voice takes it |
//! | `state` `update` `view` `watch` | the state and what happens to it |
//! | `back` | where a question that comes back is about |
//! | `guard` `signals` `run` | the terminal taken and given back, and the loop |
//! | `progress` | how the steps and the weeks stand: on the screen, printed, line by line |
//! | `shelf` `proven` | what the foyer shows of a routine, and the [`Keeper`] of answers |
//! | `plain` `plain_live` `plain_rescue` | the same drills line by line |

mod after;
mod after_view;
mod back;
mod correction;
mod foyer;
mod guard;
mod help;
mod keys;
mod large;
mod live;
mod live_lines;
mod live_rescue;
mod live_view;
mod plain;
mod plain_live;
mod plain_rescue;
pub mod progress;
mod proven;
mod rehearsal;
mod road;
mod run;
mod sheet;
mod shelf;
mod signals;
mod sound;
mod state;
mod summary;
mod theme;
mod tiles;
mod update;
mod view;
mod walk;
mod watch;

#[cfg(test)]
mod tests;

pub use after::{AfterShow, ToldShow};
pub use after_view::After;
pub use guard::ON_THE_SIDE;
pub use keys::{Act, Binding, Chord, KEYS, Place};
pub use live::Live;
pub use plain::{Lines, plain};
pub use proven::{News, Proven};
pub use run::{Leave, run_foyer, run_rehearsal};
pub use shelf::{Begun, KeepFault, Keeper, Shelved, Standing, WholeShow};
pub use sound::Knob;
pub use state::{Effect, Ended, Event, Page, Rehearsal, State, Terms};
pub use theme::{Theme, fold};
pub use update::update;
pub use view::{SMALLEST, view};
pub use walk::Walk;
pub use watch::Watch;

/// Why the screen failed.
#[derive(Debug, thiserror::Error)]
pub enum ScreenFault {
    /// The terminal did.
    #[error("the terminal failed: {0}")]
    Terminal(#[source] std::io::Error),
    /// Signals cannot be watched.
    #[error("signals cannot be watched: {0}")]
    Signals(#[source] std::io::Error),
    /// A rehearsal cannot begin.
    #[error("{0}")]
    Begin(String),
    /// Input or output failed, line by line.
    #[error("reading or writing failed: {0}")]
    Lines(#[source] std::io::Error),
}
