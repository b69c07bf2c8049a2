use super::*;
use crate::drill::{Drill, Kind, Why};
use crate::routine::{Millis, Routine, StepId};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

fn step(name: &str) -> StepId {
    StepId(name.into())
}

fn skill(name: &str) -> Skill {
    Skill {
        step: step(name),
        drill: Drill::Picture,
        kind: Kind::Card,
    }
}

fn answer(name: &str, day: i32, right: bool) -> Answer {
    Answer {
        skill: skill(name),
        day: Day(day),
        right,
        time: Millis(2_000),
    }
}

fn shipped() -> Vec<Routine> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/drills");
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    files.sort();
    let routines: Vec<Routine> = files
        .iter()
        .map(|path| {
            let text = std::fs::read_to_string(path).unwrap();
            crate::routine::load(&text, "shipped", 0).unwrap()
        })
        .collect();
    assert!(routines.len() >= 5);
    routines
}

proptest! {
    #[test]
    fn chances_are_chances_and_fall_with_the_days(
        answers in proptest::collection::vec((0_i32..40, any::<bool>()), 1..20),
    ) {
        let memory = Memory::default();
        let (mut day, mut trace) = (Day(20_000), None);
        for (gap, right) in answers {
            day = day.plus(gap);
            trace = Some(memory.after(trace.as_ref(), day, right));
        }
        let trace = trace.unwrap();
        let mut before = 1.0;
        for later in 0..100 {
            let chance = memory.recall(&trace, day.plus(later));
            prop_assert!((0.0..=1.0).contains(&chance) && chance <= before);
            before = chance;
        }
    }

    #[test]
    fn a_right_answer_never_shortens_memory_and_a_miss_never_lengthens_it(
        answers in proptest::collection::vec((0_i32..40, any::<bool>()), 1..20),
    ) {
        let memory = Memory::default();
        let (mut day, mut trace) = (Day(0), memory.after(None, Day(0), true));
        for (gap, right) in answers {
            day = day.plus(gap);
            let after = memory.after(Some(&trace), day, right);
            if right {
                prop_assert!(after.lasts >= trace.lasts);
            } else {
                prop_assert!(after.lasts <= trace.lasts);
            }
            trace = after;
        }
    }

    #[test]
    fn a_record_read_back_goes_on_exactly_as_the_one_written(
        answers in proptest::collection::vec((0_usize..4, 0_i32..3, any::<bool>()), 1..40),
        split in 0_usize..40,
    ) {
        let names = ["a", "b", "c", "d"];
        let mut day = 0;
        let answers: Vec<Answer> = answers
            .into_iter()
            .map(|(which, gap, right)| {
                day += gap;
                answer(names[which], day, right)
            })
            .collect();
        let (first, rest) = answers.split_at(split.min(answers.len()));
        let whole = Record::of(Memory::default(), &answers);
        let mut read = Record::read(&Record::of(Memory::default(), first).text()).unwrap();
        for answer in rest {
            read.add(answer);
        }
        prop_assert_eq!(read.text(), whole.text());
    }

    #[test]
    fn more_slips_make_a_slip_likelier_and_more_clean_runs_less_likely(
        slips in 0_u32..20, runs in 20_u32..200,
    ) {
        let (slips, runs) = (f64::from(slips), f64::from(runs));
        let chance = slip_chance(slips, runs);
        prop_assert!((0.0..=1.0).contains(&chance));
        prop_assert!(slip_chance(slips + 1.0, runs) > chance);
        prop_assert!(slip_chance(slips, runs + 1.0) < chance);
    }
}

/// Chances that differ from step to step, as many as a routine has.
fn some_night(routine: &Routine) -> BTreeMap<StepId, OnTheNight> {
    routine
        .stops
        .iter()
        .enumerate()
        .map(|(n, stop)| {
            let night = OnTheNight {
                recall: 1.0 - 0.01 * (n % 7) as f64,
                slip: 0.004 * (n % 5) as f64,
            };
            (stop.id.clone(), night)
        })
        .collect()
}

/// The plain way: random roads walked, each step's recall once, its slips each time.
fn by_walking(routine: &Routine, night: &BTreeMap<StepId, OnTheNight>, roads: u64) -> (f64, f64) {
    let each: Vec<f64> = (0..roads)
        .map(|seed| {
            let road = crate::roads::sample(routine, 5_000 + seed).unwrap();
            let mut seen = BTreeSet::new();
            let mut chance = 1.0;
            for walked in &road.walked {
                let id = &routine.stop(walked.stop).unwrap().id;
                let here = night[id];
                if seen.insert(id.clone()) {
                    chance *= here.recall;
                }
                chance *= 1.0 - here.slip;
            }
            chance
        })
        .collect();
    let mean = each.iter().sum::<f64>() / roads as f64;
    let variance = each.iter().map(|c| (c - mean).powi(2)).sum::<f64>() / (roads - 1) as f64;
    (mean, (variance / roads as f64).sqrt())
}

