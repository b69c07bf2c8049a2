//! The states and steps of a routine written out: small enough to be gone over again for odds, blame and the shortest
//! counterexample.

use super::expand::Expander;
use super::explore::{Broken, broken};
use super::follows::Next;
use super::shuffled::Lost;
use super::state::{Core, Cores, State};
use crate::cards::Card;
use crate::routine::{StopIndex, World};
use num_bigint::{BigInt, BigUint};
use num_rational::BigRational;
use num_traits::Zero;
use rustc_hash::FxHashMap;
use std::collections::VecDeque;

/// A step, or several that do the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Edge {
    /// The state it leads to; `None` where the step cannot be done.
    pub(super) to: Option<u32>,
    /// How many ways each of the branches stands for.
    pub(super) times: u64,
    /// The branches that do this, each with its weight.
    pub(super) branches: Box<[(u64, u64)]>,
    /// The weight of all that can follow.
    pub(super) of: u64,
    /// The chance of it, where it is not the share of the weights.
    chance: Option<BigRational>,
}

impl Edge {
    /// The first of its branches.
    pub(super) fn first(&self) -> u64 {
        self.branches.first().map_or(0, |(branch, _)| *branch)
    }

    /// The chance that it is gone along, from its state.
    pub(super) fn share(&self) -> BigRational {
        match &self.chance {
            Some(chance) => chance.clone(),
            None => self.share_of(self.branches.iter().map(|(_, weight)| *weight).sum()),
        }
    }

    /// The chance that one of its branches with this weight is taken.
    pub(super) fn share_of(&self, weight: u64) -> BigRational {
        BigRational::new(BigInt::from(weight), BigInt::from(self.of.max(1)))
    }

    /// How many ways it stands for.
    fn ways(&self) -> u64 {
        self.times * self.branches.len() as u64
    }
}

/// A state, and what follows it.
#[derive(Debug)]
pub(super) struct Vertex {
    /// The state.
    pub(super) state: State,
    /// The claims of the stop just done that do not hold.
    pub(super) broken: Broken,
    /// Whether the step is a spectator's choice.
    pub(super) forks: bool,
    /// Whether a face is fixed here instead of a step taken.
    pub(super) splits: bool,
    /// What follows, in the order of the branches.
    pub(super) edges: Vec<Edge>,
}

/// All states with their steps; the start comes first.
#[derive(Debug)]
pub(super) struct Graph {
    /// By number.
    pub(super) vertices: Vec<Vertex>,
    /// The states in an order in which each comes after those that follow it; `None` where a road can come round again.
    pub(super) last_first: Option<Vec<u32>>,
}

/// How claims are taken on states after a followed shuffle, where some outcomes may break them and others not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Taken {
    /// Broken where some outcome breaks them.
    Possibly,
    /// The state is parted into the outcomes that keep all claims and those that break one.
    Apart,
    /// The same for this claim of this stop only.
    Only(StopIndex, usize),
}

/// What a vertex stands for.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Key {
    State(State),
    /// Outcomes that break this claim: nothing more is looked at.
    Fallen(StopIndex, usize),
}

/// Writes a graph.
struct Writer<'e, 'r> {
    expander: &'e mut Expander<'r>,
    taken: Taken,
    numbers: FxHashMap<Key, u32>,
    /// By number: what it stands for, its state, and the fewest forks by which it has been come to so far.
    keys: Vec<(Key, State, u32)>,
    /// Numbers still to be gone on from, with the forks by which they were come to: the fewest first.
    waiting: VecDeque<(u32, u32)>,
}

impl Writer<'_, '_> {
    fn number(&mut self, key: Key, state: State) -> u32 {
        let new = u32::try_from(self.numbers.len()).unwrap_or(u32::MAX);
        let keys = &mut self.keys;
        *self.numbers.entry(key).or_insert_with_key(|key| {
            keys.push((key.clone(), state, u32::MAX));
            new
        })
    }

    /// Queues what follows a vertex that was come to by so many forks. Steps without a fork cost nothing and go to the front, so that
    /// vertices are gone on from in the order of their forks.
    fn queue(&mut self, vertex: &Vertex, forks: u32) {
        let forks = forks + u32::from(vertex.forks);
        for to in vertex.edges.iter().filter_map(|edge| edge.to) {
            let fewest = &mut self.keys[to as usize].2;
            if forks < *fewest {
                *fewest = forks;
                if vertex.forks {
                    self.waiting.push_back((to, forks));
                } else {
                    self.waiting.push_front((to, forks));
                }
            }
        }
    }

