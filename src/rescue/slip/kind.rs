//! The kinds of slips.

/// A kind of slip: what the prior goes by, and what is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SlipKind {
    /// A block lifted where it should be dealt or counted one by one.
    Lifted,
    /// Cards counted one by one where they should be lifted as a block.
    CountedOff,
    /// One card or one round more or fewer.
    Count,
    /// Left out.
    LeftOut,
    /// Done twice.
    Twice,
    /// Another pile taken from, or put on.
    WrongPile,
    /// Under instead of over, at the bottom instead of the top, or the other way round.
    UnderOver,
    /// In for out, or the halves stacked the other way.
    InOut,
    /// Piles gathered in another order, or one of them forgotten.
    Gathered,
    /// Dealing begun at another pile, or gone round the other way.
    Began,
    /// The last card on the other side.
    LastAcross,
    /// A card above or below the one that was meant.
    Place,
    /// Turned otherwise: face up for face down, one by one for together, not at all.
    Turned,
    /// The other of two ways gone.
    WrongWay,
    /// Twice the same in a row where it goes by turns.
    LostBeat,
    /// A card fell and was put back elsewhere.
    Dropped,
    /// A card left the table.
    Lost,
}

impl SlipKind {
    /// Every kind.
    pub const ALL: [Self; 17] = [
        Self::Lifted,
        Self::CountedOff,
        Self::Count,
        Self::LeftOut,
        Self::Twice,
        Self::WrongPile,
        Self::UnderOver,
        Self::InOut,
        Self::Gathered,
        Self::Began,
        Self::LastAcross,
        Self::Place,
        Self::Turned,
        Self::WrongWay,
        Self::LostBeat,
        Self::Dropped,
        Self::Lost,
    ];

    /// Its name in JSON and in tables.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Self::Lifted => "lifted",
            Self::CountedOff => "counted-off",
            Self::Count => "count",
            Self::LeftOut => "left-out",
            Self::Twice => "twice",
            Self::WrongPile => "wrong-pile",
            Self::UnderOver => "under-over",
            Self::InOut => "in-out",
            Self::Gathered => "gathered",
            Self::Began => "began",
            Self::LastAcross => "last-across",
            Self::Place => "place",
            Self::Turned => "turned",
            Self::WrongWay => "wrong-way",
            Self::LostBeat => "lost-beat",
            Self::Dropped => "dropped",
            Self::Lost => "lost",
        }
    }
}
