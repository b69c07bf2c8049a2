//! Rescues held against plain walking: every table listed by hand, every road from it walked step by step.

use super::keyed::{Keyed, Look, Reading, read};
use super::tables::{Worth, worth};
use super::*;
use crate::drill::question::Drill;
use crate::drill::tests::made_up::file;
use crate::drill::tests::play::{plan, shipped};
use crate::handling::End::{Bottom, Top};
use crate::handling::{Forced, Move, program, run};
use crate::rescue::{Case, Deed as Mend, Plan as Way, Rescuer, Verdict, When};
use crate::roads::{Domain, broken_claims, domain, sample, seen, take, unknown_start};
use crate::routine::{Value, load};
use crate::table::{PileId, Place};
use std::collections::{BTreeSet, HashMap, HashSet};

/// Endings that come out on some tables and not on others.
const ENDINGS: [&str; 4] = [
    "expr: \"showing(packet) % 2 == 0\"",
    "expr: 'colour(card(packet, 1)) == \"red\"'",
    "expr: \"up(packet, 1) == up(packet, -1)\"",
    "expr: \"colour(card(packet, 1)) != colour(card(packet, -1))\"",
];

const MENDS: &str = "mends:
  - {id: one-under, say: That one goes under., do: [{cut: {pile: packet, at: 1}}], rank: 1}
  - {id: turned, say: And this one turns., sees: [{trait: {pile: packet, at: 1, trait: colour}}], do: [{turn: {pile: packet, count: 1}}], rank: 2}
";

/// A made-up routine with an ending that can go wrong, and mends.
fn shaky(number: u64) -> Arc<Routine> {
    let claim = ENDINGS[usize::try_from(number).unwrap() % ENDINGS.len()];
    let text = file(number).replace(
        "count: {piles: [left, right, spare], is: 0}",
        &format!("and: [{{count: {{piles: [left, right, spare], is: 0}}}}, {{{claim}}}]"),
    );
    let text = format!("{text}{MENDS}");
    Arc::new(load(&text, "made up", 1).unwrap_or_else(|faults| panic!("{text}\n{faults:?}")))
}

/// Every road from a world, walked plainly: whether all claims of the ground hold on all of them.
fn ends_well(routine: &Routine, world: &World, known: &mut HashMap<World, bool>) -> bool {
    let Some(stop) = routine.stop(world.at) else {
        return true;
    };
    if let Some(known) = known.get(world) {
        return *known;
    }
    let choices: Vec<Option<Value>> = match domain(routine, world) {
        Ok(Some(open)) => open.branches().map(Some).collect(),
        Ok(None) => vec![None],
        Err(_) => Vec::new(),
    };
    let well = !choices.is_empty()
        && choices.iter().all(|choice| {
            take(routine, world, choice.as_ref()).is_ok_and(|taken| {
                let walked = crate::roads::Walked {
                    stop: world.at,
                    visit: 1,
                    choice: stop.fork.as_ref().map(|fork| fork.name).zip(choice.clone()),
                    before: world.clone(),
                    after: taken.world.clone(),
                    sights: taken.sights,
                };
                broken_claims(routine, &walked).is_ok_and(|broken| broken.is_empty())
                    && ends_well(routine, &taken.world, known)
            })
        });
    known.insert(world.clone(), well);
    well
}

/// A deed done plainly; `None` where it cannot be done. The routine's mends of these tests are moves.
fn done(routine: &Routine, world: &World, deed: &Mend) -> Option<World> {
    let mv = match deed {
        Mend::Move(mv) => mv.clone(),
        Mend::Mend(0) => Move::Cut {
            pile: PileId(0),
            at: 1,
        },
        Mend::Mend(1) => Move::Turn {
            pile: PileId(0),
            count: 1,
        },
        Mend::Mend(_) => panic!("{} has no such mend", routine.title),
    };
    let mut world = world.clone();
    let moved = program(&mv, &world.table).ok()?;
    run(&moved, &mut world.table, &mut Forced).ok()?;
    Some(world)
}

