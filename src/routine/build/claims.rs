//! Claims, with names looked up.

use super::cards::say_unknown_class;
use super::names::Names;
use crate::routine::check::Spot;
use crate::routine::claim::{Claim, ClaimKind, Wanted};
use crate::routine::draft::{ClaimDraft, CountClaim, Parity, SameClaim, UpTo};
use crate::routine::expr::{Expr, Kind};
use crate::routine::yaml_read::{At, Part, Text};
use crate::table::Table;

pub(super) fn claims(drafts: &[Part<At<ClaimDraft>>], names: &Names<'_>) -> Vec<Claim> {
    let drafts = drafts.iter().filter_map(|draft| draft.get());
    drafts
        .filter_map(|draft| {
            let says = draft.value.says.as_ref();
            Some(Claim {
                words: says.map(|s| s.text.trim().to_owned()).unwrap_or_default(),
                kind: kind(draft, names)?,
                line: draft.spot.line,
            })
        })
        .collect()
}

type Read = Option<ClaimKind>;

fn kind(draft: &At<ClaimDraft>, names: &Names<'_>) -> Read {
    let spot = draft.spot;
    let draft = &draft.value;
    let mut kinds: Vec<&dyn Fn() -> Read> = Vec::new();
    let all = || all(draft, spot, names);
    let sequence = || sequence(draft, names);
    let blocks = || blocks(draft, names);
    let count = || count(draft.count.as_ref()?.get()?, spot, names);
    let place = || place(draft, names);
    let lies = || lies(draft, names);
    let mirror = || mirror(draft, names);
    let mates = || {
        Some(ClaimKind::MatesTogether(
            names.pile(draft.mates.as_ref()?.get()?)?,
        ))
    };
    let same = || same(draft.same_as_start.as_ref()?.get()?, names);
    let sum = || sum(draft, spot, names);
    let and = || many(draft.and.as_ref()?, spot, names).map(ClaimKind::And);
    let or = || many(draft.or.as_ref()?, spot, names).map(ClaimKind::Or);
    let not = || {
        let inner = kind(draft.not.as_ref()?.get()?, names)?;
        Some(ClaimKind::Not(Box::new(inner)))
    };
    let expr = || {
        let expr = names.expr(draft.expr.as_ref()?.get()?, Kind::Bool)?;
        Some(ClaimKind::Expr(expr))
    };
    let ways: [(bool, &dyn Fn() -> Read); 14] = [
        (draft.all.is_some(), &all),
        (draft.sequence.is_some(), &sequence),
        (draft.blocks.is_some(), &blocks),
        (draft.count.is_some(), &count),
        (draft.place.is_some(), &place),
        (draft.lies.is_some(), &lies),
        (draft.mirror.is_some(), &mirror),
        (draft.mates.is_some(), &mates),
        (draft.same_as_start.is_some(), &same),
        (draft.sum.is_some(), &sum),
        (draft.and.is_some(), &and),
        (draft.or.is_some(), &or),
        (draft.not.is_some(), &not),
        (draft.expr.is_some(), &expr),
    ];
    kinds.extend(ways.iter().filter(|(there, _)| *there).map(|(_, way)| *way));
    match kinds.as_slice() {
        [only] => only(),
        [] => {
            names.gathered.advise(
                spot,
                "this claim does not say what must be true",
                "add one of all, sequence, blocks, count, place, lies, mirror, mates, same-as-start, sum, and, or, not and expr",
            );
            None
        }
        _ => {
            names.gathered.advise(
                spot,
                "this claim has two kinds",
                "begin a new line with `- ` for the second, or put both under `and:`",
            );
            None
        }
    }
}

fn many(
    drafts: &Part<Vec<Part<At<ClaimDraft>>>>,
    spot: Spot,
    names: &Names<'_>,
) -> Option<Vec<ClaimKind>> {
    let drafts = drafts.get()?;
    if drafts.is_empty() {
        names
            .gathered
            .advise(spot, "no claims are listed here", "list at least one");
    }
    let kinds: Vec<Read> = drafts.iter().map(|d| kind(d.get()?, names)).collect();
    kinds.into_iter().collect()
}

fn all(draft: &ClaimDraft, spot: Spot, names: &Names<'_>) -> Read {
    let draft = draft.all.as_ref()?.get()?;
    let piles = names.pile_list(&draft.piles, 1, spot);
    let class = names.class(&draft.class);
    Some(ClaimKind::AllOne {
        piles: piles?,
        class: class?,
    })
}

fn wanted(text: &str, spot: Spot, names: &Names<'_>) -> Option<Wanted> {
    if text == "*" {
        return Some(Wanted::Any);
    }
    match names.pack.find_class(text) {
        Some((id, class)) => Some(Wanted::Is(id, class)),
        None => {
            say_unknown_class(names.gathered, spot, text, &names.pack);
            None
        }
    }
}

