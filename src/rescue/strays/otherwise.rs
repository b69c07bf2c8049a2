//! A count, a lift or a deal that is done otherwise than it was asked for.

use crate::handling::{End, Kept};
use crate::rescue::ground::Layout;
use crate::routine::{Act, Expr};

/// How it is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Otherwise {
    /// One card more.
    More,
    /// One card fewer.
    Fewer,
    /// Dealt one by one instead of lifted together.
    Dealt,
    /// Lifted together instead of dealt one by one.
    Lifted,
}

/// Does the first act that can be done otherwise so, on both sides of a condition; whether there was one.
pub(super) fn first(laid: &Layout, acts: &mut [Act], how: Otherwise) -> bool {
    acts.iter_mut().any(|act| one(laid, act, how))
}

fn one(laid: &Layout, act: &mut Act, how: Otherwise) -> bool {
    if let Act::Repeat { acts, .. } = act {
        return first(laid, acts, how);
    }
    if let Act::When {
        then, otherwise, ..
    } = act
    {
        // A road takes one of the two.
        let found = first(laid, then, how);
        return first(laid, otherwise, how) || found;
    }
    let other = otherwise(laid, act, how);
    let found = other.is_some();
    if let Some(other) = other {
        *act = other;
    }
    found
}

/// What an act becomes where it, and nothing inside it, is done otherwise.
fn otherwise(laid: &Layout, act: &Act, how: Otherwise) -> Option<Act> {
    let more = match how {
        Otherwise::More => Some("+ 1"),
        Otherwise::Fewer => Some("- 1"),
        Otherwise::Dealt | Otherwise::Lifted => None,
    };
    let recount = |count: &Expr| laid.expr(&format!("({}) {}", count.source(), more?));
    let lifts = how == Otherwise::Lifted;
    match act {
        Act::Deal {
            from,
            to,
            count: Some(count),
            up,
        } => match (more, to.as_slice()) {
            (Some(_), _) => Some(Act::Deal {
                from: *from,
                to: to.clone(),
                count: Some(recount(count)?),
                up: *up,
            }),
            // Lifted off together and laid down together: the order stays. Cards dealt face up are not lifted.
            (None, [one]) if lifts && *up != Some(true) => Some(Act::Block {
                from: *from,
                take: End::Top,
                count: Some(count.clone()),
                to: *one,
                put: End::Top,
                order: Kept::Kept,
            }),
            (None, _) => None,
        },
        Act::Block {
            from,
            take,
            count: Some(count),
            to,
            put,
            order,
        } => {
            let block = |count: Expr, order: Kept| Act::Block {
                from: *from,
                take: *take,
                count: Some(count),
                to: *to,
                put: *put,
                order,
            };
            match (more, order) {
                (Some(_), _) => Some(block(recount(count)?, *order)),
                (None, Kept::Reversed) if lifts => Some(block(count.clone(), Kept::Kept)),
                (None, Kept::Kept) if how == Otherwise::Dealt && from != to => {
                    Some(block(count.clone(), Kept::Reversed))
                }
                (None, Kept::Kept | Kept::Reversed) => None,
            }
        }
        // These two are those without a count.
        Act::Block { count: None, .. } | Act::Deal { count: None, .. } => None,
        Act::Cut { .. }
        | Act::Gather { .. }
        | Act::DownUnder { .. }
        | Act::Klondike(_)
        | Act::Monge { .. }
        | Act::Faro { .. }
        | Act::InverseFaro { .. }
        | Act::Riffle { .. }
        | Act::Overhand { .. }
        | Act::Turn { .. }
        | Act::TurnEach { .. }
        | Act::Reverse(_)
        | Act::Take { .. }
        | Act::Put { .. }
        | Act::Swap { .. }
        | Act::Spell { .. }
        | Act::Chain(_)
        | Act::Repeat { .. }
        | Act::When { .. } => None,
    }
}
