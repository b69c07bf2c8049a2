//! Now and then a question that busy hands answer with one or two keys.

use super::{Hands, Phase};
use crate::drill::asking::Moment;
use crate::drill::choosing::{SoFar, key, worded};
use crate::drill::marking::{Mark, mark};
use crate::drill::prompt::Answered;
use crate::drill::question::{Drill, Expected, Kind, Question, Subject};
use crate::drill::spoken::prompt::{HandMarked, HandQuestion, Sound, SpokenEffect};
use crate::drill::spoken::words;
use crate::drill::summary::Given;
use crate::drill::why::why;
use crate::routine::{Millis, Routine, capital};
use std::sync::Arc;

/// One step in so many is followed by a question.
const ONE_IN: u64 = 3;
/// The longest answer that busy hands can type.
const MOST_KEYS: usize = 2;

impl Hands {
    /// Now and then a question; else the next step.
    pub(super) fn after_step(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let due = self.drill == Drill::Hands
            && self.road.next.is_some()
            && (self.draw.below(ONE_IN) == 0
                || self.asked_here == 0 && self.road.walked.len() * 2 > self.road.likely);
        if due && let Some((question, keys)) = self.question() {
            self.asked_before.insert(question.key.clone());
            self.asked_here += 1;
            self.since = now;
            let asks = words::prompter(&question.text);
            self.phase = Phase::Ask(HandQuestion {
                along: self.along(now, None),
                question,
                keys,
            });
            let mut effects = vec![SpokenEffect::Play(Sound::Ask)];
            effects.extend(self.say(vec![asks]));
            return effects;
        }
        self.next_step(now)
    }

    /// Something fair to ask that one or two keys answer, and how many.
    pub(super) fn question(&mut self) -> Option<(Question, usize)> {
        let routine = Arc::clone(&self.routine);
        let mut kinds: Vec<Kind> = [Drill::Picture, Drill::Reckon]
            .into_iter()
            .flat_map(Moment::kinds)
            .copied()
            .collect();
        self.draw.shuffle(&mut kinds);
        let moment = self.road.moment(&routine);
        let so_far = SoFar {
            seed: self.road.seed,
            road: self.road.number,
            choices: &self.road.choices,
            given: &self.road.given,
        };
        let (before, drill) = (&self.asked_before, self.drill);
        for kind in kinds {
            let found = moment.find(kind, &mut self.draw, |subject| {
                !before.contains(&key(&moment, drill, kind, subject))
            });
            let Some((subject, expected)) = found else {
                continue;
            };
            let question = worded(&moment, so_far, (drill, kind), subject, expected);
            if let Some(keys) = keys(&routine, &question) {
                return Some((question, keys));
            }
        }
        None
    }

    pub(super) fn mark(
        &mut self,
        question: Question,
        text: &str,
        now: Millis,
    ) -> Vec<SpokenEffect> {
        let right = match mark(&self.routine, &question, text) {
            Mark::Unread => {
                let please = format!("Please answer with {}.", question.answer_as);
                let mut effects = self.say(vec![words::prompter(&please)]);
                effects.push(SpokenEffect::Unread(format!(
                    "{please} If you do not know, type -"
                )));
                return effects;
            }
            Mark::Right => true,
            Mark::Wrong => false,
        };
        let took = Millis(now.0.saturating_sub(self.since.0));
        self.asked += 1;
        self.answers.push(Given {
            step: question.key.step.clone(),
            drill: self.drill,
            kind: question.key.kind,
            right,
            again: false,
            total: took,
        });
        let mut effects = vec![SpokenEffect::Keep(Answered::to(
            &self.routine,
            &question,
            text,
            right,
            (took, took),
        ))];
        if right {
            effects.push(SpokenEffect::Play(Sound::Right));
            effects.extend(self.next_step(now));
            return effects;
        }
        let answer = stated(&question);
        let why = self.why(&question);
        let told = words::prompter(format!("{answer} {why}").trim_end());
        self.phase = Phase::Marked(HandMarked {
            along: self.along(now, None),
            question,
            given: text.trim().to_owned(),
            right,
            answer,
            why,
        });
        effects.push(SpokenEffect::Play(Sound::Wrong));
        effects.extend(self.say(vec![told]));
        effects
    }

    /// Why an answer is right. Which step brought it about can be told only where every step was told: after a cut by feel it may
    /// have been the cut on one table and an earlier step on another.
    fn why(&self, question: &Question) -> String {
        match &question.subject {
            Subject::Remembered(_) | Subject::Next | Subject::Line(_) => {}
            Subject::CardAt(..)
            | Subject::TraitAt(..)
            | Subject::FacingAt(..)
            | Subject::WhereIs(_)
            | Subject::PileOf(_)
            | Subject::WhereTheirs(_)
            | Subject::PileOfTheirs(_)
            | Subject::HowMany(_)
            | Subject::FaceUp(_)
            | Subject::Pattern { .. }
            | Subject::Follows { .. }
            | Subject::Claim(..) => {
                if self.road.felt {
                    return String::new();
                }
            }
        }
        why(&self.routine, question, &self.road.walked)
    }
}

/// The right answer as a sentence.
fn stated(question: &Question) -> String {
    let answer = question.expected_words.trim_end_matches('.');
    match &question.expected {
        Expected::Yes(_) | Expected::Facing(_) => format!("{}.", capital(answer)),
        Expected::Card(_)
        | Expected::Class(..)
        | Expected::Place(..)
        | Expected::Number(_)
        | Expected::Pattern(..)
        | Expected::Pile(_)
        | Expected::Step(_)
        | Expected::Order(_)
        | Expected::Places(_)
        | Expected::Word(_)
        | Expected::Line(_) => format!("It is {answer}."),
    }
}

/// With how many keys the answer is whole; `None` where busy hands would have to type more than two.
fn keys(routine: &Routine, question: &Question) -> Option<usize> {
    let whole: Vec<char> = question.expected_keys.chars().collect();
    let right = |n: usize| {
        let text: String = whole.iter().take(n).collect();
        mark(routine, question, &text) == Mark::Right
    };
    let (one, two) = (right(1), right(MOST_KEYS));
    match &question.expected {
        // A wrong answer may have a digit more than the right one.
        Expected::Number(_) | Expected::Place(..) => (one || two).then_some(MOST_KEYS),
        Expected::Card(_)
        | Expected::Class(..)
        | Expected::Facing(_)
        | Expected::Pattern(..)
        | Expected::Pile(_)
        | Expected::Yes(_)
        | Expected::Step(_)
        | Expected::Order(_)
        | Expected::Places(_)
        | Expected::Word(_)
        | Expected::Line(_) => {
            if one {
                Some(1)
            } else {
                two.then_some(MOST_KEYS)
            }
        }
    }
}
