//! The free part of a program as a machine that stops at each choice.

use super::{ANY_ORDER, Graph, List, LookId, MOST_STATES, StreamState};
use crate::handling::Op;
use crate::table::PileId;

/// The pile number that stands for the tape in a [`Code`].
pub(super) const TAPE: PileId = PileId(u8::MAX);

/// The free part of a program, its piles numbered in the order in which they are named.
pub(super) type Code = Vec<Op>;

/// A body being run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Frame {
    begin: u16,
    end: u16,
    at: u16,
    again: Again,
}

/// Whether a body is run again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Again {
    /// No.
    Once,
    /// So many times, this one included.
    Times(u16),
    /// While this pile holds a card.
    While(PileId),
    /// While one of these does.
    WhileEither(PileId, PileId),
}

/// A run in the middle.
#[derive(Debug, Clone)]
pub(super) struct Run {
    code: u32,
    frames: Vec<Frame>,
    piles: Vec<List>,
}

/// Why a run stopped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stop {
    /// A choice is to be made.
    Choice,
    /// The free part is over.
    End,
}

impl Graph {
    /// Adds a code, or finds it.
    pub(super) fn code(&mut self, code: Code) -> u32 {
        let at = self.codes.iter().position(|known| *known == code);
        let at = at.unwrap_or_else(|| {
            self.codes.push(code);
            self.codes.len() - 1
        });
        at as u32
    }

    /// Makes the whole stream of a code from these piles. `None` where it has too many states, or where a run ends with cards that
    /// were not laid.
    pub(super) fn run(&mut self, code: u32, piles: Vec<List>) -> Option<StreamState> {
        if self.broken {
            return None;
        }
        let start = self.make(code, piles);
        self.broken = start.is_none();
        start
    }

    fn make(&mut self, code: u32, piles: Vec<List>) -> Option<StreamState> {
        let end = u16::try_from(self.codes[code as usize].len()).ok()?;
        let run = Run {
            code,
            frames: vec![Frame {
                begin: 0,
                end,
                at: 0,
                again: Again::Once,
            }],
            piles,
        };
        let most = self.size() + MOST_STATES;
        let (start, new) = self.state_of(&run);
        if !new {
            return Some(start);
        }
        let mut looks = Vec::new();
        let mut first = run.clone();
        if self.advance(&mut first, &mut looks)? == Stop::Choice && looks.is_empty() {
            self.expand(vec![(start, first)], most)?;
            return Some(start);
        }
        // Cards that are laid before the first choice are a branch without one.
        let (next, new) = self.state_of(&first);
        self.set_branches(start, vec![(None, looks, next)]);
        if new {
            self.expand(vec![(next, first)], most)?;
        }
        Some(start)
    }

    /// Gives branches to states that stand at a choice or at the end, and to all that follow.
    fn expand(&mut self, mut open: Vec<(StreamState, Run)>, most: usize) -> Option<()> {
        while let Some((state, run)) = open.pop() {
            let Some(choices) = self.choices(&run) else {
                if run.piles.iter().any(|pile| *pile != 0) {
                    return None;
                }
                continue;
            };
            let mut ways = Vec::with_capacity(2);
            for choice in choices {
                let mut next = run.clone();
                let mut looks = Vec::new();
                self.choose(&mut next, choice, &mut looks)?;
                self.advance(&mut next, &mut looks)?;
                let (to, new) = self.state_of(&next);
                ways.push((Some(u16::from(choice)), looks, to));
                if new {
                    open.push((to, next));
                }
            }
            self.set_branches(state, ways);
            if self.size() > most {
                return None;
            }
        }
        Some(())
    }

    fn state_of(&mut self, run: &Run) -> (StreamState, bool) {
        let point = (run.code, run.frames.clone());
        let points = &mut self.points;
        let point = *self.point_ids.entry(point.clone()).or_insert_with(|| {
            points.push(point);
            (points.len() - 1) as u32
        });
        debug_assert!(point < ANY_ORDER);
        let mut key = Vec::with_capacity(1 + run.piles.len());
        key.push(point);
        key.extend(&run.piles);
        let rest = run.piles.iter().map(|pile| self.length(*pile)).sum();
        self.state(&key, rest)
    }

