//! Sessions over several routines.

use super::guided::{guide, plan as guided_plan};
use super::made_up::made_up;
use super::play::{plan, wrong};
use crate::drill::{
    Answered, Drill, DrillFault, Effect, Event, Interleaved, Plan, Prompt, Question, Session,
    Summary,
};
use crate::routine::{Millis, Routine};
use std::sync::Arc;

const ALL: &[Drill] = &Drill::ASKED;

/// What came of a session: each question with whose road was walked and whose question it was, each road with whose it was.
#[derive(Debug)]
struct Evening {
    asked: Vec<(usize, Option<usize>, Question)>,
    roads: Vec<(u32, usize)>,
    /// How many questions came while each road was walked.
    on_road: Vec<usize>,
    kept: Vec<Answered>,
    summary: Summary,
}

fn begun(routines: &[Arc<Routine>], plan: &Plan) -> Interleaved {
    let parts = routines
        .iter()
        .map(|routine| Session::new(Arc::clone(routine), plan.clone()).unwrap());
    Interleaved::new(parts.collect()).unwrap()
}

/// Plays to the end; `misses` says which answers are wrong, counted from 1.
fn evening(mut session: Interleaved, misses: impl Fn(usize, &Question) -> bool) -> Evening {
    let mut evening = Evening {
        asked: Vec::new(),
        roads: Vec::new(),
        on_road: Vec::new(),
        kept: Vec::new(),
        summary: Summary::default(),
    };
    for _ in 0..20_000 {
        let event = match session.prompt() {
            Prompt::Tell(tell) => {
                if evening.roads.last().map(|(road, _)| *road) != Some(tell.road) {
                    evening.roads.push((tell.road, session.turn()));
                    evening.on_road.push(0);
                }
                Event::Go
            }
            Prompt::Correct(_) | Prompt::Line(_) => Event::Go,
            Prompt::Ask(question) => {
                let routine = Arc::clone(session.routine());
                if let Some(here) = evening.on_road.last_mut() {
                    *here += 1;
                }
                evening
                    .asked
                    .push((session.turn(), session.visited(), question.clone()));
                Event::Answer {
                    text: if misses(evening.asked.len(), &question) {
                        wrong(&routine, &question)
                    } else {
                        question.expected_keys.clone()
                    },
                    first_key: Millis(400),
                    total: Millis(1_500),
                }
            }
            Prompt::Done(summary) => {
                evening.summary = summary;
                return evening;
            }
        };
        for effect in session.update(event) {
            match effect {
                Effect::Keep(answered) => evening.kept.push(answered),
                Effect::Unread(how) => panic!("{how}"),
                Effect::Finished(_) => {}
            }
        }
    }
    panic!("the session never ended");
}

#[test]
fn over_one_routine_it_is_the_session_of_that_routine() {
    let routine = made_up(4);
    let plan = plan(ALL, 25, 11);
    let mut alone = Session::new(Arc::clone(&routine), plan.clone()).unwrap();
    let mut together = begun(std::slice::from_ref(&routine), &plan);
    let mut asked = 0;
    for _ in 0..2_000 {
        assert_eq!(
            format!("{:?}", alone.prompt()),
            format!("{:?}", together.prompt())
        );
        let event = match alone.prompt() {
            Prompt::Ask(question) => {
                asked += 1;
                Event::Answer {
                    text: if asked % 4 == 0 {
                        wrong(&routine, &question)
                    } else {
                        question.expected_keys
                    },
                    first_key: Millis(1),
                    total: Millis(2),
                }
            }
            Prompt::Tell(_) | Prompt::Line(_) | Prompt::Correct(_) => Event::Go,
            Prompt::Done(_) => break,
        };
        assert_eq!(alone.update(event.clone()), together.update(event));
    }
    assert_eq!(asked, 25);
}

#[test]
fn the_routines_take_turns_a_road_at_a_time_and_share_the_length_of_the_session() {
    let routines = [made_up(3), made_up(4), made_up(8)];
    for seed in 1..=8 {
        let played = evening(begun(&routines, &plan(ALL, 60, seed)), |_, _| false);
        assert_eq!(played.asked.len(), 60, "{seed}");
        assert_eq!((played.summary.asked, played.summary.right), (60, 60));
        // Roads are numbered through, and each is of one routine.
        let numbers: Vec<u32> = played.roads.iter().map(|(road, _)| *road).collect();
        assert_eq!(numbers, (1..=played.summary.roads).collect::<Vec<_>>());
        let turns: Vec<usize> = played.roads.iter().map(|(_, turn)| *turn).collect();
        for three in turns.windows(3) {
            assert!(
                three.iter().any(|turn| *turn != three[0]),
                "{seed} {turns:?}"
            );
        }
        for which in 0..routines.len() {
            assert!(turns.contains(&which), "{seed} {turns:?}");
        }
        // Nothing was missed, so nothing of another routine came between.
        for ((turn, visited, question), kept) in played.asked.iter().zip(&played.kept) {
            assert_eq!(*visited, None);
            assert_eq!(kept.content_hash, routines[*turn].content_hash);
            let road = crate::roads::sample(&routines[*turn], question.seed).unwrap();
            let choices: Vec<String> = road
                .walked
                .iter()
                .filter_map(|walked| crate::roads::choice_label(&routines[*turn], walked))
                .collect();
            assert!(choices.starts_with(&question.choices));
        }
    }
}

