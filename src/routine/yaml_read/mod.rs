//! Reads draft types from the tree of a file, through serde, keeping every place.
//!
//! [`At`] keeps the place of what it holds, [`Text`] a scalar as written. [`Part`] holds something that may be wrong
//! without hiding what is wrong elsewhere: its fault is put with the others and it holds nothing. Keys that a map
//! may not have are reported and passed over, so that one misspelt key does not hide the next.

mod access;
mod part;

use super::check::{Gathered, Spot, listed};
use super::yaml::Node;
use crate::cards::nearest;
use part::De;
use serde::de::{self, Deserializer, SeqAccess, Visitor};
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
pub(in crate::routine) const SHORT: [&str; 2] = ["Turn", "CutFork"];

/// Something with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::routine) struct At<T> {
    pub(in crate::routine) spot: Spot,
    pub(in crate::routine) value: T,
}

/// Text as written, with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::routine) struct Text {
    pub(in crate::routine) spot: Spot,
    pub(in crate::routine) text: String,
}

/// Something that may be wrong by itself; `None` when it was, the fault being gathered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::routine) struct Part<T>(pub(in crate::routine) Option<T>);

impl<T> Part<T> {
    pub(in crate::routine) fn get(&self) -> Option<&T> {
        self.0.as_ref()
    }
}

/// A fault on its way up; its place is known as soon as it passes a node.
#[derive(Debug, Clone)]
pub(in crate::routine) struct Misread {
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
pub(in crate::routine) fn read<T: for<'de> de::Deserialize<'de>>(
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
