//! Strays: what spectators do that a routine did not offer. The names of those that the program knows stand here, since a file may list
//! them; what each does to a table is defined in the room that plays them.

use super::act::Act;
use super::model::{Fork, Sight, StepId, Template};

/// A stray of a routine's own.
#[derive(Debug, Clone)]
pub struct OwnStray {
    /// Its id.
    pub id: StepId,
    /// What the spectator says or does, in words.
    pub says: Template,
    /// What is chosen in it.
    pub fork: Option<Fork>,
    /// What it does to the table.
    pub acts: Vec<Act>,
    /// What the performer sees of it.
    pub sights: Vec<Sight>,
    /// How often it is met, compared with others: 1 is seldom.
    pub often: u16,
    /// Line in the file, from 1.
    pub line: u32,
}

/// A stray that a step lists as one that is met there often.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stray {
    /// One that the program knows.
    Known(KnownStray),
    /// One of the routine's own: its index in [`super::Routine::strays`].
    Own(u16),
}

/// The strays that the program knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum KnownStray {
    /// A complete cut more, and the performer sees how many cards are lifted.
    CutsAgain,
    /// A complete cut more, and the performer does not see where.
    CutsUnseen,
    /// A cut that was asked for and is not completed: what was lifted goes back on top.
    LeavesTheCut,
    /// An overhand shuffle.
    ShufflesOverhand,
    /// Some cards off the top are riffled into the rest.
    Riffles,
    /// One card, from anywhere, falls out and goes under the packet.
    DropsACard,
    /// The top card goes back in somewhere else.
    BuriesTheTop,
    /// A look at the top card.
    Peeks,
    /// The whole packet is turned over.
    TurnsThePacket,
    /// One card, anywhere, is turned over where it lies.
    TurnsACard,
    /// Some cards off the top are turned over as a block, and the performer sees how many.
    TurnsABlock,
    /// One card, from anywhere, leaves the table.
    TakesACard,
    /// Two piles change places.
    SwapsPiles,
    /// Three or four piles lie in another order, and more than two of them in another place.
    ReordersPiles,
    /// One card more than was asked for is dealt or lifted.
    OneTooMany,
    /// One card fewer.
    OneTooFew,
    /// Cards that should be lifted off together are dealt off one by one.
    DealsInstead,
    /// Cards that should be dealt one by one are lifted off together.
    LiftsInstead,
    /// What was chosen is to be something else now.
    ChangesTheirMind,
    /// A number above the range.
    NamesTooHigh,
    /// A number below the range.
    NamesTooLow,
    /// Zero.
    NamesNought,
    /// The step is not done.
    Refuses,
    /// The step is done once more.
    WantsItAgain,
    /// What was chosen in secret is forgotten.
    Forgets,
}

impl KnownStray {
    /// All of them, in the order in which they are told.
    pub const ALL: [Self; 25] = [
        Self::CutsAgain,
        Self::CutsUnseen,
        Self::LeavesTheCut,
        Self::ShufflesOverhand,
        Self::Riffles,
        Self::DropsACard,
        Self::BuriesTheTop,
        Self::Peeks,
        Self::TurnsThePacket,
        Self::TurnsACard,
        Self::TurnsABlock,
        Self::TakesACard,
        Self::SwapsPiles,
        Self::ReordersPiles,
        Self::OneTooMany,
        Self::OneTooFew,
        Self::DealsInstead,
        Self::LiftsInstead,
        Self::ChangesTheirMind,
        Self::NamesTooHigh,
        Self::NamesTooLow,
        Self::NamesNought,
        Self::Refuses,
        Self::WantsItAgain,
        Self::Forgets,
    ];

    /// The name by which a file lists it.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Self::CutsAgain => "cuts-again",
            Self::CutsUnseen => "cuts-unseen",
            Self::LeavesTheCut => "leaves-the-cut",
            Self::ShufflesOverhand => "shuffles-overhand",
            Self::Riffles => "riffles",
            Self::DropsACard => "drops-a-card",
            Self::BuriesTheTop => "buries-the-top",
            Self::Peeks => "peeks",
            Self::TurnsThePacket => "turns-the-packet",
            Self::TurnsACard => "turns-a-card",
            Self::TurnsABlock => "turns-a-block",
            Self::TakesACard => "takes-a-card",
            Self::SwapsPiles => "swaps-piles",
            Self::ReordersPiles => "reorders-piles",
            Self::OneTooMany => "one-too-many",
            Self::OneTooFew => "one-too-few",
            Self::DealsInstead => "deals-instead",
            Self::LiftsInstead => "lifts-instead",
            Self::ChangesTheirMind => "changes-their-mind",
            Self::NamesTooHigh => "names-too-high",
            Self::NamesTooLow => "names-too-low",
            Self::NamesNought => "names-nought",
            Self::Refuses => "refuses",
            Self::WantsItAgain => "wants-it-again",
            Self::Forgets => "forgets",
        }
    }
}
