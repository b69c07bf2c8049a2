//! Deal any number off, riffle in any way: the packet keeps one of each class in every block, whatever fixed moves come before and
//! after. Diaconis & Graham, Magical Mathematics (2012), chapter 5; C. Mulcahy, Mathematical Card Magic (2013); N. Gilbreath 1958,
//! 1966.

use super::texts::{Handling, PLAIN, alternating, half_apart, riffled};
use super::{agrees, proved, routine};
use allroads::proof::{Ends, Roads, Verdict, Ways};

/// The reds on top, the blacks below.
fn parted(n: usize) -> String {
    let values = [
        "A", "2", "3", "4", "5", "6", "7", "8", "9", "T", "J", "Q", "K",
    ];
    let half = |suits: [&str; 2]| -> Vec<String> {
        let all = suits
            .iter()
            .flat_map(|suit| values.map(|value| format!("{value}{suit}")));
        all.take(n / 2).collect()
    };
    let cards = [half(["H", "D"]), half(["C", "S"])].concat();
    format!("  packet: {{list: \"{}\"}}", cards.join(" "))
}

const LIFT: &str = "move: {from: packet, to: dealt, count: off}";

fn quickly() -> Ways {
    Ways {
        ends: Ends::Never,
        ..Ways::default()
    }
}

fn holds(cards: &str, n: usize, handling: &Handling<'_>) {
    let proof = proved(&routine(&riffled(cards, n, handling)), quickly());
    assert_eq!(proof.verdict, Verdict::SureFire, "{n} cards");
    // 4,503,599,627,370,496 with 52 cards.
    let roads = num_bigint::BigUint::from(1_u8) << n;
    assert_eq!(proof.roads, Roads::Exactly(roads), "{n} cards");
}

fn fails(cards: &str, n: usize, handling: &Handling<'_>) {
    let loaded = routine(&riffled(cards, n, handling));
    let proof = proved(&loaded, quickly());
    assert_eq!(proof.verdict, Verdict::Refuted, "{n} cards");
    super::replays(&loaded, &proof.counterexample.expect("a road"));
}

/// The sizes at which every road is walked as well.
const SMALL: [usize; 4] = [2, 4, 6, 8];

/// The size of the rest, where nobody could.
const LARGE: usize = 52;

#[test]
fn every_two_cards_of_an_alternating_packet_differ_in_colour() {
    for n in SMALL {
        let (proof, _) = agrees(&riffled(&alternating(n), n, &PLAIN));
        assert!(proof.holds(), "{n} cards");
    }
    for n in [LARGE, 104, 200] {
        holds(&alternating(n), n, &PLAIN);
    }
}

#[test]
fn a_block_lifted_instead_of_dealt_may_leave_two_of_a_colour_together() {
    let lifted = Handling {
        take: LIFT,
        ..PLAIN
    };
    for n in SMALL {
        let (proof, _) = agrees(&riffled(&alternating(n), n, &lifted));
        // Two cards cannot fail.
        assert_eq!(proof.holds(), n == 2, "{n} cards");
    }
    fails(&alternating(LARGE), LARGE, &lifted);
}

#[test]
fn blocks_of_four_suits_and_of_three_values_hold_one_of_each() {
    let suits = "[{blocks: {pile: packet, of: 4, trait: suit}}]";
    let four = Handling {
        claims: suits,
        ..PLAIN
    };
    for n in [4, 8] {
        let (proof, _) = agrees(&riffled(&alternating(n), n, &four));
        assert!(proof.holds(), "{n} cards");
    }
    let deck = |order: &str| format!("  packet: {{deck: {{suits: CHSD, {order}}}}}");
    holds(&deck("start: AC, step: 3"), 52, &four);
    let thirteen = Handling {
        claims: "[{blocks: {pile: packet, of: 13, trait: value}}]",
        ..PLAIN
    };
    holds(&deck("order: by-suit"), 52, &thirteen);
    fails(&deck("order: by-value"), 52, &thirteen);
    let values = "[{blocks: {pile: packet, of: 3, trait: value}}]";
    let three = Handling {
        claims: values,
        ..PLAIN
    };
    let cards = "  packet: {list: \"AC 2C 3C AH 2H 3H AS 2S 3S\"}";
    let (proof, _) = agrees(&riffled(cards, 9, &three));
    assert!(proof.holds());
    let wrong = "  packet: {list: \"AC 2C 3C AH 3H 2H AS 2S 3S\"}";
    let (proof, _) = agrees(&riffled(wrong, 9, &three));
    assert!(!proof.holds());
}

