//! What cannot be done is refused, and then nothing has been done.
use super::{A, B, C, act, lay};
use crate::handling::{
    ByChunks, ByWeave, Carry, End, Forced, Halves, HandlingFault, Kept, Move, Op, Over, Program,
    Weave, permutation, program, run,
};
use crate::table::{PileId, Place, Table};

const NONE: PileId = PileId(3);

fn too_few(pile: PileId, wanted: usize, has: usize) -> HandlingFault {
    HandlingFault::TooFew { pile, wanted, has }
}

fn no_place(pile: PileId, place: u16, has: usize) -> HandlingFault {
    HandlingFault::NoPlace {
        pile,
        place: Place(place),
        has,
    }
}

fn deal(to: Vec<PileId>, count: u16) -> Move {
    Move::Deal {
        from: A,
        to,
        count,
        up: None,
    }
}

fn put(from: PileId, to: PileId, at: u16) -> Move {
    Move::Put {
        from,
        to,
        at: Place(at),
    }
}

#[rustfmt::skip]
fn impossible_moves() -> Vec<(Move, HandlingFault)> {
    let block = |from, to, count| Move::Block {
        from, take: End::Top, count, to, put: End::Top, order: Kept::Kept,
    };
    let down_under = |pile, to, leave| Move::DownUnder { pile, to, leave, first_under: false };
    let take = |at| Move::Take { from: A, at: Place(at), to: B, put: End::Top };
    let swap = |a, b| Move::Swap { pile: A, a: Place(a), b: Place(b) };
    let each = |places: &[u16]| Move::TurnEach { pile: A, places: places.iter().copied().map(Place).collect() };
    let riffle = |left, right, to| Move::Riffle { left, right, to };
    let gather = |piles: &[PileId], onto| Move::Gather { piles: piles.to_vec(), onto };
    vec![
        (Move::Cut { pile: A, at: 5 }, too_few(A, 5, 4)),
        (Move::Cut { pile: NONE, at: 0 }, HandlingFault::NoPile(NONE)),
        (block(A, B, 5), too_few(A, 5, 4)),
        (block(NONE, B, 0), HandlingFault::NoPile(NONE)),
        (block(A, NONE, 1), HandlingFault::NoPile(NONE)),
        (deal(vec![B, C], 5), too_few(A, 5, 4)),
        (deal(vec![B, NONE], 1), HandlingFault::NoPile(NONE)),
        (deal(vec![B, A], 2), HandlingFault::PileTwice(A)),
        (deal(vec![], 2), HandlingFault::NoPiles),
        (gather(&[A, B, A], C), HandlingFault::PileTwice(A)),
        (gather(&[A, NONE], C), HandlingFault::NoPile(NONE)),
        (gather(&[A], NONE), HandlingFault::NoPile(NONE)),
        (down_under(A, B, 5), too_few(A, 5, 4)),
        (down_under(A, A, 0), HandlingFault::PileTwice(A)),
        (down_under(A, NONE, 0), HandlingFault::NoPile(NONE)),
        (Move::Klondike(NONE), HandlingFault::NoPile(NONE)),
        (Move::Monge(NONE, Over::Over), HandlingFault::NoPile(NONE)),
        (Move::Faro(NONE, Weave::In), HandlingFault::NoPile(NONE)),
        (Move::InverseFaro(NONE, Halves::OddsOnTop), HandlingFault::NoPile(NONE)),
        (riffle(A, A, B), HandlingFault::PileTwice(A)),
        (riffle(A, NONE, B), HandlingFault::NoPile(NONE)),
        (riffle(A, B, NONE), HandlingFault::NoPile(NONE)),
        (Move::Overhand(NONE), HandlingFault::NoPile(NONE)),
        (Move::Turn { pile: A, count: 5 }, too_few(A, 5, 4)),
        (each(&[0]), no_place(A, 0, 4)),
        (each(&[5]), no_place(A, 5, 4)),
        (each(&[3, 1, 3]), HandlingFault::PlaceTwice(Place(3))),
        (Move::Reverse(NONE), HandlingFault::NoPile(NONE)),
        (take(0), no_place(A, 0, 4)),
        (take(5), no_place(A, 5, 4)),
        (put(C, A, 1), too_few(C, 1, 0)),
        (put(A, B, 0), no_place(B, 0, 2)),
        (put(A, B, 4), no_place(B, 4, 2)),
        (put(A, A, 5), no_place(A, 5, 4)),
        (swap(1, 5), no_place(A, 5, 4)),
        (swap(0, 1), no_place(A, 0, 4)),
    ]
}

#[test]
fn an_impossible_move_is_refused_and_leaves_the_table_as_it_was() {
    let before = lay(&["aBcd", "xY", ""]);
    for (mv, fault) in impossible_moves() {
        assert_eq!(program(&mv, &before), Err(fault.clone()), "{mv:?}");
        let mut table = before.clone();
        assert_eq!(act(&mv, &mut table, &mut Forced), Err(fault), "{mv:?}");
        assert_eq!(table, before, "{mv:?}");
    }
}

