//! The examples in the moves' definitions, and a few at their edges.
use super::{A, B, C, act, lay, shown};
use crate::handling::{ByChunks, ByWeave, End, Forced, Halves, Kept, Move, Over, Weave};
use crate::table::Place;
use End::{Bottom, Top};

/// The piles before, the move, the piles after.
type Example = (&'static [&'static str], Move, &'static [&'static str]);

fn block(take: End, count: u16, put: End, order: Kept) -> Move {
    Move::Block {
        from: A,
        take,
        count,
        to: B,
        put,
        order,
    }
}

fn within(take: End, count: u16, put: End, order: Kept) -> Move {
    Move::Block {
        from: A,
        take,
        count,
        to: A,
        put,
        order,
    }
}

fn deal(count: u16, up: Option<bool>) -> Move {
    Move::Deal {
        from: A,
        to: vec![B, C],
        count,
        up,
    }
}

fn elimination(leave: u16, first_under: bool) -> Move {
    Move::DownUnder {
        pile: A,
        to: B,
        leave,
        first_under,
    }
}

fn take(at: u16, put: End) -> Move {
    Move::Take {
        from: A,
        at: Place(at),
        to: B,
        put,
    }
}

fn put(at: u16) -> Move {
    Move::Put {
        from: A,
        to: B,
        at: Place(at),
    }
}

fn swap(a: u16, b: u16) -> Move {
    Move::Swap {
        pile: A,
        a: Place(a),
        b: Place(b),
    }
}

fn turn_each(places: &[u16]) -> Move {
    Move::TurnEach {
        pile: A,
        places: places.iter().copied().map(Place).collect(),
    }
}

#[rustfmt::skip]
fn examples() -> Vec<Example> {
    vec![
        (&["abcde"], Move::Cut { pile: A, at: 2 }, &["cdeab"]),
        (&["abcde"], Move::Cut { pile: A, at: 0 }, &["abcde"]),
        (&["abcde"], Move::Cut { pile: A, at: 5 }, &["abcde"]),
        (&["abcde", "xy"], block(Top, 2, Top, Kept::Kept), &["cde", "abxy"]),
        (&["abcde", "xy"], block(Top, 2, Top, Kept::Reversed), &["cde", "baxy"]),
        (&["abcde", "xy"], block(Bottom, 2, Top, Kept::Kept), &["abc", "dexy"]),
        (&["abcde", "xy"], block(Bottom, 2, Top, Kept::Reversed), &["abc", "edxy"]),
        (&["abcde", "xy"], block(Top, 2, Bottom, Kept::Kept), &["cde", "xyab"]),
        (&["abcde", "xy"], block(Top, 2, Bottom, Kept::Reversed), &["cde", "xyba"]),
        (&["abcde", "xy"], block(Bottom, 2, Bottom, Kept::Kept), &["abc", "xyde"]),
        (&["abcde", "xy"], block(Bottom, 2, Bottom, Kept::Reversed), &["abc", "xyed"]),
        (&["abcde"], within(Top, 2, Bottom, Kept::Kept), &["cdeab"]),
        (&["abcde"], within(Top, 2, Bottom, Kept::Reversed), &["cdeba"]),
        (&["abcde"], within(Bottom, 2, Top, Kept::Kept), &["deabc"]),
        (&["abcde"], within(Bottom, 2, Top, Kept::Reversed), &["edabc"]),
        (&["abcde"], within(Top, 3, Top, Kept::Kept), &["abcde"]),
        // Carried card by card from an end onto the same end, a card comes back to where it was: counting
        // cards off and onto the same packet needs the table in between.
        (&["abcde"], within(Top, 3, Top, Kept::Reversed), &["cbade"]),
        (&["abcde"], within(Bottom, 3, Bottom, Kept::Kept), &["abcde"]),
        (&["abcde"], within(Bottom, 3, Bottom, Kept::Reversed), &["abedc"]),
        (&["abCde", "", ""], deal(5, None), &["", "eCa", "db"]),
        (&["abCde", "x", ""], deal(3, Some(true)), &["de", "CAx", "B"]),
        (&["abCde", "X", ""], deal(4, Some(false)), &["e", "caX", "db"]),
        (&["abcde", "", ""], deal(0, None), &["abcde", "", ""]),
        (&["ab", "cd", "ef"], Move::Gather { piles: vec![A, B], onto: C }, &["", "", "abcdef"]),
        (&["ab", "cd", "ef"], Move::Gather { piles: vec![C, A, B], onto: A }, &["efabcd", "", ""]),
        (&["ab", "cd", "ef"], Move::Gather { piles: vec![], onto: A }, &["ab", "cd", "ef"]),
        (&["abcd", "x"], elimination(0, false), &["", "dbcax"]),
        (&["abcd", ""], elimination(1, false), &["d", "bca"]),
        (&["abcd", ""], elimination(2, false), &["db", "ca"]),
        (&["abcd", ""], elimination(4, false), &["abcd", ""]),
        (&["abcd", ""], elimination(0, true), &["", "acdb"]),
        (&["abcd", ""], elimination(1, true), &["a", "cdb"]),
        (&["abcd", ""], elimination(2, true), &["ac", "db"]),
        (&["abcdef"], Move::Klondike(A), &["cdbeaf"]),
        (&["abcde"], Move::Klondike(A), &["cbdae"]),
        (&["abcdef"], Move::Monge(A, Over::Over), &["fdbace"]),
        (&["abcdef"], Move::Monge(A, Over::Under), &["ecabdf"]),
        (&["abcdef"], Move::Faro(A, Weave::Out), &["adbecf"]),
        (&["abcdef"], Move::Faro(A, Weave::In), &["daebfc"]),
        (&["abcde"], Move::Faro(A, Weave::Out), &["adbec"]),
        (&["abcde"], Move::Faro(A, Weave::In), &["cadbe"]),
        (&["abcde"], Move::InverseFaro(A, Halves::OddsOnTop), &["acebd"]),
        (&["abcde"], Move::InverseFaro(A, Halves::EvensOnTop), &["bdace"]),
        (&["ab", "cd", "x"], Move::Riffle { left: A, right: B, to: C }, &["", "", "abcdx"]),
        (&["abcD"], Move::Turn { pile: A, count: 2 }, &["BAcD"]),
        (&["abcD"], Move::Turn { pile: A, count: 4 }, &["dCBA"]),
        (&["abcDe"], turn_each(&[4, 1]), &["Abcde"]),
        (&["abcde"], turn_each(&[5]), &["abcdE"]),
        (&["abcde"], turn_each(&[]), &["abcde"]),
        (&["abCde"], Move::Reverse(A), &["edCba"]),
        (&["abcde", "xy"], take(1, Top), &["bcde", "axy"]),
        (&["abcde", "xy"], take(3, Top), &["abde", "cxy"]),
        (&["abcde", "xy"], take(5, Bottom), &["abcd", "xye"]),
        (&["abcde"], Move::Take { from: A, at: Place(3), to: A, put: Top }, &["cabde"]),
        (&["abcde"], Move::Take { from: A, at: Place(3), to: A, put: Bottom }, &["abdec"]),
        (&["abc", "xy"], put(1), &["bc", "axy"]),
        (&["abc", "xy"], put(2), &["bc", "xay"]),
        (&["abc", "xy"], put(3), &["bc", "xya"]),
        (&["abc"], Move::Put { from: A, to: A, at: Place(3) }, &["bca"]),
        (&["abc"], Move::Put { from: A, to: A, at: Place(1) }, &["abc"]),
        (&["abCde"], swap(2, 5), &["aeCdb"]),
        (&["abCde"], swap(3, 2), &["aCbde"]),
        (&["abcdefgh"], swap(4, 7), &["abcgefdh"]),
        (&["abCde"], swap(3, 3), &["abCde"]),
    ]
}

