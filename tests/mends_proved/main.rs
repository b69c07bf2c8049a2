//! Every mend that is shown makes it safe by `prove`: what a spectator did and what sets it right are written into the routine's file as
//! steps more, and the file is proved as any other, over all of its roads. Without the mend the same file fails.
//!
//! What is shown may hang on what the performer saw: then it is asked for again in a file in which that is held fast, so that there is one
//! verdict only. Nothing but `prove` says that it is right.
//!
//! | file | what it does |
//! | --- | --- |
//! | `file` | a routine's file, with some of it held fast, and with further steps |
//! | `astray` | what spectators do, as a file has it |
//! | `planned` | mends and looks, as a file has them |

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod astray;
mod file;
mod planned;

use allroads::proof::{Ends, Limits, Verdict as Proved, Ways, prove};
use allroads::rescue::{Case, Ground, Part, Plan, Row, Verdict, Wanted, rows};
use allroads::routine::{KnownStray, Routine, Stray, Value};
use allroads::table::PileId;
use astray::Astray;
use file::{Fast, File, shipped};
use rayon::ThreadPoolBuilder;
use serde_json::json;
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};

const LIMITS: Limits<'static> = Limits {
    bytes: 1 << 30,
    stop: &|| false,
    progress: &|_| (),
};

/// So much is looked at where mends are asked for again.
const FEW: Wanted = Wanted {
    set: 128,
    step: 512,
    seed: 0,
};

/// A mend that is shown: the step, what happens, the piles, what is done about it.
type Shown = (String, String, Vec<PileId>, Plan);

/// What is held fast, and where mends are asked for then.
struct Asked {
    fast: Fast,
    /// At these steps.
    at: &'static [&'static str],
}

impl Asked {
    fn at(at: &'static [&'static str]) -> Self {
        let fast = Fast::default();
        Self { fast, at }
    }

    /// This is chosen and nothing else.
    fn with(mut self, name: &'static str, values: &[&str]) -> Self {
        let values = values.iter().map(ToString::to_string).collect();
        self.fast.chosen.push((name, values));
        self
    }

    /// Where this is true at an ending, it does not matter how it ends.
    fn but_for(mut self, where_so: &str) -> Self {
        self.fast.given_up = Some(where_so.to_owned());
        self
    }

    /// The rows of these steps; nobody waits for what comes before and after. Few tables are enough: whether a mend is right is not for
    /// the search to say.
    fn rows(&self, ground: &Ground) -> Vec<Row> {
        let asked = |case: &Case| {
            let stop = ground.routine().stop(case.stop).unwrap();
            self.at.contains(&&*stop.id.0)
        };
        let first = ground.cases().iter().position(asked).unwrap();
        let last = ground.cases().iter().rposition(asked).unwrap();
        // One thread takes one case after the other; this is the next.
        let next = AtomicUsize::new(0);
        let limits = Limits {
            stop: &|| match next.load(Ordering::Relaxed) {
                // The roads are gone before the first of them.
                0 => false,
                next => next < first || next > last,
            },
            progress: &|done| next.store(usize::try_from(done).unwrap(), Ordering::Relaxed),
            ..LIMITS
        };
        let alone = ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        alone.install(|| rows(ground, FEW, &limits))
    }
}

fn verdict(routine: &Routine) -> Proved {
    let ways = Ways {
        odds: false,
        ends: Ends::Never,
        sample: 0,
        ..Ways::default()
    };
    prove(routine, ways, &LIMITS).verdict
}

/// The mends of a row, each with what is seen chosen in the stray where it alone is the verdict: the first and the last stand for all, and
/// `None` for a stray in which nothing is seen chosen. Where the ending does not matter it is safe, and that is no other verdict.
fn mends(row: &Row, gives_up: bool) -> Vec<(&Plan, Vec<Option<&Value>>)> {
    let mut mends = Vec::new();
    for (n, part) in row.parts.iter().enumerate() {
        let Verdict::Mend(plan) = &part.verdict else {
            continue;
        };
        let others = row
            .parts
            .iter()
            .enumerate()
            .filter(|(m, other)| *m != n && !(gives_up && other.verdict == Verdict::Safe));
        let others: Vec<&Part> = others.map(|(_, other)| other).collect();
        if part.choices.is_empty() {
            mends.push((plan, vec![None; usize::from(others.is_empty())]));
            continue;
        }
        let elsewhere = |value: &Value| others.iter().any(|other| other.choices.contains(value));
        let alone: Vec<&Value> = part.choices.iter().filter(|v| !elsewhere(v)).collect();
        let mut ends = vec![alone.first(), alone.last()];
        ends.dedup();
        let ends = ends.into_iter().flatten().map(|value| Some(*value));
        mends.push((plan, ends.collect()));
    }
    mends
}