#[test]
fn a_weave_that_does_not_fit_is_refused_and_leaves_the_table_as_it_was() {
    let before = lay(&["ab", "x", ""]);
    let riffle = Move::Riffle {
        left: A,
        right: B,
        to: C,
    };
    let unfit: [&[bool]; 7] = [
        &[],
        &[true],
        &[true, true],
        &[true, true, true],
        &[false, false, true],
        &[false, true, false],
        &[true, true, false, false],
    ];
    for weave in unfit {
        let mut table = before.clone();
        let outcome = act(&riffle, &mut table, &mut ByWeave::new(weave));
        assert!(
            matches!(outcome, Err(HandlingFault::Unfit { given, .. }) if given == weave.len()),
            "{weave:?}: {outcome:?}"
        );
        assert_eq!(table, before, "{weave:?}");
    }
}

#[test]
fn chunks_that_do_not_fit_are_refused_and_leave_the_table_as_it_was() {
    let before = lay(&["abc"]);
    let unfit: [&[u16]; 10] = [
        &[],
        &[2],
        &[4],
        &[1, 1],
        &[2, 2],
        &[3, 1],
        &[0, 3],
        &[1, 0, 2],
        &[0, 2],
        &[1, 0, 1],
    ];
    for chunks in unfit {
        let mut table = before.clone();
        let outcome = act(&Move::Overhand(A), &mut table, &mut ByChunks::new(chunks));
        assert!(
            matches!(outcome, Err(HandlingFault::Unfit { .. })),
            "{chunks:?}: {outcome:?}"
        );
        assert_eq!(table, before, "{chunks:?}");
    }
}

#[test]
fn choices_for_another_kind_of_move_are_refused() {
    let before = lay(&["abc", "xy", ""]);
    let mut table = before.clone();
    let overhand = act(
        &Move::Overhand(A),
        &mut table,
        &mut ByWeave::new(&[true; 3]),
    );
    assert!(matches!(overhand, Err(HandlingFault::Unfit { .. })));
    let riffle = Move::Riffle {
        left: A,
        right: B,
        to: A,
    };
    let riffled = act(&riffle, &mut table, &mut ByChunks::new(&[5]));
    assert!(matches!(riffled, Err(HandlingFault::Unfit { .. })));
    let one_sided = Move::Riffle {
        left: C,
        right: B,
        to: A,
    };
    let riffled = act(&one_sided, &mut table, &mut ByChunks::new(&[1, 1]));
    assert!(matches!(riffled, Err(HandlingFault::Unfit { .. })));
    let cut = act(
        &Move::Cut { pile: A, at: 1 },
        &mut table,
        &mut ByWeave::new(&[true]),
    );
    assert_eq!(cut, Err(HandlingFault::Unfit { given: 1, used: 0 }));
    assert_eq!(table, before);
}

fn top_to_top(from: PileId, to: PileId) -> Op {
    Op::Carry(Carry::new(from, End::Top, to, End::Top))
}

#[test]
fn a_program_that_does_not_fit_the_table_leaves_it_as_it_was() {
    let before = lay(&["ab", "x"]);
    let of = |ops: Vec<Op>, piles, scratch| Program {
        ops,
        piles,
        scratch,
    };
    let unfit = [
        // It runs out of cards half-way.
        (
            of(
                vec![Op::Times { count: 3, body: 1 }, top_to_top(A, B)],
                2,
                0,
            ),
            too_few(A, 1, 0),
        ),
        // It leaves a card on a scratch pile.
        (of(vec![top_to_top(A, C)], 2, 1), HandlingFault::Misfit),
        // It uses a pile that it did not ask for.
        (
            of(vec![top_to_top(A, NONE), top_to_top(NONE, A)], 2, 1),
            HandlingFault::Misfit,
        ),
        // It was made for a table with more piles.
        (of(vec![top_to_top(A, B)], 3, 0), HandlingFault::Misfit),
        // Its body is longer than itself.
        (
            of(
                vec![Op::Times { count: 1, body: 2 }, top_to_top(A, B)],
                2,
                0,
            ),
            HandlingFault::Misfit,
        ),
    ];
    for (program, fault) in unfit {
        let mut table = before.clone();
        assert_eq!(run(&program, &mut table, &mut Forced), Err(fault));
        assert_eq!(table, before, "{program:?}");
    }
}

#[test]
fn a_table_may_hold_as_many_piles_as_leave_room_for_scratch() {
    let reverse = Move::Reverse(A);
    assert!(program(&reverse, &Table::empty(252)).is_ok());
    assert_eq!(
        program(&reverse, &Table::empty(253)),
        Err(HandlingFault::TooManyPiles)
    );
}

#[test]
fn only_a_fixed_move_that_leaves_one_packet_has_a_permutation() {
    assert_eq!(
        permutation(&Move::Overhand(A), 3),
        Err(HandlingFault::NotOnePacket)
    );
    assert_eq!(
        permutation(&deal(vec![B, C], 4), 4),
        Err(HandlingFault::NotOnePacket)
    );
    assert_eq!(
        permutation(&Move::Cut { pile: A, at: 4 }, 3),
        Err(too_few(A, 4, 3))
    );
    assert_eq!(permutation(&deal(vec![B], 3), 3), Ok(vec![2, 1, 0]));
}

#[test]
fn faults_are_told_with_piles_and_places_counted_from_one() {
    assert_eq!(
        too_few(B, 5, 4).to_string(),
        "pile 2 holds 4 cards where 5 are needed"
    );
    assert_eq!(
        no_place(A, 9, 4).to_string(),
        "pile 1 has no place 9 (4 cards)"
    );
    assert_eq!(
        HandlingFault::PlaceTwice(Place(3)).to_string(),
        "place 3 is named twice"
    );
}