fn safe_after(
    routine: &Routine,
    tables: &[World],
    deeds: &[Mend],
    known: &mut HashMap<World, bool>,
) -> bool {
    tables.iter().all(|table| {
        let mut world = table.clone();
        deeds.iter().all(|deed| {
            done(routine, &world, deed)
                .map(|after| world = after)
                .is_some()
        }) && ends_well(routine, &world, known)
    })
}

/// Every table on which the performer would have seen the same on the road so far, by trying every choice of every step.
fn tables_before(routine: &Routine, road: &Road, until: usize) -> Vec<World> {
    let mut tables = HashSet::from([unknown_start(routine)]);
    for walked in &road.walked[..until] {
        let mut next = HashSet::new();
        for world in &tables {
            if world.at != walked.stop {
                continue;
            }
            let choices: Vec<Option<Value>> = match domain(routine, world) {
                Ok(Some(open)) => open.branches().map(Some).collect(),
                Ok(None) => vec![None],
                Err(_) => Vec::new(),
            };
            for choice in choices {
                if let Ok(taken) = take(routine, world, choice.as_ref())
                    && taken.sights == walked.sights
                {
                    next.insert(taken.world);
                }
            }
        }
        tables = next;
    }
    tables.into_iter().collect()
}

/// Everything that a stray can do to a world, with what is seen of it: every first choice, and after each every second one.
fn all_ways(rescuer: &Rescuer<'_>, case: &Case, world: &World) -> Vec<(World, Vec<Sighted>)> {
    let mut found = Vec::new();
    let mut firsts = 1_u64;
    let mut first = 0;
    while first < firsts {
        let mut seconds = 1_u64;
        let mut second = 0;
        while second < seconds {
            let mut asked = 0;
            let happened = rescuer.happen(case, world.clone(), |open: &Domain| {
                let all: Vec<Value> = open.branches().collect();
                asked += 1;
                let n = if asked == 1 {
                    firsts = all.len() as u64;
                    first
                } else {
                    seconds = all.len() as u64;
                    second
                };
                all[usize::try_from(n).unwrap()].clone()
            });
            assert!(asked < 3);
            if let Ok(happened) = happened {
                found.push((happened.world, happened.sights));
            }
            second += 1;
        }
        first += 1;
    }
    found
}

/// Without what nothing remembers any more: names that the listing forgets because nothing goes by them.
fn tables_alone(worlds: &[World]) -> BTreeSet<(crate::routine::StopIndex, String)> {
    worlds
        .iter()
        .map(|world| (world.at, format!("{:?}", world.table)))
        .collect()
}

/// Sequences that a performer may key.
fn sequences(routine: &Routine) -> Vec<Vec<Mend>> {
    let texts = [
        "1",
        "turned",
        "cut 2",
        "reverse packet",
        "turn 2",
        "turn packet",
        "bottom to top",
        "turn 1; one-under",
        "top to bottom then top to bottom",
        "swap 1 3, turn-each: {pile: packet, at: [1, 2]}",
        "move 2 from packet to spare; move from spare to packet bottom",
        "take 3rd to bottom",
    ];
    let sizes = |_: PileId| 6;
    texts
        .iter()
        .map(|text| {
            let reading = Reading {
                routine,
                usual: PileId(0),
                sizes: &sizes,
            };
            read(reading, text)
                .unwrap_or_else(|how| panic!("{text}: {how}"))
                .into_iter()
                .map(|keyed| match keyed {
                    Keyed::Do(deed) => deed,
                    Keyed::Look(_) => panic!("{text} looks"),
                })
                .collect()
        })
        .collect()
}

