//! Expressions: a bounded part of the Common Expression Language, compiled once into a small typed form.
//!
//! What may be written: whole numbers, words in quotes, `true` and `false`, names, `+ - * / %`, comparisons,
//! `&& || !`, `a ? b : c`, `x in [a, b]`, `table[n]`, a list of piles `[a, b, c]` (an order), and the functions below.
//! Division and remainder cut towards zero, as the language says. There are no loops, fields, maps or fractions, an
//! expression is at most [`LONGEST`] characters long, and so its value always comes in bounded time.
//!
//! | function | value |
//! | --- | --- |
//! | `size(pile)` | how many cards it holds; also how many piles an order or places a choice has |
//! | `showing(pile)` | how many of its cards face up |
//! | `showing_odd(pile)`, `showing_even(pile)` | the same at its odd places 1, 3, 5 … from the top; at its even places |
//! | `place(card)`, `pile_of(card)` | where the card lies, counted from the top from 1; in which pile |
//! | `card("7H")` | the card that bears this print, the first of several; `x == card("7H")` is true of each of them |
//! | `card(pile, n)`, `up(pile, n)` | the card at a place (−1 is the bottom card); whether its face shows |
//! | `colour(card)`, `suit(card)`, `trait(card, "name")` | its class of a trait, as a word |
//! | `value(card)` | ace 1 to king 13 |
//! | `letters(card)`, `letters("word")` | letters in its name in the routine's language; in the word |
//! | `mate(card)` | the card of the same value and colour |
//! | `min(a, b, …)`, `max(a, b, …)`, `abs(n)` | as usual |
//! | `pow2_below(n)` | the greatest power of two that is at most n |
//! | `first(order)`, `last(order)`, `nth(order, n)` | a pile of an order, or a place of a choice of places |
//! | `with_pile_at(order, pile, n)` | the order with that pile moved to be the nth, the others as they were |

mod compile;
mod functions;
mod part;
mod precheck;
mod value;

pub use part::{Form, Part};
pub use precheck::{LONGEST, name_fault};

use super::model::NameId;
use super::world::{Fault, Scene, Value};
use crate::cards::{Card, Class, TraitId};
use crate::table::PileId;
use std::sync::Arc;

/// The kind of a value, as far as it is known before the routine runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// A whole number.
    Int,
    /// True or false.
    Bool,
    /// A word.
    Text,
    /// A card.
    Card,
    /// A pile.
    Pile,
    /// Piles in an order.
    Order,
    /// Places of a pile.
    Places,
    /// An interleaving.
    Weave,
    /// Chunks of an overhand shuffle.
    Chunks,
    /// Not known before it runs.
    Any,
}

impl Kind {
    /// The kind of what a list of this kind holds; `None` where it is no list.
    pub(super) fn element(self) -> Option<Self> {
        match self {
            Self::Order => Some(Self::Pile),
            Self::Places => Some(Self::Int),
            Self::Any => Some(Self::Any),
            Self::Int
            | Self::Bool
            | Self::Text
            | Self::Card
            | Self::Pile
            | Self::Weave
            | Self::Chunks => None,
        }
    }
    /// In words, with its article: "a number".
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Int => "a number",
            Self::Bool => "yes or no",
            Self::Text => "a word",
            Self::Card => "a card",
            Self::Pile => "a pile",
            Self::Order => "an order of piles",
            Self::Places => "a choice of places",
            Self::Weave => "an interleaving",
            Self::Chunks => "the chunks of a shuffle",
            Self::Any => "a value",
        }
    }
    /// Whether a value of this kind may stand where the other is wanted; what is not known yet may stand anywhere.
    #[must_use]
    pub fn fits(self, wanted: Self) -> bool {
        self == wanted || self == Self::Any || wanted == Self::Any
    }
}

/// What a name means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// A choice, reply or reckoning, and the kind of its value.
    Name(NameId, Kind),
    /// A pile.
    Pile(PileId),
    /// A small table: its index in the routine's lookups, the kind of its keys and of its values.
    Lookup(u16, Kind, Kind),
}

/// What names mean while compiling. Names are looked up in the order remembered names, piles, lookups.
pub trait Scope {
    /// What a name means here.
    fn look_up(&self, name: &str) -> Option<Meaning>;
    /// The first card of the pack that bears this print: `7H`, `7♥`, "seven of hearts", or a face the file defines.
    fn card(&self, text: &str) -> Option<Card>;
    /// The trait with this name.
    fn trait_named(&self, name: &str) -> Option<TraitId>;
    /// The names of all traits, for suggestions.
    fn traits(&self) -> Vec<String> {
        Vec::new()
    }
    /// The class of a trait with this label.
    fn class(&self, trait_id: TraitId, label: &str) -> Option<Class>;
    /// The labels of a trait's classes.
    fn labels(&self, trait_id: TraitId) -> Vec<String>;
    /// The words that a name can stand for, where they are known: the options of a fork.
    fn options(&self, name: NameId) -> Option<Vec<Arc<str>>>;
    /// The name in scope nearest to one that does not exist; see [`crate::cards::nearest`].
    fn near(&self, name: &str) -> Option<String>;
}

