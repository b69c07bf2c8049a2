//! What was seen and heard, as short lines.

use super::say::{about, card, card_at, cards, class, heading, is_gate, pile, place_at, value};
use crate::roads::{Sighted, Walked};
use crate::routine::{Expr, NameId, Routine, Scene, Seen, Sight, SightKind, Stop, Value, capital};

/// A line of what was seen and heard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Stated {
    pub text: String,
    /// The choice or reply that it gives away.
    pub tells: Option<NameId>,
}

/// What was seen and heard at a stop, one line each; the first is the step's title.
pub(super) fn sightings(routine: &Routine, walked: &Walked) -> Vec<Stated> {
    let Some(stop) = routine.stop(walked.stop) else {
        return Vec::new();
    };
    let scene = Scene {
        routine,
        world: &walked.after,
    };
    walked
        .sights
        .iter()
        .filter(|sighted| !(matches!(sighted, Sighted::Stop(_)) && is_gate(stop)))
        .map(|sighted| Stated {
            text: line(scene, stop, sighted),
            tells: match sighted {
                Sighted::Choice(name, _) | Sighted::Reply(name, _) => Some(*name),
                Sighted::Part { name, .. } => Some(*name),
                Sighted::Stop(_)
                | Sighted::Card { .. }
                | Sighted::Trait { .. }
                | Sighted::Count { .. }
                | Sighted::Value { .. } => None,
            },
        })
        .collect()
}

/// What was seen and heard at a stop in words, one line each, without its title.
#[must_use]
pub fn seen_in_words(routine: &Routine, walked: &Walked) -> Vec<String> {
    let Some(stop) = routine.stop(walked.stop) else {
        return Vec::new();
    };
    let scene = Scene {
        routine,
        world: &walked.after,
    };
    walked
        .sights
        .iter()
        .filter(|sighted| !matches!(sighted, Sighted::Stop(_)))
        .map(|sighted| line(scene, stop, sighted))
        .collect()
}

/// What a look at the table, or a stray, showed; `sights` are what was looked at.
pub(super) fn looked(scene: Scene<'_>, sights: &[Sight], sighted: &Sighted) -> String {
    let name = match sighted {
        Sighted::Choice(name, _) | Sighted::Reply(name, _) | Sighted::Part { name, .. } => {
            Some(*name)
        }
        Sighted::Stop(_)
        | Sighted::Card { .. }
        | Sighted::Trait { .. }
        | Sighted::Count { .. }
        | Sighted::Value { .. } => None,
    };
    // The words of a choice are those of the stop where it is made.
    let made = |stop: &&Stop| {
        let forked = stop.fork.as_ref().map(|fork| fork.name);
        let replied = stop.reply.as_ref().map(|reply| reply.name);
        name.is_some() && (forked == name || replied == name)
    };
    let stops = &scene.routine.stops;
    let Some(stop) = stops.iter().find(made).or(stops.first()) else {
        return String::new();
    };
    if name.is_some() {
        return line(scene, stop, sighted);
    }
    let stop = Stop {
        sights: sights.to_vec(),
        ..stop.clone()
    };
    line(scene, &stop, sighted)
}

fn line(scene: Scene<'_>, stop: &Stop, sighted: &Sighted) -> String {
    let routine = scene.routine;
    match sighted {
        Sighted::Stop(_) => ended(&heading(routine, stop)),
        Sighted::Choice(name, chosen) => choice(scene, stop, *name, chosen),
        Sighted::Part {
            name,
            index,
            value: part,
        } => {
            let what = about(routine, *name).unwrap_or_else(|| "their choice".to_owned());
            let source = stop
                .fork
                .as_ref()
                .and_then(|fork| match &fork.seen {
                    Seen::These(parts) => parts.get(*index),
                    Seen::All | Seen::Nothing => None,
                })
                .map_or("", Expr::source);
            format!(
                "Of {what} you saw {}{}.",
                value(scene, part),
                bracketed(source)
            )
        }
        Sighted::Reply(name, answer) => {
            let asks = stop.reply.as_ref().map_or("", |reply| reply.asks.as_str());
            let what = about(routine, *name).map_or_else(
                || format!("“{asks}”"),
                |about| format!("{}:", capital(&about)),
            );
            format!("{what} {}.", value(scene, answer))
        }
        Sighted::Card {
            pile: of,
            place,
            print,
            up,
        } => format!(
            "You saw {} {}{}.",
            card(routine, *print),
            place_at(routine, *of, *place, Some(scene.world.table.size(*of))),
            if *up { ", face up" } else { "" }
        ),
        Sighted::Trait {
            pile: of,
            place,
            class: by,
            is,
        } => {
            let label = is.map_or_else(
                || format!("of no {}", routine.pack.trait_name(*by)),
                |is| class(routine, *by, is),
            );
            let size = Some(scene.world.table.size(*of));
            format!(
                "You saw that {} is {label}.",
                card_at(routine, *of, *place, size)
            )
        }
        Sighted::Count { pile: of, cards: n } => format!(
            "You counted {} in {}.",
            cards(i64::try_from(*n).unwrap_or(i64::MAX)),
            pile(routine, *of)
        ),
        Sighted::Value {
            index,
            value: found,
        } => {
            let source = stop
                .sights
                .get(*index)
                .map_or("", |sight| match &sight.kind {
                    SightKind::Value(expr) => expr.source(),
                    SightKind::Card { .. } | SightKind::Trait { .. } | SightKind::Count(_) => "",
                });
            format!("You saw {}{}.", value(scene, found), bracketed(source))
        }
    }
}

/// A title as a sentence of its own.
fn ended(title: &str) -> String {
    if title.ends_with(['?', '!', '.', '…']) {
        title.to_owned()
    } else {
        format!("{}.", title.trim_end_matches(':'))
    }
}

fn bracketed(source: &str) -> String {
    if source.is_empty() {
        String::new()
    } else {
        format!(" ({source})")
    }
}

fn choice(scene: Scene<'_>, stop: &Stop, name: NameId, chosen: &Value) -> String {
    match (is_gate(stop), chosen) {
        (true, Value::Bool(true)) => "They wanted to go round again.".to_owned(),
        (true, _) => "They had enough of it.".to_owned(),
        (false, _) => {
            let said = value(scene, chosen);
            match about(scene.routine, name) {
                Some(about) => format!("{}: {said}.", capital(&about)),
                None => format!("They chose {said}."),
            }
        }
    }
}
