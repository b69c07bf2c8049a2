//! Visiting every state that any road leads to, each once.
//!
//! States are spread over shards by their hash. A wave of states is expanded, what follows is sorted by shard, and every shard takes
//! in its own: on several threads, with each shard's table small enough to stay near the processor.

use super::expand::Expander;
use super::follows::{Follows, Next};
use super::shards::{Node, Post, SHARDS, Shard};
use super::shuffled::Lost;
use super::state::{CoreId, Cores};
use crate::cards::Card;
use crate::routine::{Fault, Scene, StopIndex, World};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Arc;

/// How many states are expanded before their followers are sorted in.
const WAVE: usize = 1 << 13;

/// How many states may be on their way to the shards at once, before more are expanded.
const MOST_SENT: usize = 1 << 16;

/// What a state that is gone through one by one is reckoned to send.
const SENT_ONE_BY_ONE: usize = 64;

/// How many states one thread expands at a time.
const PART: usize = 1 << 10;

/// Claims of one stop that do not hold, one bit each.
pub(super) type Broken = u64;

/// What was found by visiting every state.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// Whether a budget ran out before every state was visited.
    pub(super) cut_short: bool,
    /// How many states were visited.
    pub(super) states: u64,
    /// By stop: whether any road comes by it.
    pub(super) met: Vec<bool>,
    /// By stop: whether its claims were looked at.
    pub(super) reached: Vec<bool>,
    /// By stop: claims that broke somewhere.
    pub(super) broken: Vec<Broken>,
    /// By stop: whether the step could not be done somewhere.
    pub(super) stuck: Vec<bool>,
    /// The cores of the roads' ends, each with the number of roads that lead there; `None` where they were not counted on the way,
    /// since a state was met again after it had been left.
    pub(super) ways: Option<FxHashMap<CoreId, u128>>,
    /// How many different tables the roads end with, as far as the watch tells them apart; 0 where that was not asked.
    pub(super) tables: u64,
}

/// What one thread made of its part of a wave.
#[derive(Debug)]
struct Part {
    post: Post,
    reached: Vec<StopIndex>,
    broken: Vec<(StopIndex, Broken)>,
    stuck: Vec<StopIndex>,
    /// Nodes that must be expanded one by one, in order.
    slow: Vec<(usize, usize)>,
    ends: Vec<(usize, usize)>,
    /// Whether a count of roads grew too large.
    overflow: bool,
    /// Where a state is laid out for its claims to be looked at.
    desk: World,
}

impl Part {
    fn new() -> Self {
        Self {
            post: Post::new(),
            reached: Vec::new(),
            broken: Vec::new(),
            stuck: Vec::new(),
            slow: Vec::new(),
            ends: Vec::new(),
            overflow: false,
            desk: Cores::desk(),
        }
    }

    /// Forgets its part of the last wave, and keeps the room it took.
    fn clear(&mut self) {
        self.post.clear();
        self.reached.clear();
        self.broken.clear();
        self.stuck.clear();
        self.slow.clear();
        self.ends.clear();
        self.overflow = false;
    }

    /// Notes a stop whose claims were looked at: once for many states one after the other.
    fn reach(&mut self, done: StopIndex) {
        if self.reached.last() != Some(&done) {
            self.reached.push(done);
        }
    }
}

