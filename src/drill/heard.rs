//! What the performer can work out from what was said aloud alone.

use super::say;
use crate::roads::Sighted;
use crate::routine::{Blank, Expr, NameId, Routine, Stop};

/// So many reckonings may rest on each other.
const DEEPEST: u8 = 8;

/// Whether nothing goes into the value of an expression that the performer has not heard.
pub(super) fn open(routine: &Routine, heard: &[Sighted], expr: &Expr) -> bool {
    open_to(routine, heard, expr, DEEPEST)
}

/// Whether nothing goes into the patter of a step that the performer has not heard.
pub(super) fn open_line(routine: &Routine, heard: &[Sighted], stop: &Stop) -> bool {
    stop.say.0.iter().all(|blank| match blank {
        Blank::Plain(_) => true,
        Blank::Value(expr) => open(routine, heard, expr),
    })
}

fn open_to(routine: &Routine, heard: &[Sighted], expr: &Expr, depth: u8) -> bool {
    let reads = expr.reads();
    !reads.places
        && !reads.faces
        && !reads.sizes
        && reads
            .names
            .iter()
            .all(|name| known(routine, heard, *name, depth))
}

fn known(routine: &Routine, heard: &[Sighted], name: NameId, depth: u8) -> bool {
    let said = heard.iter().any(|sighted| match sighted {
        Sighted::Choice(of, _) | Sighted::Reply(of, _) => *of == name,
        Sighted::Stop(_)
        | Sighted::Part { .. }
        | Sighted::Card { .. }
        | Sighted::Trait { .. }
        | Sighted::Count { .. }
        | Sighted::Value { .. } => false,
    });
    said || depth > 0
        && say::made_at(routine, name).is_some_and(|(_, stop)| {
            stop.reckonings
                .iter()
                .any(|made| made.name == name && open_to(routine, heard, &made.is, depth - 1))
        })
}
