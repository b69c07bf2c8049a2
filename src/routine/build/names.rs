//! What names mean: remembered names, piles, small tables; and which of them anybody uses.

use crate::cards::{Card, Class, Pack, TraitId};
use crate::routine::check::{Gathered, Spot, nearest};
use crate::routine::draft::{Act, Again, Fork, Out, RoutineFile, Step, StepOrAgain};
use crate::routine::expr::{Expr, ExprFault, Kind, Meaning, Scope, name_fault};
use crate::routine::model::{Lookup, Name, NameId, NameKind, Template};
use crate::routine::world::Value;
use crate::routine::yaml::{Kind as NodeKind, Node};
use crate::routine::yaml_read::{At, Part, Text};
use crate::table::PileId;
use std::cell::Cell;
use std::sync::Arc;

/// What a fork offers, as far as moves ask for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ForkTag {
    Number,
    Option,
    Pile,
    PileOrder,
    Place,
    Card,
    Cards,
    Cut,
    Riffle,
    Overhand,
    Again,
}

impl ForkTag {
    /// Which kind a fork is; `None` unless exactly one is written.
    pub(super) fn of(fork: &Fork) -> Vec<Self> {
        let kinds = [
            (fork.number.is_some(), Self::Number),
            (fork.option.is_some(), Self::Option),
            (fork.pile.is_some(), Self::Pile),
            (fork.pile_order.is_some(), Self::PileOrder),
            (fork.place.is_some(), Self::Place),
            (fork.card.is_some(), Self::Card),
            (fork.cards.is_some(), Self::Cards),
            (fork.cut.is_some(), Self::Cut),
            (fork.riffle.is_some(), Self::Riffle),
            (fork.overhand.is_some(), Self::Overhand),
        ];
        kinds
            .into_iter()
            .filter(|(there, _)| *there)
            .map(|(_, tag)| tag)
            .collect()
    }
    fn kind(self) -> Kind {
        match self {
            Self::Number | Self::Place | Self::Cut => Kind::Int,
            Self::Option => Kind::Text,
            Self::Pile => Kind::Pile,
            Self::PileOrder => Kind::Order,
            Self::Card => Kind::Card,
            Self::Cards => Kind::Places,
            Self::Riffle => Kind::Weave,
            Self::Overhand => Kind::Chunks,
            Self::Again => Kind::Bool,
        }
    }
}

#[derive(Debug)]
struct Remembered {
    name: Name,
    spot: Spot,
    kind: Cell<Kind>,
    tag: Option<ForkTag>,
    options: Option<Vec<Arc<str>>>,
    known: Cell<bool>,
    used: Cell<bool>,
}

#[derive(Debug)]
struct PileName {
    name: String,
    spot: Spot,
    used: Cell<bool>,
}

#[derive(Debug)]
struct TableName {
    lookup: Lookup,
    spot: Spot,
    keys: Kind,
    values: Kind,
    used: Cell<bool>,
}

/// Every name that a file seems to declare somewhere, in the right place or not: what stands after `name:`, and the
/// keys and items directly under the top keys.
pub(super) fn perhaps(root: &Node) -> Vec<String> {
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

/// All names of a routine.
pub(super) struct Names<'a> {
    pub(super) gathered: &'a Gathered<'a>,
    pub(super) pack: Pack,
    remembered: Vec<Remembered>,
    piles: Vec<PileName>,
    tables: Vec<TableName>,
    /// Names that parts which could not be read may have declared: nobody complains that these are not known.
    doubtful: Vec<String>,
    early: Cell<Option<usize>>,
    /// Whether a name was looked up in vain that may have been declared where we could not read.
    missed: Cell<bool>,
    /// Which name is declared next, while the steps are built in the order in which names were declared.
    next: Cell<usize>,
}

