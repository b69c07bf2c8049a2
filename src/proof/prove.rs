//! A proof from start to end: explore, then explain.

use super::expand::Expander;
use super::explore::{Found, explore};
use super::graph::Graph;
use super::odds::{self, Failure};
use super::report::{Blame, ClaimProof, Ends, Limits, Odds, Proof, Roads, Settled, Verdict, Ways};
use super::seek::shortest;
use super::state::State;
use super::trial::{self, Trial};
use super::watch::Watch;
use super::withdraw;
use crate::roads::domain;
use crate::routine::{ForkKind, Routine, StopIndex, Then, Value};
use num_bigint::BigUint;

/// A graph with more steps than this is not written out for odds and the shortest road.
const MOST_EDGES: usize = 2_000_000;

/// Exact fractions are worked out for graphs of up to so many steps.
const MOST_WEIGHED: usize = 400_000;

/// Random roads walked before anything else: what fails often is found at once.
const FIRST_ROADS: u64 = 64;

/// End tables are counted where it is cheap: up to so many states.
const CHEAP: u64 = 50_000;

/// Proves a routine, or finds where it can fail.
#[must_use]
pub fn prove(routine: &Routine, ways: Ways, limits: &Limits<'_>) -> Proof {
    let watch = if ways.merge {
        Watch::of(routine)
    } else {
        Watch::of_everything(routine)
    };
    let mut expander = Expander::new(routine, watch);
    let found = explore(&mut expander, limits);
    let trial = if found.cut_short {
        trial::walk(routine, FIRST_ROADS, limits)
    } else {
        Trial::default()
    };
    let fails = fails(&found) || trial.fails();
    let verdict = match (fails, found.cut_short) {
        (true, _) => Verdict::Refuted,
        (false, true) => Verdict::Unfinished,
        (false, false) => Verdict::SureFire,
    };
    let mut proof = Proof {
        verdict,
        roads: Roads::Uncounted,
        states: found.states,
        ends: None,
        claims: claims(routine, &found, &trial),
        counterexample: None,
        untaken: untaken(routine),
        unreached: unreached(routine, &found),
        blame: Vec::new(),
        withdraw: None,
        loops: loops(routine, &found),
    };
    proof.roads = roads(&mut expander, &found, &proof.loops, limits);
    if fails {
        explain(&mut expander, &found, &trial, ways, limits, &mut proof);
    }
    if !found.cut_short {
        proof.ends = ends(routine, ways, limits);
    }
    proof
}

fn fails(found: &Found) -> bool {
    found.broken.iter().any(|broken| *broken != 0) || found.stuck.contains(&true)
}

fn claims(routine: &Routine, found: &Found, trial: &Trial) -> Vec<ClaimProof> {
    let mut claims = Vec::new();
    for (n, stop) in routine.stops.iter().enumerate() {
        let at = StopIndex(u16::try_from(n).unwrap_or(u16::MAX));
        for (index, claim) in stop.claims.iter().enumerate() {
            let broken = found.broken[n] >> index.min(63) & 1 == 1 || trial.breaks(at, index);
            claims.push(ClaimProof {
                stop: at,
                index,
                words: claim.words.clone(),
                line: claim.line,
                reached: found.reached[n] || trial.reaches(at),
                holds: match (broken, found.cut_short) {
                    (true, _) => Some(false),
                    (false, true) => None,
                    (false, false) => Some(true),
                },
                odds: None,
            });
        }
    }
    claims
}

/// Branches that weights of 0 rule out.
fn untaken(routine: &Routine) -> Vec<(StopIndex, String)> {
    let mut untaken = Vec::new();
    let Ok(road) = crate::roads::sample(routine, 0) else {
        return untaken;
    };
    for walked in &road.walked {
        let Ok(Some(open)) = domain(routine, &walked.before) else {
            continue;
        };
        let Some(weights) = open.open_weights().filter(|_| walked.visit == 1) else {
            continue;
        };
        let never = open
            .branches()
            .zip(weights)
            .filter(|(_, weight)| *weight == 0);
        untaken.extend(never.map(|(branch, _)| (walked.stop, branch.show(routine))));
    }
    untaken
}

fn unreached(routine: &Routine, found: &Found) -> Vec<StopIndex> {
    if found.cut_short {
        return Vec::new();
    }
    (0..routine.stops.len())
        .filter(|n| !found.met[*n])
        .filter_map(|n| u16::try_from(n).ok())
        .map(StopIndex)
        .collect()
}

fn loops(routine: &Routine, found: &Found) -> Vec<(StopIndex, Settled)> {
    if found.cut_short {
        return Vec::new();
    }
    let mut loops = Vec::new();
    for (n, stop) in routine.stops.iter().enumerate() {
        let unbounded = stop
            .fork
            .as_ref()
            .is_some_and(|fork| matches!(fork.kind, ForkKind::Again { at_most: None }));
        if matches!(stop.then, Then::Gate { .. }) && unbounded && found.met[n] {
            let at = StopIndex(u16::try_from(n).unwrap_or(u16::MAX));
            loops.push((at, Settled::Fixpoint));
        }
    }
    loops
}

/// How many orders the cards have whose faces a state leaves open.
fn open_orders(expander: &Expander<'_>, state: &State) -> BigUint {
    let open = expander
        .cores
        .core(state.core)
        .faces
        .iter()
        .filter(|face| face.is_none())
        .count();
    (1..=open as u64).map(BigUint::from).product()
}

