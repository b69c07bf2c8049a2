//! Forks: what a spectator chooses among, and how likely.

use super::names::{ForkTag, Names};
use crate::routine::check::Spot;
use crate::routine::draft::{Again, Fork as ForkDraft, OneOrMany};
use crate::routine::expr::{Expr, Kind};
use crate::routine::model::{Fork, ForkKind, NameId, Seen, Template, Weights};
use crate::routine::yaml_read::{At, Text};
use std::sync::Arc;

/// The most options a fork may offer.
const MOST_OPTIONS: usize = 200;
/// The most piles whose orders may be chosen: 7! = 5040 branches.
const MOST_PILES: usize = 7;

pub(super) fn fork(draft: &At<ForkDraft>, names: &Names<'_>) -> Option<Fork> {
    let spot = draft.spot;
    let draft = &draft.value;
    let tags = ForkTag::of(draft);
    if tags.len() != 1 {
        let (message, help) = if tags.is_empty() {
            (
                "this fork does not say among what they choose",
                "add one of number, option, pile, pile-order, place, card, cards, cut, riffle and overhand",
            )
        } else {
            ("this fork has two kinds", "keep one of them")
        };
        names.gathered.advise(spot, message, help);
    }
    let kind = kind(draft, spot, names);
    let name = names.learn();
    let says = match &draft.says {
        Some(says) => names.own_words(says, name),
        None => Template::default(),
    };
    let seen = seen(draft, names, name);
    let kind = kind?;
    let weights = weights(draft.weights.as_deref(), count(&kind), names);
    Some(Fork {
        name,
        kind,
        weights,
        says,
        seen,
    })
}

fn kind(draft: &ForkDraft, spot: Spot, names: &Names<'_>) -> Option<ForkKind> {
    if let Some(number) = &draft.number {
        let number = number.get()?;
        let from = names.expr(&number.from, Kind::Int);
        let to = names.expr(&number.to, Kind::Int);
        let (from, to) = (from?, to?);
        let by = number.by.as_ref().map_or(1, |by| by.value);
        if let Some(by) = number.by.as_ref().filter(|by| by.value == 0) {
            names
                .gathered
                .advise(by.spot, "steps of 0 go nowhere", "take a step from 1 up");
        }
        if let (Some(least), Some(most)) = (fixed(&from), fixed(&to))
            && least > most
        {
            names.gathered.advise(
                number.from.spot,
                format!("there is no number from {least} to {most}"),
                "the smaller number comes first",
            );
        }
        return Some(ForkKind::Number {
            from,
            to,
            by: by.max(1),
        });
    }
    if let Some(options) = &draft.option {
        return options_of(options.get()?, spot, names);
    }
    if let Some(piles) = &draft.pile {
        return names.pile_list(piles.get()?, 2, spot).map(ForkKind::Pile);
    }
    if let Some(piles) = &draft.pile_order {
        let piles = names.pile_list(piles.get()?, 2, spot)?;
        if piles.len() > MOST_PILES {
            let message = format!("the orders of {} piles are too many", piles.len());
            names
                .gathered
                .advise(spot, message, format!("name at most {MOST_PILES}"));
        }
        return Some(ForkKind::PileOrder(piles));
    }
    if let Some(pile) = &draft.place {
        return names.pile(pile.get()?).map(ForkKind::Place);
    }
    if let Some(pile) = &draft.card {
        return names.pile(pile.get()?).map(ForkKind::Card);
    }
    if let Some(cards) = &draft.cards {
        let cards = cards.get()?;
        let pile = names.pile(&cards.pile);
        let count = names.expr(&cards.count, Kind::Int);
        return Some(ForkKind::Cards {
            pile: pile?,
            count: count?,
        });
    }
    if let Some(cut) = &draft.cut {
        let cut = cut.get()?;
        return Some(ForkKind::Cut {
            pile: names.pile(&cut.pile)?,
            least: cut.least.as_ref().map_or(1, |least| least.value),
        });
    }
    if let Some(riffle) = &draft.riffle {
        let riffle = riffle.get()?;
        let both = [riffle.left.clone(), riffle.right.clone()];
        let piles = names.pile_list(&both, 2, spot)?;
        return match piles.as_slice() {
            [left, right] => Some(ForkKind::Riffle {
                left: *left,
                right: *right,
            }),
            _ => None,
        };
    }
    let pile = draft.overhand.as_ref()?.get()?;
    names.pile(pile).map(ForkKind::Overhand)
}

