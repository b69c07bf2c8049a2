//! Verdicts on strays held against walking every road: the shipped routines made small, every step, every stray.
//!
//! Nothing of the search for verdicts is used here. Roads are gone one by one, tables are told apart card by card, and a mend is done as the
//! step it is. Only what a stray does is the program's own; the known answers below do that by hand too.

#![expect(
    clippy::expect_used,
    clippy::unwrap_used,
    reason = "a test may fail by panicking"
)]

#[path = "planted_faults/small.rs"]
mod small;

use allroads::cards::TraitId;
use allroads::proof::Limits;
use allroads::rescue::{Case, Extent, Ground, Rescuer, Row, Verdict, Wanted, When, rows};
use allroads::roads::{Sighted, domain, seen, take, unknown_start};
use allroads::routine::{
    KnownStray, Routine, Scene, Stop, StopIndex, Stray, Then, Value, World, load,
};
use num_rational::BigRational;
use num_traits::{One, Zero};
use std::collections::{BTreeMap, BTreeSet, HashMap};

const LIMITS: Limits<'static> = Limits {
    bytes: 1 << 30,
    stop: &|| false,
    progress: &|_| (),
};

/// Strays with more branches than this on one table are not gone through here.
const MOST_BRANCHES: usize = 1_200;

/// What a card seen tells in a routine: its colour, or which card it is.
#[derive(Clone, Copy, PartialEq)]
enum Look {
    Colour,
    Card,
}

fn routine(text: &str) -> Routine {
    load(text, "routine.yaml", 0).unwrap_or_else(|troubles| {
        let told: String = troubles.iter().map(ToString::to_string).collect();
        panic!("{told}")
    })
}

/// A shipped routine made small.
fn shipped(name: &str) -> Routine {
    let text = std::fs::read_to_string(format!("drills/{name}.yaml")).unwrap();
    let options = serde_yaml::options! { strict_booleans: true };
    let mut tree: serde_json::Value = serde_yaml::from_str_with_options(&text, options).unwrap();
    small::make(name, &mut tree);
    if name == "lost-umbrella" {
        tree["steps"][1]["fork"]["number"] = serde_json::json!({"from": 1, "to": 27, "by": 13});
    }
    routine(&tree.to_string())
}

fn share(part: u64, of: u64) -> BigRational {
    BigRational::new(part.into(), of.into())
}

/// What all roads from a world come to: the chance that all goes well, whether all do, and at which endings.
#[derive(Clone)]
struct Rest {
    chance: BigRational,
    well: bool,
    endings: BTreeSet<usize>,
}

/// A way of walking that remembers what it found from each world.
struct Plain<'r> {
    ground: &'r Ground,
    /// The ground's stops, and after them the mends as steps of their own.
    routine: Routine,
    look: Look,
    rests: HashMap<World, Rest>,
}

/// A set of tables that fit what was seen, each with its chance.
type Tables = Vec<(World, BigRational)>;

impl<'r> Plain<'r> {
    fn new(ground: &'r Ground, look: Look) -> Self {
        Self {
            ground,
            routine: ground.routine().clone(),
            look,
            rests: HashMap::new(),
        }
    }

    fn shown(&self, sights: &[Sighted]) -> Vec<String> {
        sights
            .iter()
            .map(|sighted| match (self.look, sighted) {
                (
                    Look::Colour,
                    Sighted::Card {
                        pile,
                        place,
                        print,
                        up,
                    },
                ) => {
                    let colour = self.routine.pack.class(*print, TraitId::COLOUR);
                    format!("{pile:?} {place:?} {colour:?} {up}")
                }
                _ => format!("{sighted:?}"),
            })
            .collect()
    }

    /// The branches of the step that comes next, each with its weight.
    fn branches(&self, world: &World) -> Option<Vec<(Option<Value>, BigRational)>> {
        match domain(&self.routine, world) {
            Err(_) => None,
            Ok(None) => Some(vec![(None, BigRational::one())]),
            Ok(Some(open)) => {
                let branches: Vec<Value> = open.branches().collect();
                let all: u64 = branches.iter().map(|b| open.weight(b)).sum();
                Some(
                    branches
                        .into_iter()
                        .map(|b| {
                            let weight = share(open.weight(&b), all);
                            (Some(b), weight)
                        })
                        .collect(),
                )
            }
        }
    }

    fn breaks(&self, stop: StopIndex, after: &World) -> bool {
        let scene = Scene {
            routine: &self.routine,
            world: after,
        };
        self.routine.stops[stop.index()]
            .claims
            .iter()
            .any(|claim| claim.kind.holds(scene) != Ok(true))
    }

