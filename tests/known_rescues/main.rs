//! Known answers to "is it still safe, and what mends it?", one principle after the other. Each is worked out once more by brute force on
//! plain lists, with nothing of the program: every way to choose and to shuffle, every sequence of up to three mends.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod alternating;
mod elimination;
mod mirror;
mod sorting;
mod turning;

use allroads::proof::Limits;
use allroads::rescue::{Extent, Ground, Row, Verdict, Wanted, rows};
use allroads::routine::{Routine, Stray, load};
use num_rational::BigRational;
use std::collections::{BTreeMap, BTreeSet};

const LIMITS: Limits<'static> = Limits {
    bytes: 1 << 30,
    stop: &|| false,
    progress: &|_| (),
};

fn routine(text: &str) -> Routine {
    load(text, "routine.yaml", 0).unwrap_or_else(|troubles| {
        let told: String = troubles.iter().map(ToString::to_string).collect();
        panic!("{told}")
    })
}

fn share(part: usize, of: usize) -> BigRational {
    BigRational::new(part.into(), of.into())
}

/// What is known of a routine's strays.
struct Table {
    ground: Ground,
    rows: Vec<Row>,
}

impl Table {
    fn of(text: &str) -> Self {
        let ground = Ground::new(&routine(text));
        let rows = rows(&ground, Wanted::default(), &LIMITS);
        Self { ground, rows }
    }

    /// The row of a stray, by its name in files, at a step.
    fn row(&self, step: &str, stray: &str) -> &Row {
        let routine = self.ground.routine();
        let row = self.rows.iter().find(|row| {
            let case = &self.ground.cases()[row.case];
            let named = match case.stray {
                Stray::Known(known) => known.id() == stray,
                Stray::Own(n) => &*routine.strays[usize::from(n)].id.0 == stray,
            };
            named && &*routine.stop(case.stop).unwrap().id.0 == step
        });
        let row = row.unwrap_or_else(|| panic!("no row for {stray} at {step}"));
        assert_eq!(row.extent, Extent::All, "{stray} at {step}");
        row
    }

    /// By the number seen chosen in a stray: all verdicts that there are on it.
    fn by_choice(&self, step: &str, stray: &str) -> BTreeMap<usize, BTreeSet<What>> {
        let mut found: BTreeMap<usize, BTreeSet<What>> = BTreeMap::new();
        for part in &self.row(step, stray).parts {
            for choice in &part.choices {
                let n = usize::try_from(choice.as_int().unwrap()).unwrap();
                found.entry(n).or_default().insert(what(&part.verdict));
            }
        }
        found
    }

    /// The one verdict that there is on a stray.
    fn only(&self, step: &str, stray: &str) -> &Verdict {
        match self.row(step, stray).parts.as_slice() {
            [one] => &one.verdict,
            several => panic!("{stray} at {step}: {several:?}"),
        }
    }
}

/// A verdict in short.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum What {
    Safe,
    /// So many mends.
    Mends(usize),
    Lost,
}

fn what(verdict: &Verdict) -> What {
    match verdict {
        Verdict::Safe => What::Safe,
        Verdict::Mend(plan) => What::Mends(plan.length()),
        Verdict::Lost { .. } => What::Lost,
        Verdict::Out(_) | Verdict::Undecided => panic!("{verdict:?}"),
    }
}

/// The fewest of these mends, up to three, that make all of these tables good: no look, the same for all.
fn fewest<T: Clone>(tables: &[T], mends: &[&dyn Fn(&T) -> T], good: &dyn Fn(&T) -> bool) -> What {
    let mut sets: Vec<Vec<T>> = vec![tables.to_vec()];
    for length in 0..=3 {
        if sets.iter().any(|set| set.iter().all(good)) {
            return if length == 0 {
                What::Safe
            } else {
                What::Mends(length)
            };
        }
        sets = sets
            .iter()
            .flat_map(|set| mends.iter().map(move |mend| set.iter().map(mend).collect()))
            .collect();
    }
    What::Lost
}

/// A complete cut of so many cards.
fn cut<T: Clone>(packet: &[T], at: usize) -> Vec<T> {
    [&packet[at..], &packet[..at]].concat()
}

/// Every way to riffle two lists into each other.
fn riffles<T: Clone>(left: &[T], right: &[T]) -> Vec<Vec<T>> {
    match (left, right) {
        ([], rest) | (rest, []) => vec![rest.to_vec()],
        ([l, left_rest @ ..], [r, right_rest @ ..]) => {
            let with = |first: &T, rest: Vec<Vec<T>>| -> Vec<Vec<T>> {
                let first = first.clone();
                rest.into_iter()
                    .map(|rest| std::iter::once(first.clone()).chain(rest).collect())
                    .collect()
            };
            let mut all = with(l, riffles(left_rest, right));
            all.extend(with(r, riffles(left, right_rest)));
            all
        }
    }
}

/// The packet with so many cards dealt off its top one by one: those, the last one dealt on top, and the rest.
fn dealt<T: Clone>(packet: &[T], count: usize) -> (Vec<T>, Vec<T>) {
    let heap = packet[..count].iter().rev().cloned().collect();
    (heap, packet[count..].to_vec())
}
