//! Reads draft types from the tree of a file, through serde, keeping every place.
//!
//! [`At`] keeps the place of what it holds, [`Text`] a scalar as written. [`Part`] holds something that may be wrong
//! without hiding what is wrong elsewhere: its fault is put with the others and it holds nothing. Keys that a map
//! may not have are reported and passed over, so that one misspelt key does not hide the next.

use super::check::{Gathered, Spot, listed, nearest};
use super::yaml::{Kind, Node};
use serde::de::{
    self, DeserializeSeed, Deserializer, EnumAccess, IntoDeserializer, MapAccess, SeqAccess,
    VariantAccess, Visitor,
};
use std::fmt;
use std::marker::PhantomData;

const AT: &str = "$at";
const PART: &str = "$part";

/// Keys that must be there, though the rest is read without them, so that all faults are found: by kind and key.
const REQUIRED: [(&str, &str); 6] = [
    ("Routine", "allroads"),
    ("Routine", "title"),
    ("Routine", "cards"),
    ("Routine", "steps"),
    ("Routine", "finale"),
    ("Step", "id"),
];

/// What may be written short, by the name of its pile alone: `turn: packet`.
pub(super) const SHORT: [&str; 2] = ["Turn", "CutFork"];

/// Something with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct At<T> {
    pub(super) spot: Spot,
    pub(super) value: T,
}

/// Text as written, with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Text {
    pub(super) spot: Spot,
    pub(super) text: String,
}

/// Something that may be wrong by itself; `None` when it was, the fault being gathered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Part<T>(pub(super) Option<T>);

impl<T> Part<T> {
    pub(super) fn get(&self) -> Option<&T> {
        self.0.as_ref()
    }
}

/// A fault on its way up; its place is known as soon as it passes a node.
#[derive(Debug, Clone)]
pub(super) struct Misread {
    spot: Option<Spot>,
    message: String,
    help: Option<String>,
    /// The key that is missing, when that is the fault.
    missing: Option<&'static str>,
    /// Whether it is told already: what is missing stands there misspelt.
    silent: bool,
}

impl Misread {
    fn at(spot: Spot, message: impl Into<String>, help: Option<String>) -> Self {
        Self {
            missing: None,
            silent: false,
            spot: Some(spot),
            message: message.into(),
            help,
        }
    }
}

impl fmt::Display for Misread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}
impl std::error::Error for Misread {}
impl de::Error for Misread {
    fn custom<T: fmt::Display>(msg: T) -> Self {
        Self {
            missing: None,
            silent: false,
            spot: None,
            message: msg.to_string(),
            help: None,
        }
    }
    fn missing_field(field: &'static str) -> Self {
        Self {
            missing: Some(field),
            silent: false,
            spot: None,
            message: format!("the key `{field}` is missing here"),
            help: Some(format!("add `{field}: …`")),
        }
    }
    fn unknown_variant(variant: &str, expected: &'static [&'static str]) -> Self {
        let known = || expected.iter().copied();
        Self {
            missing: None,
            silent: false,
            spot: None,
            message: format!("`{variant}` is not one of the words that may stand here"),
            help: Some(suggestion(variant, known(), "possible")),
        }
    }
    fn invalid_length(_: usize, expected: &dyn de::Expected) -> Self {
        Self::custom(format!("expected {expected}"))
    }
}

fn suggestion<'a>(
    written: &str,
    known: impl Iterator<Item = &'a str> + Clone,
    possible: &str,
) -> String {
    let all = listed(known.clone());
    match nearest(written, known) {
        Some(near) => format!("did you mean `{near}`? ({possible}: {all})"),
        None => format!("{possible}: {all}"),
    }
}

/// Reads a whole value; `None` when it was wrong, its faults being gathered.
pub(super) fn read<T: for<'de> de::Deserialize<'de>>(
    node: &Node,
    gathered: &Gathered<'_>,
) -> Option<T> {
    let part = De {
        node,
        gathered,
        keep: true,
    };
    T::deserialize(part).ok()
}

#[derive(Clone, Copy)]
struct De<'a, 'g> {
    node: &'a Node,
    gathered: &'a Gathered<'g>,
    /// Whether a fault here is put with the others, because whoever reads goes on without.
    keep: bool,
}

