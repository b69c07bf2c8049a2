//! What each stray that the program knows does, exactly, and where it makes sense.
//!
//! A stray after a step happens to each pile that the step names and that something later still looks at; where the step names none, to any
//! such pile. A choice is changed or forgotten only while something later goes by it. A count, a lift, a deal or a number is done
//! otherwise only where the step has one.
//!
//! | file | what it lays out |
//! | --- | --- |
//! | `piles` | what happens to a pile after the step |
//! | `otherwise` | a count, a lift or a deal done otherwise |
//! | `choices` | what is said otherwise, changed, refused or forgotten |

mod choices;
mod otherwise;
mod piles;

use super::ground::{Case, Doing, Layout, When, bare};
use crate::routine::{
    Act, Fork, ForkKind, KnownStray, NameId, Seen, Stop, StopIndex, Stray, Template, Then, Weights,
};
use crate::table::PileId;
use choices::Beyond;
use otherwise::Otherwise;

/// Lays out every case.
pub(super) fn lay_out(laid: &mut Layout) {
    for n in 0..laid.own {
        let at = StopIndex(u16::try_from(n).unwrap_or(u16::MAX));
        let Some(stop) = laid.routine.stop(at).cloned() else {
            continue;
        };
        // Whether they go round again is no step of its own.
        if matches!(stop.then, Then::Gate { .. }) {
            continue;
        }
        for known in KnownStray::ALL {
            known_at(laid, at, &stop, known);
        }
        for own in 0..laid.routine.strays.len() {
            own_at(laid, at, &stop, own);
        }
    }
}

fn own_at(laid: &mut Layout, at: StopIndex, stop: &Stop, own: usize) {
    let stray = Stray::Own(u16::try_from(own).unwrap_or(u16::MAX));
    let Some(known) = laid.routine.strays.get(own).cloned() else {
        return;
    };
    if !stop.strays.contains(&stray) {
        return;
    }
    let shape = |_: &Layout| Stop {
        fork: known.fork.clone(),
        acts: known.acts.clone(),
        sights: known.sights.clone(),
        ..bare("", Then::Finish)
    };
    after(laid, at, stop, stray, (Vec::new(), 0), &shape);
}

/// Adds a case that happens right after a step, where the road goes on then.
pub(super) fn after(
    laid: &mut Layout,
    at: StopIndex,
    stop: &Stop,
    stray: Stray,
    (piles, least): (Vec<PileId>, usize),
    shape: &dyn Fn(&Layout) -> Stop,
) {
    let nexts = laid.nexts(stop);
    if nexts.is_empty() {
        return;
    }
    let id = id_of(laid, stray, stop);
    let stops = nexts
        .into_iter()
        .map(|next| {
            let shaped = shape(laid);
            let first = laid.push(Stop {
                id: id.id.clone(),
                then: Then::Go(next),
                ..shaped
            });
            (next, first)
        })
        .collect();
    laid.cases.push(Case {
        stop: at,
        stray,
        when: When::After,
        piles,
        name: None,
        often: stop.strays.contains(&stray),
        doing: Doing::Stops(stops),
        least,
    });
}

/// Adds a case that happens in the place of a step.
pub(super) fn instead(laid: &mut Layout, at: StopIndex, stop: &Stop, stray: Stray, done: Stop) {
    let id = id_of(laid, stray, stop).id;
    let first = laid.push(Stop { id, ..done });
    laid.cases.push(Case {
        stop: at,
        stray,
        when: When::Instead,
        piles: Vec::new(),
        name: stop.fork.as_ref().map(|fork| fork.name),
        often: stop.strays.contains(&stray),
        doing: Doing::Stops(vec![(at, first)]),
        least: 0,
    });
}

pub(super) fn id_of(laid: &Layout, stray: Stray, stop: &Stop) -> Stop {
    let what = match stray {
        Stray::Known(known) => known.id(),
        Stray::Own(n) => laid
            .routine
            .strays
            .get(usize::from(n))
            .map_or("", |own| &*own.id.0),
    };
    bare(&format!("{what} at {}", stop.id), Then::Finish)
}

pub(super) fn fork(name: NameId, kind: ForkKind, seen: Seen) -> Fork {
    Fork {
        name,
        kind,
        weights: Weights::Even,
        says: Template::default(),
        seen,
    }
}

fn known_at(laid: &mut Layout, at: StopIndex, stop: &Stop, known: KnownStray) {
    let stray = Stray::Known(known);
    match known {
        KnownStray::CutsAgain | KnownStray::TurnsABlock => {
            piles::to_piles(laid, at, stop, known, &Seen::All);
        }
        KnownStray::CutsUnseen
        | KnownStray::ShufflesOverhand
        | KnownStray::DropsACard
        | KnownStray::BuriesTheTop
        | KnownStray::Peeks
        | KnownStray::TurnsThePacket
        | KnownStray::TurnsACard
        | KnownStray::TakesACard => piles::to_piles(laid, at, stop, known, &Seen::Nothing),
        KnownStray::Riffles => piles::riffles(laid, at, stop),
        KnownStray::SwapsPiles => piles::swaps_piles(laid, at, stop),
        KnownStray::ReordersPiles => piles::reorders_piles(laid, at, stop),
        KnownStray::LeavesTheCut => {
            let cuts = |act: &Act| matches!(act, Act::Cut { .. });
            if stop.fork.is_some() && stop.acts.iter().any(cuts) {
                let acts = stop.acts.iter().filter(|act| !cuts(act)).cloned();
                let done = Stop {
                    acts: acts.collect(),
                    ..stop.clone()
                };
                instead(laid, at, stop, stray, done);
            }
        }
        KnownStray::OneTooMany => counts(laid, at, stop, stray, Otherwise::More),
        KnownStray::OneTooFew => counts(laid, at, stop, stray, Otherwise::Fewer),
        KnownStray::DealsInstead => counts(laid, at, stop, stray, Otherwise::Dealt),
        KnownStray::LiftsInstead => counts(laid, at, stop, stray, Otherwise::Lifted),
        KnownStray::ChangesTheirMind => choices::changes(laid, at, stop),
        KnownStray::NamesTooHigh => choices::names(laid, at, stop, stray, Beyond::High),
        KnownStray::NamesTooLow => choices::names(laid, at, stop, stray, Beyond::Low),
        KnownStray::NamesNought => choices::names(laid, at, stop, stray, Beyond::Nought),
        KnownStray::Refuses => choices::refuses(laid, at, stop, stray),
        KnownStray::WantsItAgain => {
            if stop.fork.is_some() && !stop.acts.is_empty() {
                let again = stop.clone();
                after(laid, at, stop, stray, (Vec::new(), 0), &|_| Stop {
                    claims: Vec::new(),
                    ..again.clone()
                });
            }
        }
        KnownStray::Forgets => choices::forgets(laid, at, stop),
    }
}

/// A step in which a count, a deal or a lift is done otherwise.
fn counts(laid: &mut Layout, at: StopIndex, stop: &Stop, stray: Stray, how: Otherwise) {
    if let Some(acts) = otherwise::done(laid, &stop.acts, how) {
        let done = Stop {
            acts,
            ..stop.clone()
        };
        instead(laid, at, stop, stray, done);
    }
}
