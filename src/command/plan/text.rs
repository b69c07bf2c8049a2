//! A plan in words.

use super::Told;
use super::kept::{date, spoken};
use crate::coach::{Chance, ENOUGH_CHANCE, MOST_MINUTES, REST_AFTER, Spacing};
use crate::command::pages::{counted, paragraph};
use std::io::{self, Write};

/// What is said where a day is long.
pub(super) const REST: &str =
    "Rest your hands after twenty minutes: put the cards down, shake them out.";

/// The days of the week as they are said, Monday first.
const DAYS: [&str; 7] = [
    "Mondays",
    "Tuesdays",
    "Wednesdays",
    "Thursdays",
    "Fridays",
    "Saturdays",
    "Sundays",
];

/// What is to be done is told for so many days.
const IN_FULL: usize = 2;

/// "61 in 100, probably 40 to 78".
fn chance(chance: Chance) -> String {
    let hundred = |share: f64| format!("{:.0}", share * 100.0);
    format!(
        "{:>2} in 100, probably {} to {}",
        hundred(chance.mean),
        hundred(chance.low),
        hundred(chance.high)
    )
}

impl Told<'_> {
    /// The plan for people.
    pub(super) fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let days = &self.plan.days;
        let left = match self.days_left() {
            0 => "that is today".to_owned(),
            1 => "that is tomorrow".to_owned(),
            n => format!("in {n} days"),
        };
        let when = self.kept.show.format("%A %-d %B %Y");
        paragraph(out, "", &format!("{}, {when}, {left}.", self.show_title()))?;
        writeln!(out)?;
        if days.is_empty() {
            self.without_days(out)?;
        } else {
            self.overview(out)?;
            writeln!(out)?;
            writeln!(
                out,
                "{:<31}begins   minutes   clean on the night",
                "    day"
            )?;
            for (n, (day, begins)) in days.iter().zip(&self.begins).enumerate() {
                writeln!(
                    out,
                    "{:>2}. {:<27}{:>6}   {:>7}   {}",
                    n + 1,
                    spoken(date(day.day), self.today()),
                    begins.format("%H:%M"),
                    day.minutes,
                    chance(day.chance)
                )?;
                // What will be weak is told for the days that are near: further off it is a guess.
                if n < IN_FULL || day.dress {
                    for sentence in self.to_do(day) {
                        paragraph(out, "    ", &sentence)?;
                    }
                }
            }
        }
        writeln!(out)?;
        if self.acts.len() > 1 {
            for (n, act) in self.acts.iter().enumerate() {
                let after = days
                    .last()
                    .and_then(|day| day.shares.get(n))
                    .map(|share| share.chance);
                let now = self.plan.each[n];
                let line = match after {
                    Some(after) => format!(
                        "{} now, {} by then",
                        chance(now).trim(),
                        chance(after).trim()
                    ),
                    None => chance(now).trim().to_owned(),
                };
                paragraph(out, "", &format!("{}: clean {line}.", act.planned.title))?;
            }
            writeln!(out)?;
        }
        self.cautions(out)?;
        self.beside(out)?;
        for plan in self.others {
            let when = spoken(plan.show, self.today());
            let words = format!(
                "Another show is planned for {when}: {} (allroads plan --show {}).",
                plan.titles(),
                plan.show
            );
            paragraph(out, "", &words)?;
        }
        if !self.dropped.is_empty() {
            let words = format!("Planned no more: {}.", self.dropped.join(", "));
            paragraph(out, "", &words)?;
        }
        Ok(())
    }

    /// On how many of the days something is rehearsed for another show, and how long they get with it.
    fn beside(&self, out: &mut dyn Write) -> io::Result<()> {
        let both: Vec<u32> = self
            .plan
            .days
            .iter()
            .map(|day| (day.minutes, self.elsewhere(day)))
            .filter(|(_, elsewhere)| *elsewhere > 0)
            .map(|(minutes, elsewhere)| minutes + elsewhere)
            .collect();
        let Some(most) = both.iter().max() else {
            return Ok(());
        };
        let on = match (both.len(), self.plan.days.len()) {
            (1, 1) => "That day".to_owned(),
            (1, _) => "One of these days".to_owned(),
            (all, days) if all == days => "These days".to_owned(),
            (some, _) => format!("{some} of these days"),
        };
        let is = if both.len() == 1 { "is" } else { "are" };
        paragraph(
            out,
            "",
            &format!(
                "{on} {is} also planned for a show before this one: {most} minutes at most, all together."
            ),
        )
    }

    fn without_days(&self, out: &mut dyn Write) -> io::Result<()> {
        let now = chance(self.plan.now);
        paragraph(out, "", &format!("A clean run: {}.", now.trim()))?;
        let words = match self.days_left() {
            0 if self.played => "It is played, and how it went is written down: rest.",
            0 => {
                "Today there is nothing to learn any more: walk through it once, with the cards, and eat something."
            }
            _ => {
                "No day is left to rehearse on that is free and on which nothing was rehearsed yet: rest, and walk through it once before you go on."
            }
        };
        paragraph(out, "", words)
    }

    fn overview(&self, out: &mut dyn Write) -> io::Result<()> {
        let days = &self.plan.days;
        let minutes: u32 = days.iter().map(|day| day.minutes).sum();
        let why = match self.plan.spacing {
            Spacing::Wide => "as far apart as it lasts best, and closer and closer",
            Spacing::Half => {
                "twice as close as it would last best, since not all of it is learnt yet"
            }
            Spacing::Daily => "on every day that is free, since much of it is not learnt yet",
        };
        let after = days.last().map_or(self.plan.now, |day| day.chance);
        paragraph(
            out,
            "",
            &format!(
                "{} with {minutes} minutes in all, {why}. A clean run: {} as it stands now, {} by then.",
                counted(days.len(), "rehearsal"),
                chance(self.plan.now).trim(),
                chance(after).trim()
            ),
        )?;
        if after.mean < ENOUGH_CHANCE {
            let restricted =
                !self.kept.weekdays.iter().all(|free| *free) || !self.kept.off.is_empty();
            let mut help = Vec::new();
            if self.plan.minutes >= self.kept.most && self.kept.most < MOST_MINUTES {
                help.push("more minutes a day");
            }
            if restricted {
                help.push("more free days");
            }
            help.push("a later show");
            paragraph(
                out,
                "",
                &format!(
                    "That is less than nine in ten; what would help: {}.",
                    help.join(", or ")
                ),
            )?;
        }
        if !self.kept.weekdays.iter().all(|free| *free) || !self.kept.off.is_empty() {
            let on: Vec<&str> = DAYS
                .into_iter()
                .zip(self.kept.weekdays)
                .filter_map(|(word, free)| free.then_some(word))
                .collect();
            let mut words = if on.len() == DAYS.len() {
                "On every day of the week".to_owned()
            } else {
                format!("On {}", on.join(", "))
            };
            if !self.kept.off.is_empty() {
                let off: Vec<String> = self
                    .kept
                    .off
                    .iter()
                    .map(|day| day.format("%-d %B").to_string())
                    .collect();
                words.push_str(&format!(", but not on {}", off.join(", ")));
            }
            paragraph(out, "", &format!("{words}."))?;
        }
        Ok(())
    }

    fn cautions(&self, out: &mut dyn Write) -> io::Result<()> {
        if let Some(asked) = self.too_long {
            paragraph(
                out,
                "",
                &format!(
                    "{asked} minutes a day were allowed; more than {MOST_MINUTES} are never planned: they strain the hands, and more is not kept for it."
                ),
            )?;
        }
        if self.plan.days.iter().any(|day| day.minutes > REST_AFTER) {
            paragraph(out, "", REST)?;
        }
        paragraph(
            out,
            "",
            "The chances are a forecast: eight of ten performers who remember as you seem to lie between the two numbers. People differ from that by ten points and more. Call `allroads plan` again whenever you like: it plans anew from what you really did.",
        )
    }
}
