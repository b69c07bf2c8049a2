//! What can go wrong with one thing done: every slip of every move, as moves again.
//!
//! A slip is never special to a routine: it is made from the move alone, and the table says only how many cards there are. What the
//! hands did instead is told as moves, which run by their own programs like all others.

mod dealing;

use super::kind::SlipKind;
use crate::handling::{End, Halves, Kept, Move, Over, Weave};
use crate::table::{PileId, Place, Table};

/// What the hands did instead.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Wrong {
    /// Nothing.
    LeftOut,
    /// The same twice.
    Twice,
    /// One card, or one round, more.
    More,
    /// One fewer.
    Fewer,
    /// Lifted as a block.
    Lifted,
    /// Counted one by one.
    CountedOff,
    /// From this pile.
    From(PileId),
    /// Onto the second pile instead of the first.
    To(PileId, PileId),
    /// Laid on the other end.
    PutAcross,
    /// Taken from the other end.
    TakenAcross,
    /// The other of two kinds: under for over, in for out, the other half on top.
    Other,
    /// Gathered in this order, top first.
    Order(Vec<PileId>),
    /// This pile forgotten.
    Forgotten(PileId),
    /// Dealing begun at this pile, and on round from there.
    Began(PileId),
    /// Dealt round the other way.
    Backwards,
    /// The last card laid on the other end.
    LastAcross,
    /// The card one place below the one meant; the index says which of several.
    Below(u16),
    /// The card one place above it.
    Above(u16),
    /// Face up for face down, or face down for face up.
    OtherFace,
    /// Turned one by one, where a block should be turned; or a block, where single cards should be.
    OtherTurn,
    /// The order reversed, but not turned over.
    NotTurned,
    /// The other way of two.
    OtherWay,
    /// After so many cards dealt one went under twice in a row, or two went down in a row.
    Beat {
        /// So many cards had been dealt.
        after: u16,
        /// Two down in a row; else twice under.
        down: bool,
    },
    /// After it, the card at this place of this pile fell out and was put back at an end.
    Dropped {
        /// Of this pile.
        pile: PileId,
        /// From this place.
        at: Place,
        /// To this end.
        to: End,
    },
    /// Before it a card had left the table.
    Lost,
}

/// A way in which a move goes wrong, and what is done instead.
#[derive(Debug, Clone)]
pub struct Instead {
    /// What goes wrong.
    pub wrong: Wrong,
    /// Of which kind that is.
    pub kind: SlipKind,
    /// What is done.
    pub moves: Vec<Move>,
}

/// Gathers the ways.
struct Ways<'a> {
    mv: &'a Move,
    table: &'a Table,
    found: Vec<Instead>,
}

/// Every way in which a move can go wrong on a table. Some of them change nothing there, or cannot be done: whoever runs them sees.
#[must_use]
pub fn instead(mv: &Move, table: &Table) -> Vec<Instead> {
    let mut ways = Ways {
        mv,
        table,
        found: Vec::new(),
    };
    ways.add(Wrong::LeftOut, SlipKind::LeftOut, Vec::new());
    ways.add(Wrong::Twice, SlipKind::Twice, vec![mv.clone(), mv.clone()]);
    ways.own();
    ways.found
}

/// The ways in which a card falls after a move: from any place of a pile that the move names onto either end of it.
#[must_use]
pub fn drops(piles: &[PileId], after: &Table) -> Vec<Instead> {
    let mut piles = piles.to_vec();
    piles.sort_unstable();
    piles.dedup();
    let mut found = Vec::new();
    for pile in piles {
        let n = u16::try_from(after.size(pile)).unwrap_or(u16::MAX);
        for at in 1..=n {
            for to in [End::Top, End::Bottom] {
                let stays = match to {
                    End::Top => at == 1,
                    End::Bottom => at == n,
                };
                if stays {
                    continue;
                }
                let at = Place(at);
                found.push(Instead {
                    wrong: Wrong::Dropped { pile, at, to },
                    kind: SlipKind::Dropped,
                    moves: vec![Move::Take {
                        from: pile,
                        at,
                        to: pile,
                        put: to,
                    }],
                });
            }
        }
    }
    found
}

fn across(end: End) -> End {
    match end {
        End::Top => End::Bottom,
        End::Bottom => End::Top,
    }
}

/// The lowest or uppermost card of a pile goes to its other end.
fn to_other_end(pile: PileId, lies: End) -> Move {
    Move::Block {
        from: pile,
        take: lies,
        count: 1,
        to: pile,
        put: across(lies),
        order: Kept::Kept,
    }
}

