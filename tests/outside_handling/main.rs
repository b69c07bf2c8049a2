//! The handling moves against facts from outside the project: published theorems, and permutations
//! worked out another way. Each value has its source beside it.

mod deals;
mod group;
mod reference;
mod riffles;
mod set_ups;
mod shuffles;

use allroads::cards::Card;
use allroads::handling::{Chooser, HandlingFault, Move, program, run};
use allroads::table::{Laid, Pile, PileId, Table};

/// The packet.
const A: PileId = PileId(0);
/// Piles beside it.
const B: PileId = PileId(1);
const C: PileId = PileId(2);
const D: PileId = PileId(3);

/// Cards `0, 1, …` in this order, face down.
fn packet(cards: impl IntoIterator<Item = u16>) -> Pile {
    cards
        .into_iter()
        .map(|card| Laid::new(Card(card), false))
        .collect()
}

/// A table of so many piles with cards `0..n` in the first.
fn table(piles: usize, n: u16) -> Table {
    let mut table = Table::empty(piles);
    *table.pile_mut(A) = packet(0..n);
    table
}

/// The numbers of a pile's cards, top first.
fn order(table: &Table, pile: PileId) -> Vec<u16> {
    table.pile(pile).iter().map(|laid| laid.card().0).collect()
}

fn act(mv: &Move, table: &mut Table, chooser: &mut impl Chooser) -> Result<(), HandlingFault> {
    run(&program(mv, table)?, table, chooser)
}

/// How often a permutation must be done until every card is back.
fn times_to_restore(permutation: &[u16]) -> u64 {
    let mut seen = vec![false; permutation.len()];
    let mut order = 1;
    for start in 0..permutation.len() {
        let mut length = 0;
        let mut at = start;
        while !seen[at] {
            seen[at] = true;
            at = usize::from(permutation[at]);
            length += 1;
        }
        if length > 0 {
            order = lcm(order, length);
        }
    }
    order
}

fn lcm(a: u64, b: u64) -> u64 {
    let (mut x, mut y) = (a, b);
    while y > 0 {
        (x, y) = (y, x % y);
    }
    a / x * b
}
