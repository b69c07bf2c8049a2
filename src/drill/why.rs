//! Why an answer is right: the step that brought it about.

use super::question::{Expected, Question, Subject};
use super::say;
use crate::roads::Walked;
use crate::routine::{NameKind, Routine, Scene, World};

fn on(routine: &Routine, world: &World, subject: &Subject) -> Option<Expected> {
    subject.answer(Scene { routine, world }).ok()
}

fn title(routine: &Routine, walked: &Walked) -> String {
    routine
        .stop(walked.stop)
        .map_or_else(String::new, |stop| say::title(routine, stop))
}

/// The last of the steps done after which a subject's answer was another than before.
fn last_change<'a>(
    routine: &Routine,
    done: &'a [Walked],
    changed: impl Fn(&World, &World) -> bool,
) -> Option<&'a Walked> {
    done.iter()
        .rev()
        .find(|walked| changed(&walked.before, &walked.after))
        .filter(|walked| routine.stop(walked.stop).is_some())
}

/// A sentence or two that say why. `done` are the steps done when the question was asked.
pub(super) fn why(routine: &Routine, question: &Question, done: &[Walked]) -> String {
    let subject = &question.subject;
    let answer_changed =
        |before: &World, after: &World| on(routine, before, subject) != on(routine, after, subject);
    match subject {
        Subject::CardAt(pile, place)
        | Subject::FacingAt(pile, place)
        | Subject::TraitAt(pile, place, _) => {
            let card_changed = |before: &World, after: &World| {
                before.table.at(*pile, *place) != after.table.at(*pile, *place)
            };
            after_step(
                routine,
                last_change(routine, done, card_changed),
                &format!(
                    "{} lay {}",
                    match question.expected {
                        Expected::Card(print) => say::card(routine, print),
                        _ => "that card".to_owned(),
                    },
                    say::place(routine, *pile, *place)
                ),
            )
        }
        Subject::WhereIs(_)
        | Subject::PileOf(_)
        | Subject::WhereTheirs(_)
        | Subject::PileOfTheirs(_) => {
            let lay = match &question.expected {
                Expected::Place(pile, place) => say::place(routine, *pile, *place),
                Expected::Pile(pile) => format!("in {}", say::pile(routine, *pile)),
                _ => question.expected_words.clone(),
            };
            after_step(
                routine,
                last_change(routine, done, answer_changed),
                &format!("it lay {lay}"),
            )
        }
        Subject::HowMany(pile) => after_step(
            routine,
            last_change(routine, done, answer_changed),
            &format!("{} held {}", say::pile(routine, *pile), held(question)),
        ),
        Subject::FaceUp(pile) => after_step(
            routine,
            last_change(routine, done, answer_changed),
            &format!(
                "{} of {} lay face up",
                held(question),
                say::pile(routine, *pile)
            ),
        ),
        Subject::Pattern { pile, .. } => after_step(
            routine,
            last_change(routine, done, answer_changed),
            &format!("{} lay so", say::pile(routine, *pile)),
        ),
        Subject::Follows { pile, .. } => {
            let pile_changed =
                |before: &World, after: &World| before.table.pile(*pile) != after.table.pile(*pile);
            after_step(
                routine,
                last_change(routine, done, pile_changed),
                &format!(
                    "{} lies so that the one tells the other, whatever they did",
                    say::pile(routine, *pile)
                ),
            )
        }
        Subject::Claim(..) => {
            let change = last_change(routine, done, answer_changed);
            let was_true = change.is_some_and(|walked| {
                on(routine, &walked.before, subject) == Some(Expected::Yes(true))
            });
            match (&question.expected, change) {
                (Expected::Yes(true), Some(_)) => after_step(routine, change, "it became true"),
                (Expected::Yes(true), None) => "It has been true from the start.".to_owned(),
                (_, Some(_)) if was_true => after_step(routine, change, "it was no longer true"),
                (_, _) => "It has not come about yet.".to_owned(),
            }
        }
        Subject::Next => match done.last() {
            Some(last) => format!(
                "After {} comes {}.",
                title(routine, last),
                question.expected_words
            ),
            None => format!("The routine begins with {}.", question.expected_words),
        },
        Subject::Remembered(name) => {
            let made = say::made_at(routine, *name);
            let kind = routine.names.get(name.index()).map(|name| name.kind);
            match (made, kind) {
                (Some((_, stop)), Some(NameKind::Reckoning)) => match &stop.hint {
                    Some(hint) => format!("At {}: {}", say::title(routine, stop), hint.trim()),
                    None => format!("It is worked out at {}.", say::title(routine, stop)),
                },
                (Some((_, stop)), Some(NameKind::Reply)) => {
                    format!("That was the answer at {}.", say::title(routine, stop))
                }
                (Some((_, stop)), _) if say::is_gate(stop) => {
                    "Each time they are asked whether to go round again, a round is over."
                        .to_owned()
                }
                (Some((_, stop)), _) => {
                    format!("That was chosen at {}.", say::title(routine, stop))
                }
                (None, _) => String::new(),
            }
        }
        Subject::Line(stop) => routine.stop(*stop).map_or_else(String::new, |stop| {
            format!("That is the line of {}.", say::title(routine, stop))
        }),
    }
}

fn held(question: &Question) -> String {
    match question.expected {
        Expected::Number(n) => say::cards(n),
        _ => question.expected_words.clone(),
    }
}

fn after_step(routine: &Routine, step: Option<&Walked>, what: &str) -> String {
    match step {
        Some(walked) => format!("After {} {what}.", title(routine, walked)),
        None => format!("From the start {what}."),
    }
}