#[test]
fn whoever_misses_everything_goes_by_the_roads_of_all_all_the_same() {
    let all = [8, 9, 10, 11, 12].map(made_up);
    for count in [2, 3, 5] {
        let routines = &all[..count];
        // A turn has its share of twenty questions. What was missed before may come back on the rest of the road: each miss after six
        // others at the latest, so no more than six.
        let most = 20_usize.div_ceil(count) + 6;
        for seed in 1..=12 {
            let played = evening(begun(routines, &plan(ALL, 20, seed)), |_, _| true);
            assert_eq!(played.asked.len(), 20);
            assert_eq!(played.summary.right, 0);
            assert!(
                played.on_road.iter().all(|asked| *asked <= most),
                "{count} {seed} {:?}",
                played.on_road
            );
            let turns: Vec<usize> = played.roads.iter().map(|(_, turn)| *turn).collect();
            assert!(turns.len() >= 2 && turns[0] != turns[1], "{seed} {turns:?}");
            // Of two routines both are asked about, however short the roads of one may be.
            if count == 2 {
                let second = |(turn, visited, _): &&(usize, Option<usize>, Question)| {
                    visited.unwrap_or(*turn) == 1
                };
                let second = played.asked.iter().filter(second).count();
                assert!((3..=17).contains(&second), "{seed} {second}");
            }
        }
    }
}

#[test]
fn a_turn_has_its_share_of_the_minutes() {
    let routines = [made_up(8), made_up(9)];
    let mut plan = plan(ALL, 20, 4);
    (plan.questions, plan.minutes) = (None, Some(4));
    let mut session = begun(&routines, &plan);
    // Half of four minutes is over while the first line is read: nothing new is asked on this road, and something is on the next.
    session.update(Event::Elapsed(Millis(120_000)));
    let first = session.turn();
    for _ in 0..1_000 {
        match session.prompt() {
            Prompt::Tell(_) => session.update(Event::Go),
            Prompt::Ask(_) => break,
            other => panic!("{other:?}"),
        };
    }
    assert!(matches!(session.prompt(), Prompt::Ask(_)));
    assert_ne!(session.turn(), first);
}

#[test]
fn the_same_seed_gives_the_same_evening_and_another_another() {
    let routines = [made_up(3), made_up(4)];
    let run = |seed| evening(begun(&routines, &plan(ALL, 40, seed)), |n, _| n % 7 == 0);
    assert_eq!(format!("{:?}", run(5)), format!("{:?}", run(5)));
    let others: std::collections::BTreeSet<_> = (1..=6).map(|seed| run(seed).roads).collect();
    assert!(others.len() > 2, "{others:?}");
}

#[test]
fn a_miss_comes_back_after_three_to_six_others_of_whichever_routine_and_once_more_at_the_end() {
    let routines = [made_up(3), made_up(4), made_up(5)];
    let mut elsewhere = 0;
    for seed in 1..=12 {
        // The last question of the first road: it comes back in another's, or in another of its own.
        let first = evening(begun(&routines, &plan(ALL, 50, seed)), |_, _| false);
        let last = first
            .asked
            .iter()
            .filter(|(_, _, q)| q.spot.road == 1)
            .count();
        let played = evening(begun(&routines, &plan(ALL, 50, seed)), |n, q| {
            n == last || q.again
        });
        let (whose, _, missed) = &played.asked[last - 1];
        let back: Vec<usize> = (0..played.asked.len())
            .filter(|n| played.asked[*n].2.again)
            .collect();
        assert_eq!(back.len(), 2, "{seed} {back:?}");
        assert_eq!(back[1], played.asked.len() - 1, "{seed}");
        assert!((3..=6).contains(&(back[0] - last)), "{seed} {back:?}");
        for n in back {
            let (turn, visited, again) = &played.asked[n];
            assert_eq!((&again.key, &again.text), (&missed.key, &missed.text));
            assert_eq!(visited.unwrap_or(*turn), *whose);
            assert_eq!(*visited == Some(*whose), turn != whose);
            assert_eq!(played.kept[n].content_hash, routines[*whose].content_hash);
            elsewhere += usize::from(visited.is_some());
        }
    }
    assert!(elsewhere > 3, "{elsewhere}");
}