/// Fixed moves after which the packet still has a red and a black in every two, or has them elsewhere.
#[test]
fn fixed_moves_before_and_after_are_followed() {
    // Klondike and then Monge, second card over: exactly reversed (even packets; common practice, no source).
    let reversing = "{klondike: packet}, {monge: {pile: packet, second: over}}";
    for (before, after) in [
        ("{reverse: packet}", ""),
        (
            "{cut: {pile: packet, at: 1}}",
            "{cut: {pile: packet, at: 2}}",
        ),
        ("", "{reverse: packet}"),
        (reversing, reversing),
        (
            "{faro: {pile: packet, weave: in}}, {inverse-faro: {pile: packet, top: evens}}",
            "",
        ),
        (
            "",
            "{faro: {pile: packet, weave: out}}, {inverse-faro: {pile: packet, top: odds}}",
        ),
        ("{turn: packet}", "{turn: packet}"),
    ] {
        let handling = Handling {
            before,
            after,
            ..PLAIN
        };
        for n in [4, 6, 8] {
            let (proof, _) = agrees(&riffled(&alternating(n), n, &handling));
            assert!(proof.holds(), "{n} cards: {before} … {after}");
        }
        holds(&alternating(LARGE), LARGE, &handling);
    }
    // Reds on top of blacks, woven before anybody chooses.
    let woven = Handling {
        before: "{faro: {pile: packet, weave: out}}",
        ..PLAIN
    };
    for n in SMALL {
        let (proof, _) = agrees(&riffled(&parted(n), n, &woven));
        assert!(proof.holds(), "{n} cards");
    }
    holds(&parted(LARGE), LARGE, &woven);
}

#[test]
fn fixed_moves_that_shift_the_pairs_are_found_out() {
    for (before, after) in [
        ("", "{cut: {pile: packet, at: 1}}"),
        ("", "{faro: {pile: packet, weave: out}}"),
        ("", "{klondike: packet}"),
        ("{faro: {pile: packet, weave: in}}", ""),
        ("{swap: {pile: packet, a: 1, b: 4}}", ""),
    ] {
        let handling = Handling {
            before,
            after,
            ..PLAIN
        };
        for n in [4, 6, 8] {
            agrees(&riffled(&alternating(n), n, &handling));
        }
        fails(&alternating(LARGE), LARGE, &handling);
    }
}

/// How many cards have pairs half a packet apart.
const HALVES: usize = 24;

#[test]
fn pairs_half_a_packet_apart_are_followed() {
    for n in [4, 6, 8, HALVES] {
        let claims = half_apart(n);
        // Every second card drawn out: neighbours come to lie half a packet apart.
        let drawn_out = Handling {
            after: "{inverse-faro: {pile: packet, top: odds}}",
            claims: &claims,
            ..PLAIN
        };
        let left_alone = Handling {
            claims: &claims,
            ..PLAIN
        };
        if n == HALVES {
            holds(&alternating(n), n, &drawn_out);
            fails(&alternating(n), n, &left_alone);
        } else {
            let (proof, _) = agrees(&riffled(&alternating(n), n, &drawn_out));
            assert!(proof.holds(), "{n} cards");
            let (proof, _) = agrees(&riffled(&alternating(n), n, &left_alone));
            assert!(!proof.holds(), "{n} cards");
        }
    }
}
