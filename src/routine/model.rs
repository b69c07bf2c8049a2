//! The routine as it runs: checked, with every name resolved.

pub use super::act::{Act, Chain, Words};
use super::claim::Claim;
use super::expr::Expr;
use super::stray::{KnownStray, OwnStray, Stray};
use super::world::Value;
use crate::cards::{Card, Lang, Pack, TraitId};
use crate::table::{PileId, Table};
use std::sync::Arc;

/// A time in thousandths of a second.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Millis(pub u64);

/// The id of a step as the file gives it: what the logbook and the random streams go by.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StepId(pub Arc<str>);

impl std::fmt::Display for StepId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

/// Index of a stop in [`Routine::stops`]; the number of stops means the end of the road.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StopIndex(pub u16);

impl StopIndex {
    /// The index, from 0.
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

/// Index of a remembered name in [`Routine::names`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NameId(pub u16);

impl NameId {
    /// The index, from 0.
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

/// What a remembered name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NameKind {
    /// A spectator's choice.
    Fork,
    /// A spectator's answer, determined by the table.
    Reply,
    /// A value the performer works out.
    Reckoning,
}

/// A remembered name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Name {
    /// As written in the file.
    pub name: String,
    /// What it stands for.
    pub kind: NameKind,
    /// How to speak of it: "the number they named".
    pub about: Option<String>,
}

/// A checked routine with its set-up drawn.
#[derive(Debug, Clone)]
pub struct Routine {
    /// The title.
    pub title: String,
    /// One line for the foyer.
    pub blurb: String,
    /// The principle, in a sentence.
    pub principle: String,
    /// The language of patter and card names.
    pub lang: Lang,
    /// How long a performance takes.
    pub running_time: Option<Millis>,
    /// SHA-256 of the file's text, in hexadecimal.
    pub content_hash: String,
    /// Which draw of the set-up this is; only a class pattern has more than one.
    pub setup: u64,
    /// All cards.
    pub pack: Pack,
    /// The piles' names; [`PileId`] is the index.
    pub piles: Vec<String>,
    /// The table at the start.
    pub start: Table,
    /// Cards that lie in an order nobody knows: their faces are these cards' faces, in some order.
    pub shuffled: Vec<Card>,
    /// The names remembered.
    pub names: Vec<Name>,
    /// Small tables of the file, by name.
    pub lookups: Vec<Lookup>,
    /// All stops: the steps in order, "again" gates, then each ending's.
    pub stops: Vec<Stop>,
    /// The endings in the order in which they are tried; the last is the finale and has no condition.
    pub endings: Vec<Ending>,
    /// The moves this performer is willing to make in front of people to set things right.
    pub mends: Vec<Mend>,
    /// Strays of the routine's own.
    pub strays: Vec<OwnStray>,
}

impl Routine {
    /// A routine of cards and piles alone, with nothing on the table and no steps: a start to fill in by hand.
    #[must_use]
    pub fn bare(pack: Pack, piles: &[&str]) -> Self {
        Self {
            title: String::new(),
            blurb: String::new(),
            principle: String::new(),
            lang: pack.lang(),
            running_time: None,
            content_hash: String::new(),
            setup: 0,
            pack,
            piles: piles.iter().map(|p| (*p).to_owned()).collect(),
            start: Table::empty(piles.len()),
            shuffled: Vec::new(),
            names: Vec::new(),
            lookups: Vec::new(),
            stops: Vec::new(),
            endings: Vec::new(),
            mends: Vec::new(),
            strays: Vec::new(),
        }
    }
    /// The end of the road.
    #[must_use]
    pub fn finish(&self) -> StopIndex {
        StopIndex(u16::try_from(self.stops.len()).unwrap_or(u16::MAX))
    }
    /// The stop with this index.
    #[must_use]
    pub fn stop(&self, at: StopIndex) -> Option<&Stop> {
        self.stops.get(at.index())
    }
    /// The stop of the step with this id.
    #[must_use]
    pub fn find_step(&self, id: &str) -> Option<StopIndex> {
        self.stops
            .iter()
            .position(|s| &*s.id.0 == id)
            .and_then(|i| u16::try_from(i).ok())
            .map(StopIndex)
    }
    /// The name of a pile.
    #[must_use]
    pub fn pile_name(&self, pile: PileId) -> &str {
        self.piles.get(pile.index()).map_or("", String::as_str)
    }
    /// The pile with this name.
    #[must_use]
    pub fn find_pile(&self, name: &str) -> Option<PileId> {
        self.piles
            .iter()
            .position(|p| p == name)
            .and_then(|i| u8::try_from(i).ok())
            .map(PileId)
    }
    /// The name by which a file lists a stray: `cuts-again`.
    #[must_use]
    pub fn stray_id(&self, stray: Stray) -> &str {
        match stray {
            Stray::Known(known) => known.id(),
            Stray::Own(n) => self.strays.get(usize::from(n)).map_or("", |own| &*own.id.0),
        }
    }
    /// The stray that files name so.
    #[must_use]
    pub fn find_stray(&self, id: &str) -> Option<Stray> {
        let known = KnownStray::ALL.into_iter().find(|known| known.id() == id);
        let own = || {
            let at = self.strays.iter().position(|own| &*own.id.0 == id)?;
            u16::try_from(at).ok().map(Stray::Own)
        };
        known.map(Stray::Known).or_else(own)
    }
    /// The same for people: "cuts again".
    #[must_use]
    pub fn stray_in_words(&self, stray: Stray) -> String {
        self.stray_id(stray).replace('-', " ")
    }
    /// The remembered name written so.
    #[must_use]
    pub fn find_name(&self, name: &str) -> Option<NameId> {
        self.names
            .iter()
            .position(|n| n.name == name)
            .and_then(|i| u16::try_from(i).ok())
            .map(NameId)
    }
}

