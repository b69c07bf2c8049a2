//! Whole roads: sampled from a seed, or replayed from choices.

use super::choices::Choices;
use super::domain::{Domain, domain};
use super::draw::Draw;
use super::step::{Sighted, Taken, take};
use crate::cards::Card;
use crate::routine::{Claim, Fault, ForkKind, NameId, Routine, Scene, StopIndex, Value, World};
use rustc_hash::FxHashMap;

/// The most stops of one road: a part that spectators never tire of ends here with a fault instead of never.
pub const LONGEST_ROAD: usize = 2_000;

/// One stop of a road, walked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Walked {
    /// Which stop.
    pub stop: StopIndex,
    /// The how-manieth time on this road, from 1.
    pub visit: u32,
    /// What the spectator chose.
    pub choice: Option<(NameId, Value)>,
    /// The state before.
    pub before: World,
    /// The state after.
    pub after: World,
    /// What the performer saw.
    pub sights: Vec<Sighted>,
}

/// One complete run of choices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Road {
    /// Where choices that were not given came from.
    pub seed: u64,
    /// Which draw of the set-up.
    pub setup: u64,
    /// The stops in order.
    pub walked: Vec<Walked>,
}

/// The start with every face known: a shuffled deck lies as the seed says.
#[must_use]
pub fn start(routine: &Routine, seed: u64) -> World {
    let mut order = routine.shuffled.clone();
    Draw::for_shuffle(seed).shuffle(&mut order);
    start_as(routine, &order)
}

/// The start with the shuffled cards lying in this order (the faces, in the order of [`Routine::shuffled`]).
#[must_use]
pub fn start_as(routine: &Routine, order: &[Card]) -> World {
    let mut world = unknown_start(routine);
    for (card, print) in routine.shuffled.iter().zip(order) {
        world.faces[card.index()] = Some(*print);
    }
    world
}

/// The start as the performer knows it: the faces of shuffled cards are not fixed.
#[must_use]
pub fn unknown_start(routine: &Routine) -> World {
    let faces = if routine.shuffled.is_empty() {
        Vec::new()
    } else {
        let mut faces: Vec<Option<Card>> = (0..routine.pack.size())
            .map(|n| u16::try_from(n).ok().map(Card))
            .collect();
        for card in &routine.shuffled {
            faces[card.index()] = None;
        }
        faces
    };
    World {
        at: StopIndex(0),
        table: routine.start.clone(),
        memory: vec![None; routine.names.len()],
        faces,
    }
}

/// A random road.
///
/// # Errors
/// When a step cannot be done on it: the routine has a fault that its checks could not see.
pub fn sample(routine: &Routine, seed: u64) -> Result<Road, Fault> {
    replay(routine, seed, &Choices::default())
}

/// A road with the choices given; those that are missing come from the seed.
///
/// # Errors
/// When a choice is not offered where it is made, or a step cannot be done.
pub fn replay(routine: &Routine, seed: u64, choices: &Choices) -> Result<Road, Fault> {
    let world = match choices.shuffle() {
        Some(order) => start_as(routine, order),
        None => start(routine, seed),
    };
    let (walked, stuck) = walk(routine, world, |scene, visit, domain| {
        let Some((id, fork)) = scene
            .stop()
            .and_then(|stop| Some((&stop.id, stop.fork.as_ref()?)))
        else {
            return Err(Fault::Choice("nobody chooses here".to_owned()));
        };
        match choices.at(
            fork.name,
            visit,
            matches!(fork.kind, ForkKind::Again { .. }),
        ) {
            // People name a card by what is printed on it.
            Some(Value::Card(print)) => Ok(Value::Card(scene.bearing(print)?)),
            Some(value) => Ok(value),
            None => Ok(domain.sample(&mut Draw::for_step(seed, &id.0, visit))),
        }
    });
    match stuck {
        None => Ok(Road {
            seed,
            setup: routine.setup,
            walked,
        }),
        Some(stuck) => Err(stuck.fault),
    }
}

