//! Progress in words: what the screen, the printed lines and the page on paper all say alike.

use crate::coach::{Day, Hold, Own, Progress, StepProgress, Sureness, Tempo, Untried};
use crate::routine::{Millis, capital};
use chrono::{Datelike, Duration, NaiveDate};

/// A day as a date.
#[must_use]
pub fn date(day: Day) -> NaiveDate {
    let counted = Duration::days(i64::from(day.0));
    // The calendar ends in the year 262142.
    NaiveDate::default()
        .checked_add_signed(counted)
        .unwrap_or(NaiveDate::MAX)
}

/// "7 December 2031".
#[must_use]
pub fn full_date(day: Day) -> String {
    date(day).format("%-d %B %Y").to_string()
}

/// "7 Dec".
#[must_use]
pub fn short_date(day: Day) -> String {
    date(day).format("%-d %b").to_string()
}

/// "2031-12-07".
#[must_use]
pub fn plain_date(day: Day) -> String {
    date(day).format("%Y-%m-%d").to_string()
}

/// Whether a week holds the first Sunday of a month, so that the month is named there.
#[must_use]
pub fn begins_a_month(monday: Day) -> bool {
    date(monday.plus(6)).day() <= 7
}

/// A chance as a whole number of a hundred.
#[must_use]
pub fn of_a_hundred(chance: f64) -> u8 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a number from 0 to 100"
    )]
    let whole = (chance.clamp(0.0, 1.0) * 100.0).round() as u8;
    whole
}

/// "62 in 100"; what is not certain is not said to be.
#[must_use]
pub fn in_100(chance: f64) -> String {
    match of_a_hundred(chance) {
        0 if chance > 0.0 => "less than 1 in 100".to_owned(),
        100 if chance < 1.0 => "more than 99 in 100".to_owned(),
        whole => format!("{whole} in 100"),
    }
}

/// "1 answer", "7 answers".
#[must_use]
pub fn counted(n: u64, one: &str) -> String {
    if n == 1 {
        format!("1 {one}")
    } else {
        format!("{n} {one}s")
    }
}

/// When the show is, as a sentence.
#[must_use]
pub fn show_sentence(progress: &Progress) -> Option<String> {
    let day = progress.aim.show?;
    Some(match day.since(progress.aim.today) {
        0 => format!("The show is today, {}.", full_date(day)),
        1 => format!("The show is tomorrow, {}.", full_date(day)),
        days => format!("The show is on {}, in {days} days.", full_date(day)),
    })
}

/// When the show is: "the show is on 7 December 2031, in 12 days".
#[must_use]
pub fn show(progress: &Progress) -> Option<String> {
    let day = progress.aim.show?;
    let when = match day.since(progress.aim.today) {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        days => format!("in {days} days"),
    };
    Some(format!("the show is on {}, {when}", full_date(day)))
}

/// The night that is looked at: "on the night", or "a week from now" with no show set.
#[must_use]
pub fn night(progress: &Progress) -> &'static str {
    if progress.aim.show.is_some() {
        "on the night"
    } else {
        "a week from now"
    }
}

/// What is meant by each word for how a step is held.
#[must_use]
pub fn meanings() -> String {
    let sentences: Vec<String> = Hold::ALL
        .into_iter()
        .map(|hold| {
            let word = capital(hold.word());
            format!("{word}: {}.", hold.meaning())
        })
        .collect();
    sentences.join(" ")
}

/// What is meant by a clean run.
pub const CLEAN: &str = "A clean run: every step of the road remembered, and no slip of the hands.";

/// The sentence that matters most.
#[must_use]
pub fn headline(progress: &Progress) -> String {
    match &progress.readiness {
        Some(readiness) => {
            let night = match progress.aim.show {
                Some(_) => "on the night",
                None => "if the show were a week from now",
            };
            format!("A clean run {night}: {}.", in_100(readiness.chance))
        }
        None if progress.answers == 0 => "Not rehearsed yet.".to_owned(),
        None => "No road of it can be walked: `allroads check` says why.".to_owned(),
    }
}

/// How far the headline can be trusted.
#[must_use]
pub fn trust(progress: &Progress) -> Option<String> {
    let readiness = progress.readiness.as_ref()?;
    let counted = progress.steps.iter().filter(|s| s.costs.is_some()).count();
    let mut words = match progress.guesses() {
        0 => "Each step has answers enough to go by.".to_owned(),
        thin if progress.is_a_guess() => {
            format!("A guess so far: {thin} of {counted} steps have hardly any answers to go by.")
        }
        1 => format!("At 1 of {counted} steps that is a guess: hardly any answers to go by."),
        thin => {
            format!("At {thin} of {counted} steps that is a guess: hardly any answers to go by.")
        }
    };
    if let Some(roads) = readiness.roads {
        let (low, high) = (of_a_hundred(readiness.low), of_a_hundred(readiness.high));
        words.push_str(&format!(" Over {roads} random roads"));
        if low < high {
            words.push_str(&format!(", which leaves {low} to {high} in 100"));
        }
        words.push('.');
    }
    if let Some(own) = &progress.own {
        words.push(' ');
        words.push_str(&forgetting(own));
    }
    Some(words)
}

