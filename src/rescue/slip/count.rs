//! Whether the cards themselves are all there: missing, doubled and foreign ones.

use super::got::{Got, Held};
use crate::cards::{Card, TraitId};
use crate::routine::{Routine, World};
use crate::table::PileId;

/// Something about the cards that no handling could do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CardFault {
    /// A card of the routine that lies nowhere.
    Missing(Card),
    /// So many cards of a class are missing, or too many where the number is below nought; which ones cannot be told.
    Class {
        /// Of which trait.
        of: TraitId,
        /// Its word.
        label: String,
        /// How many fewer there are.
        missing: i64,
    },
    /// So many cards are missing, or too many where the number is below nought; nothing tells which.
    Some(i64),
    /// A card that is there more often than the routine has it.
    Doubled(Card),
    /// A card that the routine does not have.
    Foreign {
        /// By its name.
        card: String,
        /// In this pile.
        pile: PileId,
        /// At this place, from 1.
        place: usize,
    },
}

/// Compares the packet with the cards that lay on the table at the start. Only where each pile that holds cards at the `end` was
/// looked at, to its last card, can a card be missing.
#[must_use]
pub fn card_faults(routine: &Routine, start: &World, end: &World, got: &Got) -> Vec<CardFault> {
    let mut faults = got.foreign.clone();
    let seen = || got.piles.iter().flat_map(|found| &found.cards);
    let printed = |card: Card| {
        seen().filter(move |seen| {
            matches!(seen.held, Held::Print(print) if routine.pack.same_look(print, card))
        })
    };
    let on_table: Vec<Card> = start
        .table
        .piles()
        .flat_map(|(_, pile)| pile.iter().map(|laid| laid.card()))
        .collect();
    // Of shuffled cards it is known which there are, not which is which: the prints are those of the cards themselves.
    let there = |card: Card| {
        on_table
            .iter()
            .filter(|other| routine.pack.same_look(**other, card))
            .count()
    };
    let mut told: Vec<Card> = Vec::new();
    for one in seen() {
        if let Held::Print(card) = one.held
            && !told
                .iter()
                .any(|other| routine.pack.same_look(*other, card))
            && printed(card).count() > there(card)
        {
            told.push(card);
            faults.push(CardFault::Doubled(card));
        }
    }
    let whole = end.table.piles().all(|(id, pile)| {
        pile.is_empty()
            || got
                .piles
                .iter()
                .any(|found| found.pile == id && !found.open)
    });
    if !whole {
        return faults;
    }
    let all_printed = seen().all(|seen| matches!(seen.held, Held::Print(_)));
    if all_printed || seen().count() == 0 {
        let mut gone: Vec<Card> = Vec::new();
        for card in on_table.iter().copied() {
            let alike = gone
                .iter()
                .filter(|other| routine.pack.same_look(**other, card))
                .count();
            if there(card) > printed(card).count() + alike {
                gone.push(card);
            }
        }
        faults.extend(gone.into_iter().map(CardFault::Missing));
        return faults;
    }
    faults.extend(by_class(routine, &on_table, got));
    let few = i64::try_from(on_table.len()).unwrap_or(i64::MAX)
        - i64::try_from(seen().count()).unwrap_or(i64::MAX);
    if few != 0 && faults.is_empty() {
        faults.push(CardFault::Some(few));
    }
    faults
}

/// Where every card is told by one trait at least, its classes are counted.
fn by_class(routine: &Routine, on_table: &[Card], got: &Got) -> Vec<CardFault> {
    for of in [TraitId::COLOUR, TraitId::SUIT] {
        let class = |held: Held| match held {
            Held::Print(card) => routine.pack.class(card, of),
            Held::Class(by, class) => (by == of).then_some(class),
            Held::Unknown => None,
        };
        let seen: Option<Vec<_>> = got
            .piles
            .iter()
            .flat_map(|found| &found.cards)
            .map(|seen| class(seen.held))
            .collect();
        let Some(seen) = seen else {
            continue;
        };
        let mut classes: Vec<_> = on_table
            .iter()
            .filter_map(|card| routine.pack.class(*card, of))
            .chain(seen.iter().copied())
            .collect();
        classes.sort_unstable();
        classes.dedup();
        return classes
            .into_iter()
            .filter_map(|class| {
                let due = on_table
                    .iter()
                    .filter(|card| routine.pack.class(**card, of) == Some(class))
                    .count();
                let has = seen.iter().filter(|seen| **seen == class).count();
                let missing = i64::try_from(due).ok()? - i64::try_from(has).ok()?;
                (missing != 0).then(|| CardFault::Class {
                    of,
                    label: routine.pack.label(of, class).to_owned(),
                    missing,
                })
            })
            .collect();
    }
    Vec::new()
}