/// A plan followed plainly on every table.
fn plan_works(
    routine: &Routine,
    plan: &Way,
    tables: &[World],
    known: &mut HashMap<World, bool>,
) -> bool {
    match plan {
        Way::Done => tables.iter().all(|world| ends_well(routine, world, known)),
        Way::Mend(mend, rest) => {
            let after: Option<Vec<World>> = tables
                .iter()
                .map(|world| done(routine, world, &Mend::Mend(*mend)))
                .collect();
            after.is_some_and(|after| plan_works(routine, rest, &after, known))
        }
        Way::Look(mend, cases) => cases.iter().all(|(what, rest)| {
            let shows: Vec<World> = tables
                .iter()
                .filter(|world| {
                    let there: Vec<Option<Sighted>> =
                        seen(routine, world, &routine.mends[*mend].looks)
                            .into_iter()
                            .map(Result::ok)
                            .collect();
                    there == *what
                })
                .cloned()
                .collect();
            plan_works(routine, rest, &shows, known)
        }),
    }
}

#[test]
fn every_mend_that_is_accepted_is_safe_on_every_table_and_every_one_refused_is_not() {
    let (mut right, mut luck, mut wrong, mut cases) = (0, 0, 0, BTreeSet::new());
    let mut verdicts: BTreeSet<&str> = BTreeSet::new();
    for number in 1..=28 {
        let routine = shaky(number);
        if !routine.shuffled.is_empty() {
            continue;
        }
        let ground = Ground::new(&routine);
        let strays = Strays::default();
        let asked = BTreeMap::new();
        let plan = plan(&[Drill::Rescue], 4, number);
        let Ok(drawn) = draw_road((&routine, &ground), (&plan, &strays), 1, &asked) else {
            continue;
        };
        let Astray {
            case,
            real,
            sights,
            tables,
            whole,
            verdict,
            ..
        } = &drawn.astray;
        if !whole {
            continue;
        }
        let case = &ground.cases()[*case];
        cases.insert(chance::name_of(&ground, case));
        verdicts.insert(telling::word(verdict));
        // The tables are those found by trying everything.
        let before = tables_before(ground.routine(), &drawn.road, drawn.until);
        let mut plainly = Vec::new();
        tables::asking(&ground, false, |rescuer| {
            for world in before.iter().filter(|world| case.makes_sense(world)) {
                for (after, saw) in all_ways(rescuer, case, world) {
                    if saw == *sights {
                        plainly.push(after);
                    }
                }
            }
        });
        assert_eq!(
            tables_alone(tables),
            tables_alone(&plainly),
            "{number} {case:?}"
        );
        assert!(tables_alone(&plainly).is_superset(&tables_alone(std::slice::from_ref(real))));
        let mut known = HashMap::new();
        let ground_routine = ground.routine();
        // The verdict is the one that plain walking gives.
        let well = safe_after(ground_routine, tables, &[], &mut known);
        match verdict {
            Verdict::Safe | Verdict::Out(_) => assert!(well, "{number}"),
            Verdict::Mend(plan) => {
                assert!(!well, "{number}");
                assert!(plan_works(ground_routine, plan, tables, &mut known));
            }
            Verdict::Lost { .. } => {
                assert!(!well, "{number}");
                for one in 0..2 {
                    assert!(!safe_after(
                        ground_routine,
                        tables,
                        &[Mend::Mend(one)],
                        &mut known
                    ));
                    for other in 0..2 {
                        let both = [Mend::Mend(one), Mend::Mend(other)];
                        assert!(!safe_after(ground_routine, tables, &both, &mut known));
                    }
                }
            }
            Verdict::Undecided => panic!("{number} is undecided"),
        }
        for deeds in sequences(&routine) {
            let safe = safe_after(ground_routine, tables, &deeds, &mut known);
            let here = safe_after(
                ground_routine,
                std::slice::from_ref(real),
                &deeds,
                &mut known,
            );
            let found = worth(&ground, real, tables, &deeds);
            let plainly = match (safe, here) {
                (true, _) => Worth::Safe,
                (false, true) => Worth::Luck,
                (false, false) => Worth::Not,
            };
            assert_eq!(found, plainly, "{number} {case:?} {deeds:?}");
            match found {
                Worth::Safe => right += 1,
                Worth::Luck => luck += 1,
                Worth::Not => wrong += 1,
            }
        }
    }
    assert!(
        right >= 10 && luck >= 10 && wrong >= 10,
        "{right} {luck} {wrong}"
    );
    assert!(cases.len() >= 5, "{cases:?}");
    assert!(verdicts.len() >= 3, "{verdicts:?}");
}