fn options_of(options: &[Text], spot: Spot, names: &Names<'_>) -> Option<ForkKind> {
    if options.len() < 2 || options.len() > MOST_OPTIONS {
        let spot = options.first().map_or(spot, |o| o.spot);
        names.gathered.advise(
            spot,
            if options.len() < 2 {
                "there is nothing to choose between here".to_owned()
            } else {
                format!("{} options are too many", options.len())
            },
            format!("name from 2 to {MOST_OPTIONS} options"),
        );
        return None;
    }
    for (at, option) in options.iter().enumerate() {
        if options[..at].iter().any(|o| o.text == option.text) {
            let message = format!("the option \"{}\" stands here twice", option.text);
            names
                .gathered
                .advise(option.spot, message, "name each option once");
        }
    }
    let words = options.iter().map(|o| Arc::from(o.text.as_str()));
    Some(ForkKind::Option(words.collect()))
}

fn fixed(expr: &Expr) -> Option<i64> {
    expr.fixed().and_then(|value| value.as_int().ok())
}

/// How many branches a fork has, where that is known before the routine runs.
fn count(kind: &ForkKind) -> Option<usize> {
    match kind {
        ForkKind::Number { from, to, by } => {
            let width = fixed(to)?.checked_sub(fixed(from)?)?;
            usize::try_from(width / i64::from(*by) + 1).ok()
        }
        ForkKind::Option(options) => Some(options.len()),
        ForkKind::Pile(piles) => Some(piles.len()),
        ForkKind::PileOrder(piles) => Some((1..=piles.len()).product()),
        ForkKind::Again { .. } => Some(2),
        ForkKind::Place(_)
        | ForkKind::Card(_)
        | ForkKind::Cards { .. }
        | ForkKind::Cut { .. }
        | ForkKind::Riffle { .. }
        | ForkKind::Overhand(_) => None,
    }
}

fn weights(draft: Option<&[At<u32>]>, branches: Option<usize>, names: &Names<'_>) -> Weights {
    let Some(weights) = draft else {
        return Weights::Even;
    };
    let spot = weights.first().map(|w| w.spot).unwrap_or_default();
    if let Some(branches) = branches
        && branches != weights.len()
    {
        names.gathered.advise(
            spot,
            format!("{} weights for {branches} branches", weights.len()),
            "give one weight for each branch, or leave `weights` out",
        );
    } else if weights.iter().all(|w| w.value == 0) {
        names.gathered.advise(
            spot,
            "with these weights nothing can be chosen",
            "at least one weight must be more than 0",
        );
    }
    Weights::Listed(weights.iter().map(|w| w.value).collect())
}

fn seen(draft: &ForkDraft, names: &Names<'_>, own: NameId) -> Seen {
    match &draft.seen {
        None => Seen::All,
        Some(at) => match &at.value {
            OneOrMany::One(word) if word == "all" => Seen::All,
            OneOrMany::One(word) if word == "nothing" => Seen::Nothing,
            OneOrMany::One(word) => {
                names.gathered.advise(
                    at.spot,
                    format!("`{word}` is not something to be seen of a choice"),
                    "write `all`, `nothing`, or a list of expressions in brackets",
                );
                Seen::All
            }
            OneOrMany::Many(parts) => {
                let exprs = parts.iter().filter_map(|part| names.own_expr(part, own));
                Seen::These(exprs.collect())
            }
        },
    }
}

/// The gate after a part that is gone through again.
pub(super) fn gate(draft: &Again, names: &Names<'_>) -> Fork {
    let name = names.learn();
    if let Some(most) = draft.at_most.as_ref().filter(|most| most.value == 0) {
        names.gathered.advise(
            most.spot,
            "the part runs once at least",
            "take `at-most` from 1 up, or leave it out",
        );
    }
    Fork {
        name,
        kind: ForkKind::Again {
            at_most: draft.at_most.as_ref().map(|most| most.value),
        },
        weights: weights(draft.weights.as_deref(), Some(2), names),
        says: match &draft.says {
            Some(says) => names.template(says),
            None => Template::default(),
        },
        seen: Seen::All,
    }
}
