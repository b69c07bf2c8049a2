//! A free shuffle that nobody followed: all its outcomes at once.
//!
//! After a riffle of which only the two parts are known, the packet holds *tokens*, one for each place. What is done later carries
//! the tokens about, and at the end each token that was looked at says what must have lain at its place right after the
//! riffle. Whether the two parts can be interleaved so, and in how many of the ways, is counted place by place.

use super::got::{Held, Seen};
use crate::cards::Card;
use crate::routine::{Routine, World};
use crate::table::Laid;

/// Tokens have numbers from here on: more cards than a pack can hold, and below what a [`Laid`] can number.
const FIRST_TOKEN: u16 = 16_384;

/// A shuffle of which only the parts are known.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Mix {
    parts: Parts,
    /// How all cards faced before it; `None` where they faced differently, and nothing is asked of their facing.
    up: Option<bool>,
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
enum Parts {
    /// Two parts riffled into each other.
    Riffled(Vec<Laid>, Vec<Laid>),
    /// A packet shuffled overhand.
    Chunks(Vec<Laid>),
}

/// What must have lain at each place right after the shuffle, where anything must.
pub(super) type Wanted = Vec<Option<Seen>>;

impl Mix {
    pub(super) fn riffled(left: Vec<Laid>, right: Vec<Laid>) -> Self {
        let up = same_way(left.iter().chain(&right));
        Self {
            parts: Parts::Riffled(left, right),
            up,
        }
    }

    pub(super) fn overhand(cards: Vec<Laid>) -> Self {
        let up = same_way(cards.iter());
        Self {
            parts: Parts::Chunks(cards),
            up,
        }
    }

    fn size(&self) -> usize {
        match &self.parts {
            Parts::Riffled(left, right) => left.len() + right.len(),
            Parts::Chunks(cards) => cards.len(),
        }
    }

    /// The tokens that lie there instead of the cards, from the top.
    pub(super) fn tokens(&self) -> Vec<Laid> {
        let up = self.up.unwrap_or(false);
        (FIRST_TOKEN..)
            .take(self.size())
            .map(|n| Laid::new(Card(n), up))
            .collect()
    }

    /// The index of a token, if it is one.
    pub(super) fn index(laid: Laid) -> Option<usize> {
        laid.card().0.checked_sub(FIRST_TOKEN).map(usize::from)
    }

    /// Nothing wanted anywhere.
    pub(super) fn wanted(&self) -> Wanted {
        vec![None; self.size()]
    }

    /// Notes what was seen of a token; false where that cannot be, because it faces the other way.
    pub(super) fn want(&self, wanted: &mut Wanted, laid: Laid, seen: Seen) -> bool {
        if let (Some(up), Some(_)) = (seen.up, self.up)
            && laid.face_up() != up
        {
            return false;
        }
        match Self::index(laid).and_then(|n| wanted.get_mut(n)) {
            Some(slot) => {
                *slot = Some(seen);
                true
            }
            None => false,
        }
    }

    /// Which share of all ways to shuffle gives what is wanted.
    pub(super) fn share(&self, routine: &Routine, world: &World, wanted: &Wanted) -> f64 {
        let fits = |at: usize, card: Laid| match wanted.get(at) {
            Some(Some(seen)) => lies(routine, world, seen.held, card.card()),
            Some(None) => true,
            None => false,
        };
        match &self.parts {
            Parts::Riffled(left, right) => riffled(left, right, &fits),
            Parts::Chunks(cards) => chunks(cards, &fits),
        }
    }
}

/// Counted from the bottom up: with `i` cards of the left part and `j` of the right still to come, the chance that the rest falls
/// as wanted, where the next card comes from a part with the odds of the cards still in it.
fn riffled(left: &[Laid], right: &[Laid], fits: &impl Fn(usize, Laid) -> bool) -> f64 {
    let (l, r) = (left.len(), right.len());
    let mut row = vec![0.0_f64; r + 1];
    for i in 0..=l {
        for j in 0..=r {
            if i + j == 0 {
                row[0] = 1.0;
                continue;
            }
            let at = l + r - i - j;
            let all = (i + j) as f64;
            let mut chance = 0.0;
            if i > 0 && row[j] > 0.0 && fits(at, left[l - i]) {
                chance += i as f64 / all * row[j];
            }
            if j > 0 && row[j - 1] > 0.0 && fits(at, right[r - j]) {
                chance += j as f64 / all * row[j - 1];
            }
            row[j] = chance;
        }
    }
    row[r]
}

/// The first `j` cards off the top lie at the bottom of the packet: the chance, breaking after each card by the toss of a
/// coin, that they fall as wanted.
fn chunks(cards: &[Laid], fits: &impl Fn(usize, Laid) -> bool) -> f64 {
    let n = cards.len();
    let mut fell = vec![0.0_f64; n + 1];
    fell[0] = 1.0;
    for begin in 0..n {
        if fell[begin] <= 0.0 {
            continue;
        }
        for end in begin + 1..=n {
            let whole = (begin..end).all(|card| fits(n - end + card - begin, cards[card]));
            if whole {
                let length = i32::try_from(end - begin).unwrap_or(i32::MAX);
                // After the last card there is no coin to toss.
                let tossed = if end == n { length - 1 } else { length };
                fell[end] += fell[begin] * 0.5_f64.powi(tossed);
            }
        }
    }
    fell[n]
}

fn same_way<'a>(mut cards: impl Iterator<Item = &'a Laid>) -> Option<bool> {
    let first = cards.next()?.face_up();
    cards.all(|laid| laid.face_up() == first).then_some(first)
}

/// Whether a card of the table can be what was seen; one whose print nothing has fixed can be any.
pub(super) fn lies(routine: &Routine, world: &World, held: Held, card: Card) -> bool {
    let Some(print) = world.face_of(card) else {
        return true;
    };
    match held {
        Held::Print(seen) => routine.pack.same_look(print, seen),
        Held::Class(of, class) => routine.pack.class(print, of) == Some(class),
        Held::Unknown => true,
    }
}
