//! The words of a spoken rehearsal: what spectators say, the one word that is read from afar, the set-up card by card.

use super::super::heard::open_line;
use super::super::question::{Expected, Subject};
use super::super::{answer, doing, say};
use super::prompt::{Lay, LayCard, Speaker, Speech};
use super::road::{Decided, HandRoad, Next, says_openly};
use crate::cards::Lang;
use crate::knowing::act_goes_by;
use crate::roads::{Sighted, Walked};
use crate::routine::{Act, ForkKind, Routine, Scene, Stop, Value, capital};
use crate::table::{Laid, PileId};

/// Something that a spectator says.
pub(super) fn spectator(routine: &Routine, words: &str) -> Speech {
    Speech {
        who: Speaker::Spectator,
        lang: routine.lang,
        words: words.to_owned(),
    }
}

/// Something that the prompter says in words of the program's own.
pub(super) fn prompter(words: &str) -> Speech {
    Speech {
        who: Speaker::Prompter,
        lang: Lang::EnGb,
        words: words.to_owned(),
    }
}

/// Something that the prompter reads from the routine.
pub(super) fn reader(routine: &Routine, words: &str) -> Speech {
    Speech {
        who: Speaker::Prompter,
        lang: routine.lang,
        words: words.to_owned(),
    }
}

/// What spectators answer when they are asked whether to go round again.
fn again(lang: Lang, more: bool) -> &'static str {
    match (lang, more) {
        (Lang::EnGb | Lang::EnUs, true) => "Yes, once more.",
        (Lang::EnGb | Lang::EnUs, false) => "No, that's enough.",
        (Lang::De, true) => "Ja, noch einmal.",
        (Lang::De, false) => "Nein, das genügt.",
        (Lang::Es, true) => "Sí, otra vez.",
        (Lang::Es, false) => "No, ya basta.",
        (Lang::Fr, true) => "Oui, encore une fois.",
        (Lang::Fr, false) => "Non, ça suffit.",
        (Lang::It, true) => "Sì, ancora una volta.",
        (Lang::It, false) => "No, basta così.",
    }
}

/// What a spectator says at the stop of a walked step, where it can be said: the file's words, or the choice itself. `None` where
/// nobody says anything.
pub(super) fn said(
    scene: Scene<'_>,
    stop: &Stop,
    decided: &Decided,
    heard: &[Sighted],
) -> Option<String> {
    let fork = stop.fork.as_ref()?;
    let routine = scene.routine;
    match decided {
        Decided::Nobody => None,
        Decided::Spoken(value) if say::is_gate(stop) => {
            Some(again(routine.lang, *value == Value::Bool(true)).to_owned())
        }
        Decided::Spoken(value) => {
            let own = fork.says.render(scene).unwrap_or_default();
            Some(if own.trim().is_empty() {
                format!("{}.", capital(&say::value(scene, value)))
            } else {
                own
            })
        }
        Decided::Thought(_) | Decided::Free => says_openly(routine, heard, fork)
            .then(|| fork.says.render(scene).ok())
            .flatten()
            .filter(|own| !own.trim().is_empty()),
    }
}

/// What the hands, or whoever helps, do at a fork that is theirs.
pub(super) fn free(routine: &Routine, stop: &Stop, decided: &Decided) -> Option<String> {
    let fork = stop.fork.as_ref()?;
    let pile = |pile: &PileId| say::pile(routine, *pile);
    let own = match decided {
        Decided::Nobody | Decided::Spoken(_) => return None,
        Decided::Thought(_) => {
            return Some("They think of one and say nothing. The program knows which.".to_owned());
        }
        Decided::Free => match &fork.kind {
            ForkKind::Cut { pile: of, .. } => format!("Cut {} anywhere", pile(of)),
            ForkKind::Riffle { left, right } => {
                format!("Riffle {} and {} together", pile(left), pile(right))
            }
            ForkKind::Overhand(of) => format!("Shuffle {} overhand", pile(of)),
            ForkKind::Card(of) | ForkKind::Place(of) => {
                format!("Any card of {}: take it, or think of it", pile(of))
            }
            ForkKind::Cards { pile: of, .. } => format!("Any cards of {}", pile(of)),
            ForkKind::Number { .. } => "Think of a number".to_owned(),
            ForkKind::Option(words) => format!("Choose one: {}", words.join(", ")),
            ForkKind::Pile(piles) | ForkKind::PileOrder(piles) => {
                let names: Vec<String> = piles.iter().map(pile).collect();
                format!("Choose: {}", names.join(", "))
            }
            ForkKind::Again { .. } => return None,
        },
    };
    Some(format!("{own}, as it comes; the program does not look."))
}

/// What is done at a step. What the hands do freely is told by [`free`], not by acts whose counts nobody knows.
pub(super) fn handling(
    routine: &Routine,
    walked: &Walked,
    heard: &[Sighted],
    decided: &Decided,
) -> Vec<String> {
    let free = match (decided, &walked.choice) {
        (Decided::Free, Some((name, _))) => Some(*name),
        (_, _) => None,
    };
    doing::handling_but(routine, walked, heard, |act| {
        free.is_some_and(|name| act_goes_by(act, name))
    })
}

