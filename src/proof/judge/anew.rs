//! Cards of unknown order numbered in the order in which they lie, so that tables that differ in their numbers alone are one.

use crate::cards::Card;
use crate::routine::{Value, World};
use crate::table::{Laid, PileId};
use rustc_hash::FxHashMap;

/// Numbers unknown cards anew: those that lie on the table in the order in which they lie, then those that are remembered, then the others by
/// what is printed on them. Whether that changes anything.
pub(super) fn numbered(hidden: &[Card], world: &mut World) -> bool {
    let mut order: Vec<Card> = Vec::with_capacity(hidden.len());
    let is_hidden = |card: &Card| hidden.binary_search(card).is_ok();
    let laid = world.table.piles().flat_map(|(_, pile)| pile.iter());
    order.extend(laid.map(|laid| laid.card()).filter(is_hidden));
    for value in world.memory.iter().flatten() {
        if let Value::Card(card) = value
            && is_hidden(card)
            && !order.contains(card)
        {
            order.push(*card);
        }
    }
    let mut rest: Vec<Card> = hidden
        .iter()
        .copied()
        .filter(|card| !order.contains(card))
        .collect();
    rest.sort_by_key(|card| world.faces.get(card.index()).copied().flatten());
    order.extend(rest);
    if order == hidden {
        return false;
    }
    let new: FxHashMap<Card, Card> = order.iter().copied().zip(hidden.iter().copied()).collect();
    for n in 0..world.table.count() {
        let pile = PileId(u8::try_from(n).unwrap_or(u8::MAX));
        for laid in world.table.pile_mut(pile).iter_mut() {
            if let Some(card) = new.get(&laid.card()) {
                *laid = Laid::new(*card, laid.face_up());
            }
        }
    }
    for value in world.memory.iter_mut().flatten() {
        if let Value::Card(card) = value
            && let Some(as_now) = new.get(card)
        {
            *card = *as_now;
        }
    }
    let before = world.faces.clone();
    for (card, as_now) in &new {
        if let Some(slot) = world.faces.get_mut(as_now.index()) {
            *slot = before.get(card.index()).copied().flatten();
        }
    }
    true
}
