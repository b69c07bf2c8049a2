//! Every kind of slip, laid by hand, with its words.

use super::{asked, read, with};
use allroads::rescue::slip::{SlipKind, explanation_words};

/// What is done, what lay there afterwards, of which kind the slip is, and its words. Every packet is laid by hand from the words of the
/// slip, not by the program.
const BY_HAND: [(&str, &[&str], SlipKind, &str); 28] = [
    (
        "      - deal: {from: packet, to: [heap], count: 3}",
        &["packet=4C 5C 6C", "heap=AC 2C 3C"],
        SlipKind::Lifted,
        "you lifted the three cards as a block at “The step” instead of dealing them one by one",
    ),
    (
        "      - move: {from: packet, to: heap, count: 3}",
        &["packet=4C 5C 6C", "heap=3C 2C AC"],
        SlipKind::CountedOff,
        "you counted the three cards one by one at “The step” instead of moving them as a block",
    ),
    (
        "      - count: {from: packet, to: heap, count: 3}",
        &["packet=4C 5C 6C", "heap=AC 2C 3C"],
        SlipKind::Lifted,
        "you lifted the three cards as a block at “The step” instead of counting them one by one",
    ),
    (
        "      - deal: {from: packet, to: [heap], count: 3}",
        &["packet=5C 6C", "heap=4C 3C 2C AC"],
        SlipKind::Count,
        "you dealt four cards at “The step” instead of three",
    ),
    (
        "      - cut: {pile: packet, at: 2}",
        &["packet=2C 3C 4C 5C 6C AC"],
        SlipKind::Count,
        "you cut off one card at “The step” instead of two",
    ),
    (
        "      - cut: {pile: packet, at: 2}",
        &["packet=AC 2C 3C 4C 5C 6C"],
        SlipKind::LeftOut,
        "you left out the cut at “The step”",
    ),
    (
        "      - cut: {pile: packet, at: 2}",
        &["packet=5C 6C AC 2C 3C 4C"],
        SlipKind::Twice,
        "you did it twice (the cut) at “The step”",
    ),
    (
        "      - cut: {pile: packet, at: 3}",
        &["packet=4C 5C 6C 3C 2C AC"],
        SlipKind::CountedOff,
        "you counted the three cards one by one at “The step” instead of cutting them off as a block",
    ),
    (
        "      - deal: {from: packet, to: [heap], count: 4}",
        &["packet=5C 6C", "heap=nothing", "third=4C 3C 2C AC"],
        SlipKind::WrongPile,
        "you put cards on “third” at “The step” instead of on “heap”",
    ),
    (
        "      - monge: {pile: packet, second: over}",
        &["packet=5C 3C AC 2C 4C 6C"],
        SlipKind::UnderOver,
        "you put the second card under the first at “The step” instead of over it",
    ),
    (
        "      - faro: {pile: packet, weave: out}",
        &["packet=4C AC 5C 2C 6C 3C"],
        SlipKind::InOut,
        "you wove them so that the top card went second at “The step” instead of staying on top",
    ),
    (
        "      - down-under: {pile: packet, to: heap, leave: 1}",
        // Under-down: 2, 4, 6, 3, 1 are dealt, 5 is left.
        &["packet=5C", "heap=AC 3C 6C 4C 2C"],
        SlipKind::UnderOver,
        "you put the first card under at “The step” instead of down",
    ),
    (
        "      - down-under: {pile: packet, to: heap, leave: 1}",
        // 1 down, 2 under, 3 down, then 4 down at once; 5 under, 6 down, 2 under, 5 down.
        &["packet=2C", "heap=5C 6C 4C 3C AC"],
        SlipKind::LostBeat,
        "you put two down in a row, after two cards down, at “The step” instead of going on by turns",
    ),
    (
        "      - deal: {from: packet, to: [heap], count: 2}\n      - deal: {from: packet, to: [third], count: 3}\n      \
         - gather: {piles: [third, heap], onto: packet}",
        &["packet=2C AC 5C 4C 3C 6C"],
        SlipKind::Gathered,
        "you gathered the piles as heap, third, from the top, at “The step” instead of third, heap",
    ),
    (
        "      - deal: {from: packet, to: [heap, third], count: 6}",
        &["packet=nothing", "heap=6C 4C 2C", "third=5C 3C AC"],
        SlipKind::Began,
        "you began to deal at “third” at “The step” instead of at “heap”",
    ),
    (
        "      - deal: {from: packet, to: [heap], count: 4}",
        &["packet=5C 6C", "heap=3C 2C AC 4C"],
        SlipKind::LastAcross,
        "you put the last card on the other side at “The step”",
    ),
    (
        "      - count: {from: packet, to: heap, count: 3}",
        &["packet=4C 5C 6C", "heap=2C AC 3C"],
        SlipKind::LastAcross,
        "you put the last card on the other side at “The step”",
    ),
    (
        // Of five cards 6 2, 5 3, 4 are laid down, the top card of each pair uppermost: 4 3 5 2 6.
        "      - deal: {from: packet, to: [heap], count: 1}\n      - klondike: packet",
        &["packet=3C 5C 2C 6C 4C", "heap=AC"],
        SlipKind::LastAcross,
        "you put the last card on the other side at “The step”",
    ),
    (
        // As it should be: 3 4 2 5 1 6.
        "      - klondike: packet",
        &["packet=4C 3C 5C 2C 6C AC"],
        SlipKind::UnderOver,
        "you laid each pair down with its bottom card uppermost at “The step” instead of its top card",
    ),
    (
        // The heap is 3 2 1: 2 over 3, and 1 under both.
        "      - deal: {from: packet, to: [heap], count: 3}\n      - monge: {pile: packet, second: over}",
        &["packet=4C 5C 6C", "heap=2C 3C AC"],
        SlipKind::WrongPile,
        "you took from “heap” at “The step” instead of from “packet”",
    ),
    (
        // 2 is drawn out of 3 2 1, and lies under the two others.
        "      - deal: {from: packet, to: [heap], count: 3}\n      - inverse-faro: {pile: packet, top: odds}",
        &["packet=4C 5C 6C", "heap=3C AC 2C"],
        SlipKind::WrongPile,
        "you took from “heap” at “The step” instead of from “packet”",
    ),
    (
        // Of 3 2 1 the 3 goes down, the 2 under, the 1 down.
        "      - deal: {from: packet, to: [heap], count: 3}\n      - down-under: {pile: packet, to: third, leave: 1}",
        &["packet=4C 5C 6C", "heap=2C", "third=AC 3C"],
        SlipKind::WrongPile,
        "you took from “heap” at “The step” instead of from “packet”",
    ),
    (
        "      - deal: {from: packet, to: [heap], count: 2}\n      - cut: {pile: heap, at: 1}\n      \
         - gather: {piles: [heap], onto: packet}",
        &["packet=3C 4C 5C 6C", "heap=nothing", "third=AC 2C"],
        SlipKind::WrongPile,
        "you put cards on “third” at “The step” instead of on “packet”",
    ),
    (
        "      - take: {from: packet, at: 3, to: heap}",
        &["packet=AC 2C 3C 5C 6C", "heap=4C"],
        SlipKind::Place,
        "you took the place one below at “The step” instead of the one meant",
    ),
    (
        "      - turn: {pile: packet, count: 3}",
        &["packet=AC^ 2C^ 3C^ 4C 5C 6C"],
        SlipKind::Turned,
        "you turned the three cards over one by one at “The step” instead of turning them as a block",
    ),
    (
        "      - repeat:\n          times: 2\n          do:\n            - cut: {pile: packet, at: 1}\n            - turn: {pile: packet, count: 2}",
        // Three rounds; two give 4 3' 5 6 1 2' … see the rounds one by one: cut 1, turn 2.
        // 2 3 4 5 6 1 → 3' 2' 4 5 6 1 → 2' 4 5 6 1 3' → 4' 2 5 6 1 3' → 2 5 6 1 3' 4' → 5' 2' 6 1 3' 4'
        &["packet=5C^ 2C^ 6C AC 3C^ 4C^"],
        SlipKind::Count,
        "you did it three times at “The step” instead of twice",
    ),
    (
        "      - when:\n          is: size(packet) == 6\n          do:\n            - cut: {pile: packet, at: 2}\n          else:\n            - reverse: packet",
        &["packet=6C 5C 4C 3C 2C AC"],
        SlipKind::WrongWay,
        "you did what belongs to the other case at “The step”",
    ),
    (
        "      - reverse: packet",
        &["packet=6C 4C 3C 2C AC 5C"],
        SlipKind::Dropped,
        "you let a card fall (the second of “packet”) and put it back at the bottom at “The step”",
    ),
];

#[test]
fn every_kind_of_slip_laid_by_hand_is_named_first() {
    for (acts, packet, kind, words) in BY_HAND {
        let routine = with(acts);
        let report = asked(&routine, &[], &read(&routine, packet));
        assert!(!report.right && report.complete, "{acts}");
        let first = report
            .explanations
            .first()
            .unwrap_or_else(|| panic!("nothing explains {packet:?} after\n{acts}"));
        assert_eq!(explanation_words(&routine, first), words, "{acts}");
        assert_eq!(first.slips[0].kind, kind, "{acts}");
    }
    let named: Vec<SlipKind> = BY_HAND.iter().map(|(_, _, kind, _)| *kind).collect();
    for kind in SlipKind::ALL {
        // A lost card has tests of its own.
        assert!(
            kind == SlipKind::Lost || named.contains(&kind),
            "{kind:?} is not laid"
        );
    }
}
