//! The questions: where are we, and is it still safe; how an answer is kept and told.

use super::tables;
use super::telling;
use super::{Phase, Rescue, Then, chance, whereabouts};
use crate::drill::marking::{GIVEN_UP, mark_step, read_number};
use crate::drill::prompt::Answered;
use crate::drill::question::{Drill, Kind};
use crate::drill::say;
use crate::drill::sighting::sightings;
use crate::drill::spoken::kept;
use crate::drill::spoken::prompt::{RescueTold, Sound, SpokenEffect, StrayMet, WhereNow};
use crate::drill::spoken::words;
use crate::drill::summary::Given;
use crate::rescue::{Case, Verdict, When};
use crate::roads::choice_label;
use crate::routine::{Millis, StepId, StopIndex};

/// An answer, for the logbook.
pub(super) struct Kept<'a> {
    pub kind: Kind,
    pub stop: StopIndex,
    pub detail: String,
    pub question: &'a str,
    pub expected: &'a str,
    pub given: &'a str,
    pub right: bool,
}

impl Rescue {
    pub(super) fn case(&self) -> Option<&Case> {
        self.ground.cases().get(self.astray.case)
    }

    /// What was seen and heard on the road so far, a line each.
    fn stated(&self) -> Vec<String> {
        self.road
            .walked
            .iter()
            .take(self.done)
            .flat_map(|walked| sightings(&self.routine, walked))
            .map(|said| said.text)
            .collect()
    }

    fn choices(&self) -> Vec<String> {
        let walked = self.road.walked.iter().take(self.done);
        walked
            .filter_map(|walked| choice_label(&self.routine, walked))
            .collect()
    }

    pub(super) fn keep(&mut self, kept: &Kept<'_>, now: Millis) -> SpokenEffect {
        let took = Millis(now.0.saturating_sub(self.since.0));
        let so_far = kept::SoFar {
            seed: self.road.seed,
            choices: self.choices(),
            given: self.stated(),
        };
        let answered = kept::lived(
            &self.routine,
            &so_far,
            (Drill::Rescue, kept.kind, kept.stop),
            &kept::Lived {
                question: kept.question,
                expected: kept.expected,
                given: kept.given,
                right: kept.right,
                first: took,
                total: took,
            },
        );
        self.answers.push(Given {
            step: answered.step.clone(),
            drill: Drill::Rescue,
            kind: kept.kind,
            right: kept.right,
            again: false,
            total: took,
        });
        *self.asked_at.entry(answered.step.clone()).or_insert(0) += 1;
        SpokenEffect::Keep(Answered {
            detail: kept.detail.clone(),
            ..answered
        })
    }

    /// What came before the step to begin from.
    pub(super) fn so_far(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let table = self.table_known();
        let told = RescueTold {
            along: self.along(now, None),
            right: None,
            word: "SO FAR".to_owned(),
            lines: self.stated(),
            packets: table,
        };
        self.phase = Phase::Told(told, Then::Road);
        self.said.clear();
        Vec::new()
    }

    /// The table as the performer can know it now.
    fn table_known(&self) -> Vec<String> {
        let known = super::fitting(&self.ground, &self.road, self.done);
        known.worlds().map_or_else(Vec::new, |tables| {
            telling::known_table(&self.ground, tables)
        })
    }

    pub(super) fn where_now(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let Some(walked) = self.road.walked.get(self.done) else {
            return self.next_road(now);
        };
        let real = self.ground.enter(walked.before.clone());
        let look = whereabouts::look(&self.ground, &real);
        let said: Vec<String> = self
            .road
            .walked
            .iter()
            .take(self.done)
            .flat_map(|walked| sightings(&self.routine, walked))
            .filter(|said| said.tells.is_some())
            .map(|said| said.text)
            .collect();
        let mut along = self.along(now, None);
        // How far we are is what is asked.
        (along.done, along.of) = (0, 1);
        let asked = WhereNow {
            along,
            table: telling::seen_table(&self.ground, &look),
            said,
            steps: self
                .routine
                .stops
                .iter()
                .enumerate()
                .filter(|(_, stop)| !say::is_gate(stop))
                .filter_map(|(n, stop)| {
                    let at = StopIndex(u16::try_from(n).ok()?);
                    Some((at, say::heading(&self.routine, stop)))
                })
                .collect(),
        };
        self.since = now;
        self.phase = Phase::Where(asked);
        let speech = words::prompter("You were interrupted. At which step do you go on?");
        let mut effects = vec![SpokenEffect::Play(Sound::Ask)];
        effects.extend(self.say(vec![speech]));
        effects
    }