fn shown(routine: &Routine, case: &Case, plan: &Plan) -> Shown {
    (
        routine.stop(case.stop).unwrap().id.0.to_string(),
        routine.stray_id(case.stray).to_owned(),
        case.piles.clone(),
        plan.clone(),
    )
}

/// What a proof says of the file in which a stray happens and this is done about it.
fn proved(file: &File, case: &Case, chosen: Option<&Value>, plan: &Plan) -> Proved {
    let chosen = chosen.map(|value| value.show(&file.routine));
    let astray = Astray::of(file, case, chosen.as_deref());
    let done = planned::acts(&file.routine, &file.tree, plan);
    verdict(&file.with(file.id(case), &astray, &done))
}

/// Proves what these rows show, but for what was proved already.
fn prove_shown(
    file: &File,
    ground: &Ground,
    table: &[Row],
    at: Option<&[&str]>,
    known: &mut BTreeSet<Shown>,
) {
    for row in table {
        let case = &ground.cases()[row.case];
        if at.is_some_and(|at| !at.contains(&file.id(case))) {
            continue;
        }
        for (plan, alone) in mends(row, file.gives_up) {
            let shown = shown(&file.routine, case, plan);
            if known.contains(&shown) && !file.gives_up {
                continue;
            }
            assert!(!file.gives_up || !alone.is_empty(), "{shown:?}");
            for chosen in &alone {
                let holds = proved(file, case, *chosen, plan);
                assert_eq!(holds, Proved::SureFire, "{chosen:?} in {shown:?}");
                let without = proved(file, case, *chosen, &Plan::Done);
                assert_eq!(without, Proved::Refuted, "without, {chosen:?} in {shown:?}");
            }
            if !alone.is_empty() {
                known.insert(shown);
            }
        }
    }
}

/// Proves every mend that is shown for a shipped routine, asking again as said where it hangs on what was seen; gives how many there are.
fn all_proved(name: &str, again: &[Asked]) -> usize {
    let routine = shipped(name);
    let ground = Ground::new(&routine);
    let table = rows(&ground, Wanted::default(), &LIMITS);
    let mut all = Vec::new();
    for row in &table {
        let case = &ground.cases()[row.case];
        let mends = mends(row, false).into_iter();
        all.extend(mends.map(|(plan, _)| shown(&routine, case, plan)));
    }
    let file = File::of(name, &Fast::default());
    assert_eq!(verdict(&file.routine), Proved::SureFire, "{name}");
    let mut known = BTreeSet::new();
    prove_shown(&file, &ground, &table, None, &mut known);
    for asked in again {
        let file = File::of(name, &asked.fast);
        let ground = Ground::new(&file.routine);
        prove_shown(
            &file,
            &ground,
            &asked.rows(&ground),
            Some(asked.at),
            &mut known,
        );
    }
    let left: Vec<&Shown> = all.iter().filter(|shown| !known.contains(*shown)).collect();
    assert!(left.is_empty(), "{name}: {left:#?}");
    all.len()
}

#[test]
fn mends_shown_for_audition_make_it_safe_by_proof() {
    let mut again = Vec::new();
    for crowd in 9..=30 {
        let crowd = || Asked::at(&["line-up", "first-two"]).with("crowd", &[&crowd.to_string()]);
        // Who changes their mind is of the other mind before.
        again.push(crowd());
        again.extend(["kind", "cruel"].map(|temper| crowd().with("temper", &[temper])));
    }
    assert!(all_proved("audition", &again) >= 50);
}

#[test]
fn mends_shown_for_chairlift_make_it_safe_by_proof() {
    let cocoa = ["4", "5", "15"].map(|n| Asked::at(&["cocoa"]).with("thirsty", &[n]));
    let seat = ["red", "black"].map(|colour| {
        let seat = Asked::at(&["first-seat"]).with("thirsty", &["4"]);
        seat.but_for(&format!("colour(card(chair, -1)) == \"{colour}\""))
    });
    let again: Vec<Asked> = cocoa.into_iter().chain(seat).chain(chairs()).collect();
    assert!(all_proved("chairlift", &again) >= 38);
}

/// The seventh chair and the eighth, where a look tells what to do about it.
fn chairs() -> [Asked; 2] {
    ["7", "8"].map(|ride| {
        let chair = Asked::at(&["your-chair"]).with("thirsty", &["4"]);
        chair.with("ride", &[ride])
    })
}