/// Every road of a routine, plainly: what was said so far, how the table looks, and which step comes next.
type Seen = (Vec<Sighted>, whereabouts::Look);

fn all_moments(ground: &Ground) -> Option<HashMap<Seen, BTreeSet<StopIndex>>> {
    let routine = ground.routine();
    let mut found: HashMap<Seen, BTreeSet<StopIndex>> = HashMap::new();
    let mut waiting = vec![(unknown_start(routine), Vec::<Sighted>::new())];
    let mut met: HashSet<(World, Vec<Sighted>)> = HashSet::new();
    while let Some((world, said)) = waiting.pop() {
        if routine.stop(world.at).is_none() || !met.insert((world.clone(), said.clone())) {
            continue;
        }
        if met.len() > 60_000 {
            return None;
        }
        found
            .entry((said.clone(), whereabouts::look(ground, &world)))
            .or_default()
            .insert(world.at);
        let choices: Vec<Option<Value>> = match domain(routine, &world) {
            Ok(Some(open)) => open.branches().map(Some).collect(),
            Ok(None) => vec![None],
            Err(_) => Vec::new(),
        };
        for choice in choices {
            if let Ok(taken) = take(routine, &world, choice.as_ref()) {
                let mut said = said.clone();
                said.extend(taken.sights.into_iter().filter(|one| {
                    matches!(
                        one,
                        Sighted::Choice(..) | Sighted::Reply(..) | Sighted::Part { .. }
                    )
                }));
                waiting.push((taken.world, said));
            }
        }
    }
    Some(found)
}

#[test]
fn where_are_we_takes_every_step_before_which_the_table_can_look_so_and_no_other() {
    let (mut asked, mut either) = (0, 0);
    for number in 1..=40 {
        let routine = shaky(number);
        if !routine.shuffled.is_empty() {
            continue;
        }
        let ground = Ground::new(&routine);
        let Some(moments) = all_moments(&ground) else {
            continue;
        };
        for seed in 0..3 {
            let road = sample(&routine, seed).unwrap();
            let right = whereabouts::right_steps(&ground, &road.walked);
            let mut said = Vec::new();
            for (walked, right) in road.walked.iter().zip(&right) {
                let world = ground.enter(walked.before.clone());
                let plainly = &moments[&(said.clone(), whereabouts::look(&ground, &world))];
                if !right.is_empty() {
                    assert_eq!(right, plainly, "{number} {seed} {:?}", walked.stop);
                    asked += 1;
                    either += usize::from(right.len() > 1);
                }
                said.extend(
                    walked
                        .sights
                        .iter()
                        .filter(|one| {
                            matches!(
                                one,
                                Sighted::Choice(..) | Sighted::Reply(..) | Sighted::Part { .. }
                            )
                        })
                        .cloned(),
                );
            }
        }
    }
    assert!(asked > 60 && either > 5, "{asked} {either}");
}

