//! A proof held against every road: verdict, counts, each claim, exact odds, the shortest counterexample, blame.

use super::{Chance, EveryRoad, broken_after, replays, starts};
use allroads::proof::{Odds, Proof, Roads};
use allroads::roads::{domain, take};
use allroads::routine::{ForkKind, Routine, StopIndex, Value, World};
use num_rational::BigRational;
use std::collections::{BTreeMap, BTreeSet};

fn big(chance: Chance) -> BigRational {
    BigRational::new((*chance.numer()).into(), (*chance.denom()).into())
}

fn one() -> Chance {
    Chance::from_integer(1)
}

/// Holds everything that a proof reports against every road.
///
/// # Panics
/// When they differ, with the text of the file.
pub fn held(text: &str, loaded: &Routine, all: &EveryRoad, proof: &Proof) {
    let told = || {
        let road = proof.counterexample.as_ref().map(|found| &found.choices);
        format!(
            "{text}\n{:?}, {:?}, {road:?}\n{all:?}",
            proof.verdict, proof.roads
        )
    };
    assert_eq!(proof.holds(), !all.fails(), "{}", told());
    assert_eq!(proof.roads, Roads::Exactly(all.roads.into()), "{}", told());
    let mut claims = 0;
    for (n, stop) in loaded.stops.iter().enumerate() {
        let at = StopIndex(u16::try_from(n).expect("few"));
        assert_eq!(
            proof.unreached.contains(&at),
            !all.met.contains(&at),
            "{}",
            told()
        );
        for index in 0..stop.claims.len() {
            let claim = &proof.claims[claims];
            claims += 1;
            assert_eq!((claim.stop, claim.index), (at, index));
            assert_eq!(claim.reached, all.left.contains(&at), "{}", told());
            let breaks = all.broken.get(&(at, index)).copied();
            assert_eq!(claim.holds, Some(breaks.is_none()), "{}", told());
            let odds = breaks.map(|breaks| Odds::Exactly(big(one() - breaks)));
            assert_eq!(claim.odds, odds, "{index} of {}: {}", stop.id, told());
        }
    }
    assert_eq!(proof.claims.len(), claims);
    let forks = proof
        .counterexample
        .as_ref()
        .map(|found| replays(loaded, found));
    assert_eq!(forks, all.shortest, "{}", told());
    if loaded.shuffled.is_empty() {
        assert_eq!(proof.ends, Some(all.ends.len() as u64), "{}", told());
    }
    blamed(loaded, all, proof, &told);
    if let Some(withdrawn) = &proof.withdraw
        && withdrawn
            .iter()
            .all(|(stop, _)| same_everywhere(loaded, *stop))
    {
        let all: BTreeSet<_> = withdrawn.iter().cloned().collect();
        assert!(!fails_without(loaded, &all), "{all:?}: {}", told());
        for one in withdrawn {
            let mut fewer = all.clone();
            fewer.remove(one);
            assert!(fails_without(loaded, &fewer), "{fewer:?}: {}", told());
        }
    }
}

/// Forks whose branches are the same on every road: there each branch's own odds can be compared.
fn same_everywhere(loaded: &Routine, stop: StopIndex) -> bool {
    loaded.stops[stop.index()]
        .fork
        .as_ref()
        .is_some_and(|fork| {
            matches!(
                fork.kind,
                ForkKind::Number { .. }
                    | ForkKind::Option(_)
                    | ForkKind::Pile(_)
                    | ForkKind::PileOrder(_)
                    | ForkKind::Place(_)
                    | ForkKind::Cut { .. }
                    | ForkKind::Again { .. }
            )
        })
}

fn blamed(loaded: &Routine, all: &EveryRoad, proof: &Proof, told: &dyn Fn() -> String) {
    let mut ours: BTreeMap<StopIndex, BTreeMap<Value, BigRational>> = BTreeMap::new();
    for ((stop, value), (taken, kept)) in &all.by_branch {
        let odds = big(kept / taken);
        ours.entry(*stop).or_default().insert(value.clone(), odds);
    }
    ours.retain(|stop, odds| {
        let different: BTreeSet<_> = odds.values().collect();
        same_everywhere(loaded, *stop) && different.len() > 1
    });
    let mut theirs: BTreeMap<StopIndex, BTreeMap<Value, BigRational>> = BTreeMap::new();
    for blame in proof
        .blame
        .iter()
        .filter(|blame| same_everywhere(loaded, blame.stop))
    {
        let odds = theirs.entry(blame.stop).or_default();
        odds.insert(blame.branch.clone(), blame.holds.clone());
    }
    if proof.holds() {
        assert!(theirs.is_empty(), "{}", told());
    } else {
        assert_eq!(ours, theirs, "{}", told());
    }
}

/// Whether it fails although nobody takes these branches: on some road, or because a fork has no branch left.
pub fn fails_without(loaded: &Routine, withdrawn: &BTreeSet<(StopIndex, String)>) -> bool {
    starts(loaded)
        .iter()
        .any(|start| fails_from(loaded, start, withdrawn))
}

fn fails_from(loaded: &Routine, world: &World, withdrawn: &BTreeSet<(StopIndex, String)>) -> bool {
    if loaded.stop(world.at).is_none() {
        return false;
    }
    let choices: Vec<Option<Value>> = match domain(loaded, world) {
        Err(_) => return true,
        Ok(None) => vec![None],
        Ok(Some(open)) => open.branches().map(Some).collect(),
    };
    let stays = |choice: &Option<Value>| match choice {
        None => true,
        Some(value) => !withdrawn.contains(&(world.at, value.show(loaded))),
    };
    let mut left = choices.into_iter().filter(stays).peekable();
    left.peek().is_none()
        || left.any(|choice| match take(loaded, world, choice.as_ref()) {
            Err(_) => true,
            Ok(taken) => {
                !broken_after(loaded, world.at, &taken.world).is_empty()
                    || fails_from(loaded, &taken.world, withdrawn)
            }
        })
}
