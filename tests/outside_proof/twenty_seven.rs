//! Twenty-seven cards dealt three times into three piles: the card comes up at the number that was named.

use super::texts::{DIGITS, three_deals};
use super::{exactly, proved, replays, routine, with_ends};
use allroads::proof::{Verdict, Ways};

// Dealt face down, which reverses each pile, a + 3(2 − b) + 9c.
const REVERSED: [&str; 3] = [
    "(number - 1) % 3",
    "2 - (number - 1) / 3 % 3",
    "(number - 1) / 9",
];

#[test]
fn every_card_comes_up_at_every_number_on_all_roads() {
    for (face_up, digits) in [(true, DIGITS), (false, REVERSED)] {
        let proof = proved(&routine(&three_deals(face_up, digits)), with_ends());
        assert_eq!(proof.verdict, Verdict::SureFire);
        assert_eq!(proof.roads, exactly(27 * 27));
        assert_eq!(proof.unreached, []);
    }
}

#[test]
fn the_digits_of_the_other_deal_fail_with_a_road_that_replays() {
    for (face_up, digits) in [(true, REVERSED), (false, DIGITS)] {
        let loaded = routine(&three_deals(face_up, digits));
        let proof = proved(&loaded, Ways::default());
        assert_eq!(proof.verdict, Verdict::Refuted);
        // Number 1 and the first card, the smallest choices there are, fail already: the middle digit is not 1.
        let found = proof.counterexample.expect("a road");
        assert_eq!(replays(&loaded, &found), 2);
        // The nine numbers with the middle digit 1 are the same either way.
        let odds = proof.claims[0].odds.clone();
        let third = num_rational::BigRational::new(1.into(), 3.into());
        assert_eq!(odds, Some(allroads::proof::Odds::Exactly(third)));
    }
}
