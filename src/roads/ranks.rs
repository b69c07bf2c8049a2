//! The number of a branch among the branches of its fork, and back, without listing them.

use super::domain::{Domain, Span, binomial};
use crate::routine::Value;
use crate::table::PileId;

impl Domain {
    /// The branch with this number, counted from 0 in the order of [`Domain::branches`]; `None` where there is none, or there are
    /// too many to be numbered.
    #[must_use]
    pub fn nth(&self, n: u128) -> Option<Value> {
        if n >= self.count() || self.count() == u128::MAX {
            return None;
        }
        match &self.span {
            Span::Numbers { from, by, .. } => {
                let steps = i64::try_from(n).ok()?;
                Some(Value::Int(from.checked_add(by.checked_mul(steps)?)?))
            }
            Span::Listed(values) => values.get(usize::try_from(n).ok()?).cloned(),
            Span::Orders(piles) => Some(Value::Order(nth_order(piles, n)?.into())),
            Span::Subsets { of, k } => Some(Value::Places(nth_subset(*of, *k, n).into())),
            Span::Weaves { left, right } => Some(Value::Weave(nth_weave(*left, *right, n).into())),
            Span::Chunks { cards } => Some(Value::Chunks(nth_chunks(*cards, n).into())),
        }
    }

    /// The number of a branch, counted from 0 in the order of [`Domain::branches`]; `None` where it is none, or there are too many to
    /// be numbered.
    #[must_use]
    pub fn rank(&self, value: &Value) -> Option<u128> {
        if !self.contains(value) || self.count() == u128::MAX {
            return None;
        }
        match (&self.span, value) {
            (Span::Numbers { from, by, .. }, Value::Int(n)) => u128::try_from((n - from) / by).ok(),
            (Span::Listed(values), value) => {
                values.iter().position(|v| v == value).map(|n| n as u128)
            }
            (Span::Orders(piles), Value::Order(order)) => Some(order_rank(piles, order)),
            (Span::Subsets { of, k }, Value::Places(places)) => Some(subset_rank(*of, *k, places)),
            (Span::Weaves { left, right }, Value::Weave(weave)) => {
                Some(weave_rank(*left, *right, weave))
            }
            (Span::Chunks { cards }, Value::Chunks(chunks)) => Some(chunks_rank(*cards, chunks)),
            (
                Span::Numbers { .. }
                | Span::Orders(_)
                | Span::Subsets { .. }
                | Span::Weaves { .. }
                | Span::Chunks { .. },
                _,
            ) => None,
        }
    }
}

fn factorial(n: usize) -> u128 {
    (1..=n as u128).fold(1, u128::saturating_mul)
}

fn nth_order(piles: &[PileId], mut n: u128) -> Option<Vec<PileId>> {
    let mut left = piles.to_vec();
    let mut order = Vec::with_capacity(left.len());
    while !left.is_empty() {
        let rest = factorial(left.len() - 1);
        order.push(left.remove(usize::try_from(n / rest).ok()?));
        n %= rest;
    }
    Some(order)
}

fn order_rank(piles: &[PileId], order: &[PileId]) -> u128 {
    let mut left = piles.to_vec();
    let mut rank = 0;
    for pile in order {
        let at = left.iter().position(|p| p == pile).unwrap_or(0);
        left.remove(at);
        rank += at as u128 * factorial(left.len());
    }
    rank
}

/// How many ways there are to choose the rest when this is the next place chosen and so many are still to be chosen after it.
fn after_place(of: u16, place: u16, still: u16) -> u128 {
    binomial(u128::from(of - place), u128::from(still))
}

fn nth_subset(of: u16, k: u16, mut n: u128) -> Vec<u16> {
    let mut places = Vec::with_capacity(usize::from(k));
    let mut place = 1;
    while places.len() < usize::from(k) && place <= of {
        let still = k - places.len() as u16 - 1;
        let with = after_place(of, place, still);
        if n < with {
            places.push(place);
        } else {
            n -= with;
        }
        place += 1;
    }
    places
}

fn subset_rank(of: u16, k: u16, places: &[u16]) -> u128 {
    let mut rank = 0;
    let mut place = 1;
    for (chosen, wanted) in places.iter().enumerate() {
        while place < *wanted {
            rank += after_place(of, place, k - chosen as u16 - 1);
            place += 1;
        }
        place += 1;
    }
    rank
}

/// How many interleavings go on with a card from the right.
fn from_the_right(left: u16, right: u16) -> u128 {
    if right == 0 {
        return 0;
    }
    binomial(u128::from(left) + u128::from(right) - 1, u128::from(left))
}

fn nth_weave(mut left: u16, mut right: u16, mut n: u128) -> Vec<bool> {
    let mut weave = Vec::with_capacity(usize::from(left) + usize::from(right));
    while left + right > 0 {
        let from_right = from_the_right(left, right);
        let from_left = n >= from_right;
        weave.push(from_left);
        if from_left {
            n -= from_right;
            left -= 1;
        } else {
            right -= 1;
        }
    }
    weave
}

