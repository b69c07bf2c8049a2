//! Working an expression out on a scene.

use super::{Arith, Node, Order};
use crate::cards::count_letters;
use crate::routine::world::{Fault, Scene, Value};
use crate::table::{Laid, PileId};
use std::sync::Arc;

fn wrong<T>(message: impl Into<String>) -> Result<T, Fault> {
    Err(Fault::Value(message.into()))
}

fn within_range(result: Option<i64>) -> Result<Value, Fault> {
    result
        .map(Value::Int)
        .ok_or_else(|| Fault::Value("the number grows too large".to_owned()))
}

pub(super) fn value(node: &Node, scene: Scene<'_>) -> Result<Value, Fault> {
    let int = |node: &Node| value(node, scene)?.as_int();
    let truth = |node: &Node| value(node, scene)?.as_bool();
    let card = |node: &Node| value(node, scene)?.as_card();
    Ok(match node {
        Node::Fixed(value) => value.clone(),
        Node::Bearing(print) => Value::Card(scene.bearing(*print)?),
        Node::Name(id, name) => match scene.world.value(*id) {
            Some(value) => value.clone(),
            None => return wrong(format!("`{name}` is not known yet at this point")),
        },
        Node::Lookup(id, key) => {
            let key = value(key, scene)?;
            let lookup = scene.routine.lookups.get(usize::from(*id));
            let row = lookup.and_then(|l| l.rows.iter().find(|(k, _)| *k == key));
            match row {
                Some((_, value)) => value.clone(),
                None => {
                    return wrong(format!(
                        "the table `{}` has no row for {}",
                        lookup.map_or("", |l| l.name.as_str()),
                        key.show(scene.routine)
                    ));
                }
            }
        }
        Node::Negative(n) => within_range(int(n)?.checked_neg())?,
        Node::Not(b) => Value::Bool(!truth(b)?),
        Node::Arith(op, a, b) => arith(*op, int(a)?, int(b)?)?,
        Node::Compare(op, a, b) => {
            let (a, b) = (int(a)?, int(b)?);
            Value::Bool(match op {
                Order::Less => a < b,
                Order::AtMost => a <= b,
                Order::More => a > b,
                Order::AtLeast => a >= b,
            })
        }
        Node::Same(a, b) => Value::Bool(value(a, scene)? == value(b, scene)?),
        Node::IsClass(of, id, class) => Value::Bool(scene.class(card(of)?, *id)? == Some(*class)),
        Node::Bears(of, print) => Value::Bool(scene.bears(card(of)?, *print)?),
        Node::And(a, b) => Value::Bool(truth(a)? && truth(b)?),
        Node::Or(a, b) => Value::Bool(truth(a)? || truth(b)?),
        Node::If(when, a, b) => value(if truth(when)? { a } else { b }, scene)?,
        Node::Among(a, list) => {
            let a = value(a, scene)?;
            let mut found = false;
            for listed in list {
                found = match listed {
                    Node::Bearing(print) => scene.bears(a.as_card()?, *print)?,
                    listed => value(listed, scene)? == a,
                };
                if found {
                    break;
                }
            }
            Value::Bool(found)
        }
        Node::Within(a, of) => {
            let a = value(a, scene)?;
            Value::Bool(match value(of, scene)? {
                Value::Order(piles) => piles.contains(&a.as_pile()?),
                Value::Places(places) => {
                    let a = a.as_int()?;
                    places.iter().any(|p| i64::from(*p) == a)
                }
                other @ (Value::Int(_)
                | Value::Bool(_)
                | Value::Text(_)
                | Value::Card(_)
                | Value::Pile(_)
                | Value::Weave(_)
                | Value::Chunks(_)) => {
                    return wrong(format!("{} holds nothing", other.kind().words()));
                }
            })
        }
        Node::Piles(nodes) => {
            let mut piles: Vec<PileId> = Vec::with_capacity(nodes.len());
            for node in nodes {
                let pile = value(node, scene)?.as_pile()?;
                if piles.contains(&pile) {
                    return wrong(format!(
                        "the pile `{}` is listed twice",
                        scene.routine.pile_name(pile)
                    ));
                }
                piles.push(pile);
            }
            Value::Order(piles.into())
        }
        Node::Size(of) => Value::Int(match value(of, scene)? {
            Value::Pile(pile) => whole(scene.world.table.size(pile)),
            Value::Order(piles) => whole(piles.len()),
            Value::Places(places) => whole(places.len()),
            Value::Chunks(chunks) => whole(chunks.len()),
            other @ (Value::Int(_)
            | Value::Bool(_)
            | Value::Text(_)
            | Value::Card(_)
            | Value::Weave(_)) => {
                return wrong(format!("{} has no size", other.kind().words()));
            }
        }),
        Node::PlaceOf(of) => Value::Int(i64::from(lies(card(of)?, scene)?.1)),
        Node::PileOf(of) => Value::Pile(lies(card(of)?, scene)?.0),
        Node::CardAt(pile, at) => Value::Card(laid(pile, at, scene)?.card()),
        Node::Showing(pile, places) => {
            let pile = value(pile, scene)?.as_pile()?;
            let cards = scene.world.table.pile(pile).iter().enumerate();
            let up = cards.filter(|(index, laid)| places.has(*index) && laid.face_up());
            Value::Int(whole(up.count()))
        }
        Node::Up(pile, at) => Value::Bool(laid(pile, at, scene)?.face_up()),
        Node::Trait(of, id) => {
            let card = card(of)?;
            let pack = &scene.routine.pack;
            match scene.class(card, *id)? {
                Some(class) => Value::Text(Arc::from(pack.label(*id, class))),
                None => {
                    return wrong(format!(
                        "{} has no {}",
                        pack.name(scene.print(card)?),
                        pack.trait_name(*id)
                    ));
                }
            }
        }
        Node::ValueOf(of) => Value::Int(i64::from(scene.card_value(card(of)?, None)?)),
        Node::Letters(of) => Value::Int(whole(match value(of, scene)? {
            Value::Text(word) => count_letters(&word),
            other => scene.routine.pack.letters(scene.print(other.as_card()?)?),
        })),
        Node::Mate(of) => {
            let print = scene.print(card(of)?)?;
            match scene.routine.pack.mate_of(print) {
                Some(mate) => Value::Card(scene.bearing(mate)?),
                None => {
                    return wrong(format!("{} has no mate", scene.routine.pack.name(print)));
                }
            }
        }
        Node::Least(nodes) => best(nodes, i64::min, scene)?,
        Node::Greatest(nodes) => best(nodes, i64::max, scene)?,
        Node::Abs(n) => within_range(int(n)?.checked_abs())?,
        Node::PowerBelow(n) => {
            let n = int(n)?;
            match n.checked_ilog2() {
                Some(power) => Value::Int(1 << power),
                None => return wrong(format!("no power of two is at most {n}")),
            }
        }
        Node::Nth(of, at) => {
            let of = value(of, scene)?;
            let at = int(at)?;
            match &of {
                Value::Order(piles) => Value::Pile(piles[nth(at, piles.len())?]),
                Value::Places(places) => Value::Int(i64::from(places[nth(at, places.len())?])),
                Value::Int(_)
                | Value::Bool(_)
                | Value::Text(_)
                | Value::Card(_)
                | Value::Pile(_)
                | Value::Weave(_)
                | Value::Chunks(_) => {
                    return wrong(format!("{} is no order", of.kind().words()));
                }
            }
        }
        Node::WithPileAt(order, pile, at) => {
            let order = value(order, scene)?;
            let pile = value(pile, scene)?.as_pile()?;
            let mut piles: Vec<PileId> = order.as_order()?.to_vec();
            let at = nth(int(at)?, piles.len())?;
            let Some(from) = piles.iter().position(|p| *p == pile) else {
                return wrong(format!(
                    "the pile `{}` is not in this order",
                    scene.routine.pile_name(pile)
                ));
            };
            piles.remove(from);
            piles.insert(at, pile);
            Value::Order(piles.into())
        }
    })
}

