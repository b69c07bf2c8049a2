//! The shortest road that goes wrong: fewest forks, and among those the smallest choices.
//!
//! On the written graph the number of forks from each state to the nearest failure is worked out backwards; then the road is walked
//! forwards on real cards, at each fork with the smallest branch that is still on a shortest way.

use super::expand::Expander;
use super::explore::Broken;
use super::graph::{Edge, Graph};
use super::report::{Counterexample, Wrong};
use super::shuffled::choice_of;
use crate::cards::Card;
use crate::knowing::Outcome;
use crate::roads::{Walked, choice_label, domain, pass, unknown_start};
use crate::routine::{Fault, NameId, Routine, StopIndex, Value, World};
use rustc_hash::FxHashMap;
use std::collections::VecDeque;

/// By state, how many forks away the nearest failure is; `None` where there is none.
fn distances(graph: &Graph, wrong: impl Fn(usize, Broken) -> bool) -> Vec<Option<u32>> {
    let mut distance: Vec<Option<u32>> = vec![None; graph.vertices.len()];
    let mut into: Vec<Vec<u32>> = vec![Vec::new(); graph.vertices.len()];
    let mut waiting: VecDeque<(u32, u32)> = VecDeque::new();
    for (n, vertex) in graph.vertices.iter().enumerate() {
        let number = u32::try_from(n).unwrap_or(u32::MAX);
        for edge in &vertex.edges {
            match edge.to {
                Some(to) => into[to as usize].push(number),
                None => waiting.push_back((number, u32::from(vertex.forks))),
            }
        }
        if wrong(n, vertex.broken) {
            waiting.push_front((number, 0));
        }
    }
    // Steps without a fork cost nothing and go to the front; those queued at first cost at most one.
    let mut ordered: Vec<_> = waiting.into_iter().collect();
    ordered.sort_by_key(|(_, cost)| *cost);
    let mut waiting = VecDeque::from(ordered);
    while let Some((n, cost)) = waiting.pop_front() {
        let slot = &mut distance[n as usize];
        if slot.is_some_and(|known| known <= cost) {
            continue;
        }
        *slot = Some(cost);
        for before in &into[n as usize] {
            if graph.vertices[*before as usize].forks {
                waiting.push_back((*before, cost + 1));
            } else {
                waiting.push_front((*before, cost));
            }
        }
    }
    distance
}

/// The shortest road on the graph to a state that is wrong, or to a step that cannot be done.
pub(super) fn shortest(
    expander: &mut Expander<'_>,
    graph: &Graph,
    wrong: impl Fn(usize, Broken) -> bool,
) -> Option<Counterexample> {
    let distance = distances(graph, &wrong);
    let mut seeker = Seeker {
        expander,
        graph,
        distance: &distance,
        wrong: &wrong,
    };
    let left = distance.first().copied().flatten()?;
    let mut walk = Walk::new(seeker.expander.routine);
    seeker.go(0, left, &mut walk)
}

/// How many ways on after a shuffle are compared with one another.
const MOST_COMPARED: usize = 2_000;

struct Seeker<'s, 'r, W> {
    expander: &'s mut Expander<'r>,
    graph: &'s Graph,
    distance: &'s [Option<u32>],
    wrong: &'s W,
}

impl<W: Fn(usize, Broken) -> bool> Seeker<'_, '_, W> {
    /// The edges on a way to a failure by at most so many forks, in order.
    fn near(&self, n: usize, left: u32) -> impl Iterator<Item = &Edge> {
        let vertex = &self.graph.vertices[n];
        let cost = u32::from(vertex.forks);
        vertex.edges.iter().filter(move |edge| match edge.to {
            Some(to) => self.distance[to as usize].is_some_and(|d| d + cost <= left),
            None => cost <= left,
        })
    }

    /// Whether the step from this state is a shuffle that is followed.
    fn shuffles(&self, n: usize) -> bool {
        let core = self.expander.cores.core(self.graph.vertices[n].state.core);
        core.origin == 0 && self.expander.shuffles.follows(core.at)
    }