/// Why an expression was refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct ExprFault {
    /// In words, with what to do.
    pub message: String,
    /// Where in the text, in characters from 0.
    pub offset: usize,
}

/// What an expression looks at.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadSet {
    /// Remembered names, rising, each once.
    pub names: Vec<NameId>,
    /// Lookups, by index, rising, each once.
    pub lookups: Vec<u16>,
    /// Piles named in it, rising, each once.
    pub piles: Vec<PileId>,
    /// Whether it looks at how many cards a pile holds.
    pub sizes: bool,
    /// Whether it looks at which card lies where, or which way it faces.
    pub places: bool,
    /// Whether it looks at which way a card faces.
    pub facing: bool,
    /// Whether it looks at what is printed on a card.
    pub faces: bool,
    /// Traits of cards that it looks at, rising, each once.
    pub traits: Vec<TraitId>,
    /// Whether it looks at which card it is, and not only at its traits.
    pub identity: bool,
}

/// A compiled expression.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expr {
    source: String,
    node: Node,
    kind: Kind,
    reads: ReadSet,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Arith {
    Add,
    Subtract,
    Multiply,
    Divide,
    Remainder,
}

/// At which places of a pile, from the top.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Places {
    /// At all.
    All,
    /// At the odd ones: 1, 3, 5 …
    Odd,
    /// At the even ones: 2, 4, 6 …
    Even,
}

impl Places {
    /// Whether the card at this index, from 0, lies at one of them.
    #[must_use]
    pub fn has(self, index: usize) -> bool {
        match self {
            Self::All => true,
            Self::Odd => index.is_multiple_of(2),
            Self::Even => !index.is_multiple_of(2),
        }
    }
}

/// How two numbers are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Order {
    /// The first is less.
    Less,
    /// It is at most the second.
    AtMost,
    /// It is more.
    More,
    /// It is at least the second.
    AtLeast,
}

/// The small typed form. Kinds are checked where they are known; where not, evaluation checks them.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Node {
    Fixed(Value),
    /// The card that bears the print of this card of the pack.
    Bearing(Card),
    Name(NameId, String),
    Lookup(u16, Box<Node>),
    Negative(Box<Node>),
    Not(Box<Node>),
    Arith(Arith, Box<Node>, Box<Node>),
    Compare(Order, Box<Node>, Box<Node>),
    Same(Box<Node>, Box<Node>),
    /// Whether a card is of a class: `colour(x) == "red"` without making a word.
    IsClass(Box<Node>, TraitId, Class),
    /// Whether a card bears a print: `x == card("7H")` without looking for that card.
    Bears(Box<Node>, Card),
    And(Box<Node>, Box<Node>),
    Or(Box<Node>, Box<Node>),
    If(Box<Node>, Box<Node>, Box<Node>),
    /// Among listed values.
    Among(Box<Node>, Vec<Node>),
    /// Among the piles of an order or the places of a choice.
    Within(Box<Node>, Box<Node>),
    Piles(Vec<Node>),
    Size(Box<Node>),
    PlaceOf(Box<Node>),
    PileOf(Box<Node>),
    CardAt(Box<Node>, Box<Node>),
    Up(Box<Node>, Box<Node>),
    Showing(Box<Node>, Places),
    Trait(Box<Node>, TraitId),
    ValueOf(Box<Node>),
    Letters(Box<Node>),
    Mate(Box<Node>),
    Least(Vec<Node>),
    Greatest(Vec<Node>),
    Abs(Box<Node>),
    PowerBelow(Box<Node>),
    Nth(Box<Node>, Box<Node>),
    WithPileAt(Box<Node>, Box<Node>, Box<Node>),
}

