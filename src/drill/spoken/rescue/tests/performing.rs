//! Whole rehearsals, by performers who know everything and who know nothing.

use super::*;
use crate::drill::question::Kind;

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
fn what_was_noted_after_a_show_counts_whichever_way_it_was_written() {
    let routine = &shipped()[1];
    let ground = Ground::new(routine);
    let lot = Strays::default();
    let mut own = 0;
    for case in ground.cases() {
        let (name, words) = (
            routine.stray_id(case.stray),
            routine.stray_in_words(case.stray),
        );
        own += usize::from(matches!(case.stray, crate::routine::Stray::Own(_)));
        // As the notes after a show offer it, as files write it, and with a capital.
        let capital = words[..1].to_uppercase() + &words[1..];
        let noted = BTreeMap::from([(words.clone(), 2), (name.to_owned(), 3), (capital, 4)]);
        // A word alone is its own name, and then the second takes the place of the first.
        let times = if words == name { 7 } else { 9 };
        let strays = Strays::new(&noted, None);
        let once = lot.weight(&ground, case, 0);
        assert_eq!(
            strays.weight(&ground, case, 0),
            (1 + times) * once,
            "{name}"
        );
        assert_eq!(
            Strays::new(&BTreeMap::new(), None).weight(&ground, case, 0),
            once
        );
    }
    assert!(own > 0);
}

/// The strays of so many roads, with the step of each.
fn drawn(routine: &Arc<Routine>, strays: &Strays, roads: u32) -> Vec<(String, StepId)> {
    let ground = Ground::new(routine);
    let plan = plan(&[Drill::Rescue], 4, 17);
    (1..=roads)
        .filter_map(|number| {
            let drawn = draw_road(
                (routine, &ground),
                (&plan, strays),
                number,
                &BTreeMap::new(),
            );
            let case = &ground.cases()[drawn.ok()?.astray.case];
            let step = routine.stops[case.stop.index()].id.clone();
            Some((chance::name_of(&ground, case), step))
        })
        .collect()
}

#[test]
fn strays_come_as_often_as_they_were_met_on_stage_and_as_the_performer_is_shaky_on_them() {
    const ROADS: u32 = 160;
    let text = include_str!("../../../../../tests/fixtures/train.yaml");
    let routine = Arc::new(load(text, "train.yaml", 0).unwrap());
    let share = |all: &[(String, StepId)], is: &dyn Fn(&(String, StepId)) -> bool| {
        assert!(all.len() > 140, "{}", all.len());
        let (some, all) = (all.iter().filter(|one| is(one)).count(), all.len());
        f64::from(u32::try_from(some).unwrap()) / f64::from(u32::try_from(all).unwrap())
    };
    let peeks = |one: &(String, StepId)| one.0 == "peeks";
    let part = |one: &(String, StepId)| &*one.1.0 == "part";
    let by_lot = drawn(&routine, &Strays::default(), ROADS);
    // Met nine times: ten times the weight of the others, of which there are some thirty.
    let noted = BTreeMap::from([("peeks".to_owned(), 9)]);
    let met = drawn(&routine, &Strays::new(&noted, None), ROADS);
    assert!(share(&by_lot, &peeks) < 0.15, "{}", share(&by_lot, &peeks));
    assert!(share(&met, &peeks) > 0.25, "{}", share(&met, &peeks));
    // Missed at one step, and known at the other: four times the weight, and a quarter.
    let mut guide = crate::drill::Guide {
        fresh: 0.2,
        ..crate::drill::Guide::default()
    };
    for (step, worth) in [("part", 0.8), ("push", 0.05)] {
        let topic = crate::drill::Topic {
            step: StepId(step.into()),
            drill: Drill::Rescue,
            kind: Kind::Verdict,
        };
        let mends = crate::drill::Topic {
            kind: Kind::Mend,
            ..topic.clone()
        };
        for topic in [topic, mends] {
            let why = crate::drill::Why::New;
            guide
                .topics
                .insert(topic, crate::drill::Worth { worth, why });
        }
    }
    let shaky = drawn(&routine, &Strays::new(&BTreeMap::new(), Some(guide)), ROADS);
    let (before, after) = (share(&by_lot, &part), share(&shaky, &part));
    assert!(after > before + 0.15, "{before} {after}");
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
