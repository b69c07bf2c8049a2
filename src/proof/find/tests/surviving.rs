//! What moves leave alone, against the whole group of the moves, listed plainly.

use super::super::{Moves, Turn, Unsteady, survivors};
use super::*;

/// Two moves, each a step.
fn two_moves(cards: usize, first: &str, second: &str) -> Routine {
    routine(
        cards,
        "piles: [dealt]\n",
        &format!(
            "  - id: one
    title: One
    say: One.
    do: [{first}]
  - id: two
    title: Two
    say: Two.
    do: [{second}]
"
        ),
        "{count: {piles: [packet, dealt], is: 6}}",
    )
}

/// All that any moves lead to: every permutation of the group, plainly.
fn group_of(turns: &BTreeSet<Turn>, cells: usize) -> BTreeSet<Vec<u16>> {
    let start: Vec<u16> = (0..cells as u16).collect();
    let mut met = BTreeSet::from([start.clone()]);
    let mut open = vec![start];
    while let Some(now) = open.pop() {
        for turn in turns {
            let next: Vec<u16> = turn.iter().map(|from| now[usize::from(*from)]).collect();
            if met.insert(next.clone()) {
                open.push(next);
            }
        }
    }
    met
}

/// Whether two patterns are one up to these, by the definition.
fn same_up_to(one: &[u8], other: &[u8], alike: Alike) -> bool {
    let n = one.len();
    let mut ways: Vec<Vec<u8>> = Vec::new();
    for by in 0..n {
        if by == 0 || alike.rotation {
            let turned: Vec<u8> = (0..n).map(|i| one[(i + by) % n]).collect();
            ways.push(turned.clone());
            if alike.reversal {
                ways.push(turned.into_iter().rev().collect());
            }
        }
    }
    ways.iter()
        .any(|way| *way == other || alike.swap && way.iter().zip(other).all(|(a, b)| *a == 1 - *b))
}

#[test]
fn what_survives_is_what_the_whole_group_of_the_moves_leaves_alone() {
    let moves = [
        (
            "{klondike: packet}",
            "{monge: {pile: packet, second: over}}",
        ),
        ("{faro: {pile: packet, weave: in}}", "{reverse: packet}"),
        (
            "{cut: {pile: packet, at: 2}}",
            "{swap: {pile: packet, a: 1, b: 4}}",
        ),
        ("{cut: {pile: packet, at: 1}}", "{reverse: packet}"),
        (
            "{inverse-faro: {pile: packet, top: odds}}",
            "{cut: {pile: packet, at: 3}}",
        ),
    ];
    let mut some = 0;
    for (first, second) in moves {
        let routine = two_moves(6, first, second);
        let wish = Wish {
            moves_only: true,
            ..Wish::default()
        };
        let canvas = Canvas::new(&routine, &wish).unwrap();
        let moves = Moves::of(&canvas, &|| false).unwrap();
        let group = group_of(&moves.turns, 6);
        for number in 0..8 {
            let [swap, reversal, rotation] = [0, 1, 2].map(|bit| number >> bit & 1 == 1);
            let alike = Alike {
                swap,
                reversal,
                rotation,
            };
            let found = survivors(&canvas, &moves, alike, usize::MAX, &|| false);
            assert!(found.complete);
            let wanted: BTreeSet<Pattern> = all_patterns(6, 2)
                .filter(|pattern| {
                    group.iter().all(|turn| {
                        let moved: Vec<u8> =
                            turn.iter().map(|f| pattern[usize::from(*f)]).collect();
                        same_up_to(pattern, &moved, alike)
                    })
                })
                .collect();
            assert_eq!(found.patterns, wanted, "{first} {second} {alike:?}");
            if let Some(count) = found.count {
                assert_eq!(count, wanted.len().into());
            }
            some += usize::from(wanted.len() > 2 && wanted.len() < 64);
        }
    }
    assert!(some > 5, "{some}");
}

#[test]
fn moves_are_told_from_one_moment_with_the_packet_together_to_the_next() {
    let wish = Wish {
        moves_only: true,
        ..Wish::default()
    };
    let canvas = Canvas::new(&down_under(4, "{mates: packet}"), &wish).unwrap();
    let moves = Moves::of(&canvas, &|| false).unwrap();
    // a b c d becomes d b c a (common practice, no source).
    assert_eq!(moves.turns, BTreeSet::from([Box::from([3, 1, 2, 0])]));
    let found = survivors(&canvas, &moves, Alike::default(), usize::MAX, &|| false);
    assert_eq!(found.patterns.len(), 8);
    assert_eq!(found.orbits, [vec![0, 3], vec![1], vec![2]]);
    // Deal one off and leave it there: never together again.
    let canvas = Canvas::new(
        &two_moves(
            6,
            "{deal: {from: packet, to: [dealt], count: 1}}",
            "{cut: {pile: packet, at: 2}}",
        ),
        &wish,
    )
    .unwrap();
    assert_eq!(
        Moves::of(&canvas, &|| false).unwrap_err(),
        Unsteady::NoMoves
    );
    let (one, two) = (crate::routine::StopIndex(0), crate::routine::StopIndex(1));
    assert_eq!(
        Moves::named(&canvas, &[vec![one]], &|| false).unwrap_err(),
        Unsteady::NotBack("\u{201c}One\u{201d}".to_owned())
    );
    let cut_alone = Moves::named(&canvas, &[vec![two]], &|| false).unwrap();
    assert_eq!(
        cut_alone.turns,
        BTreeSet::from([Box::from([2, 3, 4, 5, 0, 1])])
    );
    // Every cut of a fork is a move.
    let canvas = Canvas::new(&cut(5, "{mates: packet}"), &wish).unwrap();
    assert_eq!(Moves::of(&canvas, &|| false).unwrap().turns.len(), 4);
}