/// Visits every state, and counts the different tables at the end where that is asked.
pub(super) fn explore(expander: &mut Expander<'_>, count_tables: bool) -> Found {
    let limits = expander.limits;
    let stops = expander.routine.stops.len();
    let mut found = Found {
        met: vec![false; stops],
        reached: vec![false; stops],
        broken: vec![0; stops],
        stuck: vec![false; stops],
        ..Found::default()
    };
    let mut shards: Vec<Shard> = (0..SHARDS).map(|_| Shard::roomy()).collect();
    let start = expander.start();
    let mut first = Post::new();
    first.send(start.core, &start.cells, 1);
    let mut disorder = false;
    for (n, shard) in shards.iter_mut().enumerate() {
        disorder |= shard.take_in(first.to(n));
    }
    // The last is for what is gone through one by one.
    let mut parts: Vec<Part> = (0..=WAVE / PART).map(|_| Part::new()).collect();
    let mut ends: Vec<(usize, usize)> = Vec::new();
    loop {
        let wave: Vec<(usize, usize)> = shards
            .iter()
            .enumerate()
            .flat_map(|(n, shard)| (shard.edge..shard.nodes.len()).map(move |node| (n, node)))
            .collect();
        if wave.is_empty() {
            break;
        }
        for shard in &mut shards {
            shard.edge = shard.nodes.len();
        }
        let mut rest = wave.as_slice();
        while !rest.is_empty() {
            let next = &rest[..rest.len().min(WAVE)];
            let follows = worked_out(expander, &shards, next);
            let chunk;
            (chunk, rest) = rest.split_at(wave_of(&follows, &shards, next));
            let bytes: usize = shards.iter().map(Shard::bytes).sum();
            if (limits.stop)() || bytes > limits.bytes || shards.iter().any(Shard::full) {
                found.cut_short = true;
                break;
            }
            expand_wave(expander, &shards, chunk, &follows, &mut parts);
            if expander.lost.is_some() {
                found.cut_short = true;
                break;
            }
            let anything =
                |stuck: &Part| !stuck.stuck.is_empty() && !expander.by_induction.is_empty();
            if parts.iter().any(anything) {
                // It may be that no real table comes to where the step cannot be done.
                expander.lost = Some(Lost::NotInductive);
                found.cut_short = true;
                break;
            }
            for part in &mut parts {
                note(part, &mut found, &mut ends);
                disorder |= part.overflow;
            }
            disorder |= shards
                .par_iter_mut()
                .enumerate()
                .map(|(n, shard)| {
                    parts
                        .iter()
                        .fold(false, |bad, part| bad | shard.take_in(part.post.to(n)))
                })
                .reduce(|| false, |a, b| a | b);
            found.states = shards.iter().map(|shard| shard.nodes.len() as u64).sum();
            (limits.progress)(found.states);
        }
        if found.cut_short {
            break;
        }
    }
    found.states = shards.iter().map(|shard| shard.nodes.len() as u64).sum();
    for core in 0..expander.cores.count() {
        let at = expander.cores.core(core as CoreId).at;
        if let Some(met) = found.met.get_mut(at.index()) {
            *met = true;
        }
    }
    for stop in &expander.inside {
        found.met[stop.index()] = true;
        found.reached[stop.index()] = true;
    }
    if count_tables {
        found.tables = tables(expander, &shards, &ends);
    }
    if !disorder && !found.cut_short {
        found.ways = ways(&shards, &ends);
    }
    found
}

/// How many different tables these nodes have.
fn tables(expander: &Expander<'_>, shards: &[Shard], ends: &[(usize, usize)]) -> u64 {
    // The same table may be met with the claims of different stops still to be looked at.
    let tables: FxHashSet<(&[u16], &[u8])> = ends
        .iter()
        .map(|(shard, node)| {
            let node = shards[*shard].nodes[*node];
            let sizes = &expander.cores.core(node.core).sizes;
            (sizes.as_slice(), shards[*shard].cells_of(node))
        })
        .collect();
    tables.len() as u64
}

/// In how many ways each core was come to at the end of a road; `None` where a sum grew too large.
fn ways(shards: &[Shard], ends: &[(usize, usize)]) -> Option<FxHashMap<CoreId, u128>> {
    let mut all: FxHashMap<CoreId, u128> = FxHashMap::default();
    for (shard, node) in ends {
        let node = shards[*shard].nodes[*node];
        let sum = all.entry(node.core).or_default();
        *sum = sum.checked_add(node.ways)?;
    }
    Some(all)
}

