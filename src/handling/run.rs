//! Running a program on a table.
use super::choose::{Chooser, Forced};
use super::define::program;
use super::fault::HandlingFault;
use super::moves::Move;
use super::program::{Carry, End, Op, Program};
use crate::cards::Card;
use crate::table::{Laid, PileId, Table};

/// Runs a program, asking the chooser at each free point.
///
/// # Errors
/// When a card is missing, the choices do not fit, or the program was made for another table; the
/// table is then left as it was.
pub fn run(
    program: &Program,
    table: &mut Table,
    chooser: &mut impl Chooser,
) -> Result<(), HandlingFault> {
    if table.count() != usize::from(program.piles) {
        return Err(HandlingFault::Misfit);
    }
    let before = table.clone();
    let outcome = run_in_place(program, table, chooser);
    if outcome.is_err() {
        *table = before;
    }
    outcome
}

fn run_in_place(
    program: &Program,
    table: &mut Table,
    chooser: &mut impl Chooser,
) -> Result<(), HandlingFault> {
    let piles = usize::from(program.piles);
    table.add_scratch(usize::from(program.scratch));
    perform(&program.ops, table, chooser)?;
    let scratch_is_clear = table.piles().skip(piles).all(|(_, pile)| pile.is_empty());
    if !scratch_is_clear || table.count() > piles + usize::from(program.scratch) {
        return Err(HandlingFault::Misfit);
    }
    table.forget_scratch(piles);
    chooser.verdict()
}

/// The body of the instruction at `at`, and where the program goes on after it.
fn body_of(ops: &[Op], at: usize, length: u16) -> Result<(&[Op], usize), HandlingFault> {
    let end = at + 1 + usize::from(length);
    let body = ops.get(at + 1..end).ok_or(HandlingFault::Misfit)?;
    Ok((body, end))
}

/// A body once. Most bodies are one card, which is worth doing without a call.
#[inline]
fn once(body: &[Op], table: &mut Table, chooser: &mut impl Chooser) -> Result<(), HandlingFault> {
    match *body {
        [Op::Carry(carried)] => carry(carried, table),
        [Op::Carry(first), Op::Carry(second)] => {
            carry(first, table)?;
            carry(second, table)
        }
        _ => perform(body, table, chooser),
    }
}

fn perform(ops: &[Op], table: &mut Table, chooser: &mut impl Chooser) -> Result<(), HandlingFault> {
    let mut at = 0;
    while let Some(op) = ops.get(at) {
        at = match *op {
            Op::Carry(carried) => {
                carry(carried, table)?;
                at + 1
            }
            Op::Times { count, body } => {
                let (body, end) = body_of(ops, at, body)?;
                for _ in 0..count {
                    once(body, table, chooser)?;
                }
                end
            }
            Op::While { pile, body } => {
                let (body, end) = body_of(ops, at, body)?;
                while table.size(pile) > 0 {
                    once(body, table, chooser)?;
                }
                end
            }
            Op::WhileEither { left, right, body } => {
                let (body, end) = body_of(ops, at, body)?;
                while table.size(left) > 0 || table.size(right) > 0 {
                    once(body, table, chooser)?;
                }
                end
            }
            Op::Either(first, second) => {
                let (left, right) = (table.size(first.from), table.size(second.from));
                let takes_first = if left > 0 && right > 0 {
                    chooser.from_left(left, right)
                } else {
                    chooser.forced(left > 0);
                    left > 0
                };
                carry(if takes_first { first } else { second }, table)?;
                at + 1
            }
            Op::Maybe { remaining, body } => {
                let (body, end) = body_of(ops, at, body)?;
                let left = table.size(remaining);
                let does_it = if left > 0 {
                    chooser.here(left)
                } else {
                    chooser.forced(true);
                    true
                };
                if does_it {
                    perform(body, table, chooser)?;
                }
                end
            }
        };
    }
    Ok(())
}

#[inline]
fn carry(carry: Carry, table: &mut Table) -> Result<(), HandlingFault> {
    let from = table.pile_mut(carry.from);
    let taken = match carry.take {
        End::Top => from.pop_front(),
        End::Bottom => from.pop_back(),
    };
    let card = carry.face.apply(taken.ok_or(HandlingFault::TooFew {
        pile: carry.from,
        wanted: 1,
        has: 0,
    })?);
    let to = table.pile_mut(carry.to);
    match carry.put {
        End::Top => to.push_front(card),
        End::Bottom => to.push_back(card),
    }
    Ok(())
}

/// The permutation of a move on one packet of `n` cards in pile 0: for each place from the top, the place
/// (0-based) from which its card came. Piles beside it that the move names are empty before.
///
/// # Errors
/// When the move cannot be done on so many cards, hangs on choices, or leaves cards in several piles.
pub fn permutation(mv: &Move, n: u16) -> Result<Vec<u16>, HandlingFault> {
    permutation_of(std::slice::from_ref(mv), n)
}

/// The permutation of several moves one after the other, as in [`permutation`]; only the last must
/// leave all cards in one pile.
///
/// # Errors
/// As in [`permutation`].
pub fn permutation_of(moves: &[Move], n: u16) -> Result<Vec<u16>, HandlingFault> {
    let piles = moves
        .iter()
        .flat_map(Move::piles)
        .map(|pile| pile.index() + 1)
        .max()
        .unwrap_or(1);
    let mut table = Table::empty(piles);
    *table.pile_mut(PileId(0)) = (0..n).map(|card| Laid::new(Card(card), false)).collect();
    for mv in moves {
        let program = program(mv, &table)?;
        if program.is_free() {
            return Err(HandlingFault::NotOnePacket);
        }
        run(&program, &mut table, &mut Forced)?;
    }
    let mut packets = table.piles().filter(|(_, pile)| !pile.is_empty());
    let packet = packets.next();
    if packets.next().is_some() {
        return Err(HandlingFault::NotOnePacket);
    }
    Ok(packet.map_or_else(Vec::new, |(_, pile)| {
        pile.iter().map(|laid| laid.card().0).collect()
    }))
}
