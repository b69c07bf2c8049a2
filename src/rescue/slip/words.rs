//! Slips in words, as one performer would tell another.

use super::count::CardFault;
use super::hands::Doing;
use super::kind::SlipKind;
use super::prior::weight;
use super::search::{Explanation, Slip};
use super::wrong::Wrong;
use crate::handling::{End, Halves, Move, Over, Weave};
use crate::routine::{Routine, Stop};
use crate::table::PileId;

/// What was done, and what should have been: "lifted the nine cards as a block", "dealing them one by one".
struct Told {
    did: String,
    instead: String,
}

fn told(did: impl Into<String>, instead: impl Into<String>) -> Told {
    Told {
        did: did.into(),
        instead: instead.into(),
    }
}

/// A step within a sentence: “Deal some off”.
#[must_use]
pub fn step_title(routine: &Routine, slip: &Slip) -> String {
    let title = routine.stop(slip.stop).map_or("", title_of);
    match slip.visit {
        1 => format!("\u{201c}{title}\u{201d}"),
        visit => format!("\u{201c}{title}\u{201d}, time {visit}"),
    }
}

fn title_of(stop: &Stop) -> &str {
    let title = stop.title.trim().trim_end_matches('.');
    if title.is_empty() { &stop.id.0 } else { title }
}

/// What was done, where, and what should have been done: "lifted the nine cards as a block at “Deal off” instead of dealing
/// them one by one".
#[must_use]
pub fn slip_words(routine: &Routine, slip: &Slip) -> String {
    let told = told_of(routine, slip);
    let at = step_title(routine, slip);
    let place = match slip.wrong {
        Wrong::Lost => format!("before {at}"),
        _ => format!("at {at}"),
    };
    if told.instead.is_empty() {
        format!("{} {place}", told.did)
    } else {
        format!("{} {place} instead of {}", told.did, told.instead)
    }
}

/// The same without the place: "lifted the nine cards as a block instead of dealing them one by one".
#[must_use]
pub fn deed_words(routine: &Routine, slip: &Slip) -> String {
    let told = told_of(routine, slip);
    if told.instead.is_empty() {
        told.did
    } else {
        format!("{} instead of {}", told.did, told.instead)
    }
}

/// What not to do, whatever the numbers: "lift as a block what is dealt or counted".
#[must_use]
pub fn kind_words(kind: SlipKind) -> &'static str {
    match kind {
        SlipKind::Lifted => "lift as a block what is dealt or counted",
        SlipKind::CountedOff => "count off one by one what is lifted",
        SlipKind::Count => "lose count by one",
        SlipKind::LeftOut => "leave something out",
        SlipKind::Twice => "do something twice",
        SlipKind::WrongPile => "take the wrong pile",
        SlipKind::UnderOver => "put under what goes over, or over what goes under",
        SlipKind::InOut => "weave or stack the other way",
        SlipKind::Gathered => "gather in another order",
        SlipKind::Began => "begin to deal at another pile",
        SlipKind::LastAcross => "put the last card on the other side",
        SlipKind::Place => "take the card above or below",
        SlipKind::Turned => "turn too many, too few, or in another way",
        SlipKind::WrongWay => "do what belongs to the other case",
        SlipKind::LostBeat => "lose the beat",
        SlipKind::Dropped => "let a card fall",
        SlipKind::Lost => "lose a card",
    }
}

/// So many are named where a step has more of them.
const MOST_NAMED: usize = 4;

/// What a performer must not do at a step, the likeliest first; nothing where there is nothing of the kind.
#[must_use]
pub fn careful_words(fatal: &[SlipKind]) -> Option<String> {
    let mut fatal = fatal.to_vec();
    fatal.sort_by(|a, b| weight(*b).total_cmp(&weight(*a)).then(a.cmp(b)));
    fatal.dedup();
    let named: Vec<&str> = fatal
        .iter()
        .take(MOST_NAMED)
        .map(|kind| kind_words(*kind))
        .collect();
    let listed = match named.as_slice() {
        [] => return None,
        [one] => (*one).to_owned(),
        [most @ .., last] if fatal.len() <= MOST_NAMED => {
            format!("{}, or {last}", most.join(", "))
        }
        several => format!("{}, or worse", several.join(", ")),
    };
    Some(format!(
        "Careful here: there may be no way back if you {listed}."
    ))
}

