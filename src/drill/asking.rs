//! Finding something fair to ask at a moment of a road.

use super::answer::{known_answer, line, value_answer};
use super::heard::open_line;
use super::question::{Drill, Expected, Kind, Subject};
use crate::knowing::Knowledge;
use crate::roads::{Draw, Sighted, Walked};
use crate::routine::{ForkKind, NameId, Routine, Scene, StopIndex, Then, Value, World};
use crate::table::PileId;

/// The most tables listed while working out what is known: enough for two hidden cuts of a full deck one after the
/// other (2,704) or a hidden riffle of seven cards into seven (3,432), and few enough for the next question to be there at
/// once. Beyond it, knowing keeps only what the question looks at; where that is too much too, nothing is asked.
pub const MOST_TABLES: usize = 10_000;

/// The longest pattern asked for; of a larger pile its top cards.
pub const LONGEST_PATTERN: u16 = 12;

/// So many subjects of one kind are tried before another kind has its turn.
const TRIES: usize = 24;

/// A moment of a road: some stops done, the next not begun.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moment<'a> {
    pub routine: &'a Routine,
    pub walked: &'a [Walked],
    pub done: usize,
    pub knowledge: &'a Knowledge,
    pub sights: &'a [Sighted],
}

impl<'a> Moment<'a> {
    /// The state now. The road's own; what may be asked of it is for knowing to say.
    pub fn world(&self) -> Option<&'a World> {
        match self.done.checked_sub(1) {
            Some(last) => self.walked.get(last).map(|walked| &walked.after),
            None => self.walked.first().map(|walked| &walked.before),
        }
    }

    pub fn last(&self) -> Option<&'a Walked> {
        self.walked.get(self.done.checked_sub(1)?)
    }

    pub fn next(&self) -> Option<&'a Walked> {
        self.walked.get(self.done)
    }

    /// Whether everything lies in one pile, as far as the performer can know.
    pub fn one_pile(&self) -> bool {
        let Some(world) = self.world() else {
            return false;
        };
        let full: Vec<PileId> = world
            .table
            .piles()
            .filter(|(_, cards)| !cards.is_empty())
            .map(|(pile, _)| pile)
            .collect();
        full.len() == 1
            && full.iter().all(|pile| {
                known_answer(self.routine, self.knowledge, &Subject::HowMany(*pile)).is_some()
            })
    }

    /// The kinds of question of a drill, in no order.
    pub fn kinds(drill: Drill) -> &'static [Kind] {
        match drill {
            Drill::Picture => &[
                Kind::Card,
                Kind::Trait,
                Kind::Facing,
                Kind::Where,
                Kind::Pile,
                Kind::Count,
                Kind::FaceUp,
                Kind::Pattern,
                Kind::Follows,
                Kind::Claim,
            ],
            Drill::Order => &[Kind::Next],
            Drill::Reckon => &[Kind::Reckoning, Kind::Chosen, Kind::Reply],
            Drill::Lines => &[Kind::Line],
            Drill::Hands | Drill::Dress | Drill::Rescue => &[],
        }
    }

    /// Something fair to ask of this kind that `wanted` lets pass, with its answer.
    pub fn find(
        &self,
        kind: Kind,
        draw: &mut Draw,
        wanted: impl Fn(&Subject) -> bool,
    ) -> Option<(Subject, Expected)> {
        self.candidates(kind, draw)
            .into_iter()
            .filter(wanted)
            .take(TRIES)
            .find_map(|subject| {
                let expected = self.fair(&subject)?;
                self.worth_asking(&subject, &expected)
                    .then_some((subject, expected))
            })
    }

    /// The answer, if the performer can know it.
    pub fn fair(&self, subject: &Subject) -> Option<Expected> {
        if !matches!(subject, Subject::Line(_))
            && let Some(known) = known_answer(self.routine, self.knowledge, subject)
        {
            return Some(known);
        }
        // What was said aloud is known, however many tables fit.
        match subject {
            Subject::Remembered(name) => self.heard(*name),
            Subject::Line(stop) => self.next_line(*stop),
            Subject::Next => match self.last().and_then(|last| self.routine.stop(last.stop)) {
                Some(stop) => match stop.then {
                    Then::Go(at) => Some(Expected::Step(at)),
                    Then::Gate { .. } | Then::Endings | Then::Finish => None,
                },
                None => None,
            },
            _ => None,
        }
    }

    /// The patter of the next stop, as it is after what is chosen there.
    fn next_line(&self, stop: StopIndex) -> Option<Expected> {
        let next = self.next().filter(|next| next.stop == stop)?;
        let heard: Vec<Sighted> = self.sights.iter().chain(&next.sights).cloned().collect();
        let scene = Scene {
            routine: self.routine,
            world: &next.after,
        };
        if open_line(self.routine, &heard, self.routine.stop(stop)?) {
            return line(scene, stop).ok().map(Expected::Line);
        }
        let mut knowledge = self.knowledge.clone();
        knowledge.follow(self.routine, next);
        known_answer(self.routine, &knowledge, &Subject::Line(stop))
    }

    /// How many cards the pile holds that a question is about, if that is known.
    pub fn known_size(&self, subject: &Subject) -> Option<usize> {
        let pile = match subject {
            Subject::CardAt(pile, _)
            | Subject::TraitAt(pile, ..)
            | Subject::FacingAt(pile, _)
            | Subject::Pattern { pile, .. }
            | Subject::Follows { pile, .. } => *pile,
            Subject::WhereIs(_)
            | Subject::PileOf(_)
            | Subject::WhereTheirs(_)
            | Subject::PileOfTheirs(_)
            | Subject::HowMany(_)
            | Subject::FaceUp(_)
            | Subject::Claim(..)
            | Subject::Next
            | Subject::Remembered(_)
            | Subject::Line(_) => return None,
        };
        match known_answer(self.routine, self.knowledge, &Subject::HowMany(pile)) {
            Some(Expected::Number(n)) => usize::try_from(n).ok(),
            Some(_) | None => None,
        }
    }

    fn heard(&self, name: NameId) -> Option<Expected> {
        let scene = Scene {
            routine: self.routine,
            world: self.world()?,
        };
        let remembered = scene.world.value(name)?;
        let said = self.sights.iter().rev().find_map(|sighted| match sighted {
            Sighted::Choice(of, value) | Sighted::Reply(of, value) if *of == name => Some(value),
            _ => None,
        })?;
        (said == remembered)
            .then(|| value_answer(scene, remembered).ok())
            .flatten()
    }

    /// Leaves out what anybody could say without thinking.
    fn worth_asking(&self, subject: &Subject, expected: &Expected) -> bool {
        match (subject, expected) {
            // A pattern of one class only is no pattern.
            (_, Expected::Pattern(_, classes)) => classes.iter().any(|class| *class != classes[0]),
            // If the other place is known anyway, nothing has to follow.
            (
                Subject::Follows {
                    pile, class, asked, ..
                },
                _,
            ) => known_answer(
                self.routine,
                self.knowledge,
                &Subject::TraitAt(*pile, *asked, *class),
            )
            .is_none(),
            // The trait of a card that is known is asked for as the card.
            (Subject::TraitAt(pile, place, _), _) => known_answer(
                self.routine,
                self.knowledge,
                &Subject::CardAt(*pile, *place),
            )
            .is_none(),
            // With everything in one pile there is nothing to choose from.
            // Nor where the spectator has just said which pile it is.
            (Subject::PileOf(_) | Subject::PileOfTheirs(_), _) => {
                !self.one_pile()
                    && !self.just_seen(|saw| matches!(saw, Sighted::Reply(_, Value::Pile(_))))
            }
            (_, Expected::Word(word) | Expected::Line(word)) => !word.is_empty(),
            (_, Expected::Step(stop)) => self.routine.stop(*stop).is_some_and(|stop| {
                !stop.title.is_empty()
                    && !stop
                        .fork
                        .as_ref()
                        .is_some_and(|fork| matches!(fork.kind, ForkKind::Again { .. }))
            }),
            (_, Expected::Order(piles)) => piles.len() > 1,
            // What the next step is to bring about and holds already is no news.
            (Subject::Claim(stop, _), Expected::Yes(true)) => self
                .walked
                .iter()
                .take(self.done)
                .any(|walked| walked.stop == *stop),
            (_, _) => true,
        }
    }
}
