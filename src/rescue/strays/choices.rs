//! What is said otherwise than offered, changed afterwards, refused or forgotten.

use super::{after, instead};
use crate::rescue::ground::{Case, Doing, Layout, When, bare};
use crate::routine::{
    Expr, Fork, ForkKind, KnownStray, NameId, Seen, Stop, StopIndex, Stray, Then, Value, Weights,
};

/// On which side of the range a number lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Beyond {
    /// Above it.
    High,
    /// Below it.
    Low,
    /// It is nought, and the range begins above it.
    Nought,
}

/// A number that the step does not offer is named, and taken.
pub(super) fn names(laid: &mut Layout, at: StopIndex, stop: &Stop, stray: Stray, beyond: Beyond) {
    if let Some(fork) = out_of_range(stop, beyond) {
        let done = Stop {
            fork: Some(fork),
            ..stop.clone()
        };
        instead(laid, at, stop, stray, done);
    }
}

/// The step's number fork with one number out of its range.
fn out_of_range(stop: &Stop, beyond: Beyond) -> Option<Fork> {
    let asked = stop.fork.as_ref()?;
    let ForkKind::Number { from, to, by } = &asked.kind else {
        return None;
    };
    let fixed = |expr: &Expr| expr.fixed().and_then(|value: &Value| value.as_int().ok());
    let number = match beyond {
        Beyond::High => fixed(to)? + i64::from(*by),
        Beyond::Low => Some(fixed(from)? - i64::from(*by)).filter(|n| *n > 0)?,
        Beyond::Nought => Some(0).filter(|_| fixed(from).is_some_and(|least| least > 0))?,
    };
    Some(Fork {
        kind: ForkKind::Number {
            from: Expr::number(number),
            to: Expr::number(number),
            by: 1,
        },
        weights: Weights::Even,
        ..asked.clone()
    })
}

/// The step is not done, and what would have been worked out from the choice is not known.
pub(super) fn refuses(laid: &mut Layout, at: StopIndex, stop: &Stop, stray: Stray) {
    if let Some(fork) = &stop.fork {
        let mut missing = vec![fork.name];
        let mut reckonings = stop.reckonings.clone();
        reckonings.retain(|made| {
            let reads = made.is.reads();
            let lacks = missing.iter().any(|name| reads.names.contains(name));
            if lacks {
                missing.push(made.name);
            }
            !lacks
        });
        let done = Stop {
            fork: None,
            reckonings,
            acts: Vec::new(),
            reply: None,
            sights: Vec::new(),
            ..stop.clone()
        };
        instead(laid, at, stop, stray, done);
    }
}

/// Choices made up to this step that something later goes by, with the stop where each is made.
fn made_before(laid: &Layout, at: StopIndex, stop: &Stop) -> Vec<(StopIndex, Fork)> {
    let nexts = laid.nexts(stop);
    let read = |name: NameId| {
        nexts
            .iter()
            .filter_map(|next| laid.needed.get(next.index()))
            .any(|names| names.contains(&name))
    };
    let depends = |name: NameId| read(name) || reckoned(laid, at, name).iter().any(|n| read(*n));
    (0..=at.0)
        .map(StopIndex)
        .filter_map(|made| Some((made, laid.routine.stop(made)?.fork.clone()?)))
        .filter(|(_, fork)| depends(fork.name))
        .collect()
}

/// The values that are worked out, up to this step, from a choice and from nothing on the table.
fn reckoned(laid: &Layout, at: StopIndex, name: NameId) -> Vec<NameId> {
    reckonings(laid, at, name)
        .iter()
        .map(|made| made.name)
        .collect()
}

fn reckonings(laid: &Layout, at: StopIndex, name: NameId) -> Vec<crate::routine::Reckoning> {
    let mut from = vec![name];
    let mut found = Vec::new();
    for stop in laid.routine.stops.iter().take(at.index() + 1) {
        for made in &stop.reckonings {
            let reads = made.is.reads();
            let off_the_table =
                !(reads.sizes || reads.places || reads.facing || reads.faces || reads.identity);
            if off_the_table && reads.names.iter().any(|name| from.contains(name)) {
                from.push(made.name);
                found.push(made.clone());
            }
        }
    }
    found
}

/// A choice that was heard is to be another now: it is remembered as the new one, what was worked out from it and from nothing on the
/// table is worked out anew, and the cards stay as they lie.
pub(super) fn changes(laid: &mut Layout, at: StopIndex, stop: &Stop) {
    let stray = Stray::Known(KnownStray::ChangesTheirMind);
    for (_, made) in made_before(laid, at, stop) {
        let fixed = match &made.kind {
            ForkKind::Number { from, to, .. } => from.fixed().is_some() && to.fixed().is_some(),
            ForkKind::Option(_) | ForkKind::Pile(_) | ForkKind::PileOrder(_) => true,
            ForkKind::Place(_)
            | ForkKind::Card(_)
            | ForkKind::Cards { .. }
            | ForkKind::Cut { .. }
            | ForkKind::Riffle { .. }
            | ForkKind::Overhand(_)
            | ForkKind::Again { .. } => false,
        };
        if !fixed || made.seen != Seen::All {
            continue;
        }
        let reckonings = reckonings(laid, at, made.name);
        let name = made.name;
        let made = Fork {
            weights: Weights::Even,
            ..made
        };
        let before = laid.cases.len();
        after(laid, at, stop, stray, (Vec::new(), 0), &|_| Stop {
            fork: Some(made.clone()),
            reckonings: reckonings.clone(),
            ..bare("", Then::Finish)
        });
        for case in &mut laid.cases[before..] {
            case.name = Some(name);
        }
    }
}

/// A choice that only the spectator knew is gone.
pub(super) fn forgets(laid: &mut Layout, at: StopIndex, stop: &Stop) {
    let stray = Stray::Known(KnownStray::Forgets);
    for (_, made) in made_before(laid, at, stop) {
        let secret = matches!(
            made.kind,
            ForkKind::Number { .. } | ForkKind::Option(_) | ForkKind::Card(_) | ForkKind::Place(_)
        );
        if secret && made.seen == Seen::Nothing {
            laid.cases.push(Case {
                stop: at,
                stray,
                when: When::After,
                piles: Vec::new(),
                name: Some(made.name),
                often: stop.strays.contains(&stray),
                doing: Doing::Forget(made.name),
                least: 0,
            });
        }
    }
}
