//! Mends as performers key them: the routine's own by number or name, free moves in the handling's words, looks, or several in a row.
//!
//! ```text
//! 2                        the second mend of the list
//! cold-feet                a mend by its name
//! cut 3                    the routine's moves, as plainly or as fully as one likes
//! cut: {pile: packet, at: 3}
//! top to bottom            one card; `top 2 to bottom`, `bottom to top`
//! turn 2; top to bottom    one after the other: `;`, `then` or a comma
//! look bottom              a look; what it shows is told before the rest is asked for
//! ```

use super::super::super::marking::read_place;
use crate::handling::{End, Halves, Kept, Move, Over, Weave};
use crate::rescue::Deed;
use crate::routine::Routine;
use crate::table::{PileId, Place};

/// One thing keyed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::drill) enum Keyed {
    /// To be done.
    Do(Deed),
    /// To be looked at.
    Look(Look),
}

/// What is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::drill) enum Look {
    /// What this mend looks at.
    Mend(usize),
    /// The card at this place; from the top, from 1.
    Card(PileId, Place),
}

/// What moves are read against: the routine, the pile meant where none is named, and how many cards lie where.
#[derive(Clone, Copy)]
pub(in crate::drill) struct Reading<'a> {
    pub routine: &'a Routine,
    pub usual: PileId,
    pub sizes: &'a dyn Fn(PileId) -> u16,
}

/// Reads a sequence.
///
/// # Errors
/// What could not be read, in words.
pub(in crate::drill) fn read(reading: Reading<'_>, text: &str) -> Result<Vec<Keyed>, String> {
    let mut whole: Vec<String> = Vec::new();
    for part in parts(text) {
        // "deal 4 to left, right": a pile begins no move.
        let pile = matches!(tokens(reading.routine, &part).first(), Some(Token::Pile(_)));
        match whole.last_mut().filter(|_| pile) {
            Some(before) => {
                before.push(' ');
                before.push_str(&part);
            }
            None => whole.push(part),
        }
    }
    let mut keyed = Vec::new();
    for part in &whole {
        keyed.extend(one(reading, part)?);
    }
    if keyed.is_empty() {
        return Err("Please key a mend: a number of the list, or moves like cut 3".to_owned());
    }
    Ok(keyed)
}

