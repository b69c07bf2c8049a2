//! The states and steps of a routine written out: small enough to be gone over again for odds, blame and the shortest
//! counterexample.

use super::expand::{Expander, Next};
use super::explore::{Broken, broken};
use super::report::Limits;
use super::state::State;
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
}

impl Edge {
    /// The first of its branches.
    pub(super) fn first(&self) -> u64 {
        self.branches.first().map_or(0, |(branch, _)| *branch)
    }

    /// The chance that it is gone along, from its state.
    pub(super) fn share(&self) -> BigRational {
        self.share_of(self.branches.iter().map(|(_, weight)| *weight).sum())
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

/// All states with their steps; the start is the first.
#[derive(Debug)]
pub(super) struct Graph {
    /// By number.
    pub(super) vertices: Vec<Vertex>,
    /// The states in an order in which each comes after those that follow it; `None` where a road can come round again.
    pub(super) last_first: Option<Vec<u32>>,
}

impl Graph {
    /// Writes the graph out; `None` where it has more than so many edges, or the budget ran out.
    pub(super) fn write(
        expander: &mut Expander<'_>,
        most: usize,
        limits: &Limits<'_>,
    ) -> Option<Self> {
        let start = expander.start();
        let mut numbers: FxHashMap<State, u32> = FxHashMap::default();
        numbers.insert(start.clone(), 0);
        let mut waiting = VecDeque::from([start]);
        let mut vertices: Vec<Vertex> = Vec::new();
        let mut total = 0;
        let mut scratch = Vec::new();
        while let Some(state) = waiting.pop_front() {
            if total > most || (vertices.len() % 1024 == 0 && (limits.stop)()) {
                return None;
            }
            let mut edges: Vec<Edge> = Vec::new();
            let mut receive = |_: &mut Expander<'_>, next: Next<'_>| {
                edges.push(match next {
                    Next::State {
                        core,
                        cells,
                        times,
                        branches,
                        of,
                    } => {
                        let state = State {
                            core,
                            cells: cells.into(),
                        };
                        let new = u32::try_from(numbers.len()).unwrap_or(u32::MAX);
                        let to = *numbers.entry(state).or_insert_with_key(|state| {
                            waiting.push_back(state.clone());
                            new
                        });
                        Edge {
                            to: Some(to),
                            times,
                            branches: branches.into(),
                            of,
                        }
                    }
                    Next::Stuck { branches, of, .. } => Edge {
                        to: None,
                        times: 1,
                        branches: branches.into(),
                        of,
                    },
                });
            };
            let (broken, splits) = match broken(expander, state.core, &state.cells) {
                Ok(broken) => {
                    expander.each(state.core, &state.cells, &mut scratch, &mut receive);
                    (broken, expander.splits_at(state.core, &state.cells))
                }
                Err(card) => {
                    let world = expander.cores.world(state.core, &state.cells);
                    expander.split(&world, state.core, card, &mut scratch, &mut receive);
                    (0, true)
                }
            };
            edges.sort_by_key(Edge::first);
            total += edges.len();
            vertices.push(Vertex {
                forks: !splits && expander.forks(state.core),
                state,
                broken,
                splits,
                edges,
            });
        }
        let last_first = last_first(&vertices);
        Some(Self {
            vertices,
            last_first,
        })
    }

    /// How many roads there are, where none comes round again.
    pub(super) fn roads(&self, at_end: impl Fn(&State) -> BigUint) -> Option<BigUint> {
        let mut roads = vec![BigUint::zero(); self.vertices.len()];
        for n in self.last_first.as_ref()? {
            let vertex = &self.vertices[*n as usize];
            roads[*n as usize] = if vertex.edges.is_empty() {
                at_end(&vertex.state)
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
    let mut way: Vec<(u32, usize)> = vec![(0, 0)];
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
    Some(order)
}
