//! Sessions that go by a guide.

use super::made_up::made_up;
use super::play::wrong;
use crate::drill::{
    Drill, Effect, Event, Guide, Plan, Prompt, Question, Session, Topic, Why, Worth, asked_about,
    whole_run,
};
use crate::roads::Met;
use crate::routine::{Millis, Routine, StepId};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub fn plan(seed: u64) -> Plan {
    Plan {
        drills: vec![Drill::Order, Drill::Lines],
        questions: Some(60),
        minutes: None,
        seed,
        from: None,
    }
}

/// A guide for which one step is worth so many times as much as the others.
pub fn guide(routine: &Routine, weak: &StepId, times: f64) -> Guide {
    let mut topics = BTreeMap::new();
    for stop in &routine.stops {
        for (drill, kind) in [
            (Drill::Order, crate::drill::Kind::Next),
            (Drill::Lines, crate::drill::Kind::Line),
        ] {
            let topic = Topic {
                step: stop.id.clone(),
                drill,
                kind,
            };
            let worth = Worth {
                worth: if stop.id == *weak { times } else { 1.0 },
                why: Why::Weak(50),
            };
            topics.insert(topic, worth);
        }
    }
    Guide {
        topics,
        fresh: 1.0,
        practised: None,
        met: Met::default(),
    }
}

/// The questions of a session, each with its reason and the road it was asked on; every `miss`-th answer is wrong.
fn asked(routine: &Arc<Routine>, seed: u64, guide: Guide, miss: usize) -> Vec<(Question, Why)> {
    let mut session = Session::guided(Arc::clone(routine), plan(seed), guide).unwrap();
    let mut asked = Vec::new();
    for _ in 0..20_000 {
        let event = match session.prompt() {
            Prompt::Tell(_) | Prompt::Correct(_) | Prompt::Line(_) => Event::Go,
            Prompt::Ask(question) => {
                asked.push((question.clone(), session.why().unwrap()));
                Event::Answer {
                    text: if asked.len() % miss == 0 {
                        wrong(routine, &question)
                    } else {
                        question.expected_keys.clone()
                    },
                    first_key: Millis(400),
                    total: Millis(1_500),
                }
            }
            Prompt::Done(_) => return asked,
        };
        for effect in session.update(event) {
            assert!(!matches!(effect, Effect::Unread(_)));
        }
    }
    panic!("the session never ended");
}

#[test]
fn a_weak_step_comes_more_often_and_no_step_is_dropped() {
    let routine = made_up(3);
    let every: BTreeSet<StepId> = asked(
        &routine,
        1,
        Guide {
            fresh: 1.0,
            ..Guide::default()
        },
        usize::MAX,
    )
    .into_iter()
    .map(|(question, _)| question.key.step)
    .collect();
    let weak = every.iter().nth(every.len() / 2).unwrap().clone();
    let count = |times: f64| -> (usize, usize, BTreeSet<StepId>) {
        let all: Vec<StepId> = (1..=6)
            .flat_map(|seed| asked(&routine, seed, guide(&routine, &weak, times), usize::MAX))
            .map(|(question, _)| question.key.step)
            .collect();
        let there = all.iter().filter(|step| **step == weak).count();
        (there, all.len(), all.into_iter().collect())
    };
    let (alike, _, _) = count(1.0);
    let (weaker, all, steps) = count(8.0);
    assert!(
        weaker > alike,
        "{weaker} of {all}, {alike} where all are alike"
    );
    assert_eq!(steps, every);
}

#[test]
fn the_same_guide_and_answers_give_the_same_session_and_others_another() {
    let routine = made_up(4);
    let weak = routine.stops[1].id.clone();
    let run = |seed| {
        asked(&routine, seed, guide(&routine, &weak, 3.0), 5)
            .into_iter()
            .map(|(question, why)| (question.text, question.seed, why))
            .collect::<Vec<_>>()
    };
    assert_eq!(run(7), run(7));
    assert_ne!(run(7), run(8));
}

#[test]
fn every_road_of_a_guided_session_is_replayed_from_its_printed_seed() {
    let routine = made_up(4);
    let weak = routine.stops[1].id.clone();
    for (question, _) in asked(&routine, 7, guide(&routine, &weak, 3.0), usize::MAX) {
        let road = crate::roads::sample(&routine, question.seed).unwrap();
        let choices: Vec<String> = road
            .walked
            .iter()
            .filter_map(|walked| crate::roads::choice_label(&routine, walked))
            .collect();
        assert!(choices.starts_with(&question.choices));
    }
}

#[test]
fn what_was_missed_says_so_when_it_comes_back_and_at_the_end() {
    let routine = made_up(3);
    let weak = routine.stops[0].id.clone();
    let all = asked(&routine, 5, guide(&routine, &weak, 2.0), 10);
    let whys: Vec<&Why> = all
        .iter()
        .filter(|(q, _)| q.again)
        .map(|(_, w)| w)
        .collect();
    assert!(whys.contains(&&Why::Back) && whys.contains(&&Why::End));
    assert!(whys.iter().all(|why| matches!(why, Why::Back | Why::End)));
    assert!(
        all.iter()
            .filter(|(q, _)| !q.again)
            .all(|(q, why)| match why {
                Why::WholeRun => whole_run(q.spot.road),
                why => *why == Why::Weak(50) || *why == Why::New,
            })
    );
}

#[test]
fn untried_branches_are_looked_for_and_named() {
    let guide = Guide {
        practised: Some(["n=1".to_owned(), "n=2".to_owned()].into()),
        ..Guide::default()
    };
    assert_eq!(guide.untried(["n=1", "n@2=7", "n=3"]), Some("n=3"));
    assert_eq!(guide.untried(["n=1", "n@2=7"]), None);
    assert_eq!(Guide::default().untried(["n=3"]), None);
}

proptest! {
    #[test]
    fn the_best_steps_are_asked_about_and_at_least_one(worths in proptest::collection::vec(0.0_f64..9.0, 1..40)) {
        let asked = asked_about(&worths);
        prop_assert_eq!(asked.len(), worths.len());
        let least_asked = worths.iter().zip(&asked).filter(|(_, a)| **a).map(|(w, _)| *w).fold(f64::INFINITY, f64::min);
        let best_passed = worths.iter().zip(&asked).filter(|(_, a)| !**a).map(|(w, _)| *w).fold(0.0, f64::max);
        prop_assert!(asked.contains(&true) && least_asked >= best_passed);
    }
}

#[test]
fn a_guided_session_with_nothing_to_ask_ends() {
    let routine = crate::routine::load(&super::made_up::file(4), "silent", 1).unwrap();
    let mut routine = Routine::clone(&routine);
    for stop in &mut routine.stops {
        stop.say = crate::routine::Template::plain("");
    }
    let routine = Arc::new(routine);
    let guide = guide(&routine, &routine.stops[0].id, 3.0);
    for seed in 1..=5 {
        let plan = Plan {
            drills: vec![Drill::Lines],
            ..plan(seed)
        };
        let mut session = Session::guided(Arc::clone(&routine), plan, guide.clone()).unwrap();
        let mut roads = BTreeSet::new();
        let ended = (0..1_000).any(|_| match session.prompt() {
            Prompt::Tell(tell) => {
                roads.insert(tell.road);
                session.update(Event::Go);
                false
            }
            Prompt::Done(summary) => summary.asked == 0,
            other => panic!("{other:?}"),
        });
        // One road as the guide has it, and two on which every step was tried.
        assert!(ended && roads.len() == 3, "{seed} {roads:?}");
    }
}
