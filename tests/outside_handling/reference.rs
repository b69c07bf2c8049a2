//! Every fixed move on two to sixty cards against `tests/reference/permutations.txt`, which
//! `tests/reference/permutations.py` writes with SymPy 1.14 from formulas of its own.
use super::group::group_size;
use super::{A, B, C, D, times_to_restore};
use allroads::handling::{
    End, Halves, HandlingFault, Kept, Move, Over, Weave, permutation, permutation_of,
};
use allroads::table::{PileId, Place};
use std::collections::BTreeMap;
use std::fmt::Write as _;

const REFERENCE: &str = include_str!("../reference/permutations.txt");
/// A fifth pile, for deals into four.
const E: PileId = PileId(4);

/// Each move's name in the reference, and how we do it.
fn moves(n: u16) -> Vec<(&'static str, Vec<Move>)> {
    let half = n / 2;
    let middle = Place(half + 1);
    let block = |take, put, order| {
        vec![Move::Block {
            from: A,
            take,
            count: half,
            to: A,
            put,
            order,
        }]
    };
    let deal = |piles: &[PileId], first_on_top: bool| {
        let mut gathered = piles.to_vec();
        if !first_on_top {
            gathered.reverse();
        }
        let deal = Move::Deal {
            from: A,
            to: piles.to_vec(),
            count: n,
            up: None,
        };
        let gather = Move::Gather {
            piles: gathered,
            onto: A,
        };
        vec![deal, gather]
    };
    let elimination = |first_under| {
        vec![Move::DownUnder {
            pile: A,
            to: B,
            leave: 0,
            first_under,
        }]
    };
    let cut = |at| vec![Move::Cut { pile: A, at }];
    let take = |put| {
        vec![Move::Take {
            from: A,
            at: middle,
            to: A,
            put,
        }]
    };
    let swap = |b| {
        vec![Move::Swap {
            pile: A,
            a: Place(1),
            b,
        }]
    };
    let (top, bottom) = (End::Top, End::Bottom);
    vec![
        ("out-faro", vec![Move::Faro(A, Weave::Out)]),
        ("in-faro", vec![Move::Faro(A, Weave::In)]),
        (
            "inverse-faro-odds-on-top",
            vec![Move::InverseFaro(A, Halves::OddsOnTop)],
        ),
        (
            "inverse-faro-evens-on-top",
            vec![Move::InverseFaro(A, Halves::EvensOnTop)],
        ),
        ("monge-over", vec![Move::Monge(A, Over::Over)]),
        ("monge-under", vec![Move::Monge(A, Over::Under)]),
        ("klondike", vec![Move::Klondike(A)]),
        ("down-under", elimination(false)),
        ("under-down", elimination(true)),
        ("reverse", vec![Move::Reverse(A)]),
        ("cut-1", cut(1)),
        ("cut-half", cut(half)),
        ("cut-all-but-1", cut(n - 1)),
        ("deal-2-gather-first-on-top", deal(&[B, C], true)),
        ("deal-2-gather-last-on-top", deal(&[B, C], false)),
        ("deal-3-gather-first-on-top", deal(&[B, C, D], true)),
        ("deal-3-gather-last-on-top", deal(&[B, C, D], false)),
        ("deal-4-gather-first-on-top", deal(&[B, C, D, E], true)),
        ("deal-4-gather-last-on-top", deal(&[B, C, D, E], false)),
        ("count-half-to-bottom", block(top, bottom, Kept::Reversed)),
        ("count-half-to-top", block(top, top, Kept::Reversed)),
        (
            "count-half-from-bottom-to-top",
            block(bottom, top, Kept::Reversed),
        ),
        (
            "count-half-from-bottom-to-bottom",
            block(bottom, bottom, Kept::Reversed),
        ),
        (
            "move-half-from-bottom-to-top",
            block(bottom, top, Kept::Kept),
        ),
        (
            "turn-half",
            vec![Move::Turn {
                pile: A,
                count: half,
            }],
        ),
        ("take-middle-to-top", take(top)),
        ("take-middle-to-bottom", take(bottom)),
        (
            "put-top-to-middle",
            vec![Move::Put {
                from: A,
                to: A,
                at: middle,
            }],
        ),
        ("swap-top-and-bottom", swap(Place(n))),
        ("swap-top-and-middle", swap(middle)),
    ]
}

/// Our own line for a move.
fn line(n: u16, name: &str, moves: &[Move]) -> Result<String, HandlingFault> {
    let permutation = permutation_of(moves, n)?;
    let order = times_to_restore(&permutation);
    let mut line = format!("move {n} {name} order {order} from");
    for from in permutation {
        let _ = write!(line, " {from}");
    }
    Ok(line)
}

#[test]
fn every_fixed_move_on_two_to_sixty_cards_is_as_sympy_has_it() {
    let theirs: Vec<&str> = REFERENCE
        .lines()
        .filter(|line| line.starts_with("move "))
        .collect();
    let ours: Vec<String> = (2..=60)
        .flat_map(|n| {
            moves(n).into_iter().map(move |(name, moves)| {
                line(n, name, &moves).unwrap_or_else(|fault| panic!("{name} on {n}: {fault}"))
            })
        })
        .collect();
    assert_eq!(theirs.len(), 59 * moves(2).len());
    assert_eq!(ours.len(), theirs.len());
    for (n, line) in ours.iter().enumerate() {
        assert_eq!(line, theirs[n]);
    }
}

#[test]
fn the_groups_of_both_faros_are_as_large_as_sympy_has_them() {
    let theirs: BTreeMap<u16, u128> = REFERENCE
        .lines()
        .filter_map(|line| line.strip_prefix("group "))
        .map(|line| {
            let (cards, size) = line.split_once(' ').unwrap_or_default();
            (cards.parse().unwrap(), size.parse().unwrap())
        })
        .collect();
    assert!(theirs.keys().copied().eq((2..=52).step_by(2)));
    for (cards, size) in theirs {
        let faro = |weave| permutation(&Move::Faro(A, weave), cards).unwrap();
        let ours = group_size(&[faro(Weave::Out), faro(Weave::In)]);
        assert_eq!(ours, size, "{cards} cards");
    }
}

#[test]
fn the_reference_holds_nothing_that_is_not_compared() {
    let known = |line: &str| line.starts_with("move ") || line.starts_with("group ");
    assert!(REFERENCE.lines().all(known));
    assert_eq!(REFERENCE.lines().count(), 59 * 30 + 26);
}
