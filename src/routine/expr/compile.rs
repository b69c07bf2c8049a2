//! From text to the small typed form: the parser's tree, walked with a whitelist.

use super::precheck::precheck;
use super::{Arith, ExprFault, Kind, Meaning, Node, Order, ReadSet, Scope, nearest};
use crate::cards::TraitId;
use crate::routine::model::NameId;
use crate::routine::world::Value;
use cel::Program;
use cel::common::ast::{CallExpr, Expr as Tree, IdedExpr, LiteralValue, SourceInfo, operators};
use std::sync::Arc;

/// Every function, for suggestions.
const FUNCTIONS: [&str; 22] = [
    "size",
    "place",
    "pile_of",
    "card",
    "up",
    "colour",
    "suit",
    "trait",
    "value",
    "letters",
    "mate",
    "min",
    "max",
    "abs",
    "pow2_below",
    "first",
    "last",
    "nth",
    "with_pile_at",
    "true",
    "false",
    "in",
];

/// A compiled part, with what is known of its value.
struct Part {
    node: Node,
    kind: Kind,
    /// The words it can stand for, and from where they come.
    words: Option<Arc<[Arc<str>]>>,
    offset: usize,
}

struct Compiler<'a> {
    source: &'a str,
    info: &'a SourceInfo,
    scope: &'a dyn Scope,
    reads: ReadSet,
    /// Whether only a trait of the card compiled next is looked at.
    trait_only: bool,
}

type Compiled = Result<Part, ExprFault>;

pub(super) fn compile(source: &str, scope: &dyn Scope) -> Result<(Node, Kind, ReadSet), ExprFault> {
    precheck(source)?;
    let program = Program::compile(source).map_err(|errors| {
        let at = errors
            .errors
            .first()
            .map_or(0, |e| usize::try_from(e.pos.1).unwrap_or(0));
        unreadable(source, at)
    })?;
    let mut compiler = Compiler {
        source,
        info: program.source_info(),
        scope,
        reads: ReadSet::default(),
        trait_only: false,
    };
    let part = compiler.part(program.expression())?;
    let mut reads = compiler.reads;
    reads.names.sort_unstable();
    reads.names.dedup();
    reads.lookups.sort_unstable();
    reads.lookups.dedup();
    reads.piles.sort_unstable();
    reads.piles.dedup();
    reads.traits.sort_unstable();
    reads.traits.dedup();
    Ok((part.node, part.kind, reads))
}

/// The words for text that the parser cannot read, from this character on.
fn unreadable(source: &str, at: usize) -> ExprFault {
    let length = source.trim_end().chars().count();
    let at = at.min(length);
    let rest: String = source.chars().skip(at).collect();
    let word: String = rest
        .chars()
        .enumerate()
        .take_while(|(i, c)| *i == 0 || c.is_alphanumeric() || *c == '_')
        .map(|(_, c)| c)
        .collect();
    let message = match word.trim() {
        "" => "the expression ends too early; something is missing at its end".to_owned(),
        "and" => "for \"and\", write `&&`".to_owned(),
        "or" => "for \"or\", write `||`".to_owned(),
        "is" => "to compare, write `==`".to_owned(),
        word => format!(
            "`{word}` cannot stand here; perhaps an operator such as `+` or `==`, or a comma, is missing before it, or a value"
        ),
    };
    ExprFault {
        message,
        offset: at,
    }
}

