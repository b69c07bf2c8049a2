//! The smallest set of branches without which the routine is sure-fire.
//!
//! Every road that fails takes some branches; a set that mends it all must hold one of each such road. Roads are found one by one
//! with the branches of the best set so far left out (what is left without a branch at a fork fails too: somebody must be
//! able to choose something), and the smallest set that hits all roads found is looked for anew: the implicit hitting set
//! method (Moreno-Centeno and Karp 2013, there for other problems). It ends with a smallest set, or with none.

use super::explore::Broken;
use super::graph::Graph;
use crate::routine::StopIndex;
use std::collections::BTreeSet;

/// A branch of a fork, by its stop and number.
pub(super) type Branch = (StopIndex, u64);

/// More rounds than this are not made.
const MOST_ROUNDS: usize = 400;

/// A set larger than this helps nobody.
const LARGEST: usize = 12;

/// Sets that are tried in all: the search for a smallest one takes time that grows with every branch.
const MOST_TRIED: u32 = 4_000;

/// The smallest set of branches to withdraw; `None` where there is none of a useful size, or it was not found in time. `fixed` says
/// which stops' branches cannot be withdrawn one by one (nobody can forbid one way of shuffling).
pub(super) fn smallest(
    graph: &Graph,
    stop_of: impl Fn(usize) -> StopIndex,
    fixed: impl Fn(StopIndex) -> bool,
    wrong: impl Fn(usize, Broken) -> bool,
) -> Option<Vec<Branch>> {
    let mut roads: Vec<Failing> = Vec::new();
    let mut without: BTreeSet<Branch> = BTreeSet::new();
    let mut left = MOST_TRIED;
    for _ in 0..MOST_ROUNDS {
        let Some(mut road) = failing(graph, &stop_of, &wrong, &without) else {
            return Some(without.into_iter().collect());
        };
        road.taken.retain(|branch| !fixed(branch.0));
        if road.taken.is_empty() && road.shut.is_empty() {
            return None;
        }
        roads.push(road);
        // One road more never needs fewer branches.
        let least = without.len().max(1);
        without = (least..=LARGEST)
            .find_map(|size| hit(&roads, size, &mut BTreeSet::new(), &mut left))?;
    }
    None
}

/// A road that fails.
#[derive(Debug)]
struct Failing {
    /// The branches it takes: one of them must go,
    taken: BTreeSet<Branch>,
    /// or, where it came to a fork with no branch left, one of these must stay. Empty where it failed by itself.
    shut: BTreeSet<Branch>,
}

/// A road that fails, or that comes to a fork with no branch left; none of the withdrawn is taken.
fn failing(
    graph: &Graph,
    stop_of: &impl Fn(usize) -> StopIndex,
    wrong: &impl Fn(usize, Broken) -> bool,
    without: &BTreeSet<Branch>,
) -> Option<Failing> {
    let mut came: Vec<Option<(u32, Option<Branch>)>> = vec![None; graph.vertices.len()];
    let mut seen = vec![false; graph.vertices.len()];
    let mut waiting = std::collections::VecDeque::from([0_u32]);
    if let Some(start) = seen.first_mut() {
        *start = true;
    }
    let back = |came: &[Option<(u32, Option<Branch>)>], mut n: u32| {
        let mut taken = BTreeSet::new();
        while let Some((before, branch)) = came[n as usize] {
            taken.extend(branch);
            n = before;
        }
        Failing {
            taken,
            shut: BTreeSet::new(),
        }
    };
    while let Some(n) = waiting.pop_front() {
        let vertex = &graph.vertices[n as usize];
        if wrong(n as usize, vertex.broken) {
            return Some(back(&came, n));
        }
        let stop = stop_of(n as usize);
        let mut left = vertex.edges.is_empty();
        for edge in &vertex.edges {
            let branch = edge
                .branches
                .iter()
                .map(|(branch, _)| (stop, *branch))
                .find(|branch| !vertex.forks || !without.contains(branch));
            let Some(branch) = branch else {
                continue;
            };
            left = true;
            match edge.to {
                None => {
                    let mut road = back(&came, n);
                    road.taken.extend(vertex.forks.then_some(branch));
                    return Some(road);
                }
                Some(to) if !seen[to as usize] => {
                    seen[to as usize] = true;
                    came[to as usize] = Some((n, vertex.forks.then_some(branch)));
                    waiting.push_back(to);
                }
                Some(_) => {}
            }
        }
        if !left {
            let mut road = back(&came, n);
            let branches = vertex.edges.iter().flat_map(|edge| &edge.branches);
            road.shut = branches.map(|(branch, _)| (stop, *branch)).collect();
            return Some(road);
        }
    }
    None
}

/// A set of so many that mends each road, if there is one and `left` tries are enough to find it. What comes back is a smallest
/// one only where no smaller size ran out of tries: then none are left for this one either.
fn hit(
    roads: &[Failing],
    size: usize,
    chosen: &mut BTreeSet<Branch>,
    left: &mut u32,
) -> Option<BTreeSet<Branch>> {
    *left = left.checked_sub(1)?;
    let fails = |road: &&Failing| {
        road.taken.is_disjoint(chosen) && road.shut.iter().all(|branch| chosen.contains(branch))
    };
    let open = roads.iter().filter(fails);
    let Some(open) = open.min_by_key(|road| road.taken.len()) else {
        return Some(chosen.clone());
    };
    if chosen.len() == size {
        return None;
    }
    for branch in &open.taken {
        chosen.insert(*branch);
        let found = hit(roads, size, chosen, left);
        chosen.remove(branch);
        if found.is_some() {
            return found;
        }
    }
    None
}