/// A whole explanation as a sentence.
#[must_use]
pub fn explanation_words(routine: &Routine, explanation: &Explanation) -> String {
    let parts: Vec<String> = explanation
        .slips
        .iter()
        .map(|slip| slip_words(routine, slip))
        .collect();
    let who = match explanation.slips.first().map(|slip| &slip.wrong) {
        Some(Wrong::Lost) => "",
        Some(_) | None => "you ",
    };
    format!("{who}{}", parts.join(", and "))
}

/// What is wrong with the cards themselves.
#[must_use]
pub fn card_words(routine: &Routine, fault: &CardFault) -> String {
    let some = |n: i64, what: &str| {
        let count = usize::try_from(n.unsigned_abs()).unwrap_or(usize::MAX);
        let what = if what.is_empty() {
            cards(count)
        } else if count == 1 {
            format!("one {what} card")
        } else {
            format!("{} {what} cards", number(count))
        };
        let is = if count == 1 { "is" } else { "are" };
        if n > 0 {
            format!("{what} {is} missing")
        } else {
            format!("{what} {is} too many")
        }
    };
    match fault {
        CardFault::Missing(card) => format!("the {} is missing", routine.pack.name(*card)),
        CardFault::Doubled(card) => format!(
            "the {} is there more often than the routine has it",
            routine.pack.name(*card)
        ),
        CardFault::Class { label, missing, .. } => some(*missing, label),
        CardFault::Some(missing) => some(*missing, ""),
        CardFault::Foreign { card, pile, place } => format!(
            "card {place} of \u{201c}{}\u{201d}, the {card}, does not belong to this routine",
            routine.pile_name(*pile)
        ),
    }
}

/// A number as people say it: in words up to twelve.
fn number(n: usize) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS
        .get(n)
        .map_or_else(|| n.to_string(), |word| (*word).to_owned())
}

fn cards(n: usize) -> String {
    match n {
        1 => "one card".to_owned(),
        n => format!("{} cards", number(n)),
    }
}

fn the_cards(n: u16) -> String {
    match n {
        1 => "the card".to_owned(),
        n => format!("the {} cards", number(usize::from(n))),
    }
}

fn end(end: End) -> &'static str {
    match end {
        End::Top => "on top",
        End::Bottom => "at the bottom",
    }
}

fn ordinal(n: usize) -> String {
    const WORDS: [&str; 5] = ["first", "second", "third", "fourth", "fifth"];
    if let Some(word) = n.checked_sub(1).and_then(|n| WORDS.get(n)) {
        return (*word).to_owned();
    }
    let ending = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}

fn told_of(routine: &Routine, slip: &Slip) -> Told {
    match &slip.doing {
        Doing::Step => match slip.wrong {
            Wrong::Twice => told("did everything twice", ""),
            Wrong::Lost => told("a card had gone", ""),
            _ => told("left everything out", ""),
        },
        Doing::Rounds(due) => {
            let due = usize::try_from(*due).unwrap_or(0);
            let did = match slip.wrong {
                Wrong::More => due + 1,
                _ => due.saturating_sub(1),
            };
            let times = |n: usize| match n {
                0 => "not at all".to_owned(),
                1 => "once".to_owned(),
                2 => "twice".to_owned(),
                n => format!("{} times", number(n)),
            };
            told(format!("did it {}", times(did)), times(due))
        }
        Doing::Way(_) => told("did what belongs to the other case", ""),
        Doing::Move(mv) | Doing::Shuffle(mv) => of_move(routine, mv, &slip.wrong),
    }
}

