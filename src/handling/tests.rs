//! What every move must do, on all small packets and on random larger ones.
use super::*;
use crate::table::PileId;

const P: PileId = PileId(0);

#[test]
fn smoke() {
    let p = |m: Move, n| permutation(&m, n).unwrap();
    assert_eq!(p(Move::Faro(P, Weave::Out), 6), [0, 3, 1, 4, 2, 5]);
    assert_eq!(p(Move::Faro(P, Weave::In), 6), [3, 0, 4, 1, 5, 2]);
    assert_eq!(p(Move::Faro(P, Weave::Out), 5), [0, 3, 1, 4, 2]);
    assert_eq!(p(Move::Faro(P, Weave::In), 5), [2, 0, 3, 1, 4]);
    assert_eq!(p(Move::Klondike(P), 5), [2, 1, 3, 0, 4]);
    assert_eq!(p(Move::Monge(P, Over::Over), 5), [3, 1, 0, 2, 4]);
    assert_eq!(p(Move::Monge(P, Over::Under), 5), [4, 2, 0, 1, 3]);
    assert_eq!(p(Move::Cut { pile: P, at: 2 }, 5), [2, 3, 4, 0, 1]);
}
