//! Five cards, the fifth told by the order of four. M. Kleber, The best card trick, Math. Intelligencer 24 (2002) (from memory): it
//! works for 52 cards, and the largest pack is 124.

use super::{exactly, proved, replays, routine};
use allroads::proof::{Verdict, Ways};
use allroads::roads::Draw;
use std::collections::{BTreeMap, VecDeque};

/// n over k.
fn binomial(n: u64, k: u64) -> u64 {
    (0..k).fold(1, |product, i| product * (n - i) / (i + 1))
}

/// All orders of so many things, by rising number.
fn orders(of: usize) -> Vec<Vec<usize>> {
    if of == 0 {
        return vec![Vec::new()];
    }
    let shorter = orders(of - 1);
    let mut all: Vec<Vec<usize>> = shorter
        .iter()
        .flat_map(|order| {
            (0..of).map(move |at| {
                let mut longer = order.clone();
                longer.insert(at, of - 1);
                longer
            })
        })
        .collect();
    all.sort_unstable();
    all
}

/// All hands of k cards out of n, each rising.
fn for_each_hand(n: usize, k: usize, mut each: impl FnMut(&[usize])) {
    let mut hand: Vec<usize> = (0..k).collect();
    loop {
        each(&hand);
        let Some(at) = (0..k).rev().find(|at| hand[*at] + k - at < n) else {
            return;
        };
        hand[at] += 1;
        for next in at + 1..k {
            hand[next] = hand[next - 1] + 1;
        }
    }
}

/// The usual way with 52 cards (card = 13 · suit + value): two of a suit are at most six apart, going round; the higher, going
/// round, is kept, the other comes first, and the order of three says how far. Gives the four in their order and the card kept.
fn usual_telling(hand: &[usize; 5]) -> ([usize; 4], usize) {
    let (first, kept, far) = (0..5)
        .flat_map(|a| (0..5).map(move |b| (hand[a], hand[b])))
        .filter(|(a, b)| a != b && a / 13 == b / 13)
        .map(|(a, b)| (a, b, (b + 13 - a) % 13))
        .find(|(_, _, far)| *far <= 6)
        .expect("five cards of four suits");
    let mut rest: Vec<usize> = hand
        .iter()
        .copied()
        .filter(|c| *c != first && *c != kept)
        .collect();
    rest.sort_unstable();
    let [x, y, z] = rest[..] else {
        panic!("three are left")
    };
    let three = match far {
        1 => [x, y, z],
        2 => [x, z, y],
        3 => [y, x, z],
        4 => [y, z, x],
        5 => [z, x, y],
        _ => [z, y, x],
    };
    ([first, three[0], three[1], three[2]], kept)
}

/// What the four say: worked out from them alone.
fn usual_hearing(four: [usize; 4]) -> usize {
    let [first, a, b, c] = four;
    let far = match (a < b, b < c, a < c) {
        (true, true, _) => 1,
        (true, false, true) => 2,
        (false, true, true) => 3,
        (true, false, false) => 4,
        (false, true, false) => 5,
        (false, false, _) => 6,
    };
    first / 13 * 13 + (first % 13 + far) % 13
}

#[test]
fn the_order_of_four_tells_the_fifth_for_every_hand_of_fifty_two_cards() {
    let mut hands = 0_u64;
    for_each_hand(52, 5, |hand| {
        let hand: &[usize; 5] = hand.try_into().expect("five");
        let (four, kept) = usual_telling(hand);
        assert!(four.iter().chain([&kept]).all(|card| hand.contains(card)));
        assert_eq!(usual_hearing(four), kept, "{hand:?}");
        hands += 1;
    });
    assert_eq!(hands, 2_598_960);
}

/// For k cards out of k! + k − 1: the sum of the hand modulo k names the one kept; among the cards not shown, counted from the
/// lowest, its number is then known modulo k, and the order of the others tells the rest.
fn tight_telling(hand: &[usize], orders: &[Vec<usize>]) -> (Vec<usize>, usize) {
    let k = hand.len();
    let at = hand.iter().sum::<usize>() % k;
    let kept = hand[at];
    let shown: Vec<usize> = hand.iter().copied().filter(|card| *card != kept).collect();
    let order = &orders[(kept - at) / k];
    (order.iter().map(|i| shown[*i]).collect(), kept)
}