    fn rest(&mut self, world: &World) -> Rest {
        if let Some(rest) = self.rests.get(world) {
            return rest.clone();
        }
        let mut rest = Rest {
            chance: BigRational::one(),
            well: true,
            endings: BTreeSet::new(),
        };
        if self.ground.is_own(world.at) {
            rest.chance = BigRational::zero();
            let first = |ending: &allroads::routine::Ending| ending.first == world.at;
            rest.endings
                .extend(self.routine.endings.iter().position(first));
            match self.branches(world) {
                None => rest.well = false,
                Some(branches) => {
                    for (choice, weight) in branches {
                        match take(&self.routine, world, choice.as_ref()) {
                            Ok(taken) if !self.breaks(world.at, &taken.world) => {
                                let onward = self.rest(&taken.world);
                                rest.chance += weight * onward.chance;
                                rest.well &= onward.well;
                                rest.endings.extend(onward.endings);
                            }
                            Ok(_) | Err(_) => rest.well = false,
                        }
                    }
                }
            }
        }
        self.rests.insert(world.clone(), rest.clone());
        rest
    }

    /// By stop: the sets of tables before it, and after it, by what was seen.
    fn histories(&self) -> (Vec<Vec<Tables>>, Vec<Vec<Tables>>) {
        type ByHistory = BTreeMap<Vec<String>, Tables>;
        let own = self.routine.stops.len();
        let mut before: Vec<ByHistory> = vec![ByHistory::new(); own];
        let mut after: Vec<ByHistory> = vec![ByHistory::new(); own];
        let start = self.ground.enter(unknown_start(&self.routine));
        let mut waiting = vec![(Vec::new(), start, BigRational::one())];
        while let Some((history, world, chance)) = waiting.pop() {
            if !self.ground.is_own(world.at) {
                continue;
            }
            let n = world.at.index();
            let here = before[n].entry(history.clone()).or_default();
            here.push((world.clone(), chance.clone()));
            for (choice, weight) in self.branches(&world).expect("every road can be walked") {
                let taken = take(&self.routine, &world, choice.as_ref()).unwrap();
                let mut longer = history.clone();
                longer.extend(self.shown(&taken.sights));
                let chance = &chance * weight;
                let there = after[n].entry(longer.clone()).or_default();
                there.push((taken.world.clone(), chance.clone()));
                waiting.push((longer, taken.world, chance));
            }
        }
        let listed = |all: Vec<ByHistory>| {
            all.into_iter()
                .map(|sets| sets.into_values().collect())
                .collect()
        };
        (listed(before), listed(after))
    }

    /// Everything that a stray can come to on one table: what is seen, the world (none where the step cannot be done), and the weight.
    /// Nothing where the stray makes no sense; `None` where there is too much of it.
    #[expect(clippy::type_complexity, reason = "it is taken apart at once")]
    fn strayed(
        &self,
        rescuer: &Rescuer<'_>,
        case: &Case,
        world: &World,
    ) -> Option<Vec<(Vec<String>, Option<World>, BigRational)>> {
        let forgets = case.stray == Stray::Known(KnownStray::Forgets);
        let gone = |world: &World| case.name.is_some_and(|name| world.value(name).is_none());
        if !case.makes_sense(world) || (forgets && gone(world)) {
            return Some(Vec::new());
        }
        let mut found = Vec::new();
        let mut scripts: Vec<Vec<usize>> = vec![Vec::new()];
        while let Some(script) = scripts.pop() {
            let mut at = 0;
            let mut weight = BigRational::one();
            let mut more: Option<usize> = None;
            let happened = rescuer.happen(case, world.clone(), |open| {
                let branches: Vec<Value> = open.branches().take(MOST_BRANCHES + 1).collect();
                let index = script.get(at).copied();
                if index.is_none() {
                    more.get_or_insert(branches.len());
                }
                at += 1;
                let chosen = branches[index.unwrap_or(0)].clone();
                let all: u64 = branches.iter().map(|b| open.weight(b)).sum();
                weight *= share(open.weight(&chosen), all);
                chosen
            });
            if let Some(count) = more {
                if count > MOST_BRANCHES || found.len() > MOST_BRANCHES {
                    return None;
                }
                for n in 0..count {
                    let mut longer = script.clone();
                    longer.push(n);
                    scripts.push(longer);
                }
                continue;
            }
            match happened {
                Ok(happened) => {
                    let same = case.name.is_some_and(|name| {
                        case.stray == Stray::Known(KnownStray::ChangesTheirMind)
                            && happened.world.value(name) == world.value(name)
                    });
                    let again = case.stray == Stray::Known(KnownStray::WantsItAgain);
                    // Only what was changed is another one; a step done again may come out the same.
                    if !same || again {
                        let seen = self.shown(&happened.sights);
                        let world = (!self.fails_at_once(case, world, &happened.world))
                            .then_some(happened.world);
                        found.push((seen, world, weight));
                    }
                }
                Err(_) if case.when == When::Instead => {
                    found.push((Vec::new(), None, weight));
                }
                Err(_) => {}
            }
        }
        Some(found)
    }

