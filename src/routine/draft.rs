//! The draft: a file as written, which may hold anything that has the right shape. Names are not looked up here.

use super::check::Spot;
use super::yaml_read::{At, Part, Text};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;
use serde::de::{self, Deserializer, MapAccess, SeqAccess, Visitor};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

pub(super) use super::draft_acts::*;
pub(super) use super::draft_claims::*;
pub(super) use super::draft_steps::*;

/// A routine for allroads, language version 1.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", rename = "Routine")]
pub(super) struct RoutineFile {
    /// The language version: 1.
    #[schemars(required)]
    pub(super) allroads: Option<Part<Text>>,
    /// The title.
    #[schemars(required)]
    pub(super) title: Option<Part<Text>>,
    /// One line for the list of routines.
    pub(super) blurb: Option<Part<Text>>,
    /// Why it works, in a sentence.
    pub(super) principle: Option<Part<Text>>,
    /// The language of patter and card names: en-GB, en-US, de, es, fr or it.
    pub(super) lang: Option<Part<Text>>,
    /// How long a performance takes: `6m30s`, `90s`.
    pub(super) running_time: Option<Part<Text>>,
    /// The cards: every pile that holds cards at the start, and faces and traits of your own.
    #[schemars(required)]
    pub(super) cards: Option<Part<CardSection>>,
    /// Further piles, empty at the start.
    pub(super) piles: Option<Part<Vec<Text>>>,
    /// Small tables: `name[n]` in expressions.
    pub(super) tables: Option<Part<Pairs<Pairs<Text>>>>,
    /// The steps, in order.
    #[schemars(required)]
    pub(super) steps: Option<Part<At<Vec<Part<StepOrAgain>>>>>,
    /// The last step.
    #[schemars(required)]
    pub(super) finale: Option<Part<At<Step>>>,
    /// Other endings, tried in order before the finale.
    pub(super) outs: Option<Part<Vec<Part<Out>>>>,
    /// Moves with their words that set things right.
    pub(super) mends: Option<Part<Vec<Part<MendDraft>>>>,
    /// Strays of your own: what spectators do that the routine does not offer.
    pub(super) strays: Option<Part<Vec<Part<StrayDraft>>>>,
}

/// Keys and values in the order of the file.
#[derive(Debug, Clone)]
pub(super) struct Pairs<V>(pub(super) Vec<(Text, V)>);

impl<'de, V: Deserialize<'de>> Deserialize<'de> for Pairs<V> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct PairsVisitor<V>(PhantomData<V>);
        impl<'de, V: Deserialize<'de>> Visitor<'de> for PairsVisitor<V> {
            type Value = Pairs<V>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("keys with values")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Pairs<V>, A::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(Pairs(pairs))
            }
        }
        deserializer.deserialize_map(PairsVisitor(PhantomData))
    }
}

/// One word, or a list.
#[derive(Debug, Clone)]
pub(super) enum OneOrMany {
    /// One.
    One(String),
    /// Several.
    Many(Vec<Text>),
}

impl<'de> Deserialize<'de> for OneOrMany {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Either;
        impl<'de> Visitor<'de> for Either {
            type Value = OneOrMany;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a word or a list")
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<OneOrMany, E> {
                Ok(OneOrMany::One(text.to_owned()))
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<OneOrMany, A::Error> {
                let mut many = Vec::new();
                while let Some(text) = seq.next_element()? {
                    many.push(text);
                }
                Ok(OneOrMany::Many(many))
            }
            fn visit_map<A: MapAccess<'de>>(self, _: A) -> Result<OneOrMany, A::Error> {
                Err(de::Error::custom(
                    "expected a word or a list here, found keys with values",
                ))
            }
        }
        deserializer.deserialize_any(Either)
    }
}

/// Cards: faces, traits, and the piles that hold cards at the start.
#[derive(Debug)]
pub(super) struct CardSection {
    pub(super) faces: Option<Part<Pairs<Part<FaceDraft>>>>,
    pub(super) traits: Option<Part<Pairs<Part<Vec<Text>>>>>,
    pub(super) piles: Vec<(Text, Part<PileDraft>)>,
}