fn tight_hearing(shown: &[usize], orders: &[Vec<usize>]) -> usize {
    let k = shown.len() + 1;
    let mut low = shown.to_vec();
    low.sort_unstable();
    let order: Vec<usize> = shown
        .iter()
        .map(|card| low.iter().position(|c| c == card).expect("it is shown"))
        .collect();
    let rank = orders.iter().position(|o| *o == order).expect("an order");
    let sum = low.iter().sum::<usize>() % k;
    let number = rank * k + (k - sum) % k;
    // The number counts cards not shown; step over those shown.
    low.iter()
        .fold(number, |card, shown| card + usize::from(card >= *shown))
}

#[test]
fn packs_of_k_factorial_and_k_less_one_are_told_by_the_order_of_the_others() {
    for (k, n) in [(2, 3), (3, 8), (4, 27)] {
        let orders = orders(k - 1);
        let mut hands = 0;
        for_each_hand(n, k, |hand| {
            let (shown, kept) = tight_telling(hand, &orders);
            assert_eq!(tight_hearing(&shown, &orders), kept, "{hand:?}");
            hands += 1;
        });
        assert_eq!(hands, binomial(n as u64, k as u64));
    }
    // 225 million hands are too many to go through here: a hundred thousand of them, from a seed that never changes.
    let orders = orders(4);
    let mut draw = Draw::for_questions(124, 0);
    for _ in 0..100_000 {
        let mut pack: Vec<usize> = (0..124).collect();
        for at in 0..5 {
            let other = at + usize::try_from(draw.below(124 - at as u64)).expect("small");
            pack.swap(at, other);
        }
        let mut hand = pack[..5].to_vec();
        hand.sort_unstable();
        let (shown, kept) = tight_telling(&hand, &orders);
        assert_eq!(tight_hearing(&shown, &orders), kept, "{hand:?}");
    }
}

/// As many pairs of a hand and a message as can be, no hand and no message in two (Hopcroft & Karp 1973). A message is the others of
/// the hand in some order.
fn largest_matching(n: usize, k: usize) -> usize {
    let orders = orders(k - 1);
    let mut messages: BTreeMap<Vec<usize>, usize> = BTreeMap::new();
    let mut of_hand: Vec<Vec<usize>> = Vec::new();
    for_each_hand(n, k, |hand| {
        let mut mine = Vec::new();
        for kept in hand {
            let shown: Vec<usize> = hand.iter().copied().filter(|card| card != kept).collect();
            for order in &orders {
                let message = order.iter().map(|i| shown[*i]).collect();
                let next = messages.len();
                mine.push(*messages.entry(message).or_insert(next));
            }
        }
        of_hand.push(mine);
    });
    let mut by_hand: Vec<Option<usize>> = vec![None; of_hand.len()];
    let mut by_message: Vec<Option<usize>> = vec![None; messages.len()];
    loop {
        let levels = levels(&of_hand, &by_hand, &by_message);
        let mut found = 0;
        for hand in 0..of_hand.len() {
            if by_hand[hand].is_none()
                && augment(hand, &of_hand, &levels, &mut by_hand, &mut by_message)
            {
                found += 1;
            }
        }
        if found == 0 {
            return by_hand.iter().flatten().count();
        }
    }
}

fn levels(
    of_hand: &[Vec<usize>],
    by_hand: &[Option<usize>],
    by_message: &[Option<usize>],
) -> Vec<std::cell::Cell<Option<usize>>> {
    let free = |hand: &Option<usize>| hand.is_none().then_some(0);
    let levels: Vec<_> = by_hand
        .iter()
        .map(|m| std::cell::Cell::new(free(m)))
        .collect();
    let mut waiting: VecDeque<usize> = (0..of_hand.len())
        .filter(|hand| by_hand[*hand].is_none())
        .collect();
    while let Some(hand) = waiting.pop_front() {
        for message in &of_hand[hand] {
            if let Some(next) = by_message[*message]
                && levels[next].get().is_none()
            {
                levels[next].set(levels[hand].get().map(|level| level + 1));
                waiting.push_back(next);
            }
        }
    }
    levels
}