impl<'a, 'g> De<'a, 'g> {
    fn of(self, node: &'a Node) -> Self {
        Self {
            node,
            keep: false,
            ..self
        }
    }
    fn done<T>(self, result: Result<T, Misread>) -> Result<T, Misread> {
        result.map_err(|mut e| {
            let spot = *e.spot.get_or_insert(self.node.spot);
            if self.keep && !e.silent {
                match e.help.take() {
                    Some(help) => self.gathered.advise(spot, e.message.clone(), help),
                    None => self.gathered.say(spot, e.message.clone()),
                }
            }
            e
        })
    }
    fn found(self) -> &'static str {
        match &self.node.kind {
            Kind::Scalar { .. } => "a word",
            Kind::List(_) => "a list",
            Kind::Map(_) => "keys with values",
        }
    }
    fn wrong(self, expected: &str, help: Option<String>) -> Misread {
        if self.node.is_nothing() {
            let help = "write a value after the colon, or take the key out";
            return Misread::at(
                self.node.spot,
                "nothing is written here",
                Some(help.to_owned()),
            );
        }
        let message = format!("expected {expected} here, found {}", self.found());
        Misread::at(self.node.spot, message, help)
    }
    fn scalar(self, expected: &str) -> Result<&'a str, Misread> {
        match &self.node.kind {
            _ if self.node.is_nothing() => Err(self.wrong(expected, None)),
            Kind::Scalar { text, .. } => Ok(text),
            Kind::Map(_) => Err(self.wrong(
                expected,
                Some("text that begins with a brace needs quotes around it".to_owned()),
            )),
            Kind::List(_) => Err(self.wrong(expected, None)),
        }
    }
    fn number<T: std::str::FromStr>(self) -> Result<T, Misread> {
        let text = self.scalar("a whole number")?;
        text.parse().map_err(|_| {
            Misread::at(
                self.node.spot,
                format!("`{text}` is not a whole number that can stand here"),
                Some("write a number in digits".to_owned()),
            )
        })
    }
}

impl<'a, 'g> De<'a, 'g> {
    /// The kinds that are told apart by a key inside: a step or a part (`again`), an out of one step or of several
    /// (`steps`).
    fn told_by_keys(self, name: &str, variants: &'static [&'static str]) -> Option<Choice<'a, 'g>> {
        let inner = |wanted: &str| match &self.node.kind {
            Kind::Map(pairs) => pairs.iter().find(|(key, _)| key.text() == Some(wanted)),
            Kind::Scalar { .. } | Kind::List(_) => None,
        };
        let (name, key, value) = match name {
            "StepOrAgain" => match inner("again") {
                Some((key, value)) => {
                    self.alone(key);
                    ("again", key, value)
                }
                None => ("step", self.node, self.node),
            },
            "Out" if inner("steps").is_some() => ("long", self.node, self.node),
            "Out" => ("short", self.node, self.node),
            _ => return None,
        };
        Some(Choice {
            de: self,
            key,
            name,
            value: Some(value),
            noun: noun(name),
            variants,
        })
    }
    /// Reports required keys that are not there, for the kinds that are read on without them.
    fn require(self, name: &str, pairs: &[(Node, Node)], fields: &'static [&'static str]) {
        let required = REQUIRED.iter().filter(|(kind, _)| *kind == name);
        for (_, key) in required {
            let there = pairs.iter().any(|(known, _)| known.text() == Some(key));
            if !there && !misspelt(pairs, fields, key) {
                self.gathered.advise(
                    self.node.spot,
                    format!("the key `{key}` is missing here"),
                    format!("add `{key}: …`"),
                );
            }
        }
    }
    /// Every other key than this one is a fault.
    fn alone(self, only: &Node) {
        if let Kind::Map(pairs) = &self.node.kind {
            if let Some((key, _)) = pairs.iter().find(|(key, _)| key != only) {
                self.gathered.advise(
                    key.spot,
                    format!(
                        "`{}` cannot stand beside `again`",
                        key.text().unwrap_or_default()
                    ),
                    "write it deeper, under `again:`, or begin a new line with `- `",
                );
            }
        }
    }
}

macro_rules! numbers {
    ($($method:ident $visit:ident $ty:ty;)*) => {$(
        fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misread> {
            self.done(self.number::<$ty>().and_then(|n| visitor.$visit(n)))
        }
    )*};
}

