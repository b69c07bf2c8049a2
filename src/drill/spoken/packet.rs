//! A packet typed in after an ending that did not come true: is it one of those that could be?

use super::super::marking::read_class;
use crate::cards::{Card, Class, TraitId};
use crate::knowing::{Knowledge, Watch};
use crate::routine::{Routine, Scene, StopIndex, World};
use crate::table::{Laid, PileId};

/// One place of a packet as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Typed {
    /// This card, by what is printed on it.
    Card(Card),
    /// A card of this class.
    Class(TraitId, Class),
    /// Not looked at.
    Unknown,
}

/// What a packet says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Says {
    /// It could be so, and the ending's claims hold there.
    CouldBe,
    /// Nothing that the spectators could do leads there.
    CannotBe,
    /// That cannot be told: too little was typed, or too much could be.
    Nothing,
}

/// Reads a packet from the top: cards, or the first letter of a colour or a suit, `?` for a card not known; spaces and commas between.
/// Letters of a colour may be written together: `rbrb`. The fault names what could not be read.
pub(super) fn read(routine: &Routine, text: &str) -> Result<Vec<Typed>, String> {
    let mut typed = Vec::new();
    let parts = text
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';'))
        .filter(|part| !part.is_empty());
    for part in parts {
        if let Some(one) = read_one(routine, part) {
            typed.push(one);
            continue;
        }
        let letters: Option<Vec<Typed>> = part
            .chars()
            .map(|letter| read_one(routine, letter.encode_utf8(&mut [0; 4])))
            .collect();
        typed.extend(letters.ok_or_else(|| part.to_owned())?);
    }
    Ok(typed)
}

fn read_one(routine: &Routine, part: &str) -> Option<Typed> {
    if part == "?" {
        return Some(Typed::Unknown);
    }
    if let Ok(card) = routine.pack.read(part) {
        return Some(Typed::Card(card));
    }
    [TraitId::COLOUR, TraitId::SUIT]
        .into_iter()
        .find_map(|of| Some(Typed::Class(of, read_class(routine, of, part)?)))
}

/// What the packets typed say.
pub(super) fn says(
    routine: &Routine,
    knowledge: &Knowledge,
    finale: StopIndex,
    packets: &[(PileId, Vec<Typed>)],
) -> Says {
    let told = packets
        .iter()
        .flat_map(|(_, typed)| typed)
        .any(|one| *one != Typed::Unknown);
    if !told {
        return Says::Nothing;
    }
    if let Some(worlds) = knowledge.worlds() {
        let fits = |world: &World| {
            let scene = Scene { routine, world };
            packets.iter().all(|(pile, typed)| {
                typed.len() <= world.table.size(*pile)
                    && typed
                        .iter()
                        .zip(world.table.pile(*pile))
                        .all(|(one, laid)| lies(scene, *one, *laid))
            })
        };
        let holds = |world: &World| {
            routine.stop(finale).is_none_or(|stop| {
                stop.claims
                    .iter()
                    .all(|claim| claim.kind.holds(Scene { routine, world }).unwrap_or(true))
            })
        };
        return if worlds.iter().any(|world| fits(world) && holds(world)) {
            Says::CouldBe
        } else {
            Says::CannotBe
        };
    }
    by_traits(routine, knowledge, packets)
}

/// Where the tables were too many to be listed card by card: each trait on its own. It can only tell that a packet cannot be.
fn by_traits(routine: &Routine, knowledge: &Knowledge, packets: &[(PileId, Vec<Typed>)]) -> Says {
    let mut looked = false;
    for of in [TraitId::COLOUR, TraitId::SUIT] {
        let Some(worlds) = knowledge.worlds_for(Watch::Trait(of)) else {
            continue;
        };
        looked = true;
        let class = |one: Typed| match one {
            Typed::Card(print) => routine.pack.class(print, of),
            Typed::Class(by, is) if by == of => Some(is),
            Typed::Class(..) | Typed::Unknown => None,
        };
        let fits = |world: &World| {
            packets.iter().all(|(pile, typed)| {
                typed.len() <= world.table.size(*pile)
                    && typed
                        .iter()
                        .zip(world.table.pile(*pile))
                        .all(|(one, laid)| {
                            class(*one).is_none_or(|is| {
                                lies(Scene { routine, world }, Typed::Class(of, is), *laid)
                            })
                        })
            })
        };
        if !worlds.iter().any(fits) {
            return Says::CannotBe;
        }
    }
    if looked { Says::CouldBe } else { Says::Nothing }
}

/// Whether this could lie here; a card of a shuffled deck whose face nothing has fixed could be any.
fn lies(scene: Scene<'_>, one: Typed, laid: Laid) -> bool {
    let Some(print) = scene.world.face_of(laid.card()) else {
        return true;
    };
    let pack = &scene.routine.pack;
    match one {
        Typed::Card(card) => pack.same_look(print, card),
        Typed::Class(of, is) => pack.class(print, of) == Some(is),
        Typed::Unknown => true,
    }
}
