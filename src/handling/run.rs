//! Running a program on a table.
use super::moves::{HandlingFault, Move};
use super::program::Program;
use crate::table::Table;
/// Decides the free points of a program.
pub trait Chooser {
    /// From the left pile next? Both hold cards: so many left and right.
    fn from_left(&mut self, left: usize, right: usize) -> bool;
    /// Do it here? So many cards remain in hand.
    fn here(&mut self, remaining: usize) -> bool;
}
/// The chooser of moves without free points.
#[derive(Debug, Clone, Copy)]
pub struct Forced;
impl Chooser for Forced {
    fn from_left(&mut self, _: usize, _: usize) -> bool {
        true
    }
    fn here(&mut self, _: usize) -> bool {
        false
    }
}
/// Runs a program.
///
/// # Errors
/// When a card is missing; the table is then left as it was.
pub fn run(
    _program: &Program,
    _table: &mut Table,
    _chooser: &mut impl Chooser,
) -> Result<(), HandlingFault> {
    Ok(())
}
/// The permutation of a move on one packet of `n` cards in pile 0: for each place from the top, the place (0-based) from which its card came.
///
/// # Errors
/// When the move cannot be done on so many cards.
pub fn permutation(_mv: &Move, _n: u16) -> Result<Vec<u16>, HandlingFault> {
    Ok(Vec::new())
}
