//! Gathering every name that a file declares, in the order in which they become known.

use super::{ForkTag, Names, PileName, Remembered, TableName};
use crate::cards::Pack;
use crate::routine::check::{Gathered, Spot};
use crate::routine::draft::{Act, Again, Fork, Out, RoutineFile, Step, StepOrAgain};
use crate::routine::expr::{Kind, name_fault};
use crate::routine::model::{Lookup, Name, NameKind};
use crate::routine::world::Value;
use crate::routine::yaml::{Kind as NodeKind, Node};
use crate::routine::yaml_read::{At, Part, Text};
use std::cell::Cell;
use std::sync::Arc;

/// Every name that a file seems to declare somewhere, in the right place or not: what stands after `name:`, and the
/// keys and items directly under the top keys.
pub(in crate::routine::build) fn perhaps(root: &Node) -> Vec<String> {
    fn gather(node: &Node, depth: usize, names: &mut Vec<String>) {
        match &node.kind {
            NodeKind::Map(pairs) => {
                for (key, value) in pairs {
                    let name = if key.text() == Some("name") {
                        value.text()
                    } else {
                        None
                    };
                    let under_top = if depth == 1 { key.text() } else { None };
                    names.extend(name.or(under_top).map(str::to_owned));
                    gather(value, depth + 1, names);
                }
            }
            NodeKind::List(items) => {
                for item in items {
                    if depth == 1 {
                        names.extend(item.text().map(str::to_owned));
                    }
                    gather(item, depth + 1, names);
                }
            }
            NodeKind::Scalar { .. } => {}
        }
    }
    let mut names = Vec::new();
    gather(root, 0, &mut names);
    names
}

impl<'a> Names<'a> {
    pub(in crate::routine::build) fn declare(
        draft: &RoutineFile,
        pack: Pack,
        card_piles: Vec<(String, Spot)>,
        gathered: &'a Gathered<'a>,
        doubtful: Vec<String>,
    ) -> Self {
        let mut names = Self {
            gathered,
            pack,
            remembered: Vec::new(),
            piles: Vec::new(),
            tables: Vec::new(),
            doubtful,
            early: Cell::new(None),
            missed: Cell::new(false),
            next: Cell::new(0),
        };
        for (name, spot) in card_piles {
            names.add_pile(&name, spot);
        }
        for pile in draft.piles.iter().filter_map(|p| p.get()).flatten() {
            names.add_pile(&pile.text, pile.spot);
        }
        names.add_tables(draft);
        for step in draft
            .steps
            .iter()
            .filter_map(|s| s.get())
            .flat_map(|s| &s.value)
        {
            names.add_part(step);
        }
        for out in draft.outs.iter().filter_map(|o| o.get()).flatten() {
            match out.get() {
                Some(Out::Long(out)) => {
                    for step in out.value.steps.iter().filter_map(|s| s.get()) {
                        names.add_step(&step.value);
                    }
                }
                Some(Out::Short(step)) => names.add_step(&step.value),
                None => {}
            }
        }
        if let Some(finale) = draft.finale.as_ref().and_then(|f| f.get()) {
            names.add_step(&finale.value);
        }
        for stray in draft.strays.iter().filter_map(|s| s.get()).flatten() {
            if let Some(stray) = stray.get() {
                names.add_fork(stray.fork.as_ref());
                if let Some(acts) = stray.acts.as_ref().and_then(|a| a.get()) {
                    names.add_chains(acts);
                }
            }
        }
        names
    }

    fn add_pile(&mut self, name: &str, spot: Spot) {
        /// Piles are numbered in a byte, and scratch piles come after them.
        const MOST: usize = 100;
        if let Some(fault) = name_fault(name) {
            self.gathered.say(spot, fault);
        }
        if let Some(first) = self.piles.iter().find(|p| p.name == name) {
            self.gathered.advise(
                spot,
                format!("there is a pile called \"{name}\" already"),
                format!("it is on line {}; take one of the two out", first.spot.line),
            );
            return;
        }
        if self.piles.len() == MOST {
            self.gathered.say(spot, format!("more than {MOST} piles"));
        }
        self.piles.push(PileName {
            name: name.to_owned(),
            spot,
            used: Cell::new(false),
        });
    }

    fn add_tables(&mut self, draft: &RoutineFile) {
        let Some(tables) = draft.tables.as_ref().and_then(|t| t.get()) else {
            return;
        };
        let value = |text: &str| match text.parse::<i64>() {
            Ok(number) => Value::Int(number),
            Err(_) => Value::Text(Arc::from(text)),
        };
        let common = |mut kinds: Vec<Kind>| {
            kinds.dedup();
            match kinds.as_slice() {
                [kind] => *kind,
                _ => Kind::Any,
            }
        };
        for (name, rows) in &tables.0 {
            if let Some(fault) = name_fault(&name.text) {
                self.gathered.say(name.spot, fault);
            }
            self.clash(&name.text, name.spot);
            if rows.0.is_empty() {
                self.gathered.advise(
                    name.spot,
                    format!("the table \"{}\" is empty", name.text),
                    "write its rows as {1: 5, 2: 7}",
                );
            }
            let rows: Vec<(Value, Value)> = rows
                .0
                .iter()
                .map(|(key, row)| (value(&key.text), value(&row.text)))
                .collect();
            let kind = |v: &Value| match v {
                Value::Int(_) => Kind::Int,
                _ => Kind::Text,
            };
            self.tables.push(TableName {
                keys: common(rows.iter().map(|(key, _)| kind(key)).collect()),
                values: common(rows.iter().map(|(_, row)| kind(row)).collect()),
                lookup: Lookup {
                    name: name.text.clone(),
                    rows,
                },
                spot: name.spot,
                used: Cell::new(false),
            });
        }
    }

