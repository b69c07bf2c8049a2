//! The three questions: where are we, is it still safe, and what makes it so.

use super::keyed::{Keyed, Look, Reading, read};
use super::tables::{self, Worth};
use super::telling;
use super::{Phase, Rescue, Then, chance, whereabouts};
use crate::drill::doing::acts_in_words;
use crate::drill::marking::{GIVEN_UP, mark_step, read_number};
use crate::drill::prompt::Answered;
use crate::drill::question::{Drill, Kind};
use crate::drill::say;
use crate::drill::sighting::{looked, sightings};
use crate::drill::spoken::kept;
use crate::drill::spoken::prompt::{
    MendAsked, RescueTold, Sound, SpokenEffect, StrayMet, WhereNow,
};
use crate::drill::spoken::words;
use crate::drill::summary::Given;
use crate::rescue::{Case, Deed, Verdict, When};
use crate::roads::choice_label;
use crate::routine::{Expr, Millis, Scene, Sight, SightKind, StepId, StopIndex};
use crate::table::PileId;

/// Nothing is to be done.
const NOTHING: [&str; 4] = ["nothing", "leave it", "done", "no more"];

/// An answer, for the logbook.
struct Kept<'a> {
    kind: Kind,
    stop: StopIndex,
    detail: String,
    question: &'a str,
    expected: &'a str,
    given: &'a str,
    right: bool,
}