    pub(super) fn placed(&mut self, text: &str, now: Millis) -> Vec<SpokenEffect> {
        let Phase::Where(asked) = &self.phase else {
            return Vec::new();
        };
        let text = text.trim();
        let numbered = read_number(text)
            .and_then(|n| usize::try_from(n).ok())
            .and_then(|n| asked.steps.get(n.checked_sub(1)?))
            .map(|(stop, _)| *stop);
        let named = |stop: &StopIndex| mark_step(&self.routine, *stop, text) == Some(true);
        let right = match numbered {
            Some(stop) => self.right_here.contains(&stop),
            None if GIVEN_UP.contains(&text.to_lowercase().as_str()) => false,
            None if !asked.steps.iter().any(|(stop, _)| named(stop)) => {
                return vec![SpokenEffect::Unread(format!(
                    "Please type the number of a step, from 1 to {}, or its title; - if you do not know.",
                    asked.steps.len()
                ))];
            }
            None => self.right_here.iter().any(named),
        };
        let titles: Vec<String> = self
            .right_here
            .iter()
            .map(|stop| say::title_of(&self.routine, *stop))
            .collect();
        let expected = titles.join(" or ");
        let stop = self
            .road
            .walked
            .get(self.done)
            .map_or(StopIndex(0), |walked| walked.stop);
        let given = text.to_owned();
        let detail = self.step_id(stop).to_string();
        let kept = Kept {
            kind: Kind::Whereabouts,
            stop,
            detail,
            question: "At which step do you go on?",
            expected: &expected,
            given: &given,
            right,
        };
        let effect = self.keep(&kept, now);
        let mut lines = Vec::new();
        if titles.len() > 1 {
            lines.push(format!(
                "The table looks alike before both, so either is right; here it goes on with {}.",
                say::title_of(&self.routine, stop)
            ));
        } else {
            lines.push(format!("It goes on with {expected}."));
        }
        let table = self.table_known();
        self.told(effect, right, (lines, table), Then::Road, now)
    }

    fn step_id(&self, stop: StopIndex) -> StepId {
        self.routine
            .stop(stop)
            .map_or_else(|| StepId("".into()), |stop| stop.id.clone())
    }

    /// Tells how an answer was.
    pub(super) fn told(
        &mut self,
        kept: SpokenEffect,
        right: bool,
        (lines, packets): (Vec<String>, Vec<String>),
        then: Then,
        now: Millis,
    ) -> Vec<SpokenEffect> {
        let (word, sound) = if right {
            ("RIGHT", Sound::Right)
        } else {
            ("NOT QUITE", Sound::Wrong)
        };
        let speech: Vec<_> = lines
            .first()
            .map(|line| words::prompter(line))
            .into_iter()
            .collect();
        let told = RescueTold {
            along: self.along(now, None),
            right: Some(right),
            word: word.to_owned(),
            lines,
            packets,
        };
        self.phase = Phase::Told(told, then);
        let mut effects = vec![kept, SpokenEffect::Play(sound)];
        effects.extend(self.say(speech));
        effects
    }

