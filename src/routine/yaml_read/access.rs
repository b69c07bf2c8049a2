//! How lists, maps and one-key maps of the tree are handed to serde.

use super::part::De;
use super::{Misread, suggestion};
use crate::routine::check::Spot;
use crate::routine::yaml::Node;
use serde::Deserializer;
use serde::de::{
    self, DeserializeSeed, EnumAccess, IntoDeserializer, MapAccess, SeqAccess, VariantAccess,
    Visitor,
};

pub(super) struct Items<'a, 'g> {
    pub(super) de: De<'a, 'g>,
    pub(super) rest: std::slice::Iter<'a, Node>,
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

pub(super) struct Pairs<'a, 'g> {
    pub(super) de: De<'a, 'g>,
    pub(super) rest: std::slice::Iter<'a, (Node, Node)>,
    pub(super) value: Option<&'a Node>,
    pub(super) noun: String,
    pub(super) fields: Option<&'static [&'static str]>,
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
pub(super) struct Short<'a, 'g> {
    pub(super) de: De<'a, 'g>,
    pub(super) pile: std::iter::Once<&'static str>,
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
pub(super) struct Spanned<'a, 'g> {
    pub(super) de: De<'a, 'g>,
    pub(super) next: u8,
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

pub(super) struct Choice<'a, 'g> {
    pub(super) de: De<'a, 'g>,
    pub(super) key: &'a Node,
    pub(super) name: &'a str,
    pub(super) value: Option<&'a Node>,
    pub(super) noun: String,
    pub(super) variants: &'static [&'static str],
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

pub(super) struct Payload<'a, 'g> {
    pub(super) de: De<'a, 'g>,
    pub(super) key: &'a Node,
    pub(super) value: Option<&'a Node>,
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