#[test]
fn moves_are_read_as_people_key_them() {
    let routine = shaky(2);
    let sizes = |_: PileId| 6;
    let reading = Reading {
        routine: &routine,
        usual: PileId(0),
        sizes: &sizes,
    };
    let packet = PileId(0);
    let left = PileId(1);
    let block = |from, take, count, to, put| Move::Block {
        from,
        take,
        count,
        to,
        put,
        order: crate::handling::Kept::Kept,
    };
    let expected = [
        (
            "cut 3",
            Move::Cut {
                pile: packet,
                at: 3,
            },
        ),
        (
            "Cut the packet at 3.",
            Move::Cut {
                pile: packet,
                at: 3,
            },
        ),
        ("cut: {pile: left, at: 2}", Move::Cut { pile: left, at: 2 }),
        ("top to bottom", block(packet, Top, 1, packet, Bottom)),
        (
            "top two to the bottom",
            block(packet, Top, 2, packet, Bottom),
        ),
        ("3 under", block(packet, Top, 3, packet, Bottom)),
        ("bottom to top", block(packet, Bottom, 1, packet, Top)),
        (
            "move 3 cards from packet to left",
            block(packet, Top, 3, left, Top),
        ),
        (
            "move: {from: packet, to: left, count: 2, put: bottom}",
            block(packet, Top, 2, left, Bottom),
        ),
        ("move left to packet", block(left, Top, 6, packet, Top)),
        (
            "turn 2",
            Move::Turn {
                pile: packet,
                count: 2,
            },
        ),
        (
            "turn over",
            Move::Turn {
                pile: packet,
                count: 6,
            },
        ),
        (
            "turn the top card over",
            Move::Turn {
                pile: packet,
                count: 1,
            },
        ),
        (
            "turn card 3",
            Move::TurnEach {
                pile: packet,
                places: vec![Place(3)],
            },
        ),
        (
            "turn the third card",
            Move::TurnEach {
                pile: packet,
                places: vec![Place(3)],
            },
        ),
        (
            "turn the bottom card over",
            Move::TurnEach {
                pile: packet,
                places: vec![Place(6)],
            },
        ),
        (
            "turn-each: {pile: packet, at: [1, 4]}",
            Move::TurnEach {
                pile: packet,
                places: vec![Place(1), Place(4)],
            },
        ),
        ("reverse: left", Move::Reverse(left)),
        (
            "swap 1 and 4",
            Move::Swap {
                pile: packet,
                a: Place(1),
                b: Place(4),
            },
        ),
        (
            "take the 2nd card from left to packet",
            Move::Take {
                from: left,
                at: Place(2),
                to: packet,
                put: Top,
            },
        ),
        (
            "put at 3",
            Move::Put {
                from: packet,
                to: packet,
                at: Place(3),
            },
        ),
        (
            "deal 2 from packet to left, right face up",
            Move::Deal {
                from: packet,
                to: vec![left, PileId(2)],
                count: 2,
                up: Some(true),
            },
        ),
        (
            "gather left packet onto packet",
            Move::Gather {
                piles: vec![left, packet],
                onto: packet,
            },
        ),
    ];
    for (text, mv) in expected {
        assert_eq!(
            read(reading, text),
            Ok(vec![Keyed::Do(Mend::Move(mv))]),
            "{text}"
        );
    }
    for (text, mend) in [
        ("1", 0),
        ("one-under", 0),
        ("Turned", 1),
        ("one under", 0),
        ("mend 2", 1),
    ] {
        assert_eq!(
            read(reading, text),
            Ok(vec![Keyed::Do(Mend::Mend(mend))]),
            "{text}"
        );
    }
    for (text, look) in [
        ("look bottom", Look::Card(packet, Place(6))),
        ("look at the top of left", Look::Card(left, Place(1))),
        ("glimpse 3", Look::Card(packet, Place(3))),
        ("look turned", Look::Mend(1)),
    ] {
        assert_eq!(read(reading, text), Ok(vec![Keyed::Look(look)]), "{text}");
    }
    for text in [
        "",
        " ; ",
        "9",
        "cut",
        "fly 3",
        "cut the cake",
        "swap 1",
        "turn 1 2 bottom",
        "3",
        "packet",
    ] {
        assert!(read(reading, text).is_err(), "{text}");
    }
}

