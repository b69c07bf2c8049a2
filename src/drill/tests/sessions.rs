use super::made_up::made_up;
use super::play::{plan, play, shipped, wrong};
use crate::drill::{Drill, DrillFault, Effect, Event, Plan, Prompt, Session};
use crate::routine::{Millis, StepId};
use std::sync::Arc;

const ALL: &[Drill] = &Drill::ASKED;

#[test]
fn the_same_plan_and_answers_give_the_same_session() {
    let routine = made_up(3);
    let run = || {
        let played = play(&routine, plan(ALL, 20, 7), |_, q| q.expected_keys.clone());
        (played.kept, format!("{:?}", played.prompts))
    };
    assert_eq!(run(), run());
}

#[test]
fn seeds_lead_down_different_roads() {
    let routine = made_up(3);
    let texts = |seed| {
        play(&routine, plan(ALL, 20, seed), |_, q| {
            q.expected_keys.clone()
        })
        .asked
        .into_iter()
        .map(|q| q.text)
        .collect::<Vec<_>>()
    };
    assert_ne!(texts(1), texts(2));
}

#[test]
fn a_missed_question_comes_back_after_three_to_six_others_and_once_more_at_the_end() {
    for number in 1..=10 {
        let routine = made_up(number);
        let mut n = 0;
        let played = play(&routine, plan(ALL, 40, number), |_, q| {
            n += 1;
            if n == 4 || q.again {
                wrong(&routine, q)
            } else {
                q.expected_keys.clone()
            }
        });
        let missed = &played.asked[3];
        let back: Vec<usize> = played
            .asked
            .iter()
            .enumerate()
            .filter(|(_, q)| q.again)
            .map(|(n, _)| n)
            .collect();
        assert_eq!(back.len(), 2, "{number} {back:?}");
        assert_eq!(back[1], played.asked.len() - 1, "{number}");
        assert!((3..=6).contains(&(back[0] - 4)), "{number} {back:?}");
        let again = &played.asked[back[0]];
        assert_eq!(
            (&again.key, &again.text, &again.given, &again.choices),
            (&missed.key, &missed.text, &missed.given, &missed.choices)
        );
    }
}

#[test]
fn a_miss_is_corrected_at_once_with_the_answer_and_why() {
    let routine = made_up(5);
    let played = play(&routine, plan(&[Drill::Picture], 10, 3), |_, q| {
        wrong(&routine, q)
    });
    for pair in played.prompts.windows(2) {
        if let Prompt::Ask(question) = &pair[0] {
            let Prompt::Correct(correction) = &pair[1] else {
                panic!("no correction")
            };
            assert_eq!(correction.answer, question.expected_words);
            assert!(
                correction.why.ends_with('.') && correction.why.len() > 10,
                "{}",
                correction.why
            );
        }
    }
}

#[test]
fn no_kind_is_asked_twice_in_a_row_on_one_step_of_a_road() {
    for number in 1..=10 {
        let played = play(&made_up(number), plan(ALL, 30, number), |_, q| {
            q.expected_keys.clone()
        });
        for pair in played.asked.windows(2) {
            let key = |n: usize| {
                (
                    pair[n].spot.road,
                    pair[n].key.step.clone(),
                    pair[n].key.kind,
                )
            };
            assert_ne!(key(0), key(1));
        }
    }
}

#[test]
fn all_chosen_drills_have_their_turn() {
    let played = play(&made_up(2), plan(ALL, 30, 4), |_, q| {
        q.expected_keys.clone()
    });
    for drill in Drill::ASKED {
        let n = played.asked.iter().filter(|q| q.key.drill == drill).count();
        assert!(n >= 4, "{drill:?} {n}");
    }
}

