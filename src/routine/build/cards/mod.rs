//! The cards: faces and traits of the file's own, and the piles that hold cards at the start.

mod deck;
mod pattern;

use crate::cards::{Card, Custom, Face, Lang, Pack, TraitId, read_face_among};
use crate::routine::check::{Gathered, Spot};
use crate::routine::draft::{CardSection, NOWHERE, PileDraft, RoutineFile};
use crate::routine::yaml_read::Text;
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

    fn pack(&self, faces: Vec<Face>, spot: Spot) -> Option<Pack> {
        match Pack::new(faces, self.lang, &self.customs, &self.lists) {
            Ok(pack) => Some(pack),
            Err(fault) => {
                self.gathered.say(spot, fault.to_string());
                None
            }
        }
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
