//! Claims in words, for files that give none of their own.

use super::{ClaimKind, Wanted};
use crate::cards::TraitId;
use crate::routine::Routine;
use crate::table::PileId;

impl ClaimKind {
    /// The claim as a plain sentence without a full stop: "every pair in packet holds one red and one black card".
    #[must_use]
    pub fn words(&self, routine: &Routine) -> String {
        let pack = &routine.pack;
        match self {
            Self::AllOne { piles, class } => format!(
                "all cards in {} are of one {}",
                named(piles, routine, "and"),
                pack.trait_name(*class)
            ),
            Self::Sequence { pile, wanted } => {
                let wanted: Vec<_> = wanted.iter().map(|w| label(w, routine)).collect();
                format!(
                    "from the top, {} is {}",
                    routine.pile_name(*pile),
                    wanted.join(", ")
                )
            }
            Self::Blocks { pile, of, class } => blocks(*pile, *of, *class, routine),
            Self::Count {
                piles,
                wanted,
                up,
                places,
                is,
            } => {
                let mut words = match wanted {
                    // "hearts" already says cards.
                    Some(wanted @ Wanted::Is(TraitId::SUIT, _)) => vec![label(wanted, routine)],
                    Some(wanted @ Wanted::Is(..)) => {
                        vec![label(wanted, routine), "cards".to_owned()]
                    }
                    Some(Wanted::Any) | None => vec!["cards".to_owned()],
                };
                match up {
                    Some(true) => words.insert(0, "face-up".to_owned()),
                    Some(false) => words.insert(0, "face-down".to_owned()),
                    None => {}
                }
                match places {
                    0 => {}
                    1 => words.push("at odd places".to_owned()),
                    _ => words.push("at even places".to_owned()),
                }
                format!(
                    "the number of {} in {} is {}",
                    words.join(" "),
                    named(piles, routine, "and"),
                    is.source()
                )
            }
            Self::Place { card, pile, is } => format!(
                "{} lies at place {} of {}",
                spoken(card, routine),
                is.source(),
                routine.pile_name(*pile)
            ),
            Self::Mirror { pile, class } => {
                let pile = routine.pile_name(*pile);
                match class {
                    None => format!(
                        "{pile} is a mirror of mates: first and last, second and last but one, and so on"
                    ),
                    Some(class) => format!(
                        "{pile} is a mirror by {}: first and last agree, second and last but one, and so on",
                        pack.trait_name(*class)
                    ),
                }
            }
            Self::MatesTogether(pile) => {
                format!(
                    "every pair in {} is a pair of mates",
                    routine.pile_name(*pile)
                )
            }
            Self::SameAs {
                pile,
                as_was: _,
                class,
                rotation,
                reversal,
            } => {
                let what = match class {
                    None => "its cards in the same order as at the start".to_owned(),
                    Some(class) => {
                        format!("each {} where it was at the start", pack.trait_name(*class))
                    }
                };
                let up_to = match (rotation, reversal) {
                    (false, false) => "",
                    (true, false) => ", but for a cut",
                    (false, true) => ", or all reversed",
                    (true, true) => ", but for a cut or the whole reversed",
                };
                format!("{} has {what}{up_to}", routine.pile_name(*pile))
            }
            Self::Sum { piles, court, is } => {
                let court =
                    court.map_or_else(String::new, |c| format!(", court cards counting {c}"));
                format!(
                    "the values in {} add up to {}{court}",
                    named(piles, routine, "and"),
                    is.source()
                )
            }
            Self::And(claims) => joined(claims, "; and ", routine),
            Self::Or(claims) => joined(claims, "; or ", routine),
            Self::Not(claim) => format!("it is not so that {}", claim.words(routine)),
            Self::Expr(expr) => format!("{} is true", expr.source()),
        }
    }
}

fn joined(claims: &[ClaimKind], with: &str, routine: &Routine) -> String {
    let words: Vec<_> = claims.iter().map(|c| c.words(routine)).collect();
    words.join(with)
}

/// The names of some piles: "left and right".
fn named(piles: &[PileId], routine: &Routine, with: &str) -> String {
    let names: Vec<_> = piles.iter().map(|p| routine.pile_name(*p)).collect();
    list(&names, with)
}

fn list(words: &[&str], with: &str) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [rest @ .., last] => format!("{} {with} {last}", rest.join(", ")),
    }
}

fn label(wanted: &Wanted, routine: &Routine) -> String {
    match wanted {
        Wanted::Any => "any".to_owned(),
        Wanted::Is(id, class) => routine.pack.label(*id, *class).to_owned(),
    }
}

/// How to speak of the card of an expression: by its full name when it is written out, by what the file calls it
/// when it is a remembered name, else as written.
fn spoken(card: &super::Expr, routine: &Routine) -> String {
    if let Some(print) = card.written_card() {
        return routine.pack.name(print).to_owned();
    }
    routine
        .names
        .iter()
        .find(|n| n.name == card.source())
        .and_then(|n| n.about.clone())
        .unwrap_or_else(|| card.source().to_owned())
}

fn blocks(pile: PileId, of: u16, class: TraitId, routine: &Routine) -> String {
    let pack = &routine.pack;
    let pile = routine.pile_name(pile);
    let block = match of {
        2 => "pair".to_owned(),
        n => format!("block of {n} cards"),
    };
    let labels = pack
        .traits()
        .get(usize::from(class.0))
        .map(|table| table.labels.as_slice())
        .unwrap_or_default();
    match labels {
        [one, other] if of == 2 => {
            format!("every {block} in {pile} holds one {one} and one {other} card")
        }
        labels if labels.len() == usize::from(of) => format!(
            "every {block} in {pile} holds one of each {}",
            pack.trait_name(class)
        ),
        _ => format!(
            "in every {block} in {pile} no {} comes twice",
            pack.trait_name(class)
        ),
    }
}
