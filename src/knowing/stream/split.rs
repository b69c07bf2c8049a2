//! Splitting a program into what is free and what follows.

use super::machine::{Code, TAPE};
use super::{Graph, StreamState};
use crate::handling::{Carry, End, Facing, Forced, Op, Program, run};
use crate::routine::World;
use crate::table::{Laid, PileId, Table};

/// A program that can be followed a card at a time from a table.
///
/// It can where, in its free part (up to its last instruction with a choice in it), one pile is only ever laid on, at one end (the
/// tape), and each other pile is drawn from and laid on at one end only, so that it is a stack.
#[derive(Debug, Clone)]
pub(in crate::knowing) struct Followable {
    code: Code,
    /// The piles of the code, in its order, each with the end at which it is used.
    piles: Vec<(PileId, End)>,
    tape: (PileId, End),
    fixed: Vec<Op>,
    table_piles: u8,
    scratch: u8,
}

/// The length of an instruction with its body.
fn length(op: Op) -> usize {
    match op {
        Op::Carry(_) | Op::Either(..) => 1,
        Op::Times { body, .. }
        | Op::While { body, .. }
        | Op::WhileEither { body, .. }
        | Op::Maybe { body, .. } => 1 + usize::from(body),
    }
}

fn is_choice(op: &Op) -> bool {
    match op {
        Op::Either(..) | Op::Maybe { .. } => true,
        Op::Carry(_) | Op::Times { .. } | Op::While { .. } | Op::WhileEither { .. } => false,
    }
}

fn carries(op: &Op) -> impl Iterator<Item = Carry> {
    let two = match *op {
        Op::Carry(one) => [Some(one), None],
        Op::Either(one, other) => [Some(one), Some(other)],
        Op::Times { .. } | Op::While { .. } | Op::WhileEither { .. } | Op::Maybe { .. } => {
            [None, None]
        }
    };
    two.into_iter().flatten()
}

fn guards(op: &Op) -> impl Iterator<Item = PileId> {
    let two = match *op {
        Op::While { pile, .. } => [Some(pile), None],
        Op::Maybe { remaining, .. } => [Some(remaining), None],
        Op::WhileEither { left, right, .. } => [Some(left), Some(right)],
        Op::Carry(_) | Op::Either(..) | Op::Times { .. } => [None, None],
    };
    two.into_iter().flatten()
}

impl Followable {
    /// Splits a program; `None` where it cannot be followed.
    pub(in crate::knowing) fn new(program: &Program) -> Option<Self> {
        let ops = &program.ops;
        let (mut at, mut free) = (0, 0);
        while at < ops.len() {
            let end = (at + length(ops[at])).min(ops.len());
            if ops[at..end].iter().any(is_choice) {
                free = end;
            }
            at = end;
        }
        let (free, fixed) = ops.split_at(free);
        let all = || free.iter().flat_map(carries);
        if all().any(|carry| carry.face != Facing::AsItLies) {
            return None;
        }
        let read = |pile: PileId| {
            all().any(|carry| carry.from == pile)
                || free.iter().flat_map(guards).any(|guard| guard == pile)
        };
        let tape = all().find(|carry| !read(carry.to))?;
        let tape = (tape.to, tape.put);
        let mut piles: Vec<(PileId, End)> = Vec::new();
        let mut use_at = |pile: PileId, end: End| match piles.iter().find(|(p, _)| *p == pile) {
            Some((_, known)) => *known == end,
            None => {
                piles.push((pile, end));
                true
            }
        };
        for carry in all() {
            if !use_at(carry.from, carry.take) {
                return None;
            }
            let laid = if carry.to == tape.0 {
                carry.put == tape.1
            } else {
                read(carry.to) && use_at(carry.to, carry.put)
            };
            if !laid {
                return None;
            }
        }
        let slot = |pile: PileId| {
            let at = piles.iter().position(|(p, _)| *p == pile)?;
            u8::try_from(at).ok().map(PileId)
        };
        let moved = |carry: Carry| {
            let to = if carry.to == tape.0 {
                TAPE
            } else {
                slot(carry.to)?
            };
            Some(Carry {
                from: slot(carry.from)?,
                to,
                ..carry
            })
        };
        let code = free
            .iter()
            .map(|op| {
                Some(match *op {
                    Op::Carry(carry) => Op::Carry(moved(carry)?),
                    Op::Either(one, other) => Op::Either(moved(one)?, moved(other)?),
                    Op::Times { .. } => *op,
                    Op::While { pile, body } => Op::While {
                        pile: slot(pile)?,
                        body,
                    },
                    Op::WhileEither { left, right, body } => Op::WhileEither {
                        left: slot(left)?,
                        right: slot(right)?,
                        body,
                    },
                    Op::Maybe { remaining, body } => Op::Maybe {
                        remaining: slot(remaining)?,
                        body,
                    },
                })
            })
            .collect::<Option<Code>>()?;
        Some(Self {
            code,
            piles,
            tape,
            fixed: fixed.to_vec(),
            table_piles: program.piles,
            scratch: program.scratch,
        })
    }

    /// The cards that will be laid, as they lie now.
    pub(in crate::knowing) fn sources<'a>(
        &'a self,
        table: &'a Table,
    ) -> impl Iterator<Item = Laid> + 'a {
        self.piles
            .iter()
            .flat_map(|(pile, _)| table.pile(*pile).iter().copied())
    }

    /// The stream of what is laid from this table; `None` where it has too many states.
    pub(in crate::knowing) fn start(
        &self,
        graph: &mut Graph,
        table: &Table,
        look: impl Fn(Laid) -> Laid,
    ) -> Option<StreamState> {
        let mut lists = Vec::with_capacity(self.piles.len());
        for (pile, end) in &self.piles {
            let mut list = 0;
            let mut lay = |graph: &mut Graph, laid: &Laid| {
                let id = graph.look_id(look(*laid));
                list = graph.cons(id, list);
            };
            let cards = table.pile(*pile);
            match end {
                End::Top => cards.iter().rev().for_each(|laid| lay(graph, laid)),
                End::Bottom => cards.iter().for_each(|laid| lay(graph, laid)),
            }
            lists.push(list);
        }
        let code = graph.code(self.code.clone());
        graph.run(code, lists)
    }

    /// The table after the whole program, with these cards as the tape, in the order in which they are laid.
    pub(in crate::knowing) fn after(
        &self,
        world: &World,
        tokens: impl Iterator<Item = Laid>,
    ) -> Option<Table> {
        let mut table = world.table.clone();
        if table.count() != usize::from(self.table_piles) {
            return None;
        }
        table.add_scratch(usize::from(self.scratch));
        for (pile, _) in &self.piles {
            table.pile_mut(*pile).clear();
        }
        let tape = table.pile_mut(self.tape.0);
        for token in tokens {
            match self.tape.1 {
                End::Top => tape.push_front(token),
                End::Bottom => tape.push_back(token),
            }
        }
        let fixed = Program {
            ops: self.fixed.clone(),
            piles: self.table_piles.checked_add(self.scratch)?,
            scratch: 0,
        };
        run(&fixed, &mut table, &mut Forced).ok()?;
        let piles = usize::from(self.table_piles);
        if table.piles().skip(piles).any(|(_, pile)| !pile.is_empty()) {
            return None;
        }
        table.forget_scratch(piles);
        Some(table)
    }
}