    /// Whether a step of an ending, done otherwise, breaks its claims.
    fn fails_at_once(&self, case: &Case, _: &World, after: &World) -> bool {
        case.when == When::Instead && self.breaks(case.stop, after)
    }

    /// The world after a mend; `None` where it cannot be done.
    fn mended(&mut self, mend: usize, world: &World) -> Option<World> {
        let routine = &mut self.routine;
        let stop = Stop {
            fork: None,
            reckonings: Vec::new(),
            reply: None,
            sights: Vec::new(),
            claims: Vec::new(),
            acts: routine.mends[mend].acts.clone(),
            then: Then::Go(world.at),
            ..routine.stops[0].clone()
        };
        let at = StopIndex(u16::try_from(routine.stops.len()).unwrap());
        routine.stops.push(stop);
        let turned = World {
            at,
            ..world.clone()
        };
        let after = take(&self.routine, &turned, None).ok();
        self.routine.stops.pop();
        after.map(|taken| taken.world)
    }

    /// Whether so many mends can make it safe on all of these tables.
    fn mendable(&mut self, worlds: &BTreeSet<World>, most: usize, looked: u64) -> bool {
        if worlds.iter().all(|world| self.rest(world).well) {
            return true;
        }
        if most == 0 {
            return false;
        }
        for mend in 0..self.routine.mends.len() {
            let after: Option<BTreeSet<World>> = worlds
                .iter()
                .map(|world| self.mended(mend, world))
                .collect();
            if after.is_some_and(|after| self.mendable(&after, most - 1, 0)) {
                return true;
            }
            let looks = self.routine.mends[mend].looks.clone();
            if looks.is_empty() || looked >> mend & 1 == 1 {
                continue;
            }
            let mut parts: BTreeMap<Vec<String>, BTreeSet<World>> = BTreeMap::new();
            for world in worlds {
                let seen: Vec<Sighted> = seen(&self.routine, world, &looks)
                    .into_iter()
                    .filter_map(Result::ok)
                    .collect();
                let shown = self.shown(&seen);
                parts.entry(shown).or_default().insert(world.clone());
            }
            if parts.len() > 1
                && parts
                    .values()
                    .all(|part| self.mendable(part, most, looked | 1 << mend))
            {
                return true;
            }
        }
        false
    }

    /// The verdict on a set of tables: "safe", "out", "lost", or how many mends it takes.
    fn verdict(
        &mut self,
        case: &Case,
        tables: &[(Option<World>, BigRational)],
        endings: &BTreeSet<usize>,
    ) -> String {
        let worlds: Option<BTreeSet<World>> = tables.iter().map(|(w, _)| w.clone()).collect();
        let Some(worlds) = worlds else {
            return "lost".to_owned();
        };
        if worlds.iter().all(|world| self.rest(world).well) {
            let reached: BTreeSet<usize> = worlds
                .iter()
                .flat_map(|world| self.rest(world).endings)
                .collect();
            let known = reached.is_subset(endings);
            return if known { "safe" } else { "out" }.to_owned();
        }
        let over = worlds.iter().any(|world| !self.ground.is_own(world.at));
        // What an ending is claimed by is looked at once its step is done.
        let claims = !self.routine.stops[case.stop.index()].claims.is_empty();
        if over || (case.when == When::Instead && claims) {
            return "lost".to_owned();
        }
        for most in 1..=allroads::rescue::LONGEST_PLAN {
            if self.mendable(&worlds, most, 0) {
                return most.to_string();
            }
        }
        "lost".to_owned()
    }
}

/// What verdicts came to: by verdict, the share of it, and for what is lost the chance on top.
#[derive(Debug, PartialEq, Default)]
struct Tally {
    shares: BTreeMap<String, BigRational>,
    chance: Option<BigRational>,
}