#[test]
fn it_begins_from_a_step_with_what_came_before_told_in_one_go() {
    let routine = made_up(1);
    let step = routine.stops[2].id.clone();
    let session = Session::new(
        Arc::clone(&routine),
        Plan {
            from: Some(step),
            ..plan(ALL, 5, 7)
        },
    )
    .unwrap();
    let Prompt::Tell(tell) = session.prompt() else {
        panic!()
    };
    assert!(
        tell.stop.is_none() && !tell.seen.is_empty() && tell.done >= 2,
        "{tell:?}"
    );
    let unknown = Plan {
        from: Some(StepId("nowhere".into())),
        ..plan(ALL, 5, 7)
    };
    assert_eq!(
        Session::new(Arc::clone(&routine), unknown).unwrap_err(),
        DrillFault::NoStep(StepId("nowhere".into()))
    );
    assert_eq!(
        Session::new(routine, plan(&[], 5, 7)).unwrap_err(),
        DrillFault::NoDrill
    );
}

#[test]
fn an_unread_answer_leaves_the_question_standing_and_keeps_nothing() {
    let routine = made_up(4);
    let mut session = Session::new(routine, plan(&[Drill::Picture], 5, 7)).unwrap();
    while !matches!(session.prompt(), Prompt::Ask(_)) {
        session.update(Event::Go);
    }
    let Prompt::Ask(before) = session.prompt() else {
        panic!()
    };
    let effects = session.update(Event::Answer {
        text: String::new(),
        first_key: Millis(1),
        total: Millis(2),
    });
    assert!(
        matches!(effects.as_slice(), [Effect::Unread(_)]),
        "{effects:?}"
    );
    let Prompt::Ask(after) = session.prompt() else {
        panic!()
    };
    assert_eq!(before.key, after.key);
    // What does not fit the screen changes nothing.
    assert!(
        session.update(Event::Go).is_empty() && session.update(Event::Differed(true)).is_empty()
    );
}

#[test]
fn time_ends_the_session_but_never_under_a_question() {
    let routine = made_up(4);
    let plan = Plan {
        minutes: Some(1),
        questions: None,
        ..plan(&[Drill::Picture], 0, 7)
    };
    let mut session = Session::new(routine, plan).unwrap();
    assert!(session.update(Event::Elapsed(Millis(59_999))).is_empty());
    while !matches!(session.prompt(), Prompt::Ask(_)) {
        session.update(Event::Go);
    }
    assert!(session.update(Event::Elapsed(Millis(60_000))).is_empty());
    let Prompt::Ask(question) = session.prompt() else {
        panic!("the question went away")
    };
    let effects = session.update(Event::Answer {
        text: question.expected_keys,
        first_key: Millis(1),
        total: Millis(2),
    });
    assert!(
        matches!(effects.as_slice(), [Effect::Keep(_), Effect::Finished(_)]),
        "{effects:?}"
    );
    assert!(session.update(Event::Stop).is_empty());
}

#[test]
fn a_line_may_be_said_aloud_and_judged_by_the_performer() {
    let routine = made_up(6);
    let mut session = Session::new(routine, plan(&[Drill::Lines], 3, 7)).unwrap();
    while !matches!(session.prompt(), Prompt::Ask(_)) {
        session.update(Event::Go);
    }
    let aloud = Event::Answer {
        text: String::new(),
        first_key: Millis(700),
        total: Millis(4_000),
    };
    assert!(session.update(aloud).is_empty());
    let Prompt::Line(line) = session.prompt() else {
        panic!()
    };
    assert!(line.aloud && !line.line.is_empty());
    let effects = session.update(Event::Differed(true));
    let Some(Effect::Keep(kept)) = effects.first() else {
        panic!("{effects:?}")
    };
    assert!(!kept.right && kept.first_key == Millis(700) && kept.total == Millis(4_000));
}