/// The moves of a sequence: a comma within braces or brackets parts nothing.
fn parts(text: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    let mut depth = 0_u32;
    for c in text.to_lowercase().replace(" then ", " ; ").chars() {
        match c {
            '{' | '[' => depth += 1,
            '}' | ']' => depth = depth.saturating_sub(1),
            _ => {}
        }
        match (c, parts.last_mut()) {
            (';' | '\n', _) => parts.push(String::new()),
            (',', _) if depth == 0 => parts.push(String::new()),
            (_, Some(part)) => part.push(c),
            (_, None) => {}
        }
    }
    parts.retain(|part| !part.trim().is_empty());
    parts
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Token {
    Number(u16),
    /// "3rd", "third": a place, where a number may be a count.
    Ordinal(u16),
    Pile(PileId),
    Word(String),
}

/// Words that say nothing that the rest does not say.
const IDLE: [&str; 12] = [
    "the", "a", "an", "of", "off", "it", "them", "cards", "at", "pile", "is", "and",
];

/// The words of a move; a name with hyphens or spaces in it is one of them.
fn tokens(routine: &Routine, text: &str) -> Vec<Token> {
    let plain: String = text
        .chars()
        .map(|c| if "{}[]:,\"'.".contains(c) { ' ' } else { c })
        .collect();
    plain
        .split_whitespace()
        .filter_map(|word| {
            let same = |name: &str| name.to_lowercase().replace('_', "-") == word.replace('_', "-");
            if let Some(n) = routine.piles.iter().position(|name| same(name)) {
                return Some(Token::Pile(PileId(u8::try_from(n).ok()?)));
            }
            if IDLE.contains(&word) {
                return None;
            }
            if let Ok(n) = word.parse::<u16>() {
                return Some(Token::Number(n));
            }
            let said = read_place(word).filter(|_| !matches!(word, "top" | "no" | "none"));
            match said.and_then(|n| u16::try_from(n).ok()) {
                Some(n) if crate::drill::marking::read_number(word).is_some() => {
                    Some(Token::Number(n))
                }
                Some(n) => Some(Token::Ordinal(n)),
                None => Some(Token::Word(word.to_owned())),
            }
        })
        .collect()
}

/// A mend of the routine: its number in the list, or its name with hyphens or spaces.
fn mend(routine: &Routine, text: &str) -> Option<usize> {
    let plain = |text: &str| {
        let words = text.to_lowercase().replace(['-', '_'], " ");
        words.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let text = plain(text);
    let text = text.strip_prefix("mend ").unwrap_or(&text);
    if let Ok(n) = text.parse::<usize>() {
        return n.checked_sub(1).filter(|n| *n < routine.mends.len());
    }
    routine.mends.iter().position(|m| plain(&m.id.0) == text)
}

fn one(reading: Reading<'_>, text: &str) -> Result<Option<Keyed>, String> {
    let text = text.trim();
    if let Some(mend) = mend(reading.routine, text) {
        return Ok(Some(Keyed::Do(Deed::Mend(mend))));
    }
    let unknown = || {
        format!(
            "“{text}” is no mend of the list and no move that can be read. Moves are keyed like: cut 3; top to bottom; \
             turn 2; move 3 from {} to {}; look bottom",
            reading
                .routine
                .piles
                .first()
                .map_or("packet", String::as_str),
            reading
                .routine
                .piles
                .last()
                .map_or("packet", String::as_str),
        )
    };
    let all = tokens(reading.routine, text);
    let Some((first, rest)) = all.split_first() else {
        return Ok(None);
    };
    let (verb, rest) = match first {
        Token::Word(verb) => (verb.as_str(), rest),
        // "3 to the bottom", "1 under".
        Token::Number(_) => ("top", &all[..]),
        Token::Ordinal(_) | Token::Pile(_) => return Err(unknown()),
    };
    if matches!(verb, "look" | "glimpse" | "peek") {
        let (_, named) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
        return look(reading, named, rest)
            .map(|look| Some(Keyed::Look(look)))
            .ok_or_else(unknown);
    }
    let slots = Slots::of(rest);
    let deed = movement(reading, verb, &slots).ok_or_else(unknown)?;
    Ok(Some(Keyed::Do(Deed::Move(deed))))
}

fn look(reading: Reading<'_>, named: &str, rest: &[Token]) -> Option<Look> {
    if let Some(mend) = mend(reading.routine, named)
        && named.trim().parse::<usize>().is_err()
    {
        return Some(Look::Mend(mend));
    }
    let slots = Slots::of(rest);
    let pile = slots.from.first().or(slots.to.first()).copied();
    let pile = pile.unwrap_or(reading.usual);
    let place = match (slots.numbers.first(), slots.take) {
        (Some(n), _) => *n,
        (None, Some(End::Bottom)) => (reading.sizes)(pile),
        (None, Some(End::Top)) => 1,
        (None, None) => return None,
    };
    Some(Look::Card(pile, Place(place)))
}

/// What the words after the verb name.
#[derive(Debug, Default)]
struct Slots {
    numbers: Vec<u16>,
    /// Whether a number is a place: an ordinal, or "card 3".
    place: bool,
    from: Vec<PileId>,
    to: Vec<PileId>,
    take: Option<End>,
    put: Option<End>,
    words: Vec<String>,
}

impl Slots {
    fn of(tokens: &[Token]) -> Self {
        let mut slots = Self::default();
        let mut after = false;
        for token in tokens {
            match token {
                Token::Number(n) => slots.numbers.push(*n),
                Token::Ordinal(n) => {
                    slots.place = true;
                    slots.numbers.push(*n);
                }
                Token::Pile(pile) if after => slots.to.push(*pile),
                Token::Pile(pile) => slots.from.push(*pile),
                Token::Word(word) => match word.as_str() {
                    "to" | "onto" | "into" | "on" | "put" => after = true,
                    "from" | "take" | "count" => after = false,
                    "under" | "underneath" | "below" if !after => slots.put = Some(End::Bottom),
                    "top" if after => slots.put = Some(End::Top),
                    "bottom" | "under" | "underneath" | "below" if after => {
                        slots.put = Some(End::Bottom);
                    }
                    "top" => slots.take = Some(End::Top),
                    "bottom" => slots.take = Some(End::Bottom),
                    "card" => {
                        slots.place |= slots.numbers.is_empty();
                        slots.words.push(word.clone());
                    }
                    _ => slots.words.push(word.clone()),
                },
            }
        }
        slots
    }

    fn says(&self, word: &str) -> bool {
        self.words.iter().any(|said| said == word)
    }

    fn number(&self) -> Option<u16> {
        self.numbers.first().copied()
    }
}

fn movement(reading: Reading<'_>, verb: &str, slots: &Slots) -> Option<Move> {
    let all = |pile: PileId| (reading.sizes)(pile);
    let from = slots.from.first().copied();
    let to = slots.to.first().copied();
    let pile = from.or(to).unwrap_or(reading.usual);
    let known = |words: &[&str]| {
        slots
            .words
            .iter()
            .all(|word| words.contains(&word.as_str()))
    };
    let block = |take: End, count: u16, order: Kept| {
        // With no pile named after "to", the cards stay in their pile.
        let from = from.unwrap_or(if to.is_some() && slots.put.is_some() && from.is_none() {
            pile
        } else {
            reading.usual
        });
        let other = match take {
            End::Top => End::Bottom,
            End::Bottom => End::Top,
        };
        let same = to.is_none_or(|to| to == from);
        let put = slots.put.unwrap_or(if same { other } else { End::Top });
        Move::Block {
            from,
            take,
            count,
            to: to.unwrap_or(from),
            put,
            order,
        }
    };
    Some(match verb {
        "cut" if known(&["card"]) && slots.take.is_none() => Move::Cut {
            pile,
            at: slots.number()?,
        },
        "top" | "bottom" if known(&["card"]) && (slots.put.is_some() || to.is_some()) => {
            let take = if verb == "top" { End::Top } else { End::Bottom };
            match (slots.take, verb) {
                // "3 from the bottom to the top".
                (Some(End::Bottom), "top") => {
                    block(End::Bottom, slots.number().unwrap_or(1), Kept::Kept)
                }
                (_, _) => block(take, slots.number().unwrap_or(1), Kept::Kept),
            }
        }
        "move" | "lift" | "count" if known(&["card"]) && (slots.put.is_some() || to.is_some()) => {
            let order = if verb == "count" {
                Kept::Reversed
            } else {
                Kept::Kept
            };
            let ended = slots.take.is_some() || slots.says("card");
            let count = match slots.number() {
                Some(n) if !slots.place => n,
                Some(_) => return None,
                None if ended => 1,
                None => all(from.unwrap_or(reading.usual)),
            };
            block(slots.take.unwrap_or(End::Top), count, order)
        }
        "deal" if !slots.to.is_empty() && known(&["face", "up", "down"]) => {
            let from = from.unwrap_or(reading.usual);
            Move::Deal {
                from,
                to: slots.to.clone(),
                count: slots.number().unwrap_or_else(|| all(from)),
                up: match (slots.says("up"), slots.says("down")) {
                    (true, _) => Some(true),
                    (false, true) => Some(false),
                    (false, false) => None,
                },
            }
        }
        "turn" | "turn-each" if known(&["card", "over", "all", "whole"]) => {
            match (slots.numbers.as_slice(), slots.take) {
                ([], Some(End::Top)) => Move::Turn { pile, count: 1 },
                ([], Some(End::Bottom)) => Move::TurnEach {
                    pile,
                    places: vec![Place(all(pile))],
                },
                ([], None) => Move::Turn {
                    pile,
                    count: all(pile),
                },
                ([n], take) if !slots.place && verb == "turn" && take != Some(End::Bottom) => {
                    Move::Turn { pile, count: *n }
                }
                (places, None) => Move::TurnEach {
                    pile,
                    places: places.iter().map(|n| Place(*n)).collect(),
                },
                (_, Some(_)) => return None,
            }
        }
        "reverse" if known(&[]) => Move::Reverse(pile),
        "swap" if known(&["card", "with"]) => match slots.numbers.as_slice() {
            [a, b] => Move::Swap {
                pile,
                a: Place(*a),
                b: Place(*b),
            },
            _ => return None,
        },
        "take" if known(&["card"]) => {
            let from = from.unwrap_or(reading.usual);
            Move::Take {
                from,
                at: Place(slots.number()?),
                to: to.unwrap_or(from),
                put: slots.put.unwrap_or(End::Top),
            }
        }
        "put" | "bury" if known(&["card"]) => {
            let from = from.unwrap_or(reading.usual);
            Move::Put {
                from,
                to: to.unwrap_or(from),
                at: Place(slots.number()?),
            }
        }
        "gather" if known(&[]) && slots.from.len() > 1 => Move::Gather {
            piles: slots.from.clone(),
            onto: to.unwrap_or(slots.from[0]),
        },
        "klondike" | "milk" if known(&[]) => Move::Klondike(pile),
        "monge" if known(&["over", "second"]) => Move::Monge(
            pile,
            if slots.put == Some(End::Bottom) {
                Over::Under
            } else {
                Over::Over
            },
        ),
        "faro" if slots.says("in") => Move::Faro(pile, Weave::In),
        "faro" if slots.says("out") => Move::Faro(pile, Weave::Out),
        "inverse-faro" if slots.says("odds") => Move::InverseFaro(pile, Halves::OddsOnTop),
        "inverse-faro" if slots.says("evens") => Move::InverseFaro(pile, Halves::EvensOnTop),
        _ => return None,
    })
}
