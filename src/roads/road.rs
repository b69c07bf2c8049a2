//! Whole roads: sampled from a seed, or replayed from choices.

use super::choices::Choices;
use super::domain::domain;
use super::draw::Draw;
use super::step::{Sighted, take};
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
    start_with(routine, &order)
}

/// The start with the shuffled cards lying in this order (the faces, in the order of [`Routine::shuffled`]).
fn start_with(routine: &Routine, order: &[Card]) -> World {
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
    let mut world = match choices.shuffle() {
        Some(order) => start_with(routine, order),
        None => start(routine, seed),
    };
    let mut visits: FxHashMap<StopIndex, u32> = FxHashMap::default();
    let mut walked = Vec::new();
    while let Some(stop) = routine.stop(world.at) {
        if walked.len() == LONGEST_ROAD {
            return Err(Fault::Choice(format!(
                "the road has not ended after {LONGEST_ROAD} steps"
            )));
        }
        let visit = visits.entry(world.at).or_insert(0);
        *visit += 1;
        let choice = match (&stop.fork, domain(routine, &world)?) {
            (Some(fork), Some(domain)) => {
                let again = matches!(fork.kind, ForkKind::Again { .. });
                let value = match choices.at(fork.name, *visit, again) {
                    // People name a card by what is printed on it.
                    Some(Value::Card(print)) => Value::Card(
                        Scene {
                            routine,
                            world: &world,
                        }
                        .bearing(print)?,
                    ),
                    Some(value) => value,
                    None => domain.sample(&mut Draw::for_step(seed, &stop.id.0, *visit)),
                };
                Some((fork.name, value))
            }
            (None | Some(_), _) => None,
        };
        let taken = take(routine, &world, choice.as_ref().map(|(_, value)| value))?;
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
    Ok(Road {
        seed,
        setup: routine.setup,
        walked,
    })
}

/// A choice as `walk --choose` takes it: `cut@2=5`; a card by what is printed on it.
#[must_use]
pub fn choice_label(routine: &Routine, walked: &Walked) -> Option<String> {
    let (name, value) = walked.choice.as_ref()?;
    let name = &routine.names.get(name.index())?.name;
    let scene = Scene {
        routine,
        world: &walked.before,
    };
    let value = value.show_in(scene).ok()?;
    Some(if walked.visit == 1 {
        format!("{name}={value}")
    } else {
        format!("{name}@{}={value}", walked.visit)
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
