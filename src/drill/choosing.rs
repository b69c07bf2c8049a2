//! Which question comes next, and its words.

use super::asking::Moment;
use super::question::{Drill, Expected, Key, Kind, Question, Spot, Subject};
use super::say;
use super::session::Session;
use super::sighting::{Stated, sightings};
use super::wording;
use crate::roads::choice_label;
use crate::routine::{StepId, StopIndex};

impl Session {
    /// Something new to ask at this moment: the drill asked least so far, then the kind asked least, ties by lot.
    pub(super) fn next_question(&mut self) -> Option<Question> {
        let mut drills = self.plan.drills.clone();
        drills.sort_unstable();
        drills.dedup();
        self.draw.shuffle(&mut drills);
        let drill_count =
            |drill: &Drill| self.asked_kinds.iter().filter(|(d, _)| d == drill).count();
        drills.sort_by_key(drill_count);
        // New questions first; then those that were asked on an earlier road.
        for repeat in [false, true] {
            for drill in &drills {
                let mut kinds = Moment::kinds(*drill).to_vec();
                self.draw.shuffle(&mut kinds);
                kinds
                    .sort_by_key(|kind| self.asked_kinds.iter().filter(|(_, k)| k == kind).count());
                for kind in kinds {
                    if let Some(question) = self.question_of(*drill, kind, repeat) {
                        return Some(question);
                    }
                }
            }
        }
        None
    }

    pub(super) fn question_of(
        &mut self,
        drill: Drill,
        kind: Kind,
        repeat: bool,
    ) -> Option<Question> {
        let moment = self.walk.moment(&self.routine);
        let (last, before) = (&self.last, &self.asked_before);
        let found = moment.find(kind, &mut self.draw, |subject| {
            let key = key(&moment, drill, kind, subject);
            *last != Some((key.step.clone(), kind)) && (repeat || !before.contains(&key))
        });
        let (subject, expected) = found?;
        let so_far = SoFar {
            seed: self.walk.road.seed,
            road: self.walk.number,
            choices: &self.walk.choices,
            given: &self.walk.given,
        };
        Some(worded(&moment, so_far, (drill, kind), subject, expected))
    }
}

/// What has been told of a road so far.
#[derive(Debug, Clone, Copy)]
pub(super) struct SoFar<'a> {
    /// The seed of the road.
    pub seed: u64,
    /// Which road of the session, from 1.
    pub road: u32,
    /// The choices that were told, each as `--choose` takes it.
    pub choices: &'a [String],
    /// What was seen and heard.
    pub given: &'a [Stated],
}

/// A question in words.
pub(super) fn worded(
    moment: &Moment<'_>,
    so_far: SoFar<'_>,
    (drill, kind): (Drill, Kind),
    subject: Subject,
    expected: Expected,
) -> Question {
    let routine = moment.routine;
    let one_pile = moment.one_pile();
    let mut choices = so_far.choices.to_vec();
    let mut given = so_far.given.to_vec();
    let mut sights = moment.sights.to_vec();
    // A line goes with what is chosen at its own step.
    if let (Kind::Line, Some(next)) = (kind, moment.next()) {
        choices.extend(choice_label(routine, next));
        given.extend(sightings(routine, next));
        sights.extend(next.sights.iter().cloned());
    }
    // What is to be remembered is not written beside the question.
    let withheld = match (&subject, kind) {
        (Subject::Remembered(name), Kind::Chosen | Kind::Reply) => Some(*name),
        (_, _) => None,
    };
    let given = given
        .into_iter()
        .filter(|said| withheld.is_none() || said.tells != withheld)
        .map(|said| said.text)
        .collect();
    let frame = wording::Frame {
        one_pile,
        size: moment.known_size(&subject),
        first: moment.done == 0,
    };
    let place = moment.last().or(moment.next());
    Question {
        key: key(moment, drill, kind, &subject),
        text: wording::question(routine, &subject, frame),
        answer_as: say::answer_as(routine, &expected, one_pile),
        given,
        expected_words: say::expected(routine, &expected),
        expected_keys: say::keys(routine, &expected),
        expected,
        subject,
        spot: Spot {
            road: so_far.road,
            stop: place.map_or(StopIndex(0), |walked| walked.stop),
            visit: place.map_or(1, |walked| walked.visit),
            done: moment.done,
        },
        sights,
        seed: so_far.seed,
        choices,
        one_pile,
        again: false,
    }
}

/// What makes a question at this moment the same as another.
pub(super) fn key(moment: &Moment<'_>, drill: Drill, kind: Kind, subject: &Subject) -> Key {
    let routine = moment.routine;
    let next = || moment.next().map(|walked| walked.stop);
    let stop = match subject {
        Subject::Next | Subject::Line(_) => next(),
        Subject::Remembered(name) => say::made_at(routine, *name).map(|(stop, _)| stop),
        _ => moment.last().map(|walked| walked.stop).or_else(next),
    };
    let step = stop
        .and_then(|stop| routine.stop(stop))
        .map_or_else(|| StepId("".into()), |stop| stop.id.clone());
    Key {
        step,
        drill,
        kind,
        detail: say::detail(routine, subject),
    }
}