/// A small table of the file: from a number to a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lookup {
    /// Its name.
    pub name: String,
    /// Its rows: numbers or words to a number or a word.
    pub rows: Vec<(Value, Value)>,
}

/// Text with blanks.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Template(pub Vec<Blank>);

/// A piece of a template.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Blank {
    /// Text as it stands.
    Plain(String),
    /// The value of an expression, in words.
    Value(Expr),
}

/// A stop on the road. In order: the fork is chosen, reckonings are worked out, the acts are done, the reply is
/// given, the sights are seen, the claims must hold.
#[derive(Debug, Clone)]
pub struct Stop {
    /// The step's id; unique.
    pub id: StepId,
    /// In a routine for two, the performer whose part it is; none where it is everybody's.
    pub by: Option<Arc<str>>,
    /// Whether it is the part of another performer than the one who rehearses; see [`Routine::in_part`].
    pub theirs: bool,
    /// A few words.
    pub title: String,
    /// Patter.
    pub say: Template,
    /// How the handling is told to a person; empty when the acts speak for themselves.
    pub handling: String,
    /// What the spectator chooses.
    pub fork: Option<Fork>,
    /// What the performer works out.
    pub reckonings: Vec<Reckoning>,
    /// What is done.
    pub acts: Vec<Act>,
    /// What the spectator answers.
    pub reply: Option<Reply>,
    /// What the performer sees.
    pub sights: Vec<Sight>,
    /// What must hold afterwards.
    pub claims: Vec<Claim>,
    /// The time the step should take.
    pub target: Option<Millis>,
    /// Strays that are met here often.
    pub strays: Vec<Stray>,
    /// What to be careful of.
    pub caution: Option<String>,
    /// A hint.
    pub hint: Option<String>,
    /// Where the road goes on.
    pub then: Then,
    /// Line in the file, from 1.
    pub line: u32,
}

impl Stop {
    /// A stop at which nothing happens yet.
    #[must_use]
    pub fn bare(id: StepId, then: Then, line: u32) -> Self {
        Self {
            id,
            by: None,
            theirs: false,
            title: String::new(),
            say: Template::default(),
            handling: String::new(),
            fork: None,
            reckonings: Vec::new(),
            acts: Vec::new(),
            reply: None,
            sights: Vec::new(),
            claims: Vec::new(),
            target: None,
            strays: Vec::new(),
            caution: None,
            hint: None,
            then,
            line,
        }
    }
}

/// Where the road goes on after a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Then {
    /// At this stop.
    Go(StopIndex),
    /// This stop is an "again" gate: its fork's value is whether to go round once more.
    Gate {
        /// The first stop of the part that is repeated.
        again: StopIndex,
        /// The stop after it.
        on: StopIndex,
    },
    /// At the first ending whose condition holds.
    Endings,
    /// The road ends here.
    Finish,
}

