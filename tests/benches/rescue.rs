//! How long it takes to work out all strays of a routine, and to find a slip on a road of each routine that comes with the program: it
//! should stay under 5 s, and under 200 ms. Each asserts its answer.

#![expect(clippy::expect_used, reason = "a bench may fail by panicking")]

#[path = "../planted_slips/mod.rs"]
mod planted_slips;

use allroads::proof::Limits;
use allroads::rescue::slip::{Case, MOST_STEPS, explain};
use allroads::rescue::{Ground, Row, Verdict, Wanted, rows};
use allroads::routine::Stray;
use criterion::{Criterion, criterion_group, criterion_main};
use planted_slips::{got, plant, same, shipped};
use std::collections::BTreeSet;
use std::hint::black_box;

/// What is seen chosen where a row has this verdict.
fn chosen(row: &Row, is: fn(&Verdict) -> bool) -> BTreeSet<i64> {
    row.parts
        .iter()
        .filter(|part| is(&part.verdict))
        .flat_map(|part| part.choices.iter().filter_map(|value| value.as_int().ok()))
        .collect()
}

fn table(c: &mut Criterion) {
    let (_, routine) = shipped()
        .into_iter()
        .find(|(name, _)| *name == "chairlift")
        .expect("a routine that comes with the program");
    let ground = Ground::new(&routine);
    let limits = Limits {
        bytes: 2 << 30,
        stop: &|| false,
        progress: &|_| (),
    };
    let mut group = c.benchmark_group("rescue");
    group.sample_size(10);
    group.bench_function("all strays of chairlift", |b| {
        b.iter(|| {
            let rows = rows(black_box(&ground), Wanted::default(), &limits);
            // After the riffle of a packet whose colours alternate, an even cut is safe, and an odd one wants one card more.
            let row = rows.iter().find(|row| {
                let case = &ground.cases()[row.case];
                let Stray::Known(known) = case.stray else {
                    return false;
                };
                known.id() == "cuts-again" && Some(case.stop) == routine.find_step("elbows")
            });
            let row = row.expect("the packet can be cut after the riffle");
            let even: BTreeSet<i64> = (2..20).step_by(2).collect();
            let odd: BTreeSet<i64> = (1..20).step_by(2).collect();
            assert_eq!(chosen(row, |verdict| *verdict == Verdict::Safe), even);
            assert_eq!(
                chosen(row, |verdict| matches!(verdict, Verdict::Mend(_))),
                odd
            );
        });
    });
    group.finish();
}

fn slips(c: &mut Criterion) {
    let mut group = c.benchmark_group("slip");
    group.sample_size(10);
    for (name, routine) in shipped() {
        let planted = (1..)
            .filter_map(|seed| plant(&routine, seed, 1))
            .find(|planted| {
                let right = planted.right.as_ref();
                right.is_some_and(|right| right.table != planted.end.table)
            })
            .expect("there is always a next seed");
        let packet = got(&planted.end);
        let case = Case {
            routine: &routine,
            start: &planted.start,
            choices: &planted.all,
            until: None,
            got: &packet,
            most_steps: MOST_STEPS,
        };
        group.bench_function(name, |b| {
            b.iter(|| {
                let report = explain(black_box(&case), &|| false);
                assert!(report.complete && !report.right);
                let named = |slips| same(&routine, &planted, slips);
                assert!(report.explanations.iter().any(|one| named(&one.slips)));
            });
        });
    }
    group.finish();
}

criterion_group!(benches, table, slips);
criterion_main!(benches);
