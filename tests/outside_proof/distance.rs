//! How far from random a pack is after some random riffles: the closed formula at 52 cards, and our own riffle against it at
//! sizes where every road can be walked.

use super::{EveryRoad, any_cards, file, proved, routine};
use allroads::proof::{Odds, Ways};
use allroads::table::Table;
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};

fn binomial(n: &BigInt, k: u32) -> BigInt {
    (0..k).fold(BigInt::one(), |product, i| {
        product * (n - BigInt::from(i)) / BigInt::from(i + 1)
    })
}

/// How many orders of n cards have so many rising sequences (from 1): the Eulerian numbers, by their recurrence.
fn eulerian(n: u32) -> Vec<BigInt> {
    let mut row = vec![BigInt::one()];
    for size in 2..=n as usize {
        let at = |m: Option<usize>| m.and_then(|m| row.get(m)).cloned().unwrap_or_default();
        row = (0..size)
            .map(|m| at(Some(m)) * (m + 1) + at(m.checked_sub(1)) * (size - m))
            .collect();
    }
    row
}

/// The chance of an order with r rising sequences after k riffles of n cards: C(2^k + n − r, n) / 2^(kn).
/// Bayer & Diaconis, Trailing the dovetail shuffle to its lair, Ann. Appl. Prob. 2 (1992), theorem 1.
fn chance(n: u32, k: u32, r: u32) -> BigRational {
    let top = (BigInt::one() << k) + n - r;
    let ways = if top < BigInt::from(n) {
        BigInt::zero()
    } else {
        binomial(&top, n)
    };
    BigRational::new(ways, BigInt::one() << (k * n))
}

fn factorial(n: u32) -> BigInt {
    (1..=n).map(BigInt::from).product()
}

/// The distance from random: half the sum of all differences from one in n!.
fn distance(n: u32, k: u32) -> BigRational {
    let even = BigRational::new(BigInt::one(), factorial(n));
    let sum: BigRational = eulerian(n)
        .into_iter()
        .zip(1..)
        .map(|(orders, r)| BigRational::from(orders) * (chance(n, k, r) - &even).abs())
        .sum();
    sum / BigInt::from(2)
}

#[test]
fn fifty_two_cards_come_near_random_after_seven_riffles() {
    // Bayer & Diaconis 1992, table 1.
    let table = [
        1.000, 1.000, 1.000, 1.000, 0.924, 0.614, 0.334, 0.167, 0.085, 0.043,
    ];
    for (k, wanted) in (1..=10).zip(table) {
        let found = distance(52, k).to_f64().expect("a number");
        assert!((found - wanted).abs() <= 0.0005, "{k} riffles: {found}");
    }
}

/// So many random riffles: cut by the toss of a coin for each card, then any interleaving alike.
fn random_riffles(n: u32, k: u32, claims: &str) -> String {
    let weights: Vec<String> = (0..=n)
        .map(|off| binomial(&BigInt::from(n), off).to_string())
        .collect();
    let weights = weights.join(", ");
    let steps: String = (1..=k)
        .map(|round| {
            format!(
                "  - id: cut{round}\n    fork: {{name: off{round}, says: '{{off{round}}}', weights: [{weights}], number: {{from: 0, to: {n}}}}}\n    do: [{{move: {{from: packet, to: left, count: off{round}}}}}]\n  - id: riffle{round}\n    fork: {{name: mix{round}, seen: nothing, riffle: {{left: left, right: packet}}}}\n    do: [{{riffle: {{left: left, right: packet, to: packet, by: mix{round}}}}}]\n"
            )
        })
        .collect();
    file(&any_cards(n as usize), "left", &steps, claims)
}

/// Runs of cards in their first order, each card lying below the one before it.
fn rising_sequences(table: &Table) -> u32 {
    let (_, pile) = table.piles().next().expect("a packet");
    let mut place = vec![0; pile.len()];
    for (at, laid) in pile.iter().enumerate() {
        place[laid.card().index()] = at;
    }
    1 + place.windows(2).filter(|two| two[1] < two[0]).count() as u32
}

#[test]
fn our_riffle_gives_every_order_the_chance_of_the_formula() {
    for (n, k) in [
        (3, 1),
        (4, 1),
        (5, 1),
        (6, 1),
        (3, 2),
        (4, 2),
        (5, 2),
        (3, 3),
        (4, 3),
    ] {
        let all = EveryRoad::of(&routine(&random_riffles(
            n,
            k,
            "[{count: {piles: [packet], is: 1}}]",
        )));
        assert_eq!(all.roads, 1 << (n * k));
        let mut far = BigRational::zero();
        let even = BigRational::new(BigInt::one(), factorial(n));
        let mut unseen = factorial(n);
        for (table, share) in &all.ends {
            let share = BigRational::new((*share.numer()).into(), (*share.denom()).into());
            assert_eq!(share, chance(n, k, rising_sequences(table)), "{n}, {k}");
            far += (share - &even).abs();
            unseen -= 1;
        }
        far += BigRational::from(unseen) * even;
        assert_eq!(
            far / BigInt::from(2),
            distance(n, k),
            "{n} cards, {k} riffles"
        );
    }
}

#[test]
fn the_odds_that_riffles_change_nothing_are_exactly_those_of_the_formula() {
    for (n, k) in [(4, 1), (4, 2), (6, 1), (6, 2), (8, 1), (4, 3)] {
        let text = random_riffles(n, k, "[{same-as-start: {pile: packet}}]");
        let proof = proved(&routine(&text), Ways::default());
        let odds = proof.claims[0].odds.clone();
        assert_eq!(odds, Some(Odds::Exactly(chance(n, k, 1))), "{n}, {k}");
    }
}
