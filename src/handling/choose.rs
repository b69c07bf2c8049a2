//! Choosers: who decides the free points of a program.
use super::fault::HandlingFault;

/// Decides the free points of a program.
///
/// A riffle asks [`Chooser::from_left`] for each card of the result, from its top down; an overhand
/// shuffle asks [`Chooser::here`] after each card taken. Points that are free on paper but leave no choice (one half of
/// a riffle is empty; after the last card) are not asked but told, by [`Chooser::forced`].
pub trait Chooser {
    /// From the left pile next? Both hold cards: so many left and right, this one included.
    #[expect(
        clippy::wrong_self_convention,
        reason = "it is the card that comes from the left, not the chooser"
    )]
    fn from_left(&mut self, left: usize, right: usize) -> bool;
    /// Do it here? So many cards remain in hand, at least one.
    fn here(&mut self, remaining: usize) -> bool;
    /// A point without a choice was passed: the left pile was taken from, or the body was done, or not.
    fn forced(&mut self, _taken: bool) {}
    /// Asked when the program has run: did the choices fit it?
    ///
    /// # Errors
    /// When they did not; the run then counts for nothing.
    fn verdict(&self) -> Result<(), HandlingFault> {
        Ok(())
    }
}

/// The chooser of moves without free points. Where there is one it takes the left pile first and
/// breaks nowhere: a riffle lays left on right, an overhand shuffle changes nothing.
#[derive(Debug, Clone, Copy)]
pub struct Forced;

impl Chooser for Forced {
    fn from_left(&mut self, _: usize, _: usize) -> bool {
        true
    }
    fn here(&mut self, _: usize) -> bool {
        false
    }
}

/// Riffles by a given interleaving: for each card of the result from the top down, whether it comes
/// from the left pile. It must name every card, also those that could not have come from elsewhere.
#[derive(Debug, Clone)]
pub struct ByWeave<'a> {
    weave: &'a [bool],
    used: usize,
    fits: bool,
}

impl<'a> ByWeave<'a> {
    /// Riffles by this interleaving; `true` is a card of the left pile.
    #[must_use]
    pub fn new(weave: &'a [bool]) -> Self {
        Self {
            weave,
            used: 0,
            fits: true,
        }
    }
    fn next(&mut self) -> Option<bool> {
        let from_left = self.weave.get(self.used).copied();
        self.used += usize::from(from_left.is_some());
        from_left
    }
}

impl Chooser for ByWeave<'_> {
    fn from_left(&mut self, _: usize, _: usize) -> bool {
        // A weave that is too short fails on the last card, which is always forced.
        self.next().unwrap_or(true)
    }
    fn here(&mut self, _: usize) -> bool {
        self.fits = false;
        false
    }
    fn forced(&mut self, taken: bool) {
        self.fits &= self.next() == Some(taken);
    }
    fn verdict(&self) -> Result<(), HandlingFault> {
        if self.fits && self.used == self.weave.len() {
            return Ok(());
        }
        Err(HandlingFault::Unfit {
            given: self.weave.len(),
            used: self.used,
        })
    }
}

/// Overhand shuffles by given chunks: their sizes in the order in which they are taken off the top. They must
/// add up to the packet, and none may be empty.
#[derive(Debug, Clone)]
pub struct ByChunks<'a> {
    chunks: &'a [u16],
    done: usize,
    in_chunk: u16,
    cards: usize,
    fits: bool,
}

impl<'a> ByChunks<'a> {
    /// Shuffles by these chunks.
    #[must_use]
    pub fn new(chunks: &'a [u16]) -> Self {
        Self {
            chunks,
            done: 0,
            in_chunk: 0,
            cards: 0,
            fits: true,
        }
    }
    /// One more card was taken: is its chunk complete?
    fn completes(&mut self) -> bool {
        self.cards += 1;
        self.in_chunk += 1;
        let Some(&size) = self.chunks.get(self.done) else {
            self.fits = false;
            return false;
        };
        self.fits &= size > 0;
        let complete = self.in_chunk >= size;
        if complete {
            self.done += 1;
            self.in_chunk = 0;
        }
        complete
    }
}

impl Chooser for ByChunks<'_> {
    fn from_left(&mut self, _: usize, _: usize) -> bool {
        self.fits = false;
        true
    }
    fn here(&mut self, _: usize) -> bool {
        self.completes()
    }
    fn forced(&mut self, taken: bool) {
        self.fits &= self.completes() == taken;
    }
    fn verdict(&self) -> Result<(), HandlingFault> {
        if self.fits && self.done == self.chunks.len() {
            return Ok(());
        }
        Err(HandlingFault::Unfit {
            given: self.chunks.iter().map(|&size| usize::from(size)).sum(),
            used: self.cards,
        })
    }
}

/// Every interleaving of so many cards of the left and right piles, for [`ByWeave`], in lexical order with
/// `false` (right) before `true` (left), as Rust orders booleans: the first lays right on left, the last left on right.
pub fn all_weaves(left: u16, right: u16) -> impl Iterator<Item = Vec<bool>> {
    let mut first = vec![false; usize::from(right)];
    first.resize(usize::from(right) + usize::from(left), true);
    std::iter::successors(Some(first), |weave| {
        // The next in lexical order: the last "right then left" pair swaps, and what follows is sorted.
        let pair = weave.windows(2).rposition(|two| !two[0] && two[1])?;
        let mut next = weave.clone();
        next.swap(pair, pair + 1);
        next[pair + 2..].sort_unstable();
        Some(next)
    })
}

/// Every way to take `n` cards in chunks of at least one, for [`ByChunks`], in lexical order: the first
/// takes single cards, the last all at once. No cards have one way, without chunks.
pub fn all_chunks(n: u16) -> impl Iterator<Item = Vec<u16>> {
    std::iter::successors(Some(vec![1; usize::from(n)]), |chunks| {
        // The next in lexical order: the last but one grows by a card of the last, whose rest goes singly.
        let (&last, before) = chunks.split_last()?;
        let (&grows, kept) = before.split_last()?;
        let mut next = kept.to_vec();
        next.push(grows + 1);
        next.resize(kept.len() + usize::from(last), 1);
        Some(next)
    })
}
