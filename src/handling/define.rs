//! The program of each move: its one definition.
use super::fault::HandlingFault;
use super::moves::{Halves, Kept, Move, Over, Weave};
use super::program::{Carry, End, Facing, Op, Program, Writer};
use crate::table::{PileId, Place, Table};
use End::{Bottom, Top};

/// The most scratch piles that a move uses.
const MOST_SCRATCH: u8 = 3;

/// The program of a move on this table. The table decides only whether the move can be done and how
/// many cards it moves, never which.
///
/// # Errors
/// When a pile does not exist, is named twice where it must not be, or lacks the cards or the place.
pub fn program(mv: &Move, table: &Table) -> Result<Program, HandlingFault> {
    let piles = u8::try_from(table.count())
        .ok()
        .filter(|&piles| piles <= u8::MAX - MOST_SCRATCH)
        .ok_or(HandlingFault::TooManyPiles)?;
    let ready = Ready { table };
    let mut w = Writer::new(piles);
    match *mv {
        Move::Cut { pile, at } => {
            ready.holds(pile, at)?;
            w.times(at, |w| w.carry(pile, Top, pile, Bottom));
        }
        Move::Block {
            from,
            take,
            count,
            to,
            put,
            order,
        } => {
            ready.holds(from, count)?;
            ready.exists(to)?;
            block(&mut w, (from, take), count, (to, put), order);
        }
        Move::Deal {
            from,
            ref to,
            count,
            up,
        } => {
            ready.holds(from, count)?;
            for &pile in to {
                ready.two(from, pile)?;
            }
            deal(&mut w, from, to, count, up)?;
        }
        Move::Gather { ref piles, onto } => {
            ready.exists(onto)?;
            ready.all_different(piles)?;
            let packet = w.scratch();
            for &pile in piles {
                w.lay_under(pile, packet);
            }
            w.lay_on_top(packet, onto);
        }
        Move::DownUnder {
            pile,
            to,
            leave,
            first_under,
        } => {
            let n = ready.holds(pile, leave)?;
            ready.two(pile, to)?;
            down_under(&mut w, pile, to, n - leave, first_under);
        }
        Move::Klondike(pile) => {
            let n = ready.holds(pile, 0)?;
            let milked = w.scratch();
            w.times(n / 2, |w| {
                w.carry(pile, Bottom, milked, Top);
                w.carry(pile, Top, milked, Top);
            });
            w.times(n % 2, |w| w.carry(pile, Top, milked, Top));
            w.lay_on_top(milked, pile);
        }
        Move::Monge(pile, second) => {
            let n = ready.holds(pile, 0)?;
            let (odd, even) = match second {
                Over::Over => (Bottom, Top),
                Over::Under => (Top, Bottom),
            };
            let packet = w.scratch();
            w.times(n / 2, |w| {
                w.carry(pile, Top, packet, odd);
                w.carry(pile, Top, packet, even);
            });
            w.times(n % 2, |w| w.carry(pile, Top, packet, odd));
            w.lay_on_top(packet, pile);
        }
        Move::Faro(pile, weave) => {
            let n = ready.holds(pile, 0)?;
            faro(&mut w, pile, n, weave);
        }
        Move::InverseFaro(pile, halves) => {
            let n = ready.holds(pile, 0)?;
            let odds = w.scratch();
            w.times(n / 2, |w| {
                w.carry(pile, Top, odds, Bottom);
                w.carry(pile, Top, pile, Bottom);
            });
            w.times(n % 2, |w| w.carry(pile, Top, odds, Bottom));
            match halves {
                Halves::OddsOnTop => w.lay_on_top(odds, pile),
                Halves::EvensOnTop => w.lay_under(odds, pile),
            }
        }
        Move::Riffle { left, right, to } => {
            ready.two(left, right)?;
            ready.exists(to)?;
            let packet = w.scratch();
            w.while_either(left, right, |w| {
                w.op(Op::Either(
                    Carry::new(left, Top, packet, Bottom),
                    Carry::new(right, Top, packet, Bottom),
                ));
            });
            w.lay_on_top(packet, to);
        }
        Move::Overhand(pile) => {
            ready.exists(pile)?;
            let (chunk, packet) = (w.scratch(), w.scratch());
            w.while_holds(pile, |w| {
                w.carry(pile, Top, chunk, Bottom);
                w.maybe(pile, |w| w.lay_on_top(chunk, packet));
            });
            w.lay_on_top(packet, pile);
        }
        Move::Turn { pile, count } => {
            ready.holds(pile, count)?;
            let block = w.scratch();
            w.times(count, |w| {
                w.op(Op::Carry(
                    Carry::new(pile, Top, block, Top).facing(Facing::TurnedOver),
                ));
            });
            w.lay_on_top(block, pile);
        }
        Move::TurnEach { pile, ref places } => {
            let n = ready.holds(pile, 0)?;
            turn_each(&mut w, pile, n, &ready.indices(pile, places)?);
        }
        Move::Reverse(pile) => {
            let n = ready.holds(pile, 0)?;
            let packet = w.scratch();
            w.times(n, |w| w.carry(pile, Top, packet, Top));
            w.lay_on_top(packet, pile);
        }
        Move::Take { from, at, to, put } => {
            let above = ready.index(from, at, 0)?;
            ready.exists(to)?;
            let (held, card) = (w.scratch(), w.scratch());
            w.times(above, |w| w.carry(from, Top, held, Top));
            w.carry(from, Top, card, Top);
            w.times(above, |w| w.carry(held, Top, from, Top));
            w.carry(card, Top, to, put);
        }
        Move::Put { from, to, at } => {
            ready.holds(from, 1)?;
            // Its own place is free again once the card has been taken off its own pile.
            let above = ready.index(to, at, u16::from(from != to))?;
            let (card, held) = (w.scratch(), w.scratch());
            w.carry(from, Top, card, Top);
            w.times(above, |w| w.carry(to, Top, held, Top));
            w.carry(card, Top, to, Top);
            w.times(above, |w| w.carry(held, Top, to, Top));
        }
        Move::Swap { pile, a, b } => {
            let (a, b) = (ready.index(pile, a, 0)?, ready.index(pile, b, 0)?);
            swap(&mut w, pile, a.min(b), a.max(b));
        }
    }
    Ok(w.done())
}