#[test]
fn the_chance_of_a_clean_run_is_that_of_roads_walked_one_by_one() {
    let mut exact = 0;
    for routine in shipped() {
        let night = some_night(&routine);
        let ready = readiness(&routine, &night, 1).unwrap();
        let (mean, error) = by_walking(&routine, &night, 1_000);
        let own = (ready.high - ready.low) / 4.0;
        let off = (ready.chance - mean).abs();
        assert!(
            off <= 4.0 * (error + own) + 1e-9,
            "{}: {} by walking {mean} ± {error}",
            routine.title,
            ready.chance
        );
        exact += usize::from(ready.roads.is_none());
        assert!(ready.low <= ready.chance && ready.chance <= ready.high);
    }
    assert!(exact > 0, "no routine was worked out exactly");
}

#[test]
fn what_a_step_costs_is_what_making_it_sure_would_gain() {
    for routine in shipped() {
        let night = some_night(&routine);
        let ready = readiness(&routine, &night, 1).unwrap();
        assert_eq!(ready.costs.len(), night.len());
        assert!(ready.costs.is_sorted_by(|a, b| a.costs >= b.costs));
        for cost in &ready.costs {
            let mut sure = night.clone();
            sure.insert(
                cost.step.clone(),
                OnTheNight {
                    recall: 1.0,
                    slip: 0.0,
                },
            );
            let gained = readiness(&routine, &sure, 1).unwrap().chance - ready.chance;
            assert!((gained - cost.costs).abs() < 1e-12, "{}", cost.step);
        }
    }
}

#[test]
fn twenty_steps_at_95_in_100_make_a_clean_run_one_time_in_three() {
    // 0.95 to the twentieth is 0.358 (by hand).
    let mut routine = shipped().remove(0);
    let model = routine.stops[0].clone();
    routine.endings.truncate(1);
    routine.stops = (0..20)
        .map(|n| {
            let mut stop = model.clone();
            stop.id = step(&format!("s{n}"));
            stop.then = if n == 19 {
                crate::routine::Then::Finish
            } else {
                crate::routine::Then::Go(crate::routine::StopIndex(n + 1))
            };
            stop
        })
        .collect();
    let night = routine
        .stops
        .iter()
        .map(|stop| {
            let night = OnTheNight {
                recall: 0.95,
                slip: 0.0,
            };
            (stop.id.clone(), night)
        })
        .collect();
    let ready = readiness(&routine, &night, 1).unwrap();
    assert_eq!(ready.roads, None);
    assert!((ready.chance - 0.358).abs() < 0.001);
}

/// A performer who forgets overnight what most would keep for days: right on the day, wrong two mornings in three.
fn quick_to_forget() -> Vec<Series> {
    (0..20_i32)
        .map(|k| {
            (0..14_i32)
                .flat_map(|day| {
                    let morning = (day + k) % 3 == 0;
                    [(Day(day), morning), (Day(day), true)]
                })
                .collect()
        })
        .collect()
}

#[test]
fn memory_is_fitted_from_400_answers_on_and_gone_by_only_where_it_foretells_better() {
    let series = quick_to_forget();
    let few: Vec<Series> = series[..14].to_vec();
    assert!(few.iter().map(Vec::len).sum::<usize>() < ENOUGH);
    assert!(fit(&few).is_none());
    let fitted = fit(&series).unwrap();
    assert!(fitted.adopted && fitted.better_by() > 0.2, "{fitted:?}");
    // The plain way: the surprise of all mornings, by either memory.
    let of = |memory| surprise(memory, &series, Day(i32::MIN), Day(i32::MAX)).0;
    assert!(of(&fitted.memory) < of(&Memory::default()));
}

#[test]
fn the_surprise_is_the_log_of_what_was_foretold_for_each_answer_after_a_night() {
    let memory = Memory::default();
    let series = vec![vec![
        (Day(0), true),
        (Day(0), true),
        (Day(3), false),
        (Day(4), true),
    ]];
    let mut trace = memory.after(None, Day(0), true);
    trace = memory.after(Some(&trace), Day(0), true);
    let first = memory.recall(&trace, Day(3));
    trace = memory.after(Some(&trace), Day(3), false);
    let second = memory.recall(&trace, Day(4));
    let expected = -(1.0 - first).ln() - second.ln();
    let (found, count) = surprise(&memory, &series, Day(0), Day(9));
    assert!((found - expected).abs() < 1e-12 && count == 2);
    assert_eq!(surprise(&memory, &series, Day(4), Day(9)).1, 1);
}

