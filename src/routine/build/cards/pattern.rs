//! Patterns: signs, what they mean, and the cards drawn to fit them.

use super::super::setup::{self, Slot};
use super::{Cards, Written, say_unknown_class};
use crate::cards::{Card, Face, Pack};
use crate::routine::draft::PileDraft;
use crate::routine::yaml_read::Text;

impl Cards<'_> {
    pub(super) fn draw(
        &self,
        pile: &PileDraft,
        pattern: &Text,
        taken: &[Face],
        number: u64,
    ) -> Option<Vec<Written>> {
        let pool: Vec<Face> = match &pile.from {
            Some(from) => self.list(from).into_iter().map(|c| c.face).collect(),
            None if self.customs.is_empty() => Face::all52(),
            None => self
                .customs
                .iter()
                .map(|c| Face::Custom(c.code.clone()))
                .collect(),
        };
        let pack = self.pack(pool, pattern.spot)?;
        let free: Vec<Card> = pack
            .cards()
            .filter(|card| pack.face(*card).is_some_and(|face| !taken.contains(face)))
            .collect();
        let words = self.words(pattern);
        let names: Vec<(&str, bool)> = words
            .iter()
            .map(|w| match w.text.strip_suffix('^') {
                Some(sign) => (sign, true),
                None => (w.text.as_str(), false),
            })
            .collect();
        let mut slots = Vec::new();
        let mut clear = true;
        for (at, word) in words.iter().enumerate() {
            match self.slot(pile, word, &names, at, &pack, &free) {
                Some(slot) => slots.push(slot),
                None => clear = false,
            }
        }
        self.unused_signs(pile, &names);
        if !clear {
            return None;
        }
        let index = |card: Card| free.iter().position(|c| *c == card);
        let mate = |at: usize| free.get(at).and_then(|c| pack.mate_of(*c)).and_then(index);
        let Some(drawn) = setup::draw(&slots, &mate, number) else {
            self.gathered.advise(
                pattern.spot,
                "no cards fit this pattern",
                "ask for fewer cards of a kind, or give more cards under `from`",
            );
            return None;
        };
        let cards = drawn
            .iter()
            .zip(&names)
            .zip(&words)
            .map(|((card, (_, up)), word)| {
                Some(Written {
                    face: pack.face(*free.get(*card)?)?.clone(),
                    up: *up,
                    spot: word.spot,
                })
            });
        cards.collect()
    }

    fn unused_signs(&self, pile: &PileDraft, names: &[(&str, bool)]) {
        for (sign, _) in pile.signs.iter().flat_map(|s| &s.0) {
            if !names.iter().any(|(name, _)| *name == sign.text) {
                self.gathered.advise(
                    sign.spot,
                    format!("the pattern has no sign `{}`", sign.text),
                    "take it out, or use it in the pattern",
                );
            }
        }
    }

    /// What may lie at a place of a pattern.
    fn slot(
        &self,
        pile: &PileDraft,
        word: &Text,
        names: &[(&str, bool)],
        at: usize,
        pack: &Pack,
        free: &[Card],
    ) -> Option<Slot> {
        let (sign, _) = names[at];
        let signs = pile.signs.iter().flat_map(|s| &s.0);
        let Some((_, meaning)) = signs.clone().find(|(name, _)| name.text == sign) else {
            let known = signs.map(|(name, _)| name.text.as_str());
            self.gathered.unknown(word.spot, "sign", sign, known);
            return None;
        };
        let text = meaning.text.trim();
        if text == "any" {
            return Some(Slot::Among((0..free.len()).collect()));
        }
        if let Some(other) = text.strip_prefix("mate of ") {
            let other = other.trim();
            let before = names[..at].iter().filter(|(name, _)| *name == sign).count();
            let partner = names
                .iter()
                .enumerate()
                .filter(|(_, (name, _))| *name == other)
                .nth(before);
            if partner.is_none() || other == sign {
                self.gathered.advise(
                    meaning.spot,
                    format!("there is no `{other}` in the pattern for every `{sign}`"),
                    "every mate needs its own partner in the pattern",
                );
            }
            return partner.map(|(slot, _)| Slot::MateOf(slot));
        }
        let Some((id, class)) = pack.find_class(text) else {
            say_unknown_class(self.gathered, meaning.spot, text, pack);
            return None;
        };
        let fits = |card: &Card| pack.class(*card, id) == Some(class);
        let cards = free.iter().enumerate().filter(|(_, card)| fits(card));
        Some(Slot::Among(cards.map(|(at, _)| at).collect()))
    }
}