/// Cards carried straight from end to end change order where the ends are alike, and keep it where they
/// differ. For the other order they rest on the table in between, and so they do where they would only come back one
/// by one to the very end they are taken from.
fn block(
    w: &mut Writer,
    (from, take): (PileId, End),
    count: u16,
    (to, put): (PileId, End),
    order: Kept,
) {
    let straight = if take == put {
        Kept::Reversed
    } else {
        Kept::Kept
    };
    if order == straight && (from, take) != (to, put) {
        w.times(count, |w| w.carry(from, take, to, put));
        return;
    }
    let rest = w.scratch();
    let again = if order == straight { Bottom } else { Top };
    w.times(count, |w| w.carry(from, take, rest, Top));
    w.times(count, |w| w.carry(rest, again, to, put));
}

fn deal(
    w: &mut Writer,
    from: PileId,
    to: &[PileId],
    count: u16,
    up: Option<bool>,
) -> Result<(), HandlingFault> {
    if count == 0 {
        return Ok(());
    }
    let round = u16::try_from(to.len())
        .ok()
        .filter(|&round| round > 0)
        .ok_or(HandlingFault::NoPiles)?;
    let face = match up {
        None => Facing::AsItLies,
        Some(true) => Facing::Up,
        Some(false) => Facing::Down,
    };
    let one = |w: &mut Writer, pile: PileId| {
        w.op(Op::Carry(Carry::new(from, Top, pile, Top).facing(face)));
    };
    w.times(count / round, |w| {
        for &pile in to {
            one(w, pile);
        }
    });
    for &pile in &to[..usize::from(count % round)] {
        one(w, pile);
    }
    Ok(())
}

fn down_under(w: &mut Writer, pile: PileId, to: PileId, deals: u16, first_under: bool) {
    if first_under {
        w.times(deals, |w| {
            w.carry(pile, Top, pile, Bottom);
            w.carry(pile, Top, to, Top);
        });
    } else {
        w.times(deals.saturating_sub(1), |w| {
            w.carry(pile, Top, to, Top);
            w.carry(pile, Top, pile, Bottom);
        });
        w.times(deals.min(1), |w| w.carry(pile, Top, to, Top));
    }
}

