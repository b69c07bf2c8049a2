//! Cards: what is printed on them, their names and letters in each language, and the traits by which
//! claims and questions speak of them.
//!
//! Uses nothing else of the crate. A [`Card`] is one physical card of a routine, an index into its [`Pack`];
//! what is printed on it is its [`Face`]. Traits are worked out once, into small tables, so that asking
//! for the colour of a card while a road runs is one array read.
//!
//! ```
//! use allroads::cards::{Lang, Pack, TraitId};
//!
//! let pack = Pack::full(Lang::EnGb)?;
//! let seven = pack.read("7♥")?;
//! assert_eq!(pack.read("the seven of hearts")?, seven);
//! assert_eq!(pack.class(seven, TraitId::SUIT), pack.find_class("hearts").map(|(_, class)| class));
//! assert_eq!(pack.mate_of(seven).map(|mate| pack.name(mate)), Some("seven of diamonds"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod custom;
mod face;
mod finding;
mod names;
mod near;
mod pack;
mod reading;
mod traits;

pub use custom::Custom;
pub use face::{Colour, Face, Suit, Value};
pub use names::{Lang, LangFault, count_letters};
pub use near::nearest;
pub use pack::{Class, Pack, PackFault, TraitId, TraitTable};
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
