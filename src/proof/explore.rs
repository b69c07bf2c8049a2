//! Visiting every state that any road leads to, each once.
//!
//! States are spread over shards by their hash. A wave of states is expanded, what follows is sorted by shard, and every shard takes
//! in its own: on several threads, with each shard's table small enough to stay near the processor.

use super::expand::{Expander, Follows, Next};
use super::shuffled::Lost;
use super::state::{CoreId, State};
use crate::cards::Card;
use crate::routine::{Fault, Scene, StopIndex};
use hashbrown::HashTable;
use rayon::prelude::*;
use rustc_hash::{FxHashSet, FxHasher};
use std::hash::Hasher;
use std::sync::Arc;

/// How many shards: a power of two.
const SHARDS: usize = 64;

/// How many states are expanded before their followers are sorted in.
const WAVE: usize = 1 << 14;

/// How many states one thread expands at a time.
const PART: usize = 1 << 11;

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
    /// The ends of the roads, each with the number of roads that lead there; `None` where they were not counted on the way, since
    /// a state was met again after it had been left.
    pub(super) ways: Option<Vec<(State, u128)>>,
    /// How many different tables the roads end with, as far as the watch tells them apart.
    pub(super) tables: u64,
}

/// States with the same hash bits.
#[derive(Debug, Default)]
struct Shard {
    table: HashTable<(u32, u32)>,
    cells: Vec<u8>,
    nodes: Vec<Node>,
    ways: Vec<u128>,
    /// The first node not expanded yet.
    edge: usize,
}

#[derive(Debug, Clone, Copy)]
struct Node {
    core: CoreId,
    from: u32,
    len: u16,
}

/// States on their way to a shard.
#[derive(Debug, Default)]
struct Sent {
    heads: Vec<(u32, CoreId, u16)>,
    ways: Vec<u128>,
    cells: Vec<u8>,
}

impl Sent {
    fn push(&mut self, hash: u32, core: CoreId, cells: &[u8], ways: u128) {
        let len = u16::try_from(cells.len()).unwrap_or(u16::MAX);
        self.heads.push((hash, core, len));
        self.ways.push(ways);
        self.cells.extend_from_slice(cells);
    }
}

/// What one thread made of its part of a wave.
#[derive(Debug)]
struct Part {
    sent: Vec<Sent>,
    reached: Vec<StopIndex>,
    broken: Vec<(StopIndex, Broken)>,
    stuck: Vec<StopIndex>,
    /// Nodes that must be expanded one by one, in order.
    slow: Vec<(usize, usize)>,
    ends: Vec<(usize, usize)>,
    /// Whether a count of roads grew too large.
    overflow: bool,
}

impl Part {
    fn new() -> Self {
        Self {
            sent: (0..SHARDS).map(|_| Sent::default()).collect(),
            reached: Vec::new(),
            broken: Vec::new(),
            stuck: Vec::new(),
            slow: Vec::new(),
            ends: Vec::new(),
            overflow: false,
        }
    }

    fn send(&mut self, core: CoreId, cells: &[u8], ways: u128) {
        let hash = hash(core, cells);
        self.sent[shard_of(hash)].push((hash >> 32) as u32, core, cells, ways);
    }
}

fn hash(core: CoreId, cells: &[u8]) -> u64 {
    let mut hasher = FxHasher::default();
    hasher.write_u32(core);
    hasher.write(cells);
    hasher.finish()
}

/// The shard goes by other bits than the place in its table.
fn shard_of(hash: u64) -> usize {
    (hash as usize) & (SHARDS - 1)
}

impl Shard {
    fn cells_of(&self, node: Node) -> &[u8] {
        &self.cells[node.from as usize..node.from as usize + usize::from(node.len)]
    }

    /// Takes in what was sent; whether a state came that had been left already, or a count grew too large.
    fn take_in(&mut self, sent: &Sent) -> bool {
        let mut disorder = false;
        let mut from = 0;
        for ((tag, core, len), ways) in sent.heads.iter().zip(&sent.ways) {
            let cells = &sent.cells[from..from + usize::from(*len)];
            from += usize::from(*len);
            let (stored, nodes) = (&self.cells, &self.nodes);
            let same = |(other, index): &(u32, u32)| {
                let node = nodes[*index as usize];
                other == tag
                    && node.core == *core
                    && node.len == *len
                    && &stored[node.from as usize..node.from as usize + usize::from(*len)] == cells
            };
            let spread = spread(*tag);
            match self.table.find(spread, same) {
                Some((_, index)) => {
                    let index = *index as usize;
                    let sum = self.ways[index].checked_add(*ways);
                    disorder |= index < self.edge || sum.is_none();
                    self.ways[index] = sum.unwrap_or(u128::MAX);
                }
                None => {
                    let index = self.nodes.len() as u32;
                    self.table
                        .insert_unique(spread, (*tag, index), |(tag, _)| spread_of(*tag));
                    self.nodes.push(Node {
                        core: *core,
                        from: self.cells.len() as u32,
                        len: *len,
                    });
                    self.cells.extend_from_slice(cells);
                    self.ways.push(*ways);
                }
            }
        }
        disorder
    }

    fn bytes(&self) -> usize {
        self.table.capacity() * 9
            + self.cells.capacity()
            + self.nodes.capacity() * 12
            + self.ways.capacity() * 16
    }
}

/// Spreads the kept half of a hash over the whole word, since the table looks at its ends.
fn spread(tag: u32) -> u64 {
    spread_of(tag)
}

fn spread_of(tag: u32) -> u64 {
    u64::from(tag).wrapping_mul(0x9e37_79b9_7f4a_7c15)
}

