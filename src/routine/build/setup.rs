//! Drawing cards to fit a pattern, by the set-up's number.
//!
//! The draw is part of what a road is reproduced from, so it uses raw ChaCha words and our own mapping. The slots of
//! a pattern are filled with the fewest fitting cards first (the earlier one where equal); a slot tries the cards that
//! fit it in an order shuffled from the stream (Fisher and Yates, from the last place down), and steps back where
//! no card is left for a later slot.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// How many cards may be tried before it is given up.
const TRIES: usize = 200_000;

/// A place of a pattern.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Slot {
    /// One of these cards of the pool, by index.
    Among(Vec<usize>),
    /// The mate of the card in an earlier-named slot.
    MateOf(usize),
}

/// A stream of numbers for one set-up.
struct Stream(ChaCha8Rng);

impl Stream {
    /// Key: `allroads`, the set-up's number (eight bytes, little-endian), `set-up`, then zeros.
    fn new(setup: u64) -> Self {
        let mut key = [0_u8; 32];
        key[..8].copy_from_slice(b"allroads");
        key[8..16].copy_from_slice(&setup.to_le_bytes());
        key[16..22].copy_from_slice(b"set-up");
        Self(ChaCha8Rng::from_seed(key))
    }
    /// From 0 to `n` − 1, all equally likely: words from the largest multiple of `n` up are thrown away.
    fn below(&mut self, n: usize) -> usize {
        let n = u64::try_from(n).unwrap_or(u64::MAX).max(1);
        let limit = u64::MAX - (u64::MAX % n + 1) % n;
        loop {
            let word = self.0.next_u64();
            if word <= limit {
                return usize::try_from(word % n).unwrap_or_default();
            }
        }
    }
    fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }
}

/// A card of the pool for every slot, all different; `None` when there is none, or none was found in bounded time.
/// `mate` gives the mate of a pool card, by index.
pub(super) fn draw(
    slots: &[Slot],
    mate: &dyn Fn(usize) -> Option<usize>,
    setup: u64,
) -> Option<Vec<usize>> {
    let mut stream = Stream::new(setup);
    // A slot together with the slot that holds its mate.
    let mut jobs: Vec<(usize, Option<usize>, Vec<usize>)> = Vec::new();
    for (at, slot) in slots.iter().enumerate() {
        if let Slot::Among(cards) = slot {
            let partner = slots.iter().position(|s| *s == Slot::MateOf(at));
            let mut fitting: Vec<usize> = cards
                .iter()
                .copied()
                .filter(|c| partner.is_none() || mate(*c).is_some_and(|m| m != *c))
                .collect();
            stream.shuffle(&mut fitting);
            jobs.push((at, partner, fitting));
        }
    }
    jobs.sort_by_key(|(at, _, fitting)| (fitting.len(), *at));
    let mut search = Search {
        jobs,
        mate,
        taken: Vec::new(),
        filled: vec![usize::MAX; slots.len()],
        tries: 0,
    };
    (search.fill(0) && search.filled.iter().all(|c| *c != usize::MAX)).then_some(search.filled)
}

struct Search<'a> {
    jobs: Vec<(usize, Option<usize>, Vec<usize>)>,
    mate: &'a dyn Fn(usize) -> Option<usize>,
    taken: Vec<usize>,
    filled: Vec<usize>,
    tries: usize,
}

impl Search<'_> {
    /// Fills the jobs from this one on. At most as deep as a pattern is long.
    fn fill(&mut self, job: usize) -> bool {
        let Some((at, partner, fitting)) = self.jobs.get(job).cloned() else {
            return true;
        };
        for card in fitting {
            self.tries += 1;
            if self.tries > TRIES {
                return false;
            }
            let other = partner.and_then(|slot| Some((slot, (self.mate)(card)?)));
            let free = |c: usize| !self.taken.contains(&c);
            if !free(card) || other.is_some_and(|(_, m)| !free(m)) {
                continue;
            }
            let before = self.taken.len();
            self.taken.push(card);
            self.filled[at] = card;
            if let Some((slot, m)) = other {
                self.taken.push(m);
                self.filled[slot] = m;
            }
            if self.fill(job + 1) {
                return true;
            }
            self.taken.truncate(before);
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_slot_gets_its_own_fitting_card() {
        let any: Vec<usize> = (0..8).collect();
        let slots = [
            Slot::Among(any),
            Slot::MateOf(0),
            Slot::Among(vec![0, 1]),
            Slot::Among(vec![0, 1]),
        ];
        let mate = |c: usize| Some(c ^ 1);
        for setup in 0..50 {
            let drawn = draw(&slots, &mate, setup).expect("there are cards enough");
            assert_eq!(drawn[1], drawn[0] ^ 1);
            let mut sorted = drawn.clone();
            sorted.sort_unstable();
            sorted.dedup();
            assert_eq!(sorted.len(), 4);
            assert!(drawn[2] < 2 && drawn[3] < 2);
            assert_eq!(
                draw(&slots, &mate, setup),
                Some(drawn),
                "the same number, the same cards"
            );
        }
    }

    #[test]
    fn too_few_cards_give_nothing() {
        let slots = [Slot::Among(vec![3]), Slot::Among(vec![3])];
        assert_eq!(draw(&slots, &|_| None, 1), None);
    }
}
