//! Values as text: for people, and as `NAME=VALUE` takes them.

use super::Routine;
use super::model::ForkKind;
use super::world::{Fault, Scene, Value};
use crate::cards::nearest;
use crate::cards::{Card, Pack};
use crate::table::PileId;

impl Value {
    /// The value as a short text that [`Value::read`] takes back: `7`, `left`, `A,C,B`, `1,4,7`, `LRRL`, `3,2,5`, `7H`,
    /// `yes`. Of cards with the same print the second is written `7H#2`, and so on. In a routine with cards in unknown
    /// order use [`Value::show_in`], which goes by what is printed.
    #[must_use]
    pub fn show(&self, routine: &Routine) -> String {
        match self {
            Self::Int(n) => n.to_string(),
            Self::Bool(b) => (if *b { "yes" } else { "no" }).to_owned(),
            Self::Text(word) => word.to_string(),
            Self::Card(card) => show_card(*card, &routine.pack),
            Self::Pile(pile) => routine.pile_name(*pile).to_owned(),
            Self::Order(piles) => {
                let names: Vec<_> = piles.iter().map(|p| routine.pile_name(*p)).collect();
                names.join(",")
            }
            Self::Places(numbers) | Self::Chunks(numbers) => {
                let numbers: Vec<_> = numbers.iter().map(ToString::to_string).collect();
                numbers.join(",")
            }
            Self::Weave(weave) => weave.iter().map(|l| if *l { 'L' } else { 'R' }).collect(),
        }
    }

    /// As [`Value::show`], but a card is named by what is printed on it in this scene.
    ///
    /// # Errors
    /// [`Fault::Unfixed`] when that is not fixed yet.
    pub fn show_in(&self, scene: Scene<'_>) -> Result<String, Fault> {
        match self {
            Self::Card(card) => Ok(show_card(scene.print(*card)?, &scene.routine.pack)),
            Self::Int(_)
            | Self::Bool(_)
            | Self::Text(_)
            | Self::Pile(_)
            | Self::Order(_)
            | Self::Places(_)
            | Self::Weave(_)
            | Self::Chunks(_) => Ok(self.show(scene.routine)),
        }
    }

    /// The value in words for patter: cards by their full names in the routine's language, numbers in digits, piles by
    /// name, lists with commas.
    ///
    /// # Errors
    /// [`Fault::Unfixed`] when the print of a card is not fixed yet.
    pub fn in_words(&self, scene: Scene<'_>) -> Result<String, Fault> {
        match self {
            Self::Card(card) => Ok(scene.routine.pack.name(scene.print(*card)?).to_owned()),
            Self::Order(_) | Self::Places(_) | Self::Chunks(_) => {
                Ok(self.show(scene.routine).replace(',', ", "))
            }
            Self::Int(_) | Self::Bool(_) | Self::Text(_) | Self::Pile(_) | Self::Weave(_) => {
                Ok(self.show(scene.routine))
            }
        }
    }