    /// Walks to the failure.
    fn go(&mut self, mut n: usize, mut left: u32, walk: &mut Walk<'_>) -> Option<Counterexample> {
        loop {
            let vertex = &self.graph.vertices[n];
            if (self.wrong)(n, vertex.broken) {
                let stop = self.expander.cores.core(vertex.state.core).done?;
                let index = (0..64).find(|bit| vertex.broken >> bit & 1 == 1)?;
                return Some(walk.ended(stop, Wrong::Broken { index }));
            }
            let edge = self.near(n, left).next()?.clone();
            let core = self.expander.cores.core(vertex.state.core);
            match edge.to {
                Some(to) if self.shuffles(n) => {
                    return self.through(to as usize, left - 1, walk);
                }
                Some(to) if vertex.splits => {
                    let now = &self.graph.vertices[to as usize].state;
                    walk.fix(&core.faces, &self.expander.cores.core(now.core).faces);
                    n = to as usize;
                }
                Some(to) => {
                    walk.step(edge.first()).ok()?;
                    n = to as usize;
                }
                None => {
                    let at = core.at;
                    let fault = walk.step(edge.first()).err()?;
                    return Some(walk.ended(at, Wrong::Stuck(fault)));
                }
            }
            left -= u32::from(vertex.forks);
        }
    }

    /// Walks on through a followed shuffle: with the smallest outcome of the shuffle that any way on breaks a claim by, and then the
    /// smallest such way.
    fn through(&mut self, n: usize, left: u32, walk: &mut Walk<'_>) -> Option<Counterexample> {
        let mut ways: Vec<(Vec<u64>, usize)> = Vec::new();
        let mut open = vec![(n, left, Vec::new())];
        while let Some((n, left, way)) = open.pop() {
            if ways.len() >= MOST_COMPARED {
                break;
            }
            let vertex = &self.graph.vertices[n];
            if (self.wrong)(n, vertex.broken) {
                ways.push((way, n));
                continue;
            }
            let cost = u32::from(vertex.forks);
            let next: Vec<_> = self.near(n, left).map(|e| (e.to, e.first())).collect();
            for (to, branch) in next.into_iter().rev() {
                let mut way = way.clone();
                if !vertex.splits {
                    way.push(branch);
                }
                match to {
                    Some(to) => open.push((to as usize, left - cost, way)),
                    None => ways.push((way, n)),
                }
            }
        }
        let mut best: Option<(Outcome, Vec<u64>, usize, Option<usize>)> = None;
        for (way, n) in ways {
            let vertex = &self.graph.vertices[n];
            let core = self.expander.cores.core(vertex.state.core).clone();
            let world = self
                .expander
                .cores
                .world(vertex.state.core, &vertex.state.cells);
            let claims = core.done.and_then(|done| self.expander.routine.stop(done));
            for index in (0..64).filter(|bit| vertex.broken >> bit & 1 == 1) {
                let Some(claim) = claims.and_then(|stop| stop.claims.get(index)) else {
                    continue;
                };
                let outcome = self
                    .expander
                    .first_breaking(&core, &world, &claim.kind)
                    .ok()??;
                if best
                    .as_ref()
                    .is_none_or(|(least, ..)| outcome.choices < least.choices)
                {
                    best = Some((outcome, way.clone(), n, Some(index)));
                }
            }
            if vertex.broken == 0 && best.is_none() {
                // A step that cannot be done after any outcome: the first will do.
                let outcome = self.expander.first_outcome(&core).ok()??;
                best = Some((outcome, way, n, None));
            }
        }
        let (outcome, way, n, index) = best?;
        let choice = choice_of(self.expander.routine, walk.world(), &outcome)?;
        walk.take(Some(choice)).ok()?;
        let core = self.expander.cores.core(self.graph.vertices[n].state.core);
        let (done, at) = (core.done, core.at);
        let Some(index) = index else {
            let fault = way.iter().find_map(|branch| walk.step(*branch).err())?;
            return Some(walk.ended(at, Wrong::Stuck(fault)));
        };
        for branch in way {
            walk.step(branch).ok()?;
        }
        Some(walk.ended(done?, Wrong::Broken { index }))
    }
}