#[test]
fn the_summary_names_the_weakest_step_first_and_one_thing_to_do() {
    let routine = made_up(7);
    let step = StepId("step1".into());
    let played = play(
        &routine,
        plan(&[Drill::Order, Drill::Lines], 16, 7),
        |_, q| {
            if q.key.step == step {
                wrong(&routine, q)
            } else {
                q.expected_keys.clone()
            }
        },
    );
    assert_eq!(
        played.summary.weak.first().map(|weak| weak.step.clone()),
        Some(step)
    );
    assert!(
        played.summary.next.starts_with("Next, go through"),
        "{}",
        played.summary.next
    );
    let well = play(&routine, plan(&[Drill::Order], 6, 7), |_, q| {
        q.expected_keys.clone()
    });
    assert_eq!(well.summary.went_well, ["All 6 answers were right."]);
    assert!(well.summary.weak.is_empty());
}

#[test]
fn the_median_of_an_even_number_is_the_mean_of_the_middle_two() {
    use crate::drill::summary::median;
    let times = |times: &[u64]| times.iter().map(|t| Millis(*t)).collect::<Vec<_>>();
    assert_eq!(median(&times(&[])), None);
    assert_eq!(median(&times(&[9, 1, 5])), Some(Millis(5)));
    assert_eq!(median(&times(&[10, 1, 4, 7])), Some(Millis(5)));
}

#[test]
fn every_routine_in_the_folder_can_be_rehearsed_right_and_wrong() {
    for routine in shipped() {
        let right = play(&routine, plan(ALL, 10, 7), |_, q| q.expected_keys.clone());
        assert_eq!(
            (right.summary.asked, right.summary.right, right.unread),
            (10, 10, 0),
            "{}",
            routine.title
        );
        let missed = play(&routine, plan(ALL, 10, 7), |_, q| wrong(&routine, q));
        assert_eq!(
            (missed.summary.asked, missed.summary.right, missed.unread),
            (10, 0, 0),
            "{}",
            routine.title
        );
    }
}

#[test]
fn working_ahead_changes_nothing_that_is_shown_or_asked() {
    let routine = made_up(8);
    let run = |ahead: bool| {
        let mut session = Session::new(Arc::clone(&routine), plan(ALL, 15, 9)).unwrap();
        let mut shown = String::new();
        loop {
            let prompt = session.prompt();
            shown += &format!("{prompt:?}\n");
            if ahead {
                session.work_ahead();
                session.work_ahead();
            }
            session.update(match prompt {
                Prompt::Tell(_) | Prompt::Correct(_) | Prompt::Line(_) => Event::Go,
                Prompt::Ask(q) => Event::Answer {
                    text: q.expected_keys,
                    first_key: Millis(1),
                    total: Millis(2),
                },
                Prompt::Done(_) => return shown,
            });
        }
    };
    assert_eq!(run(true), run(false));
}

#[test]
fn at_a_gate_it_is_the_performer_who_asks_whether_to_go_round_again() {
    let text = "allroads: 1\ntitle: G\nblurb: b\nprinciple: p\nlang: en-GB\ncards:\n  packet: {list: \"7H 3C 9D\"}\nsteps:\n  - again:\n      name: rounds\n      says: Shall we?\n      at-most: 3\n      steps:\n        - id: turn\n          title: Turn\n          say: Round it goes.\n          do: [{klondike: packet}]\nfinale: {id: end, title: End, say: There.}\n";
    let routine = Arc::new(crate::routine::load(text, "g", 1).unwrap_or_else(|t| panic!("{t:?}")));
    let played = play(
        &routine,
        plan(&[Drill::Reckon, Drill::Order], 12, 7),
        |_, q| q.expected_keys.clone(),
    );
    let mut gates = 0;
    for prompt in &played.prompts {
        if let Prompt::Tell(tell) = prompt
            && tell.patter == "Shall we?"
        {
            gates += 1;
            assert!(
                tell.seen.iter().all(|line| !line.contains("Shall we")),
                "{tell:?}"
            );
            assert_eq!(tell.seen.len(), 1);
        }
    }
    assert!(gates > 2, "{gates}");
    assert!(
        played
            .asked
            .iter()
            .all(|q| q.expected_words != "“Shall we?”")
    );
}
