//! Twenty-seven cards dealt three times into three piles: the card comes up at the number that was named.

use super::{any_cards, exactly, file, proved, replays, routine, with_ends};
use allroads::proof::{Verdict, Ways};

/// A spectator thinks of a card and names a number; three deals, each time a reply. `digits`: how many piles go on top of theirs,
/// each time. Dealt face up, every pile is turned over; dealt face down, it is not.
fn three_deals(face_up: bool, digits: [&str; 3]) -> String {
    let mut steps = String::from(
        "  - id: number\n    fork: {name: number, says: '{number}', number: {from: 1, to: 27}}\n  - id: think\n    fork: {name: theirs, seen: nothing, card: packet}\n",
    );
    for (round, digit) in (1..).zip(digits) {
        let (face, turned) = if face_up {
            ("up", "{turn: a}, {turn: b}, {turn: c}, ")
        } else {
            ("down", "")
        };
        steps += &format!(
            "  - id: deal{round}\n    do: [{{deal: {{from: packet, to: [a, b, c], face: {face}}}}}]\n    reply: {{name: heap{round}, asks: Which pile?, is: pile_of(theirs)}}\n  - id: gather{round}\n    reckon: [{{name: above{round}, is: {digit}, asks: How many on top?}}]\n    do: [{turned}{{gather: {{by: 'with_pile_at([a, b, c], heap{round}, above{round} + 1)', onto: packet}}}}]\n"
        );
    }
    file(
        &any_cards(27),
        "a, b, c",
        &steps,
        "[{place: {card: theirs, pile: packet, is: number}}]",
    )
}

// Gergonne 1813; Ball & Coxeter; Gardner, Mathematics, Magic and Mystery (1956). Dealt face up and turned, a + 3b + 9c.
const PLAIN: [&str; 3] = [
    "(number - 1) % 3",
    "(number - 1) / 3 % 3",
    "(number - 1) / 9",
];
// Dealt face down, which reverses each pile, a + 3(2 − b) + 9c.
const REVERSED: [&str; 3] = [
    "(number - 1) % 3",
    "2 - (number - 1) / 3 % 3",
    "(number - 1) / 9",
];

#[test]
fn every_card_comes_up_at_every_number_on_all_roads() {
    for (face_up, digits) in [(true, PLAIN), (false, REVERSED)] {
        let proof = proved(&routine(&three_deals(face_up, digits)), with_ends());
        assert_eq!(proof.verdict, Verdict::SureFire);
        assert_eq!(proof.roads, exactly(27 * 27));
        assert_eq!(proof.unreached, []);
    }
}

#[test]
fn the_digits_of_the_other_deal_fail_with_a_road_that_replays() {
    for (face_up, digits) in [(true, REVERSED), (false, PLAIN)] {
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
