//! Which sequences make it safe.

use super::*;

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
