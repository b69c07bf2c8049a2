//! How long it takes until the next question is there, for each routine that comes with the program: from going on past a step
//! told, what can be known having been worked out while it was read. It should stay under 5 ms.
use allroads::command::SHIPPED;
use allroads::drill::{Drill, Event, Plan, Prompt, Session};
use allroads::routine::{Millis, load};
use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use std::sync::Arc;

/// One session in the middle of each step told, with what comes after worked out ahead.
fn moments(session: &mut Session) -> Vec<Session> {
    let mut moments = Vec::new();
    loop {
        let event = match session.prompt() {
            Prompt::Tell(_) => {
                session.work_ahead();
                moments.push(session.clone());
                Event::Go
            }
            Prompt::Correct(_) | Prompt::Line(_) => Event::Go,
            Prompt::Ask(question) => Event::Answer {
                text: question.expected_keys,
                first_key: Millis(1),
                total: Millis(1),
            },
            Prompt::Done(summary) => {
                assert_eq!(summary.right, summary.asked);
                return moments;
            }
        };
        session.update(event);
    }
}

fn questions(c: &mut Criterion) {
    for shipped in SHIPPED {
        let routine = match load(shipped.text, shipped.name, 0) {
            Ok(routine) => Arc::new(routine),
            Err(troubles) => panic!("{}: {troubles:?}", shipped.name),
        };
        let plan = Plan {
            drills: vec![Drill::Picture],
            questions: Some(30),
            minutes: None,
            seed: 7,
            from: None,
        };
        let Ok(mut session) = Session::new(routine, plan) else {
            panic!("{}: no session", shipped.name)
        };
        let moments = moments(&mut session);
        // The slowest moment counts, not the usual one.
        let slowest = moments.into_iter().max_by_key(|moment| {
            (0..3)
                .map(|_| {
                    let mut session = moment.clone();
                    let began = std::time::Instant::now();
                    session.update(Event::Go);
                    began.elapsed()
                })
                .min()
        });
        let Some(slowest) = slowest else { continue };
        c.bench_function(&format!("next question of {}", shipped.name), |b| {
            b.iter_batched(
                || slowest.clone(),
                |mut session| {
                    session.update(Event::Go);
                    session
                },
                BatchSize::LargeInput,
            );
        });
    }
}

criterion_group!(benches, questions);
criterion_main!(benches);
