//! Set-ups that survive a handling.
use super::{A, act, order, packet};
use allroads::handling::{Forced, Move, Weave};
use allroads::table::Table;
use std::collections::BTreeSet;

/// After every complete cut of this packet, the cards from the top.
fn every_cut(cards: &[u16]) -> Vec<Vec<u16>> {
    (0..=u16::try_from(cards.len()).unwrap_or(0))
        .map(|at| {
            let mut table = Table::empty(1);
            *table.pile_mut(A) = packet(cards.iter().copied());
            let cut = act(&Move::Cut { pile: A, at }, &mut table, &mut Forced);
            assert_eq!(cut, Ok(()));
            order(&table, A)
        })
        .collect()
}

#[test]
fn in_a_deck_that_counts_by_threes_mates_lie_half_a_deck_apart_after_any_cut() {
    // Common practice, no source: each value three more than the last, suits in turn clubs, hearts, spades,
    // diamonds. A card is written as value + 13·suit; suits 0 and 2 are black, 1 and 3 red.
    let cards: Vec<u16> = (0..52).map(|i| 3 * i % 13 + 13 * (i % 4)).collect();
    let different: BTreeSet<_> = cards.iter().collect();
    assert_eq!(different.len(), 52);
    for deck in every_cut(&cards) {
        for place in 0..52 {
            let (value, colour) = (deck[place] % 13, deck[place] / 13 % 2);
            let thirteen_on = deck[(place + 13) % 52];
            assert_eq!(thirteen_on % 13, value, "the same value");
            let mate = deck[(place + 26) % 52];
            assert_eq!((mate % 13, mate / 13 % 2), (value, colour), "its mate");
            assert_ne!(mate, deck[place]);
        }
    }
}

#[test]
fn a_mirror_packet_stays_one_under_any_faros() {
    // Common practice, no source; Diaconis & Graham, Magical Mathematics (2012), discusses it.
    for n in (2..=60u16).step_by(2) {
        let mates = (0..n).map(|place| place.min(n - 1 - place));
        let mut table = Table::empty(1);
        *table.pile_mut(A) = packet(mates);
        for round in 0..40u32 {
            // Out and in faros in an order without a short period: by the parity of the round's binary digits.
            let weave = if round.count_ones() % 2 == 0 {
                Weave::Out
            } else {
                Weave::In
            };
            let faro = act(&Move::Faro(A, weave), &mut table, &mut Forced);
            assert_eq!(faro, Ok(()));
            let cards = order(&table, A);
            let mirrored: Vec<u16> = cards.iter().rev().copied().collect();
            assert_eq!(cards, mirrored, "{n} cards, round {round}");
        }
    }
}

/// A cycle of colours in which any `k` in a row are unlike any other: after k blacks always red unless
/// that window has been there, then black (M. H. Martin's rule, 1934).
fn unlike_windows(k: usize) -> Vec<u16> {
    let mut colours = vec![0; k];
    let mut seen = BTreeSet::from([colours.clone()]);
    loop {
        let next = [1, 0].into_iter().find(|&colour| {
            let mut window = colours[colours.len() + 1 - k..].to_vec();
            window.push(colour);
            seen.insert(window)
        });
        match next {
            Some(colour) => colours.push(colour),
            None => break,
        }
    }
    colours.truncate(1 << k);
    colours
}

#[test]
fn in_thirty_two_cards_any_five_colours_in_a_row_tell_the_place_after_any_cut() {
    // Diaconis & Graham, Magical Mathematics, chapter 2, from memory.
    let colours = unlike_windows(5);
    assert_eq!(colours.len(), 32);
    for deck in every_cut(&colours) {
        let windows: BTreeSet<Vec<u16>> = (0..32)
            .map(|start| (start..start + 5).map(|place| deck[place % 32]).collect())
            .collect();
        assert_eq!(windows.len(), 32);
    }
}