impl<'de> Deserializer<'de> for De<'_, '_> {
    type Error = Misread;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misread> {
        match &self.node.kind {
            Kind::Scalar { .. } => self.deserialize_str(visitor),
            Kind::List(_) => self.deserialize_seq(visitor),
            Kind::Map(_) => self.deserialize_map(visitor),
        }
    }
    numbers! {
        deserialize_i8 visit_i8 i8; deserialize_i16 visit_i16 i16; deserialize_i32 visit_i32 i32;
        deserialize_i64 visit_i64 i64; deserialize_u8 visit_u8 u8; deserialize_u16 visit_u16 u16;
        deserialize_u32 visit_u32 u32; deserialize_u64 visit_u64 u64;
    }
    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misread> {
        let read = self
            .scalar("`true` or `false`")
            .and_then(|text| match text {
                "true" => Ok(true),
                "false" => Ok(false),
                _ => Err(Misread::at(
                    self.node.spot,
                    format!("`{text}` is neither `true` nor `false`"),
                    Some("write `true` or `false`".to_owned()),
                )),
            });
        self.done(read.and_then(|b| visitor.visit_bool(b)))
    }
    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misread> {
        self.done(self.scalar("text").and_then(|text| visitor.visit_str(text)))
    }
    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misread> {
        self.deserialize_str(visitor)
    }
    fn deserialize_identifier<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misread> {
        self.deserialize_str(visitor)
    }
    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misread> {
        visitor.visit_some(self)
    }
    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Misread> {
        match name {
            AT => {
                let access = Spanned { de: self, next: 0 };
                self.done(visitor.visit_seq(access))
            }
            PART => visitor.visit_newtype_struct(De { keep: true, ..self }),
            _ => visitor.visit_newtype_struct(self),
        }
    }
    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misread> {
        let result = match &self.node.kind {
            Kind::List(items) => visitor.visit_seq(Items {
                de: self,
                rest: items.iter(),
            }),
            Kind::Scalar { .. } | Kind::Map(_) => Err(self.wrong(
                "a list",
                Some("write `[…]`, or one line with `- ` for each".to_owned()),
            )),
        };
        self.done(result)
    }
    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Misread> {
        let result = match &self.node.kind {
            Kind::Map(pairs) => visitor.visit_map(Pairs {
                de: self,
                rest: pairs.iter(),
                value: None,
                noun: String::new(),
                fields: None,
            }),
            Kind::Scalar { .. } | Kind::List(_) => Err(self.wrong("keys with values", None)),
        };
        self.done(result)
    }
    fn deserialize_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Misread> {
        let noun = noun(name);
        let result = match &self.node.kind {
            Kind::Map(pairs) => {
                self.require(name, pairs, fields);
                let read = visitor.visit_map(Pairs {
                    de: self,
                    rest: pairs.iter(),
                    value: None,
                    noun,
                    fields: Some(fields),
                });
                read.map_err(|mut e| {
                    let misspelt = |key| misspelt(pairs, fields, key);
                    if e.spot.is_none() && e.missing.is_some_and(misspelt) {
                        e.silent = true;
                    }
                    e
                })
            }
            Kind::Scalar { .. } if SHORT.contains(&name) && !self.node.is_nothing() => {
                let pile = std::iter::once("pile");
                visitor.visit_map(Short { de: self, pile })
            }
            Kind::Scalar { .. } | Kind::List(_) => Err(self.wrong(
                &format!("the keys and values of {noun}"),
                Some(format!("keys: {}", listed(fields.iter().copied()))),
            )),
        };
        self.done(result)
    }
    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Misread> {
        if let Some(choice) = self.told_by_keys(name, variants) {
            return self.done(visitor.visit_enum(choice));
        }
        let noun = noun(name);
        let possible = || Some(format!("possible: {}", listed(variants.iter().copied())));
        let result = match &self.node.kind {
            Kind::Scalar { .. } if !self.node.is_nothing() => visitor.visit_enum(Choice {
                de: self,
                key: self.node,
                name: self.node.text().unwrap_or_default(),
                value: None,
                noun,
                variants,
            }),
            Kind::Map(pairs) => match pairs.as_slice() {
                [(key, value)] => visitor.visit_enum(Choice {
                    de: self,
                    key,
                    name: key.text().unwrap_or_default(),
                    value: Some(value),
                    noun,
                    variants,
                }),
                [_, (second, _), ..] => Err(Misread::at(
                    second.spot,
                    format!("{noun} has one key, this is a second"),
                    Some("begin a new line with `- ` for the next one".to_owned()),
                )),
                [] => Err(Misread::at(
                    self.node.spot,
                    format!("{noun} needs a key"),
                    possible(),
                )),
            },
            Kind::Scalar { .. } | Kind::List(_) => Err(self.wrong(&noun, possible())),
        };
        self.done(result)
    }
    fn deserialize_tuple<V: Visitor<'de>>(self, _: usize, v: V) -> Result<V::Value, Misread> {
        self.deserialize_seq(v)
    }
    serde::forward_to_deserialize_any! {
        i128 u128 f32 f64 char bytes byte_buf unit unit_struct tuple_struct ignored_any
    }
}

