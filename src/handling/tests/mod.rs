//! What every move must do, on all small packets and on random larger ones.
mod examples;
mod faults;
mod free;
mod laws;

use super::{Chooser, HandlingFault, Move, program, run};
use crate::cards::Card;
use crate::table::{Laid, PileId, Table};

const A: PileId = PileId(0);
const B: PileId = PileId(1);
const C: PileId = PileId(2);

/// A table as letters: each text is a pile, its top card first; small letters lie face down, capitals
/// face up.
fn lay(piles: &[&str]) -> Table {
    let mut table = Table::empty(piles.len());
    for (n, pile) in piles.iter().enumerate() {
        *table.pile_mut(PileId(u8::try_from(n).unwrap())) = pile
            .bytes()
            .map(|letter| {
                let card = Card(u16::from(letter.to_ascii_lowercase() - b'a'));
                Laid::new(card, letter.is_ascii_uppercase())
            })
            .collect();
    }
    table
}

/// A table as the letters of [`lay`].
fn shown(table: &Table) -> Vec<String> {
    table
        .piles()
        .map(|(_, pile)| {
            pile.iter()
                .map(|laid| {
                    let letter = char::from(b'a' + u8::try_from(laid.card().0).unwrap());
                    if laid.face_up() {
                        letter.to_ascii_uppercase()
                    } else {
                        letter
                    }
                })
                .collect()
        })
        .collect()
}

fn act(mv: &Move, table: &mut Table, chooser: &mut impl Chooser) -> Result<(), HandlingFault> {
    run(&program(mv, table)?, table, chooser)
}