    /// The choices at a point, in the order of the branches of a fork; `None` at the end.
    fn choices(&self, run: &Run) -> Option<[bool; 2]> {
        let frame = run.frames.last()?;
        Some(match self.codes[run.code as usize][usize::from(frame.at)] {
            // Of chunks the smallest comes first: the break here before the break later.
            Op::Maybe { .. } => [true, false],
            // Interleavings come in lexical order, the right part before the left.
            Op::Either(..)
            | Op::Carry(_)
            | Op::Times { .. }
            | Op::While { .. }
            | Op::WhileEither { .. } => [false, true],
        })
    }

    /// Makes the choice at which a run stands.
    fn choose(&mut self, run: &mut Run, choice: bool, looks: &mut Vec<LookId>) -> Option<()> {
        let frame = run.frames.last_mut()?;
        let op = self.codes[run.code as usize][usize::from(frame.at)];
        match op {
            Op::Either(first, second) => {
                frame.at += 1;
                let carried = if choice { first } else { second };
                self.carry(run, carried.from, carried.to, looks)
            }
            Op::Maybe { body, .. } => {
                let begin = frame.at + 1;
                frame.at = begin + body;
                if choice {
                    run.frames.push(Frame {
                        begin,
                        end: begin + body,
                        at: begin,
                        again: Again::Once,
                    });
                }
                Some(())
            }
            Op::Carry(_) | Op::Times { .. } | Op::While { .. } | Op::WhileEither { .. } => None,
        }
    }

    fn carry(
        &mut self,
        run: &mut Run,
        from: PileId,
        to: PileId,
        looks: &mut Vec<LookId>,
    ) -> Option<()> {
        let (look, rest) = self.uncons(run.piles[from.index()])?;
        run.piles[from.index()] = rest;
        if to == TAPE {
            looks.push(look);
        } else {
            run.piles[to.index()] = self.cons(look, run.piles[to.index()]);
        }
        Some(())
    }

    /// Runs to the next choice or the end; what is laid on the way goes into `looks`. `None` where a card is missing.
    fn advance(&mut self, run: &mut Run, looks: &mut Vec<LookId>) -> Option<Stop> {
        loop {
            let Some(frame) = run.frames.last_mut() else {
                return Some(Stop::End);
            };
            if frame.at == frame.end {
                let once_more = match &mut frame.again {
                    Again::Once => false,
                    Again::Times(left) => {
                        *left -= 1;
                        *left > 0
                    }
                    Again::While(pile) => run.piles[pile.index()] != 0,
                    Again::WhileEither(one, other) => {
                        run.piles[one.index()] != 0 || run.piles[other.index()] != 0
                    }
                };
                if once_more {
                    frame.at = frame.begin;
                } else {
                    run.frames.pop();
                }
                continue;
            }
            let enter = |frame: &mut Frame, body: u16, again: Again, when: bool| {
                let begin = frame.at + 1;
                frame.at = begin + body;
                when.then_some(Frame {
                    begin,
                    end: begin + body,
                    at: begin,
                    again,
                })
            };
            let entered = match self.codes[run.code as usize][usize::from(frame.at)] {
                Op::Carry(carried) => {
                    frame.at += 1;
                    self.carry(run, carried.from, carried.to, looks)?;
                    continue;
                }
                Op::Either(first, second) => {
                    let left = run.piles[first.from.index()] != 0;
                    if left && run.piles[second.from.index()] != 0 {
                        return Some(Stop::Choice);
                    }
                    frame.at += 1;
                    let carried = if left { first } else { second };
                    self.carry(run, carried.from, carried.to, looks)?;
                    continue;
                }
                Op::Maybe { remaining, .. } if run.piles[remaining.index()] != 0 => {
                    return Some(Stop::Choice);
                }
                Op::Maybe { body, .. } => enter(frame, body, Again::Once, true),
                Op::Times { count, body } => enter(frame, body, Again::Times(count), count > 0),
                Op::While { pile, body } => enter(
                    frame,
                    body,
                    Again::While(pile),
                    run.piles[pile.index()] != 0,
                ),
                Op::WhileEither { left, right, body } => {
                    let some = run.piles[left.index()] != 0 || run.piles[right.index()] != 0;
                    enter(frame, body, Again::WhileEither(left, right), some)
                }
            };
            run.frames.extend(entered);
        }
    }
}