impl<'a> Names<'a> {
    pub(super) fn declare(
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

    /// In the order in which a step makes its names known.
    fn add_step(&mut self, step: &Step) {
        if let Some(fork) = step.fork.as_ref().and_then(|f| f.get()) {
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

    /// The next declared name, known from here on.
    pub(super) fn learn(&self) -> NameId {
        let at = self.next.get();
        self.next.set(at + 1);
        if let Some(name) = self.remembered.get(at) {
            name.known.set(true);
        }
        NameId(u16::try_from(at).unwrap_or(u16::MAX))
    }
    /// What kind of value a name turned out to have.
    pub(super) fn settle(&self, name: NameId, kind: Kind) {
        if let Some(entry) = self.remembered.get(name.index()) {
            entry.kind.set(kind);
        }
    }
    /// How many names are known now, to go back to with [`Names::forget_since`].
    pub(super) fn mark(&self) -> usize {
        self.next.get()
    }
    /// Names learnt since the mark are not known outside.
    pub(super) fn forget_since(&self, mark: usize) {
        for name in &self.remembered[mark.min(self.remembered.len())..] {
            name.known.set(false);
        }
    }

    /// A pile.
    pub(super) fn pile(&self, text: &Text) -> Option<PileId> {
        let found = self.piles.iter().position(|p| p.name == text.text);
        if let Some(at) = found {
            self.piles[at].used.set(true);
            return u8::try_from(at).ok().map(PileId);
        }
        if self.doubtful.contains(&text.text) {
            return None;
        }
        let known = self.piles.iter().map(|p| p.name.as_str());
        self.gathered.unknown(text.spot, "pile", &text.text, known);
        None
    }
    /// Several piles, all different, at least `least`.
    pub(super) fn pile_list(
        &self,
        texts: &[Text],
        least: usize,
        spot: Spot,
    ) -> Option<Vec<PileId>> {
        let piles: Vec<Option<PileId>> = texts.iter().map(|t| self.pile(t)).collect();
        for (at, text) in texts.iter().enumerate() {
            if texts[..at].iter().any(|t| t.text == text.text) {
                let message = format!("the pile \"{}\" stands here twice", text.text);
                self.gathered
                    .advise(text.spot, message, "name each pile once");
            }
        }
        if texts.len() < least {
            let spot = texts.first().map_or(spot, |t| t.spot);
            self.gathered.advise(
                spot,
                if least == 1 {
                    "no pile is named here"
                } else {
                    "one pile is no choice"
                },
                format!("name at least {least}"),
            );
        }
        piles.into_iter().collect()
    }
    /// A trait.
    pub(super) fn class(&self, text: &Text) -> Option<TraitId> {
        let found = self.pack.find_trait(&text.text);
        if found.is_none() {
            let known = self.pack.traits().iter().map(|t| t.name.as_str());
            self.gathered.unknown(text.spot, "trait", &text.text, known);
        }
        found
    }
    /// A fork of one of these kinds.
    pub(super) fn choice(&self, text: &Text, tag: ForkTag, wanted: &str) -> Option<NameId> {
        let known = || self.remembered.iter().filter(|r| r.known.get());
        let found = self
            .remembered
            .iter()
            .position(|r| r.known.get() && r.name.name == text.text);
        match found {
            Some(at) if self.remembered[at].tag == Some(tag) => {
                self.remembered[at].used.set(true);
                u16::try_from(at).ok().map(NameId)
            }
            Some(_) => {
                self.gathered.advise(
                    text.spot,
                    format!("\"{}\" is not {wanted}", text.text),
                    format!("name {wanted} of this step or one before"),
                );
                None
            }
            None => {
                if !self.doubtful.contains(&text.text) {
                    let names = known().filter(|r| r.tag == Some(tag));
                    let names: Vec<&str> = names.map(|r| r.name.name.as_str()).collect();
                    self.gathered
                        .unknown(text.spot, "choice", &text.text, names.iter().copied());
                }
                None
            }
        }
    }
    /// An expression of a kind.
    pub(super) fn expr(&self, text: &Text, wanted: Kind) -> Option<Expr> {
        self.early.set(None);
        self.missed.set(false);
        match Expr::compile_as(&text.text, self, wanted) {
            Ok(expr) => Some(expr),
            Err(fault) => {
                self.refuse(text, &fault);
                None
            }
        }
    }
    /// Text with blanks.
    pub(super) fn template(&self, text: &Text) -> Template {
        self.early.set(None);
        self.missed.set(false);
        let trimmed = Text {
            spot: text.spot,
            text: text.text.trim().to_owned(),
        };
        match Template::parse(&trimmed.text, self) {
            Ok(template) => template,
            Err(fault) => {
                self.refuse(&trimmed, &fault);
                Template::default()
            }
        }
    }
    /// Text with blanks in which a choice speaks of itself, which is no use of it.
    pub(super) fn own_words(&self, text: &Text, own: NameId) -> Template {
        let entry = self.remembered.get(own.index());
        let used = entry.map(|e| e.used.get());
        let template = self.template(text);
        if let (Some(entry), Some(used)) = (entry, used) {
            entry.used.set(used);
        }
        template
    }

    /// An expression in which a choice speaks of itself, which is no use of it.
    pub(super) fn own_expr(&self, text: &Text, own: NameId) -> Option<Expr> {
        let entry = self.remembered.get(own.index());
        let used = entry.map(|e| e.used.get());
        let expr = self.expr(text, Kind::Any);
        if let (Some(entry), Some(used)) = (entry, used) {
            entry.used.set(used);
        }
        expr
    }
    /// Whether a remembered name is known here.
    pub(super) fn is_known(&self, name: &str) -> bool {
        self.remembered
            .iter()
            .any(|r| r.known.get() && r.name.name == name)
    }

    fn refuse(&self, text: &Text, fault: &ExprFault) {
        let spot = self.gathered.inside(text, fault.offset);
        if let Some(entry) = self.early.get().and_then(|at| self.remembered.get(at)) {
            self.gathered.advise(
                spot,
                format!("\"{}\" is not known yet here", entry.name.name),
                format!("it is remembered on line {} only", entry.spot.line),
            );
        } else if !self.missed.get() {
            self.gathered.say(spot, fault.message.clone());
        }
    }

    pub(super) fn report_unused(&self) {
        for pile in self.piles.iter().filter(|p| !p.used.get()) {
            self.gathered.advise(
                pile.spot,
                format!("nobody uses the pile \"{}\"", pile.name),
                "take it out, or use it in a step",
            );
        }
        for table in self.tables.iter().filter(|t| !t.used.get()) {
            self.gathered.advise(
                table.spot,
                format!("nobody uses the table \"{}\"", table.lookup.name),
                format!(
                    "take it out, or write {}[…] in an expression",
                    table.lookup.name
                ),
            );
        }
        for entry in &self.remembered {
            let asked = matches!(entry.tag, Some(tag) if tag != ForkTag::Again);
            if asked && !entry.used.get() {
                self.gathered.advise(
                    entry.spot,
                    format!("nobody uses the choice \"{}\"", entry.name.name),
                    "a move, a claim, a reckoning or some patter should depend on it; or take the fork out",
                );
            }
        }
    }

    pub(super) fn into_parts(self) -> (Pack, Vec<String>, Vec<Name>, Vec<Lookup>) {
        (
            self.pack,
            self.piles.into_iter().map(|p| p.name).collect(),
            self.remembered.into_iter().map(|r| r.name).collect(),
            self.tables.into_iter().map(|t| t.lookup).collect(),
        )
    }
}

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