/// How many unknown keys of one map are looked at for what they may have meant.
const MOST_MISSPELT: usize = 50;

/// Whether some key that is not known looks like this one.
fn misspelt(pairs: &[(Node, Node)], fields: &'static [&'static str], key: &str) -> bool {
    let keys = pairs.iter().filter_map(|(known, _)| known.text());
    keys.filter(|written| !fields.contains(written))
        .take(MOST_MISSPELT)
        .any(|written| nearest(written, fields.iter().copied()) == Some(key))
}

/// `DownUnder` → "a down under"; the name of a draft type in words.
fn noun(name: &str) -> String {
    let mut words = String::new();
    for c in name.chars() {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    let article = if words.starts_with(['a', 'e', 'i', 'o']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {words}")
}

struct Items<'a, 'g> {
    de: De<'a, 'g>,
    rest: std::slice::Iter<'a, Node>,
}
impl<'de> SeqAccess<'de> for Items<'_, '_> {
    type Error = Misread;
    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, Misread> {
        match self.rest.next() {
            Some(node) => seed.deserialize(self.de.of(node)).map(Some),
            None => Ok(None),
        }
    }
}

struct Pairs<'a, 'g> {
    de: De<'a, 'g>,
    rest: std::slice::Iter<'a, (Node, Node)>,
    value: Option<&'a Node>,
    noun: String,
    fields: Option<&'static [&'static str]>,
}
impl<'de> MapAccess<'de> for Pairs<'_, '_> {
    type Error = Misread;
    fn next_key_seed<K: DeserializeSeed<'de>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, Misread> {
        for (key, value) in self.rest.by_ref() {
            let written = key.text().unwrap_or_default();
            if let Some(fields) = self.fields
                && !fields.contains(&written)
            {
                self.de.gathered.advise(
                    key.spot,
                    format!("{} has no key `{written}`", self.noun),
                    suggestion(written, fields.iter().copied(), "keys"),
                );
                continue;
            }
            self.value = Some(value);
            return seed.deserialize(self.de.of(key)).map(Some);
        }
        Ok(None)
    }
    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Misread> {
        match self.value.take() {
            Some(node) => seed.deserialize(self.de.of(node)),
            None => Err(de::Error::custom("a value is missing here")),
        }
    }
}

/// The one pile that a short form names.
struct Short<'a, 'g> {
    de: De<'a, 'g>,
    pile: std::iter::Once<&'static str>,
}
impl<'de> MapAccess<'de> for Short<'_, '_> {
    type Error = Misread;
    fn next_key_seed<K: DeserializeSeed<'de>>(
        &mut self,
        seed: K,
    ) -> Result<Option<K::Value>, Misread> {
        match self.pile.next() {
            Some(key) => seed.deserialize(key.into_deserializer()).map(Some),
            None => Ok(None),
        }
    }
    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Misread> {
        seed.deserialize(self.de.of(self.de.node))
    }
}

/// What [`At`] is read from: line, column, length, then the thing itself.
struct Spanned<'a, 'g> {
    de: De<'a, 'g>,
    next: u8,
}
impl<'de> SeqAccess<'de> for Spanned<'_, '_> {
    type Error = Misread;
    fn next_element_seed<T: DeserializeSeed<'de>>(
        &mut self,
        seed: T,
    ) -> Result<Option<T::Value>, Misread> {
        let Spot {
            line,
            column,
            length,
        } = self.de.node.spot;
        self.next += 1;
        let number = match self.next {
            1 => line,
            2 => column,
            3 => length,
            _ => {
                let inner = self.de.of(self.de.node);
                return seed.deserialize(inner).map(Some);
            }
        };
        seed.deserialize(number.into_deserializer()).map(Some)
    }
}

