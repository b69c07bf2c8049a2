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

impl Otherwise {
    /// Whether it happens once, and is not how somebody does all of the step.
    fn is_once(self) -> bool {
        match self {
            Self::More | Self::Fewer => true,
            Self::Dealt | Self::Lifted => false,
        }
    }
}

/// The acts of a step done otherwise; `None` where there is nothing that can be.
pub(super) fn done(laid: &Layout, acts: &[Act], how: Otherwise) -> Option<Vec<Act>> {
    if how.is_once() {
        return first(laid, acts, how);
    }
    let mut acts = acts.to_vec();
    every(laid, &mut acts, how).then_some(acts)
}

/// Does every act otherwise that can be; whether there was one.
fn every(laid: &Layout, acts: &mut [Act], how: Otherwise) -> bool {
    let mut found = false;
    for act in acts {
        found |= match act {
            Act::Repeat { acts, .. } => every(laid, acts, how),
            Act::When {
                then, otherwise, ..
            } => every(laid, then, how) | every(laid, otherwise, how),
            single => match otherwise(laid, single, how) {
                Some(other) => {
                    *single = other;
                    true
                }
                None => false,
            },
        };
    }
    found
}

/// The first act that a road comes to and that can be done otherwise is done so: in the first of several rounds, after them where there
/// are none, on either side of a condition.
fn first(laid: &Layout, acts: &[Act], how: Otherwise) -> Option<Vec<Act>> {
    let (head, rest) = acts.split_first()?;
    let later = || first(laid, rest, how);
    let before = |own: &[Act], rest: &[Act]| [own, rest].concat();
    match head {
        Act::Repeat { times, acts } => {
            let Some(round) = first(laid, acts, how) else {
                return Some(before(std::slice::from_ref(head), &later()?));
            };
            // How many rounds are left is asked after the first, and must not hang on what was done in it.
            let on_the_table = times.reads().sizes || times.reads().places;
            if on_the_table {
                return None;
            }
            let left = Act::Repeat {
                times: laid.expr(&format!("({}) - 1", times.source()))?,
                acts: acts.clone(),
            };
            Some(vec![Act::When {
                when: laid.expr(&format!("({}) >= 1", times.source()))?,
                then: [round, vec![left], rest.to_vec()].concat(),
                otherwise: later().unwrap_or_else(|| rest.to_vec()),
            }])
        }
        Act::When {
            when,
            then,
            otherwise,
        } => {
            let sides = [then, otherwise].map(|side| (side, first(laid, side, how)));
            if sides.iter().all(|(_, other)| other.is_none()) {
                return Some(before(std::slice::from_ref(head), &later()?));
            }
            let [then, otherwise] = sides.map(|(side, other)| match other {
                Some(other) => before(&other, rest),
                None => before(side, &later().unwrap_or_else(|| rest.to_vec())),
            });
            Some(vec![Act::When {
                when: when.clone(),
                then,
                otherwise,
            }])
        }
        single => match otherwise(laid, single, how) {
            Some(other) => Some(before(&[other], rest)),
            None => Some(before(std::slice::from_ref(single), &later()?)),
        },
    }
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