/// Drives a rehearsal to its end; `answer` gives what is typed.
fn perform(
    rescue: &mut Rescue,
    mut answer: impl FnMut(&Rescue) -> String,
) -> (Vec<crate::drill::Answered>, Vec<RescueTold>) {
    let (mut kept, mut told) = (Vec::new(), Vec::new());
    for now in 1..4_000_u64 {
        let deed = match &rescue.phase {
            Phase::Step(_) | Phase::After(_) => Deed::Go,
            Phase::Told(one, _) => {
                told.push(one.clone());
                Deed::Go
            }
            Phase::Where(_) | Phase::Stray(_) | Phase::Mend(_) => Deed::Answer(answer(rescue)),
            Phase::Done(_) => return (kept, told),
        };
        for effect in rescue.update(&deed, Millis(now * 1_000)) {
            match effect {
                SpokenEffect::Keep(answered) => kept.push(answered),
                SpokenEffect::Unread(how) => panic!("{deed:?}: {how}"),
                SpokenEffect::Say(_)
                | SpokenEffect::Play(_)
                | SpokenEffect::Hush
                | SpokenEffect::Finished(_) => {}
            }
        }
    }
    panic!("it never ends");
}

/// What a performer says who knows everything: the program's own plan, a mend or a look at a time.
fn knowing(rescue: &Rescue) -> String {
    match &rescue.phase {
        Phase::Where(_) => rescue.routine.stops[rescue.right_here[0].index()]
            .id
            .to_string(),
        Phase::Stray(_) => telling::word(&rescue.astray.verdict)[..1].to_owned(),
        Phase::Mend(_) => {
            let mut deeds = Vec::new();
            let Verdict::Mend(plan) = &rescue.astray.verdict else {
                panic!("a mend is asked for where there is none");
            };
            // The plan anew, on the tables that are left.
            let plan = if rescue.mending.given.is_empty() {
                plan.clone()
            } else {
                tables::asking(&rescue.ground, true, |rescuer| {
                    let moments: Vec<_> = rescue
                        .mending
                        .tables
                        .iter()
                        .map(|world| rescuer.moment(world.clone()))
                        .collect();
                    rescuer.plan(&moments).unwrap()
                })
            };
            let mut at = &plan;
            while let Way::Mend(mend, rest) = at {
                deeds.push((mend + 1).to_string());
                at = rest;
            }
            if let Way::Look(mend, _) = at {
                deeds.push(format!("look {}", rescue.routine.mends[*mend].id));
            }
            if deeds.is_empty() {
                "nothing".to_owned()
            } else {
                deeds.join("; ")
            }
        }
        Phase::Step(_) | Phase::After(_) | Phase::Told(..) | Phase::Done(_) => String::new(),
    }
}

#[test]
fn who_knows_everything_has_everything_right_and_every_road_ends_well_after_a_mend() {
    let mut kinds: BTreeMap<String, u32> = BTreeMap::new();
    for routine in shipped() {
        let plan = plan(&[Drill::Rescue], 5, 11);
        let mut rescue = Rescue::new(Arc::clone(&routine), plan, Strays::default()).unwrap();
        let (kept, told) = perform(&mut rescue, knowing);
        assert!(kept.len() >= 5, "{}", routine.title);
        for answered in &kept {
            assert!(answered.right, "{answered:?}");
            assert_eq!(answered.drill, Drill::Rescue);
            *kinds.entry(answered.kind.clone()).or_insert(0) += 1;
        }
        // Whatever was safe, or made so, ends well.
        let mut safe = false;
        for one in &told {
            if one.right == Some(true) {
                let words = one.lines.join(" ");
                safe = words.contains("It is safe.") || words.contains("Safe now");
            }
            if one.right.is_none() && safe {
                assert_ne!(one.word, "NOT TRUE", "{one:?}");
            }
        }
    }
    assert!(kinds["verdict"] > 10, "{kinds:?}");
}

#[test]
fn who_knows_nothing_has_everything_wrong_and_is_told_why() {
    let routine = &shipped()[1];
    let plan = plan(&[Drill::Rescue], 4, 5);
    let mut rescue = Rescue::new(Arc::clone(routine), plan, Strays::default()).unwrap();
    let (kept, told) = perform(&mut rescue, |_| "-".to_owned());
    assert!(kept.len() >= 4);
    assert!(
        kept.iter()
            .all(|answered| !answered.right && answered.given == "-")
    );
    let wrong: Vec<&RescueTold> = told.iter().filter(|one| one.right == Some(false)).collect();
    assert_eq!(wrong.len(), kept.len());
    assert!(wrong.iter().all(|one| !one.lines.is_empty()));
    // Roads end all the same, and it is told how.
    assert!(told.iter().any(|one| one.right.is_none()));
}

