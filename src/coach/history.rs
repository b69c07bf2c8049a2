//! The weeks so far: what was practised in each, and how well each step would have been remembered on the Monday after.
//!
//! Kept up answer by answer, so that a page about ten years need not read ten years of answers. A chance is kept in
//! ten-thousandths: what is read is what was written.

use super::footing::step_chances;
use super::memory::Day;
use super::record::{Answer, Record};
use crate::routine::{Millis, StepId};
use serde::{Deserialize, Serialize};

/// So many weeks are kept, the latest: two years.
pub const KEPT_WEEKS: usize = 104;

const WEEK: i32 = 7;

/// The Monday of a day's week. The first day of 1970 was a Thursday.
#[must_use]
pub fn monday(day: Day) -> Day {
    Day(day.0.saturating_sub((day.0.rem_euclid(WEEK) + 3) % WEEK))
}

/// A week, from Monday to Sunday on the performer's calendar.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Week {
    /// Its Monday.
    monday: i32,
    /// Answers given.
    pub answers: u32,
    /// Right ones among them.
    pub right: u32,
    /// The days of the week with an answer, a bit each from Monday on.
    days: u8,
    /// The time that answering took, all together.
    ms: u64,
    /// By step, in the order of [`History`]'s steps: the chance on the Monday after, in ten-thousandths. Empty for the week that is
    /// not over.
    stood: Vec<u16>,
}

impl Week {
    fn starting(monday: Day) -> Self {
        Self {
            monday: monday.0,
            answers: 0,
            right: 0,
            days: 0,
            ms: 0,
            stood: Vec::new(),
        }
    }
    /// Its Monday.
    #[must_use]
    pub fn monday(&self) -> Day {
        Day(self.monday)
    }
    /// On how many of its days there was an answer.
    #[must_use]
    pub fn days(&self) -> u32 {
        self.days.count_ones()
    }
    /// The time that answering took, all together.
    #[must_use]
    pub fn time(&self) -> Millis {
        Millis(self.ms)
    }
}

/// The weeks of one routine, the latest [`KEPT_WEEKS`] of them, without gaps.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct History {
    /// The steps asked about, in the order in which they first were.
    steps: Vec<String>,
    weeks: Vec<Week>,
}

const FINE: f64 = 10_000.0;

impl History {
    /// Something else than an answer is about to go into the record on a day: the weeks before it stand as they did.
    pub fn reach(&mut self, before: &Record, day: Day) {
        if self.weeks.last().is_some_and(|week| week.monday() < day) {
            self.run_to(before, day);
        }
    }

    /// Takes in an answer; the record is the one before it.
    pub fn add(&mut self, before: &Record, answer: &Answer) {
        self.run_to(before, answer.day);
        let first = self.weeks.first().map(Week::monday);
        let Some(first) = first else { return };
        // A traveller's clock may go back over midnight into the week before.
        let index = answer.day.since(first).max(0) / WEEK;
        let last = self.weeks.len() - 1;
        let index = usize::try_from(index).map_or(last, |n| n.min(last));
        let week = &mut self.weeks[index];
        week.answers = week.answers.saturating_add(1);
        week.right = week.right.saturating_add(u32::from(answer.right));
        week.ms = week.ms.saturating_add(answer.time.0);
        let weekday = answer.day.since(week.monday()).clamp(0, WEEK - 1);
        week.days |= 1 << weekday;
    }

    /// Closes the weeks before a day's own, with how each step stood on the Monday after each.
    fn run_to(&mut self, record: &Record, day: Day) {
        let now = monday(day);
        let Some(mut at) = self.weeks.last().map(Week::monday) else {
            self.weeks.push(Week::starting(now));
            return;
        };
        let kept = i32::try_from(KEPT_WEEKS).unwrap_or(i32::MAX);
        if now.since(at) / WEEK > kept {
            // After years without an answer nothing of what came before is shown.
            self.weeks.clear();
            at = now.plus(-WEEK * kept);
            self.weeks.push(Week::starting(at));
        }
        while at < now {
            let next = at.plus(WEEK);
            let stood = self.stood(record, next);
            if let Some(week) = self.weeks.last_mut() {
                week.stood = stood;
            }
            self.weeks.push(Week::starting(next));
            at = next;
        }
        let over = self.weeks.len().saturating_sub(KEPT_WEEKS);
        self.weeks.drain(..over);
    }