    fn vertex(&mut self, key: &Key, state: State, scratch: &mut Vec<u8>) -> Result<Vertex, Lost> {
        let core = self.expander.cores.core(state.core).clone();
        let mut vertex = Vertex {
            forks: self.expander.forks(state.core),
            state,
            broken: 0,
            splits: false,
            edges: Vec::new(),
        };
        if let Key::Fallen(_, index) = *key {
            vertex.broken = 1 << index.min(63);
            return Ok(vertex);
        }
        if core.origin != 0 && core.done.is_some() {
            let world = self
                .expander
                .cores
                .world(vertex.state.core, &vertex.state.cells);
            if self.taken == Taken::Possibly {
                vertex.broken = self.expander.breakable(&core, &world)?;
            } else if self.part(&core, &world, &mut vertex)? {
                return Ok(vertex);
            }
        } else {
            let (at, desk) = (&vertex.state, &mut Cores::desk());
            match broken(self.expander, at.core, &at.cells, desk) {
                Ok(broken) => vertex.broken = broken,
                Err(card) => {
                    vertex.splits = true;
                    self.follow(&mut vertex, Some(card), scratch);
                    return Ok(vertex);
                }
            }
        }
        vertex.splits = self
            .expander
            .splits_at(vertex.state.core, &vertex.state.cells);
        self.follow(&mut vertex, None, scratch);
        Ok(vertex)
    }

    /// Adds what follows a state: a face fixed, where one is asked for, or the step.
    fn follow(&mut self, vertex: &mut Vertex, card: Option<Card>, scratch: &mut Vec<u8>) {
        vertex.forks &= !vertex.splits;
        let state = vertex.state.clone();
        let (numbers, keys) = (&mut self.numbers, &mut self.keys);
        let mut receive = |_: &mut Expander<'_>, next: Next<'_>| {
            vertex.edges.push(match next {
                Next::State {
                    core,
                    cells,
                    times,
                    share,
                    branches,
                    of,
                } => {
                    let state = State {
                        core,
                        cells: cells.into(),
                    };
                    let new = u32::try_from(numbers.len()).unwrap_or(u32::MAX);
                    let to = *numbers.entry(Key::State(state)).or_insert_with_key(|key| {
                        if let Key::State(state) = key {
                            keys.push((key.clone(), state.clone(), u32::MAX));
                        }
                        new
                    });
                    Edge {
                        to: Some(to),
                        times,
                        branches: branches.into(),
                        of,
                        chance: share,
                    }
                }
                Next::Stuck { branches, of } => Edge {
                    to: None,
                    times: 1,
                    branches: branches.into(),
                    of,
                    chance: None,
                },
            });
        };
        match card {
            None => self
                .expander
                .each(state.core, &state.cells, scratch, &mut receive),
            Some(card) => {
                let world = self.expander.cores.world(state.core, &state.cells);
                self.expander
                    .split(&world, state.core, card, scratch, &mut receive);
            }
        }
        vertex.edges.sort_by_key(Edge::first);
    }

    /// Parts a state after a followed shuffle by the first claim that some outcomes keep and others break; whether there was one.
    fn part(&mut self, core: &Core, world: &World, vertex: &mut Vertex) -> Result<bool, Lost> {
        let routine = self.expander.routine;
        let Some((done, stop)) = core.done.and_then(|done| Some((done, routine.stop(done)?)))
        else {
            return Ok(false);
        };
        for (index, claim) in stop.claims.iter().enumerate() {
            if matches!(self.taken, Taken::Only(at, only) if (at, only) != (done, index)) {
                continue;
            }
            let Some((kept, broken, monitor)) = self.expander.weigh(core, world, &claim.kind)?
            else {
                continue;
            };
            if broken.is_zero() {
                continue;
            }
            if kept.is_zero() {
                vertex.broken |= 1 << index.min(63);
                continue;
            }
            let all = BigInt::from(&kept + &broken);
            let edge = |to: u32, count: BigUint| Edge {
                to: Some(to),
                times: 1,
                branches: [(0, 1)].into(),
                of: 1,
                chance: Some(BigRational::new(count.into(), all.clone())),
            };
            let mut whole = core.clone();
            whole.given.push((monitor, true));
            let state = State {
                core: self.expander.cores.number(whole),
                cells: vertex.state.cells.clone(),
            };
            let on = self.number(Key::State(state.clone()), state);
            let off = self.number(Key::Fallen(done, index), vertex.state.clone());
            vertex.edges = vec![edge(on, kept), edge(off, broken)];
            vertex.splits = true;
            vertex.forks = false;
            return Ok(true);
        }
        Ok(false)
    }
}

impl Graph {
    /// Writes the graph out; `None` where it has more than so many edges, or the budget ran out.
    pub(super) fn write(expander: &mut Expander<'_>, most: usize, taken: Taken) -> Option<Self> {
        let start = expander.start();
        Self::write_as_far(expander, start, most, taken, false)
    }

