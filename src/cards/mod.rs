//! Cards: what is printed on them, their names and letters in each language, and the traits by which
//! claims and questions speak of them.
//!
//! Uses nothing else of the crate. A [`Card`] is one physical card of a routine, an index into its [`Pack`];
//! what is printed on it is its [`Face`]. Traits are worked out once, into small tables, so that asking
//! for the colour of a card while a road runs is one array read.

mod face;
mod names;
mod pack;
mod reading;
mod traits;

pub use face::{Colour, Face, Suit, Value};
pub use names::{Lang, LangFault, count_letters};
pub use pack::{Class, Custom, Pack, PackFault, TraitId, TraitTable};
pub use reading::{
    Listed, ReadFault, Written, read_face, read_face_among, read_face_in, read_list,
};

/// One physical card of a routine: an index into its [`Pack`]. Two cards may look alike; they are
/// still two cards.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Card(pub u16);

impl Card {
    /// The card's index in its pack, from 0.
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}