impl Compiler<'_> {
    /// Where a node was written, in characters from 0.
    fn offset(&self, tree: &IdedExpr) -> usize {
        let bytes = self
            .info
            .offset_for(tree.id)
            .map_or(0, |(start, _)| start as usize);
        let length = self.source.chars().count();
        bytes.min(length.saturating_sub(1))
    }

    fn fault<T>(&self, tree: &IdedExpr, message: impl Into<String>) -> Result<T, ExprFault> {
        Err(ExprFault {
            message: message.into(),
            offset: self.offset(tree),
        })
    }

    fn part(&mut self, tree: &IdedExpr) -> Compiled {
        let (node, kind) = match &tree.expr {
            Tree::Literal(literal) => self.literal(tree, literal)?,
            Tree::Ident(name) => return self.name(tree, name),
            Tree::Call(call) => return self.call(tree, call),
            Tree::List(list) => {
                let mut piles = Vec::with_capacity(list.elements.len());
                for element in &list.elements {
                    piles.push(self.wanted(element, Kind::Pile)?.node);
                }
                if piles.is_empty() || !list.optional_indices.is_empty() {
                    return self.fault(tree, "a list must name at least one pile");
                }
                (Node::Piles(piles), Kind::Order)
            }
            Tree::Comprehension(_) => {
                return self.fault(
                    tree,
                    "there are no loops over lists here; name the values one by one",
                );
            }
            Tree::Map(_) | Tree::Struct(_) => {
                return self.fault(
                    tree,
                    "braces cannot stand here; use a small table of the file",
                );
            }
            Tree::Select(_) => {
                return self.fault(
                    tree,
                    "there is no `.` in this language; write a function, such as `size(pile)`",
                );
            }
            Tree::Unspecified => return self.fault(tree, "something is missing here"),
        };
        Ok(self.made(tree, node, kind))
    }

    fn made(&self, tree: &IdedExpr, node: Node, kind: Kind) -> Part {
        Part {
            node,
            kind,
            words: None,
            offset: self.offset(tree),
        }
    }

    fn literal(&self, tree: &IdedExpr, literal: &LiteralValue) -> Result<(Node, Kind), ExprFault> {
        match literal {
            LiteralValue::Int(n) => Ok((Node::Fixed(Value::Int(*n.inner())), Kind::Int)),
            LiteralValue::Boolean(b) => Ok((Node::Fixed(Value::Bool(*b.inner())), Kind::Bool)),
            LiteralValue::String(s) => {
                Ok((Node::Fixed(Value::Text(Arc::from(s.inner()))), Kind::Text))
            }
            LiteralValue::Double(_) | LiteralValue::UInt(_) => self.fault(
                tree,
                "only whole numbers here, such as 7; no fractions or suffixes",
            ),
            LiteralValue::Bytes(_) | LiteralValue::Null => {
                self.fault(tree, "this kind of value does not exist here")
            }
        }
    }

    fn name(&mut self, tree: &IdedExpr, name: &str) -> Compiled {
        match self.scope.look_up(name) {
            Some(Meaning::Name(id, kind)) => {
                self.reads.names.push(id);
                self.reads.identity |= kind.fits(Kind::Card);
                let mut part = self.made(tree, Node::Name(id, name.to_owned()), kind);
                part.words = self.options(id);
                Ok(part)
            }
            Some(Meaning::Pile(pile)) => {
                self.reads.piles.push(pile);
                Ok(self.made(tree, Node::Fixed(Value::Pile(pile)), Kind::Pile))
            }
            Some(Meaning::Lookup(..)) => self.fault(
                tree,
                format!("`{name}` is a table; say which row: `{name}[n]`"),
            ),
            None if FUNCTIONS.contains(&name) => self.fault(
                tree,
                format!("`{name}` is a function; say of what: `{name}(…)`"),
            ),
            None => {
                let hint = self.scope.near(name).map_or_else(
                    || {
                        "; words are written in quotes, and a name must be chosen or reckoned before it is used"
                            .to_owned()
                    },
                    |near| format!("; did you mean `{near}`?"),
                );
                self.fault(tree, format!("there is no `{name}`{hint}"))
            }
        }
    }

    fn options(&self, id: NameId) -> Option<Arc<[Arc<str>]>> {
        self.scope.options(id).map(Arc::from)
    }

    /// A part that must be of a kind.
    fn wanted(&mut self, tree: &IdedExpr, wanted: Kind) -> Compiled {
        let part = self.part(tree)?;
        if part.kind.fits(wanted) {
            Ok(part)
        } else {
            self.fault(
                tree,
                format!(
                    "here {} is needed, but this is {}",
                    wanted.words(),
                    part.kind.words()
                ),
            )
        }
    }

    fn boxed(&mut self, tree: &IdedExpr, wanted: Kind) -> Result<Box<Node>, ExprFault> {
        Ok(Box::new(self.wanted(tree, wanted)?.node))
    }

    fn call(&mut self, tree: &IdedExpr, call: &CallExpr) -> Compiled {
        if call.target.is_some() {
            return self.fault(
                tree,
                "there is no `.` in this language; write a function, such as `size(pile)`",
            );
        }
        match (call.func_name.as_str(), call.args.as_slice()) {
            (operators::ADD, [a, b]) => self.arith(tree, Arith::Add, a, b),
            (operators::SUBSTRACT, [a, b]) => self.arith(tree, Arith::Subtract, a, b),
            (operators::MULTIPLY, [a, b]) => self.arith(tree, Arith::Multiply, a, b),
            (operators::DIVIDE, [a, b]) => self.arith(tree, Arith::Divide, a, b),
            (operators::MODULO, [a, b]) => self.arith(tree, Arith::Remainder, a, b),
            (operators::LESS, [a, b]) => self.compare(tree, Order::Less, a, b),
            (operators::LESS_EQUALS, [a, b]) => self.compare(tree, Order::AtMost, a, b),
            (operators::GREATER, [a, b]) => self.compare(tree, Order::More, a, b),
            (operators::GREATER_EQUALS, [a, b]) => self.compare(tree, Order::AtLeast, a, b),
            (operators::EQUALS, [a, b]) => {
                let node = self.same(a, b)?;
                Ok(self.made(tree, node, Kind::Bool))
            }
            (operators::NOT_EQUALS, [a, b]) => {
                let node = Node::Not(Box::new(self.same(a, b)?));
                Ok(self.made(tree, node, Kind::Bool))
            }
            (operators::LOGICAL_AND, [a, b]) => {
                let node = Node::And(self.boxed(a, Kind::Bool)?, self.boxed(b, Kind::Bool)?);
                Ok(self.made(tree, node, Kind::Bool))
            }
            (operators::LOGICAL_OR, [a, b]) => {
                let node = Node::Or(self.boxed(a, Kind::Bool)?, self.boxed(b, Kind::Bool)?);
                Ok(self.made(tree, node, Kind::Bool))
            }
            (operators::LOGICAL_NOT, [a]) => {
                let node = Node::Not(self.boxed(a, Kind::Bool)?);
                Ok(self.made(tree, node, Kind::Bool))
            }
            (operators::NEGATE, [a]) => {
                let node = Node::Negative(self.boxed(a, Kind::Int)?);
                Ok(self.made(tree, node, Kind::Int))
            }
            (operators::CONDITIONAL, [when, a, b]) => self.choice(tree, when, a, b),
            (operators::IN, [a, list]) => self.among(tree, a, list),
            (operators::INDEX, [of, at]) => self.index(tree, of, at),
            (name, args) if name.starts_with(|c: char| c.is_ascii_alphabetic()) => {
                self.function(tree, name, args)
            }
            _ => self.fault(tree, "this cannot be written here"),
        }
    }

    fn arith(&mut self, tree: &IdedExpr, op: Arith, a: &IdedExpr, b: &IdedExpr) -> Compiled {
        let node = Node::Arith(op, self.boxed(a, Kind::Int)?, self.boxed(b, Kind::Int)?);
        Ok(self.made(tree, node, Kind::Int))
    }

    fn compare(&mut self, tree: &IdedExpr, op: Order, a: &IdedExpr, b: &IdedExpr) -> Compiled {
        let node = Node::Compare(op, self.boxed(a, Kind::Int)?, self.boxed(b, Kind::Int)?);
        Ok(self.made(tree, node, Kind::Bool))
    }

    fn same(&mut self, a: &IdedExpr, b: &IdedExpr) -> Result<Node, ExprFault> {
        let mut left = self.part(a)?;
        let mut right = self.part(b)?;
        self.name_class(&left, &mut right);
        self.name_class(&right, &mut left);
        self.alike(&left, &right)?;
        Ok(self.equal(left, right))
    }

    /// A word compared with a trait becomes the label of the class it means: "hearts" means `heart`.
    fn name_class(&self, of: &Part, word: &mut Part) {
        if let (Node::Trait(_, id), Node::Fixed(Value::Text(text))) = (&of.node, &mut word.node)
            && let Some(class) = self.scope.class(*id, text)
            && let Some(label) = self.scope.labels(*id).get(usize::from(class.0))
        {
            *text = Arc::from(label.as_str());
        }
    }

    /// Refuses to compare what can never be the same.
    fn alike(&self, left: &Part, right: &Part) -> Result<(), ExprFault> {
        if !left.kind.fits(right.kind) {
            let hint = match (left.kind, right.kind) {
                (Kind::Card, Kind::Text) | (Kind::Text, Kind::Card) => {
                    "; a card is written `card(\"7H\")`"
                }
                _ => "",
            };
            return Err(ExprFault {
                message: format!(
                    "{} and {} can never be the same{hint}",
                    left.kind.words(),
                    right.kind.words()
                ),
                offset: right.offset,
            });
        }
        for (one, other) in [(left, right), (right, left)] {
            if let (Some(words), Node::Fixed(Value::Text(word))) = (&one.words, &other.node)
                && !words.contains(word)
            {
                let hint = nearest(word, words.iter().map(|w| &**w)).map_or_else(
                    || {
                        let all: Vec<_> = words.iter().map(|w| format!("`{w}`")).collect();
                        format!("; it can be {}", all.join(", "))
                    },
                    |near| format!("; did you mean \"{near}\"?"),
                );
                return Err(ExprFault {
                    message: format!("this can never be \"{word}\"{hint}"),
                    offset: other.offset,
                });
            }
        }
        Ok(())
    }

    /// Two parts compared; a trait against a word becomes a look at the class.
    fn equal(&self, left: Part, right: Part) -> Node {
        let (one, other) = match (&left.node, &right.node) {
            (Node::Fixed(Value::Text(_)), Node::Trait(..)) => (right.node, left.node),
            _ => (left.node, right.node),
        };
        match (one, other) {
            (Node::Trait(card, id), Node::Fixed(Value::Text(word))) => {
                match self.scope.class(id, &word) {
                    Some(class) => Node::IsClass(card, id, class),
                    None => Node::Same(
                        Box::new(Node::Trait(card, id)),
                        Box::new(Node::Fixed(Value::Text(word))),
                    ),
                }
            }
            (one, other) => Node::Same(Box::new(one), Box::new(other)),
        }
    }

    fn choice(&mut self, tree: &IdedExpr, when: &IdedExpr, a: &IdedExpr, b: &IdedExpr) -> Compiled {
        let when = self.boxed(when, Kind::Bool)?;
        let left = self.part(a)?;
        let right = self.part(b)?;
        if !left.kind.fits(right.kind) {
            return self.fault(
                b,
                format!(
                    "both sides of `:` must be of one kind, but this is {} and the other {}",
                    right.kind.words(),
                    left.kind.words()
                ),
            );
        }
        let kind = if left.kind == Kind::Any {
            right.kind
        } else {
            left.kind
        };
        let node = Node::If(when, Box::new(left.node), Box::new(right.node));
        Ok(self.made(tree, node, kind))
    }

    fn among(&mut self, tree: &IdedExpr, a: &IdedExpr, list: &IdedExpr) -> Compiled {
        let one = self.part(a)?;
        let node = if let Tree::List(listed) = &list.expr {
            let mut values = Vec::with_capacity(listed.elements.len());
            for element in &listed.elements {
                let mut value = self.part(element)?;
                self.name_class(&one, &mut value);
                self.alike(&one, &value)?;
                values.push(value.node);
            }
            Node::Among(Box::new(one.node), values)
        } else {
            let of = self.part(list)?;
            let wanted = match of.kind {
                Kind::Order => Kind::Pile,
                Kind::Places => Kind::Int,
                Kind::Any => Kind::Any,
                Kind::Int
                | Kind::Bool
                | Kind::Text
                | Kind::Card
                | Kind::Pile
                | Kind::Weave
                | Kind::Chunks => {
                    return self.fault(
                        list,
                        format!(
                            "after `in` a list is needed, but this is {}",
                            of.kind.words()
                        ),
                    );
                }
            };
            if !one.kind.fits(wanted) {
                return self.fault(
                    a,
                    format!("{} holds no {}", of.kind.words(), one.kind.words()),
                );
            }
            Node::Within(Box::new(one.node), Box::new(of.node))
        };
        Ok(self.made(tree, node, Kind::Bool))
    }

    fn index(&mut self, tree: &IdedExpr, of: &IdedExpr, at: &IdedExpr) -> Compiled {
        if let Tree::Ident(name) = &of.expr
            && let Some(Meaning::Lookup(id, keys, values)) = self.scope.look_up(name)
        {
            self.reads.lookups.push(id);
            let node = Node::Lookup(id, self.boxed(at, keys)?);
            return Ok(self.made(tree, node, values));
        }
        self.nth(tree, of, at)
    }

    fn nth(&mut self, tree: &IdedExpr, of: &IdedExpr, at: &IdedExpr) -> Compiled {
        let of_part = self.part(of)?;
        let kind = match of_part.kind {
            Kind::Order => Kind::Pile,
            Kind::Places => Kind::Int,
            Kind::Any => Kind::Any,
            Kind::Int
            | Kind::Bool
            | Kind::Text
            | Kind::Card
            | Kind::Pile
            | Kind::Weave
            | Kind::Chunks => {
                return self.fault(
                    of,
                    format!(
                        "a table, an order or a choice of places is needed, but this is {}",
                        of_part.kind.words()
                    ),
                );
            }
        };
        let node = Node::Nth(Box::new(of_part.node), self.boxed(at, Kind::Int)?);
        Ok(self.made(tree, node, kind))
    }

    fn function(&mut self, tree: &IdedExpr, name: &str, args: &[IdedExpr]) -> Compiled {
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
            ("up", [pile, at]) => {
                self.reads.places = true;
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
                    return self.fault(of, format!("there is no trait \"{}\"", text.inner()));
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
                let kind = match part.kind {
                    Kind::Order => Kind::Pile,
                    Kind::Places => Kind::Int,
                    Kind::Any => Kind::Any,
                    Kind::Int
                    | Kind::Bool
                    | Kind::Text
                    | Kind::Card
                    | Kind::Pile
                    | Kind::Weave
                    | Kind::Chunks => {
                        return self.fault(
                            of,
                            format!("here an order is needed, but this is {}", part.kind.words()),
                        );
                    }
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
        let usage = match name {
            "size" => "size(pile)",
            "place" => "place(card)",
            "pile_of" => "pile_of(card)",
            "card" => "card(\"7H\")` or `card(pile, n)",
            "up" => "up(pile, n)",
            "colour" => "colour(card)",
            "suit" => "suit(card)",
            "trait" => "trait(card, \"colour\")",
            "value" => "value(card)",
            "letters" => "letters(card)",
            "mate" => "mate(card)",
            "min" => "min(a, b)",
            "max" => "max(a, b)",
            "abs" => "abs(n)",
            "pow2_below" => "pow2_below(n)",
            "first" => "first(order)",
            "last" => "last(order)",
            "nth" => "nth(order, n)",
            "with_pile_at" => "with_pile_at(order, pile, n)",
            _ => {
                let hint = nearest(name, FUNCTIONS).map_or_else(
                    || ", and these are all: size place pile_of card up colour suit trait value letters mate min max abs pow2_below first last nth with_pile_at".to_owned(),
                    |near| format!("; did you mean `{near}`?"),
                );
                return self.fault(tree, format!("there is no function `{name}`{hint}"));
            }
        };
        self.fault(
            tree,
            format!("`{name}` with {given} values in brackets makes no sense; write `{usage}`"),
        )
    }
}
