//! The functions of the language.

use super::compile::{Compiled, Compiler};
use super::{ExprFault, Kind, Node, Places};
use crate::cards::TraitId;
use crate::cards::nearest;
use crate::routine::world::Value;
use cel::common::ast::{Expr as Tree, IdedExpr, LiteralValue};
use std::sync::Arc;

/// Every function, and how it is written.
const FUNCTIONS: [(&str, &str); 22] = [
    ("size", "`size(pile)`"),
    ("showing", "`showing(pile)`"),
    ("showing_odd", "`showing_odd(pile)`"),
    ("showing_even", "`showing_even(pile)`"),
    ("place", "`place(card)`"),
    ("pile_of", "`pile_of(card)`"),
    ("card", "`card(\"7H\")` or `card(pile, n)`"),
    ("up", "`up(pile, n)`"),
    ("colour", "`colour(card)`"),
    ("suit", "`suit(card)`"),
    ("trait", "`trait(card, \"colour\")`"),
    ("value", "`value(card)`"),
    ("letters", "`letters(card)`"),
    ("mate", "`mate(card)`"),
    ("min", "`min(a, b)`"),
    ("max", "`max(a, b)`"),
    ("abs", "`abs(n)`"),
    ("pow2_below", "`pow2_below(n)`"),
    ("first", "`first(order)`"),
    ("last", "`last(order)`"),
    ("nth", "`nth(order, n)`"),
    ("with_pile_at", "`with_pile_at(order, pile, n)`"),
];

pub(super) fn is_function(name: &str) -> bool {
    FUNCTIONS.iter().any(|(known, _)| *known == name)
}

