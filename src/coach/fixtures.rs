//! Progress for tests of the screen and of paper: eight weeks of made-up answers to a small routine.

use super::*;
use crate::drill::{Drill, Kind};
use crate::roads::Met;
use crate::routine::{Millis, Routine, StepId, load};
use std::collections::{BTreeMap, BTreeSet};

/// A routine of five steps with two forks.
pub(crate) fn routine() -> Routine {
    load(
        include_str!("../../tests/fixtures/ferry.yaml"),
        "ferry.yaml",
        0,
    )
    .expect("the fixture has no faults")
}

/// Wednesday, 5 November 2031: `date -d 2031-11-05 +%s` is 1951603200 in UTC, 22,588 days.
pub(crate) const TODAY: Day = Day(22_588);

/// Progress after so many weeks of practice up to [`TODAY`], with the show after so many days. Steps are practised three days a
/// week, the first most, the last never; what is missed, and how long answers take, follows from small sums.
pub(crate) fn progress(weeks: i32, show: Option<i32>) -> Progress {
    let routine = routine();
    let mut record = Record::new(Memory::default());
    let mut history = History::default();
    let asked = routine.stops.len() - 1;
    for week in 0..weeks {
        // A week in five is free.
        if week % 5 == 3 {
            continue;
        }
        for (n, weekday) in [0, 2, 5].into_iter().enumerate() {
            for (step, stop) in routine.stops.iter().take(asked).enumerate() {
                let at = i32::try_from(step).expect("a small number");
                if (week + at + weekday) % (1 + at / 2) != 0 {
                    continue;
                }
                let kind = if at % 3 == 1 { Kind::Line } else { Kind::Card };
                let drill = if at % 3 == 1 {
                    Drill::Lines
                } else {
                    Drill::Picture
                };
                let answer = Answer {
                    skill: Skill {
                        step: StepId(stop.id.0.clone()),
                        drill,
                        kind,
                    },
                    day: monday(TODAY).plus(7 * (week - weeks) + weekday),
                    right: (week * 7 + at * 5 + weekday) % (3 + week) != 0,
                    time: Millis(
                        3_000
                            + 9_000 / u64::try_from(week + 1).expect("not below zero")
                            + 400 * u64::try_from(n).expect("a small number"),
                    ),
                };
                history.add(&record, &answer);
                record.add(&answer);
            }
        }
    }
    let branches = BTreeSet::new();
    // Slips and strays that somebody wrote down, once there was practice.
    let met = Events {
        slips: 2.0,
        strays: 1.0,
        runs: 9.0,
        ..Events::default()
    };
    let events: BTreeMap<StepId, Events> = (weeks > 0)
        .then(|| (StepId("ashore".into()), met))
        .into_iter()
        .collect();
    let practised = Practised {
        own: None,
        record: &record,
        history: &history,
        branches: &branches,
        events: &events,
        met: &Met::default(),
        shows: &[TODAY.plus(-11)],
    };
    let aim = Aim::new(TODAY, show.map(|days| TODAY.plus(days)));
    Progress::of("ferry", &routine, practised, aim)
}
