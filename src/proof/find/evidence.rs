//! A road that fails, and which cells it takes to make it fail.

use super::truth::{Filling, truth};
use crate::roads::{Choices, Domain, Draw, domain, pass, start};
use crate::routine::{Fault, Fork, ForkKind, Routine, Scene, StepId, Value, World};
use rustc_hash::FxHashMap;

/// A road that is not at an end after so many steps is given up.
const LONGEST: usize = crate::roads::LONGEST_ROAD;

/// A road from the start to where it fails.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Evidence {
    /// By step: what is chosen.
    choices: Vec<Option<Value>>,
    /// Which claim of the last step is false; `None` where the last step cannot be done.
    claim: Option<usize>,
}

/// A random road, if it fails.
pub(super) fn at_random(routine: &Routine, seed: u64) -> Option<Evidence> {
    drive(routine, |open, step, _, visit| {
        Some(open.sample(&mut Draw::for_step(seed, &step.0, visit)))
    })
}

/// The road with these choices, as far as to where it fails; `None` where it does not fail, or cannot be read.
pub(super) fn by_choices(routine: &Routine, choices: &[String]) -> Option<Evidence> {
    let choices = Choices::read(routine, choices.iter().map(String::as_str)).ok()?;
    drive(routine, |_, _, fork, visit| {
        let again = matches!(fork.kind, ForkKind::Again { .. });
        choices.at(fork.name, visit, again)
    })
}

/// Goes on by the choices given until something fails.
fn drive(
    routine: &Routine,
    mut choose: impl FnMut(&Domain, &StepId, &Fork, u32) -> Option<Value>,
) -> Option<Evidence> {
    let mut world = start(routine, 0);
    let mut visits: FxHashMap<usize, u32> = FxHashMap::default();
    let mut choices = Vec::new();
    while let Some(stop) = routine.stop(world.at) {
        if choices.len() == LONGEST {
            return None;
        }
        let visit = visits.entry(world.at.index()).or_insert(0);
        *visit += 1;
        let Ok(open) = domain(routine, &world) else {
            choices.push(None);
            return Some(Evidence {
                choices,
                claim: None,
            });
        };
        let choice = match (&open, &stop.fork) {
            (Some(open), Some(fork)) => {
                let choice = choose(open, &stop.id, fork, *visit)?;
                if !open.contains(&choice) {
                    return None;
                }
                Some(choice)
            }
            (None, _) | (_, None) => None,
        };
        choices.push(choice);
        match pass(routine, &world, choices.last()?.as_ref()) {
            Ok(next) => world = next,
            Err(_) => {
                return Some(Evidence {
                    choices,
                    claim: None,
                });
            }
        }
        let scene = Scene {
            routine,
            world: &world,
        };
        let broken = stop
            .claims
            .iter()
            .position(|claim| !claim.kind.holds(scene).unwrap_or(false));
        if broken.is_some() {
            return Some(Evidence {
                choices,
                claim: broken,
            });
        }
    }
    None
}

impl Evidence {
    /// Whether the road is open, and fails, whatever lies on the cells that the start leaves open.
    pub(super) fn stands(&self, start: World, filling: Filling<'_>) -> bool {
        let routine = filling.routine;
        let mut world = start;
        let mut done = world.at;
        for (n, choice) in self.choices.iter().enumerate() {
            let stuck = |fault: &Fault| {
                n + 1 == self.choices.len()
                    && self.claim.is_none()
                    && match fault {
                        Fault::Unfixed(_) => false,
                        Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_) => true,
                    }
            };
            let open = match domain(routine, &world) {
                Ok(open) => open,
                Err(fault) => return stuck(&fault),
            };
            let offered = match (&open, choice) {
                (None, None) => true,
                (Some(open), Some(choice)) => open.contains(choice),
                (None, Some(_)) | (Some(_), None) => false,
            };
            if !offered {
                return false;
            }
            done = world.at;
            match pass(routine, &world, choice.as_ref()) {
                Ok(next) => world = next,
                Err(fault) => return stuck(&fault),
            }
        }
        let claim = self
            .claim
            .and_then(|index| routine.stop(done)?.claims.get(index));
        claim.is_some_and(|claim| truth(&claim.kind, &world, filling) == Some(false))
    }

    /// Few cells on which it hangs, as indices: the road fails on every pattern that agrees with this one there. `None` where it does not
    /// stand even with all cells laid. `lay` gives the start with some cells open.
    pub(super) fn core(
        &self,
        cells: usize,
        filling: Filling<'_>,
        lay: &dyn Fn(&[bool]) -> World,
    ) -> Option<Vec<usize>> {
        let mut kept = vec![true; cells];
        if !self.stands(lay(&kept), filling) {
            return None;
        }
        // Halves first, then quarters, and so on: most cells go in large parts.
        let mut size = cells.next_power_of_two().max(1);
        loop {
            for from in (0..cells).step_by(size) {
                let to = (from + size).min(cells);
                if !kept[from..to].contains(&true) {
                    continue;
                }
                let mut fewer = kept.clone();
                fewer[from..to].fill(false);
                if self.stands(lay(&fewer), filling) {
                    kept = fewer;
                }
            }
            if size == 1 {
                break;
            }
            size /= 2;
        }
        Some((0..cells).filter(|cell| kept[*cell]).collect())
    }
}
