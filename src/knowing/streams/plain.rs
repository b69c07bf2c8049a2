//! What may be worked out on a world with tokens.
//!
//! A token is a card whose print is not known, and a print that is needed is a fault. Which card it is, though, can be looked at
//! without a fault: the token at a place is not the seven of hearts as far as numbers go, while it may be on some outcomes. So
//! whatever compares cards, or looks for one, is not plain.

use crate::knowing::reads::stop_reads;
use crate::routine::{Expr, ForkKind, Kind, NameId, Routine, Stop, Value, World};

/// Whether working an expression out on a world with tokens gives what it would give on each outcome, or a fault: it must not look at
/// which card a card is.
#[must_use]
pub fn is_plain_with_tokens(expr: &Expr, world: &World) -> bool {
    let cards = |name| matches!(world.value(name), Some(Value::Card(_)));
    !expr.part().looks_at_identity(&cards)
}

/// Whether the step that comes next does on a world with tokens what it would do on each outcome, or gives a fault. The way on to the
/// endings is part of it, its claims are not.
#[must_use]
pub fn step_is_plain_with_tokens(routine: &Routine, world: &World) -> bool {
    let Some(stop) = routine.stop(world.at) else {
        return true;
    };
    let cards = |name| may_be_card(routine, name);
    let plain = |expr: &Expr| !expr.part().looks_at_identity(&cards);
    let fork = match stop.fork.as_ref().map(|fork| &fork.kind) {
        Some(ForkKind::Card(pile)) => {
            let mut pile = world.table.pile(*pile).iter();
            pile.all(|laid| world.face_of(laid.card()).is_some())
        }
        Some(
            ForkKind::Number { .. }
            | ForkKind::Option(_)
            | ForkKind::Pile(_)
            | ForkKind::PileOrder(_)
            | ForkKind::Place(_)
            | ForkKind::Cards { .. }
            | ForkKind::Cut { .. }
            | ForkKind::Riffle { .. }
            | ForkKind::Overhand(_)
            | ForkKind::Again { .. },
        )
        | None => true,
    };
    fork && stop_reads(stop, true, &plain)
        && routine
            .endings
            .iter()
            .filter_map(|ending| ending.when.as_ref())
            .all(plain)
}

/// Whether a step looks at which way cards face: then it may not be taken once for cards that face either way.
#[must_use]
pub fn step_looks_at_facing(routine: &Routine, stop: &Stop) -> bool {
    let blind = |expr: &Expr| !expr.part().looks_at_facing();
    let endings = routine.endings.iter().filter_map(|e| e.when.as_ref());
    !stop_reads(stop, true, &blind) || !endings.into_iter().all(blind)
}

/// Whether a remembered name may stand for a card.
fn may_be_card(routine: &Routine, name: NameId) -> bool {
    let card = |kind: Kind| kind.fits(Kind::Card);
    routine.stops.iter().any(|stop| {
        let fork = stop.fork.as_ref().filter(|fork| fork.name == name);
        fork.is_some_and(|fork| matches!(fork.kind, ForkKind::Card(_)))
            || stop
                .reckonings
                .iter()
                .any(|r| r.name == name && card(r.is.kind()))
            || stop
                .reply
                .iter()
                .any(|r| r.name == name && card(r.is.kind()))
    })
}