/// An ending: an out, or the finale.
#[derive(Debug, Clone)]
pub struct Ending {
    /// Its id.
    pub id: StepId,
    /// When it is taken; the finale has none.
    pub when: Option<Expr>,
    /// Its first stop.
    pub first: StopIndex,
}

/// A move with its words that the performer is willing to make to set things right.
#[derive(Debug, Clone)]
pub struct Mend {
    /// Its id.
    pub id: StepId,
    /// What is said.
    pub say: Template,
    /// What is looked at first.
    pub looks: Vec<Sight>,
    /// What is done.
    pub acts: Vec<Act>,
    /// 1 is the least conspicuous.
    pub rank: u16,
}

/// A spectator's choice.
#[derive(Debug, Clone)]
pub struct Fork {
    /// Under which name it is remembered.
    pub name: NameId,
    /// Among what is chosen.
    pub kind: ForkKind,
    /// How likely each branch is.
    pub weights: Weights,
    /// What the spectator says or does, in words.
    pub says: Template,
    /// What the performer learns of it.
    pub seen: Seen,
}

/// Among what a spectator chooses. Branches come in a fixed order: numbers rising, options as written, places from the
/// top, orders and interleavings in lexical order.
#[derive(Debug, Clone)]
pub enum ForkKind {
    /// A number from … to …, by steps.
    Number {
        /// Smallest.
        from: Expr,
        /// Largest.
        to: Expr,
        /// Distance between neighbours, from 1.
        by: u16,
    },
    /// One of some words.
    Option(Vec<Arc<str>>),
    /// One of some piles.
    Pile(Vec<PileId>),
    /// All of some piles in an order.
    PileOrder(Vec<PileId>),
    /// A place of a pile; the value is the number of the place.
    Place(PileId),
    /// A card of a pile; the value is the card.
    Card(PileId),
    /// Any so many places of a pile.
    Cards {
        /// Of this pile.
        pile: PileId,
        /// How many.
        count: Expr,
    },
    /// A cut: how many cards are lifted off, from `least` to the size less `least`.
    Cut {
        /// Of this pile.
        pile: PileId,
        /// The smallest part; 0 allows the cut that changes nothing.
        least: u16,
    },
    /// An interleaving of two piles.
    Riffle {
        /// The left part.
        left: PileId,
        /// The right part.
        right: PileId,
    },
    /// Chunks for an overhand shuffle.
    Overhand(PileId),
    /// Go round again?
    Again {
        /// At most so many rounds; unbounded when absent.
        at_most: Option<u16>,
    },
}

/// How likely each branch is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Weights {
    /// All alike; interleavings by Gilbert–Shannon–Reeds, overhand breaks by a fair coin, again by a fair coin.
    Even,
    /// By branch, in the branches' order (for "again": stop, then again).
    Listed(Vec<u32>),
}

/// What the performer learns of a choice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Seen {
    /// All of it: it is spoken, or counted in the open.
    All,
    /// Nothing.
    Nothing,
    /// The values of these expressions.
    These(Vec<Expr>),
}

/// A value that the performer works out.
#[derive(Debug, Clone)]
pub struct Reckoning {
    /// Under which name it is remembered.
    pub name: NameId,
    /// How.
    pub is: Expr,
    /// The question to the performer, in words.
    pub asks: Option<String>,
}

/// An answer of the spectator's that the table determines.
#[derive(Debug, Clone)]
pub struct Reply {
    /// Under which name it is remembered.
    pub name: NameId,
    /// What is asked of the spectator.
    pub asks: String,
    /// The answer.
    pub is: Expr,
}

/// Something the performer sees.
#[derive(Debug, Clone)]
pub struct Sight {
    /// What.
    pub kind: SightKind,
    /// The line in the file.
    pub line: u32,
}

/// What is seen.
#[derive(Debug, Clone)]
pub enum SightKind {
    /// The card at a place: which card it is.
    Card {
        /// In this pile.
        pile: PileId,
        /// At this place from the top; a negative number counts from the bottom (-1 is the bottom card).
        at: Expr,
    },
    /// One trait of the card at a place.
    Trait {
        /// In this pile.
        pile: PileId,
        /// At this place, as above.
        at: Expr,
        /// Which trait.
        class: TraitId,
    },
    /// How many cards a pile holds.
    Count(PileId),
    /// The value of an expression.
    Value(Expr),
}
