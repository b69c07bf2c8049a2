//! The cards: faces and traits of the file's own, and the piles that hold cards at the start.

use super::setup::{self, Slot};
use crate::cards::{Card, Custom, Face, Lang, Pack, Suit, TraitId, Value, read_face_among};
use crate::routine::check::{Gathered, Spot};
use crate::routine::draft::{CardSection, DeckDraft, DeckOrder, NOWHERE, PileDraft, RoutineFile};
use crate::routine::yaml_read::{At, Text};
use crate::table::{Laid, PileId, Table};

/// The most cards a routine may have: enough for a full deck and customs, small enough to stay quick.
const MOST: usize = 208;

/// The cards as they lie at the start.
pub(super) struct LaidOut {
    pub(super) pack: Pack,
    pub(super) piles: Vec<(String, Spot)>,
    pub(super) start: Table,
    pub(super) shuffled: Vec<Card>,
}

/// A card of a list, and where it is written.
struct Written {
    face: Face,
    up: bool,
    spot: Spot,
}

struct Cards<'a> {
    lang: Lang,
    customs: Vec<Custom>,
    lists: Vec<(String, Vec<Face>)>,
    gathered: &'a Gathered<'a>,
}

/// Lays the cards; `None` when nothing can be looked up in what came of it.
pub(super) fn lay(
    draft: &RoutineFile,
    lang: Lang,
    number: u64,
    gathered: &Gathered<'_>,
) -> Option<LaidOut> {
    let section = draft.cards.as_ref()?.get()?;
    let mut cards = Cards {
        lang,
        customs: customs(section, gathered),
        lists: Vec::new(),
        gathered,
    };
    cards.lists = cards.trait_lists(section);
    if section.piles.is_empty() {
        let spot = first_spot(section);
        gathered.advise(
            spot,
            "no pile holds any cards",
            "write a pile's name and its cards, such as `packet: {list: \"7H 4S 9D\"}`",
        );
        return None;
    }
    // Lists first: a pattern draws from the cards that are left.
    let mut laid: Vec<Option<(Vec<Written>, bool)>> = Vec::new();
    let mut fixed: Vec<Face> = Vec::new();
    for (name, pile) in &section.piles {
        let read = pile.get().and_then(|pile| {
            if pile.pattern.is_some() {
                return None;
            }
            cards.pile(name, pile)
        });
        fixed.extend(
            read.iter()
                .flat_map(|(cards, _)| cards.iter().map(|c| c.face.clone())),
        );
        laid.push(read);
    }
    for (at, (name, pile)) in section.piles.iter().enumerate() {
        let Some((pile, pattern)) = pile.get().and_then(|p| Some((p, p.pattern.as_ref()?))) else {
            continue;
        };
        cards.one_source(name, pile);
        if let Some(drawn) = cards.draw(pile, pattern, &fixed, number) {
            fixed.extend(drawn.iter().map(|c| c.face.clone()));
            laid[at] = Some((drawn, false));
        }
    }
    for ((name, pile), cards) in section.piles.iter().zip(&laid) {
        if pile.get().is_some() && cards.as_ref().is_some_and(|(c, _)| c.is_empty()) {
            gathered.advise(
                name.spot,
                format!("the pile \"{}\" holds no card at the start", name.text),
                "write its cards, or name it under `piles:` instead",
            );
        }
    }
    cards.set(section, laid)
}

fn first_spot(section: &CardSection) -> Spot {
    let faces = section.faces.as_ref().and_then(|f| f.get());
    let traits = section.traits.as_ref().and_then(|t| t.get());
    section
        .piles
        .first()
        .map(|(name, _)| name.spot)
        .or_else(|| faces.and_then(|f| f.0.first()).map(|(code, _)| code.spot))
        .or_else(|| traits.and_then(|t| t.0.first()).map(|(name, _)| name.spot))
        .unwrap_or(NOWHERE)
}

