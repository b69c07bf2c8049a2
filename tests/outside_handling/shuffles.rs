//! Faros, Monge and Klondike.
use super::group::group_size;
use super::{A, lcm, order, table, times_to_restore};
use allroads::handling::{
    Forced, HandlingFault, Move, Over, Weave, permutation, permutation_of, program, run,
};

/// Least m from 1 on with 2^m ≡ 1, or where `or_minus_one` also −1, modulo an odd number.
fn order_of_two(modulus: u64, or_minus_one: bool) -> u64 {
    let mut power = 2 % modulus;
    let mut m = 1;
    while power != 1 % modulus && !(or_minus_one && power == modulus - 1) {
        power = power * 2 % modulus;
        m += 1;
    }
    m
}

fn restores_after(mv: &Move, n: u16) -> Result<u64, HandlingFault> {
    Ok(times_to_restore(&permutation(mv, n)?))
}

#[test]
fn eight_out_faros_or_fifty_two_in_faros_restore_a_deck() {
    // Diaconis, Graham, Kantor, "The mathematics of perfect shuffles", Adv. Appl. Math. 4 (1983); OEIS A002326.
    assert_eq!(restores_after(&Move::Faro(A, Weave::Out), 52), Ok(8));
    assert_eq!(restores_after(&Move::Faro(A, Weave::In), 52), Ok(52));
}

#[test]
fn faros_restore_an_even_packet_after_the_order_of_two() {
    // Diaconis, Graham, Kantor 1983; OEIS A002326: modulo 2n − 1 (out) and 2n + 1 (in), 2n cards.
    for n in (2..=400u16).step_by(2) {
        let out = restores_after(&Move::Faro(A, Weave::Out), n);
        assert_eq!(out, Ok(order_of_two(u64::from(n) - 1, false)), "out, {n}");
        let into = restores_after(&Move::Faro(A, Weave::In), n);
        assert_eq!(into, Ok(order_of_two(u64::from(n) + 1, false)), "in, {n}");
    }
}

fn both_faros(n: u16) -> u128 {
    let faro = |weave| permutation(&Move::Faro(A, weave), n).unwrap_or_default();
    group_size(&[faro(Weave::Out), faro(Weave::In)])
}

fn factorial(n: u128) -> u128 {
    (1..=n).product()
}

#[test]
fn both_faros_together_make_groups_of_the_published_sizes() {
    // Diaconis, Graham, Kantor 1983.
    let published = [
        (2, 2),
        (4, 8),
        (6, 24),
        (8, 24),
        (10, 1920),
        (12, 7680),
        (14, 322_560),
        (16, 64),
        (20, 3_715_891_200),
        (24, (1 << 11) * 95_040),
        (52, factorial(26) << 26),
    ];
    for (cards, size) in published {
        assert_eq!(both_faros(cards), size, "{cards} cards");
    }
}

#[test]
fn the_groups_of_other_sizes_follow_the_rule_by_residue() {
    // Diaconis, Graham, Kantor 1983, main theorem, from memory; for 2n cards, n neither a power of two, 6 nor 12.
    for n in [3, 5, 7, 9, 10, 11, 13, 14, 15, 17, 18, 19, 20] {
        let twos = match n % 4 {
            0 => n - 2,
            2 => n,
            _ => n - 1,
        };
        let cards = 2 * u16::try_from(n).unwrap_or(0);
        assert_eq!(both_faros(cards), factorial(n) << twos, "{cards} cards");
    }
    // Powers of two, the same: 2^k cards have a group of k·2^k.
    for k in 1..=6u8 {
        assert_eq!(both_faros(1 << k), u128::from(k) << k, "2^{k} cards");
    }
}

#[test]
fn the_binary_digits_of_a_place_bring_the_top_card_there() {
    // S. Brent Morris, Magic Tricks, Card Shuffling and Dynamic Computer Memories, MAA 1998:
    // k in binary, first digit first, 1 an in-faro and 0 an out-faro.
    for n in (2..=64).step_by(2) {
        for k in 0..n {
            let digits = u16::BITS - u16::leading_zeros(k);
            let mut packet = table(1, n);
            for digit in (0..digits).rev() {
                let weave = if k >> digit & 1 == 1 {
                    Weave::In
                } else {
                    Weave::Out
                };
                let mv = Move::Faro(A, weave);
                let done = program(&mv, &packet).and_then(|p| run(&p, &mut packet, &mut Forced));
                assert_eq!(done, Ok(()));
            }
            assert_eq!(order(&packet, A)[usize::from(k)], 0, "{k} of {n}");
        }
    }
}

#[test]
fn monge_restores_an_even_packet_after_the_signed_order_of_two() {
    // Over: OEIS A019567, modulo 4n + 1 for 2n cards; under: Ball & Coxeter, Mathematical Recreations and
    // Essays, modulo 4n − 1.
    assert_eq!(restores_after(&Move::Monge(A, Over::Over), 52), Ok(12));
    assert_eq!(restores_after(&Move::Monge(A, Over::Under), 52), Ok(51));
    for cards in (2..=400u16).step_by(2) {
        let twice = 2 * u64::from(cards);
        let over = restores_after(&Move::Monge(A, Over::Over), cards);
        assert_eq!(over, Ok(order_of_two(twice + 1, true)), "over, {cards}");
        let under = restores_after(&Move::Monge(A, Over::Under), cards);
        assert_eq!(under, Ok(order_of_two(twice - 1, true)), "under, {cards}");
    }
}

#[test]
fn klondike_then_monge_reverses_or_restores() {
    // Common practice, no source: even packets are reversed by over and restored by under, odd ones the other
    // way round.
    for n in 1..=80u16 {
        let (reverses, restores) = if n % 2 == 0 {
            (Over::Over, Over::Under)
        } else {
            (Over::Under, Over::Over)
        };
        let both = |over| permutation_of(&[Move::Klondike(A), Move::Monge(A, over)], n);
        assert_eq!(both(reverses), Ok((0..n).rev().collect()), "{n}");
        assert_eq!(both(restores), Ok((0..n).collect()), "{n}");
    }
}

#[test]
fn the_least_common_multiple_is_right() {
    assert_eq!(lcm(4, 6), 12);
    assert_eq!(lcm(1, 7), 7);
}