fn augment(
    hand: usize,
    of_hand: &[Vec<usize>],
    levels: &[std::cell::Cell<Option<usize>>],
    by_hand: &mut [Option<usize>],
    by_message: &mut [Option<usize>],
) -> bool {
    let level = levels[hand].take();
    for message in &of_hand[hand] {
        let goes = match by_message[*message] {
            None => true,
            Some(next) => {
                level.is_some()
                    && levels[next].get() == level.map(|level| level + 1)
                    && augment(next, of_hand, levels, by_hand, by_message)
            }
        };
        if goes {
            by_hand[hand] = Some(*message);
            by_message[*message] = Some(hand);
            return true;
        }
    }
    false
}

#[test]
fn no_larger_pack_can_be_told_since_there_are_more_hands_than_messages() {
    // A message is four cards in an order. Up to 124 cards there are at least as many messages as hands.
    let messages = |n: u64| n * (n - 1) * (n - 2) * (n - 3);
    for n in 5..=124 {
        assert!(binomial(n, 5) <= messages(n), "{n} cards");
    }
    assert_eq!(binomial(124, 5), messages(124));
    for n in 125..=1_000 {
        assert!(binomial(n, 5) > messages(n), "{n} cards");
    }
    // Each hand has 5! messages and each message n − 4 hands; so at 124 all have as many, and a strategy is there by Hall's theorem
    // (P. Hall 1935). Smaller hands, where the matching can be made: all hands of the largest pack, and not all of one card more.
    for (k, n) in [(2, 3), (3, 8), (4, 27)] {
        assert_eq!(largest_matching(n, k) as u64, binomial(n as u64, k as u64));
    }
    for (k, n) in [(2, 4), (3, 9)] {
        let messages: usize = (n - k + 2..=n).product();
        let most = largest_matching(n, k);
        assert!(most <= messages && (most as u64) < binomial(n as u64, k as u64));
    }
}

const CLOAKROOM: &str = include_str!("cloakroom.yaml");

#[test]
fn two_performers_who_share_the_rule_never_fail() {
    let proof = proved(&routine(CLOAKROOM), Ways::default());
    assert_eq!(proof.verdict, Verdict::SureFire);
    // Any five of sixteen.
    assert_eq!(proof.roads, exactly(u128::from(binomial(16, 5))));
    assert_eq!(proof.unreached, []);
}

#[test]
fn one_slip_in_the_rule_is_found() {
    for (right, wrong) in [
        // The sister at the counter keeps the wrong coat.
        (
            "is: (n1 + n2 + n3 + n4 + n5) % 5 + 1",
            "is: (n1 + n2 + n3 + n4 + n5 + 1) % 5 + 1",
        ),
        // … or hangs the others in the wrong order.
        (
            "swap: {pile: rail, a: 2, b: 3}",
            "swap: {pile: rail, a: 1, b: 2}",
        ),
        // The sister in the back counts from the wrong end.
        (
            "is: (5 - (v1 + v2 + v3 + v4) % 5) % 5 + 5 * times",
            "is: (v1 + v2 + v3 + v4) % 5 + 5 * times",
        ),
        // … or forgets to step over a coat that hangs there.
        ("is: 'step2 >= low3 ? step2 + 1 : step2'", "is: step2"),
    ] {
        assert_eq!(CLOAKROOM.matches(right).count(), 1, "{right}");
        let loaded = routine(&CLOAKROOM.replace(right, wrong));
        let without_odds = Ways {
            odds: false,
            ..Ways::default()
        };
        let proof = proved(&loaded, without_odds);
        assert_eq!(proof.verdict, Verdict::Refuted, "{wrong}");
        let found = proof.counterexample.expect("a road");
        assert_eq!(replays(&loaded, &found), 1, "{wrong}");
    }
}
