//! Whether a counterexample says what it should: its printed choices lead to the very claim that it names.

use allroads::proof::{Counterexample, Wrong};
use allroads::roads::{Choices, domain, replay, start, take};
use allroads::routine::{Fault, ForkKind, Routine, Scene, StopIndex, Value, World};
use std::collections::BTreeMap;

/// Seeds tried for the rest of the road, which the printed choices leave open: it may get stuck there.
const TAILS: u64 = 20;

/// Replays the printed choices. Gives how many choices lead to the failure.
///
/// # Panics
/// When they lead elsewhere, when something fails before, or when the table is another.
pub fn replays(routine: &Routine, found: &Counterexample) -> usize {
    let labels: Vec<&str> = found.choices.iter().map(|(_, label)| &**label).collect();
    let choices = Choices::read(routine, labels.iter().copied())
        .unwrap_or_else(|fault| panic!("{labels:?}: {fault}"));
    let made = labels
        .iter()
        .filter(|label| !label.starts_with("shuffle="))
        .count();
    let (world, result) = follow(routine, &choices, found.stop, made);
    match (&found.wrong, result) {
        (Wrong::Stuck(fault), Err(met)) => {
            assert_eq!(*fault, met, "{labels:?}");
            let road = replay(routine, 0, &choices).map(|_| ());
            assert_eq!(road, Err(met), "{labels:?}");
        }
        (Wrong::Broken { index }, Ok(broken)) => {
            assert!(broken.contains(index), "{labels:?}: {broken:?}");
            let road = (0..TAILS).find_map(|seed| replay(routine, seed, &choices).ok());
            if let Some(road) = road {
                let first = road
                    .walked
                    .iter()
                    .find(|walked| !broken_at(routine, walked.stop, &walked.after).is_empty())
                    .expect("the road breaks a claim");
                assert_eq!(first.stop, found.stop, "{labels:?}");
                assert_eq!(first.after.table, found.world.table, "{labels:?}");
            }
        }
        (wrong, result) => panic!("{labels:?}: {wrong:?}, but {result:?}"),
    }
    assert_eq!(world.table, found.world.table, "{labels:?}");
    assert_eq!(world.faces, found.world.faces, "{labels:?}");
    made
}

/// Steps with the choices given until they are used up and the stop named was done: the world there, and the claims broken at it.
/// Nothing may fail on the way. Where the last step cannot be done, the world before it and the fault.
fn follow(
    routine: &Routine,
    choices: &Choices,
    until: StopIndex,
    made: usize,
) -> (World, Result<Vec<usize>, Fault>) {
    let mut world = match choices.shuffle() {
        None => start(routine, 0),
        Some(order) => {
            let mut world = start(routine, 0);
            for (card, print) in routine.shuffled.iter().zip(order) {
                world.faces[card.index()] = Some(*print);
            }
            world
        }
    };
    let mut visits: BTreeMap<StopIndex, u32> = BTreeMap::new();
    let mut used = 0;
    loop {
        let at = world.at;
        let visit = visits.entry(at).or_insert(0);
        *visit += 1;
        let choice = match choose(routine, &world, choices, *visit) {
            Ok(choice) => choice,
            Err(fault) => return (world, Err(fault)),
        };
        used += usize::from(choice.is_some());
        let taken = match take(routine, &world, choice.as_ref()) {
            Ok(taken) => taken,
            Err(fault) => {
                assert_eq!((at, used), (until, made), "it gets stuck earlier");
                return (world, Err(fault));
            }
        };
        world = taken.world;
        let broken = broken_at(routine, at, &world);
        if at == until && used == made && !broken.is_empty() {
            return (world, Ok(broken));
        }
        assert!(broken.is_empty(), "{at:?}: {broken:?} break earlier");
    }
}

fn choose(
    routine: &Routine,
    world: &World,
    choices: &Choices,
    visit: u32,
) -> Result<Option<Value>, Fault> {
    let Some(open) = domain(routine, world)? else {
        return Ok(None);
    };
    let fork = routine.stops[world.at.index()]
        .fork
        .as_ref()
        .expect("there is a fork");
    let again = matches!(fork.kind, ForkKind::Again { .. });
    let given = choices
        .at(open.name(), visit, again)
        .expect("every choice on the way is printed");
    // People name a card by what is printed on it.
    Ok(Some(match given {
        Value::Card(print) => {
            let bears = |value: &Value| matches!(value, Value::Card(card) if world.face_of(*card) == Some(print));
            open.branches().find(bears).expect("the card lies there")
        }
        other => other,
    }))
}

fn broken_at(routine: &Routine, stop: StopIndex, after: &World) -> Vec<usize> {
    let scene = Scene {
        routine,
        world: after,
    };
    let claims = routine.stops[stop.index()].claims.iter().enumerate();
    claims
        .filter(|(_, claim)| claim.kind.holds(scene) != Ok(true))
        .map(|(index, _)| index)
        .collect()
}
