//! Whether a claim holds.

use super::{ClaimKind, Wanted};
use crate::cards::{Card, Class, TraitId};
use crate::routine::world::{Fault, Scene};
use crate::table::{Laid, PileId};

impl ClaimKind {
    /// Whether it holds.
    ///
    /// # Errors
    /// See [`Fault`]: the print of a card is needed that nothing has fixed yet, or an expression has no value.
    pub fn holds(&self, scene: Scene<'_>) -> Result<bool, Fault> {
        let table = &scene.world.table;
        match self {
            Self::AllOne { piles, class } => all_one(piles, *class, scene),
            Self::Sequence { pile, wanted } => {
                let cards = table.pile(*pile);
                if cards.len() != wanted.len() {
                    return Ok(false);
                }
                every(cards.iter().zip(wanted), |(laid, wanted)| {
                    fits(laid.card(), wanted, scene)
                })
            }
            Self::Blocks { pile, of, class } => blocks(*pile, usize::from(*of), *class, scene),
            Self::Count {
                piles,
                wanted,
                up,
                places,
                is,
            } => {
                let mut count = 0;
                for laid in at_places(piles, *places, scene) {
                    let facing = up.is_none_or(|up| laid.face_up() == up);
                    if facing
                        && match wanted {
                            Some(wanted) => fits(laid.card(), wanted, scene)?,
                            None => true,
                        }
                    {
                        count += 1;
                    }
                }
                Ok(is.int(scene)? == count)
            }
            Self::Place { card, pile, is } => {
                let Ok(laid) = scene.laid(*pile, is.int(scene)?) else {
                    return Ok(false);
                };
                match card.written_card() {
                    Some(print) => scene.bears(laid.card(), print),
                    None => Ok(card.value(scene)?.as_card()? == laid.card()),
                }
            }
            Self::Mirror { pile, class } => {
                let cards = table.pile(*pile);
                let pairs = cards.iter().zip(cards.iter().rev()).take(cards.len() / 2);
                every(pairs, |(one, other)| match class {
                    Some(class) => same_class(one.card(), other.card(), *class, scene),
                    None => scene.are_mates(one.card(), other.card()),
                })
            }
            Self::MatesTogether(pile) => {
                let cards = table.pile(*pile);
                if cards.len() % 2 == 1 {
                    return Ok(false);
                }
                let firsts = cards.iter().step_by(2);
                let seconds = cards.iter().skip(1).step_by(2);
                every(firsts.zip(seconds), |(one, other)| {
                    scene.are_mates(one.card(), other.card())
                })
            }
            Self::SameAs {
                pile,
                as_was,
                class,
                rotation,
                reversal,
            } => {
                let now: Vec<Card> = table.pile(*pile).iter().map(|l| l.card()).collect();
                let then: Vec<Card> = as_was.pile(*pile).iter().map(|l| l.card()).collect();
                if let Some(class) = class {
                    let now = classes(&now, *class, scene)?;
                    let then = classes(&then, *class, scene)?;
                    Ok(same_up_to(&now, then, *rotation, *reversal))
                } else {
                    Ok(same_up_to(&now, then, *rotation, *reversal))
                }
            }
            Self::Sum { piles, court, is } => {
                let mut sum: i64 = 0;
                for laid in at_places(piles, 0, scene) {
                    sum += i64::from(scene.card_value(laid.card(), *court)?);
                }
                Ok(is.int(scene)? == sum)
            }
            Self::And(claims) => every(claims, |claim| claim.holds(scene)),
            Self::Or(claims) => Ok(!every(claims, |claim| {
                claim.holds(scene).map(|holds| !holds)
            })?),
            Self::Not(claim) => Ok(!claim.holds(scene)?),
            Self::Expr(expr) => expr.truth(scene),
        }
    }
}

/// Whether all of them do; the first that does not ends the looking.
fn every<T>(
    items: impl IntoIterator<Item = T>,
    mut holds: impl FnMut(T) -> Result<bool, Fault>,
) -> Result<bool, Fault> {
    for item in items {
        if !holds(item)? {
            return Ok(false);
        }
    }
    Ok(true)
}

fn fits(card: Card, wanted: &Wanted, scene: Scene<'_>) -> Result<bool, Fault> {
    match wanted {
        Wanted::Any => Ok(true),
        Wanted::Is(id, class) => Ok(scene.class(card, *id)? == Some(*class)),
    }
}

/// The cards of some piles: all (0), at odd places (1), at even places (2).
fn at_places<'a>(
    piles: &'a [PileId],
    places: u8,
    scene: Scene<'a>,
) -> impl Iterator<Item = Laid> + 'a {
    let (skip, step) = match places {
        0 => (0, 1),
        1 => (0, 2),
        _ => (1, 2),
    };
    piles.iter().flat_map(move |pile| {
        let cards = scene.world.table.pile(*pile);
        cards.iter().skip(skip).step_by(step).copied()
    })
}

fn all_one(piles: &[PileId], id: TraitId, scene: Scene<'_>) -> Result<bool, Fault> {
    let mut first: Option<Class> = None;
    for laid in at_places(piles, 0, scene) {
        let Some(class) = scene.class(laid.card(), id)? else {
            return Ok(false);
        };
        if *first.get_or_insert(class) != class {
            return Ok(false);
        }
    }
    Ok(true)
}

fn blocks(pile: PileId, of: usize, id: TraitId, scene: Scene<'_>) -> Result<bool, Fault> {
    let cards = scene.world.table.pile(pile);
    if cards.is_empty() {
        return Ok(true);
    }
    if of == 0 || !cards.len().is_multiple_of(of) {
        return Ok(false);
    }
    let mut seen: Vec<Class> = Vec::with_capacity(of);
    for (i, laid) in cards.iter().enumerate() {
        if i % of == 0 {
            seen.clear();
        }
        match scene.class(laid.card(), id)? {
            Some(class) if !seen.contains(&class) => seen.push(class),
            Some(_) | None => return Ok(false),
        }
    }
    Ok(true)
}

fn same_class(one: Card, other: Card, id: TraitId, scene: Scene<'_>) -> Result<bool, Fault> {
    let one = scene.class(one, id)?;
    Ok(one.is_some() && one == scene.class(other, id)?)
}

fn classes(cards: &[Card], id: TraitId, scene: Scene<'_>) -> Result<Vec<Option<Class>>, Fault> {
    cards.iter().map(|card| scene.class(*card, id)).collect()
}

fn same_up_to<T: PartialEq>(now: &[T], mut then: Vec<T>, rotation: bool, reversal: bool) -> bool {
    if now.len() != then.len() {
        return false;
    }
    let turns = if rotation { now.len().max(1) } else { 1 };
    let same = |then: &[T]| (0..turns).any(|by| now[by..].iter().chain(&now[..by]).eq(then));
    if same(&then) {
        return true;
    }
    then.reverse();
    reversal && same(&then)
}