/// Where a road broke off.
#[derive(Debug)]
pub(super) struct Stuck {
    /// At this stop.
    pub(super) stop: StopIndex,
    /// With this choice, as `walk --choose` takes it.
    pub(super) choice: Option<String>,
    /// Why.
    pub(super) fault: Fault,
}

/// Walks as far as the road goes. Gives the stops walked and, where it broke off, where and why.
pub(super) fn walk(
    routine: &Routine,
    start: World,
    mut choose: impl FnMut(Scene<'_>, u32, &Domain) -> Result<Value, Fault>,
) -> (Vec<Walked>, Option<Stuck>) {
    let mut world = start;
    let mut visits: FxHashMap<StopIndex, u32> = FxHashMap::default();
    let mut walked = Vec::new();
    while routine.stop(world.at).is_some() {
        let visit = visits.entry(world.at).or_insert(0);
        *visit += 1;
        let mut choice = None;
        let taken = if walked.len() == LONGEST_ROAD {
            Err(Fault::Choice(format!(
                "the road has not ended after {LONGEST_ROAD} steps"
            )))
        } else {
            step(routine, &world, *visit, &mut choose, &mut choice)
        };
        match taken {
            Err(fault) => {
                let choice = choice.and_then(|(name, value)| {
                    label(
                        Scene {
                            routine,
                            world: &world,
                        },
                        name,
                        *visit,
                        &value,
                    )
                });
                return (
                    walked,
                    Some(Stuck {
                        stop: world.at,
                        choice,
                        fault,
                    }),
                );
            }
            Ok(taken) => {
                let before = std::mem::replace(&mut world, taken.world);
                walked.push(Walked {
                    stop: before.at,
                    visit: *visit,
                    choice,
                    before,
                    after: world.clone(),
                    sights: taken.sights,
                });
            }
        }
    }
    (walked, None)
}

/// Chooses and takes one step; the choice is kept even where the step cannot be done.
fn step(
    routine: &Routine,
    world: &World,
    visit: u32,
    choose: &mut impl FnMut(Scene<'_>, u32, &Domain) -> Result<Value, Fault>,
    choice: &mut Option<(NameId, Value)>,
) -> Result<Taken, Fault> {
    if let Some(open) = domain(routine, world)? {
        *choice = Some((open.name(), choose(Scene { routine, world }, visit, &open)?));
    }
    take(routine, world, choice.as_ref().map(|(_, value)| value))
}

/// The name in a choice as `walk --choose` takes it: `cut` of `cut@2=5`.
#[must_use]
pub fn choice_name(label: &str) -> &str {
    label.split(['@', '=']).next().unwrap_or_default()
}

/// A choice as `walk --choose` takes it: `cut@2=5`; a card by what is printed on it.
#[must_use]
pub fn choice_label(routine: &Routine, walked: &Walked) -> Option<String> {
    let (name, value) = walked.choice.as_ref()?;
    label(
        Scene {
            routine,
            world: &walked.before,
        },
        *name,
        walked.visit,
        value,
    )
}

fn label(scene: Scene<'_>, name: NameId, visit: u32, value: &Value) -> Option<String> {
    let name = &scene.routine.names.get(name.index())?.name;
    let value = value.show_in(scene).ok()?;
    Some(if visit == 1 {
        format!("{name}={value}")
    } else {
        format!("{name}@{visit}={value}")
    })
}

/// The claims of a stop that do not hold after it.
///
/// # Errors
/// When a claim cannot be worked out.
pub fn broken_claims<'r>(routine: &'r Routine, walked: &Walked) -> Result<Vec<&'r Claim>, Fault> {
    let mut broken = Vec::new();
    if let Some(stop) = routine.stop(walked.stop) {
        for claim in &stop.claims {
            if !claim.kind.holds(Scene {
                routine,
                world: &walked.after,
            })? {
                broken.push(claim);
            }
        }
    }
    Ok(broken)
}