#[test]
fn what_was_missed_is_worth_more_than_what_was_right_and_each_says_why() {
    let mut record = Record::default();
    for day in 0..6 {
        record.add(&answer("weak", day, day % 3 == 1));
        record.add(&answer("held", day, true));
    }
    let aim = Aim::new(Day(6), Some(Day(9)));
    let worths = |name| worth(&record, &skill(name), aim);
    assert!(worths("weak") > 3.0 * worths("held"));
    let guide = guide(&record, aim, None);
    let why = |name| {
        guide
            .topics
            .iter()
            .find(|(topic, _)| topic.step == step(name))
            .unwrap()
            .1
            .why
            .clone()
    };
    assert_eq!(why("weak"), Why::Missed);
    assert!(
        matches!(why("held"), Why::Ripe(90..=100)),
        "{:?}",
        why("held")
    );
}

#[test]
fn a_skill_answered_today_gives_way_to_the_others() {
    let mut record = Record::default();
    for name in ["a", "b"] {
        record.add(&answer(name, 0, false));
    }
    let aim = Aim::new(Day(1), None);
    let before = worth(&record, &skill("a"), aim);
    record.add(&answer("a", 1, true));
    assert!(worth(&record, &skill("a"), aim) < before / 2.0);
    assert!(worth(&record, &skill("b"), aim) > worth(&record, &skill("a"), aim));
}

#[test]
fn steps_stand_as_their_answers_say() {
    let routine = shipped().remove(0);
    let ids: Vec<String> = routine.stops.iter().map(|s| s.id.to_string()).collect();
    let mut record = Record::default();
    for day in 0..8 {
        record.add(&answer(&ids[0], day * 3, true));
    }
    record.add(&answer(&ids[1], 21, false));
    let aim = Aim::new(Day(22), Some(Day(24)));
    let found = footings(&routine, &record, &BTreeMap::new(), aim);
    assert_eq!(found.len(), routine.stops.len());
    assert_eq!(found[0].hold, Hold::ShowReady);
    assert_eq!((found[0].answers, found[0].missed), (8, 0));
    assert_eq!(found[1].hold, Hold::Shaky);
    assert_eq!(found[1].sure, Sureness::Thin);
    assert!(found[2..].iter().all(|step| step.hold == Hold::Untried));
    assert!(found[0].show < found[0].now && found[0].show > 0.95);
    // The memory of the step is that of its only skill.
    let held = record.held(&skill(&ids[0])).unwrap();
    assert!((record.chance(&skill(&ids[0]), Day(24)) - found[0].show).abs() < 1e-12);
    assert_eq!(held.days, 8);
}

#[test]
fn no_reason_and_no_measure_of_sureness_speaks_the_model_s_words() {
    let said = [
        Why::Back,
        Why::End,
        Why::New,
        Why::Missed,
        Why::Weak(40),
        Why::Ripe(95),
        Why::WholeRun,
        Why::Branch("how many went ashore: 3".to_owned()),
        Why::Lot,
    ]
    .map(|why| why.words())
    .into_iter()
    .chain([Sureness::Thin, Sureness::Some, Sureness::Good].map(|s| s.words().to_owned()))
    .chain(Hold::ALL.map(|hold| hold.word().to_owned()));
    for words in said {
        let words = words.to_lowercase();
        for theirs in [
            "fsrs",
            "stability",
            "difficulty",
            "retriev",
            "deck",
            "review",
            "interval",
            "ease",
            "card",
            "lapse",
        ] {
            assert!(!words.contains(theirs), "{words}");
        }
    }
}

/// Answers of a week to three steps, and the same with misses at what goes wrong among them, before and after.
fn with_and_without_strays(ids: &[StepId]) -> [Vec<Answer>; 2] {
    let astray = |n: usize, day: i32| Answer {
        skill: Skill {
            step: ids[n % 4].clone(),
            drill: Drill::Rescue,
            kind: [Kind::Verdict, Kind::Mend, Kind::Whereabouts][n % 3],
        },
        day: Day(day),
        right: false,
        time: Millis(60_000),
    };
    let (mut without, mut with) = (Vec::new(), Vec::new());
    for day in 0..8 {
        with.extend((0..12).map(|n| astray(n, day)));
        for (n, id) in ids.iter().take(3).enumerate() {
            let right = (usize::try_from(day).unwrap() + n) % 4 != 0;
            let answer = answer(&id.0, day, right);
            without.push(answer.clone());
            with.push(answer);
        }
    }
    with.extend((0..12).map(|n| astray(n, 9)));
    [without, with]
}

