//! The interleavings of two piles that lead to different packets.
//!
//! Many interleavings give the same packet where cards look alike to the watch. They are followed a card at a time: after
//! each card, those with the same packet so far and as many cards left in each pile are one.

use crate::table::{Laid, Pile};
use rustc_hash::FxHashMap;

/// One interleaving for each different packet, in lexical order of the packets; `None` where more than `most` are alive
/// at once. True takes from the left pile, from the top down.
pub(super) fn different_weaves(left: &Pile, right: &Pile, most: usize) -> Option<Vec<Vec<bool>>> {
    // By (cards taken from the left, packet so far): the interleaving that got there.
    let mut alive: FxHashMap<(usize, Vec<Laid>), Vec<bool>> = FxHashMap::default();
    alive.insert((0, Vec::new()), Vec::new());
    for taken in 0..left.len() + right.len() {
        let mut next: FxHashMap<(usize, Vec<Laid>), Vec<bool>> = FxHashMap::default();
        for ((from_left, packet), weave) in alive {
            for (is_left, card) in [
                (false, right.get(taken - from_left)),
                (true, left.get(from_left)),
            ] {
                let Some(card) = card else { continue };
                let mut packet = packet.clone();
                packet.push(*card);
                let mut weave = weave.clone();
                weave.push(is_left);
                // The first in lexical order is kept, so that the outcome does not depend on the map's order.
                next.entry((from_left + usize::from(is_left), packet))
                    .and_modify(|kept| {
                        if weave < *kept {
                            kept.clone_from(&weave);
                        }
                    })
                    .or_insert(weave);
            }
        }
        if next.len() > most {
            return None;
        }
        alive = next;
    }
    let mut found: Vec<(Vec<Laid>, Vec<bool>)> = alive
        .into_iter()
        .map(|((_, packet), weave)| (packet, weave))
        .collect();
    found.sort_unstable();
    Some(found.into_iter().map(|(_, weave)| weave).collect())
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
