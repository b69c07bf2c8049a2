use super::*;
use crate::drill::{Drill, Kind};
use crate::roads::Met;
use crate::routine::{Millis, Routine, StepId, load};
use std::collections::{BTreeMap, BTreeSet};

fn routine() -> Routine {
    load(include_str!("../../tests/fixtures/ferry.yaml"), "ferry", 0).unwrap()
}

const TODAY: Day = Day(20_000);

/// Every step asked about on so many days up to today, two days apart, each answer as `right` says.
fn record(routine: &Routine, days: i32, right: impl Fn(&StepId, i32) -> bool) -> Record {
    let mut record = Record::new(Memory::default());
    for n in 0..days {
        for stop in &routine.stops {
            record.add(&Answer {
                skill: Skill {
                    step: stop.id.clone(),
                    drill: Drill::Picture,
                    kind: Kind::Card,
                },
                day: TODAY.plus(2 * (n + 1 - days)),
                right: right(&stop.id, n),
                time: Millis(4_000),
            });
        }
    }
    record
}

struct Known {
    routine: Routine,
    record: Record,
    events: BTreeMap<StepId, Events>,
    met: Met,
}

impl Known {
    fn new(days: i32, right: impl Fn(&StepId, i32) -> bool) -> Self {
        let routine = routine();
        Self {
            record: record(&routine, days, right),
            routine,
            events: BTreeMap::new(),
            met: Met::default(),
        }
    }
    fn part(&self) -> Part<'_> {
        Part {
            routine: &self.routine,
            record: &self.record,
            events: &self.events,
            met: &self.met,
        }
    }
}

fn wish(days: i32, minutes: u32) -> Wish {
    Wish {
        season: Season {
            today: TODAY,
            show: TODAY.plus(days),
            weekdays: [true; 7],
            off: BTreeSet::new(),
            taken: BTreeMap::new(),
            rehearsed: None,
        },
        minutes,
    }
}

#[test]
fn performers_who_do_nothing_are_as_ready_as_the_record_says() {
    let known = Known::new(8, |_, n| n > 0);
    let aim = Aim::new(TODAY, Some(TODAY.plus(10)));
    let footings = footings(&known.routine, &known.record, &known.events, aim);
    let told = readiness(&known.routine, &night(&footings), 1).unwrap();
    let played = forecast(&known.part(), &[], aim, 400, 1).unwrap();
    let chances: Vec<f64> = played.chances.iter().map(|course| course[0]).collect();
    let played = Chance::of(&chances);
    // Their rates of forgetting have the record's mean; the chance of a run, which is bent in them, may be a little off.
    assert!(
        (played.mean - told.chance).abs() < 0.06,
        "{played:?} {told:?}"
    );
    assert!(played.low < told.chance && told.chance < played.high);
}

#[test]
fn rehearsing_helps_and_the_same_seed_plays_the_same() {
    let known = Known::new(3, |_, n| n == 2);
    let aim = Aim::new(TODAY, Some(TODAY.plus(10)));
    let stints: Vec<Stint> = [0, 4, 7, 9]
        .map(|days| Stint {
            day: TODAY.plus(days),
            minutes: 15,
        })
        .into();
    let played = forecast(&known.part(), &stints, aim, 100, 7).unwrap();
    let at = |moment: usize| {
        let chances: Vec<f64> = played.chances.iter().map(|course| course[moment]).collect();
        Chance::of(&chances)
    };
    assert!(played.chances.iter().all(|course| course.len() == 5));
    assert!(at(4).mean > at(0).mean + 0.1, "{:?} {:?}", at(0), at(4));
    assert_eq!(
        forecast(&known.part(), &stints, aim, 100, 7).unwrap(),
        played
    );
    assert_ne!(
        forecast(&known.part(), &stints, aim, 100, 8).unwrap(),
        played
    );
}

#[test]
fn what_is_missed_is_named_for_the_next_day() {
    let weak = routine().stops[1].id.clone();
    let known = Known::new(8, |step, n| *step != weak || n % 2 == 0);
    let stint = Stint {
        day: TODAY.plus(2),
        minutes: 10,
    };
    let aim = Aim::new(TODAY, Some(TODAY.plus(10)));
    let played = forecast(&known.part(), &[stint], aim, 50, 1).unwrap();
    assert_eq!(played.focus[0][0], weak);
}

