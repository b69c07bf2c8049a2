//! Moves as people key them.

use super::*;

#[test]
fn moves_are_read_as_people_key_them() {
    let routine = shaky(2);
    let sizes = |_: PileId| 6;
    let reading = Reading {
        routine: &routine,
        usual: PileId(0),
        sizes: &sizes,
    };
    let packet = PileId(0);
    let left = PileId(1);
    let block = |from, take, count, to, put| Move::Block {
        from,
        take,
        count,
        to,
        put,
        order: crate::handling::Kept::Kept,
    };
    let expected = [
        (
            "cut 3",
            Move::Cut {
                pile: packet,
                at: 3,
            },
        ),
        (
            "Cut the packet at 3.",
            Move::Cut {
                pile: packet,
                at: 3,
            },
        ),
        ("cut: {pile: left, at: 2}", Move::Cut { pile: left, at: 2 }),
        ("top to bottom", block(packet, Top, 1, packet, Bottom)),
        (
            "top two to the bottom",
            block(packet, Top, 2, packet, Bottom),
        ),
        ("3 under", block(packet, Top, 3, packet, Bottom)),
        ("bottom to top", block(packet, Bottom, 1, packet, Top)),
        (
            "move 3 cards from packet to left",
            block(packet, Top, 3, left, Top),
        ),
        (
            "move: {from: packet, to: left, count: 2, put: bottom}",
            block(packet, Top, 2, left, Bottom),
        ),
        ("move left to packet", block(left, Top, 6, packet, Top)),
        (
            "turn 2",
            Move::Turn {
                pile: packet,
                count: 2,
            },
        ),
        (
            "turn over",
            Move::Turn {
                pile: packet,
                count: 6,
            },
        ),
        (
            "turn the top card over",
            Move::Turn {
                pile: packet,
                count: 1,
            },
        ),
        (
            "turn card 3",
            Move::TurnEach {
                pile: packet,
                places: vec![Place(3)],
            },
        ),
        (
            "turn the third card",
            Move::TurnEach {
                pile: packet,
                places: vec![Place(3)],
            },
        ),
        (
            "turn the bottom card over",
            Move::TurnEach {
                pile: packet,
                places: vec![Place(6)],
            },
        ),
        (
            "turn-each: {pile: packet, at: [1, 4]}",
            Move::TurnEach {
                pile: packet,
                places: vec![Place(1), Place(4)],
            },
        ),
        ("reverse: left", Move::Reverse(left)),
        (
            "swap 1 and 4",
            Move::Swap {
                pile: packet,
                a: Place(1),
                b: Place(4),
            },
        ),
        (
            "take the 2nd card from left to packet",
            Move::Take {
                from: left,
                at: Place(2),
                to: packet,
                put: Top,
            },
        ),
        (
            "put at 3",
            Move::Put {
                from: packet,
                to: packet,
                at: Place(3),
            },
        ),
        (
            "deal 2 from packet to left, right face up",
            Move::Deal {
                from: packet,
                to: vec![left, PileId(2)],
                count: 2,
                up: Some(true),
            },
        ),
        (
            "gather left packet onto packet",
            Move::Gather {
                piles: vec![left, packet],
                onto: packet,
            },
        ),
    ];
    for (text, mv) in expected {
        assert_eq!(
            read(reading, text),
            Ok(vec![Keyed::Do(Mend::Move(mv))]),
            "{text}"
        );
    }
    for (text, mend) in [
        ("1", 0),
        ("one-under", 0),
        ("Turned", 1),
        ("one under", 0),
        ("mend 2", 1),
    ] {
        assert_eq!(
            read(reading, text),
            Ok(vec![Keyed::Do(Mend::Mend(mend))]),
            "{text}"
        );
    }
    for (text, look) in [
        ("look bottom", Look::Card(packet, Place(6))),
        ("look at the top of left", Look::Card(left, Place(1))),
        ("glimpse 3", Look::Card(packet, Place(3))),
        ("look turned", Look::Mend(1)),
    ] {
        assert_eq!(read(reading, text), Ok(vec![Keyed::Look(look)]), "{text}");
    }
    for text in [
        "",
        " ; ",
        "9",
        "cut",
        "fly 3",
        "cut the cake",
        "swap 1",
        "turn 1 2 bottom",
        "3",
        "packet",
    ] {
        assert!(read(reading, text).is_err(), "{text}");
    }
}
