//! Full decks in a stated order.

use super::{Cards, Written};
use crate::cards::{Face, Suit, Value};
use crate::routine::draft::{DeckDraft, DeckOrder};
use crate::routine::yaml_read::{At, Text};

impl Cards<'_> {
    fn suits(&self, deck: &At<DeckDraft>) -> Option<Vec<Suit>> {
        let Some(text) = &deck.value.suits else {
            return Some(Suit::ALL.to_vec());
        };
        let signs = text.text.chars().filter(|c| !c.is_whitespace());
        let suits: Option<Vec<Suit>> = signs.map(Suit::from_sign).collect();
        let different = |suits: &Vec<Suit>| {
            suits
                .iter()
                .enumerate()
                .all(|(at, suit)| !suits[..at].contains(suit))
        };
        let good = suits.filter(|suits| !suits.is_empty() && different(suits));
        if good.is_none() {
            self.gathered.advise(
                text.spot,
                format!("`{}` is no order of suits", text.text),
                "write letters of suits, each once: `CHSD`",
            );
        }
        good
    }

    pub(super) fn deck(&self, deck: &At<DeckDraft>) -> Option<Vec<Written>> {
        let suits = self.suits(deck)?;
        let draft = &deck.value;
        let faces: Vec<Face> = match (draft.order, &draft.start, &draft.step) {
            (Some(DeckOrder::BySuit), None, None) => suits
                .iter()
                .flat_map(|suit| Value::all().map(|value| Face::Standard(value, *suit)))
                .collect(),
            (Some(DeckOrder::ByValue), None, None) => Value::all()
                .flat_map(|value| suits.iter().map(move |suit| Face::Standard(value, *suit)))
                .collect(),
            (None, Some(start), Some(step)) => self.stepped(&suits, start, step)?,
            _ => {
                self.gathered.advise(
                    deck.spot,
                    "how this deck is ordered is not clear",
                    "write `order: by-suit` or `order: by-value`, or else both `start: AC` and `step: 3`",
                );
                return None;
            }
        };
        let spot = deck.spot;
        let card = |face| Written {
            face,
            up: false,
            spot,
        };
        Some(faces.into_iter().map(card).collect())
    }

    /// Each value `step` more than the one before (13 is followed by 1), the suits rotating.
    fn stepped(&self, suits: &[Suit], start: &Text, step: &At<u16>) -> Option<Vec<Face>> {
        let Face::Standard(first, suit) = self.face(start, start.spot)? else {
            let message = format!("`{}` is not one of the 52", start.text);
            self.gathered
                .advise(start.spot, message, "start with a card such as AC");
            return None;
        };
        let Some(turn) = suits.iter().position(|s| *s == suit) else {
            self.gathered.advise(
                start.spot,
                "the suit of the first card is not among the suits",
                "add it to `suits`, or start with another card",
            );
            return None;
        };
        if step.value.is_multiple_of(13) {
            self.gathered.advise(
                step.spot,
                "with this step the same cards come again",
                "take a step from 1 to 12",
            );
            return None;
        }
        let step = usize::from(step.value);
        let faces = (0..13 * suits.len()).map(|n| {
            let value = (usize::from(first.number()) - 1 + n * step) % 13 + 1;
            let value = u8::try_from(value).ok().and_then(Value::new)?;
            Some(Face::Standard(value, suits[(turn + n) % suits.len()]))
        });
        faces.collect()
    }
}