#[test]
fn mends_shown_for_geese_make_it_safe_by_proof() {
    let again = ["left", "right"]
        .map(|bench| Asked::at(&["benches"]).but_for(&format!("bench == \"{bench}\"")));
    assert!(all_proved("geese", &again) >= 11);
}

#[test]
fn mends_shown_for_lost_umbrella_make_it_safe_by_proof() {
    let boxes = Asked::at(&["box-once", "box-twice", "box-thrice"]);
    let again = [
        Asked::at(&["box-thrice"]).with("ticket", &["2"]),
        Asked::at(&["box-thrice"]).with("ticket", &["27"]),
        boxes.with("ticket", &["4", "24"]),
    ];
    assert!(all_proved("lost-umbrella", &again) >= 6);
}

#[test]
fn mends_shown_for_slow_post_make_it_safe_by_proof() {
    let wishes: [&[&str]; 3] = [&["2"], &["7"], &["1", "7"]];
    let again = wishes.map(|wish| Asked::at(&["your-letter"]).with("wish", wish));
    assert!(all_proved("slow-post", &again) >= 26);
}

/// Compares the verdicts on a card too many or too few at a step with proofs; how often those do not hold, and how often they do.
/// `written` is the file as the proofs have it.
fn counts_compared(id: &str, asked: &Asked, file: &File, written: &File) -> [usize; 2] {
    let mut compared = [0, 0];
    let ground = Ground::new(&file.routine);
    for row in asked.rows(&ground) {
        let case = &ground.cases()[row.case];
        let counts = [KnownStray::OneTooMany, KnownStray::OneTooFew].map(Stray::Known);
        if file.id(case) != id || !counts.contains(&case.stray) {
            continue;
        }
        let [part] = &*row.parts else {
            panic!("{row:?}");
        };
        let holds = proved(written, case, None, &Plan::Done) == Proved::SureFire;
        let told = (&asked.fast.chosen, &row);
        assert_eq!(part.verdict == Verdict::Safe, holds, "{told:?}");
        compared[usize::from(holds)] += 1;
    }
    compared
}

#[test]
fn a_card_too_many_or_too_few_on_either_side_of_a_condition_is_safe_where_a_proof_says_so() {
    let mut counted = [0, 0];
    for crowd in ["9", "10", "16", "21"] {
        for temper in ["kind", "cruel"] {
            let asked = Asked::at(&["first-two"]).with("crowd", &[crowd]);
            let asked = asked.with("temper", &[temper]);
            let file = File::of("audition", &asked.fast);
            let compared = counts_compared("first-two", &asked, &file, &file);
            (0..2).for_each(|n| counted[n] += compared[n]);
        }
    }
    let [fail, hold] = counted;
    assert!(fail > 0 && fail + hold == 16, "{counted:?}");
}

#[test]
fn a_card_too_many_or_too_few_is_so_once_however_many_rounds_there_are() {
    // Two cards for each chair before theirs but the first, which has gone, and then their two: written out without a repeated part.
    for (ride, rounds) in [("2", 0), ("3", 1), ("5", 3)] {
        let asked = Asked::at(&["your-chair"]).with("ride", &[ride]);
        let file = File::of("chairlift", &asked.fast);
        let two = |to| json!({"move": {"from": "packet", "to": to, "count": 2}});
        let mut acts = vec![two("uphill"); rounds];
        acts.push(two("chosen"));
        let written = file.doing("your-chair", acts);
        let compared = counts_compared("your-chair", &asked, &file, &written);
        assert_eq!(compared.iter().sum::<usize>(), 2, "{ride}");
    }
}

#[test]
fn looks_that_leave_something_out_or_mix_it_up_fail_by_proof() {
    let mut looks = 0;
    let [seventh, _] = chairs();
    let file = File::of("chairlift", &seventh.fast);
    let ground = Ground::new(&file.routine);
    for row in seventh.rows(&ground) {
        let case = &ground.cases()[row.case];
        for (plan, _) in mends(&row, false) {
            let Plan::Look(mend, cases) = plan else {
                continue;
            };
            let something = cases.iter().find(|(_, then)| *then != Plan::Done);
            let (_, something) = something.unwrap();
            for n in 0..cases.len() {
                let mut fewer = cases.clone();
                fewer.remove(n);
                let mut mixed = cases.clone();
                mixed[n].1 = match &cases[n].1 {
                    Plan::Done => something.clone(),
                    Plan::Mend(..) | Plan::Look(..) => Plan::Done,
                };
                for other in [fewer, mixed] {
                    let plan = Plan::Look(*mend, other);
                    let holds = proved(&file, case, None, &plan);
                    assert_eq!(holds, Proved::Refuted, "{plan:?}");
                    looks += 1;
                }
            }
        }
    }
    assert!(looks > 0);
}