fn note(part: &mut Part, found: &mut Found, ends: &mut Vec<(usize, usize)>) {
    for stop in &part.reached {
        found.reached[stop.index()] = true;
    }
    for (stop, broken) in &part.broken {
        found.broken[stop.index()] |= broken;
    }
    for stop in &part.stuck {
        found.stuck[stop.index()] = true;
    }
    ends.append(&mut part.ends);
}

/// What follows these states, by core, where it has been or is now worked out for all states of a core.
fn worked_out(
    expander: &mut Expander<'_>,
    shards: &[Shard],
    states: &[(usize, usize)],
) -> Vec<Option<Arc<Follows>>> {
    let mut met = vec![0; expander.cores.count()];
    for (shard, node) in states {
        met[shards[*shard].nodes[*node].core as usize] += 1;
    }
    let follows = |(core, states)| match states {
        0 => None,
        states => expander.follows(core as CoreId, states),
    };
    met.into_iter().enumerate().map(follows).collect()
}

/// How many of these states are expanded before their followers are sorted in.
fn wave_of(follows: &[Option<Arc<Follows>>], shards: &[Shard], states: &[(usize, usize)]) -> usize {
    let mut sent = 0;
    for (n, (shard, node)) in states.iter().enumerate() {
        sent += match follows[shards[*shard].nodes[*node].core as usize].as_deref() {
            Some(Follows::End) => 0,
            Some(Follows::Arrows(arrows)) => arrows.arrows.len(),
            Some(Follows::Open) | None => SENT_ONE_BY_ONE,
        };
        if sent > MOST_SENT {
            return n + 1;
        }
    }
    states.len()
}

/// Expands a wave: what can be done side by side first, the rest one by one.
fn expand_wave(
    expander: &mut Expander<'_>,
    shards: &[Shard],
    chunk: &[(usize, usize)],
    follows: &[Option<Arc<Follows>>],
    parts: &mut [Part],
) {
    parts.iter_mut().for_each(Part::clear);
    let Some((last, parts)) = parts.split_last_mut() else {
        return;
    };
    let shared: &Expander<'_> = expander;
    parts
        .par_iter_mut()
        .zip(chunk.par_chunks(PART))
        .for_each(|(part, nodes)| {
            let mut cells = Vec::new();
            for at in nodes {
                let shard = &shards[at.0];
                let node = shard.nodes[at.1];
                let held = shard.cells_of(node);
                match follows[node.core as usize].as_deref() {
                    Some(follows) => {
                        expand_one(shared, part, follows, *at, node, held, &mut cells);
                    }
                    None => part.slow.push(*at),
                }
            }
        });
    let slow: Vec<(usize, usize)> = parts
        .iter_mut()
        .flat_map(|part| part.slow.drain(..))
        .collect();
    let mut cells = Vec::new();
    for at in slow {
        let shard = &shards[at.0];
        let node = shard.nodes[at.1];
        let ways = node.ways;
        let stop = expander.cores.core(node.core).at;
        if expander.lost.is_some() {
            break;
        }
        if let Err(card) = judge_slowly(expander, node.core, shard.cells_of(node), last) {
            let world = expander.cores.world(node.core, shard.cells_of(node));
            expander.split(&world, node.core, card, &mut cells, &mut |_, next| {
                receive(last, &next, stop, ways);
            });
            continue;
        }
        if expander.ends(node.core) {
            last.ends.push(at);
        }
        expander.each(
            node.core,
            shard.cells_of(node),
            &mut cells,
            &mut |_, next| {
                receive(last, &next, stop, ways);
            },
        );
    }
}

fn receive(part: &mut Part, next: &Next<'_>, stop: StopIndex, ways: u128) {
    match *next {
        Next::State {
            core,
            cells,
            times,
            branches,
            share: _,
            of: _,
        } => {
            let product = ways.checked_mul(u128::from(times) * branches.len() as u128);
            part.overflow |= product.is_none();
            part.post.send(core, cells, product.unwrap_or(u128::MAX));
        }
        Next::Stuck { .. } => part.stuck.push(stop),
    }
}