    /// The stray happens.
    pub(super) fn goes_astray(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let Some(case) = self.case().cloned() else {
            return self.next_road(now);
        };
        let title = say::title_of(&self.routine, case.stop);
        let told = self.ground.told(&case);
        let told = match case.when {
            When::Instead => format!("At {title}: {told}"),
            When::After => format!("After {title}: {told}"),
        };
        let quip = self.ground.quip(&case);
        let met = StrayMet {
            along: self.along(now, None),
            stop: case.stop,
            name: chance::name_of(&self.ground, &case),
            told: told.clone(),
            quip: quip.clone(),
            seen: telling::seen_of(&self.ground, &case, &self.astray),
            table: self.table_known(),
        };
        self.since = now;
        self.phase = Phase::Stray(met);
        let mut speech = Vec::new();
        if !quip.is_empty() {
            // The words for strays are the program's own, but for a routine's own stray.
            speech.push(match case.stray {
                crate::routine::Stray::Known(_) => crate::drill::spoken::prompt::Speech {
                    lang: crate::cards::Lang::EnGb,
                    ..words::spectator(&self.routine, &quip)
                },
                crate::routine::Stray::Own(_) => words::spectator(&self.routine, &quip),
            });
        }
        speech.push(words::prompter(&told));
        let mut effects = vec![SpokenEffect::Play(Sound::Ask)];
        effects.extend(self.say(speech));
        effects
    }

    pub(super) fn judged(&mut self, text: &str, now: Millis) -> Vec<SpokenEffect> {
        let (Some(case), Phase::Stray(met)) = (self.case().cloned(), &self.phase) else {
            return Vec::new();
        };
        let given_up = GIVEN_UP.contains(&text.trim().to_lowercase().as_str());
        let said = telling::read_verdict(text);
        if said.is_none() && !given_up {
            return vec![SpokenEffect::Unread(
                "Please answer with s (safe), m (mend), o (out) or l (lost); - if you do not know."
                    .to_owned(),
            )];
        }
        let verdict = telling::word(&self.astray.verdict);
        let right = said == Some(verdict);
        let (question, detail) = (
            format!("{} Safe, mend, out or lost?", met.told),
            met.name.clone(),
        );
        let kept = Kept {
            kind: Kind::Verdict,
            stop: case.stop,
            detail,
            question: &question,
            expected: verdict,
            given: said.unwrap_or("-"),
            right,
        };
        let effect = self.keep(&kept, now);
        let can_be_mended = matches!(self.astray.verdict, Verdict::Mend(_));
        if right && can_be_mended {
            let mut effects = vec![effect, SpokenEffect::Play(Sound::Right)];
            effects.extend(self.ask_mend(now));
            return effects;
        }
        let mut lines = vec![format!(
            "It is {}.",
            telling::in_words(&self.astray.verdict)
        )];
        lines.push(telling::why(&self.ground, &self.astray, self.well()));
        let packets = if can_be_mended {
            Vec::new()
        } else {
            self.before_and_after(None)
        };
        let then = if can_be_mended {
            Then::Mend
        } else {
            Then::Onward
        };
        self.told(effect, right, (lines, packets), then, now)
    }

    /// On how many of the tables that fit all roads end well with nothing done.
    fn well(&self) -> usize {
        let tables = &self.astray.tables;
        match &self.astray.verdict {
            Verdict::Safe | Verdict::Out(_) => tables.len(),
            Verdict::Mend(_) | Verdict::Lost { .. } | Verdict::Undecided => {
                tables::asking(&self.ground, true, |rescuer| {
                    tables
                        .iter()
                        .filter(|table| rescuer.mends_it(std::slice::from_ref(*table), &[]))
                        .count()
                })
            }
        }
    }

    pub(super) fn before_and_after(&self, mended: Option<&crate::routine::World>) -> Vec<String> {
        let ground = &self.ground;
        let mut packets = telling::packets(ground, "before", &self.astray.before);
        if self.astray.real.table == self.astray.before.table {
            packets.push("after: all cards lie as before".to_owned());
        } else {
            packets.extend(telling::packets(ground, "after", &self.astray.real));
        }
        if let Some(world) = mended {
            packets.extend(telling::packets(ground, "then", world));
        }
        packets
    }
}
