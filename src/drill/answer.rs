//! Working out the answer to a question on one table, and whether it is known.

use super::question::{Expected, Subject};
use crate::cards::{Card, Class, TraitId};
use crate::knowing::{Knowledge, Known};
use crate::routine::{Fault, NameId, Reckoning, Routine, Scene, StopIndex, Value};
use crate::table::{Laid, PileId, Place};

/// The first card of the pack that looks like this one.
pub(super) fn lookalike(routine: &Routine, card: Card) -> Card {
    routine
        .pack
        .face(card)
        .and_then(|face| routine.pack.first_of(face))
        .unwrap_or(card)
}

fn missing(what: &str) -> Fault {
    Fault::Value(what.to_owned())
}

fn laid(scene: Scene<'_>, pile: PileId, place: Place) -> Result<Laid, Fault> {
    scene
        .world
        .table
        .at(pile, place)
        .ok_or_else(|| missing("no card lies there"))
}

fn class_at(scene: Scene<'_>, pile: PileId, place: Place, of: TraitId) -> Result<Class, Fault> {
    scene
        .class(laid(scene, pile, place)?.card(), of)?
        .ok_or_else(|| missing("the trait does not apply"))
}

fn place_of(scene: Scene<'_>, card: Card) -> Result<(PileId, Place), Fault> {
    scene
        .world
        .table
        .find(card)
        .ok_or_else(|| missing("the card is not on the table"))
}

/// The card on the table that a remembered name stands for.
fn remembered_card(scene: Scene<'_>, name: NameId) -> Result<Card, Fault> {
    match scene.world.value(name) {
        Some(Value::Card(card)) => Ok(*card),
        Some(_) | None => Err(missing("no card is remembered under this name")),
    }
}

fn number(n: usize) -> Expected {
    Expected::Number(i64::try_from(n).unwrap_or(i64::MAX))
}

/// A value as an answer; interleavings and chunks are nothing that people name.
pub(super) fn value_answer(scene: Scene<'_>, value: &Value) -> Result<Expected, Fault> {
    Ok(match value {
        Value::Int(n) => Expected::Number(*n),
        Value::Bool(yes) => Expected::Yes(*yes),
        Value::Text(word) => Expected::Word(word.to_string()),
        Value::Card(card) => Expected::Card(lookalike(scene.routine, scene.print(*card)?)),
        Value::Pile(pile) => Expected::Pile(*pile),
        Value::Order(piles) => Expected::Order(piles.to_vec()),
        Value::Places(places) => Expected::Places(places.to_vec()),
        Value::Weave(_) | Value::Chunks(_) => return Err(missing("nothing that people name")),
    })
}

impl Subject {
    /// Whether the question can be put on this table: a question that supposes what a card shows is only about the
    /// tables on which it shows that.
    #[must_use]
    pub fn applies(&self, scene: Scene<'_>) -> bool {
        match self {
            Self::Follows {
                pile,
                class,
                shown,
                shows,
                ..
            } => class_at(scene, *pile, *shown, *class).is_ok_and(|found| found == *shows),
            Self::CardAt(..)
            | Self::TraitAt(..)
            | Self::FacingAt(..)
            | Self::WhereIs(_)
            | Self::PileOf(_)
            | Self::WhereTheirs(_)
            | Self::PileOfTheirs(_)
            | Self::HowMany(_)
            | Self::FaceUp(_)
            | Self::Pattern { .. }
            | Self::Claim(..)
            | Self::Next
            | Self::Remembered(_)
            | Self::Line(_) => true,
        }
    }