    /// A name that a pile, a table or an earlier name has already.
    fn clash(&self, name: &str, spot: Spot) {
        let remembered = self.remembered.iter().map(|r| (&r.name.name, r.spot));
        let piles = self.piles.iter().map(|p| (&p.name, p.spot));
        let tables = self.tables.iter().map(|t| (&t.lookup.name, t.spot));
        let found = remembered
            .chain(piles)
            .chain(tables)
            .find(|(known, _)| *known == name);
        if let Some((_, first)) = found {
            self.gathered.advise(
                spot,
                format!("the name \"{name}\" is taken already"),
                format!(
                    "it is on line {}; choose another name for one of them",
                    first.line
                ),
            );
        }
    }

    fn add(
        &mut self,
        name: &Text,
        kind: NameKind,
        about: Option<&Text>,
        tag: Option<ForkTag>,
        options: Option<Vec<Arc<str>>>,
    ) {
        if let Some(fault) = name_fault(&name.text) {
            self.gathered.say(name.spot, fault);
        }
        self.clash(&name.text, name.spot);
        self.remembered.push(Remembered {
            name: Name {
                name: name.text.clone(),
                kind,
                about: about.map(|a| a.text.trim().to_owned()),
            },
            spot: name.spot,
            kind: Cell::new(tag.map_or(Kind::Any, ForkTag::kind)),
            tag,
            options,
            known: Cell::new(false),
            used: Cell::new(false),
        });
    }

    fn add_part(&mut self, part: &Part<StepOrAgain>) {
        match part.get() {
            Some(StepOrAgain::Step(step)) => self.add_step(&step.value),
            Some(StepOrAgain::Again(again)) => self.add_again(&again.value),
            None => {}
        }
    }

    fn add_again(&mut self, again: &Again) {
        for part in &again.steps {
            self.add_part(part);
        }
        self.add(
            &again.name,
            NameKind::Fork,
            None,
            Some(ForkTag::Again),
            None,
        );
    }

    fn add_fork(&mut self, fork: Option<&Part<At<Fork>>>) {
        if let Some(fork) = fork.and_then(|f| f.get()) {
            let fork = &fork.value;
            let tag = ForkTag::of(fork).first().copied();
            let options = fork.option.as_ref().and_then(|o| o.get());
            let options = options.map(|o| o.iter().map(|t| Arc::from(t.text.as_str())).collect());
            self.add(
                &fork.name,
                NameKind::Fork,
                fork.about.as_ref(),
                tag,
                options,
            );
        }
    }

    /// In the order in which a step makes its names known.
    fn add_step(&mut self, step: &Step) {
        self.add_fork(step.fork.as_ref());
        for reckon in step.reckon.iter().filter_map(|r| r.get()).flatten() {
            if let Some(reckon) = reckon.get() {
                let about = reckon.about.as_ref();
                self.add(&reckon.name, NameKind::Reckoning, about, None, None);
            }
        }
        if let Some(acts) = step.acts.as_ref().and_then(|a| a.get()) {
            self.add_chains(acts);
        }
        if let Some(reply) = step.reply.as_ref().and_then(|r| r.get()) {
            self.add(
                &reply.name,
                NameKind::Reply,
                reply.about.as_ref(),
                None,
                None,
            );
        }
    }

    fn add_chains(&mut self, acts: &[Part<At<Act>>]) {
        for act in acts.iter().filter_map(|a| a.get()) {
            match &act.value {
                Act::Chain(chain) => {
                    self.add(&chain.name, NameKind::Reckoning, None, None, None);
                    if let Some(added) = self.remembered.last() {
                        added.kind.set(Kind::Int);
                    }
                }
                Act::Repeat(repeat) => self.add_chains(&repeat.acts),
                Act::When(when) => {
                    self.add_chains(&when.acts);
                    self.add_chains(when.otherwise.as_deref().unwrap_or_default());
                }
                Act::Cut(_)
                | Act::Move(_)
                | Act::Count(_)
                | Act::Deal(_)
                | Act::Gather(_)
                | Act::DownUnder(_)
                | Act::UnderDown(_)
                | Act::Klondike(_)
                | Act::Monge(_)
                | Act::Faro(_)
                | Act::InverseFaro(_)
                | Act::Riffle(_)
                | Act::Overhand(_)
                | Act::Turn(_)
                | Act::TurnEach(_)
                | Act::Reverse(_)
                | Act::Take(_)
                | Act::Put(_)
                | Act::Swap(_)
                | Act::Spell(_) => {}
            }
        }
    }
}