struct Choice<'a, 'g> {
    de: De<'a, 'g>,
    key: &'a Node,
    name: &'a str,
    value: Option<&'a Node>,
    noun: String,
    variants: &'static [&'static str],
}
impl<'de, 'a, 'g> EnumAccess<'de> for Choice<'a, 'g> {
    type Error = Misread;
    type Variant = Payload<'a, 'g>;
    fn variant_seed<V: DeserializeSeed<'de>>(
        self,
        seed: V,
    ) -> Result<(V::Value, Self::Variant), Misread> {
        let written = self.name;
        if !self.variants.contains(&written) {
            return Err(Misread::at(
                self.key.spot,
                format!("there is no such thing as {} `{written}`", self.noun),
                Some(suggestion(
                    written,
                    self.variants.iter().copied(),
                    "possible",
                )),
            ));
        }
        let name = seed.deserialize(written.into_deserializer())?;
        let payload = Payload {
            de: self.de,
            key: self.key,
            value: self.value.filter(|v| !v.is_nothing()),
        };
        Ok((name, payload))
    }
}

struct Payload<'a, 'g> {
    de: De<'a, 'g>,
    key: &'a Node,
    value: Option<&'a Node>,
}
impl<'de> VariantAccess<'de> for Payload<'_, '_> {
    type Error = Misread;
    fn unit_variant(self) -> Result<(), Misread> {
        match self.value {
            None => Ok(()),
            Some(value) => Err(Misread::at(
                value.spot,
                "this word stands alone, without a value",
                None,
            )),
        }
    }
    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, Misread> {
        match self.value {
            Some(value) => seed.deserialize(self.de.of(value)),
            None => Err(Misread::at(
                self.key.spot,
                format!(
                    "nothing is written for `{}`",
                    self.key.text().unwrap_or_default()
                ),
                Some("write a value after the colon".to_owned()),
            )),
        }
    }
    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Misread> {
        match self.value {
            Some(value) => self.de.of(value).deserialize_seq(visitor),
            None => Err(de::Error::custom("a list is missing here")),
        }
    }
    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Misread> {
        match self.value {
            Some(value) => self
                .de
                .of(value)
                .deserialize_struct("Part", fields, visitor),
            None => Err(de::Error::custom("keys and values are missing here")),
        }
    }
}

impl<'de, T: de::Deserialize<'de>> de::Deserialize<'de> for At<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct AtVisitor<T>(PhantomData<T>);
        impl<'de, T: de::Deserialize<'de>> Visitor<'de> for AtVisitor<T> {
            type Value = At<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("something with its place")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<At<T>, A::Error> {
                fn must<T, E: de::Error>(part: Option<T>) -> Result<T, E> {
                    part.ok_or_else(|| E::custom("its place is missing"))
                }
                let spot = Spot {
                    line: must(seq.next_element()?)?,
                    column: must(seq.next_element()?)?,
                    length: must(seq.next_element()?)?,
                };
                let value = must(seq.next_element()?)?;
                Ok(At { spot, value })
            }
        }
        deserializer.deserialize_newtype_struct(AT, AtVisitor(PhantomData))
    }
}

impl<'de> de::Deserialize<'de> for Text {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let At { spot, value } = At::<String>::deserialize(deserializer)?;
        Ok(Self { spot, text: value })
    }
}

impl<'de, T: de::Deserialize<'de>> de::Deserialize<'de> for Part<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct PartVisitor<T>(PhantomData<T>);
        impl<'de, T: de::Deserialize<'de>> Visitor<'de> for PartVisitor<T> {
            type Value = Part<T>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a part of a routine")
            }
            fn visit_newtype_struct<D: Deserializer<'de>>(
                self,
                deserializer: D,
            ) -> Result<Part<T>, D::Error> {
                // The reader has put the fault with the others; here it only means that there is nothing.
                Ok(Part(T::deserialize(deserializer).ok()))
            }
        }
        deserializer.deserialize_newtype_struct(PART, PartVisitor(PhantomData))
    }
}