fn sequence(draft: &ClaimDraft, names: &Names<'_>) -> Read {
    let draft = draft.sequence.as_ref()?.get()?;
    let pile = names.pile(&draft.pile);
    let mut places = Vec::new();
    let mut offset = 0;
    for word in draft.is.text.split(char::is_whitespace) {
        if !word.is_empty() {
            let spot = names.gathered.inside(&draft.is, offset);
            places.push(wanted(word, spot, names));
        }
        offset += word.chars().count() + 1;
    }
    if places.is_empty() {
        names.gathered.advise(
            draft.is.spot,
            "this sequence is empty",
            "write classes with spaces between, `*` for anything",
        );
    }
    let wanted: Option<Vec<Wanted>> = places.into_iter().collect();
    Some(ClaimKind::Sequence {
        pile: pile?,
        wanted: wanted?,
    })
}

fn blocks(draft: &ClaimDraft, names: &Names<'_>) -> Read {
    let draft = draft.blocks.as_ref()?.get()?;
    let pile = names.pile(&draft.pile);
    let class = names.class(&draft.class);
    if draft.of.value < 2 {
        names.gathered.advise(
            draft.of.spot,
            "a block has two cards at least",
            "take a number from 2 up",
        );
    } else if let Some(class) = class {
        let labels = names
            .pack
            .traits()
            .get(class.index())
            .map_or(0, |t| t.labels.len());
        if usize::from(draft.of.value) > labels {
            names.gathered.advise(
                draft.of.spot,
                format!(
                    "blocks of {} cannot hold different classes: {} has {labels}",
                    draft.of.value,
                    names.pack.trait_name(class)
                ),
                if labels > 2 {
                    format!("take a number from 2 to {labels}")
                } else {
                    "take 2".to_owned()
                },
            );
        }
    }
    Some(ClaimKind::Blocks {
        pile: pile?,
        of: draft.of.value,
        class: class?,
    })
}

fn count(draft: &CountClaim, spot: Spot, names: &Names<'_>) -> Read {
    let piles = names.pile_list(&draft.piles, 1, spot);
    let wanted = match &draft.class {
        Some(class) => wanted(class.text.trim(), class.spot, names).map(Some),
        None => Some(None),
    };
    let is = names.expr(&draft.is, Kind::Int);
    Some(ClaimKind::Count {
        piles: piles?,
        wanted: wanted?,
        up: draft.up,
        places: match draft.places {
            None => 0,
            Some(Parity::Odd) => 1,
            Some(Parity::Even) => 2,
        },
        is: is?,
    })
}

/// A card: a name that is remembered, an expression, or a card as people write it.
fn card(text: &Text, names: &Names<'_>) -> Option<Expr> {
    let written = text.text.trim();
    match names.pack.read(written) {
        Ok(card) if !names.is_known(written) => Some(Expr::card(card, written)),
        Ok(_) => names.expr(text, Kind::Card),
        Err(_) if crate::cards::read_face(written).is_ok() && !names.is_known(written) => {
            names.gathered.advise(
                text.spot,
                format!("{written} is not among the cards of this routine"),
                "add it to a pile, or name another card",
            );
            None
        }
        Err(_) => names.expr(text, Kind::Card),
    }
}

fn place(draft: &ClaimDraft, names: &Names<'_>) -> Read {
    let draft = draft.place.as_ref()?.get()?;
    let card = card(&draft.card, names);
    let pile = names.pile(&draft.pile);
    let is = names.expr(&draft.is, Kind::Int);
    Some(ClaimKind::Place {
        card: card?,
        pile: pile?,
        is: is?,
    })
}

fn lies(draft: &ClaimDraft, names: &Names<'_>) -> Read {
    let draft = draft.lies.as_ref()?.get()?;
    let pile = names.pile(&draft.pile);
    let at = names.expr(&draft.at, Kind::Int);
    let card = card(&draft.card, names);
    Some(ClaimKind::Place {
        card: card?,
        pile: pile?,
        is: at?,
    })
}

fn mirror(draft: &ClaimDraft, names: &Names<'_>) -> Read {
    let draft = draft.mirror.as_ref()?.get()?;
    let pile = names.pile(&draft.pile);
    let class = if draft.by.text == "mates" {
        Some(None)
    } else {
        names.class(&draft.by).map(Some)
    };
    Some(ClaimKind::Mirror {
        pile: pile?,
        class: class?,
    })
}

fn same(draft: &SameClaim, names: &Names<'_>) -> Read {
    let pile = names.pile(&draft.pile);
    let class = match &draft.class {
        Some(class) => names.class(class).map(Some),
        None => Some(None),
    };
    let may = |what| {
        draft
            .up_to
            .as_ref()
            .is_some_and(|list| list.contains(&what))
    };
    Some(ClaimKind::SameAs {
        pile: pile?,
        // Put in place when the whole start is known.
        as_was: Table::default(),
        class: class?,
        rotation: may(UpTo::Rotation),
        reversal: may(UpTo::Reversal),
    })
}

fn sum(draft: &ClaimDraft, spot: Spot, names: &Names<'_>) -> Read {
    let draft = draft.sum.as_ref()?.get()?;
    let piles = names.pile_list(&draft.piles, 1, spot);
    let is = names.expr(&draft.is, Kind::Int);
    Some(ClaimKind::Sum {
        piles: piles?,
        court: draft.court.as_ref().map(|c| c.value),
        is: is?,
    })
}