fn arith(op: Arith, a: i64, b: i64) -> Result<Value, Fault> {
    within_range(match op {
        Arith::Add => a.checked_add(b),
        Arith::Subtract => a.checked_sub(b),
        Arith::Multiply => a.checked_mul(b),
        Arith::Divide | Arith::Remainder if b == 0 => {
            return wrong(format!("{a} cannot be divided by zero"));
        }
        Arith::Divide => a.checked_div(b),
        Arith::Remainder => a.checked_rem(b),
    })
}

fn best(nodes: &[Node], of: fn(i64, i64) -> i64, scene: Scene<'_>) -> Result<Value, Fault> {
    let mut best: Option<i64> = None;
    for node in nodes {
        let n = value(node, scene)?.as_int()?;
        best = Some(best.map_or(n, |b| of(b, n)));
    }
    best.map(Value::Int)
        .ok_or_else(|| Fault::Value("nothing to choose from".to_owned()))
}

fn whole(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// The index for the nth of so many; negative numbers count from the end.
fn nth(at: i64, length: usize) -> Result<usize, Fault> {
    let from = if at < 0 {
        at.saturating_add(whole(length))
    } else {
        at.saturating_sub(1)
    };
    usize::try_from(from)
        .ok()
        .filter(|index| *index < length)
        .ok_or_else(|| Fault::Value(format!("there is no number {at} of {length}")))
}

fn lies(card: crate::cards::Card, scene: Scene<'_>) -> Result<(PileId, u16), Fault> {
    scene
        .world
        .table
        .find(card)
        .map(|(pile, place)| (pile, place.0))
        .ok_or_else(|| Fault::Value("this card is not on the table".to_owned()))
}

fn laid(pile: &Node, at: &Node, scene: Scene<'_>) -> Result<Laid, Fault> {
    let pile = value(pile, scene)?.as_pile()?;
    let at = value(at, scene)?.as_int()?;
    scene.laid(pile, at)
}
