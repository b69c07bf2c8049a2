//! The days until a show: which to rehearse on, and how far apart.
//!
//! What was learnt lasts best until a day if it is repeated at gaps that shrink with the time left: about 40 % of it at a week, 20 % at
//! a month, 8 % at a year (Cepeda, Vul, Rohrer, Wixted and Pashler 2008, "Spacing effects in learning", Psychological
//! Science 19). Between these the share is interpolated, its logarithm in the logarithm of the days; beyond them it stays. Each rehearsal is followed by
//! the next after the gap that fits the days left then, so they come closer and closer, and the last one, the day before the show, is a dress
//! rehearsal.
//!
//! The plan chooses the days and the minutes, memory chooses what is practised on them; where they disagree, the plan wins.

use super::memory::Day;
use std::collections::{BTreeMap, BTreeSet};

/// Days left, and which share of them the gap should be.
const GAPS: [(f64, f64); 3] = [(7.0, 0.40), (30.0, 0.20), (365.0, 0.08)];

/// The most minutes that are ever planned for a day. Long practice strains the hands, and what is repeated for longer on one day
/// is kept no better. Our own judgement, no source.
pub const MOST_MINUTES: u32 = 60;

/// After so many minutes the hands want a rest.
pub const REST_AFTER: u32 = 20;

/// A day with less room than this for a rehearsal is not free.
const LEAST_ROOM: u32 = 5;

/// How close rehearsals come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spacing {
    /// As far apart as lasts best: for what is learnt.
    Wide,
    /// Twice as close, for what is not yet.
    Half,
    /// Every day that is free.
    Daily,
}

impl Spacing {
    /// All, the widest first.
    pub const ALL: [Self; 3] = [Self::Wide, Self::Half, Self::Daily];

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Wide => "wide",
            Self::Half => "half",
            Self::Daily => "daily",
        }
    }

    /// The spacing with this word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.word() == word)
    }
}

/// The share of the days left that the next gap should be.
#[must_use]
pub fn share_of_days_left(left: i32) -> f64 {
    let left = f64::from(left.max(1));
    let [first, .., last] = GAPS;
    if left <= first.0 {
        return first.1;
    }
    for pair in GAPS.windows(2) {
        if let [(near, more), (far, less)] = *pair
            && left <= far
        {
            let along = (left / near).ln() / (far / near).ln();
            return (more.ln() + along * (less.ln() - more.ln())).exp();
        }
    }
    last.1
}

/// Days from a rehearsal to the next, when so many are left until the show; at least one.
#[must_use]
pub fn gap(left: i32, spacing: Spacing) -> i32 {
    let wide = share_of_days_left(left) * f64::from(left.max(0));
    let days = match spacing {
        Spacing::Wide => wide,
        Spacing::Half => wide / 2.0,
        Spacing::Daily => 1.0,
    };
    #[expect(clippy::cast_possible_truncation, reason = "some hundreds of days")]
    let whole = days.round() as i32;
    whole.max(1)
}

/// What the days are chosen from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Season {
    /// Today.
    pub today: Day,
    /// The day of the show.
    pub show: Day,
    /// Which days of the week are free for it, Monday first.
    pub weekdays: [bool; 7],
    /// Days that are not.
    pub off: BTreeSet<Day>,
    /// Minutes of a day on which something is rehearsed for another show: all together stay within [`MOST_MINUTES`].
    pub taken: BTreeMap<Day, u32>,
    /// The latest day by which all of it was really rehearsed; `None` where some of it never was.
    pub rehearsed: Option<Day>,
}

/// The day of the week, Monday being 0. 1 January 1970 was a Thursday.
#[must_use]
pub fn weekday(day: Day) -> usize {
    usize::try_from((i64::from(day.0) + 3).rem_euclid(7)).unwrap_or(0)
}

impl Season {
    /// Whether a day, from today to the one before the show, is free.
    #[must_use]
    pub fn free(&self, day: Day) -> bool {
        (self.today..self.show).contains(&day)
            && self.weekdays[weekday(day)]
            && !self.off.contains(&day)
            && self.room(day) >= LEAST_ROOM
    }

    /// How many minutes a day has room for, beside what is rehearsed on it for other shows.
    #[must_use]
    pub fn room(&self, day: Day) -> u32 {
        let taken = self.taken.get(&day).copied().unwrap_or(0);
        MOST_MINUTES.saturating_sub(taken)
    }

