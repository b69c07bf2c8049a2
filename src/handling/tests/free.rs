//! Free shuffles reach exactly what they should.
use super::{A, B, act};
use crate::cards::Card;
use crate::handling::{ByChunks, ByWeave, Move, all_chunks, all_weaves};
use crate::table::{Laid, Pile, Table};
use std::collections::BTreeSet;

fn pile(cards: std::ops::Range<u16>) -> Pile {
    cards.map(|card| Laid::new(Card(card), false)).collect()
}

fn order(table: &Table) -> Vec<u16> {
    table.pile(A).iter().map(|laid| laid.card().0).collect()
}

fn binomial(n: u64, k: u64) -> u64 {
    (0..k).fold(1, |value, i| value * (n - i) / (i + 1))
}

/// All interleavings of `0..k` (left) and `k..n` (right), one for each weave.
fn riffled(n: u16, k: u16) -> Vec<Vec<u16>> {
    let mv = Move::Riffle {
        left: A,
        right: B,
        to: A,
    };
    all_weaves(k, n - k)
        .map(|weave| {
            let mut table = Table::empty(2);
            *table.pile_mut(A) = pile(0..k);
            *table.pile_mut(B) = pile(k..n);
            assert_eq!(act(&mv, &mut table, &mut ByWeave::new(&weave)), Ok(()));
            order(&table)
        })
        .collect()
}

#[test]
fn weaves_come_in_lexical_order_each_once() {
    for n in 0..=9 {
        for left in 0..=n {
            let weaves: Vec<_> = all_weaves(left, n - left).collect();
            assert!(weaves.windows(2).all(|two| two[0] < two[1]));
            assert_eq!(
                weaves.len() as u64,
                binomial(u64::from(n), u64::from(left)),
                "{left} of {n}"
            );
            for weave in weaves {
                assert_eq!(weave.len(), usize::from(n));
                assert_eq!(
                    weave.iter().filter(|&&from_left| from_left).count(),
                    usize::from(left)
                );
            }
        }
    }
    let three: Vec<_> = all_weaves(1, 2).collect();
    assert_eq!(
        three,
        [
            [false, false, true],
            [false, true, false],
            [true, false, false]
        ]
    );
}

#[test]
fn chunks_come_in_lexical_order_each_once() {
    for n in 1..=12 {
        let ways: Vec<_> = all_chunks(n).collect();
        assert!(ways.windows(2).all(|two| two[0] < two[1]));
        assert_eq!(ways.len(), 1 << (n - 1), "{n} cards");
        for chunks in ways {
            assert_eq!(chunks.iter().sum::<u16>(), n);
            assert!(chunks.iter().all(|&size| size > 0));
        }
    }
    assert_eq!(all_chunks(0).collect::<Vec<_>>(), [Vec::<u16>::new()]);
    let three: Vec<_> = all_chunks(3).collect();
    assert_eq!(three, [vec![1, 1, 1], vec![1, 2], vec![2, 1], vec![3]]);
}

#[test]
fn a_riffle_reaches_exactly_the_interleavings_of_its_two_parts() {
    for n in 0..=9 {
        for k in 0..=n {
            let all = riffled(n, k);
            let different: BTreeSet<_> = all.iter().collect();
            assert_eq!(different.len(), all.len(), "{k} of {n}");
            assert_eq!(all.len() as u64, binomial(u64::from(n), u64::from(k)));
            for result in &all {
                let mut sorted = result.clone();
                sorted.sort_unstable();
                assert!(
                    sorted.into_iter().eq(0..n),
                    "{result:?} loses or doubles a card"
                );
                let (left, right): (Vec<u16>, Vec<u16>) =
                    result.iter().partition(|&&card| card < k);
                assert!(left.is_sorted() && right.is_sorted(), "{result:?}");
            }
        }
    }
}

#[test]
fn an_overhand_shuffle_reaches_exactly_the_packets_with_their_chunks_stacked_backwards() {
    for n in 1..=10u16 {
        let mut reached = BTreeSet::new();
        for chunks in all_chunks(n) {
            let mut table = Table::empty(1);
            *table.pile_mut(A) = pile(0..n);
            let shuffled = act(&Move::Overhand(A), &mut table, &mut ByChunks::new(&chunks));
            assert_eq!(shuffled, Ok(()));
            let mut rest: Vec<u16> = (0..n).collect();
            let mut expected = Vec::new();
            for &size in &chunks {
                let later = rest.split_off(usize::from(size));
                expected.splice(0..0, rest);
                rest = later;
            }
            assert_eq!(order(&table), expected, "{chunks:?}");
            reached.insert(order(&table));
        }
        assert_eq!(reached.len(), 1 << (n - 1), "{n} cards");
    }
}
