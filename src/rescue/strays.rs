//! What each stray that the program knows does, exactly, and where it makes sense.
//!
//! A stray after a step happens to each pile that the step names and that something later still looks at; where the step names none, to any
//! such pile. A choice is changed or forgotten only while something later goes by it. A count, a lift, a deal or a number is done
//! otherwise only where the step has one.

use super::ground::{Case, Doing, Layout, When, bare, piles_of};
use crate::handling::{End, Kept};
use crate::routine::{
    Act, Expr, Fork, ForkKind, KnownStray, NameId, Seen, Stop, StopIndex, Stray, Template, Then,
    Value, Weights,
};
use crate::table::PileId;
use std::sync::Arc;

/// Pairs of more piles than this are not told apart one by one.
const MOST_PILES: usize = 5;

/// What a stray does to a pile: what is chosen in it, and the acts.
type Shape = (Option<ForkKind>, Vec<Act>);

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
fn after(
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
fn instead(laid: &mut Layout, at: StopIndex, stop: &Stop, stray: Stray, done: Stop) {
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

fn id_of(laid: &Layout, stray: Stray, stop: &Stop) -> Stop {
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

fn fork(name: NameId, kind: ForkKind, seen: Seen) -> Fork {
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
            to_piles(laid, at, stop, known, &Seen::All);
        }
        KnownStray::CutsUnseen
        | KnownStray::ShufflesOverhand
        | KnownStray::DropsACard
        | KnownStray::BuriesTheTop
        | KnownStray::Peeks
        | KnownStray::TurnsThePacket
        | KnownStray::TurnsACard
        | KnownStray::TakesACard => to_piles(laid, at, stop, known, &Seen::Nothing),
        KnownStray::Riffles => riffles(laid, at, stop),
        KnownStray::SwapsPiles => swaps_piles(laid, at, stop),
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
        KnownStray::OneTooMany
        | KnownStray::OneTooFew
        | KnownStray::DealsInstead
        | KnownStray::LiftsInstead => {
            let mut acts = stop.acts.clone();
            if first_otherwise(laid, &mut acts, known) {
                let done = Stop {
                    acts,
                    ..stop.clone()
                };
                instead(laid, at, stop, stray, done);
            }
        }
        KnownStray::ChangesTheirMind => changes(laid, at, stop),
        KnownStray::NamesTooHigh | KnownStray::NamesTooLow | KnownStray::NamesNought => {
            if let Some(fork) = out_of_range(stop, known) {
                let done = Stop {
                    fork: Some(fork),
                    ..stop.clone()
                };
                instead(laid, at, stop, stray, done);
            }
        }
        KnownStray::Refuses => {
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
        KnownStray::WantsItAgain => {
            if stop.fork.is_some() && !stop.acts.is_empty() {
                let again = stop.clone();
                after(laid, at, stop, stray, (Vec::new(), 0), &|_| Stop {
                    claims: Vec::new(),
                    ..again.clone()
                });
            }
        }
        KnownStray::Forgets => forgets(laid, at, stop),
    }
}

/// The piles that a stray after this step may happen to.
fn in_play(laid: &Layout, stop: &Stop) -> Vec<PileId> {
    let later = laid.later_piles(&laid.nexts(stop));
    let named = piles_of(stop);
    let both: Vec<PileId> = named.intersection(&later).copied().collect();
    if both.is_empty() {
        later.into_iter().collect()
    } else {
        both
    }
}

/// A stray that happens to one pile.
fn to_piles(laid: &mut Layout, at: StopIndex, stop: &Stop, known: KnownStray, seen: &Seen) {
    for pile in in_play(laid, stop) {
        let Some((kind, acts)) = shape(laid, known, pile) else {
            continue;
        };
        let name = match kind {
            Some(ForkKind::Overhand(_)) => laid.mix,
            Some(_) | None => laid.whim,
        };
        let stray = Stray::Known(known);
        let least = match known {
            KnownStray::TurnsABlock => 3,
            KnownStray::Peeks
            | KnownStray::TurnsACard
            | KnownStray::TakesACard
            | KnownStray::TurnsThePacket => 1,
            KnownStray::CutsAgain
            | KnownStray::CutsUnseen
            | KnownStray::LeavesTheCut
            | KnownStray::ShufflesOverhand
            | KnownStray::Riffles
            | KnownStray::DropsACard
            | KnownStray::BuriesTheTop
            | KnownStray::SwapsPiles
            | KnownStray::OneTooMany
            | KnownStray::OneTooFew
            | KnownStray::DealsInstead
            | KnownStray::LiftsInstead
            | KnownStray::ChangesTheirMind
            | KnownStray::NamesTooHigh
            | KnownStray::NamesTooLow
            | KnownStray::NamesNought
            | KnownStray::Refuses
            | KnownStray::WantsItAgain
            | KnownStray::Forgets => 2,
        };
        after(laid, at, stop, stray, (vec![pile], least), &|_| Stop {
            fork: kind.clone().map(|kind| fork(name, kind, seen.clone())),
            acts: acts.clone(),
            ..bare("", Then::Finish)
        });
    }
}

/// What a stray does to a pile.
fn shape(laid: &Layout, known: KnownStray, pile: PileId) -> Option<Shape> {
    let name = laid.routine.pile_name(pile).to_owned();
    let number = |from: i64, to: &str| {
        Some(ForkKind::Number {
            from: Expr::number(from),
            to: laid.expr(&to.replace("PILE", &name))?,
            by: 1,
        })
    };
    let whim = laid.whim()?;
    Some(match known {
        KnownStray::CutsAgain | KnownStray::CutsUnseen => (
            Some(ForkKind::Cut { pile, least: 1 }),
            vec![Act::Cut { pile, at: whim }],
        ),
        KnownStray::ShufflesOverhand => (
            Some(ForkKind::Overhand(pile)),
            vec![Act::Overhand { pile, by: laid.mix }],
        ),
        KnownStray::DropsACard => (
            number(1, "size(PILE) - 1"),
            vec![Act::Take {
                from: pile,
                at: whim,
                to: pile,
                put: End::Bottom,
            }],
        ),
        KnownStray::BuriesTheTop => (
            number(2, "size(PILE)"),
            vec![Act::Put {
                from: pile,
                to: pile,
                at: whim,
            }],
        ),
        KnownStray::Peeks => (None, Vec::new()),
        KnownStray::TurnsThePacket => (None, vec![Act::Turn { pile, count: None }]),
        KnownStray::TurnsACard => (
            Some(ForkKind::Place(pile)),
            vec![Act::TurnEach {
                pile,
                at: vec![whim],
                by: None,
            }],
        ),
        KnownStray::TurnsABlock => (
            number(2, "size(PILE) - 1"),
            vec![Act::Turn {
                pile,
                count: Some(whim),
            }],
        ),
        KnownStray::TakesACard => (
            Some(ForkKind::Place(pile)),
            vec![Act::Take {
                from: pile,
                at: whim,
                to: laid.pocket,
                put: End::Top,
            }],
        ),
        KnownStray::LeavesTheCut
        | KnownStray::Riffles
        | KnownStray::SwapsPiles
        | KnownStray::OneTooMany
        | KnownStray::OneTooFew
        | KnownStray::DealsInstead
        | KnownStray::LiftsInstead
        | KnownStray::ChangesTheirMind
        | KnownStray::NamesTooHigh
        | KnownStray::NamesTooLow
        | KnownStray::NamesNought
        | KnownStray::Refuses
        | KnownStray::WantsItAgain
        | KnownStray::Forgets => return None,
    })
}

/// All cards of a pile onto another.
fn whole(from: PileId, to: PileId) -> Act {
    Act::Block {
        from,
        take: End::Top,
        count: None,
        to,
        put: End::Top,
        order: Kept::Kept,
    }
}

/// Some cards off the top go into the pocket, which is empty then, and are riffled back into the rest.
fn riffles(laid: &mut Layout, at: StopIndex, stop: &Stop) {
    let stray = Stray::Known(KnownStray::Riffles);
    let (whim, mix, pocket) = (laid.whim, laid.mix, laid.pocket);
    for pile in in_play(laid, stop) {
        let nexts = laid.nexts(stop);
        let Some(count) = laid.whim() else { continue };
        let id = id_of(laid, stray, stop).id;
        let mut stops = Vec::new();
        for next in nexts {
            let together = laid.push(Stop {
                fork: Some(fork(
                    mix,
                    ForkKind::Riffle {
                        left: pocket,
                        right: pile,
                    },
                    Seen::Nothing,
                )),
                acts: vec![Act::Riffle {
                    left: pocket,
                    right: pile,
                    to: pile,
                    by: mix,
                }],
                ..bare(&format!("{id}, together"), Then::Go(next))
            });
            let first = laid.push(Stop {
                fork: Some(fork(whim, ForkKind::Cut { pile, least: 1 }, Seen::Nothing)),
                acts: vec![Act::Block {
                    from: pile,
                    take: End::Top,
                    count: Some(count.clone()),
                    to: pocket,
                    put: End::Top,
                    order: Kept::Kept,
                }],
                ..bare(&id.0, Then::Go(together))
            });
            stops.push((next, first));
        }
        if !stops.is_empty() {
            laid.cases.push(Case {
                stop: at,
                stray,
                when: When::After,
                piles: vec![pile],
                name: None,
                often: stop.strays.contains(&stray),
                doing: Doing::Stops(stops),
                least: 2,
            });
        }
    }
}

/// Two of the piles in play change places; where there are several pairs, nobody sees which.
fn swaps_piles(laid: &mut Layout, at: StopIndex, stop: &Stop) {
    let named = piles_of(stop);
    let piles: Vec<PileId> = in_play(laid, stop)
        .into_iter()
        .filter(|pile| named.contains(pile))
        .collect();
    if piles.len() < 2 || piles.len() > MOST_PILES {
        return;
    }
    let pocket = laid.pocket;
    let swap = |one: PileId, other: PileId| {
        vec![whole(one, pocket), whole(other, one), whole(pocket, other)]
    };
    let pairs: Vec<(PileId, PileId)> = piles
        .iter()
        .enumerate()
        .flat_map(|(n, one)| piles[n + 1..].iter().map(move |other| (*one, *other)))
        .collect();
    let stray = Stray::Known(KnownStray::SwapsPiles);
    let (kind, acts) = match pairs.as_slice() {
        [(one, other)] => (None, swap(*one, *other)),
        several => {
            let words: Vec<Arc<str>> = several
                .iter()
                .map(|(one, other)| {
                    let name = |pile: &PileId| laid.routine.pile_name(*pile).to_owned();
                    Arc::from(format!("{} and {}", name(one), name(other)))
                })
                .collect();
            let mut acts = Vec::new();
            for ((one, other), word) in several.iter().zip(&words) {
                let Some(when) = laid.expr(&format!("whim == \"{word}\"")) else {
                    return;
                };
                acts.push(Act::When {
                    when,
                    then: swap(*one, *other),
                    otherwise: Vec::new(),
                });
            }
            (Some(ForkKind::Option(words)), acts)
        }
    };
    let whim = laid.whim;
    after(laid, at, stop, stray, (piles, 1), &|_| Stop {
        fork: kind.clone().map(|kind| fork(whim, kind, Seen::Nothing)),
        acts: acts.clone(),
        ..bare("", Then::Finish)
    });
}

/// Does the first act that can be done otherwise so; whether there was one.
fn first_otherwise(laid: &Layout, acts: &mut [Act], known: KnownStray) -> bool {
    for act in acts {
        let inside = match act {
            Act::Repeat { acts, .. } => first_otherwise(laid, acts, known),
            Act::When {
                then, otherwise, ..
            } => first_otherwise(laid, then, known) || first_otherwise(laid, otherwise, known),
            _ => false,
        };
        if inside {
            return true;
        }
        if let Some(other) = otherwise(laid, act, known) {
            *act = other;
            return true;
        }
    }
    false
}

fn otherwise(laid: &Layout, act: &Act, known: KnownStray) -> Option<Act> {
    let more = match known {
        KnownStray::OneTooMany => Some("+ 1"),
        KnownStray::OneTooFew => Some("- 1"),
        _ => None,
    };
    let recount = |count: &Expr| laid.expr(&format!("({}) {}", count.source(), more?));
    let lifts = known == KnownStray::LiftsInstead;
    match act {
        Act::Deal {
            from,
            to,
            count: Some(count),
            up,
        } => match (more, to.as_slice()) {
            (Some(_), _) => Some(Act::Deal {
                from: *from,
                to: to.clone(),
                count: Some(recount(count)?),
                up: *up,
            }),
            // Lifted off together and laid down together: the order stays. Cards dealt face up are not lifted.
            (None, [one]) if lifts && *up != Some(true) => Some(Act::Block {
                from: *from,
                take: End::Top,
                count: Some(count.clone()),
                to: *one,
                put: End::Top,
                order: Kept::Kept,
            }),
            (None, _) => None,
        },
        Act::Block {
            from,
            take,
            count: Some(count),
            to,
            put,
            order,
        } => {
            let block = |count: Expr, order: Kept| Act::Block {
                from: *from,
                take: *take,
                count: Some(count),
                to: *to,
                put: *put,
                order,
            };
            match (more, order) {
                (Some(_), _) => Some(block(recount(count)?, *order)),
                (None, Kept::Reversed) if lifts => Some(block(count.clone(), Kept::Kept)),
                (None, Kept::Kept) if known == KnownStray::DealsInstead && from != to => {
                    Some(block(count.clone(), Kept::Reversed))
                }
                (None, Kept::Kept | Kept::Reversed) => None,
            }
        }
        _ => None,
    }
}

/// The step's number fork with one number out of its range.
fn out_of_range(stop: &Stop, known: KnownStray) -> Option<Fork> {
    let asked = stop.fork.as_ref()?;
    let ForkKind::Number { from, to, by } = &asked.kind else {
        return None;
    };
    let fixed = |expr: &Expr| match expr.fixed() {
        Some(Value::Int(n)) => Some(*n),
        _ => None,
    };
    let number = match known {
        KnownStray::NamesTooHigh => fixed(to)? + i64::from(*by),
        KnownStray::NamesTooLow => Some(fixed(from)? - i64::from(*by)).filter(|n| *n > 0)?,
        KnownStray::NamesNought => {
            Some(0).filter(|_| fixed(from).is_some_and(|least| least > 0))?
        }
        _ => return None,
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
fn changes(laid: &mut Layout, at: StopIndex, stop: &Stop) {
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
fn forgets(laid: &mut Layout, at: StopIndex, stop: &Stop) {
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
