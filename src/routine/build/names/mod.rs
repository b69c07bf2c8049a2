//! What names mean: remembered names, piles, small tables; and which of them anybody uses.

mod declare;
mod scope;

pub(super) use declare::perhaps;

use crate::cards::{Pack, TraitId};
use crate::routine::check::{Gathered, Spot};
use crate::routine::draft::Fork;
use crate::routine::expr::{Expr, ExprFault, Kind};
use crate::routine::model::{Lookup, Name, NameId, Template};
use crate::routine::yaml_read::Text;
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
