//! Paper: files for people, to look at, print and carry: a page about progress, a cue sheet, a calendar.
//!
//! May use the rooms above it, the screen's words and marks among them, so that paper says what the screen says. It writes
//! nothing to disk: each page is text, made from what it is given.
//!
//! * [`markup`]: elements and text, always well formed, all text escaped; no page is put together from strings.
//! * [`palette`]: the colours by day and by night, with their contrasts held by a test.
//! * [`scale`]: from values to places, and round numbers to label them with.
//! * `frame`: what every page has alike: its head, its style, its end. `marks`: how a step is held, as a shape.
//! * [`progress`]: one routine, or all that were practised. [`cue_sheet`](cue_sheet()): a routine to carry.
//! * [`calendar`]: the rehearsals of a plan, for calendars.
//!
//! A page is one file: no network, no script, the style inside. It reads without colour, in print, by keyboard and by a
//! screen reader: every chart has a name, a description, and its numbers as a table.

pub mod calendar;
mod cue_sheet;
mod frame;
mod marks;
pub mod markup;
pub mod palette;
pub mod progress;
pub mod scale;

pub use cue_sheet::{Astray, cue_sheet, mend_number};

#[cfg(test)]
mod tests;