/// The one word that is read from afar: what was chosen, or what the hands do.
pub(super) fn word(scene: Scene<'_>, stop: &Stop, decided: &Decided) -> String {
    let chosen = match (decided, &stop.fork) {
        (Decided::Spoken(value), _) => short(scene, stop, value),
        (Decided::Thought(_), _) => Some("THINK".to_owned()),
        (Decided::Free, Some(fork)) => Some(
            match &fork.kind {
                ForkKind::Cut { .. } => "CUT",
                ForkKind::Riffle { .. } => "RIFFLE",
                ForkKind::Overhand(_) => "SHUFFLE",
                ForkKind::Card(_) | ForkKind::Place(_) | ForkKind::Cards { .. } => "PICK",
                ForkKind::Number { .. }
                | ForkKind::Option(_)
                | ForkKind::Pile(_)
                | ForkKind::PileOrder(_)
                | ForkKind::Again { .. } => "CHOOSE",
            }
            .to_owned(),
        ),
        (Decided::Nobody | Decided::Free, _) => None,
    };
    chosen.unwrap_or_else(|| stop.acts.first().map_or("TALK", verb).to_owned())
}

/// A value in so few letters that they can be large.
pub(super) fn short(scene: Scene<'_>, stop: &Stop, value: &Value) -> Option<String> {
    let routine = scene.routine;
    Some(match value {
        Value::Int(n) => n.to_string(),
        Value::Bool(more) if say::is_gate(stop) => {
            if *more { "AGAIN" } else { "ENOUGH" }.to_owned()
        }
        Value::Bool(yes) => if *yes { "YES" } else { "NO" }.to_owned(),
        Value::Text(word) => word.to_uppercase(),
        Value::Card(card) => routine.pack.short(scene.print(*card).ok()?),
        Value::Pile(pile) => routine.pile_name(*pile).to_uppercase(),
        Value::Order(piles) => {
            let names: Vec<String> = piles
                .iter()
                .map(|pile| routine.pile_name(*pile).to_uppercase())
                .collect();
            names.join(" ")
        }
        Value::Places(places) => {
            let places: Vec<String> = places.iter().map(u16::to_string).collect();
            places.join(" ")
        }
        Value::Weave(_) | Value::Chunks(_) => return None,
    })
}

fn verb(act: &Act) -> &'static str {
    match act {
        Act::Cut { .. } => "CUT",
        Act::Block { .. } => "MOVE",
        Act::Deal { .. } => "DEAL",
        Act::Gather { .. } => "GATHER",
        Act::DownUnder { first_under, .. } => {
            if *first_under {
                "UNDER"
            } else {
                "DOWN"
            }
        }
        Act::Klondike(_) => "MILK",
        Act::Monge { .. } => "OVER",
        Act::Faro { .. } => "WEAVE",
        Act::InverseFaro { .. } => "PART",
        Act::Riffle { .. } => "RIFFLE",
        Act::Overhand { .. } => "SHUFFLE",
        Act::Turn { .. } | Act::TurnEach { .. } => "TURN",
        Act::Reverse(_) => "REVERSE",
        Act::Take { .. } => "TAKE",
        Act::Put { .. } => "PUT",
        Act::Swap { .. } => "SWAP",
        Act::Spell { .. } => "SPELL",
        Act::Chain(_) => "COUNT",
        Act::Repeat { acts, .. } => acts.first().map_or("REPEAT", verb),
        Act::When {
            then, otherwise, ..
        } => then.first().or(otherwise.first()).map_or("TALK", verb),
    }
}

/// The patter of the next stop as far as the performer can know it; what is not known stays a blank in square brackets.
pub(super) fn patter(routine: &Routine, road: &HandRoad, next: &Next) -> String {
    let Some(stop) = routine.stop(next.stop) else {
        return String::new();
    };
    if open_line(routine, &road.heard(next), stop) {
        let scene = Scene {
            routine,
            world: &next.walked.after,
        };
        if let Ok(line) = answer::line(scene, next.stop) {
            return line;
        }
    }
    match answer::known_answer(routine, &next.open, &Subject::Line(next.stop)) {
        Some(Expected::Line(line)) => line,
        Some(_) | None => stop.say.open(),
    }
}

/// The table in the middle of a road, pile by pile, every card in its place.
pub(super) fn laid_out(scene: Scene<'_>) -> Vec<Lay> {
    let routine = scene.routine;
    let lay = |(pile, cards): (PileId, &crate::table::Pile)| {
        let words = |laid: &Laid| {
            let print = scene.print(laid.card()).unwrap_or(laid.card());
            let name = routine.pack.name(print);
            LayCard {
                short: routine.pack.symbol(print),
                words: if laid.face_up() {
                    format!("{name}, face up")
                } else {
                    name.to_owned()
                },
            }
        };
        Lay {
            pile,
            name: say::pile(routine, pile),
            cards: cards.iter().map(words).collect(),
            ordered: true,
            count: cards.len(),
        }
    };
    let piles = scene.world.table.piles();
    piles
        .filter(|(_, cards)| !cards.is_empty())
        .map(lay)
        .collect()
}

/// The set-up, pile by pile.
pub(super) fn set_up(routine: &Routine) -> Vec<Lay> {
    routine
        .start
        .piles()
        .filter(|(_, cards)| !cards.is_empty())
        .map(|(pile, cards)| {
            let any = cards
                .iter()
                .any(|laid| routine.shuffled.contains(&laid.card()));
            let whole_deck = cards.len() == 52 && routine.pack.customs().is_empty();
            let words = |laid: &Laid| LayCard {
                short: routine.pack.symbol(laid.card()),
                words: if laid.face_up() && !any {
                    format!("{}, face up", routine.pack.name(laid.card()))
                } else {
                    routine.pack.name(laid.card()).to_owned()
                },
            };
            Lay {
                pile,
                name: say::pile(routine, pile),
                cards: if any && whole_deck {
                    Vec::new()
                } else {
                    cards.iter().map(words).collect()
                },
                ordered: !any,
                count: cards.len(),
            }
        })
        .collect()
}