fn of_row(row: &Row) -> Tally {
    let mut tally = Tally::default();
    for part in &row.parts {
        let kind = match &part.verdict {
            Verdict::Safe => "safe".to_owned(),
            Verdict::Mend(plan) => plan.length().to_string(),
            Verdict::Out(_) => "out".to_owned(),
            Verdict::Lost { chance } => {
                tally.chance.clone_from(chance);
                "lost".to_owned()
            }
            Verdict::Undecided => "undecided".to_owned(),
        };
        let share = part.share.clone().expect("every road is gone");
        *tally.shares.entry(kind).or_default() += share;
    }
    tally
}

/// Holds every case of a routine against walking every road; gives how many were compared, and how many had too many branches.
fn held(routine: &Routine, look: Look) -> (usize, usize) {
    let ground = Ground::new(routine);
    let table = rows(&ground, Wanted::default(), &LIMITS);
    let rescuer = Rescuer::new(&ground, false, &LIMITS);
    let mut plain = Plain::new(&ground, look);
    let (before, after) = plain.histories();
    let (mut compared, mut left) = (0, 0);
    let (mut chances, mut untold) = (0, 0);
    for (number, case) in ground.cases().iter().enumerate() {
        let sets = match case.when {
            When::Instead => &before[case.stop.index()],
            When::After => &after[case.stop.index()],
        };
        let mut tally = Tally::default();
        let (mut whole, mut lost) = (BigRational::zero(), BigRational::zero());
        let mut chance = BigRational::zero();
        let mut too_much = false;
        for set in sets {
            let mut told: BTreeMap<Vec<String>, Vec<(Option<World>, BigRational)>> =
                BTreeMap::new();
            let mut endings = BTreeSet::new();
            for (world, chance) in set {
                endings.extend(plain.rest(world).endings);
                let Some(strayed) = plain.strayed(&rescuer, case, world) else {
                    too_much = true;
                    break;
                };
                for (seen, world, weight) in strayed {
                    let group = told.entry(seen).or_default();
                    group.push((world, chance * weight));
                }
            }
            if too_much {
                break;
            }
            for tables in told.into_values() {
                let weight: BigRational = tables.iter().map(|(_, w)| w).sum();
                let kind = plain.verdict(case, &tables, &endings);
                if kind == "lost" {
                    lost += &weight;
                    for (world, weight) in &tables {
                        if let Some(world) = world {
                            chance += weight * plain.rest(world).chance;
                        }
                    }
                }
                whole += &weight;
                *tally.shares.entry(kind).or_default() += weight;
            }
        }
        if too_much {
            left += 1;
            continue;
        }
        let ours = table.iter().find(|row| row.case == number);
        let name = format!(
            "{}, {}: {}",
            routine.title,
            routine.stops[case.stop.index()].id,
            ground.told(case)
        );
        if whole.is_zero() {
            assert!(ours.is_none(), "{name}: {ours:?}");
            continue;
        }
        let ours = ours.unwrap_or_else(|| panic!("{name}: no row"));
        for part in tally.shares.values_mut() {
            *part /= &whole;
        }
        let row = of_row(ours);
        if !lost.is_zero() {
            tally.chance = row.chance.is_some().then(|| chance / &lost);
            chances += usize::from(row.chance.is_some());
            untold += usize::from(row.chance.is_none());
        }
        assert_eq!(ours.extent, Extent::All, "{name}");
        assert_eq!(row, tally, "{name}: {:?}", ours.parts);
        compared += 1;
    }
    println!(
        "{}: {compared} compared, {left} with too many branches; {chances} chances compared, {untold} not told, since a shuffle is followed",
        routine.title
    );
    assert!(chances > 0, "{}: no chance was compared", routine.title);
    (compared, left)
}

#[test]
fn chairlift_is_judged_as_walking_every_road_says() {
    let (compared, left) = held(&shipped("chairlift"), Look::Colour);
    assert!(compared > 80 && left == 0, "{compared}, {left}");
}

#[test]
fn geese_are_judged_as_walking_every_road_says() {
    let (compared, left) = held(&shipped("geese"), Look::Colour);
    assert!(compared > 60 && left == 0, "{compared}, {left}");
}

#[test]
fn audition_is_judged_as_walking_every_road_says() {
    let (compared, left) = held(&shipped("audition"), Look::Card);
    assert!(compared > 80 && left == 0, "{compared}, {left}");
}

#[test]
fn slow_post_is_judged_as_walking_every_road_says() {
    let (compared, left) = held(&shipped("slow-post"), Look::Card);
    assert!(compared > 60 && left == 0, "{compared}, {left}");
}

#[test]
fn lost_umbrella_is_judged_as_walking_every_road_says() {
    // Twenty-seven cards can be shuffled in too many ways to go through each.
    let (compared, _) = held(&shipped("lost-umbrella"), Look::Card);
    assert!(compared > 80, "{compared}");
}