fn roads(
    expander: &mut Expander<'_>,
    found: &Found,
    loops: &[(StopIndex, Settled)],
    limits: &Limits<'_>,
) -> Roads {
    if !loops.is_empty() {
        return Roads::Unbounded;
    }
    if found.cut_short {
        return Roads::Uncounted;
    }
    if let Some(ends) = &found.ways {
        let all = ends
            .iter()
            .map(|(state, ways)| open_orders(expander, state) * BigUint::from(*ways));
        return Roads::Exactly(all.sum());
    }
    let Some(graph) = Graph::write(expander, MOST_EDGES, limits) else {
        return Roads::Uncounted;
    };
    match graph.roads(|state| open_orders(expander, state)) {
        Some(roads) => Roads::Exactly(roads),
        None => Roads::Unbounded,
    }
}

/// Where it can fail: the shortest road, the odds, the blame, what to withdraw.
fn explain(
    expander: &mut Expander<'_>,
    found: &Found,
    trial: &Trial,
    ways: Ways,
    limits: &Limits<'_>,
    proof: &mut Proof,
) {
    let graph = if found.cut_short {
        None
    } else {
        Graph::write(expander, MOST_EDGES, limits)
    };
    let Some(graph) = graph else {
        proof.counterexample = trial.counterexample(expander.routine);
        if ways.odds {
            sampled(expander.routine, ways, limits, proof);
        }
        return;
    };
    proof.counterexample = shortest(expander, &graph, |_, broken| broken != 0);
    if !ways.odds {
        return;
    }
    let edges: usize = graph.vertices.iter().map(|vertex| vertex.edges.len()).sum();
    let done = |n: usize| expander.cores.core(graph.vertices[n].state.core).done;
    let stop_of = |n: usize| expander.cores.core(graph.vertices[n].state.core).at;
    if edges > MOST_WEIGHED || graph.last_first.is_none() {
        sampled(expander.routine, ways, limits, proof);
    } else {
        for claim in proof
            .claims
            .iter_mut()
            .filter(|claim| claim.holds == Some(false))
        {
            let failure = Failure::Of(claim.stop, claim.index);
            claim.odds = odds::kept(&graph, done, failure)
                .and_then(|kept| kept.into_iter().next())
                .map(Odds::Exactly);
        }
        if let Some(kept) = odds::kept(&graph, done, Failure::Any) {
            let table = odds::by_branch(&graph, &kept, stop_of).unwrap_or_default();
            proof.blame = blame(expander.routine, table);
        }
    }
    let shuffles = |stop: StopIndex| {
        let fork = expander
            .routine
            .stop(stop)
            .and_then(|stop| stop.fork.as_ref());
        fork.is_some_and(|fork| {
            matches!(fork.kind, ForkKind::Riffle { .. } | ForkKind::Overhand(_))
        })
    };
    proof.withdraw =
        withdraw::smallest(&graph, stop_of, shuffles, |_, broken| broken != 0).map(|set| {
            let named = set.into_iter().filter_map(|(stop, branch)| {
                Some((stop, nth_branch(expander.routine, stop, branch)?.1))
            });
            named.collect()
        });
}

/// Odds by random roads.
fn sampled(routine: &Routine, ways: Ways, limits: &Limits<'_>, proof: &mut Proof) {
    let trial = trial::walk(routine, ways.sample, limits);
    for claim in proof
        .claims
        .iter_mut()
        .filter(|claim| claim.holds == Some(false))
    {
        claim.odds = Some(Odds::Sampled {
            held: trial.roads - trial.broken(claim.stop, claim.index),
            of: trial.roads,
        });
    }
}

/// Only forks whose branches differ are to blame.
fn blame(routine: &Routine, table: Vec<(StopIndex, u64, num_rational::BigRational)>) -> Vec<Blame> {
    let differs = |stop: StopIndex| {
        let mut odds = table
            .iter()
            .filter(|(s, ..)| *s == stop)
            .map(|(_, _, odds)| odds);
        let first = odds.next();
        odds.any(|other| Some(other) != first)
    };
    table
        .iter()
        .filter(|(stop, ..)| differs(*stop))
        .filter_map(|(stop, branch, holds)| {
            let (branch, label) = nth_branch(routine, *stop, *branch)?;
            Some(Blame {
                stop: *stop,
                branch,
                label,
                holds: holds.clone(),
            })
        })
        .collect()
}

/// A branch by its number, where the branches of a fork are the same on every road: found on the first road that comes by.
fn nth_branch(routine: &Routine, stop: StopIndex, n: u64) -> Option<(Value, String)> {
    let nth = usize::try_from(n).ok()?;
    for seed in 0..FIRST_ROADS {
        let Ok(road) = crate::roads::sample(routine, seed) else {
            continue;
        };
        for walked in road.walked.iter().filter(|walked| walked.stop == stop) {
            let open = domain(routine, &walked.before).ok().flatten()?;
            if let Some(value) = open.branches().nth(nth) {
                let label = value.show(routine);
                return Some((value, label));
            }
        }
    }
    None
}

/// How many different tables the roads end with, card by card.
fn ends(routine: &Routine, ways: Ways, limits: &Limits<'_>) -> Option<u64> {
    let cheap = |states: u64| ways.ends == Ends::WhereCheap && states > CHEAP;
    if ways.ends == Ends::Never {
        return None;
    }
    let states = std::sync::atomic::AtomicU64::new(0);
    let limits = Limits {
        bytes: limits.bytes,
        stop: &|| (limits.stop)() || cheap(states.load(std::sync::atomic::Ordering::Relaxed)),
        progress: &|n| states.store(n, std::sync::atomic::Ordering::Relaxed),
    };
    let mut expander = Expander::new(routine, Watch::of_tables(routine));
    let found = explore(&mut expander, &limits);
    let unknown = !routine.shuffled.is_empty();
    (!found.cut_short && !unknown).then_some(found.ends)
}