    /// The days to rehearse on. The last is that of the dress rehearsal: the day before the show, or the last free one before.
    /// A day that is wanted and not free gives way to the one before it, if that is free and not planned yet, else to the next that is.
    #[must_use]
    pub fn days(&self, spacing: Spacing) -> Vec<Day> {
        let free: Vec<Day> = (self.today.0..self.show.0)
            .map(Day)
            .filter(|day| self.free(*day))
            .collect();
        let Some(dress) = free.last().copied() else {
            return Vec::new();
        };
        let after = |day: Day| day.plus(gap(self.show.since(day), spacing));
        let mut from = self.today;
        let mut wanted = match self.rehearsed {
            Some(rehearsed) => {
                from = from.max(rehearsed.plus(1));
                after(rehearsed).max(from)
            }
            None => self.today,
        };
        let mut days = Vec::new();
        loop {
            let before = free.iter().rfind(|day| (from..=wanted).contains(*day));
            let Some(day) = before
                .or_else(|| free.iter().find(|day| **day >= wanted))
                .copied()
            else {
                break;
            };
            if day >= dress {
                break;
            }
            days.push(day);
            from = day.plus(1);
            wanted = after(day);
        }
        if self.rehearsed.is_none_or(|rehearsed| dress > rehearsed) {
            days.push(dress);
        }
        days
    }
}

/// Whoever needs least counts as needing this share of what the neediest does: what is known well must not be lost.
const LEAST_SHARE: f64 = 0.15;