fn customs(section: &CardSection, gathered: &Gathered<'_>) -> Vec<Custom> {
    let Some(faces) = section.faces.as_ref().and_then(|f| f.get()) else {
        return Vec::new();
    };
    let mut customs = Vec::new();
    for (code, face) in &faces.0 {
        let Some(face) = face.get() else { continue };
        let mut mate = face.mate.as_ref();
        if let Some(wrong) = mate.filter(|m| !faces.0.iter().any(|(f, _)| f.text == m.text)) {
            let known = faces.0.iter().map(|(other, _)| other.text.as_str());
            gathered.unknown(wrong.spot, "face", &wrong.text, known);
            mate = None;
        }
        let traits = face.traits.iter().flat_map(|t| &t.0);
        customs.push(Custom {
            code: code.text.clone(),
            name: face.name.text.trim().to_owned(),
            traits: traits
                .map(|(name, class)| (name.text.clone(), class.text.clone()))
                .collect(),
            mate: mate.map(|m| m.text.clone()),
        });
    }
    customs
}

impl Cards<'_> {
    fn trait_lists(&self, section: &CardSection) -> Vec<(String, Vec<Face>)> {
        let lists = section.traits.as_ref().and_then(|t| t.get());
        let lists = lists.into_iter().flat_map(|t| &t.0);
        lists
            .filter_map(|(name, cards)| {
                let faces = cards
                    .get()?
                    .iter()
                    .filter_map(|card| self.face(card, card.spot));
                Some((name.text.clone(), faces.collect()))
            })
            .collect()
    }

    fn face(&self, text: &Text, spot: Spot) -> Option<Face> {
        match read_face_among(&text.text, self.lang, &self.customs) {
            Ok(face) => Some(face),
            Err(fault) => {
                self.gathered.say(spot, fault.to_string());
                None
            }
        }
    }

    /// The words of a text with their places.
    fn words(&self, text: &Text) -> Vec<Text> {
        let mut words: Vec<(usize, String)> = Vec::new();
        let mut open = false;
        for (at, c) in text.text.chars().enumerate() {
            if c.is_whitespace() || c == ',' {
                open = false;
                continue;
            }
            match words.last_mut() {
                Some((_, word)) if open => word.push(c),
                _ => words.push((at, c.to_string())),
            }
            open = true;
        }
        words
            .into_iter()
            .map(|(at, word)| Text {
                spot: Spot {
                    length: u32::try_from(word.chars().count()).unwrap_or(1),
                    ..self.gathered.inside(text, at)
                },
                text: word,
            })
            .collect()
    }

    fn list(&self, text: &Text) -> Vec<Written> {
        self.words(text)
            .iter()
            .filter_map(|word| {
                let (face, up) = match word.text.strip_suffix('^') {
                    Some(rest) => (rest, true),
                    None => (word.text.as_str(), false),
                };
                let text = Text {
                    spot: word.spot,
                    text: face.to_owned(),
                };
                Some(Written {
                    face: self.face(&text, word.spot)?,
                    up,
                    spot: word.spot,
                })
            })
            .collect()
    }

    /// Says so unless exactly one way of giving the cards is used.
    fn one_source(&self, name: &Text, pile: &PileDraft) -> bool {
        let ways = [
            pile.list.as_ref().map(|t| t.spot),
            pile.pattern.as_ref().map(|t| t.spot),
            pile.deck.as_ref().map(|t| t.spot),
            pile.shuffled.as_ref().map(|t| t.spot),
        ];
        let mut ways = ways.into_iter().flatten();
        let help = "give one of list, pattern, deck and shuffled";
        match (ways.next(), ways.next()) {
            (None, _) => {
                let message = format!("the pile \"{}\" has no cards", name.text);
                self.gathered.advise(name.spot, message, help);
                return false;
            }
            (Some(_), Some(second)) => {
                let message = format!("the cards of \"{}\" are given twice", name.text);
                self.gathered.advise(second, message, help);
                return false;
            }
            (Some(_), None) => {}
        }
        if pile.pattern.is_none() {
            let only = pile
                .signs
                .as_ref()
                .and_then(|s| s.0.first())
                .map(|(key, _)| ("where", key.spot));
            let only = only.or(pile.from.as_ref().map(|from| ("from", from.spot)));
            if let Some((key, spot)) = only {
                self.gathered.advise(
                    spot,
                    format!("`{key}` belongs to a pattern, and this pile has none"),
                    "take it out, or write a pattern",
                );
            }
        }
        true
    }

    /// The cards of a pile without a pattern, and whether their order is unknown.
    fn pile(&self, name: &Text, pile: &PileDraft) -> Option<(Vec<Written>, bool)> {
        if !self.one_source(name, pile) {
            return None;
        }
        if let Some(list) = &pile.list {
            return Some((self.list(list), false));
        }
        if let Some(shuffled) = &pile.shuffled {
            let cards = if shuffled.text.trim() == "full" {
                let spot = shuffled.spot;
                let card = |face| Written {
                    face,
                    up: false,
                    spot,
                };
                Face::all52().into_iter().map(card).collect()
            } else {
                self.list(shuffled)
            };
            return Some((cards, true));
        }
        let deck = pile.deck.as_ref()?;
        Some((self.deck(deck)?, false))
    }

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

    fn deck(&self, deck: &At<DeckDraft>) -> Option<Vec<Written>> {
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

    fn pack(&self, faces: Vec<Face>, spot: Spot) -> Option<Pack> {
        match Pack::new(faces, self.lang, &self.customs, &self.lists) {
            Ok(pack) => Some(pack),
            Err(fault) => {
                self.gathered.say(spot, fault.to_string());
                None
            }
        }
    }

    fn draw(
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
            self.unknown_class(meaning.spot, text, pack);
            return None;
        };
        let fits = |card: &Card| pack.class(*card, id) == Some(class);
        let cards = free.iter().enumerate().filter(|(_, card)| fits(card));
        Some(Slot::Among(cards.map(|(at, _)| at).collect()))
    }

    fn unknown_class(&self, spot: Spot, text: &str, pack: &Pack) {
        say_unknown_class(self.gathered, spot, text, pack);
    }

    /// Numbers the cards, pile by pile, and lays them on the table.
    fn set(
        &self,
        section: &CardSection,
        laid: Vec<Option<(Vec<Written>, bool)>>,
    ) -> Option<LaidOut> {
        let mut faces: Vec<Face> = Vec::new();
        let mut start = Table::empty(section.piles.len());
        let mut shuffled = Vec::new();
        for (at, pile) in laid.into_iter().enumerate() {
            let id = PileId(u8::try_from(at).ok()?);
            for card in pile.iter().flat_map(|(cards, _)| cards) {
                if matches!(card.face, Face::Standard(..)) && faces.contains(&card.face) {
                    self.gathered.advise(
                        card.spot,
                        format!("{} is in the routine twice", card.face.short()),
                        "take one of the two out",
                    );
                }
                let number = Card(u16::try_from(faces.len()).ok()?);
                faces.push(card.face.clone());
                start.pile_mut(id).push_back(Laid::new(number, card.up));
                if pile.as_ref().is_some_and(|(_, unknown)| *unknown) {
                    shuffled.push(number);
                }
            }
        }
        if faces.len() > MOST {
            let message = format!("{} cards are too many", faces.len());
            self.gathered
                .advise(first_spot(section), message, format!("at most {MOST}"));
            return None;
        }
        let piles = section
            .piles
            .iter()
            .map(|(name, _)| (name.text.clone(), name.spot));
        Some(LaidOut {
            pack: self.pack(faces, first_spot(section))?,
            piles: piles.collect(),
            start,
            shuffled,
        })
    }
}

/// Says that a class does not exist, with the nearest that does.
pub(super) fn say_unknown_class(gathered: &Gathered<'_>, spot: Spot, text: &str, pack: &Pack) {
    let labels = pack
        .traits()
        .iter()
        .enumerate()
        .filter(|(at, _)| *at != TraitId::FACE.index())
        .flat_map(|(_, table)| table.labels.iter().map(String::as_str));
    gathered.unknown(spot, "class", text, labels);
}
