//! After an answer: the real line, the correction of a miss, and the question that comes back.

use super::asking::Moment;
use super::doing;
use super::marking::GIVEN_UP;
use super::patter::differences;
use super::prompt::{Correction, Line};
use super::question::{Drill, Expected, Question, Subject};
use super::session::{Asked, Phase, Returning, Session};
use super::tile::{Spread, spreads};
use super::why::why;
use std::sync::Arc;

/// A missed question comes back after at least so many others.
const BACK_AFTER: u32 = 3;
/// And after at most so many more.
const BACK_WITHIN: u32 = 3;

impl Session {
    pub(super) fn line(&self, question: &Question, line: &str, typed: &str) -> Line {
        let mut heard = question.sights.clone();
        let handling = self
            .walk
            .next()
            .filter(|next| Subject::Line(next.stop) == question.subject)
            .or_else(|| {
                self.walk
                    .road
                    .walked
                    .iter()
                    .find(|walked| Subject::Line(walked.stop) == question.subject)
            })
            .map_or_else(Vec::new, |next| {
                heard.extend(next.sights.iter().cloned());
                doing::handling(&self.routine, next, &heard)
            });
        let aloud = typed.is_empty();
        Line {
            question: question.clone(),
            line: line.to_owned(),
            handling,
            words: if aloud {
                Vec::new()
            } else {
                differences(typed, line)
            },
            aloud,
        }
    }

    pub(super) fn correct(&mut self, asked: &Asked, text: &str) {
        let routine = &Arc::clone(&self.routine);
        let question = asked.question.clone();
        let words = match &question.expected {
            Expected::Line(line) if !GIVEN_UP.contains(&text.trim().to_lowercase().as_str()) => {
                differences(text, line)
            }
            _ => Vec::new(),
        };
        self.come_back(asked);
        self.phase = Phase::Correct(Correction {
            given: text.trim().to_owned(),
            expected: question.expected.clone(),
            answer: question.expected_words.clone(),
            why: why(routine, &question, &asked.done),
            packet: asked.packet.clone(),
            words,
            question,
        });
    }

    /// A missed question comes back once, after a few others.
    pub(super) fn come_back(&mut self, asked: &Asked) {
        if asked.question.again {
            return;
        }
        self.note_miss(asked);
        let mut due = self.answered()
            + BACK_AFTER
            + u32::try_from(self.draw.below(u64::from(BACK_WITHIN) + 1)).unwrap_or(0);
        let latest = self.answered() + BACK_AFTER + BACK_WITHIN;
        // Two that come back do not come in one go, if that can be helped.
        while due < latest && self.returning.iter().any(|back| back.due == due) {
            due += 1;
        }
        let mut question = asked.question.clone();
        question.again = true;
        self.returning.push(Returning {
            due,
            question,
            done: asked.done.clone(),
            packet: asked.packet.clone(),
        });
    }
}

/// The piles that a question is about, as they are known at the moment it is asked.
pub(super) fn packet(question: &Question, moment: &Moment<'_>) -> Vec<Spread> {
    match question.key.drill {
        Drill::Picture => {}
        Drill::Order
        | Drill::Reckon
        | Drill::Lines
        | Drill::Hands
        | Drill::Dress
        | Drill::Rescue => {
            return Vec::new();
        }
    }
    let Some(world) = moment.world() else {
        return Vec::new();
    };
    let of = match (&question.subject, &question.expected) {
        (
            Subject::CardAt(pile, _)
            | Subject::TraitAt(pile, ..)
            | Subject::FacingAt(pile, _)
            | Subject::HowMany(pile)
            | Subject::FaceUp(pile)
            | Subject::Pattern { pile, .. }
            | Subject::Follows { pile, .. },
            _,
        )
        | (_, Expected::Place(pile, _) | Expected::Pile(pile)) => Some(*pile),
        (_, _) => None,
    };
    let mut spreads = spreads(moment.routine, moment.knowledge, world);
    if let Some(of) = of {
        spreads.retain(|spread| spread.pile == of);
    }
    spreads
}
