//! What is printed on the cards of a scene: the one place where a card on the table is looked up in the pack. And how piles are spoken of.

use super::Routine;
use super::world::{Fault, Scene};
use crate::cards::{Card, Class, TraitId};
use crate::table::PileId;

/// Nouns that need no "pile" after them.
const PACKET_WORDS: [&str; 13] = [
    "packet", "deck", "pack", "pile", "hand", "stack", "heap", "table", "row", "half", "queue",
    "line", "fan",
];

impl Routine {
    /// A pile as people speak of it: "the packet", "the dealt pile", "pile A".
    #[must_use]
    pub fn pile_in_words(&self, pile: PileId) -> String {
        let name = self.pile_name(pile).replace(['_', '-'], " ");
        let short = name.chars().count() == 1 || name.ends_with(|c: char| c.is_ascii_digit());
        if short {
            format!("pile {name}")
        } else if name
            .split(' ')
            .next_back()
            .is_some_and(|last| PACKET_WORDS.contains(&last))
        {
            format!("the {name}")
        } else {
            format!("the {name} pile")
        }
    }
}

impl Scene<'_> {
    /// The card of the pack whose print this card on the table bears.
    ///
    /// # Errors
    /// [`Fault::Unfixed`] when nothing has fixed it yet.
    pub fn print(&self, card: Card) -> Result<Card, Fault> {
        self.world.face_of(card).ok_or(Fault::Unfixed(card))
    }

    /// The card on the table that bears this print.
    ///
    /// # Errors
    /// [`Fault::Unfixed`] with the first card without a fixed print, as long as the print may still turn up on one.
    pub fn bearing(&self, print: Card) -> Result<Card, Fault> {
        let faces = &self.world.faces;
        if faces.is_empty() {
            return Ok(print);
        }
        if let Some(at) = faces.iter().position(|f| *f == Some(print)) {
            return Ok(numbered(at));
        }
        match faces.iter().position(Option::is_none) {
            Some(at) => Err(Fault::Unfixed(numbered(at))),
            None => Err(Fault::Value(format!(
                "{} is not among these cards",
                self.routine.pack.name(print)
            ))),
        }
    }

    /// Whether a card on the table bears this print, or one that looks the same.
    ///
    /// # Errors
    /// [`Fault::Unfixed`] when its print is not fixed.
    pub fn bears(&self, card: Card, print: Card) -> Result<bool, Fault> {
        Ok(self.routine.pack.same_look(self.print(card)?, print))
    }

    /// The class of a card on the table; `None` where the trait does not apply to it.
    ///
    /// # Errors
    /// [`Fault::Unfixed`] when its print is not fixed.
    pub fn class(&self, card: Card, id: TraitId) -> Result<Option<Class>, Fault> {
        Ok(self.routine.pack.class(self.print(card)?, id))
    }

    /// The value of a card on the table, ace = 1 to king = 13; a court card counts `court` when that is given.
    ///
    /// # Errors
    /// [`Fault::Unfixed`] when its print is not fixed, [`Fault::Value`] when it has no value.
    pub fn card_value(&self, card: Card, court: Option<u16>) -> Result<u16, Fault> {
        let print = self.print(card)?;
        let value = self.routine.pack.value_number(print).ok_or_else(|| {
            Fault::Value(format!("{} has no value", self.routine.pack.name(print)))
        })?;
        Ok(match court {
            Some(court) if value > 10 => court,
            Some(_) | None => u16::from(value),
        })
    }

    /// Whether two cards on the table are mates.
    ///
    /// # Errors
    /// [`Fault::Unfixed`] when the print of either is not fixed.
    pub fn are_mates(&self, one: Card, other: Card) -> Result<bool, Fault> {
        Ok(self
            .routine
            .pack
            .are_mates(self.print(one)?, self.print(other)?))
    }
}

fn numbered(index: usize) -> Card {
    Card(u16::try_from(index).unwrap_or(u16::MAX))
}
