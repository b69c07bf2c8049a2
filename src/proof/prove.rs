//! A proof from start to end: explore, then explain.

use super::expand::Expander;
use super::explore::{Broken, Found, explore};
use super::graph::{Graph, Taken};
use super::induct;
use super::odds::{self, Failure};
use super::report::{Blame, ClaimProof, Ends, Limits, Odds, Proof, Roads, Settled, Verdict, Ways};
use super::seek::shortest;
use super::shuffled::Lost;
use super::state::CoreId;
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

/// Random roads walked for one that fails, where some is known to.
const MORE_ROADS: u64 = 5_000;

/// End tables are counted where it is cheap: up to so many roads,
const CHEAP_ROADS: u64 = 500;

/// so many states,
const CHEAP: u64 = 10_000;

/// and so many branches tried one by one.
const CHEAP_BRANCHES: u64 = 5_000;

/// Proves a routine, or finds where it can fail.
#[must_use]
pub fn prove(routine: &Routine, ways: Ways, limits: &Limits<'_>) -> Proof {
    let (mut expander, found) = explored(routine, ways, limits);
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
        states: found.states + expander.shuffles.streams.visited() + expander.visited,
        ends: None,
        claims: claims(routine, &found, &trial),
        counterexample: None,
        untaken: untaken(routine),
        unreached: unreached(routine, &found),
        blame: Vec::new(),
        withdraw: None,
        loops: loops(&expander, &found),
    };
    proof.roads = roads(&mut expander, &found, &proof.loops);
    if fails {
        explain(&mut expander, &found, &trial, ways, &mut proof);
    }
    if !found.cut_short {
        proof.ends = ends(routine, ways, &proof.roads, limits);
    }
    proof
}

