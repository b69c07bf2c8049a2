//! From text to the small typed form: the parser's tree, walked with a whitelist.

use super::functions::is_function;
use super::precheck::precheck;
use super::{Arith, ExprFault, Kind, Meaning, Node, Order, ReadSet, Scope};
use crate::cards::nearest;
use crate::routine::model::NameId;
use crate::routine::world::Value;
use cel::Program;
use cel::common::ast::{CallExpr, Expr as Tree, IdedExpr, LiteralValue, SourceInfo, operators};
use std::sync::Arc;

/// A compiled part, with what is known of its value.
pub(super) struct Part {
    pub(super) node: Node,
    pub(super) kind: Kind,
    /// The words it can stand for, and from where they come.
    pub(super) words: Option<Arc<[Arc<str>]>>,
    offset: usize,
}

pub(super) struct Compiler<'a> {
    source: &'a str,
    info: &'a SourceInfo,
    pub(super) scope: &'a dyn Scope,
    pub(super) reads: ReadSet,
    /// Whether only a trait of the card compiled next is looked at.
    pub(super) trait_only: bool,
}

pub(super) type Compiled = Result<Part, ExprFault>;

pub(super) fn compile(source: &str, scope: &dyn Scope) -> Result<(Node, Kind, ReadSet), ExprFault> {
    let depth = precheck(source)?;
    let program = parse(source, depth)?;
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

/// The parser's frames are large: a few levels of brackets fill what a small thread's stack holds. Deep expressions, which
/// are rare, are read on a stack of their own. The tree is walked where we are: that takes little.
fn parse(source: &str, depth: usize) -> Result<Program, ExprFault> {
    /// Twice what the deepest expression was measured to need without optimisation.
    const ROOM: usize = 16 << 20;
    let read = || {
        Program::compile(source).map_err(|errors| {
            let syntax = errors.errors.iter().find(|e| e.msg.starts_with("Syntax"));
            let (at, words) = syntax
                .or(errors.errors.first())
                .map_or((1, ""), |e| (e.pos.1, e.msg.as_str()));
            unreadable(source, usize::try_from(at - 1).unwrap_or(0), words)
        })
    };
    if depth <= 3 {
        return read();
    }
    std::thread::scope(|scope| {
        std::thread::Builder::new()
            .stack_size(ROOM)
            .spawn_scoped(scope, read)
            .ok()
            .and_then(|reading| reading.join().ok())
    })
    .unwrap_or_else(|| {
        Err(ExprFault {
            message: "there is no memory left to read this expression".to_owned(),
            offset: 0,
        })
    })
}

/// Our words for text that the parser cannot read from this character on; what it expected is in its own words.
fn unreadable(source: &str, at: usize, parser: &str) -> ExprFault {
    let length = source.trim_end().chars().count();
    let at = at.min(length);
    let word: String = source
        .chars()
        .skip(at)
        .enumerate()
        .take_while(|(i, c)| *i == 0 || c.is_alphanumeric() || *c == '_')
        .map(|(_, c)| c)
        .collect();
    let wants_operator = parser.contains("'=='") || parser.contains("expecting <EOF>");
    let message = match word.trim() {
        "" if wants_operator && source.contains('?') => {
            "the expression ends too early; a choice is written `a ? b : c`".to_owned()
        }
        "" => "the expression ends too early; a value is missing at its end".to_owned(),
        "and" => "for \"and\", write `&&`".to_owned(),
        "or" => "for \"or\", write `||`".to_owned(),
        "not" => "for \"not\", write `!`".to_owned(),
        "is" => "to compare, write `==`".to_owned(),
        word if wants_operator => {
            format!("before `{word}` an operator is missing, such as `+` or `==`")
        }
        word if parser.contains("expecting {']', ','}") => {
            format!("before `{word}` a comma is missing")
        }
        word => format!("before `{word}` a value is missing"),
    };
    ExprFault {
        message,
        offset: at,
    }
}

impl Compiler<'_> {
    /// Where a node was written, in characters from 0: an operator at its sign, a function at its name.
    fn offset(&self, tree: &IdedExpr) -> usize {
        let bytes = self
            .info
            .offset_for(tree.id)
            .map_or(0, |(start, _)| start as usize);
        let mut before = self.source.get(..bytes).unwrap_or_default();
        if let Tree::Call(call) = &tree.expr
            && let Some(start) = before.trim_end().strip_suffix(call.func_name.as_str())
        {
            // The parser points at the bracket.
            before = start;
        }
        before.chars().count()
    }

    pub(super) fn fault<T>(
        &self,
        tree: &IdedExpr,
        message: impl Into<String>,
    ) -> Result<T, ExprFault> {
        Err(ExprFault {
            message: message.into(),
            offset: self.offset(tree),
        })
    }

    pub(super) fn part(&mut self, tree: &IdedExpr) -> Compiled {
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

    pub(super) fn made(&self, tree: &IdedExpr, node: Node, kind: Kind) -> Part {
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
                self.reads.identity |= kind == Kind::Card;
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
            None if is_function(name) => self.fault(
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
    pub(super) fn wanted(&mut self, tree: &IdedExpr, wanted: Kind) -> Compiled {
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

    pub(super) fn boxed(&mut self, tree: &IdedExpr, wanted: Kind) -> Result<Box<Node>, ExprFault> {
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
            (Node::Fixed(_) | Node::Bearing(_), _) => (right.node, left.node),
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
            (one, Node::Bearing(print)) => Node::Bears(Box::new(one), print),
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
            let Some(wanted) = of.kind.element() else {
                return self.fault(
                    list,
                    format!(
                        "after `in` a list is needed, but this is {}",
                        of.kind.words()
                    ),
                );
            };
            if !one.kind.fits(wanted) {
                return self.fault(
                    a,
                    format!("{} can never be in {}", one.kind.words(), of.kind.words()),
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

    pub(super) fn nth(&mut self, tree: &IdedExpr, of: &IdedExpr, at: &IdedExpr) -> Compiled {
        let of_part = self.part(of)?;
        let Some(kind) = of_part.kind.element() else {
            return self.fault(
                of,
                format!(
                    "a table, an order or a choice of places is needed, but this is {}",
                    of_part.kind.words()
                ),
            );
        };
        let node = Node::Nth(Box::new(of_part.node), self.boxed(at, Kind::Int)?);
        Ok(self.made(tree, node, kind))
    }
}
