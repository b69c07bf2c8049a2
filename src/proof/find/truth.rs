//! Whether a claim is true or false whatever lies on the cells that are left open.

use crate::cards::{Card, Class, TraitId};
use crate::routine::{ClaimKind, Fault, Routine, Scene, Wanted, World};
use crate::table::{Laid, PileId};

/// An expression is worked out for at most so many ways of filling open cells.
const MOST_WAYS: usize = 256;

/// What an open cell may hold.
#[derive(Debug, Clone, Copy)]
pub(super) struct Filling<'a> {
    /// The routine.
    pub(super) routine: &'a Routine,
    /// A card of each class.
    pub(super) prints: &'a [Card],
}

/// The class of a card, where it lies open to see.
type Seen = Option<Option<Class>>;

/// What a claim says of every way to fill the open cells: `Some` where it says the same of all. A claim that cannot be worked out is
/// false. It may be `None` where all say the same after all; then a cell more is kept, and a clause rules out less than it could.
pub(super) fn truth(kind: &ClaimKind, world: &World, filling: Filling<'_>) -> Option<bool> {
    let scene = Scene {
        routine: filling.routine,
        world,
    };
    let pile = |pile: PileId| world.table.pile(pile).iter().map(|laid| laid.card());
    match kind {
        ClaimKind::AllOne { piles, class } => {
            let cards = piles.iter().flat_map(|p| pile(*p));
            all_one(cards.map(|card| seen(scene, card, *class)))
        }
        ClaimKind::Sequence {
            pile: id, wanted, ..
        } => {
            if world.table.size(*id) != wanted.len() {
                return Some(false);
            }
            all(pile(*id)
                .zip(wanted)
                .map(|(card, wanted)| fits(scene, card, wanted)))
        }
        ClaimKind::Blocks {
            pile: id,
            of,
            class,
        } => {
            let cards: Vec<Card> = pile(*id).collect();
            let of = usize::from(*of);
            if of == 0 || !cards.len().is_multiple_of(of) {
                return Some(cards.is_empty());
            }
            let pairs = cards.chunks(of).flat_map(|block| {
                let with_later =
                    move |n: usize| block[n + 1..].iter().map(move |other| (block[n], *other));
                (0..block.len()).flat_map(with_later)
            });
            let differ =
                pairs.map(|(one, other)| same(scene, one, other, *class).map(|same| !same));
            // A block of one card needs but a card with a class.
            let bare = cards
                .iter()
                .map(|card| seen(scene, *card, *class).map(|c| c.is_some()));
            all(bare.chain(differ))
        }
        ClaimKind::Mirror {
            pile: id,
            class: Some(class),
        } => {
            let cards: Vec<Card> = pile(*id).collect();
            let pairs = cards.iter().zip(cards.iter().rev()).take(cards.len() / 2);
            all(pairs.map(|(one, other)| same(scene, *one, *other, *class)))
        }
        ClaimKind::SameAs {
            pile: id,
            as_was,
            class: Some(class),
            rotation,
            reversal,
        } => {
            let now: Vec<Card> = pile(*id).collect();
            let mut then: Vec<Card> = as_was.pile(*id).iter().map(|l| l.card()).collect();
            if now.len() != then.len() {
                return Some(false);
            }
            let turns = if *rotation { now.len().max(1) } else { 1 };
            let match_of = |then: &[Card], by: usize| {
                let turned = now[by..].iter().chain(&now[..by]);
                all(turned.zip(then).map(|(a, b)| alike(scene, *a, *b, *class)))
            };
            let mut ways: Vec<Option<bool>> = (0..turns).map(|by| match_of(&then, by)).collect();
            if *reversal {
                then.reverse();
                ways.extend((0..turns).map(|by| match_of(&then, by)));
            }
            not(all(ways.into_iter().map(not)))
        }
        ClaimKind::Count {
            piles,
            wanted: Some(wanted),
            up,
            places,
            is,
        } => {
            let laid = piles.iter().flat_map(|id| {
                let (skip, step) = match places {
                    0 => (0, 1),
                    1 => (0, 2),
                    _ => (1, 2),
                };
                world.table.pile(*id).iter().skip(skip).step_by(step)
            });
            let facing = |laid: &&Laid| up.is_none_or(|up| laid.face_up() == up);
            let (mut least, mut most) = (0, 0);
            for laid in laid.filter(facing) {
                let fits = fits(scene, laid.card(), wanted);
                least += i64::from(fits == Some(true));
                most += i64::from(fits != Some(false));
            }
            let is = match is.value(scene).and_then(|value| value.as_int()) {
                Ok(is) => is,
                Err(Fault::Unfixed(_)) => return None,
                Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => return Some(false),
            };
            if (least..=most).contains(&is) {
                (least == most).then_some(true)
            } else {
                Some(false)
            }
        }
        ClaimKind::And(claims) => all(claims.iter().map(|claim| truth(claim, world, filling))),
        ClaimKind::Or(claims) => {
            let none = claims.iter().map(|claim| not(truth(claim, world, filling)));
            not(all(none))
        }
        ClaimKind::Not(claim) => not(truth(claim, world, filling)),
        ClaimKind::Place { .. }
        | ClaimKind::Mirror { class: None, .. }
        | ClaimKind::MatesTogether(_)
        | ClaimKind::SameAs { class: None, .. }
        | ClaimKind::Count { wanted: None, .. }
        | ClaimKind::Sum { .. }
        | ClaimKind::Expr(_) => {
            let mut left = MOST_WAYS;
            by_filling(kind, world, filling, &mut left)
        }
    }
}