/// Explores with free shuffles followed and with induction; where one of them cannot be had, once more without it.
fn explored<'r>(routine: &'r Routine, ways: Ways, limits: &'r Limits<'r>) -> (Expander<'r>, Found) {
    let watch = || {
        if ways.merge {
            Watch::of(routine)
        } else {
            Watch::of_everything(routine)
        }
    };
    let (mut follow, mut induction) = (ways.merge, ways.merge && ways.induction);
    loop {
        let mut expander = Expander::new(routine, watch(), follow, limits);
        if induction {
            expander.parts = induct::parts(routine);
        }
        let found = explore(&mut expander, false);
        match expander.lost {
            Some(Lost::NotInductive) if induction => induction = false,
            // What cannot be followed may be what induction put there.
            Some(Lost::Unfollowable) if induction && !expander.by_induction.is_empty() => {
                induction = false;
            }
            Some(Lost::Unfollowable) if follow => follow = false,
            Some(Lost::NotInductive | Lost::Unfollowable | Lost::Stopped) | None => {
                return (expander, found);
            }
        }
    }
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

fn loops(expander: &Expander<'_>, found: &Found) -> Vec<(StopIndex, Settled)> {
    if found.cut_short {
        return Vec::new();
    }
    let mut loops = Vec::new();
    for (n, stop) in expander.routine.stops.iter().enumerate() {
        let unbounded = stop
            .fork
            .as_ref()
            .is_some_and(|fork| matches!(fork.kind, ForkKind::Again { at_most: None }));
        if matches!(stop.then, Then::Gate { .. }) && unbounded && found.met[n] {
            let at = StopIndex(u16::try_from(n).unwrap_or(u16::MAX));
            let inducted = expander.by_induction.contains(&at);
            loops.push((
                at,
                if inducted {
                    Settled::Induction
                } else {
                    Settled::Fixpoint
                },
            ));
        }
    }
    loops
}

/// How many orders the cards have whose faces a core leaves open.
fn open_orders(expander: &Expander<'_>, core: CoreId) -> BigUint {
    let open = expander
        .cores
        .core(core)
        .faces
        .iter()
        .filter(|face| face.is_none())
        .count();
    (1..=open as u64).map(BigUint::from).product()
}

/// How many roads end in a state of this core that one run of choices leads to: one for each order of the unknown cards, and each outcome of a
/// followed shuffle.
fn roads_to(expander: &mut Expander<'_>, id: CoreId) -> Option<BigUint> {
    let core = expander.cores.core(id).clone();
    if core.origin != 0 {
        return expander.outcomes(&core).ok();
    }
    Some(open_orders(expander, id))
}

fn roads(expander: &mut Expander<'_>, found: &Found, loops: &[(StopIndex, Settled)]) -> Roads {
    if !loops.is_empty() {
        return Roads::Unbounded;
    }
    if found.cut_short {
        return Roads::Uncounted;
    }
    if let Some(ends) = &found.ways {
        let mut all = BigUint::default();
        for (core, ways) in ends {
            match roads_to(expander, *core) {
                Some(roads) => all += roads * BigUint::from(*ways),
                None => return Roads::Uncounted,
            }
        }
        return Roads::Exactly(all);
    }
    let Some(graph) = Graph::write(expander, MOST_EDGES, Taken::Possibly) else {
        return Roads::Uncounted;
    };
    if graph.last_first.is_none() {
        return Roads::Unbounded;
    }
    graph
        .roads(|state| roads_to(expander, state.core))
        .map_or(Roads::Uncounted, Roads::Exactly)
}

/// Where it can fail: the shortest road, the odds, the blame, what to withdraw.
fn explain(
    expander: &mut Expander<'_>,
    found: &Found,
    trial: &Trial,
    ways: Ways,
    proof: &mut Proof,
) {
    let limits = expander.limits;
    let wrong = |_: usize, broken: Broken| broken != 0;
    let near = if expander.lost.is_some() {
        None
    } else {
        Graph::write_near(expander, MOST_EDGES)
    };
    proof.counterexample = match near {
        Some(near) => shortest(expander, &near, wrong),
        None if trial.fails() => trial.counterexample(expander.routine),
        None => trial::walk(expander.routine, MORE_ROADS, limits).counterexample(expander.routine),
    };
    if !ways.odds {
        return;
    }
    let graph = if found.cut_short {
        None
    } else {
        Graph::write(expander, MOST_EDGES, Taken::Possibly)
    };
    let Some(graph) = graph else {
        return sampled(expander.routine, ways, limits, proof);
    };
    let fixed = |stop: StopIndex| !has_same_branches(expander.routine, stop);
    let stop_of = |n: usize| expander.cores.core(graph.vertices[n].state.core).at;
    let set = withdraw::smallest(&graph, stop_of, fixed, wrong);
    proof.withdraw = set.map(|set| {
        let named = set.into_iter().filter_map(|(stop, branch)| {
            Some((stop, nth_branch(expander.routine, stop, branch)?.1))
        });
        named.collect()
    });
    if !weighed(expander, &graph, proof) {
        proof.blame = Vec::new();
        sampled(expander.routine, ways, limits, proof);
    }
}

/// Works out exact odds and blame; whether it could.
fn weighed(expander: &mut Expander<'_>, graph: &Graph, proof: &mut Proof) -> bool {
    let edges = |graph: &Graph| graph.vertices.iter().map(|v| v.edges.len()).sum::<usize>();
    if edges(graph) > MOST_WEIGHED || graph.last_first.is_none() {
        return false;
    }
    let shuffled = graph
        .vertices
        .iter()
        .any(|vertex| expander.cores.core(vertex.state.core).origin != 0);
    let odds_of = |failure: Failure, expander: &mut Expander<'_>| {
        let taken = match failure {
            Failure::Any => Taken::Apart,
            Failure::Of(stop, index) => Taken::Only(stop, index),
        };
        let parted = if shuffled {
            Some(Graph::write(expander, MOST_WEIGHED, taken)?)
        } else {
            None
        };
        let graph = parted.as_ref().unwrap_or(graph);
        let done = |n: usize| expander.cores.core(graph.vertices[n].state.core).done;
        let kept = odds::kept(graph, done, failure)?;
        let stop_of = |n: usize| expander.cores.core(graph.vertices[n].state.core).at;
        let table = match failure {
            Failure::Any => odds::by_branch(graph, &kept, stop_of)?,
            Failure::Of(..) => Vec::new(),
        };
        Some((kept.into_iter().next()?, table))
    };
    for claim in proof
        .claims
        .iter_mut()
        .filter(|claim| claim.holds == Some(false))
    {
        let Some((kept, _)) = odds_of(Failure::Of(claim.stop, claim.index), expander) else {
            return false;
        };
        claim.odds = Some(Odds::Exactly(kept));
    }
    let Some((_, table)) = odds_of(Failure::Any, expander) else {
        return false;
    };
    let chosen = table
        .into_iter()
        .filter(|(stop, ..)| has_same_branches(expander.routine, *stop));
    proof.blame = blame(expander.routine, &chosen.collect::<Vec<_>>());
    true
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
fn blame(routine: &Routine, table: &[(StopIndex, u64, num_rational::BigRational)]) -> Vec<Blame> {
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

/// Whether a branch of the stop's fork is the same choice on every road, and one that somebody can be told to leave out: not a way of
/// shuffling, not a card, and no number whose bounds hang on the road.
fn has_same_branches(routine: &Routine, stop: StopIndex) -> bool {
    let fork = routine.stop(stop).and_then(|stop| stop.fork.as_ref());
    fork.is_some_and(|fork| match &fork.kind {
        ForkKind::Number { from, .. } => from.fixed().is_some(),
        ForkKind::Option(_)
        | ForkKind::Pile(_)
        | ForkKind::PileOrder(_)
        | ForkKind::Place(_)
        | ForkKind::Cut { .. }
        | ForkKind::Again { .. } => true,
        ForkKind::Card(_)
        | ForkKind::Cards { .. }
        | ForkKind::Riffle { .. }
        | ForkKind::Overhand(_) => false,
    })
}

/// A branch by its number, where the branches of a fork are the same on every road: found on the first road that comes by.
fn nth_branch(routine: &Routine, stop: StopIndex, n: u64) -> Option<(Value, String)> {
    for seed in 0..FIRST_ROADS {
        let Ok(road) = crate::roads::sample(routine, seed) else {
            continue;
        };
        for walked in road.walked.iter().filter(|walked| walked.stop == stop) {
            let open = domain(routine, &walked.before).ok().flatten()?;
            if let Some(value) = open.nth(u128::from(n)) {
                let label = value.show(routine);
                return Some((value, label));
            }
        }
    }
    None
}

/// How many different tables the roads end with, card by card.
fn ends(routine: &Routine, ways: Ways, roads: &Roads, limits: &Limits<'_>) -> Option<u64> {
    let many = match roads {
        Roads::Exactly(roads) => *roads > BigUint::from(CHEAP_ROADS),
        Roads::Unbounded => false,
        Roads::Uncounted => true,
    };
    let cheaply = ways.ends == Ends::WhereCheap;
    if ways.ends == Ends::Never || !routine.shuffled.is_empty() || (cheaply && many) {
        return None;
    }
    let states = std::sync::atomic::AtomicU64::new(0);
    let spent = || cheaply && states.load(std::sync::atomic::Ordering::Relaxed) > CHEAP;
    let limits = Limits {
        bytes: limits.bytes,
        stop: &|| (limits.stop)() || spent(),
        progress: &|n| states.store(n, std::sync::atomic::Ordering::Relaxed),
    };
    let mut expander = Expander::new(routine, Watch::of_tables(routine), false, &limits);
    if cheaply {
        expander.patience = CHEAP_BRANCHES;
    }
    let found = explore(&mut expander, true);
    (!found.cut_short).then_some(found.tables)
}
