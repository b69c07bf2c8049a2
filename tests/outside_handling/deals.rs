//! Elimination deals and the deals of twenty-seven cards.
use super::{A, B, C, D, act, order, packet, table};
use allroads::handling::{Forced, HandlingFault, Move, permutation};
use allroads::table::{PileId, Table};

fn elimination(leave: u16, first_under: bool) -> Move {
    Move::DownUnder {
        pile: A,
        to: B,
        leave,
        first_under,
    }
}

/// The place from which the last card of an elimination deal came, told twice: as the one dropped on top of
/// the others, and as the one left alone.
fn last_place(n: u16, first_under: bool) -> Result<u16, HandlingFault> {
    let dropped = permutation(&elimination(0, first_under), n)?
        .first()
        .copied();
    let mut left = table(2, n);
    act(&elimination(1, first_under), &mut left, &mut Forced)?;
    assert_eq!(order(&left, A).first().copied(), dropped, "{n} cards");
    assert_eq!(order(&left, A).len(), 1);
    Ok(dropped.map_or(0, |index| index + 1))
}

/// n = 2^m + l, with l as small as can be.
fn beyond_a_power_of_two(n: u16) -> u16 {
    n - (1 << n.ilog2())
}

#[test]
fn under_down_ends_with_the_card_at_twice_l_plus_one() {
    // Graham, Knuth, Patashnik, Concrete Mathematics, section 1.3; OEIS A006257.
    for n in 1..=300 {
        let place = 2 * beyond_a_power_of_two(n) + 1;
        assert_eq!(last_place(n, true), Ok(place), "{n} cards");
    }
}

#[test]
fn down_under_ends_with_the_card_at_twice_l_or_the_last() {
    // The same, shifted by one card.
    for n in 2..=300u16 {
        let l = beyond_a_power_of_two(n);
        let place = if l == 0 { n } else { 2 * l };
        assert_eq!(last_place(n, false), Ok(place), "{n} cards");
    }
}

#[test]
fn down_under_on_four_cards_swaps_the_ends_only() {
    // Common practice, no source: a b c d becomes d b c a.
    assert_eq!(permutation(&elimination(0, false), 4), Ok(vec![3, 1, 2, 0]));
    // So a pattern with equal ends stays as it is however often it is done.
    let pattern = [7, 1, 2, 7];
    let mut table = Table::empty(2);
    *table.pile_mut(A) = packet(pattern);
    for _ in 0..10 {
        assert_eq!(act(&elimination(0, false), &mut table, &mut Forced), Ok(()));
        let back = Move::Gather {
            piles: vec![B],
            onto: A,
        };
        assert_eq!(act(&back, &mut table, &mut Forced), Ok(()));
        assert_eq!(order(&table, A), pattern);
    }
}

/// The piles from top to bottom with the chosen one below `above` others, which keep their order.
fn gathering(chosen: PileId, above: usize) -> Vec<PileId> {
    let mut piles: Vec<PileId> = [B, C, D]
        .into_iter()
        .filter(|&pile| pile != chosen)
        .collect();
    piles.insert(above, chosen);
    piles
}

/// Where a card of twenty-seven ends (0-based) after three deals into three piles, its pile gathered
/// with so many piles above it each time.
fn after_three_deals(card: u16, above: [u16; 3], face_up: bool) -> Result<usize, HandlingFault> {
    let mut table = table(4, 27);
    for above in above {
        let deal = Move::Deal {
            from: A,
            to: vec![B, C, D],
            count: 27,
            up: face_up.then_some(true),
        };
        act(&deal, &mut table, &mut Forced)?;
        for pile in [B, C, D] {
            assert!(
                table
                    .pile(pile)
                    .iter()
                    .all(|laid| laid.face_up() == face_up)
            );
            if face_up {
                act(&Move::Turn { pile, count: 9 }, &mut table, &mut Forced)?;
            }
        }
        let chosen = [B, C, D]
            .into_iter()
            .find(|&pile| order(&table, pile).contains(&card))
            .ok_or(HandlingFault::NotOnePacket)?;
        let gather = Move::Gather {
            piles: gathering(chosen, usize::from(above)),
            onto: A,
        };
        act(&gather, &mut table, &mut Forced)?;
    }
    assert!(table.pile(A).iter().all(|laid| !laid.face_up()));
    order(&table, A)
        .iter()
        .position(|&it| it == card)
        .ok_or(HandlingFault::NotOnePacket)
}

#[test]
fn three_deals_of_twenty_seven_cards_bring_a_card_to_any_place() {
    // Gergonne 1813; Ball & Coxeter; Gardner, Mathematics, Magic and Mystery (1956): dealt face up and turned face
    // down, a + 3b + 9c. Dealt face down, which reverses each pile: a + 3(2 − b) + 9c.
    for card in 0..27 {
        for index in 0..27u16 {
            let (a, b, c) = (index % 3, index / 3 % 3, index / 9);
            let up = after_three_deals(card, [a, b, c], true);
            assert_eq!(up, Ok(usize::from(a + 3 * b + 9 * c)), "card {card}");
            let down = after_three_deals(card, [a, b, c], false);
            let place = usize::from(a + 3 * (2 - b) + 9 * c);
            assert_eq!(down, Ok(place), "card {card}, face down");
        }
    }
}