fn not(truth: Option<bool>) -> Option<bool> {
    truth.map(|is| !is)
}

/// False where one is, true where all are.
fn all(parts: impl Iterator<Item = Option<bool>>) -> Option<bool> {
    let mut open = false;
    for part in parts {
        match part {
            Some(true) => {}
            Some(false) => return Some(false),
            None => open = true,
        }
    }
    (!open).then_some(true)
}

fn seen(scene: Scene<'_>, card: Card, class: TraitId) -> Seen {
    scene.class(card, class).ok()
}

fn fits(scene: Scene<'_>, card: Card, wanted: &Wanted) -> Option<bool> {
    match wanted {
        Wanted::Any => Some(true),
        Wanted::Is(id, class) => seen(scene, card, *id).map(|is| is == Some(*class)),
    }
}

/// Whether two different cards are of one class, which they must have.
fn same(scene: Scene<'_>, one: Card, other: Card, class: TraitId) -> Option<bool> {
    match (seen(scene, one, class), seen(scene, other, class)) {
        (Some(None), _) | (_, Some(None)) => Some(false),
        (Some(one), Some(other)) => Some(one == other),
        (None, _) | (_, None) => None,
    }
}

/// Whether two cards, which may be one and the same, are of one class or both of none.
fn alike(scene: Scene<'_>, one: Card, other: Card, class: TraitId) -> Option<bool> {
    if one == other {
        return Some(true);
    }
    Some(seen(scene, one, class)? == seen(scene, other, class)?)
}

fn all_one(classes: impl Iterator<Item = Seen>) -> Option<bool> {
    let mut first: Option<Class> = None;
    let mut open = false;
    for class in classes {
        match class {
            None => open = true,
            Some(None) => return Some(false),
            Some(Some(class)) => {
                if *first.get_or_insert(class) != class {
                    return Some(false);
                }
            }
        }
    }
    (!open).then_some(true)
}

/// Works the claim out for every way to fill the open cells that it asks for.
fn by_filling(
    kind: &ClaimKind,
    world: &World,
    filling: Filling<'_>,
    left: &mut usize,
) -> Option<bool> {
    *left = left.checked_sub(1)?;
    let scene = Scene {
        routine: filling.routine,
        world,
    };
    let card = match kind.holds(scene) {
        Ok(holds) => return Some(holds),
        Err(Fault::Unfixed(card)) => card,
        Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => return Some(false),
    };
    let mut said = None;
    for print in filling.prints {
        let mut filled = world.clone();
        *filled.faces.get_mut(card.index())? = Some(*print);
        let holds = by_filling(kind, &filled, filling, left)?;
        if *said.get_or_insert(holds) != holds {
            return None;
        }
    }
    said
}