#[test]
fn misses_when_it_goes_wrong_take_nothing_from_a_clean_run_and_are_remembered_by_themselves() {
    let routine = shipped().remove(0);
    let ids: Vec<StepId> = routine.stops.iter().map(|stop| stop.id.clone()).collect();
    let aim = Aim::new(Day(10), Some(Day(12)));
    let answers = with_and_without_strays(&ids);
    let progress = |answers: &[Answer]| {
        let mut record = Record::default();
        let mut history = History::default();
        for answer in answers {
            history.add(&record, answer);
            record.add(answer);
        }
        // A night on which the second step went wrong.
        let night = [(&ids[0], true), (&ids[1], false), (&ids[4], false)];
        record.perform(Day(9), night);
        // What is kept and read again says the same.
        let record = Record::read(&record.text()).unwrap();
        let progress = Progress::of(
            "one",
            &routine,
            Practised {
                record: &record,
                history: &history,
                branches: &BTreeSet::new(),
                events: &BTreeMap::new(),
                met: &crate::roads::Met::default(),
                shows: &[],
                own: None,
            },
            aim,
        );
        let stint = Stint {
            day: Day(11),
            minutes: 10,
        };
        let part = Part {
            routine: &routine,
            record: &record,
            events: &BTreeMap::new(),
            met: &crate::roads::Met::default(),
        };
        let forecast = forecast(&part, &[stint], aim, 5, 3).unwrap();
        (record, progress, forecast)
    };
    let [(without, plain, expected), (with, other, found)] =
        answers.each_ref().map(|answers| progress(answers));
    assert!(plain.readiness.is_some());
    assert_eq!(plain.readiness, other.readiness);
    let footings = |progress: &Progress| -> Vec<Footing> {
        let steps = progress.steps.iter();
        steps.map(|step| step.footing.clone()).collect()
    };
    assert_eq!(footings(&plain), footings(&other));
    let chances = |progress: &Progress| -> Vec<Option<f64>> {
        progress.weeks.iter().map(|week| week.chance).collect()
    };
    assert_eq!(chances(&plain), chances(&other));
    assert!(chances(&plain).iter().any(Option::is_some));
    assert_eq!(expected, found);
    assert_eq!(without.first_chance(), with.first_chance());
    for (skill, held) in without.skills() {
        assert_eq!(Some(held), with.held(skill));
    }
    // They are told, and worth practising, by themselves.
    let asked = |progress: &Progress| -> u32 {
        let skills = progress.steps.iter().flat_map(|step| &step.skills);
        let astray = skills.filter(|skill| skill.drill == Drill::Rescue);
        astray.map(|skill| skill.missed).sum()
    };
    assert_eq!((asked(&plain), asked(&other)), (0, 108));
    let missed = Skill {
        step: ids[0].clone(),
        drill: Drill::Rescue,
        kind: Kind::Verdict,
    };
    assert!(with.chance(&missed, Day(10)) < 0.5);
    assert_eq!(with.held(&missed).unwrap().trace.last, Day(9));
    assert!(guide(&with, aim, None).topics.keys().any(|topic| {
        topic.drill == Drill::Rescue && topic.kind == Kind::Verdict && topic.step == ids[0]
    }));
}

#[test]
fn a_record_of_strays_alone_tells_nothing_of_a_clean_run_and_an_older_text_is_not_read() {
    let routine = shipped().remove(0);
    let mut record = Record::default();
    record.add(&Answer {
        skill: Skill {
            step: routine.stops[0].id.clone(),
            drill: Drill::Rescue,
            kind: Kind::Mend,
        },
        day: Day(0),
        right: false,
        time: Millis(9_000),
    });
    assert!(!record.tells_of_clean_runs());
    let aim = Aim::new(Day(1), None);
    let found = footings(&routine, &record, &BTreeMap::new(), aim);
    let none = footings(&routine, &Record::default(), &BTreeMap::new(), aim);
    assert_eq!(found, none);
    let text = record.text();
    assert!(Record::read(&text).is_some());
    assert!(Record::read(&text.replace("\"form\":3", "\"form\":2")).is_none());
}