/// What is common to all moves, and what is each one's own.
fn of_move(routine: &Routine, mv: &Move, wrong: &Wrong) -> Told {
    let pile = |pile: PileId| format!("\u{201c}{}\u{201d}", routine.pile_name(pile));
    let what = what(routine, mv);
    match wrong {
        Wrong::LeftOut => told(format!("left out {what}"), ""),
        Wrong::Twice => told(format!("did it twice ({what})"), ""),
        Wrong::From(other) => told(
            format!("took from {}", pile(*other)),
            format!(
                "from {}",
                mv.piles().first().map_or_else(String::new, |p| pile(*p))
            ),
        ),
        Wrong::To(meant, other) => told(
            format!("put cards on {}", pile(*other)),
            format!("on {}", pile(*meant)),
        ),
        Wrong::Order(order) => told(
            format!(
                "gathered the piles as {}, from the top,",
                piles(routine, order)
            ),
            match mv {
                Move::Gather { piles: meant, .. } => piles(routine, meant),
                _ => String::new(),
            },
        ),
        Wrong::Forgotten(forgotten) => told(
            format!("left {} lying when you gathered", pile(*forgotten)),
            "",
        ),
        Wrong::Began(first) => told(
            format!("began to deal at {}", pile(*first)),
            match mv {
                Move::Deal { to, .. } => to
                    .first()
                    .map_or_else(String::new, |p| format!("at {}", pile(*p))),
                _ => String::new(),
            },
        ),
        Wrong::Backwards => told("dealt round the other way", ""),
        Wrong::LastAcross => told("put the last card on the other side", ""),
        Wrong::Dropped {
            pile: at_pile,
            at,
            to,
        } => told(
            format!(
                "let a card fall (the {} of {}) and put it back {}",
                ordinal(usize::from(at.0)),
                pile(*at_pile),
                end(*to)
            ),
            "",
        ),
        Wrong::Lost => told("a card had gone", ""),
        Wrong::Beat { after, down } => {
            let twice = if *down {
                "put two down in a row"
            } else {
                "put two under in a row"
            };
            told(
                format!("{twice}, after {} down,", cards(usize::from(*after))),
                "going on by turns",
            )
        }
        Wrong::OtherWay => told("did what belongs to the other case", ""),
        Wrong::More
        | Wrong::Fewer
        | Wrong::Lifted
        | Wrong::CountedOff
        | Wrong::PutAcross
        | Wrong::TakenAcross
        | Wrong::Other
        | Wrong::Below(_)
        | Wrong::Above(_)
        | Wrong::OtherFace
        | Wrong::OtherTurn
        | Wrong::NotTurned => own(mv, wrong),
    }
}

fn piles(routine: &Routine, order: &[PileId]) -> String {
    order
        .iter()
        .map(|pile| routine.pile_name(*pile))
        .collect::<Vec<_>>()
        .join(", ")
}

/// A move as a thing: "the cut", "dealing nine cards".
fn what(routine: &Routine, mv: &Move) -> String {
    let pile = |pile: &PileId| format!("\u{201c}{}\u{201d}", routine.pile_name(*pile));
    match mv {
        Move::Cut { .. } => "the cut".to_owned(),
        Move::Block { count, .. } => format!("moving {}", cards(usize::from(*count))),
        Move::Deal { count, .. } => format!("dealing {}", cards(usize::from(*count))),
        Move::Gather { .. } => "gathering the piles".to_owned(),
        Move::DownUnder { .. } => "the deal, one down, one under".to_owned(),
        Move::Klondike(_) => "drawing off top and bottom together".to_owned(),
        Move::Monge(..) => "laying them over and under by turns".to_owned(),
        Move::Faro(..) => "the perfect riffle".to_owned(),
        Move::InverseFaro(..) => "taking out every second card".to_owned(),
        Move::Riffle { .. } => "the riffle".to_owned(),
        Move::Overhand(_) => "the overhand shuffle".to_owned(),
        Move::Turn { pile: of, count } => {
            format!(
                "turning {} of {} over",
                cards(usize::from(*count)),
                pile(of)
            )
        }
        Move::TurnEach { pile: of, .. } => format!("turning cards of {} over", pile(of)),
        Move::Reverse(_) => "reversing the packet".to_owned(),
        Move::Take { .. } => "taking the card out".to_owned(),
        Move::Put { .. } => "putting the card back".to_owned(),
        Move::Swap { .. } => "swapping two cards".to_owned(),
    }
}

/// How one does it, in a word, for counts.
fn doing(mv: &Move) -> (&'static str, Option<u16>) {
    match mv {
        Move::Cut { at, .. } => ("cut off", Some(*at)),
        Move::Block { count, .. } => ("moved", Some(*count)),
        Move::Deal { count, .. } => ("dealt", Some(*count)),
        Move::Turn { count, .. } => ("turned", Some(*count)),
        Move::Gather { .. }
        | Move::DownUnder { .. }
        | Move::Klondike(_)
        | Move::Monge(..)
        | Move::Faro(..)
        | Move::InverseFaro(..)
        | Move::Riffle { .. }
        | Move::Overhand(_)
        | Move::TurnEach { .. }
        | Move::Reverse(_)
        | Move::Take { .. }
        | Move::Put { .. }
        | Move::Swap { .. } => ("did", None),
    }
}