    /// The part of the graph that can be come to by no more forks than the nearest failure.
    pub(super) fn write_near(expander: &mut Expander<'_>, most: usize) -> Option<Self> {
        let start = expander.start();
        Self::write_as_far(expander, start, most, Taken::Possibly, true)
    }

    fn write_as_far(
        expander: &mut Expander<'_>,
        start: State,
        most: usize,
        taken: Taken,
        near: bool,
    ) -> Option<Self> {
        expander.weighs = taken != Taken::Possibly;
        let mut writer = Writer {
            expander,
            taken,
            numbers: FxHashMap::default(),
            keys: Vec::new(),
            waiting: VecDeque::new(),
        };
        let n = writer.number(Key::State(start.clone()), start);
        writer.keys[n as usize].2 = 0;
        writer.waiting.push_back((n, 0));
        let mut vertices: Vec<Option<Vertex>> = Vec::new();
        let (mut total, mut tries) = (0, 0_usize);
        let mut failed: Option<u32> = None;
        let mut scratch = Vec::new();
        while let Some((n, forks)) = writer.waiting.pop_front() {
            if failed.is_some_and(|nearest| forks > nearest) {
                break;
            }
            vertices.resize_with(writer.keys.len(), || None);
            if vertices[n as usize].is_some() {
                continue;
            }
            tries += 1;
            let limits = writer.expander.limits;
            if total > most || (tries.is_multiple_of(256) && (limits.stop)()) {
                return None;
            }
            let (key, state, _) = writer.keys[n as usize].clone();
            let vertex = writer.vertex(&key, state, &mut scratch).ok()?;
            if writer.expander.lost.is_some() {
                return None;
            }
            total += vertex.edges.len();
            writer.queue(&vertex, forks);
            if near {
                let stuck = vertex.edges.iter().any(|edge| edge.to.is_none());
                let at = if vertex.broken != 0 {
                    Some(forks)
                } else {
                    stuck.then_some(forks + u32::from(vertex.forks))
                };
                failed = [failed, at].into_iter().flatten().min();
            }
            vertices[n as usize] = Some(vertex);
        }
        vertices.resize_with(writer.keys.len(), || None);
        let beyond = |(_, state, _): (Key, State, u32)| Vertex {
            state,
            broken: 0,
            forks: false,
            splits: false,
            edges: Vec::new(),
        };
        let vertices: Vec<Vertex> = vertices
            .into_iter()
            .zip(writer.keys)
            .map(|(vertex, key)| vertex.unwrap_or_else(|| beyond(key)))
            .collect();
        let last_first = last_first(&vertices);
        Some(Self {
            vertices,
            last_first,
        })
    }

    /// How many roads there are, where none comes round again.
    pub(super) fn roads(
        &self,
        mut at_end: impl FnMut(&State) -> Option<BigUint>,
    ) -> Option<BigUint> {
        let mut roads = vec![BigUint::zero(); self.vertices.len()];
        for n in self.last_first.as_ref()? {
            let vertex = &self.vertices[*n as usize];
            roads[*n as usize] = if vertex.edges.is_empty() {
                at_end(&vertex.state)?
            } else {
                let onward = |edge: &Edge| {
                    edge.ways()
                        * edge
                            .to
                            .map_or_else(BigUint::zero, |to| roads[to as usize].clone())
                };
                vertex.edges.iter().map(onward).sum()
            };
        }
        roads.into_iter().next()
    }
}

/// Depth first; a state that is met again while it is still on the way closes a circle.
fn last_first(vertices: &[Vertex]) -> Option<Vec<u32>> {
    #[derive(Clone, Copy, PartialEq)]
    enum Mark {
        New,
        OnTheWay,
        Done,
    }
    let mut marks = vec![Mark::New; vertices.len()];
    let mut order = Vec::with_capacity(vertices.len());
    for first in 0..vertices.len() {
        if marks[first] != Mark::New {
            continue;
        }
        let mut way: Vec<(u32, usize)> = vec![(u32::try_from(first).ok()?, 0)];
        while let Some((n, edge)) = way.last_mut() {
            let vertex = &vertices[*n as usize];
            marks[*n as usize] = Mark::OnTheWay;
            match vertex.edges.get(*edge) {
                None => {
                    marks[*n as usize] = Mark::Done;
                    order.push(*n);
                    way.pop();
                }
                Some(next) => {
                    *edge += 1;
                    if let Some(to) = next.to {
                        match marks[to as usize] {
                            Mark::New => way.push((to, 0)),
                            Mark::OnTheWay => return None,
                            Mark::Done => {}
                        }
                    }
                }
            }
        }
    }
    Some(order)
}
