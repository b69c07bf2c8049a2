//! The packet one ended with, as far as it was looked at.

use super::count::CardFault;
use crate::cards::{Card, Class, Suit, TraitId, read_face_among};
use crate::routine::Routine;
use crate::table::PileId;

/// What is known of one card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Held {
    /// What is printed on it.
    Print(Card),
    /// Its class of a trait.
    Class(TraitId, Class),
    /// Nothing.
    Unknown,
}

/// One place of a packet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Seen {
    /// Which card.
    pub held: Held,
    /// Whether it faces up, where that is told.
    pub up: Option<bool>,
}

/// One pile as it was found.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Found {
    /// Which pile.
    pub pile: PileId,
    /// Its cards from the top.
    pub cards: Vec<Seen>,
    /// Whether more cards may lie below them.
    pub open: bool,
}

/// Why a packet was not understood.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum GotFault {
    /// No pile of this name.
    #[error("there is no pile \u{201c}{name}\u{201d}; the piles are {known}")]
    Pile {
        /// As given.
        name: String,
        /// The piles there are.
        known: String,
    },
    /// A pile given twice.
    #[error("the pile \u{201c}{0}\u{201d} is given twice")]
    Twice(String),
    /// Several piles could be meant.
    #[error(
        "cards lie in several piles there; say which with NAME=CARDS, once for each pile you looked at: {0}"
    )]
    Which(String),
    /// No cards.
    #[error("no cards are given for \u{201c}{0}\u{201d}; write `nothing` for a pile that is empty")]
    Empty(String),
    /// A part that is no card.
    #[error(
        "card {at} of \u{201c}{pile}\u{201d}, \u{201c}{text}\u{201d}, is no card, no colour and no suit (a card is written 7H, a colour r or b, a card that was not looked at ?)"
    )]
    Card {
        /// The pile.
        pile: String,
        /// The how-manieth of it, from 1.
        at: usize,
        /// What stands there.
        text: String,
    },
}

/// The packet one ended with.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Got {
    /// The piles that were looked at.
    pub piles: Vec<Found>,
    /// Cards that no pack of this routine holds, by their words.
    pub foreign: Vec<CardFault>,
}

/// Ends a pile of which only the top was looked at.
const AND_SO_ON: [&str; 2] = ["...", "\u{2026}"];
/// A pile without cards.
const NOTHING: &str = "nothing";