fn own(mv: &Move, wrong: &Wrong) -> Told {
    match (wrong, mv) {
        (Wrong::More | Wrong::Fewer, Move::DownUnder { leave, .. }) => {
            let left = usize::from(if *wrong == Wrong::Fewer {
                leave + 1
            } else {
                leave.saturating_sub(1)
            });
            told(
                format!("stopped with {} left", cards(left)),
                format!("with {}", cards(usize::from(*leave))),
            )
        }
        (Wrong::More | Wrong::Fewer, _) => match doing(mv) {
            (verb, Some(count)) => {
                let did = if *wrong == Wrong::More {
                    count.saturating_add(1)
                } else {
                    count.saturating_sub(1)
                };
                told(
                    format!("{verb} {}", cards(usize::from(did))),
                    number(usize::from(count)),
                )
            }
            (verb, None) => told(format!("{verb} it one off"), ""),
        },
        (Wrong::Lifted, Move::Deal { to, .. }) if to.len() > 1 => told(
            "lifted each pile off as a block",
            "dealing the cards round one by one",
        ),
        (Wrong::Lifted, Move::Deal { count, .. }) => told(
            format!("lifted {} as a block", the_cards(*count)),
            "dealing them one by one",
        ),
        (Wrong::Lifted, Move::Block { count, .. }) => told(
            format!("lifted {} as a block", the_cards(*count)),
            "counting them one by one",
        ),
        (Wrong::CountedOff, Move::Cut { at, .. }) => told(
            format!("counted {} one by one", the_cards(*at)),
            "cutting them off as a block",
        ),
        (Wrong::CountedOff, Move::Block { count, .. }) => told(
            format!("counted {} one by one", the_cards(*count)),
            "moving them as a block",
        ),
        (Wrong::PutAcross, Move::Block { put, .. } | Move::Take { put, .. }) => {
            let (did, due) = match put {
                End::Top => (End::Bottom, End::Top),
                End::Bottom => (End::Top, End::Bottom),
            };
            told(format!("put them {}", end(did)), end(due))
        }
        (Wrong::TakenAcross, Move::Block { take, .. }) => match take {
            End::Top => told("took from the bottom", "from the top"),
            End::Bottom => told("took from the top", "from the bottom"),
        },
        (Wrong::Other, Move::DownUnder { first_under, .. }) => {
            if *first_under {
                told("put the first card down", "under")
            } else {
                told("put the first card under", "down")
            }
        }
        (Wrong::Other, Move::Monge(_, second)) => match second {
            Over::Over => told("put the second card under the first", "over it"),
            Over::Under => told("put the second card over the first", "under it"),
        },
        (Wrong::Other, Move::Klondike(_)) => told(
            "laid each pair down with its bottom card uppermost",
            "its top card",
        ),
        (Wrong::Other, Move::Faro(_, weave)) => match weave {
            Weave::In => told("wove them so that the top card stayed", "going second"),
            Weave::Out => told(
                "wove them so that the top card went second",
                "staying on top",
            ),
        },
        (Wrong::Other, Move::InverseFaro(_, halves)) => match halves {
            Halves::OddsOnTop => told(
                "put the second, fourth, sixth on top",
                "the first, third, fifth",
            ),
            Halves::EvensOnTop => told(
                "put the first, third, fifth on top",
                "the second, fourth, sixth",
            ),
        },
        (Wrong::Below(_), _) => told("took the place one below", "the one meant"),
        (Wrong::Above(_), _) => told("took the place one above", "the one meant"),
        (Wrong::OtherFace, Move::Deal { up: Some(true), .. }) => {
            told("dealt them face down", "face up")
        }
        (Wrong::OtherFace, _) => told("dealt them face up", "face down"),
        (Wrong::OtherTurn, Move::Turn { count, .. }) => told(
            format!("turned {} over one by one", the_cards(*count)),
            "turning them as a block",
        ),
        (Wrong::OtherTurn, _) => told(
            "turned them over as a block",
            "turning each over in its place",
        ),
        (Wrong::NotTurned, _) => told("reversed their order without turning them over", ""),
        _ => told("did it otherwise", "as written"),
    }
}