impl Expr {
    /// Compiles an expression.
    ///
    /// ```
    /// use allroads::cards::{Lang, Pack};
    /// use allroads::routine::{Expr, Kind, Routine};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let routine = Routine::bare(Pack::full(Lang::EnGb)?, &["packet", "dealt"]);
    /// let expr = Expr::compile("size(packet) - size(dealt) > 1", &routine)?;
    /// assert_eq!(expr.kind(), Kind::Bool);
    /// let fault = Expr::compile("size(paket)", &routine).unwrap_err();
    /// assert_eq!(fault.to_string(), "there is no `paket`; did you mean `packet`?");
    /// assert_eq!(fault.offset, 5);
    /// # Ok(())
    /// # }
    /// ```
    ///
    /// # Errors
    /// When it is too long, not in the language, or names or kinds do not fit.
    pub fn compile(source: &str, scope: &dyn Scope) -> Result<Self, ExprFault> {
        let (node, kind, reads) = compile::compile(source, scope)?;
        Ok(Self {
            source: source.trim().to_owned(),
            node,
            kind,
            reads,
        })
    }
    /// Compiles an expression whose value must be of a kind.
    ///
    /// # Errors
    /// As [`Expr::compile`], and when its value is known to be of another kind.
    pub fn compile_as(source: &str, scope: &dyn Scope, wanted: Kind) -> Result<Self, ExprFault> {
        let expr = Self::compile(source, scope)?;
        if expr.kind.fits(wanted) {
            Ok(expr)
        } else {
            Err(ExprFault {
                message: format!(
                    "`{}` is {}, but here {} is needed",
                    expr.source,
                    expr.kind.words(),
                    wanted.words()
                ),
                offset: 0,
            })
        }
    }
    /// An expression that is always this number.
    #[must_use]
    pub fn number(n: i64) -> Self {
        Self {
            source: n.to_string(),
            node: Node::Fixed(Value::Int(n)),
            kind: Kind::Int,
            reads: ReadSet::default(),
        }
    }
    /// An expression that is always the card bearing this card's print.
    #[must_use]
    pub fn card(card: Card, written: &str) -> Self {
        Self {
            source: format!("card(\"{written}\")"),
            node: Node::Bearing(card),
            kind: Kind::Card,
            reads: ReadSet {
                faces: true,
                identity: true,
                ..ReadSet::default()
            },
        }
    }
    /// As written.
    #[must_use]
    pub fn source(&self) -> &str {
        &self.source
    }
    /// The kind of its value, as far as it is known.
    #[must_use]
    pub fn kind(&self) -> Kind {
        self.kind
    }
    /// Itself as a part, to be taken to pieces.
    #[must_use]
    pub fn part(&self) -> Part<'_> {
        Part::new(&self.node)
    }
    /// What it looks at.
    #[must_use]
    pub fn reads(&self) -> &ReadSet {
        &self.reads
    }
    /// Its value when it looks at nothing and is written as one value.
    #[must_use]
    pub fn fixed(&self) -> Option<&Value> {
        match &self.node {
            Node::Fixed(value) => Some(value),
            _ => None,
        }
    }
    /// The card of the pack when the expression is a card written out: `card("7H")`.
    #[must_use]
    pub fn written_card(&self) -> Option<Card> {
        match &self.node {
            Node::Bearing(card) => Some(*card),
            _ => None,
        }
    }
    /// Works the value out.
    ///
    /// # Errors
    /// [`Fault::Unfixed`] when the print of a card is needed that nothing has fixed yet; [`Fault::Value`] when a value is
    /// missing or of the wrong kind, a number grows too large, or something is divided by zero.
    pub fn value(&self, scene: Scene<'_>) -> Result<Value, Fault> {
        value::value(&self.node, scene).map_err(|fault| self.told(fault))
    }
    /// Works out a number.
    ///
    /// # Errors
    /// As [`Expr::value`], and when the value is no number.
    pub fn int(&self, scene: Scene<'_>) -> Result<i64, Fault> {
        self.value(scene)?
            .as_int()
            .map_err(|fault| self.told(fault))
    }
    /// Works out a condition.
    ///
    /// # Errors
    /// As [`Expr::value`], and when the value is not true or false.
    pub fn truth(&self, scene: Scene<'_>) -> Result<bool, Fault> {
        self.value(scene)?
            .as_bool()
            .map_err(|fault| self.told(fault))
    }
    /// Works out a count of cards or a place: a number from 0 to 65,535.
    ///
    /// # Errors
    /// As [`Expr::int`], and when the number is out of that range.
    pub fn count(&self, scene: Scene<'_>) -> Result<u16, Fault> {
        let n = self.int(scene)?;
        u16::try_from(n)
            .map_err(|_| self.told(Fault::Value(format!("{n} cannot be a count of cards"))))
    }
    /// A fault with the expression it came from.
    fn told(&self, fault: Fault) -> Fault {
        match fault {
            Fault::Value(words) => Fault::Value(format!("{words} (in `{}`)", self.source)),
            Fault::Choice(words) => Fault::Choice(words),
            Fault::Handling(fault) => Fault::Handling(fault),
            Fault::Unfixed(card) => Fault::Unfixed(card),
        }
    }
}

#[cfg(test)]
mod tests;
