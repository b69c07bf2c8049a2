//! The names of a routine in the making, as expressions look them up.

use super::Names;
use crate::cards::{Card, Class, TraitId, nearest};
use crate::routine::expr::{Meaning, Scope};
use crate::routine::model::NameId;
use crate::table::PileId;
use std::sync::Arc;

impl Scope for Names<'_> {
    fn look_up(&self, name: &str) -> Option<Meaning> {
        let entry = self
            .remembered
            .iter()
            .enumerate()
            .find(|(_, r)| r.name.name == name);
        if let Some((at, entry)) = entry {
            if entry.known.get() {
                entry.used.set(true);
                let id = NameId(u16::try_from(at).ok()?);
                return Some(Meaning::Name(id, entry.kind.get()));
            }
            self.early.set(Some(at));
        }
        if let Some(at) = self.piles.iter().position(|p| p.name == name) {
            self.piles[at].used.set(true);
            return Some(Meaning::Pile(PileId(u8::try_from(at).ok()?)));
        }
        if let Some(at) = self.tables.iter().position(|t| t.lookup.name == name) {
            let table = &self.tables[at];
            table.used.set(true);
            return Some(Meaning::Lookup(
                u16::try_from(at).ok()?,
                table.keys,
                table.values,
            ));
        }
        if self.doubtful.iter().any(|d| d == name) {
            self.missed.set(true);
        }
        None
    }
    fn card(&self, text: &str) -> Option<Card> {
        self.pack.read(text).ok()
    }
    fn trait_named(&self, name: &str) -> Option<TraitId> {
        self.pack.find_trait(name)
    }
    fn class(&self, trait_id: TraitId, label: &str) -> Option<Class> {
        let named = format!("{}={label}", self.pack.trait_name(trait_id));
        let (found, class) = self.pack.find_class(&named)?;
        (found == trait_id).then_some(class)
    }
    fn labels(&self, trait_id: TraitId) -> Vec<String> {
        self.pack
            .traits()
            .get(trait_id.index())
            .map(|table| table.labels.clone())
            .unwrap_or_default()
    }
    fn options(&self, name: NameId) -> Option<Vec<Arc<str>>> {
        self.remembered.get(name.index())?.options.clone()
    }
    fn near(&self, name: &str) -> Option<String> {
        let remembered = self.remembered.iter().filter(|r| r.known.get());
        let remembered = remembered.map(|r| r.name.name.as_str());
        let piles = self.piles.iter().map(|p| p.name.as_str());
        let tables = self.tables.iter().map(|t| t.lookup.name.as_str());
        nearest(name, remembered.chain(piles).chain(tables)).map(str::to_owned)
    }
}