/// A road walked on real cards, with the choices made.
#[derive(Debug)]
pub(super) struct Walk<'r> {
    routine: &'r Routine,
    world: World,
    /// What was chosen, by stop.
    chosen: Vec<(StopIndex, Option<Value>)>,
}

impl<'r> Walk<'r> {
    /// Before the first step.
    pub(super) fn new(routine: &'r Routine) -> Self {
        Self {
            routine,
            world: unknown_start(routine),
            chosen: Vec::new(),
        }
    }

    /// Where it stands.
    fn world(&self) -> &World {
        &self.world
    }

    /// Fixes faces as they were fixed between two states.
    fn fix(&mut self, was: &[Option<Card>], now: &[Option<Card>]) {
        for (n, face) in now.iter().enumerate() {
            if was.get(n) != Some(face)
                && let Some(slot) = self.world.faces.get_mut(n)
            {
                *slot = *face;
            }
        }
    }

    /// Fixes faces as they lie.
    pub(super) fn know(&mut self, faces: &[Option<Card>]) {
        self.world.faces = faces.to_vec();
    }

    /// Takes the next step by the branch with this number.
    ///
    /// # Errors
    /// When it cannot be done; the choice is kept.
    pub(super) fn step(&mut self, branch: u64) -> Result<(), Fault> {
        let open = domain(self.routine, &self.world)?;
        let choice =
            match &open {
                None => None,
                Some(open) => Some(open.nth(u128::from(branch)).ok_or_else(|| {
                    Fault::Choice("the branch is not open on this road".to_owned())
                })?),
            };
        self.take(choice)
    }

    /// Takes the next step by this choice.
    ///
    /// # Errors
    /// When it cannot be done; the choice is kept.
    pub(super) fn take(&mut self, choice: Option<Value>) -> Result<(), Fault> {
        let next = pass(self.routine, &self.world, choice.as_ref());
        self.chosen.push((self.world.at, choice));
        self.world = next?;
        Ok(())
    }

    /// The choices as `walk --choose` takes them, and the table at the end, with every face fixed.
    pub(super) fn ended(&self, stop: StopIndex, wrong: Wrong) -> Counterexample {
        let mut open: Vec<Card> = self
            .routine
            .shuffled
            .iter()
            .filter(|print| !self.world.faces.contains(&Some(**print)))
            .copied()
            .collect();
        open.reverse();
        let fill = |world: &mut World, open: &mut Vec<Card>| {
            for card in &self.routine.shuffled {
                if let Some(slot) = world.faces.get_mut(card.index())
                    && slot.is_none()
                {
                    *slot = open.pop();
                }
            }
        };
        let mut last = self.world.clone();
        fill(&mut last, &mut open);
        let mut choices = Vec::new();
        if !self.routine.shuffled.is_empty() {
            let prints = self
                .routine
                .shuffled
                .iter()
                .filter_map(|card| last.face_of(*card));
            let shown: Vec<String> = prints
                .map(|print| Value::Card(print).show(self.routine))
                .collect();
            choices.push((StopIndex(0), format!("shuffle={}", shown.join(","))));
        }
        let mut world = unknown_start(self.routine);
        world.faces.clone_from(&last.faces);
        let mut visits: FxHashMap<StopIndex, u32> = FxHashMap::default();
        for (stop, choice) in &self.chosen {
            let visit = visits.entry(*stop).or_insert(0);
            *visit += 1;
            let next =
                pass(self.routine, &world, choice.as_ref()).unwrap_or_else(|_| world.clone());
            if let Some((name, value)) = self.named(*stop, choice.as_ref()) {
                let walked = Walked {
                    stop: *stop,
                    visit: *visit,
                    choice: Some((name, value)),
                    before: world.clone(),
                    after: next.clone(),
                    sights: Vec::new(),
                };
                choices.extend(choice_label(self.routine, &walked).map(|label| (*stop, label)));
            }
            world = next;
        }
        Counterexample {
            stop,
            wrong,
            choices,
            world: last,
        }
    }

    fn named(&self, stop: StopIndex, choice: Option<&Value>) -> Option<(NameId, Value)> {
        let fork = self.routine.stop(stop)?.fork.as_ref()?;
        Some((fork.name, choice?.clone()))
    }
}
