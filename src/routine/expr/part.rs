//! Expressions taken to pieces, for those who follow what one reads instead of working it out.

use super::{Arith, Node, Order, Places, value};
use crate::cards::Card;
use crate::routine::model::NameId;
use crate::routine::world::{Fault, Scene, Value};

/// A part of an expression.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a>(&'a Node);

/// What a part is made of, as far as it matters to those who follow it.
#[derive(Debug, Clone, Copy)]
pub enum Form<'a> {
    /// `!a`.
    Not(Part<'a>),
    /// `a && b`.
    And(Part<'a>, Part<'a>),
    /// `a || b`.
    Or(Part<'a>, Part<'a>),
    /// `when ? a : b`.
    If(Part<'a>, Part<'a>, Part<'a>),
    /// Two numbers compared.
    Compare(Order, Part<'a>, Part<'a>),
    /// `a == b`.
    Same(Part<'a>, Part<'a>),
    /// `-a`.
    Negative(Part<'a>),
    /// `a + b`.
    Add(Part<'a>, Part<'a>),
    /// `a - b`.
    Subtract(Part<'a>, Part<'a>),
    /// `a * b`.
    Multiply(Part<'a>, Part<'a>),
    /// `a % b`.
    Remainder(Part<'a>, Part<'a>),
    /// How many cards of a pile face up at these places.
    Showing(Part<'a>, Places),
    /// Where a card lies in its pile.
    PlaceOf(Part<'a>),
    /// Whether the card at a place of a pile faces up.
    Up(Part<'a>, Part<'a>),
    /// Anything else.
    Other,
}

impl<'a> Part<'a> {
    pub(super) fn new(node: &'a Node) -> Self {
        Self(node)
    }

    /// Its value on a scene.
    ///
    /// # Errors
    /// As [`super::Expr::value`].
    pub fn value(self, scene: Scene<'_>) -> Result<Value, Fault> {
        value::value(self.0, scene)
    }

    /// What it is made of.
    #[must_use]
    pub fn form(self) -> Form<'a> {
        match self.0 {
            Node::Not(a) => Form::Not(Self(a)),
            Node::And(a, b) => Form::And(Self(a), Self(b)),
            Node::Or(a, b) => Form::Or(Self(a), Self(b)),
            Node::If(when, a, b) => Form::If(Self(when), Self(a), Self(b)),
            Node::Compare(order, a, b) => Form::Compare(*order, Self(a), Self(b)),
            Node::Same(a, b) => Form::Same(Self(a), Self(b)),
            Node::Negative(a) => Form::Negative(Self(a)),
            Node::Arith(Arith::Add, a, b) => Form::Add(Self(a), Self(b)),
            Node::Arith(Arith::Subtract, a, b) => Form::Subtract(Self(a), Self(b)),
            Node::Arith(Arith::Multiply, a, b) => Form::Multiply(Self(a), Self(b)),
            Node::Showing(pile, places) => Form::Showing(Self(pile), *places),
            Node::PlaceOf(card) => Form::PlaceOf(Self(card)),
            Node::Up(pile, at) => Form::Up(Self(pile), Self(at)),
            Node::Arith(Arith::Remainder, a, b) => Form::Remainder(Self(a), Self(b)),
            Node::Arith(Arith::Divide, ..)
            | Node::Fixed(_)
            | Node::Bearing(_)
            | Node::Name(..)
            | Node::Lookup(..)
            | Node::IsClass(..)
            | Node::Bears(..)
            | Node::Among(..)
            | Node::Within(..)
            | Node::Piles(_)
            | Node::Size(_)
            | Node::PileOf(_)
            | Node::CardAt(..)
            | Node::Trait(..)
            | Node::ValueOf(_)
            | Node::Letters(_)
            | Node::Mate(_)
            | Node::Least(_)
            | Node::Greatest(_)
            | Node::Abs(_)
            | Node::PowerBelow(_)
            | Node::Nth(..)
            | Node::WithPileAt(..) => Form::Other,
        }
    }

    /// The card of the pack when it is a card written out, `card("7H")`.
    #[must_use]
    pub fn written_card(self) -> Option<Card> {
        match self.0 {
            Node::Bearing(card) => Some(*card),
            _ => None,
        }
    }

    /// The parts directly below it.
    #[must_use]
    pub fn parts(self) -> Vec<Self> {
        match self.0 {
            Node::Fixed(_) | Node::Bearing(_) | Node::Name(..) => Vec::new(),
            Node::Lookup(_, a)
            | Node::Negative(a)
            | Node::Not(a)
            | Node::IsClass(a, ..)
            | Node::Bears(a, _)
            | Node::Size(a)
            | Node::PlaceOf(a)
            | Node::PileOf(a)
            | Node::Showing(a, _)
            | Node::Trait(a, _)
            | Node::ValueOf(a)
            | Node::Letters(a)
            | Node::Mate(a)
            | Node::Abs(a)
            | Node::PowerBelow(a) => vec![Self(a)],
            Node::Arith(_, a, b)
            | Node::Compare(_, a, b)
            | Node::Same(a, b)
            | Node::And(a, b)
            | Node::Or(a, b)
            | Node::Within(a, b)
            | Node::CardAt(a, b)
            | Node::Up(a, b)
            | Node::Nth(a, b) => vec![Self(a), Self(b)],
            Node::If(a, b, c) | Node::WithPileAt(a, b, c) => vec![Self(a), Self(b), Self(c)],
            Node::Among(a, list) => std::iter::once(&**a).chain(list).map(Self).collect(),
            Node::Piles(all) | Node::Least(all) | Node::Greatest(all) => {
                all.iter().map(Self).collect()
            }
        }
    }

    /// Whether it, or a part of it, looks at which way cards face.
    #[must_use]
    pub fn looks_at_facing(self) -> bool {
        matches!(self.0, Node::Up(..) | Node::Showing(..))
            || self.parts().into_iter().any(Self::looks_at_facing)
    }

    /// Whether it, or a part of it, looks at which card a card is otherwise than by what is printed on it: looks for one on the
    /// table, or compares two. `cards` says which remembered names may stand for a card.
    #[must_use]
    pub fn looks_at_identity(self, cards: &dyn Fn(NameId) -> bool) -> bool {
        let parts = self.parts();
        let here = match self.0 {
            Node::PlaceOf(_) | Node::PileOf(_) | Node::Mate(_) => true,
            Node::Same(..) | Node::Among(..) => parts.iter().any(|part| part.is_card(cards)),
            _ => false,
        };
        here || parts.iter().any(|part| part.looks_at_identity(cards))
    }

    /// Whether it, or a part of it, looks at more of what is printed on a card than its class of a trait: which print it is, its
    /// mate, the letters of its name.
    #[must_use]
    pub fn looks_at_print(self) -> bool {
        matches!(
            self.0,
            Node::Bearing(_) | Node::Bears(..) | Node::Letters(_) | Node::Mate(_)
        ) || self.parts().into_iter().any(Self::looks_at_print)
    }

    /// Whether it, or a part of it, tells the classes of a trait by their names, and does not only compare two cards.
    #[must_use]
    pub fn names_classes(self) -> bool {
        match self.0 {
            Node::Same(a, b) => match (&**a, &**b) {
                (Node::Trait(one, by), Node::Trait(other, with)) if by == with => {
                    Self(one).names_classes() || Self(other).names_classes()
                }
                (one, other) => Self(one).names_classes() || Self(other).names_classes(),
            },
            Node::IsClass(..) | Node::Trait(..) | Node::ValueOf(_) => true,
            _ => self.parts().into_iter().any(Self::names_classes),
        }
    }

    /// Whether its value may be a card.
    #[must_use]
    pub fn is_card(self, cards: &dyn Fn(NameId) -> bool) -> bool {
        match self.0 {
            Node::Bearing(_) | Node::CardAt(..) | Node::Mate(_) => true,
            Node::Fixed(value) => matches!(value, Value::Card(_)),
            Node::Name(name, _) => cards(*name),
            Node::If(_, a, b) => Self(a).is_card(cards) || Self(b).is_card(cards),
            _ => false,
        }
    }
}
