//! A checked routine as a scope: so that an expression written later (a question, a condition of the performer's) can be
//! compiled against it.

use super::Routine;
use super::expr::{Kind, Meaning, Scope};
use super::model::{ForkKind, NameId};
use crate::cards::{Card, Class, TraitId, nearest};
use std::sync::Arc;

impl ForkKind {
    /// The kind of the values chosen.
    #[must_use]
    pub fn value_kind(&self) -> Kind {
        match self {
            Self::Number { .. } | Self::Place(_) | Self::Cut { .. } => Kind::Int,
            Self::Option(_) => Kind::Text,
            Self::Pile(_) => Kind::Pile,
            Self::PileOrder(_) => Kind::Order,
            Self::Card(_) => Kind::Card,
            Self::Cards { .. } => Kind::Places,
            Self::Riffle { .. } => Kind::Weave,
            Self::Overhand(_) => Kind::Chunks,
            Self::Again { .. } => Kind::Bool,
        }
    }
}

impl Routine {
    /// The kind of the values remembered under a name.
    #[must_use]
    pub fn kind_of(&self, name: NameId) -> Kind {
        for stop in &self.stops {
            if let Some(fork) = stop.fork.as_ref().filter(|f| f.name == name) {
                return fork.kind.value_kind();
            }
            if let Some(reply) = stop.reply.as_ref().filter(|r| r.name == name) {
                return reply.is.kind();
            }
            if let Some(reckoning) = stop.reckonings.iter().find(|r| r.name == name) {
                return reckoning.is.kind();
            }
        }
        Kind::Any
    }
}

impl Routine {
    /// The words that the fork of this name offers; `None` where it is no choice among words.
    #[must_use]
    pub fn words_offered(&self, name: NameId) -> Option<&[Arc<str>]> {
        self.stops
            .iter()
            .filter_map(|stop| stop.fork.as_ref())
            .find(|fork| fork.name == name)
            .and_then(|fork| match &fork.kind {
                ForkKind::Option(options) => Some(options.as_slice()),
                ForkKind::Number { .. }
                | ForkKind::Pile(_)
                | ForkKind::PileOrder(_)
                | ForkKind::Place(_)
                | ForkKind::Card(_)
                | ForkKind::Cards { .. }
                | ForkKind::Cut { .. }
                | ForkKind::Riffle { .. }
                | ForkKind::Overhand(_)
                | ForkKind::Again { .. } => None,
            })
    }
}

impl Scope for Routine {
    fn look_up(&self, name: &str) -> Option<Meaning> {
        if let Some(id) = self.find_name(name) {
            return Some(Meaning::Name(id, self.kind_of(id)));
        }
        if let Some(pile) = self.find_pile(name) {
            return Some(Meaning::Pile(pile));
        }
        let at = self.lookups.iter().position(|l| l.name == name)?;
        let lookup = &self.lookups[at];
        let keys = common(lookup.rows.iter().map(|(key, _)| key.kind()));
        let values = common(lookup.rows.iter().map(|(_, value)| value.kind()));
        Some(Meaning::Lookup(u16::try_from(at).ok()?, keys, values))
    }
    fn card(&self, text: &str) -> Option<Card> {
        self.pack.read(text).ok()
    }
    fn trait_named(&self, name: &str) -> Option<TraitId> {
        self.pack.find_trait(name)
    }
    fn traits(&self) -> Vec<String> {
        let traits = self.pack.traits().iter();
        traits.map(|table| table.name.clone()).collect()
    }
    fn class(&self, trait_id: TraitId, label: &str) -> Option<Class> {
        let named = format!("{}={label}", self.pack.trait_name(trait_id));
        let (found, class) = self.pack.find_class(&named)?;
        (found == trait_id).then_some(class)
    }
    fn labels(&self, trait_id: TraitId) -> Vec<String> {
        self.pack
            .traits()
            .get(usize::from(trait_id.0))
            .map(|table| table.labels.clone())
            .unwrap_or_default()
    }
    fn options(&self, name: NameId) -> Option<Vec<Arc<str>>> {
        self.words_offered(name).map(<[_]>::to_vec)
    }
    fn near(&self, name: &str) -> Option<String> {
        let names = self.names.iter().map(|n| n.name.as_str());
        let piles = self.piles.iter().map(String::as_str);
        let lookups = self.lookups.iter().map(|l| l.name.as_str());
        nearest(name, names.chain(piles).chain(lookups)).map(str::to_owned)
    }
}

/// The kind that all have, if they have one.
fn common(mut kinds: impl Iterator<Item = Kind>) -> Kind {
    let first = kinds.next().unwrap_or(Kind::Any);
    if kinds.all(|kind| kind == first) {
        first
    } else {
        Kind::Any
    }
}
