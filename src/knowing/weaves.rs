//! The interleavings of two piles that lead to different packets.
//!
//! Many interleavings give the same packet where cards look alike to the watch. They are followed a card at a time: after
//! each card, those with the same packet so far are one, however many cards came from which pile.

use crate::table::{Laid, Pile};

/// How many cards may have come from the left pile: one bit for each number.
type Counts = u128;

/// The piles, and what may follow: after a card, from which numbers of left cards it is which.
struct Riffle<'a> {
    left: &'a Pile,
    right: &'a Pile,
}

impl Riffle<'_> {
    /// The numbers of left cards after one more card, which looks like this; `taken` cards were there before.
    fn follow(&self, counts: Counts, taken: usize, card: Laid) -> Counts {
        let mut next = 0;
        for from_left in 0..=self.left.len().min(taken) {
            if counts >> from_left & 1 == 1 {
                if self.left.get(from_left) == Some(&card) {
                    next |= 1 << (from_left + 1);
                }
                if self.right.get(taken - from_left) == Some(&card) {
                    next |= 1 << from_left;
                }
            }
        }
        next
    }

    /// The looks that the next card can have.
    fn next_cards(&self, counts: Counts, taken: usize) -> Vec<Laid> {
        let mut cards: Vec<Laid> = (0..=self.left.len().min(taken))
            .filter(|from_left| counts >> from_left & 1 == 1)
            .flat_map(|from_left| [self.left.get(from_left), self.right.get(taken - from_left)])
            .flatten()
            .copied()
            .collect();
        cards.sort_unstable();
        cards.dedup();
        cards
    }

    /// An interleaving that gives this packet, from the bottom up; the left part first where both would do.
    fn weave_of(&self, packet: &[Laid]) -> Vec<bool> {
        let mut reached = vec![1 as Counts];
        for (taken, card) in packet.iter().enumerate() {
            reached.push(self.follow(reached[taken], taken, *card));
        }
        let mut from_left = self.left.len();
        let mut weave = vec![false; packet.len()];
        for taken in (0..packet.len()).rev() {
            let is_left = from_left > 0
                && self.left.get(from_left - 1) == Some(&packet[taken])
                && reached[taken] >> (from_left - 1) & 1 == 1;
            weave[taken] = is_left;
            from_left -= usize::from(is_left);
        }
        weave
    }
}

/// One interleaving for each different packet, in the order of the packets; `None` where more than `most` packets begin
/// differently, or the left pile has more than 127 cards. True takes from the left pile, from the top down.
pub(super) fn different_weaves(left: &Pile, right: &Pile, most: usize) -> Option<Vec<Vec<bool>>> {
    if left.len() >= Counts::BITS as usize {
        return None;
    }
    let riffle = Riffle { left, right };
    // The packets so far, each with every number of left cards that can have led there.
    let mut alive: Vec<(Vec<Laid>, Counts)> = vec![(Vec::new(), 1)];
    for taken in 0..left.len() + right.len() {
        let mut next = Vec::with_capacity(alive.len());
        for (packet, counts) in &alive {
            for card in riffle.next_cards(*counts, taken) {
                let mut longer = packet.clone();
                longer.push(card);
                next.push((longer, riffle.follow(*counts, taken, card)));
            }
        }
        if next.len() > most {
            return None;
        }
        alive = next;
    }
    Some(
        alive
            .iter()
            .map(|(packet, _)| riffle.weave_of(packet))
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cards::Card;
    use crate::handling::all_weaves;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    fn woven(left: &Pile, right: &Pile, weave: &[bool]) -> Vec<Laid> {
        let (mut l, mut r) = (left.iter(), right.iter());
        weave
            .iter()
            .filter_map(|is_left| if *is_left { l.next() } else { r.next() })
            .copied()
            .collect()
    }

    proptest! {
        #[test]
        fn one_weave_is_found_for_each_packet_that_any_weave_gives(
            left in prop::collection::vec(0_u16..3, 0..6), right in prop::collection::vec(0_u16..3, 0..6)
        ) {
            let pile = |cards: &[u16]| cards.iter().map(|c| Laid::new(Card(*c), false)).collect::<Pile>();
            let (left, right) = (pile(&left), pile(&right));
            let wanted: BTreeSet<Vec<Laid>> =
                all_weaves(left.len() as u16, right.len() as u16).map(|w| woven(&left, &right, &w)).collect();
            let found: Vec<Vec<Laid>> = different_weaves(&left, &right, 100_000)
                .unwrap()
                .iter()
                .map(|w| woven(&left, &right, w))
                .collect();
            prop_assert_eq!(found, wanted.into_iter().collect::<Vec<_>>());
        }
    }
}