impl Rescue {
    fn case(&self) -> Option<&Case> {
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

    fn keep(&mut self, kept: &Kept<'_>, now: Millis) -> SpokenEffect {
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
        let named = |stop: &StopIndex| mark_step(&self.routine, *stop, text);
        let right = match numbered {
            Some(stop) => self.right_here.contains(&stop),
            None if GIVEN_UP.contains(&text.to_lowercase().as_str()) => false,
            None if text.is_empty() || self.right_here.iter().all(|stop| named(stop).is_none()) => {
                return vec![SpokenEffect::Unread(format!(
                    "Please type the number of a step, from 1 to {}, or its title; - if you do not know.",
                    asked.steps.len()
                ))];
            }
            None => self.right_here.iter().any(|stop| named(stop) == Some(true)),
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
    fn told(
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

    fn before_and_after(&self, mended: Option<&crate::routine::World>) -> Vec<String> {
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

    pub(super) fn ask_mend(&mut self, now: Millis) -> Vec<SpokenEffect> {
        self.since = now;
        self.mend_prompt(now);
        let speech = words::prompter("Which mend, and with which words?");
        let mut effects = vec![SpokenEffect::Play(Sound::Ask)];
        effects.extend(self.say(vec![speech]));
        effects
    }

    fn mend_prompt(&mut self, now: Millis) {
        let Some(case) = self.case().cloned() else {
            return;
        };
        let scene = Scene {
            routine: self.ground.routine(),
            world: &self.mending.real,
        };
        let mut seen = telling::seen_of(&self.ground, &case, &self.astray);
        seen.extend(self.mending.seen.iter().cloned());
        let asked = MendAsked {
            along: self.along(now, None),
            stop: case.stop,
            told: self.ground.told(&case),
            seen,
            mends: self
                .ground
                .routine()
                .mends
                .iter()
                .map(|mend| {
                    (
                        mend.id.to_string(),
                        acts_in_words(scene, &mend.acts),
                        mend.say.open(),
                    )
                })
                .collect(),
        };
        self.phase = Phase::Mend(asked);
    }

    /// The pile meant where none is named: the one that the stray happened to, or else the one that holds most.
    fn usual_pile(&self) -> PileId {
        let own = self.case().and_then(|case| case.piles.first().copied());
        let table = &self.mending.real.table;
        own.unwrap_or_else(|| {
            let mut most = (0, PileId(0));
            for (pile, cards) in table.piles() {
                if cards.len() > most.0 {
                    most = (cards.len(), pile);
                }
            }
            most.1
        })
    }

    fn keyed(&self, text: &str) -> Result<Vec<Keyed>, String> {
        let plain = text.trim().to_lowercase();
        if NOTHING.contains(&plain.as_str()) || GIVEN_UP.contains(&plain.as_str()) {
            return Ok(Vec::new());
        }
        let sizes =
            |pile: PileId| u16::try_from(self.mending.real.table.size(pile)).unwrap_or(u16::MAX);
        let reading = Reading {
            routine: &self.routine,
            usual: self.usual_pile(),
            sizes: &sizes,
        };
        read(reading, text)
    }

    pub(super) fn mended(&mut self, text: &str, now: Millis) -> Vec<SpokenEffect> {
        let unread = |how: String| vec![SpokenEffect::Unread(how)];
        let mut keyed = match self.keyed(text) {
            Ok(keyed) => keyed,
            Err(how) => return unread(how),
        };
        let looks = match keyed.last() {
            Some(Keyed::Look(look)) => Some(*look),
            Some(Keyed::Do(_)) | None => None,
        };
        if looks.is_some() {
            keyed.pop();
        }
        let mut deeds: Vec<Deed> = Vec::with_capacity(keyed.len());
        for one in keyed {
            match one {
                Keyed::Do(deed) => deeds.push(deed),
                Keyed::Look(_) => {
                    return unread(
                        "Key a look last: what it shows is told, and then the rest is asked for."
                            .to_owned(),
                    );
                }
            }
        }
        let after = match tables::all_done(&self.ground, &self.mending.real, &deeds) {
            Ok(after) => after,
            Err(fault) => return unread(format!("That cannot be done here: {fault}.")),
        };
        match looks {
            Some(look) => self.looks(look, (text, &deeds, after), now),
            None => self.made(text, &deeds, after, now),
        }
    }

    /// A look, after what was keyed before it.
    fn looks(
        &mut self,
        at: Look,
        (text, deeds, after): (&str, &[Deed], crate::routine::World),
        now: Millis,
    ) -> Vec<SpokenEffect> {
        let sights: Vec<Sight> = match at {
            Look::Mend(mend) => self
                .ground
                .routine()
                .mends
                .get(mend)
                .map_or_else(Vec::new, |mend| mend.looks.clone()),
            Look::Card(pile, place) => vec![Sight {
                kind: SightKind::Card {
                    pile,
                    at: Expr::number(i64::from(place.0)),
                },
                line: 0,
            }],
        };
        let mut tables = Vec::with_capacity(self.mending.tables.len());
        for table in &self.mending.tables {
            match tables::all_done(&self.ground, table, deeds) {
                Ok(done) => tables.push(done),
                Err(_) => {
                    return vec![SpokenEffect::Unread(
                        "On some table that fits what you saw that cannot be done.".to_owned(),
                    )];
                }
            }
        }
        let (shown, fitting) = tables::look(&self.ground, &after, &tables, &sights);
        if shown.is_empty() {
            return vec![SpokenEffect::Unread(
                "There is nothing to see there.".to_owned(),
            )];
        }
        let scene = Scene {
            routine: self.ground.routine(),
            world: &after,
        };
        let lines: Vec<String> = shown
            .iter()
            .map(|one| looked(scene, &sights, one))
            .collect();
        self.mending.seen.extend(lines.iter().cloned());
        self.mending.given.push(text.trim().to_owned());
        self.mending.real = after;
        self.mending.tables = fitting;
        self.mend_prompt(now);
        self.say(vec![words::prompter(&lines.join(" "))])
    }

    /// What was keyed is done, and marked.
    fn made(
        &mut self,
        text: &str,
        deeds: &[Deed],
        after: crate::routine::World,
        now: Millis,
    ) -> Vec<SpokenEffect> {
        let Some(case) = self.case().cloned() else {
            return Vec::new();
        };
        let worth = tables::worth(
            &self.ground,
            &self.mending.real,
            &self.mending.tables,
            deeds,
        );
        let right = worth == Worth::Safe;
        let sure = match &self.astray.verdict {
            Verdict::Mend(plan) => telling::plan(&self.ground, &self.astray.real, plan),
            Verdict::Safe | Verdict::Out(_) | Verdict::Lost { .. } | Verdict::Undecided => {
                "nothing".to_owned()
            }
        };
        self.mending.given.push(text.trim().to_owned());
        let given = self.mending.given.join("; ");
        let question = format!("{} What makes it safe?", self.ground.told(&case));
        let detail = chance::name_of(&self.ground, &case);
        let kept = Kept {
            kind: Kind::Mend,
            stop: case.stop,
            detail,
            question: &question,
            expected: &sure,
            given: &given,
            right,
        };
        let effect = self.keep(&kept, now);
        let fit = self.mending.tables.len();
        let tables = match fit {
            1 => "the one table that fits what you saw".to_owned(),
            n => format!("all {n} tables that fit what you saw"),
        };
        let mut lines = match worth {
            Worth::Safe => vec![format!("Safe now, on {tables}.")],
            Worth::Luck => vec![format!(
                "It happens to be safe on the cards that lie here, but not on {tables}. That is luck."
            )],
            Worth::Not => vec!["That does not make it safe.".to_owned()],
        };
        match worth {
            Worth::Safe => {
                let said: Vec<String> = deeds
                    .iter()
                    .filter_map(|deed| match deed {
                        Deed::Mend(n) => self.routine.mends.get(*n),
                        Deed::Move(_) => None,
                    })
                    .map(|mend| format!("With: “{}”", mend.say.open()))
                    .collect();
                lines.extend(said);
            }
            Worth::Luck | Worth::Not => lines.push(format!("Sure is: {sure}.")),
        }
        let packets = self.before_and_after((!deeds.is_empty()).then_some(&after));
        self.mending.real = after;
        self.told(effect, right, (lines, packets), Then::Onward, now)
    }
}