fn expand_one(
    expander: &Expander<'_>,
    part: &mut Part,
    follows: &Follows,
    at: (usize, usize),
    node: Node,
    held: &[u8],
    cells: &mut Vec<u8>,
) {
    match follows {
        Follows::Open => part.slow.push(at),
        Follows::End | Follows::Arrows(_) => {
            let core = expander.cores.core(node.core);
            if core.origin != 0 && core.done.is_some() {
                part.slow.push(at);
                return;
            }
            if judge(expander, node.core, held, part).is_err() {
                part.slow.push(at);
                return;
            }
            match follows {
                Follows::Arrows(arrows) => {
                    for arrow in &arrows.arrows {
                        cells.clear();
                        expander
                            .plan(arrow.plan)
                            .apply(held, expander.cores.width(), cells);
                        let product = node.ways.checked_mul(arrow.branches.len() as u128);
                        part.overflow |= product.is_none();
                        part.post
                            .send(arrow.to, cells, product.unwrap_or(u128::MAX));
                    }
                    if !arrows.lost.is_empty() {
                        part.stuck.push(expander.cores.core(node.core).at);
                    }
                }
                Follows::End | Follows::Open => part.ends.push(at),
            }
        }
    }
}

/// Looks at the claims of the stop just done, and notes them. A card whose face must be fixed first comes back.
fn judge(expander: &Expander<'_>, core: CoreId, cells: &[u8], part: &mut Part) -> Result<(), Card> {
    let Some(done) = expander.cores.core(core).done else {
        return Ok(());
    };
    let broken = broken(expander, core, cells, &mut part.desk)?;
    part.reach(done);
    if broken != 0 {
        part.broken.push((done, broken));
    }
    Ok(())
}

/// The same for any state: after a followed shuffle a claim breaks where some outcome breaks it.
fn judge_slowly(
    expander: &mut Expander<'_>,
    core: CoreId,
    cells: &[u8],
    part: &mut Part,
) -> Result<(), Card> {
    let known = expander.cores.core(core).clone();
    let Some(done) = known.done.filter(|_| known.origin != 0) else {
        return judge(expander, core, cells, part);
    };
    let world = expander.cores.world(core, cells);
    match expander.breakable(&known, &world) {
        Ok(broken) => {
            part.reach(done);
            if broken != 0 {
                part.broken.push((done, broken));
                let origin = expander.shuffles.origin(known.origin);
                if origin.is_some_and(|origin| origin.anything) {
                    expander.lost.get_or_insert(Lost::NotInductive);
                }
            }
        }
        Err(lost) => {
            expander.lost.get_or_insert(lost);
        }
    }
    Ok(())
}

/// The claims of the stop just done that do not hold, one bit each. A claim that cannot be worked out is broken. The state is laid
/// out on the desk.
///
/// # Errors
/// The card whose face must be fixed first.
pub(super) fn broken(
    expander: &Expander<'_>,
    core: CoreId,
    cells: &[u8],
    desk: &mut World,
) -> Result<Broken, Card> {
    let Some(stop) = expander
        .cores
        .core(core)
        .done
        .and_then(|done| expander.routine.stop(done))
    else {
        return Ok(0);
    };
    expander.cores.lay_out(core, cells, desk);
    let mut broken = 0;
    for (n, claim) in stop.claims.iter().enumerate() {
        let scene = Scene {
            routine: expander.routine,
            world: desk,
        };
        match claim.kind.holds(scene) {
            Ok(true) => {}
            Err(Fault::Unfixed(card)) => return Err(card),
            Ok(false) | Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => {
                broken |= 1 << n.min(63);
            }
        }
    }
    Ok(broken)
}