#[test]
fn the_same_seed_brings_the_same_strays_and_the_notes_after_shows_bring_some_more_often() {
    let routine = &shipped()[1];
    let names = |strays: &Strays, seed: u64| -> Vec<String> {
        let ground = Ground::new(routine);
        let plan = plan(&[Drill::Rescue], 4, seed);
        (1..=6)
            .map(|number| {
                let drawn = draw_road(
                    (routine, &ground),
                    (&plan, strays),
                    number,
                    &BTreeMap::new(),
                )
                .unwrap();
                chance::name_of(&ground, &ground.cases()[drawn.astray.case])
            })
            .collect()
    };
    let by_lot = names(&Strays::default(), 3);
    assert_eq!(by_lot, names(&Strays::default(), 3));
    let met = Strays {
        met: BTreeMap::from([("peeks".to_owned(), 10_000)]),
        guide: None,
    };
    let met = names(&met, 3);
    let peeks = |names: &[String]| names.iter().filter(|name| *name == "peeks").count();
    assert!(peeks(&met) > peeks(&by_lot), "{met:?} {by_lot:?}");
    assert_eq!(peeks(&met), met.len());
}

#[test]
fn the_weight_of_a_stray_is_the_formula_s() {
    let routine = shaky(2);
    let ground = Ground::new(&routine);
    let case = |name: &str| {
        let named = |case: &&Case| chance::name_of(&ground, case) == name;
        ground.cases().iter().find(named).unwrap()
    };
    let mut strays = Strays::default();
    // (1 + met) × listed × shaky, in hundredths.
    assert_eq!(strays.weight(&ground, case("peeks"), 0), 100);
    strays.met.insert("peeks".to_owned(), 2);
    assert_eq!(strays.weight(&ground, case("peeks"), 0), 300);
    let mut often = case("peeks").clone();
    often.often = true;
    assert_eq!(strays.weight(&ground, &often, 0), 1_200);
    assert_eq!(strays.weight(&ground, case("cuts-unseen"), 0), 100);
    // What nobody was ever asked about weighs what is fresh; asked once today, less.
    strays.guide = Some(crate::drill::Guide {
        fresh: 0.5,
        ..crate::drill::Guide::default()
    });
    assert_eq!(strays.weight(&ground, case("peeks"), 0), 300);
    assert_eq!(strays.weight(&ground, case("peeks"), 1), 90);
}

#[test]
fn a_stray_happens_where_its_step_is_and_what_is_begun_in_the_middle_says_what_came_before() {
    let routine = &shipped()[1];
    let ground = Ground::new(routine);
    for number in 1..=8 {
        let plan = plan(&[Drill::Rescue], 4, 9);
        let drawn = draw_road(
            (routine, &ground),
            (&plan, &Strays::default()),
            number,
            &BTreeMap::new(),
        )
        .unwrap();
        let case = &ground.cases()[drawn.astray.case];
        match case.when {
            When::Instead => assert_eq!(drawn.road.walked[drawn.until].stop, case.stop),
            When::After => assert_eq!(drawn.road.walked[drawn.until - 1].stop, case.stop),
        }
    }
    let third = routine.stops[2].id.clone();
    let mut from = plan(&[Drill::Rescue], 2, 9);
    from.from = Some(third);
    let rescue = Rescue::new(Arc::clone(routine), from, Strays::default()).unwrap();
    let Phase::Told(told, Then::Road) = &rescue.phase else {
        panic!("{:?}", rescue.phase);
    };
    assert_eq!(told.word, "SO FAR");
    assert!(!told.lines.is_empty() && !told.packets.is_empty());
    assert_eq!(rescue.road.walked[rescue.done].stop, StopIndex(2));
}