/// The top half is lifted off; then the halves feed the bottom of the packet in turn.
fn faro(w: &mut Writer, pile: PileId, n: u16, weave: Weave) {
    let top_half = w.scratch();
    let lifted = match weave {
        Weave::Out => n.div_ceil(2),
        Weave::In => n / 2,
    };
    w.times(lifted, |w| w.carry(pile, Top, top_half, Bottom));
    let (first, second) = match weave {
        Weave::Out => (top_half, pile),
        Weave::In => (pile, top_half),
    };
    w.times(n / 2, |w| {
        w.carry(first, Top, pile, Bottom);
        w.carry(second, Top, pile, Bottom);
    });
    w.times(n % 2, |w| w.carry(first, Top, pile, Bottom));
}

/// The packet is gone through once, from the top to under itself; `turned` are indices in rising order.
fn turn_each(w: &mut Writer, pile: PileId, n: u16, turned: &[u16]) {
    let mut seen = 0;
    for &index in turned {
        w.times(index - seen, |w| w.carry(pile, Top, pile, Bottom));
        w.op(Op::Carry(
            Carry::new(pile, Top, pile, Bottom).facing(Facing::TurnedOver),
        ));
        seen = index + 1;
    }
    if seen > 0 {
        w.times(n - seen, |w| w.carry(pile, Top, pile, Bottom));
    }
}

/// `upper` and `lower` are indices, `upper` not below `lower`.
fn swap(w: &mut Writer, pile: PileId, upper: u16, lower: u16) {
    if upper == lower {
        return;
    }
    let between = lower - upper - 1;
    let (held, one, other) = (w.scratch(), w.scratch(), w.scratch());
    w.times(upper, |w| w.carry(pile, Top, held, Top));
    w.carry(pile, Top, one, Top);
    w.times(between, |w| w.carry(pile, Top, held, Top));
    w.carry(pile, Top, other, Top);
    w.carry(one, Top, pile, Top);
    w.times(between, |w| w.carry(held, Top, pile, Top));
    w.carry(other, Top, pile, Top);
    w.times(upper, |w| w.carry(held, Top, pile, Top));
}

/// Looks whether the table is ready for a move.
struct Ready<'a> {
    table: &'a Table,
}

impl Ready<'_> {
    fn exists(&self, pile: PileId) -> Result<(), HandlingFault> {
        if pile.index() < self.table.count() {
            Ok(())
        } else {
            Err(HandlingFault::NoPile(pile))
        }
    }
    /// The size of a pile that must hold at least so many.
    fn holds(&self, pile: PileId, wanted: u16) -> Result<u16, HandlingFault> {
        self.exists(pile)?;
        let has = self.table.size(pile);
        let wanted = usize::from(wanted);
        match u16::try_from(has) {
            Ok(size) if has >= wanted => Ok(size),
            Ok(_) | Err(_) => Err(HandlingFault::TooFew { pile, wanted, has }),
        }
    }
    /// Two different piles.
    fn two(&self, one: PileId, other: PileId) -> Result<(), HandlingFault> {
        self.exists(one)?;
        self.exists(other)?;
        if one == other {
            return Err(HandlingFault::PileTwice(one));
        }
        Ok(())
    }
    fn all_different(&self, piles: &[PileId]) -> Result<(), HandlingFault> {
        for (n, &pile) in piles.iter().enumerate() {
            self.exists(pile)?;
            if piles[..n].contains(&pile) {
                return Err(HandlingFault::PileTwice(pile));
            }
        }
        Ok(())
    }
    /// The index of a place of a pile, which may lie so many cards beyond its bottom.
    fn index(&self, pile: PileId, place: Place, beyond: u16) -> Result<u16, HandlingFault> {
        let has = self.holds(pile, 0)?;
        place
            .0
            .checked_sub(1)
            .filter(|&index| index < has.saturating_add(beyond))
            .ok_or(HandlingFault::NoPlace {
                pile,
                place,
                has: usize::from(has),
            })
    }
    /// The indices of places, all different, in rising order.
    fn indices(&self, pile: PileId, places: &[Place]) -> Result<Vec<u16>, HandlingFault> {
        let mut indices = places
            .iter()
            .map(|&place| self.index(pile, place, 0))
            .collect::<Result<Vec<_>, _>>()?;
        indices.sort_unstable();
        match indices.windows(2).find(|two| two[0] == two[1]) {
            Some(twice) => Err(HandlingFault::PlaceTwice(Place(twice[0] + 1))),
            None => Ok(indices),
        }
    }
}