#[test]
fn at_the_end_no_more_questions_come_once_more_than_in_a_session_of_one_routine() {
    let routines = [made_up(3), made_up(4), made_up(5)];
    for seed in 1..=6 {
        let played = evening(begun(&routines, &plan(ALL, 60, seed)), |n, q| {
            n % 5 == 0 && !q.again
        });
        let tail = |n: usize| played.asked[60 - n..].iter().all(|(_, _, q)| q.again);
        assert_eq!(played.asked.len(), 60);
        // At most three close the session; a fourth before them may be one that came back by itself.
        assert!(tail(2) && !tail(5), "{seed}");
    }
}

#[test]
fn the_routine_whose_questions_are_worth_most_comes_most_often() {
    let routines = [made_up(3), made_up(4)];
    let mut roads = [0, 0];
    for seed in 1..=10 {
        let parts = routines.iter().enumerate().map(|(n, routine)| {
            let mut guide = guide(routine, &routine.stops[0].id, 1.0);
            if n == 1 {
                guide
                    .topics
                    .values_mut()
                    .for_each(|topic| topic.worth *= 4.0);
                guide.fresh *= 4.0;
            }
            Session::guided(Arc::clone(routine), guided_plan(seed), guide).unwrap()
        });
        let played = evening(Interleaved::new(parts.collect()).unwrap(), |_, _| false);
        for (_, turn) in played.roads {
            roads[turn] += 1;
        }
    }
    assert!(roads[1] * 4 > roads[0] * 5 && roads[0] > 0, "{roads:?}");
}

#[test]
fn a_routine_with_nothing_to_ask_is_left_for_the_others() {
    // No line is said in the first; both have an order of steps.
    let text = super::made_up::file(3);
    let silent = crate::routine::load(&text, "silent", 1).unwrap();
    let mut silent = Routine::clone(&silent);
    for stop in &mut silent.stops {
        stop.say = crate::routine::Template::plain("");
    }
    let routines = [Arc::new(silent), made_up(4)];
    let played = evening(begun(&routines, &plan(&[Drill::Lines], 30, 2)), |_, _| {
        false
    });
    assert_eq!(played.asked.len(), 30);
    assert!(played.asked.iter().all(|(turn, _, _)| *turn == 1));
    let idle = played.roads.iter().filter(|(_, turn)| *turn == 0).count();
    assert!(idle <= 3, "{idle}");
}

#[test]
fn the_summary_says_of_which_routine_a_step_is() {
    let routines = [made_up(3), made_up(4)];
    let played = evening(begun(&routines, &plan(ALL, 40, 3)), |n, _| n % 3 == 0);
    let summary = &played.summary;
    assert_eq!(summary.asked, 40);
    assert_eq!(summary.right, 40 - 13);
    assert_eq!(summary.steps.iter().map(|step| step.asked).sum::<u32>(), 40);
    let weakest = &summary.weak[0];
    assert!(
        summary
            .weak
            .iter()
            .all(|step| step.missed() <= weakest.missed())
    );
    let (routine, step) = weakest.title.split_once(": ").unwrap();
    assert!(routines.iter().any(|one| one.title == routine));
    assert!(summary.next.contains(routine) && summary.next.contains(step.trim_end_matches('.')));
}

#[test]
fn time_is_up_for_all_and_enough_ends_all() {
    let routines = [made_up(3), made_up(4)];
    let mut plan = plan(ALL, 40, 3);
    (plan.questions, plan.minutes) = (None, Some(2));
    let mut session = begun(&routines, &plan);
    assert!(session.update(Event::Elapsed(Millis(119_999))).is_empty());
    let ended = session.update(Event::Elapsed(Millis(120_000)));
    assert!(matches!(ended.as_slice(), [Effect::Finished(_)]));
    let mut session = begun(&routines, &plan);
    session.update(Event::Go);
    let ended = session.update(Event::Stop);
    assert!(matches!(ended.as_slice(), [Effect::Finished(_)]));
    assert!(matches!(session.prompt(), Prompt::Done(_)));
    assert!(session.update(Event::Go).is_empty());
    assert!(matches!(
        Interleaved::new(Vec::new()),
        Err(DrillFault::NoRoutine)
    ));
}