fn weave_rank(mut left: u16, mut right: u16, weave: &[bool]) -> u128 {
    let mut rank = 0;
    for from_left in weave {
        if *from_left {
            rank += from_the_right(left, right);
            left = left.saturating_sub(1);
        } else {
            right = right.saturating_sub(1);
        }
    }
    rank
}

/// Between two cards a chunk ends (the first half of what is left) or goes on (the second half).
fn nth_chunks(cards: u16, n: u128) -> Vec<u16> {
    let mut chunks = Vec::new();
    let mut here = 0;
    for between in (0..cards).rev() {
        here += 1;
        let goes_on = between > 0 && n >> (between - 1) & 1 == 1;
        if !goes_on {
            chunks.push(here);
            here = 0;
        }
    }
    chunks
}

fn chunks_rank(cards: u16, chunks: &[u16]) -> u128 {
    let mut rank = 0;
    let mut left = cards;
    for chunk in chunks {
        for _ in 1..*chunk {
            left = left.saturating_sub(1);
            rank |= 1 << left.saturating_sub(1);
        }
        left = left.saturating_sub(1);
    }
    rank
}

#[cfg(test)]
mod tests {
    use crate::roads::domain;
    use crate::roads::fixtures::{fork, name, packet, stop};
    use crate::roads::unknown_start;
    use crate::routine::{Expr, ForkKind, Seen};
    use crate::table::PileId;
    use proptest::prelude::*;

    fn kinds(n: i64) -> Vec<ForkKind> {
        vec![
            ForkKind::Number {
                from: Expr::number(-2),
                to: Expr::number(3 * n),
                by: 3,
            },
            ForkKind::Option(["a", "b", "c"].map(Into::into).to_vec()),
            ForkKind::PileOrder([PileId(1), PileId(0)].to_vec()),
            ForkKind::Cards {
                pile: PileId(0),
                count: Expr::number(n / 2),
            },
            ForkKind::Card(PileId(0)),
            ForkKind::Cut {
                pile: PileId(0),
                least: 1,
            },
            ForkKind::Riffle {
                left: PileId(0),
                right: PileId(1),
            },
            ForkKind::Overhand(PileId(0)),
        ]
    }

    proptest! {
        #[test]
        fn branches_are_numbered_in_the_order_in_which_they_are_listed(right in 0_usize..4) {
            for kind in 0..kinds(6).len() {
                let mut routine = packet("AC 2H 3C 4H 5C 6H");
                for _ in 0..right {
                    let card = routine.start.pile_mut(PileId(0)).pop_back().unwrap();
                    routine.start.pile_mut(PileId(1)).push_back(card);
                }
                let choice = name(&mut routine, "choice");
                let kind = kinds(6 - right as i64).swap_remove(kind);
                stop(&mut routine, "it", fork(choice, kind, Seen::All), Vec::new());
                let open = domain(&routine, &unknown_start(&routine)).unwrap().unwrap();
                let listed: Vec<_> = open.branches().collect();
                prop_assert_eq!(listed.len() as u128, open.count());
                for (n, branch) in listed.iter().enumerate() {
                    prop_assert_eq!(open.nth(n as u128), Some(branch.clone()));
                    prop_assert_eq!(open.rank(branch), Some(n as u128));
                }
                prop_assert_eq!(open.nth(open.count()), None);
            }
        }
    }

    #[test]
    fn a_branch_among_too_many_to_list_is_found_at_once() {
        // 52 over 26, from any table of binomial coefficients.
        let mut routine = packet(
            "AC 2C 3C 4C 5C 6C 7C 8C 9C 10C JC QC KC AH 2H 3H 4H 5H 6H 7H 8H 9H 10H JH QH KH \
            AS 2S 3S 4S 5S 6S 7S 8S 9S 10S JS QS KS AD 2D 3D 4D 5D 6D 7D 8D 9D 10D JD QD KD",
        );
        for _ in 0..26 {
            let card = routine.start.pile_mut(PileId(0)).pop_back().unwrap();
            routine.start.pile_mut(PileId(1)).push_back(card);
        }
        let choice = name(&mut routine, "choice");
        let kind = ForkKind::Riffle {
            left: PileId(0),
            right: PileId(1),
        };
        stop(
            &mut routine,
            "it",
            fork(choice, kind, Seen::Nothing),
            Vec::new(),
        );
        let open = domain(&routine, &unknown_start(&routine)).unwrap().unwrap();
        assert_eq!(open.count(), 495_918_532_948_104);
        for n in [0, 1, 123_456_789_012_345, 495_918_532_948_103] {
            assert_eq!(open.rank(&open.nth(n).unwrap()), Some(n));
        }
        assert_eq!(open.nth(495_918_532_948_103), open.last());
    }
}