impl<'de> Deserialize<'de> for CardSection {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Cards;
        impl<'de> Visitor<'de> for Cards {
            type Value = CardSection;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("piles with their cards")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<CardSection, A::Error> {
                let mut cards = CardSection {
                    faces: None,
                    traits: None,
                    piles: Vec::new(),
                };
                while let Some(key) = map.next_key::<Text>()? {
                    match key.text.as_str() {
                        "faces" => cards.faces = Some(map.next_value()?),
                        "traits" => cards.traits = Some(map.next_value()?),
                        _ => cards.piles.push((key, map.next_value()?)),
                    }
                }
                Ok(cards)
            }
        }
        deserializer.deserialize_map(Cards)
    }
}

/// A card of your own.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", rename = "Face")]
pub(super) struct FaceDraft {
    /// Its name in words.
    pub(super) name: Text,
    /// Its traits: name and class.
    pub(super) traits: Option<Pairs<Text>>,
    /// The code of its mate.
    pub(super) mate: Option<Text>,
}

/// A pile that holds cards at the start: give exactly one of list, pattern, deck and shuffled.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", rename = "Pile")]
pub(super) struct PileDraft {
    /// These cards, top first; `^` after a card lays it face up.
    pub(super) list: Option<Text>,
    /// Signs for cards that are drawn to fit: their meanings stand under `where`.
    pub(super) pattern: Option<Text>,
    /// What each sign of the pattern means: any, a class, or mate of another sign.
    #[serde(rename = "where")]
    pub(super) signs: Option<Pairs<Text>>,
    /// The cards to draw from; the 52 when absent.
    pub(super) from: Option<Text>,
    /// A full deck in a stated order.
    pub(super) deck: Option<At<DeckDraft>>,
    /// Cards in an order nobody knows: `full`, or a list.
    pub(super) shuffled: Option<Text>,
}

/// A full deck: `order`, or `start` and `step`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", rename = "Deck")]
pub(super) struct DeckDraft {
    /// The suits' order: `CHSD`.
    pub(super) suits: Option<Text>,
    /// One suit after the other, or one value after the other.
    pub(super) order: Option<DeckOrder>,
    /// The top card, when each value is `step` more than the one before.
    pub(super) start: Option<Text>,
    /// How much more.
    pub(super) step: Option<At<u16>>,
}

/// How a full deck is ordered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum DeckOrder {
    /// All of one suit, then all of the next.
    BySuit,
    /// All of one value, then all of the next.
    ByValue,
}

fn text_schema() -> Schema {
    json_schema!({"type": ["string", "number", "boolean"]})
}

impl JsonSchema for Text {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "Text".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        text_schema()
    }
}
impl JsonSchema for OneOrMany {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "OneOrMany".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"anyOf": [text_schema(), {"type": "array", "items": text_schema()}]})
    }
}
impl<T: JsonSchema> JsonSchema for At<T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        generator.subschema_for::<T>()
    }
}
impl<T: JsonSchema> JsonSchema for Part<T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        generator.subschema_for::<T>()
    }
}
impl<V: JsonSchema> JsonSchema for Pairs<V> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("MapOf{}", V::schema_name()).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "object", "additionalProperties": generator.subschema_for::<V>()})
    }
}
impl JsonSchema for CardSection {
    fn schema_name() -> Cow<'static, str> {
        "Cards".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Faces and traits of your own, and every pile that holds cards at the start.",
            "type": "object",
            "properties": {
                "faces": generator.subschema_for::<Pairs<FaceDraft>>(),
                "traits": generator.subschema_for::<Pairs<Vec<Text>>>(),
            },
            "additionalProperties": generator.subschema_for::<PileDraft>(),
        })
    }
}

/// A place for parts that are not written in the file.
pub(super) const NOWHERE: Spot = Spot {
    line: 1,
    column: 1,
    length: 1,
};