impl Got {
    /// Reads piles, each `NAME=CARDS`, or only `CARDS` where `alone` is the one pile that can be meant. Cards are parted by
    /// spaces or commas, from the top: a card; a word or a letter for its colour or suit; `?` where nobody looked. `^` after
    /// it means face up, `_` face down; where one of a pile is marked with `^`, those without a mark lie face down. `...` at the
    /// end leaves open what lies below.
    ///
    /// # Errors
    /// The first part that is not understood, and where it stands.
    pub fn read<'a>(
        routine: &Routine,
        given: impl IntoIterator<Item = &'a str>,
        alone: Result<PileId, &str>,
    ) -> Result<Self, GotFault> {
        let mut got = Self::default();
        for text in given {
            let (pile, cards) = match text.split_once('=') {
                Some((name, cards)) => {
                    let name = name.trim();
                    let pile = routine.find_pile(name).ok_or_else(|| GotFault::Pile {
                        name: name.to_owned(),
                        known: routine.piles.join(", "),
                    })?;
                    (pile, cards)
                }
                None => (
                    alone.map_err(|piles| GotFault::Which(piles.to_owned()))?,
                    text,
                ),
            };
            if got.piles.iter().any(|found| found.pile == pile) {
                return Err(GotFault::Twice(routine.pile_name(pile).to_owned()));
            }
            got.add(routine, pile, cards)?;
        }
        Ok(got)
    }

    /// Reads one pile.
    ///
    /// # Errors
    /// The first part that is not understood.
    pub fn add(&mut self, routine: &Routine, pile: PileId, text: &str) -> Result<(), GotFault> {
        let mut found = Found {
            pile,
            cards: Vec::new(),
            open: false,
        };
        let mut parts: Vec<&str> = text
            .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';'))
            .filter(|part| !part.is_empty())
            .collect();
        if parts.is_empty() {
            return Err(GotFault::Empty(routine.pile_name(pile).to_owned()));
        }
        if parts == [NOTHING] {
            parts.clear();
        }
        if parts.last().is_some_and(|last| AND_SO_ON.contains(last)) {
            parts.pop();
            found.open = true;
        }
        for part in parts {
            self.part(routine, &mut found, part)?;
        }
        if found.cards.iter().any(|seen| seen.up == Some(true)) {
            for seen in &mut found.cards {
                seen.up = Some(seen.up.unwrap_or(false));
            }
        }
        self.piles.push(found);
        Ok(())
    }

    fn part(&mut self, routine: &Routine, found: &mut Found, part: &str) -> Result<(), GotFault> {
        let (bare, up) = match (part.strip_suffix('^'), part.strip_suffix('_')) {
            (Some(bare), _) => (bare, Some(true)),
            (None, Some(bare)) => (bare, Some(false)),
            (None, None) => (part, None),
        };
        if let Some(held) = held(routine, bare) {
            found.cards.push(Seen { held, up });
            return Ok(());
        }
        if let Ok(face) = read_face_among(bare, routine.pack.lang(), routine.pack.customs()) {
            self.foreign.push(CardFault::Foreign {
                card: routine.lang.face_name(&face),
                pile: found.pile,
                place: found.cards.len() + 1,
            });
            let held = Held::Unknown;
            found.cards.push(Seen { held, up });
            return Ok(());
        }
        // Letters of a colour may be written together: `rbrb`.
        let letters: Option<Vec<Held>> = bare
            .chars()
            .map(|letter| held(routine, letter.encode_utf8(&mut [0; 4])))
            .collect();
        match letters {
            Some(letters) if !letters.is_empty() => {
                found
                    .cards
                    .extend(letters.into_iter().map(|held| Seen { held, up }));
                Ok(())
            }
            Some(_) | None => Err(GotFault::Card {
                pile: routine.pile_name(found.pile).to_owned(),
                at: found.cards.len() + 1,
                text: part.chars().filter(|c| !c.is_control()).take(40).collect(),
            }),
        }
    }

    /// Whether anything at all is known of a card.
    #[must_use]
    pub fn says_something(&self) -> bool {
        !self.foreign.is_empty()
            || self
                .piles
                .iter()
                .flat_map(|found| &found.cards)
                .any(|seen| seen.held != Held::Unknown || seen.up.is_some())
    }
}

/// One card as it is written.
fn held(routine: &Routine, part: &str) -> Option<Held> {
    if part == "?" {
        return Some(Held::Unknown);
    }
    if let Ok(card) = routine.pack.read(part) {
        return Some(Held::Print(card));
    }
    [TraitId::COLOUR, TraitId::SUIT]
        .into_iter()
        .find_map(|of| Some(Held::Class(of, class(routine, of, part)?)))
}

/// A class by its word, the beginning of it, or a suit's sign.
fn class(routine: &Routine, of: TraitId, text: &str) -> Option<Class> {
    let table = routine.pack.traits().get(of.index())?;
    let found = |n: usize| u8::try_from(n).ok().map(Class);
    let mut signs = text.chars();
    if of == TraitId::SUIT
        && let (Some(sign), None) = (signs.next(), signs.next())
        && let Some(suit) = Suit::from_sign(sign)
    {
        return table
            .labels
            .iter()
            .position(|label| label == suit.word())
            .and_then(found);
    }
    let text = text.to_lowercase();
    let mut begin = table
        .labels
        .iter()
        .enumerate()
        .filter(|(_, label)| !text.is_empty() && label.to_lowercase().starts_with(&text));
    match (begin.next(), begin.next()) {
        (Some((n, _)), None) => found(n),
        _ => None,
    }
}