/// Whose way of forgetting it goes by, and how much better that foretells.
fn forgetting(own: &Own) -> String {
    let answers = counted(own.foretold as u64, "answer");
    match of_a_hundred(own.better_by) {
        better if own.adopted && better > 0 => format!(
            "It goes by how you yourself forget, which foretold your latest {answers} {better} % better than the usual way."
        ),
        _ if own.adopted => {
            format!(
                "It goes by how you yourself forget, which foretold your latest {answers} a little better than the usual way."
            )
        }
        _ => {
            let how = match of_a_hundred(-own.better_by) {
                0 => "no better".to_owned(),
                worse => format!("{worse} % worse"),
            };
            format!(
                "It goes by the usual way of forgetting: your own was worked out, and foretold your latest {answers} {how}."
            )
        }
    }
}

/// "12, sure"; nothing to be sure of where nothing was asked.
#[must_use]
pub fn answers(step: &StepProgress) -> String {
    match step.footing.answers {
        0 => "none yet".to_owned(),
        n => format!("{n}, {}", sureness(step.footing.sure)),
    }
}

fn sureness(sure: Sureness) -> &'static str {
    match sure {
        Sureness::Thin => "a guess",
        Sureness::Some | Sureness::Good => sure.words(),
    }
}

/// "3.4 s".
#[must_use]
pub fn seconds(time: Millis) -> String {
    super::super::summary::seconds(time)
}

/// "8.4 s of 25.0 s, in time": the latest answers beside the target.
#[must_use]
pub fn pace(tempo: &Tempo) -> String {
    let lately = seconds(tempo.lately);
    match tempo.target {
        Some(target) => format!("{lately} of {}, {}", seconds(target), in_time(tempo)),
        None => format!("{lately}, {}", in_time(tempo)),
    }
}

/// Whether the latest answers fit the beat; if not, whether the step's target or what the performer usually takes is why.
#[must_use]
pub fn in_time(tempo: &Tempo) -> &'static str {
    match (tempo.fits, slow_for_you(tempo)) {
        (true, _) => "in time",
        (false, Some(_)) => "slow for you",
        (false, None) => "too slow",
    }
}

/// What the performer usually takes, where the latest answers do not fit the beat only because they took much longer.
fn slow_for_you(tempo: &Tempo) -> Option<Millis> {
    let within = tempo.target.is_none_or(|target| tempo.lately <= target);
    tempo.usual.filter(|_| within && !tempo.fits)
}

/// As [`pace`], and where that is why, what the performer usually takes.
#[must_use]
pub fn pace_in_full(tempo: &Tempo) -> String {
    match slow_for_you(tempo) {
        Some(usual) => format!("{}, who usually take {}", pace(tempo), seconds(usual)),
        None => pace(tempo),
    }
}

/// So many answers ahead the curve is looked at.
const AHEAD: f64 = 20.0;

/// Where the performer's own curve leads in twenty answers.
#[must_use]
pub fn heading_for(tempo: &Tempo) -> Option<Millis> {
    let curve = tempo.curve?;
    #[expect(clippy::cast_precision_loss, reason = "some dozens of times")]
    let at = curve.at(tempo.times.len() as f64 + AHEAD);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the time of an answer, not below zero"
    )]
    let ms = at.clamp(0.0, 1e9).round() as u64;
    Some(Millis(ms))
}

/// "how many went in for cocoa: 4, 13 to 16 (5 of 13)".
#[must_use]
pub fn branches(untried: &Untried) -> String {
    const MOST: usize = 12;
    let open = runs(&untried.open);
    let shown = open.len().min(MOST);
    let mut list = open[..shown].join(", ");
    if open.len() > shown {
        list.push_str(&format!(" and {} more", open.len() - shown));
    }
    format!(
        "{}: {list} ({} of {})",
        untried.about,
        untried.open.len(),
        untried.of
    )
}

/// Words as they are; three or more numbers that follow each other as "13 to 16".
fn runs(open: &[String]) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    let mut rest = open;
    while let Some(first) = rest.first() {
        let mut next: Option<i64> = first.parse().ok();
        let long = rest
            .iter()
            .take_while(|text| {
                let follows = next.is_some() && text.parse().ok() == next;
                next = next.and_then(|number| number.checked_add(1));
                follows
            })
            .count()
            .max(1);
        let (run, after) = rest.split_at(long);
        match run {
            [from, _, .., to] => told.push(format!("{from} to {to}")),
            short => told.extend(short.iter().cloned()),
        }
        rest = after;
    }
    told
}