/// Shares out the minutes of each day among several needs, in steps of five: who needs more gets more, and what is owed to
/// one that came short is given later. Every row sums up to the minutes of its day.
#[must_use]
pub fn share_out(minutes: &[u32], needs: &[f64]) -> Vec<Vec<u32>> {
    const STEP: u32 = 5;
    let most = needs.iter().fold(0.0, |most: f64, need| most.max(*need));
    let needs: Vec<f64> = needs
        .iter()
        .map(|need| need.max(most * LEAST_SHARE).max(1e-9))
        .collect();
    let all: f64 = needs.iter().sum();
    let mut owed = vec![0.0; needs.len()];
    minutes
        .iter()
        .map(|&minutes| {
            let mut given = vec![0; needs.len()];
            for (owed, need) in owed.iter_mut().zip(&needs) {
                *owed += f64::from(minutes) * need / all;
            }
            let mut left = minutes;
            while left > 0 {
                let step = left.min(STEP);
                let most = (0..needs.len()).max_by(|a, b| owed[*a].total_cmp(&owed[*b]));
                let Some(one) = most else { break };
                given[one] += step;
                owed[one] -= f64::from(step);
                left -= step;
            }
            given
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn season(days: i32) -> Season {
        Season {
            today: Day(100),
            show: Day(100 + days),
            weekdays: [true; 7],
            off: BTreeSet::new(),
            taken: BTreeMap::new(),
            rehearsed: None,
        }
    }

    fn from_today(season: &Season, spacing: Spacing) -> Vec<i32> {
        let since = |day: &Day| day.since(season.today);
        season.days(spacing).iter().map(since).collect()
    }

    #[test]
    fn the_gaps_are_those_of_the_source_and_lie_on_a_line_between_them_on_paper_with_two_log_scales()
     {
        // Cepeda et al. 2008 as the project's notes give it: 40 % at a week, 20 % at a month, 8 % at a year.
        for (left, share) in [(7, 0.4), (30, 0.2), (365, 0.08), (1, 0.4), (3_000, 0.08)] {
            assert!((share_of_days_left(left) - share).abs() < 1e-9, "{left}");
        }
        // Half way from 7 to 30 on such paper lies their geometric mean, √210 = 14.49…, with √(0.4 · 0.2) = 0.2828…
        let (near, far) = (share_of_days_left(14), share_of_days_left(15));
        assert!(near > 0.282_84 && 0.282_84 > far, "{near} {far}");
        assert_eq!(gap(7, Spacing::Wide), 3);
        assert_eq!(gap(30, Spacing::Wide), 6);
        assert_eq!(gap(365, Spacing::Wide), 29);
        assert_eq!(gap(30, Spacing::Half), 3);
        assert_eq!(gap(1, Spacing::Wide), 1);
    }

    #[test]
    fn three_weeks_become_eight_rehearsals_that_come_closer_and_closer() {
        // By hand from the definition. The exponent between a week and a month is ln ½ ÷ ln (30/7) = −0.4763, so the shares are
        // 0.237 at 21 days (gap 5), 0.270 at 16 (4), 0.309 at 12 (4), 0.375 at 8 (3), 0.4 from there: 5 (2), 3 (1), 2 (1).
        assert_eq!(
            from_today(&season(21), Spacing::Wide),
            [0, 5, 9, 13, 16, 18, 19, 20]
        );
        let daily: Vec<i32> = (0..21).collect();
        assert_eq!(from_today(&season(21), Spacing::Daily), daily);
    }

    #[test]
    fn what_was_really_rehearsed_moves_the_rest() {
        let mut season = season(21);
        season.rehearsed = Some(Day(100));
        assert_eq!(
            from_today(&season, Spacing::Wide),
            [5, 9, 13, 16, 18, 19, 20]
        );
        // Rehearsed three days ago, with 24 days left then: 0.2225 · 24 = 5.3, two days from now.
        season.rehearsed = Some(Day(97));
        assert_eq!(from_today(&season, Spacing::Wide)[0], 2);
        // Long ago: today.
        season.rehearsed = Some(Day(40));
        assert_eq!(from_today(&season, Spacing::Wide)[0], 0);
        // The dress rehearsal is held already.
        season.rehearsed = Some(Day(120));
        season.today = Day(120);
        assert_eq!(season.days(Spacing::Wide), []);
    }

    #[test]
    fn days_that_are_not_free_give_way() {
        let mut season = season(21);
        season.off = [Day(105), Day(120)].into();
        // The fifth day gives way to the fourth; the dress rehearsal to the day before.
        let days = from_today(&season, Spacing::Wide);
        assert_eq!(days[..2], [0, 4]);
        assert_eq!(days.last(), Some(&19));
        season.weekdays = [false; 7];
        assert_eq!(season.days(Spacing::Wide), []);
        // Day 100 was 11 April 1970, a Saturday.
        assert_eq!(weekday(Day(100)), 5);
        season.weekdays[5] = true;
        assert_eq!(from_today(&season, Spacing::Wide), [0, 7, 14]);
    }

    #[test]
    fn days_that_other_shows_fill_give_way_too() {
        let mut season = season(21);
        // 60 minutes are the most: 56 taken leave four, which is no rehearsal; 55 leave five.
        season.taken = [(Day(105), 56), (Day(109), 55), (Day(120), 70)].into();
        assert_eq!(
            [105, 109, 110, 120].map(|day| season.room(Day(day))),
            [4, 5, 60, 0]
        );
        let days = from_today(&season, Spacing::Wide);
        assert_eq!(days[..3], [0, 4, 8]);
        assert_eq!(days.last(), Some(&19));
        assert!(season.free(Day(109)));
    }

    #[test]
    fn minutes_go_where_they_are_needed_and_nobody_is_forgotten() {
        // Needs 3 to 1: of 20 minutes 15 and 5.
        assert_eq!(share_out(&[20, 20], &[3.0, 1.0]), [[15, 5], [15, 5]]);
        // One step of five a day: the small need's turn comes when a quarter of what was given is owed to it.
        let shares = share_out(&[5; 8], &[3.0, 1.0]);
        let second: u32 = shares.iter().map(|day| day[1]).sum();
        assert_eq!(second, 10);
    }

    proptest! {
        #[test]
        fn any_plan_keeps_to_free_days_in_order_and_ends_with_the_last(
            days in 0..400_i32,
            weekdays in prop::array::uniform7(any::<bool>()),
            off in prop::collection::btree_set(100..500_i32, 0..40),
            rehearsed in prop::option::of(0..=100_i32),
            spacing in prop::sample::select(Spacing::ALL.to_vec()),
        ) {
            let season = Season { weekdays, off: off.into_iter().map(Day).collect(), rehearsed: rehearsed.map(Day), ..season(days) };
            let planned = season.days(spacing);
            prop_assert!(planned.windows(2).all(|pair| pair[0] < pair[1]));
            prop_assert!(planned.iter().all(|day| season.free(*day)));
            let free = (100..100 + days).map(Day).rfind(|day| season.free(*day));
            match free {
                Some(last) if season.rehearsed.is_none_or(|day| day < last) => {
                    prop_assert_eq!(planned.last(), Some(&last));
                }
                Some(_) | None => prop_assert_eq!(planned, vec![]),
            }
        }

        #[test]
        fn every_minute_is_given_to_somebody(
            minutes in prop::collection::vec(0..90_u32, 0..20),
            needs in prop::collection::vec(0.0..5.0_f64, 1..5),
        ) {
            for (row, all) in share_out(&minutes, &needs).iter().zip(&minutes) {
                prop_assert_eq!(row.iter().sum::<u32>(), *all);
            }
        }
    }
}
