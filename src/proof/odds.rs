//! Exact odds, and which branches are to blame.
//!
//! A road is a random walk over the states: at a fork each branch comes with its weight, an unknown card is each of those it can
//! be with their number. For a set of claims let g(s) be the chance that none of them breaks from state s on: 0 where one is
//! broken at s, 1 at the end, and otherwise the weighted mean of g over what follows. Worked out from the ends backwards, in exact
//! fractions. A step that cannot be done counts as broken for the ending as a whole, and as kept for a single claim.

use super::explore::Broken;
use super::graph::{Edge, Graph};
use crate::routine::StopIndex;
use num_rational::BigRational;
use num_traits::{One, Zero};
use rustc_hash::FxHashMap;

/// Which failures count.
#[derive(Debug, Clone, Copy)]
pub(super) enum Failure {
    /// Any claim broken, or a step that cannot be done.
    Any,
    /// This claim of this stop.
    Of(StopIndex, usize),
}

impl Failure {
    fn at(self, done: Option<StopIndex>, broken: Broken) -> bool {
        match self {
            Self::Any => broken != 0,
            Self::Of(stop, index) => done == Some(stop) && broken >> index.min(63) & 1 == 1,
        }
    }
}

/// By state, the chance that nothing fails from it on; `None` where a road can come round again.
pub(super) fn kept(
    graph: &Graph,
    done: impl Fn(usize) -> Option<StopIndex>,
    failure: Failure,
) -> Option<Vec<BigRational>> {
    let mut kept = vec![BigRational::zero(); graph.vertices.len()];
    for n in graph.last_first.as_ref()? {
        let n = *n as usize;
        let vertex = &graph.vertices[n];
        kept[n] = if failure.at(done(n), vertex.broken) {
            BigRational::zero()
        } else if vertex.edges.is_empty() {
            BigRational::one()
        } else {
            let onward = |edge: &Edge| match (edge.to, failure) {
                (Some(to), _) => edge.share() * &kept[to as usize],
                (None, Failure::Any) => BigRational::zero(),
                (None, Failure::Of(..)) => edge.share(),
            };
            vertex
                .edges
                .iter()
                .map(onward)
                .fold(BigRational::zero(), |a, b| a + b)
        };
    }
    Some(kept)
}

/// For each fork and branch: the chance that nothing fails, on roads that took this branch and had not failed before it.
pub(super) fn by_branch(
    graph: &Graph,
    kept: &[BigRational],
    stop_of: impl Fn(usize) -> StopIndex,
) -> Option<Vec<(StopIndex, u64, BigRational)>> {
    let order = graph.last_first.as_ref()?;
    let mut reach = vec![BigRational::zero(); graph.vertices.len()];
    if let Some(start) = reach.first_mut() {
        *start = BigRational::one();
    }
    let mut sums: FxHashMap<(StopIndex, u64), (BigRational, BigRational)> = FxHashMap::default();
    for n in order.iter().rev() {
        let n = *n as usize;
        let vertex = &graph.vertices[n];
        if vertex.broken != 0 || reach[n].is_zero() {
            continue;
        }
        for edge in &vertex.edges {
            let good = edge
                .to
                .map_or_else(BigRational::zero, |to| kept[to as usize].clone());
            if vertex.forks {
                for (branch, weight) in &edge.branches {
                    let flow = &reach[n] * edge.share_of(*weight);
                    let sum = sums
                        .entry((stop_of(n), *branch))
                        .or_insert_with(|| (BigRational::zero(), BigRational::zero()));
                    sum.0 += &flow * &good;
                    sum.1 += &flow;
                }
            }
            if let Some(to) = edge.to {
                let flow = &reach[n] * edge.share();
                reach[to as usize] += flow;
            }
        }
    }
    let mut table: Vec<_> = sums
        .into_iter()
        .filter(|(_, (_, all))| !all.is_zero())
        .map(|((stop, branch), (good, all))| (stop, branch, good / all))
        .collect();
    table.sort_by(|a, b| (a.0, &a.2, a.1).cmp(&(b.0, &b.2, b.1)));
    Some(table)
}
