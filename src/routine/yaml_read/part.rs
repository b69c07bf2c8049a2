//! The reader of one part of the tree.

use super::access::{Choice, Items, Pairs, Short, Spanned};
use super::{AT, Misread, PART, REQUIRED, SHORT};
use crate::cards::nearest;
use crate::routine::check::{Gathered, listed};
use crate::routine::yaml::{Kind, Node};
use serde::de::{Deserializer, Visitor};

#[derive(Clone, Copy)]
pub(super) struct De<'a, 'g> {
    pub(super) node: &'a Node,
    pub(super) gathered: &'a Gathered<'g>,
    /// Whether a fault here is put with the others, because whoever reads goes on without.
    pub(super) keep: bool,
}

impl<'a, 'g> De<'a, 'g> {
    pub(super) fn of(self, node: &'a Node) -> Self {
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
        if let Kind::Map(pairs) = &self.node.kind
            && let Some((key, _)) = pairs.iter().find(|(key, _)| key != only)
        {
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
