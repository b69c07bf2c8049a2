//! A packet typed in after an ending that did not come true: is it one of those that could be?

use crate::cards::TraitId;
use crate::knowing::{Knowledge, Watch};
use crate::rescue::slip::{Got, Held, Seen};
use crate::routine::{Routine, Scene, StopIndex, World};
use crate::table::Laid;

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

/// What the packets typed say.
pub(super) fn says(routine: &Routine, knowledge: &Knowledge, finale: StopIndex, got: &Got) -> Says {
    if !got.says_something() {
        return Says::Nothing;
    }
    if !got.foreign.is_empty() {
        return Says::CannotBe;
    }
    if let Some(worlds) = knowledge.worlds() {
        let holds = |world: &World| {
            routine.stop(finale).is_none_or(|stop| {
                stop.claims
                    .iter()
                    .all(|claim| claim.kind.holds(Scene { routine, world }).unwrap_or(true))
            })
        };
        let could_be = worlds
            .iter()
            .any(|world| fits(routine, world, got, &|seen| seen) && holds(world));
        return if could_be {
            Says::CouldBe
        } else {
            Says::CannotBe
        };
    }
    by_traits(routine, knowledge, got)
}

/// Where the tables were too many to be listed card by card: each trait on its own. It can only tell that a packet cannot be.
fn by_traits(routine: &Routine, knowledge: &Knowledge, got: &Got) -> Says {
    let mut looked = false;
    for of in [TraitId::COLOUR, TraitId::SUIT] {
        let Some(worlds) = knowledge.worlds_for(Watch::Trait(of)) else {
            continue;
        };
        looked = true;
        let only = |seen: Seen| Seen {
            held: match seen.held {
                Held::Print(print) => routine
                    .pack
                    .class(print, of)
                    .map_or(Held::Unknown, |is| Held::Class(of, is)),
                Held::Class(by, is) if by == of => Held::Class(of, is),
                Held::Class(..) | Held::Unknown => Held::Unknown,
            },
            up: seen.up,
        };
        if !worlds.iter().any(|world| fits(routine, world, got, &only)) {
            return Says::CannotBe;
        }
    }
    if looked { Says::CouldBe } else { Says::Nothing }
}

/// Whether the cards typed could lie so, each taken for what `only` makes of it.
fn fits(routine: &Routine, world: &World, got: &Got, only: &dyn Fn(Seen) -> Seen) -> bool {
    let scene = Scene { routine, world };
    got.piles.iter().all(|found| {
        let pile = world.table.pile(found.pile);
        let long_enough = if found.open {
            found.cards.len() <= pile.len()
        } else {
            found.cards.len() == pile.len()
        };
        long_enough
            && found
                .cards
                .iter()
                .zip(pile)
                .all(|(seen, laid)| lies(scene, only(*seen), *laid))
    })
}

/// Whether this could lie here; a card of a shuffled deck whose face nothing has fixed could be any.
fn lies(scene: Scene<'_>, seen: Seen, laid: Laid) -> bool {
    if seen.up.is_some_and(|up| up != laid.face_up()) {
        return false;
    }
    let Some(print) = scene.world.face_of(laid.card()) else {
        return true;
    };
    let pack = &scene.routine.pack;
    match seen.held {
        Held::Print(card) => pack.same_look(print, card),
        Held::Class(of, class) => pack.class(print, of) == Some(class),
        Held::Unknown => true,
    }
}