    /// The answer on this table.
    ///
    /// # Errors
    /// When it cannot be worked out there: no such card or place, a trait that does not apply, a face that is not fixed.
    pub fn answer(&self, scene: Scene<'_>) -> Result<Expected, Fault> {
        let routine = scene.routine;
        Ok(match self {
            Self::CardAt(pile, place) => {
                let print = scene.print(laid(scene, *pile, *place)?.card())?;
                Expected::Card(lookalike(routine, print))
            }
            Self::TraitAt(pile, place, of) => {
                Expected::Class(*of, class_at(scene, *pile, *place, *of)?)
            }
            Self::FacingAt(pile, place) => Expected::Facing(laid(scene, *pile, *place)?.face_up()),
            Self::WhereIs(print) => {
                let (pile, place) = place_of(scene, scene.bearing(*print)?)?;
                Expected::Place(pile, place)
            }
            Self::PileOf(print) => Expected::Pile(place_of(scene, scene.bearing(*print)?)?.0),
            Self::WhereTheirs(name) => {
                let (pile, place) = place_of(scene, remembered_card(scene, *name)?)?;
                Expected::Place(pile, place)
            }
            Self::PileOfTheirs(name) => {
                Expected::Pile(place_of(scene, remembered_card(scene, *name)?)?.0)
            }
            Self::HowMany(pile) => number(scene.world.table.size(*pile)),
            Self::FaceUp(pile) => number(
                scene
                    .world
                    .table
                    .pile(*pile)
                    .iter()
                    .filter(|laid| laid.face_up())
                    .count(),
            ),
            Self::Pattern {
                pile,
                class,
                places,
            } => {
                // A pile that holds more, or fewer, than asked for shows nothing of the kind.
                let classes: Result<Vec<Class>, Fault> = (1..=*places)
                    .map(|n| class_at(scene, *pile, Place(n), *class))
                    .collect();
                Expected::Pattern(*class, classes?)
            }
            Self::Follows {
                pile, class, asked, ..
            } => Expected::Class(*class, class_at(scene, *pile, *asked, *class)?),
            Self::Claim(stop, index) => {
                let claim = routine
                    .stop(*stop)
                    .and_then(|stop| stop.claims.get(*index))
                    .ok_or_else(|| missing("no such claim"))?;
                Expected::Yes(claim.kind.holds(scene)?)
            }
            Self::Next => Expected::Step(scene.world.at),
            Self::Remembered(name) => {
                let value = match worked_out_next(scene.routine, scene.world.at, *name) {
                    Some(made) => made.is.value(scene)?,
                    None => scene
                        .world
                        .value(*name)
                        .cloned()
                        .ok_or_else(|| missing("nothing is remembered"))?,
                };
                value_answer(scene, &value)?
            }
            Self::Line(stop) => Expected::Line(line(scene, *stop)?),
        })
    }
}

/// The reckoning of this name at the stop that comes next, where the performer has all that it needs before that step begins:
/// nobody chooses there, and it looks at no other reckoning of the same step.
#[must_use]
pub(super) fn worked_out_next(
    routine: &Routine,
    next: StopIndex,
    name: NameId,
) -> Option<&Reckoning> {
    let stop = routine
        .stop(next)
        .filter(|stop| stop.fork.is_none() && !stop.theirs)?;
    let made = stop.reckonings.iter().find(|made| made.name == name)?;
    let reads = &made.is.reads().names;
    let alone = stop
        .reckonings
        .iter()
        .all(|other| !reads.contains(&other.name));
    alone.then_some(made)
}

/// The patter of a stop with its blanks filled from this table, spaces made single.
pub(super) fn line(scene: Scene<'_>, stop: StopIndex) -> Result<String, Fault> {
    let stop = scene
        .routine
        .stop(stop)
        .ok_or_else(|| missing("no such step"))?;
    let text = stop.say.render(scene)?;
    Ok(text.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// The answer, if the performer can know it: the same on every table that fits what was seen and that the question is about.
#[must_use]
pub(super) fn known_answer(
    routine: &Routine,
    knowledge: &Knowledge,
    subject: &Subject,
) -> Option<Expected> {
    if let Subject::Follows { .. } = subject {
        return known_where_it_applies(routine, knowledge, subject);
    }
    let watch = subject.watch(routine);
    let claim = match subject {
        Subject::Claim(stop, index) => routine.stop(*stop).and_then(|stop| stop.claims.get(*index)),
        _ => None,
    };
    let known = match claim {
        // A claim may look at more cards than can be tried one by one.
        Some(claim) => match knowledge.holds(routine, watch, &claim.kind) {
            Known::Same(holds) => Known::Same(Expected::Yes(holds)),
            Known::Differs => Known::Differs,
            Known::TooMany => Known::TooMany,
        },
        None => knowledge.known(routine, watch, |scene| subject.answer(scene)),
    };
    match known {
        Known::Same(expected) => Some(expected),
        Known::Differs | Known::TooMany => None,
    }
}

fn known_where_it_applies(
    routine: &Routine,
    knowledge: &Knowledge,
    subject: &Subject,
) -> Option<Expected> {
    let mut found: Option<Expected> = None;
    for world in knowledge.worlds_for(subject.watch(routine))? {
        let scene = Scene { routine, world };
        // A face that is not fixed there could be anything.
        if let Subject::Follows {
            pile, class, shown, ..
        } = subject
        {
            class_at(scene, *pile, *shown, *class).ok()?;
        }
        if !subject.applies(scene) {
            continue;
        }
        let answer = subject.answer(scene).ok()?;
        match &found {
            None => found = Some(answer),
            Some(first) if *first == answer => {}
            Some(_) => return None,
        }
    }
    found
}