#[test]
fn what_is_known_well_needs_few_rehearsals_and_what_is_not_needs_more() {
    let well = Known::new(12, |_, _| true);
    let badly = Known::new(2, |_, n| n == 1);
    let few = plan(&wish(21, 30), &[well.part()], 1).unwrap();
    let many = plan(&wish(21, 30), &[badly.part()], 1).unwrap();
    let minutes = |plan: &Plan| plan.days.iter().map(|day| day.minutes).sum::<u32>();
    assert_eq!(few.spacing, Spacing::Wide, "{few:?}");
    assert!(few.days.last().unwrap().chance.mean >= ENOUGH_CHANCE);
    assert!(few.now.mean > many.now.mean + 0.3);
    assert!(minutes(&few) <= minutes(&many), "{few:?}\n{many:?}");
    for plan in [&few, &many] {
        assert_eq!(plan.days.last().unwrap().day, TODAY.plus(20));
        assert!(plan.days.iter().filter(|day| day.dress).count() == 1);
        assert!(plan.days.last().unwrap().dress);
        assert!(plan.days.iter().all(|day| day.minutes <= MOST_MINUTES));
    }
    assert_eq!(plan(&wish(21, 30), &[well.part()], 1).unwrap(), few);
}

#[test]
fn a_show_of_two_is_less_likely_clean_than_each_and_the_weaker_gets_more_time() {
    let well = Known::new(10, |_, _| true);
    let badly = Known::new(2, |_, n| n == 1);
    let both = plan(&wish(14, 20), &[well.part(), badly.part()], 1).unwrap();
    let given = |n: usize| {
        both.days
            .iter()
            .map(|day| day.shares[n].minutes)
            .sum::<u32>()
    };
    assert!(given(1) > given(0) && given(0) > 0, "{both:?}");
    let last = both.days.last().unwrap();
    for share in &last.shares {
        assert!(last.chance.mean <= share.chance.mean + 1e-9);
    }
    for day in &both.days {
        assert_eq!(
            day.minutes,
            day.shares.iter().map(|share| share.minutes).sum::<u32>()
        );
        assert!(day.chance.low <= day.chance.mean && day.chance.mean <= day.chance.high);
    }
}

#[test]
fn with_no_day_left_there_is_nothing_to_plan() {
    let known = Known::new(3, |_, _| true);
    let today = plan(&wish(0, 20), &[known.part()], 1).unwrap();
    assert_eq!(today.days, vec![]);
    assert!(today.now.mean > 0.0);
}

#[test]
fn a_slip_on_stage_is_a_miss_of_all_that_was_asked_there_and_a_clean_step_is_none() {
    let known = Known::new(6, |_, _| true);
    let steps: Vec<StepId> = known
        .routine
        .stops
        .iter()
        .map(|stop| stop.id.clone())
        .collect();
    let mut record = known.record.clone();
    record.perform(
        TODAY.plus(1),
        steps.iter().map(|step| (step, *step != steps[0])),
    );
    let skill = |step: &StepId| Skill {
        step: step.clone(),
        drill: Drill::Picture,
        kind: Kind::Card,
    };
    let chance = |record: &Record, step: &StepId| record.chance(&skill(step), TODAY.plus(5));
    assert!(chance(&record, &steps[0]) < chance(&known.record, &steps[0]) - 0.05);
    // The step beside it, which went right, has lost less; and on a night on which all went right it has gained.
    assert!(chance(&record, &steps[1]) > chance(&record, &steps[0]) + 0.05);
    let mut clean = known.record.clone();
    clean.perform(TODAY.plus(1), steps.iter().map(|step| (step, true)));
    assert!(chance(&clean, &steps[1]) > chance(&known.record, &steps[1]));
    assert!(!record.held(&skill(&steps[0])).unwrap().last_right);
    // Nobody timed it, and it is no answer to a question.
    let times = |record: &Record| record.held(&skill(&steps[1])).unwrap().pace.times().len();
    assert_eq!(times(&record), times(&known.record));
    assert_eq!(record.answers(), known.record.answers());
    // A step that was never asked about and went wrong counts from now on.
    let mut empty = Record::new(Memory::default());
    empty.perform(TODAY, steps.iter().map(|step| (step, *step != steps[0])));
    let skills: Vec<&Skill> = empty.skills().map(|(skill, _)| skill).collect();
    assert_eq!(skills.len(), 1);
    assert_eq!(skills[0].step, steps[0]);
}

#[test]
fn a_slip_on_stage_counts_for_three_at_home() {
    let at_home = Events {
        slips: 3.0,
        runs: 9.0,
        ..Events::default()
    };
    let on_stage = Events {
        slips: 1.0,
        staged: 1.0,
        runs: 3.0,
        shows: 3.0,
        ..Events::default()
    };
    assert!((at_home.slip() - on_stage.slip()).abs() < 1e-12);
}
