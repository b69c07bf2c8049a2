//! What one riffle reaches.
use super::{A, B, act, order, table};
use allroads::handling::{ByWeave, End, Forced, Kept, Move, all_weaves};
use std::collections::BTreeSet;

#[test]
fn one_riffle_reaches_two_to_the_n_less_n_orders() {
    // Bayer & Diaconis, "Trailing the dovetail shuffle to its lair", Ann. Appl. Prob. 2 (1992): packets with
    // at most two rising sequences. Cut anywhere, then any interleaving: 2^n roads.
    for n in 1..=11u16 {
        let mut roads = 0u32;
        let mut reached = BTreeSet::new();
        for k in 0..=n {
            let mut cut = table(2, n);
            let lift = Move::Block {
                from: A,
                take: End::Top,
                count: k,
                to: B,
                put: End::Top,
                order: Kept::Kept,
            };
            assert_eq!(act(&lift, &mut cut, &mut Forced), Ok(()));
            let riffle = Move::Riffle {
                left: B,
                right: A,
                to: A,
            };
            for weave in all_weaves(k, n - k) {
                let mut mixed = cut.clone();
                assert_eq!(act(&riffle, &mut mixed, &mut ByWeave::new(&weave)), Ok(()));
                reached.insert(order(&mixed, A));
                roads += 1;
            }
        }
        assert_eq!(roads, 1 << n);
        assert_eq!(reached.len(), (1 << n) - usize::from(n), "{n} cards");
        assert!(reached.iter().all(|packet| rising_sequences(packet) <= 2));
    }
}

/// How many times one must go through the packet from the top to pick up its cards in rising order.
fn rising_sequences(packet: &[u16]) -> usize {
    let place = |card: u16| packet.iter().position(|&it| it == card);
    1 + (1..packet.len())
        .filter_map(|card| u16::try_from(card).ok())
        .filter(|&card| place(card) < place(card - 1))
        .count()
}
