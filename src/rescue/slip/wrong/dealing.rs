//! What can go wrong where cards are dealt or lifted onto piles, and where piles are gathered.

use super::{Ways, Wrong, across};
use crate::handling::{End, Kept, Move};
use crate::rescue::slip::kind::SlipKind;
use crate::table::PileId;
use itertools::Itertools;

/// Up to so many piles every order in which they may be gathered is looked at; of more only neighbours swapped.
const MOST_ORDERED: usize = 4;

impl Ways<'_> {
    pub(super) fn block(
        &mut self,
        (from, take): (PileId, End),
        count: u16,
        (to, put): (PileId, End),
        order: Kept,
    ) {
        let with = |from, take, count, to, put, order| Move::Block {
            from,
            take,
            count,
            to,
            put,
            order,
        };
        self.counts(count, |count| with(from, take, count, to, put, order));
        self.taken_from_others(from, |from| with(from, take, count, to, put, order));
        self.put_on_others(from, to, |to| with(from, take, count, to, put, order));
        self.one(
            Wrong::PutAcross,
            SlipKind::UnderOver,
            with(from, take, count, to, across(put), order),
        );
        self.one(
            Wrong::TakenAcross,
            SlipKind::UnderOver,
            with(from, across(take), count, to, put, order),
        );
        if count > 1 {
            let (wrong, kind, other) = match order {
                Kept::Kept => (Wrong::CountedOff, SlipKind::CountedOff, Kept::Reversed),
                Kept::Reversed => (Wrong::Lifted, SlipKind::Lifted, Kept::Kept),
            };
            self.one(wrong, kind, with(from, take, count, to, put, other));
            if order == Kept::Reversed {
                self.last_across(to, put);
            }
        }
    }

    pub(super) fn deal(&mut self, from: PileId, to: &[PileId], count: u16, up: Option<bool>) {
        let with = |from, to: Vec<PileId>, count, up| Move::Deal {
            from,
            to,
            count,
            up,
        };
        self.counts(count, |count| with(from, to.to_vec(), count, up));
        for pile in self.piles() {
            if pile != from && !to.contains(&pile) && self.table.size(pile) > 0 {
                self.one(
                    Wrong::From(pile),
                    SlipKind::WrongPile,
                    with(pile, to.to_vec(), count, up),
                );
            }
            for (n, meant) in to.iter().enumerate() {
                if pile != from && !to.contains(&pile) {
                    let mut to = to.to_vec();
                    to[n] = pile;
                    self.one(
                        Wrong::To(*meant, pile),
                        SlipKind::WrongPile,
                        with(from, to, count, up),
                    );
                }
            }
        }
        if usize::from(count) > to.len() {
            self.lifted(from, to, count);
        }
        for n in 1..to.len() {
            let mut round = to.to_vec();
            round.rotate_left(n);
            self.one(
                Wrong::Began(to[n]),
                SlipKind::Began,
                with(from, round, count, up),
            );
        }
        if to.len() > 2 {
            let back = to.iter().rev().copied().collect();
            self.one(
                Wrong::Backwards,
                SlipKind::Began,
                with(from, back, count, up),
            );
        }
        if let Some(up) = up {
            self.one(
                Wrong::OtherFace,
                SlipKind::Turned,
                with(from, to.to_vec(), count, Some(!up)),
            );
        }
        if let Some(last) = count
            .checked_sub(1)
            .and_then(|before| to.get(usize::from(before).checked_rem(to.len())?))
        {
            self.last_across(*last, End::Top);
        }
    }

    /// Each pile gets its share as a block, in its order and facing as it lay.
    pub(super) fn lifted(&mut self, from: PileId, to: &[PileId], count: u16) {
        let piles = u16::try_from(to.len()).unwrap_or(u16::MAX);
        let (each, over) = (count / piles, usize::from(count % piles));
        let moves = to
            .iter()
            .enumerate()
            .map(|(n, pile)| Move::Block {
                from,
                take: End::Top,
                count: each + u16::from(n < over),
                to: *pile,
                put: End::Top,
                order: Kept::Kept,
            })
            .collect();
        self.add(Wrong::Lifted, SlipKind::Lifted, moves);
    }

    pub(super) fn gather(&mut self, piles: &[PileId], onto: PileId) {
        let with = |piles: Vec<PileId>| Move::Gather { piles, onto };
        for order in orders(piles) {
            if order != piles {
                self.one(Wrong::Order(order.clone()), SlipKind::Gathered, with(order));
            }
        }
        for forgotten in piles {
            if self.table.size(*forgotten) > 0 {
                let rest = piles.iter().copied().filter(|p| p != forgotten).collect();
                self.one(Wrong::Forgotten(*forgotten), SlipKind::Gathered, with(rest));
            }
        }
        for other in self.piles() {
            if other != onto && !piles.contains(&other) {
                let piles = piles.to_vec();
                let mv = Move::Gather { piles, onto: other };
                self.one(Wrong::To(onto, other), SlipKind::WrongPile, mv);
            }
        }
    }

    pub(super) fn down_under(&mut self, pile: PileId, to: PileId, leave: u16, first_under: bool) {
        let with = |leave, first_under| Move::DownUnder {
            pile,
            to,
            leave,
            first_under,
        };
        // One card fewer is dealt where one more is left.
        self.one(Wrong::Fewer, SlipKind::Count, with(leave + 1, first_under));
        if leave > 0 {
            self.one(Wrong::More, SlipKind::Count, with(leave - 1, first_under));
        }
        self.one(Wrong::Other, SlipKind::UnderOver, with(leave, !first_under));
        self.put_on_others(pile, to, |to| Move::DownUnder {
            pile,
            to,
            leave,
            first_under,
        });
        self.taken_from_others(pile, |pile| Move::DownUnder {
            pile,
            to,
            leave,
            first_under,
        });
        let n = u16::try_from(self.table.size(pile)).unwrap_or(u16::MAX);
        let dealt = n.saturating_sub(leave);
        for after in 1..dealt {
            let begin = with(n - after, first_under);
            // A card goes under next; here it does so twice, or not at all.
            let under = vec![begin.clone(), Move::Cut { pile, at: 1 }, with(leave, true)];
            self.add(
                Wrong::Beat { after, down: false },
                SlipKind::LostBeat,
                under,
            );
            let down = vec![begin, with(leave, false)];
            self.add(Wrong::Beat { after, down: true }, SlipKind::LostBeat, down);
        }
        if dealt > 0 {
            self.last_across(to, End::Top);
        }
    }
}

/// The orders in which piles may be picked up.
fn orders(piles: &[PileId]) -> Vec<Vec<PileId>> {
    if piles.len() > MOST_ORDERED {
        return (1..piles.len())
            .map(|n| {
                let mut order = piles.to_vec();
                order.swap(n - 1, n);
                order
            })
            .collect();
    }
    piles.iter().copied().permutations(piles.len()).collect()
}