    /// Reads a choice as a person types it. Whether the fork offers it on the table at hand is for the road to say.
    ///
    /// # Errors
    /// [`Fault::Choice`] when the text is no value of the fork's kind.
    pub fn read(text: &str, kind: &ForkKind, routine: &Routine) -> Result<Self, Fault> {
        let text = text.trim();
        let wrong = |what: &str| Fault::Choice(format!("`{text}` is not {what}"));
        match kind {
            ForkKind::Number { .. } => text
                .parse()
                .map(Self::Int)
                .map_err(|_| wrong("a whole number, such as 7")),
            ForkKind::Place(_) | ForkKind::Cut { .. } => match text.parse::<u16>() {
                Ok(n) => Ok(Self::Int(i64::from(n))),
                Err(_) => Err(wrong("a number of cards, such as 7")),
            },
            ForkKind::Option(options) => {
                let fold = |word: &str| word.to_lowercase();
                options
                    .iter()
                    .find(|o| ***o == *text)
                    .or_else(|| options.iter().find(|o| fold(o) == fold(text)))
                    .map(|o| Self::Text(o.clone()))
                    .ok_or_else(|| unlisted(text, options.iter().map(|o| &**o)))
            }
            ForkKind::Pile(piles) => read_pile(text, piles, routine).map(Self::Pile),
            ForkKind::PileOrder(piles) => {
                let mut order: Vec<PileId> = Vec::new();
                for name in text.split(',') {
                    let pile = read_pile(name.trim(), piles, routine)?;
                    if order.contains(&pile) {
                        return Err(wrong("an order: a pile is named twice"));
                    }
                    order.push(pile);
                }
                if order.len() < piles.len() {
                    return Err(wrong(&format!("an order of all {} piles", piles.len())));
                }
                Ok(Self::Order(order.into()))
            }
            ForkKind::Card(_) => read_card(text, &routine.pack).map(Self::Card),
            ForkKind::Cards { .. } => {
                let mut places = read_numbers(text)
                    .ok_or_else(|| wrong("a list of places from the top, such as 1,4,7"))?;
                places.sort_unstable();
                if places.windows(2).any(|w| w[0] == w[1]) {
                    return Err(wrong("a choice of places: one is named twice"));
                }
                Ok(Self::Places(places.into()))
            }
            ForkKind::Riffle { .. } => text
                .chars()
                .map(|c| match c {
                    'L' | 'l' => Some(true),
                    'R' | 'r' => Some(false),
                    _ => None,
                })
                .collect::<Option<Vec<bool>>>()
                .map(|weave| Self::Weave(weave.into()))
                .ok_or_else(|| {
                    wrong("an interleaving: write L and R from the top down, such as LRRL")
                }),
            ForkKind::Overhand(_) => read_numbers(text)
                .map(|chunks| Self::Chunks(chunks.into()))
                .ok_or_else(|| wrong("a list of chunks, such as 3,2,5")),
            ForkKind::Again { .. } => match text.to_lowercase().as_str() {
                "yes" | "y" | "again" | "true" => Ok(Self::Bool(true)),
                "no" | "n" | "stop" | "false" => Ok(Self::Bool(false)),
                _ => Err(wrong("yes or no")),
            },
        }
    }

    /// As [`Value::read`], but a card is the one that bears this print in the scene.
    ///
    /// # Errors
    /// As [`Value::read`], and [`Fault::Unfixed`] when the print may still turn up on any of several cards.
    pub fn read_in(text: &str, kind: &ForkKind, scene: Scene<'_>) -> Result<Self, Fault> {
        match Self::read(text, kind, scene.routine)? {
            Self::Card(print) => scene.bearing(print).map(Self::Card),
            value @ (Self::Int(_)
            | Self::Bool(_)
            | Self::Text(_)
            | Self::Pile(_)
            | Self::Order(_)
            | Self::Places(_)
            | Self::Weave(_)
            | Self::Chunks(_)) => Ok(value),
        }
    }
}

fn show_card(card: Card, pack: &Pack) -> String {
    let twins = pack
        .cards()
        .take_while(|other| *other != card)
        .filter(|other| pack.same_look(*other, card))
        .count();
    let short = pack.short(card);
    if twins == 0 {
        short
    } else {
        format!("{short}#{}", twins + 1)
    }
}

fn read_card(text: &str, pack: &Pack) -> Result<Card, Fault> {
    let (written, nth) = match text.rsplit_once('#') {
        Some((written, nth)) => (written, nth.parse::<usize>().unwrap_or(0)),
        None => (text, 1),
    };
    let first = pack
        .read(written)
        .map_err(|fault| Fault::Choice(fault.to_string()))?;
    pack.cards()
        .filter(|card| pack.same_look(*card, first))
        .nth(nth.wrapping_sub(1))
        .ok_or_else(|| Fault::Choice(format!("there is no card `{text}` in this routine")))
}

fn read_pile(text: &str, piles: &[PileId], routine: &Routine) -> Result<PileId, Fault> {
    let name = |pile: &&PileId| routine.pile_name(**pile);
    piles
        .iter()
        .find(|p| name(p) == text)
        .or_else(|| {
            piles
                .iter()
                .find(|p| name(p).to_lowercase() == text.to_lowercase())
        })
        .copied()
        .ok_or_else(|| unlisted(text, piles.iter().map(|p| routine.pile_name(*p))))
}

fn read_numbers(text: &str) -> Option<Vec<u16>> {
    text.split(',')
        .map(|n| n.trim().parse::<u16>().ok().filter(|n| *n > 0))
        .collect()
}

/// A word that is none of those offered.
fn unlisted<'a>(text: &str, offered: impl Iterator<Item = &'a str> + Clone) -> Fault {
    Fault::Choice(match nearest(text, offered.clone()) {
        Some(near) => format!("there is no `{text}`; did you mean `{near}`?"),
        None => {
            let all: Vec<_> = offered.map(|o| format!("`{o}`")).collect();
            format!("`{text}` is not among {}", all.join(", "))
        }
    })
}

#[cfg(test)]
mod tests;