impl Ways<'_> {
    fn add(&mut self, wrong: Wrong, kind: SlipKind, moves: Vec<Move>) {
        self.found.push(Instead { wrong, kind, moves });
    }

    fn one(&mut self, wrong: Wrong, kind: SlipKind, mv: Move) {
        self.add(wrong, kind, vec![mv]);
    }

    fn piles(&self) -> impl Iterator<Item = PileId> + use<> {
        (0..self.table.count()).filter_map(|n| u8::try_from(n).ok().map(PileId))
    }

    /// One more and one fewer; none at all is left out.
    fn counts(&mut self, count: u16, with: impl Fn(u16) -> Move) {
        self.one(Wrong::More, SlipKind::Count, with(count.saturating_add(1)));
        if let Some(fewer) = count.checked_sub(1).filter(|fewer| *fewer > 0) {
            self.one(Wrong::Fewer, SlipKind::Count, with(fewer));
        }
    }

    /// Another pile that holds cards in the place of one taken from.
    fn taken_from_others(&mut self, from: PileId, with: impl Fn(PileId) -> Move) {
        for pile in self.piles() {
            if pile != from && self.table.size(pile) > 0 {
                self.one(Wrong::From(pile), SlipKind::WrongPile, with(pile));
            }
        }
    }

    /// Another pile in the place of one that receives cards; never onto the pile they come from.
    fn put_on_others(&mut self, from: PileId, to: PileId, with: impl Fn(PileId) -> Move) {
        for pile in self.piles() {
            if pile != to && pile != from {
                self.one(Wrong::To(to, pile), SlipKind::WrongPile, with(pile));
            }
        }
    }

    /// The place below and above one that is named.
    fn places(&mut self, which: u16, at: Place, with: impl Fn(Place) -> Move) {
        self.one(
            Wrong::Below(which),
            SlipKind::Place,
            with(Place(at.0.saturating_add(1))),
        );
        if at.0 > 1 {
            self.one(Wrong::Above(which), SlipKind::Place, with(Place(at.0 - 1)));
        }
    }

    /// What is wrong in a way of the move's own.
    fn own(&mut self) {
        let mv = self.mv;
        match *mv {
            Move::Cut { pile, at } => self.cut(pile, at),
            Move::Block {
                from,
                take,
                count,
                to,
                put,
                order,
            } => self.block((from, take), count, (to, put), order),
            Move::Deal {
                from,
                ref to,
                count,
                up,
            } => self.deal(from, to, count, up),
            Move::Gather { ref piles, onto } => self.gather(piles, onto),
            Move::DownUnder {
                pile,
                to,
                leave,
                first_under,
            } => self.down_under(pile, to, leave, first_under),
            Move::Klondike(pile) => self.klondike(pile),
            Move::Monge(pile, second) => {
                let other = match second {
                    Over::Over => Over::Under,
                    Over::Under => Over::Over,
                };
                self.one(Wrong::Other, SlipKind::UnderOver, Move::Monge(pile, other));
                self.taken_from_others(pile, |pile| Move::Monge(pile, second));
                let even = self.table.size(pile).is_multiple_of(2);
                let last = match (second, even) {
                    (Over::Over, true) | (Over::Under, false) => End::Top,
                    (Over::Over, false) | (Over::Under, true) => End::Bottom,
                };
                self.last_across(pile, last);
            }
            Move::Faro(pile, weave) => {
                let other = match weave {
                    Weave::In => Weave::Out,
                    Weave::Out => Weave::In,
                };
                self.one(Wrong::Other, SlipKind::InOut, Move::Faro(pile, other));
                self.taken_from_others(pile, |pile| Move::Faro(pile, weave));
            }
            Move::InverseFaro(pile, halves) => {
                let other = match halves {
                    Halves::OddsOnTop => Halves::EvensOnTop,
                    Halves::EvensOnTop => Halves::OddsOnTop,
                };
                self.one(
                    Wrong::Other,
                    SlipKind::InOut,
                    Move::InverseFaro(pile, other),
                );
                self.taken_from_others(pile, |pile| Move::InverseFaro(pile, halves));
            }
            // How they fall is the spectators' affair; only cards that drop are looked for after them.
            Move::Riffle { .. } | Move::Overhand(_) => {}
            Move::Turn { pile, count } => self.turn(pile, count),
            Move::TurnEach { pile, ref places } => self.turn_each(pile, places),
            Move::Reverse(pile) => self.taken_from_others(pile, Move::Reverse),
            Move::Take { from, at, to, put } => {
                self.places(0, at, |at| Move::Take { from, at, to, put });
                self.taken_from_others(from, |from| Move::Take { from, at, to, put });
                self.put_on_others(from, to, |to| Move::Take { from, at, to, put });
                let put = across(put);
                self.one(
                    Wrong::PutAcross,
                    SlipKind::UnderOver,
                    Move::Take { from, at, to, put },
                );
            }
            Move::Put { from, to, at } => {
                self.places(0, at, |at| Move::Put { from, to, at });
                self.taken_from_others(from, |from| Move::Put { from, to, at });
                self.put_on_others(from, to, |to| Move::Put { from, to, at });
            }
            Move::Swap { pile, a, b } => {
                self.places(0, a, |a| Move::Swap { pile, a, b });
                self.places(1, b, |b| Move::Swap { pile, a, b });
                self.taken_from_others(pile, |pile| Move::Swap { pile, a, b });
            }
        }
    }

    /// The last card, which lies at this end of this pile once the move is done, goes to the other.
    fn last_across(&mut self, pile: PileId, lies: End) {
        let moves = vec![self.mv.clone(), to_other_end(pile, lies)];
        self.add(Wrong::LastAcross, SlipKind::LastAcross, moves);
    }

    fn klondike(&mut self, pile: PileId) {
        self.taken_from_others(pile, Move::Klondike);
        let n = u16::try_from(self.table.size(pile)).unwrap_or(u16::MAX);
        let odd = n % 2;
        // Of each pair the other card uppermost; the middle card of an odd packet lies on top of them.
        let first = Place(1 + odd);
        let pairs = (0..n / 2).map(|pair| Move::Swap {
            pile,
            a: Place(first.0 + 2 * pair),
            b: Place(first.0 + 2 * pair + 1),
        });
        let moves = std::iter::once(self.mv.clone()).chain(pairs).collect();
        self.add(Wrong::Other, SlipKind::UnderOver, moves);
        if odd == 1 {
            self.last_across(pile, End::Top);
        }
    }

    fn cut(&mut self, pile: PileId, at: u16) {
        self.counts(at, |at| Move::Cut { pile, at });
        self.taken_from_others(pile, |pile| Move::Cut { pile, at });
        if at > 1 {
            self.one(
                Wrong::CountedOff,
                SlipKind::CountedOff,
                Move::Block {
                    from: pile,
                    take: End::Top,
                    count: at,
                    to: pile,
                    put: End::Bottom,
                    order: Kept::Reversed,
                },
            );
        }
    }

    fn turn(&mut self, pile: PileId, count: u16) {
        self.counts(count, |count| Move::Turn { pile, count });
        let table = self.table;
        // Where the whole pile is turned, the wrong one is turned as a whole.
        let whole = usize::from(count) == table.size(pile);
        self.taken_from_others(pile, |pile| Move::Turn {
            pile,
            count: if whole {
                u16::try_from(table.size(pile)).unwrap_or(u16::MAX)
            } else {
                count
            },
        });
        if count > 1 {
            self.one(
                Wrong::OtherTurn,
                SlipKind::Turned,
                Move::TurnEach {
                    pile,
                    places: (1..=count).map(Place).collect(),
                },
            );
            self.one(
                Wrong::NotTurned,
                SlipKind::Turned,
                Move::Block {
                    from: pile,
                    take: End::Top,
                    count,
                    to: pile,
                    put: End::Top,
                    order: Kept::Reversed,
                },
            );
        }
    }

    fn turn_each(&mut self, pile: PileId, places: &[Place]) {
        for (n, at) in places.iter().enumerate() {
            let which = u16::try_from(n).unwrap_or(u16::MAX);
            self.places(which, *at, |at| {
                let mut places = places.to_vec();
                places[n] = at;
                Move::TurnEach { pile, places }
            });
        }
        self.taken_from_others(pile, |pile| Move::TurnEach {
            pile,
            places: places.to_vec(),
        });
        let top = places.len() > 1
            && (1..=places.len()).all(|n| places.contains(&Place::from_index(n - 1)));
        if top {
            let count = u16::try_from(places.len()).unwrap_or(u16::MAX);
            self.one(
                Wrong::OtherTurn,
                SlipKind::Turned,
                Move::Turn { pile, count },
            );
        }
    }
}