impl Compiler<'_> {
    pub(super) fn function(&mut self, tree: &IdedExpr, name: &str, args: &[IdedExpr]) -> Compiled {
        let trait_only = std::mem::take(&mut self.trait_only);
        let (node, kind) = match (name, args) {
            ("size", [of]) => {
                let part = self.part(of)?;
                match part.kind {
                    Kind::Pile | Kind::Order | Kind::Places | Kind::Chunks | Kind::Any => {}
                    Kind::Int | Kind::Bool | Kind::Text | Kind::Card | Kind::Weave => {
                        return self.fault(
                            of,
                            format!("here a pile is needed, but this is {}", part.kind.words()),
                        );
                    }
                }
                self.reads.sizes |= part.kind.fits(Kind::Pile);
                (Node::Size(Box::new(part.node)), Kind::Int)
            }
            ("place", [card]) => {
                self.reads.places = true;
                self.reads.identity = true;
                (Node::PlaceOf(self.boxed(card, Kind::Card)?), Kind::Int)
            }
            ("pile_of", [card]) => {
                self.reads.places = true;
                self.reads.identity = true;
                (Node::PileOf(self.boxed(card, Kind::Card)?), Kind::Pile)
            }
            ("card", [written]) => {
                let Tree::Literal(LiteralValue::String(text)) = &written.expr else {
                    return self.fault(
                        written,
                        "write the card in quotes, `card(\"7H\")`, or say where it lies, `card(pile, n)`",
                    );
                };
                let Some(card) = self.scope.card(text.inner()) else {
                    return self.fault(
                        written,
                        format!("there is no card \"{}\" in this routine", text.inner()),
                    );
                };
                self.reads.faces = true;
                self.reads.identity = true;
                (Node::Bearing(card), Kind::Card)
            }
            ("card", [pile, at]) => {
                self.reads.places = true;
                self.reads.identity |= !trait_only;
                let pile = self.boxed(pile, Kind::Pile)?;
                (Node::CardAt(pile, self.boxed(at, Kind::Int)?), Kind::Card)
            }
            ("showing" | "showing_odd" | "showing_even", [pile]) => {
                self.reads.places = true;
                self.reads.facing = true;
                let places = match name {
                    "showing_odd" => Places::Odd,
                    "showing_even" => Places::Even,
                    _ => Places::All,
                };
                let pile = self.boxed(pile, Kind::Pile)?;
                (Node::Showing(pile, places), Kind::Int)
            }
            ("up", [pile, at]) => {
                self.reads.places = true;
                self.reads.facing = true;
                let pile = self.boxed(pile, Kind::Pile)?;
                (Node::Up(pile, self.boxed(at, Kind::Int)?), Kind::Bool)
            }
            ("colour" | "suit", [card]) => {
                let Some(id) = self.scope.trait_named(name) else {
                    return self.fault(tree, format!("no card of this routine has a {name}"));
                };
                return self.class_of(tree, card, id);
            }
            ("trait", [card, of]) => {
                let Tree::Literal(LiteralValue::String(text)) = &of.expr else {
                    return self.fault(of, "write the trait in quotes: `trait(card, \"colour\")`");
                };
                let Some(id) = self.scope.trait_named(text.inner()) else {
                    let traits = self.scope.traits();
                    let near = nearest(text.inner(), traits.iter().map(String::as_str));
                    let hint =
                        near.map_or_else(String::new, |n| format!("; did you mean \"{n}\"?"));
                    return self.fault(of, format!("there is no trait \"{}\"{hint}", text.inner()));
                };
                return self.class_of(tree, card, id);
            }
            ("value", [card]) => {
                self.reads.faces = true;
                self.reads.traits.push(TraitId::VALUE);
                (Node::ValueOf(self.card_for_trait(card)?), Kind::Int)
            }
            ("letters", [of]) => {
                let part = self.part(of)?;
                if part.kind != Kind::Text && !part.kind.fits(Kind::Card) {
                    return self.fault(
                        of,
                        format!(
                            "here a card or a word is needed, but this is {}",
                            part.kind.words()
                        ),
                    );
                }
                self.reads.faces |= part.kind != Kind::Text;
                self.reads.identity |= part.kind != Kind::Text;
                (Node::Letters(Box::new(part.node)), Kind::Int)
            }
            ("mate", [card]) => {
                self.reads.faces = true;
                self.reads.identity = true;
                (Node::Mate(self.boxed(card, Kind::Card)?), Kind::Card)
            }
            ("min" | "max", [_, _, ..]) => {
                let mut nodes = Vec::with_capacity(args.len());
                for arg in args {
                    nodes.push(self.wanted(arg, Kind::Int)?.node);
                }
                let node = if name == "min" {
                    Node::Least(nodes)
                } else {
                    Node::Greatest(nodes)
                };
                (node, Kind::Int)
            }
            ("abs", [n]) => (Node::Abs(self.boxed(n, Kind::Int)?), Kind::Int),
            ("pow2_below", [n]) => (Node::PowerBelow(self.boxed(n, Kind::Int)?), Kind::Int),
            ("first" | "last", [of]) => {
                let at = if name == "first" { 1 } else { -1 };
                let part = self.part(of)?;
                let Some(kind) = part.kind.element() else {
                    return self.fault(
                        of,
                        format!("here an order is needed, but this is {}", part.kind.words()),
                    );
                };
                let at = Box::new(Node::Fixed(Value::Int(at)));
                (Node::Nth(Box::new(part.node), at), kind)
            }
            ("nth", [of, at]) => return self.nth(tree, of, at),
            ("with_pile_at", [order, pile, at]) => {
                let order = self.boxed(order, Kind::Order)?;
                let pile = self.boxed(pile, Kind::Pile)?;
                let at = self.boxed(at, Kind::Int)?;
                (Node::WithPileAt(order, pile, at), Kind::Order)
            }
            _ => return self.no_function(tree, name, args.len()),
        };
        Ok(self.made(tree, node, kind))
    }

    /// A card of which only a trait is looked at.
    fn card_for_trait(&mut self, card: &IdedExpr) -> Result<Box<Node>, ExprFault> {
        self.trait_only = true;
        let node = self.boxed(card, Kind::Card);
        self.trait_only = false;
        node
    }

    fn class_of(&mut self, tree: &IdedExpr, card: &IdedExpr, id: TraitId) -> Compiled {
        self.reads.faces = true;
        self.reads.traits.push(id);
        let node = Node::Trait(self.card_for_trait(card)?, id);
        let mut part = self.made(tree, node, Kind::Text);
        let labels = self.scope.labels(id);
        part.words = Some(labels.iter().map(|l| Arc::from(l.as_str())).collect());
        Ok(part)
    }

    fn no_function(&self, tree: &IdedExpr, name: &str, given: usize) -> Compiled {
        if let Some((_, usage)) = FUNCTIONS.iter().find(|(known, _)| *known == name) {
            let given = match given {
                0 => "nothing".to_owned(),
                1 => "one value".to_owned(),
                n => format!("{n} values"),
            };
            return self.fault(tree, format!("`{name}` cannot take {given}; write {usage}"));
        }
        let hint = nearest(name, FUNCTIONS.iter().map(|(known, _)| *known)).map_or_else(
            || {
                let all: Vec<_> = FUNCTIONS.iter().map(|(known, _)| *known).collect();
                format!("; there are {}", all.join(", "))
            },
            |near| format!("; did you mean `{near}`?"),
        );
        self.fault(tree, format!("there is no function `{name}`{hint}"))
    }
}
