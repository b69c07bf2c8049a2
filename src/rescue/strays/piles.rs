//! Strays that happen to a pile right after a step.

use super::{after, fork, id_of};
use crate::handling::{End, Kept};
use crate::rescue::ground::{Case, Doing, Layout, When, bare, piles_of};
use crate::routine::{Act, Expr, ForkKind, KnownStray, Seen, Stop, StopIndex, Stray, Then};
use crate::table::PileId;
use itertools::Itertools;
use std::collections::BTreeSet;

/// Pairs of more piles than this are not told apart one by one.
const MOST_PILES: usize = 5;
/// Orders of more piles than this are not told apart one by one.
const MOST_ORDERED: usize = 4;

/// Piles each of which goes to the place of the next, the last to that of the first.
type Cycle = Vec<PileId>;

/// What a stray does to a pile: what is chosen in it, and the acts.
type Shape = (Option<ForkKind>, Vec<Act>);

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
pub(super) fn to_piles(
    laid: &mut Layout,
    at: StopIndex,
    stop: &Stop,
    known: KnownStray,
    seen: &Seen,
) {
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
            | KnownStray::ReordersPiles
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
        | KnownStray::ReordersPiles
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
pub(super) fn riffles(laid: &mut Layout, at: StopIndex, stop: &Stop) {
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

/// The piles that cards come to in a step.
fn received(stop: &Stop) -> BTreeSet<PileId> {
    let mut piles = BTreeSet::new();
    stop.each_act(&mut |act| match act {
        Act::Deal { to, .. } => piles.extend(to),
        Act::Block { to, .. }
        | Act::DownUnder { to, .. }
        | Act::Riffle { to, .. }
        | Act::Take { to, .. }
        | Act::Put { to, .. }
        | Act::Spell { to, .. } => {
            piles.insert(*to);
        }
        Act::Gather { onto, .. } => {
            piles.insert(*onto);
        }
        Act::Cut { .. }
        | Act::Klondike(_)
        | Act::Monge { .. }
        | Act::Faro { .. }
        | Act::InverseFaro { .. }
        | Act::Overhand { .. }
        | Act::Turn { .. }
        | Act::TurnEach { .. }
        | Act::Reverse(_)
        | Act::Swap { .. }
        | Act::Chain(_)
        | Act::Repeat { .. }
        | Act::When { .. } => {}
    });
    piles
}

/// The piles among which places may be changed: those dealt out, or all that the step names.
fn changing(laid: &Layout, stop: &Stop) -> Vec<PileId> {
    let named = piles_of(stop);
    let all: Vec<PileId> = in_play(laid, stop)
        .into_iter()
        .filter(|pile| named.contains(pile))
        .collect();
    // What was dealt out lies there; where it was dealt from nothing may be left.
    let received = received(stop);
    let dealt: Vec<PileId> = all
        .iter()
        .copied()
        .filter(|pile| received.contains(pile))
        .collect();
    if dealt.len() < 2 { all } else { dealt }
}

/// Two of the piles in play change places; where there are several pairs, nobody sees which.
pub(super) fn swaps_piles(laid: &mut Layout, at: StopIndex, stop: &Stop) {
    let piles = changing(laid, stop);
    if piles.len() > MOST_PILES {
        return;
    }
    let pairs: Vec<Vec<Cycle>> = piles
        .iter()
        .enumerate()
        .flat_map(|(n, one)| piles[n + 1..].iter().map(move |other| vec![*other, *one]))
        .map(|pair| vec![pair])
        .collect();
    change_places(laid, (at, stop), KnownStray::SwapsPiles, piles, &pairs);
}

/// More than two of the piles in play change places, and nobody sees how.
pub(super) fn reorders_piles(laid: &mut Layout, at: StopIndex, stop: &Stop) {
    let piles = changing(laid, stop);
    if piles.len() < 3 || piles.len() > MOST_ORDERED {
        return;
    }
    let orders: Vec<Vec<Cycle>> = (0..piles.len())
        .permutations(piles.len())
        .map(|order| cycles(&order))
        .filter(|cycles| cycles.iter().map(Vec::len).sum::<usize>() > 2)
        .map(|cycles| {
            let named = |cycle: Vec<usize>| cycle.into_iter().map(|n| piles[n]).collect();
            cycles.into_iter().map(named).collect()
        })
        .collect();
    change_places(laid, (at, stop), KnownStray::ReordersPiles, piles, &orders);
}

/// The cycles of an order, those of one left out.
fn cycles(order: &[usize]) -> Vec<Vec<usize>> {
    let mut done = vec![false; order.len()];
    let mut cycles = Vec::new();
    for first in 0..order.len() {
        let mut cycle = Vec::new();
        let mut at = first;
        while !done[at] {
            done[at] = true;
            cycle.push(at);
            at = order[at];
        }
        if cycle.len() > 1 {
            cycles.push(cycle);
        }
    }
    cycles
}

/// The acts by which each pile of a cycle goes to the place of the next.
fn round(cycle: &Cycle, pocket: PileId) -> Vec<Act> {
    let (Some(first), Some(last)) = (cycle.first(), cycle.last()) else {
        return Vec::new();
    };
    let mut acts = vec![whole(*last, pocket)];
    acts.extend(cycle.windows(2).rev().map(|pair| whole(pair[0], pair[1])));
    acts.push(whole(pocket, *first));
    acts
}

/// Piles change places in one of these ways; where there are several, nobody sees which.
fn change_places(
    laid: &mut Layout,
    (at, stop): (StopIndex, &Stop),
    known: KnownStray,
    piles: Vec<PileId>,
    ways: &[Vec<Cycle>],
) {
    let pocket = laid.pocket;
    let acts_of = |way: &Vec<Cycle>| -> Vec<Act> {
        way.iter().flat_map(|cycle| round(cycle, pocket)).collect()
    };
    let (kind, acts) = match ways {
        [] => return,
        [way] => (None, acts_of(way)),
        several => {
            // Which way, by its number.
            let mut acts = Vec::new();
            let mut last = 0;
            for (number, way) in (1_i64..).zip(several) {
                let Some(when) = laid.expr(&format!("whim == {number}")) else {
                    return;
                };
                acts.push(Act::When {
                    when,
                    then: acts_of(way),
                    otherwise: Vec::new(),
                });
                last = number;
            }
            let kind = ForkKind::Number {
                from: Expr::number(1),
                to: Expr::number(last),
                by: 1,
            };
            (Some(kind), acts)
        }
    };
    let whim = laid.whim;
    after(laid, at, stop, Stray::Known(known), (piles, 1), &|_| Stop {
        fork: kind.clone().map(|kind| fork(whim, kind, Seen::Nothing)),
        acts: acts.clone(),
        ..bare("", Then::Finish)
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cycles_of_an_order_lead_to_it() {
        for count in 1..=4 {
            for order in (0..count).permutations(count) {
                let mut led: Vec<usize> = (0..count).collect();
                for cycle in cycles(&order) {
                    for (n, from) in cycle.iter().enumerate() {
                        led[*from] = cycle[(n + 1) % cycle.len()];
                    }
                }
                assert_eq!(led, order);
            }
        }
    }
}