/// Visits every state.
pub(super) fn explore(expander: &mut Expander<'_>) -> Found {
    let limits = expander.limits;
    let stops = expander.routine.stops.len();
    let mut found = Found {
        met: vec![false; stops],
        reached: vec![false; stops],
        broken: vec![0; stops],
        stuck: vec![false; stops],
        ..Found::default()
    };
    let mut shards: Vec<Shard> = (0..SHARDS).map(|_| Shard::default()).collect();
    let start = expander.start();
    let mut first = Part::new();
    first.send(start.core, &start.cells, 1);
    let mut disorder = false;
    for (shard, sent) in shards.iter_mut().zip(&first.sent) {
        disorder |= shard.take_in(sent);
    }
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
        for chunk in wave.chunks(WAVE) {
            if (limits.stop)() || shards.iter().map(Shard::bytes).sum::<usize>() > limits.bytes {
                found.cut_short = true;
                break;
            }
            let mut parts = expand_wave(expander, &shards, chunk);
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
                        .fold(false, |bad, part| bad | shard.take_in(&part.sent[n]))
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
    // The same table may be met with the claims of different stops still to be looked at.
    let tables: FxHashSet<(&[u16], &[u8])> = ends
        .iter()
        .map(|(shard, node)| {
            let node = shards[*shard].nodes[*node];
            let sizes = &expander.cores.core(node.core).sizes;
            (sizes.as_slice(), shards[*shard].cells_of(node))
        })
        .collect();
    found.tables = tables.len() as u64;
    if !disorder && !found.cut_short {
        let end = |(shard, node): &(usize, usize)| {
            let shard = &shards[*shard];
            let at = shard.nodes[*node];
            let state = State {
                core: at.core,
                cells: shard.cells_of(at).into(),
            };
            (state, shard.ways[*node])
        };
        found.ways = Some(ends.iter().map(end).collect());
    }
    found
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

/// Expands a wave: what can be done side by side first, the rest one by one.
fn expand_wave(
    expander: &mut Expander<'_>,
    shards: &[Shard],
    chunk: &[(usize, usize)],
) -> Vec<Part> {
    let core_of = |(shard, node): &(usize, usize)| shards[*shard].nodes[*node].core;
    let mut follows: Vec<Option<Arc<Follows>>> = Vec::new();
    for at in chunk {
        let core = core_of(at) as usize;
        if follows.len() <= core {
            follows.resize(core + 1, None);
        }
        if follows[core].is_none() {
            follows[core] = Some(expander.follows(core as CoreId));
        }
    }
    let shared: &Expander<'_> = expander;
    let mut parts: Vec<Part> = chunk
        .par_chunks(PART)
        .map(|nodes| {
            let mut part = Part::new();
            let mut cells = Vec::new();
            for at in nodes {
                let shard = &shards[at.0];
                let node = shard.nodes[at.1];
                let held = shard.cells_of(node);
                match follows.get(node.core as usize).and_then(Option::as_deref) {
                    Some(follows) => {
                        expand_one(
                            shared,
                            &mut part,
                            follows,
                            *at,
                            node,
                            held,
                            shard.ways[at.1],
                            &mut cells,
                        );
                    }
                    None => part.slow.push(*at),
                }
            }
            part
        })
        .collect();
    let slow: Vec<(usize, usize)> = parts
        .iter_mut()
        .flat_map(|part| std::mem::take(&mut part.slow))
        .collect();
    let mut part = Part::new();
    let mut cells = Vec::new();
    for at in slow {
        let shard = &shards[at.0];
        let node = shard.nodes[at.1];
        let ways = shard.ways[at.1];
        let stop = expander.cores.core(node.core).at;
        if expander.lost.is_some() {
            break;
        }
        if let Err(card) = judge_slowly(expander, node.core, shard.cells_of(node), &mut part) {
            let world = expander.cores.world(node.core, shard.cells_of(node));
            expander.split(&world, node.core, card, &mut cells, &mut |_, next| {
                receive(&mut part, &next, stop, ways);
            });
            continue;
        }
        if matches!(*expander.follows(node.core), Follows::End) {
            part.ends.push(at);
        }
        expander.each(
            node.core,
            shard.cells_of(node),
            &mut cells,
            &mut |_, next| {
                receive(&mut part, &next, stop, ways);
            },
        );
    }
    parts.push(part);
    parts
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
            part.send(core, cells, product.unwrap_or(u128::MAX));
        }
        Next::Stuck { .. } => part.stuck.push(stop),
    }
}

#[expect(
    clippy::too_many_arguments,
    reason = "the inner loop of the explorer: one call a state"
)]
fn expand_one(
    expander: &Expander<'_>,
    part: &mut Part,
    follows: &Follows,
    at: (usize, usize),
    node: Node,
    held: &[u8],
    ways: u128,
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
                        let product = ways.checked_mul(arrow.branches.len() as u128);
                        part.overflow |= product.is_none();
                        part.send(arrow.to, cells, product.unwrap_or(u128::MAX));
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
    let broken = broken(expander, core, cells)?;
    part.reached.push(done);
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
            part.reached.push(done);
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

/// The claims of the stop just done that do not hold, one bit each. A claim that cannot be worked out is broken.
///
/// # Errors
/// The card whose face must be fixed first.
pub(super) fn broken(expander: &Expander<'_>, core: CoreId, cells: &[u8]) -> Result<Broken, Card> {
    let Some(stop) = expander
        .cores
        .core(core)
        .done
        .and_then(|done| expander.routine.stop(done))
    else {
        return Ok(0);
    };
    let world = expander.cores.world(core, cells);
    let mut broken = 0;
    for (n, claim) in stop.claims.iter().enumerate() {
        let scene = Scene {
            routine: expander.routine,
            world: &world,
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