/// What happened at a step away from the questions: "2 slips, 1 stray".
#[must_use]
pub fn met(step: &StepProgress) -> Option<String> {
    let whole = |happened: f64| {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a count, not below zero"
        )]
        let whole = happened.max(0.0).round() as u64;
        whole
    };
    let events = step.footing.events;
    let told: Vec<String> = [(events.slips, "slip"), (events.strays, "stray")]
        .into_iter()
        .map(|(happened, one)| (whole(happened), one))
        .filter(|(times, _)| *times > 0)
        .map(|(times, one)| counted(times, one))
        .collect();
    (!told.is_empty()).then(|| told.join(", "))
}

/// What a step costs: "12 in 100", of the clean runs.
#[must_use]
pub fn cost(costs: f64) -> String {
    in_100(costs)
}

/// How many steps are held in each way, the weakest first; only those there are.
#[must_use]
pub fn tally(progress: &Progress) -> Vec<(Hold, usize)> {
    Hold::ALL
        .into_iter()
        .map(|hold| {
            let held = progress.steps.iter().filter(|s| s.footing.hold == hold);
            (hold, held.count())
        })
        .filter(|(_, count)| *count > 0)
        .collect()
}

/// One sentence that says what to do next.
#[must_use]
pub fn next(progress: &Progress) -> String {
    if progress.answers == 0 {
        return "Next, a first rehearsal: ten minutes are enough to begin with.".to_owned();
    }
    if let Some((step, _)) = progress.dearest().first() {
        return format!(
            "Next, ten minutes of questions: “{}” costs most of the clean run.",
            step.title
        );
    }
    if let Some(untried) = progress.untried.first() {
        return format!(
            "Next, a road by a branch you have not met: {}.",
            untried.about
        );
    }
    "Next, a dress rehearsal, so that it stays as it is.".to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_certain_is_not_said_to_be() {
        for (chance, words) in [
            (0.0, "0 in 100"),
            (0.004, "less than 1 in 100"),
            (0.006, "1 in 100"),
            (0.615, "62 in 100"),
            (0.996, "more than 99 in 100"),
            (1.0, "100 in 100"),
        ] {
            assert_eq!(in_100(chance), words);
        }
    }

    #[test]
    fn too_slow_is_told_apart_from_slow_for_this_performer() {
        let told = |lately, target: Option<u64>, usual: Option<u64>| {
            let (lately, target, usual) = (Millis(lately), target.map(Millis), usual.map(Millis));
            pace_in_full(&Tempo {
                of: (crate::drill::Drill::Order, crate::drill::Kind::Next),
                times: vec![lately],
                lately,
                usual,
                target,
                fits: crate::coach::fits_the_beat(lately, target, usual),
                curve: None,
            })
        };
        assert_eq!(
            told(8_400, Some(30_000), Some(6_200)),
            "8.4 s of 30.0 s, in time"
        );
        assert_eq!(
            told(31_000, Some(30_000), Some(6_200)),
            "31.0 s of 30.0 s, too slow"
        );
        assert_eq!(
            told(15_400, Some(30_000), Some(6_200)),
            "15.4 s of 30.0 s, slow for you, who usually take 6.2 s"
        );
        assert_eq!(
            told(15_400, None, Some(6_200)),
            "15.4 s, slow for you, who usually take 6.2 s"
        );
    }

    #[test]
    fn whose_way_of_forgetting_it_goes_by_is_told_with_how_much_better_it_is() {
        let told = |better_by, adopted| {
            forgetting(&Own {
                better_by,
                foretold: 140,
                adopted,
            })
        };
        assert!(told(0.07, true).contains("your latest 140 answers 7 % better"));
        assert!(told(0.001, true).contains("a little better"));
        assert!(told(-0.2, false).contains("the usual way of forgetting"));
        assert!(told(-0.2, false).contains("your latest 140 answers 20 % worse"));
        assert!(told(-0.001, false).contains("no better"));
    }

    #[test]
    fn numbers_that_follow_each_other_are_told_in_short() {
        let told = |open: &str| {
            let open: Vec<String> = open.split_whitespace().map(str::to_owned).collect();
            runs(&open).join(", ")
        };
        assert_eq!(told("4 13 14 15 16 20 21"), "4, 13 to 16, 20, 21");
        assert_eq!(told("left right"), "left, right");
        assert_eq!(told("2 4 6 7 8 yes"), "2, 4, 6 to 8, yes");
        assert_eq!(told(""), "");
    }

    #[test]
    fn days_are_dates() {
        assert_eq!(full_date(Day(0)), "1 January 1970");
        // 22,616 days later by the calendar program of the shell: date -d '1970-01-01 +22616 days'.
        assert_eq!(plain_date(Day(22_616)), "2031-12-03");
        assert_eq!(short_date(Day(22_616)), "3 Dec");
        assert_eq!(date(Day(i32::MAX)), NaiveDate::MAX);
    }
}