    fn stood(&mut self, record: &Record, on: Day) -> Vec<u16> {
        let mut stood = vec![0; self.steps.len()];
        for (step, chance) in step_chances(record, on) {
            let at = self.steps.iter().position(|known| **known == *step.0);
            let at = at.unwrap_or_else(|| {
                self.steps.push(step.to_string());
                stood.push(0);
                stood.len() - 1
            });
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "from 0 to 10,000"
            )]
            let fine = (chance.clamp(0.0, 1.0) * FINE).round() as u16;
            // Nothing that was asked about is lost altogether: 0 says that it was not asked about yet.
            stood[at] = fine.max(1);
        }
        stood
    }

    /// The weeks up to today's, oldest first; the last is not over.
    #[must_use]
    pub fn to(&self, record: &Record, today: Day) -> Self {
        let mut history = self.clone();
        history.reach(record, today);
        history
    }

    /// The weeks, oldest first.
    #[must_use]
    pub fn weeks(&self) -> &[Week] {
        &self.weeks
    }

    /// How each step stood on the Monday after a week: the chance, from 0 to 1, of those asked about by then. `None` for a week that
    /// is not over.
    pub fn stood_after<'a>(
        &'a self,
        week: &'a Week,
    ) -> Option<impl Iterator<Item = (StepId, f64)> + 'a> {
        (!week.stood.is_empty()).then(|| {
            self.steps
                .iter()
                .zip(&week.stood)
                .filter(|(_, fine)| **fine > 0)
                .map(|(step, fine)| (StepId(step.as_str().into()), f64::from(*fine) / FINE))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::memory::{Memory, Skill};
    use super::*;
    use crate::drill::{Drill, Kind};
    use chrono::{Datelike, NaiveDate, Weekday};
    use proptest::prelude::*;

    fn answer(day: i32, step: &str, right: bool) -> Answer {
        Answer {
            skill: Skill {
                step: StepId(step.into()),
                drill: Drill::Picture,
                kind: Kind::Card,
            },
            day: Day(day),
            right,
            time: Millis(1_000),
        }
    }

    /// Answers added one after another, each seeing the record before it.
    fn laid(answers: &[Answer]) -> (Record, History) {
        let mut record = Record::new(Memory::default());
        let mut history = History::default();
        for answer in answers {
            history.add(&record, answer);
            record.add(answer);
        }
        (record, history)
    }

    proptest! {
        #[test]
        fn a_monday_is_what_the_calendar_calls_so(day in -700_000..700_000_i32) {
            let date = |day: Day| {
                NaiveDate::default().checked_add_signed(chrono::Duration::days(day.0.into())).unwrap()
            };
            let found = monday(Day(day));
            prop_assert_eq!(date(found).weekday(), Weekday::Mon);
            prop_assert!((0..7).contains(&Day(day).since(found)));
        }

        #[test]
        fn weeks_add_up_to_all_answers_and_follow_each_other(
            days in proptest::collection::vec(0..600_i32, 1..60),
        ) {
            let mut days = days;
            days.sort_unstable();
            let answers: Vec<Answer> = days.iter().map(|day| answer(*day, "a", day % 3 != 0)).collect();
            let (record, history) = laid(&answers);
            let history = history.to(&record, Day(610));
            let weeks = history.weeks();
            prop_assert_eq!(weeks.iter().map(|w| w.answers as usize).sum::<usize>(), answers.len());
            prop_assert!(weeks.windows(2).all(|w| w[1].monday().since(w[0].monday()) == 7));
            prop_assert_eq!(weeks.last().unwrap().monday(), monday(Day(610)));
            for week in weeks {
                let of = |right: bool| answers.iter().filter(move |a| {
                    a.right >= right && monday(a.day) == week.monday()
                });
                prop_assert_eq!(of(false).count(), week.answers as usize);
                prop_assert_eq!(of(true).count(), week.right as usize);
                let mut days: Vec<Day> = of(false).map(|a| a.day).collect();
                days.dedup();
                prop_assert_eq!(days.len(), week.days() as usize);
            }
        }
    }

    #[test]
    fn a_week_stands_as_the_record_of_its_answers_alone_says() {
        // Thursday, 1 January 1970, is day 0; the Mondays after are days 4, 11, 18.
        let answers = [
            answer(0, "a", true),
            answer(1, "a", false),
            answer(2, "b", true),
            answer(9, "a", true),
            answer(18, "b", false),
        ];
        let (record, history) = laid(&answers);
        let history = history.to(&record, Day(40));
        assert_eq!(history.weeks().len(), 7);
        for (week, (before, monday)) in
            history
                .weeks()
                .iter()
                .zip([(3, 4), (4, 11), (4, 18), (5, 25)])
        {
            let plainly = Record::of(Memory::default(), &answers[..before]);
            let stood: Vec<_> = history.stood_after(week).unwrap().collect();
            let steps: Vec<&str> = stood.iter().map(|(step, _)| &*step.0).collect();
            assert_eq!(steps, ["a", "b"]);
            for (step, chance) in &stood {
                let skill = answer(0, &step.0, true).skill;
                let wanted = plainly.chance(&skill, Day(monday));
                assert!((chance - wanted).abs() < 0.000_051, "{monday} {step}");
            }
        }
        assert!(history.stood_after(&history.weeks()[6]).is_none());
    }

    #[test]
    fn what_comes_in_later_changes_no_week_before_it() {
        let (mut record, mut history) = laid(&[answer(0, "a", true), answer(1, "a", true)]);
        let stood = |history: &History| -> Vec<(StepId, f64)> {
            history.stood_after(&history.weeks()[0]).unwrap().collect()
        };
        let before = stood(&history.to(&record, Day(20)));
        history.reach(&record, Day(20));
        for n in 0..9 {
            record.add(&answer(20, "a", n % 2 == 0));
        }
        assert_eq!(stood(&history), before);
        assert_eq!(stood(&history.to(&record, Day(50))), before);
        assert_eq!(History::default().to(&record, Day(50)), History::default());
    }

    #[test]
    fn a_long_history_keeps_two_years_and_a_gap_of_many_years_costs_nothing() {
        let every_week: Vec<Answer> = (0..300).map(|n| answer(7 * n, "a", true)).collect();
        let (_, history) = laid(&every_week);
        assert_eq!(history.weeks().len(), KEPT_WEEKS);
        assert!(history.weeks().iter().all(|week| week.answers == 1));
        let (record, history) = laid(&[answer(0, "a", true), answer(2_000_000, "a", true)]);
        assert_eq!(history.weeks().last().unwrap().answers, 1);
        assert!(history.weeks().len() <= KEPT_WEEKS);
        assert_eq!(history.to(&record, Day(-5)).weeks(), history.weeks());
    }

    #[test]
    fn a_clock_that_goes_back_into_the_week_before_loses_no_answer() {
        let (_, history) = laid(&[answer(4, "a", true), answer(3, "a", true)]);
        assert_eq!(history.weeks().iter().map(|w| w.answers).sum::<u32>(), 2);
    }
}