#[test]
fn every_example_in_the_definitions_comes_out_as_written() {
    for (before, mv, after) in examples() {
        let mut table = lay(before);
        assert_eq!(act(&mv, &mut table, &mut Forced), Ok(()), "{mv:?}");
        assert_eq!(shown(&table), after, "{mv:?} on {before:?}");
    }
}

#[test]
fn free_moves_follow_the_choices_given() {
    let mut table = lay(&["abc", "xy", ""]);
    let riffle = Move::Riffle {
        left: A,
        right: B,
        to: B,
    };
    let weave = [false, true, true, false, true];
    assert_eq!(act(&riffle, &mut table, &mut ByWeave::new(&weave)), Ok(()));
    assert_eq!(shown(&table), ["", "xabyc", ""]);

    let mut table = lay(&["abcde"]);
    let chunks = [2, 1, 2];
    let overhand = Move::Overhand(A);
    assert_eq!(
        act(&overhand, &mut table, &mut ByChunks::new(&chunks)),
        Ok(())
    );
    assert_eq!(shown(&table), ["decab"]);
}

#[test]
fn no_move_minds_an_empty_packet_or_a_single_card() {
    for packet in ["", "q"] {
        let moves = [
            Move::Cut { pile: A, at: 0 },
            Move::Klondike(A),
            Move::Monge(A, Over::Over),
            Move::Monge(A, Over::Under),
            Move::Faro(A, Weave::Out),
            Move::Faro(A, Weave::In),
            Move::InverseFaro(A, Halves::OddsOnTop),
            Move::InverseFaro(A, Halves::EvensOnTop),
            Move::Overhand(A),
            Move::Reverse(A),
            turn_each(&[]),
        ];
        for mv in moves {
            let mut table = lay(&[packet]);
            assert_eq!(act(&mv, &mut table, &mut Forced), Ok(()), "{mv:?}");
            assert_eq!(shown(&table), [packet], "{mv:?}");
        }
    }
}
