//! Moves with all counts known: what each does, exactly, and where its definition comes from.
use super::program::End;
use crate::table::{PileId, Place};

/// Whether a block keeps its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kept {
    /// Lifted off together: the card that was uppermost of the block is uppermost of it again.
    Kept,
    /// Counted off one by one: the card that was uppermost of the block is now its lowest.
    Reversed,
}

/// Monge: where the second card, and then every other one, goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Over {
    /// The second card goes over the first, the third under both, and so on.
    Over,
    /// The second card goes under the first, the third over both, and so on.
    Under,
}

/// Which perfect riffle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Weave {
    /// The top card stays on top. Of an odd packet the top half is the larger by one, so that its first and last
    /// cards become the top and bottom of the packet.
    Out,
    /// The top card goes second. Of an odd packet the top half is the smaller by one, so that the first and last
    /// cards of the bottom half become the top and bottom of the packet.
    In,
}

/// Inverse faro: which half goes on top.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Halves {
    /// Cards 1, 3, 5 … go on top: undoes [`Weave::Out`].
    OddsOnTop,
    /// Cards 2, 4, 6 … go on top: undoes [`Weave::In`].
    EvensOnTop,
}

/// A move with every count known.
///
/// In the examples letters are cards, the top first. Unless a move says otherwise cards keep their facing, a pile of no cards is
/// as good as any other, and what a pile that receives cards held before stays together, in its order.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Move {
    /// Complete cut: the top `at` cards go under the rest, each part in its order. `a b c d e` cut at 2
    /// becomes `c d e a b`. Cutting at 0 or at all cards changes nothing.
    ///
    /// Source: common practice.
    Cut {
        /// Pile.
        pile: PileId,
        /// So many go under, at most all.
        at: u16,
    },
    /// A block of cards goes from an end of a pile onto an end of another, or of the same pile.
    /// `a b c d e`, two cards from the top onto the top of `x y`: kept `a b x y`, reversed `b a x y`;
    /// two from the bottom: kept `d e x y`, reversed `e d x y`. Onto the bottom the block lies the same
    /// way, under `x y`. Within one pile, from the top to the bottom, kept, it is a cut; from an end back onto the
    /// same end, reversed, it is counting cards off and laying them back.
    ///
    /// Source: common practice.
    Block {
        /// From.
        from: PileId,
        /// From this end.
        take: End,
        /// How many.
        count: u16,
        /// To.
        to: PileId,
        /// Onto this end.
        put: End,
        /// Order of the block.
        order: Kept,
    },
    /// Deal from the top round piles, one card to each in turn, each card onto the top of its pile; where the
    /// count is no multiple of the piles the first piles get one card more. `a b c d e` dealt to two piles gives `e c a` and
    /// `d b`. A pile named twice gets two cards a round.
    ///
    /// Source: Gergonne 1813, in Ball & Coxeter, *Mathematical Recreations and Essays*, for the three-pile deals.
    Deal {
        /// From the top of this pile.
        from: PileId,
        /// Round these, in this order; `from` is none of them.
        to: Vec<PileId>,
        /// How many cards.
        count: u16,
        /// `Some(true)`: each ends face up, however it lay; `Some(false)`: face down; `None`: as it lay.
        up: Option<bool>,
    },
    /// Gather piles into one packet, the first named on top, each in its order. `a b` and `c d`
    /// become `a b c d`. The packet then lies at `onto`, which may be one of the piles; if it is not,
    /// what it held stays under the packet.
    ///
    /// Source: common practice.
    Gather {
        /// Top first, all different.
        piles: Vec<PileId>,
        /// Here the packet then lies.
        onto: PileId,
    },
    /// The elimination deal. Down-under: the top card is dealt onto the top of `to`, the next goes under the
    /// packet, and so on in turn; under-down begins with a card under. Dealt cards face as they lay. It ends with the
    /// deal that leaves `leave` cards, which then lie as that deal found them: no card goes under any more. With
    /// `leave` 0 the last card is dropped on top of the others.
    ///
    /// Down-under of `a b c d`: `d b c a`; leaving one: `b c a` dealt and `d` left. Under-down: `a c d b`.
    /// The last card of under-down on 2^m + l cards lay at place 2l + 1.
    ///
    /// Source: Graham, Knuth, Patashnik, *Concrete Mathematics*, section 1.3 (the Josephus problem).
    DownUnder {
        /// From.
        pile: PileId,
        /// Onto this other pile the cards are dealt.
        to: PileId,
        /// So many stay, at most all; 0 deals all.
        leave: u16,
        /// Whether the first card goes under.
        first_under: bool,
    },
    /// Klondike, also called milk: the top and the bottom card are drawn off together and laid down, of each
    /// pair the top card uppermost, each pair onto the last. The middle card of an odd packet goes last, on
    /// top. `a b c d e f` becomes `c d b e a f`; `a b c d e` becomes `c b d a e`.
    ///
    /// Source: common practice.
    Klondike(PileId),
    /// Monge shuffle: cards are taken from the top one at a time; the second goes over or under the first, the third to the
    /// other end, and so on in turn. `a b c d e f` becomes `f d b a c e` (over) or `e c a b d f` (under).
    ///
    /// Source: Monge 1773, in Ball & Coxeter, *Mathematical Recreations and Essays*.
    Monge(PileId, Over),
    /// Faro, the perfect riffle: the packet is halved and the halves interlace one for one. `a b c d e f`
    /// becomes `a d b e c f` (out) or `d a e b f c` (in). Of odd packets see [`Weave`]: `a b c d e`
    /// becomes `a d b e c` (out) or `c a d b e` (in).
    ///
    /// Source: Diaconis, Graham, Kantor, "The mathematics of perfect shuffles", Adv. Appl. Math. 4 (1983), for even packets;
    /// odd packets by common practice.
    Faro(PileId, Weave),
    /// Inverse faro: alternate cards are drawn out, each half keeping its order, and the halves stacked.
    /// `a b c d e` becomes `a c e b d` (odds on top) or `b d a c e` (evens on top).
    ///
    /// Source: Diaconis, Graham, Kantor 1983, as the inverse of the faro.
    InverseFaro(PileId, Halves),
    /// Riffle: two piles become one packet in which each keeps its order; how they interlace is free, decided
    /// by the chooser for each card of the result from the top down. The packet then lies at `to`, on top of what other cards it
    /// held. Drawn by Gilbert–Shannon–Reeds, the next card comes from the left with chance
    /// left ÷ (left + right), which makes every interleaving of two given piles as likely as any other.
    ///
    /// Source: Gilbert–Shannon–Reeds, in Bayer & Diaconis, "Trailing the dovetail shuffle to its lair",
    /// Ann. Appl. Prob. 2 (1992).
    Riffle {
        /// Left.
        left: PileId,
        /// Right, another pile.
        right: PileId,
        /// Here the packet then lies; it may be either of the two.
        to: PileId,
    },
    /// Overhand shuffle: chunks are taken off the top, each onto the chunks before it, the order within a chunk
    /// kept; where one chunk ends and the next begins is free, decided by the chooser after each card. `a b c d e` in chunks of
    /// 2, 1, 2 becomes `d e c a b`. One chunk changes nothing; single cards reverse the packet.
    ///
    /// Source: common practice.
    Overhand(PileId),
    /// The top cards are turned over as a block: their order is reversed and each shows its other side. `a b c d`,
    /// two turned: `b' a' c d`.
    ///
    /// Source: common practice; the turn of two cards is Hummer's, 1946, in Diaconis & Graham, *Magical Mathematics*,
    /// chapter 1.
    Turn {
        /// Pile.
        pile: PileId,
        /// How many, at most all.
        count: u16,
    },
    /// Single cards are turned over where they lie: order kept, each named card shows its other side.
    ///
    /// Source: common practice.
    TurnEach {
        /// Pile.
        pile: PileId,
        /// Places, in any order, all different.
        places: Vec<Place>,
    },
    /// The order is reversed, as by counting all cards into a pile; cards keep their facing.
    ///
    /// Source: common practice.
    Reverse(PileId),
    /// A card is taken out of a pile and goes onto an end of another, or of the same.
    ///
    /// Source: common practice.
    Take {
        /// From.
        from: PileId,
        /// Its place there.
        at: Place,
        /// To.
        to: PileId,
        /// Onto this end.
        put: End,
    },
    /// The top card of a pile goes into another, or into the same, so that it then lies at this place, the
    /// cards from there on moving one down.
    ///
    /// Source: common practice.
    Put {
        /// From the top of.
        from: PileId,
        /// Into.
        to: PileId,
        /// Where it then lies: at most one below the others.
        at: Place,
    },
    /// Two cards of a pile change places. A card may be swapped with itself, which changes nothing.
    ///
    /// Source: common practice.
    Swap {
        /// Pile.
        pile: PileId,
        /// One.
        a: Place,
        /// The other.
        b: Place,
    },
}

impl Move {
    /// The piles it names, once for each naming.
    #[must_use]
    pub fn piles(&self) -> Vec<PileId> {
        match self {
            Self::Cut { pile, .. }
            | Self::Klondike(pile)
            | Self::Monge(pile, _)
            | Self::Faro(pile, _)
            | Self::InverseFaro(pile, _)
            | Self::Overhand(pile)
            | Self::Turn { pile, .. }
            | Self::TurnEach { pile, .. }
            | Self::Reverse(pile)
            | Self::Swap { pile, .. } => vec![*pile],
            Self::Block { from, to, .. }
            | Self::Take { from, to, .. }
            | Self::Put { from, to, .. } => vec![*from, *to],
            Self::DownUnder { pile, to, .. } => vec![*pile, *to],
            Self::Riffle { left, right, to } => vec![*left, *right, *to],
            Self::Deal { from, to, .. } => std::iter::once(from).chain(to).copied().collect(),
            Self::Gather { piles, onto } => piles.iter().chain([onto]).copied().collect(),
        }
    }
}
