//! Streams: what a free shuffle can lay down, a card at a time.
//!
//! A *stream* is a finite graph. A state is what is still to come: the point of the shuffle's program and what lies in the piles it
//! draws from; its branches are the shuffler's choices in their fixed order, each with the cards that it lays before the next
//! choice. Piles are lists that share their tails and states are kept once, so that different starts run into the same states: of the
//! shuffles that may follow a deal of any number of `n` alternating cards there are about `n²/2` states in all, because what is left of
//! one packet looks like what is left of another.
//!
//! **Why nothing is lost.** The states are those of the program that defines the move ([`machine`]), its choices are those
//! that [`crate::handling::run`] would ask for, in the same order; only the pile that is written and never read (the *tape*) is left out
//! of the state, and what is never read cannot change what happens. So the branches from a start spell exactly the packets that
//! the shuffle can give, each by exactly as many choice sequences.

mod machine;
mod split;

pub(super) use split::Followable;

use crate::table::Laid;
use machine::{Code, Frame};
use rustc_hash::FxHashMap;

/// A look, by its number in [`Graph::looks`].
pub(super) type LookId = u16;

/// A state of a stream: what is still to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct StreamState(pub(super) u32);

/// A list of looks by the number of its first cell; 0 is the empty list.
pub(super) type List = u32;

/// More states than this are not made for one shuffle.
const MOST_STATES: usize = 1_000_000;

/// One way on from a state.
#[derive(Debug, Clone, Copy)]
pub(super) struct Branch {
    /// The choice: 0 or 1 for a shuffle (no, yes; from the right, from the left), the index of the look where any card may come;
    /// `None` where there is none.
    pub(super) choice: Option<u16>,
    /// Where the looks laid by it begin in [`Graph::emitted`].
    begin: u32,
    /// Where they end.
    end: u32,
    /// What is to come then.
    pub(super) next: StreamState,
}

#[derive(Debug, Clone, Copy, Default)]
struct Node {
    /// Its branches in [`Graph::branches`].
    first: u32,
    after: u32,
    /// How many cards are still to be laid.
    rest: u16,
}

/// All streams so far.
#[derive(Debug, Clone, Default)]
pub(super) struct Graph {
    looks: Vec<Laid>,
    look_ids: FxHashMap<Laid, LookId>,
    cells: Vec<(LookId, List, u16)>,
    cell_ids: FxHashMap<(LookId, List), List>,
    codes: Vec<Code>,
    points: Vec<(u32, Vec<Frame>)>,
    point_ids: FxHashMap<(u32, Vec<Frame>), u32>,
    state_ids: FxHashMap<Box<[u32]>, u32>,
    nodes: Vec<Node>,
    branches: Vec<Branch>,
    emitted: Vec<LookId>,
    /// Whether a stream was given up halfway, which leaves states without their branches.
    broken: bool,
}

/// Marks the keys of streams without a program.
const ANY_OF: u32 = u32::MAX;
const ANY_ORDER: u32 = u32::MAX - 1;

impl Graph {
    /// The number of a look.
    pub(super) fn look_id(&mut self, look: Laid) -> LookId {
        let next = u16::try_from(self.looks.len()).unwrap_or(u16::MAX);
        let looks = &mut self.looks;
        *self.look_ids.entry(look).or_insert_with(|| {
            looks.push(look);
            next
        })
    }
    /// The number of a look that has one.
    pub(super) fn known_look(&self, look: Laid) -> Option<LookId> {
        self.look_ids.get(&look).copied()
    }
    /// The look with a number.
    pub(super) fn look(&self, id: LookId) -> Laid {
        self.looks[usize::from(id)]
    }
    /// The ways on, in the order of choice; none at the end.
    pub(super) fn ways(&self, state: StreamState) -> &[Branch] {
        let node = self.nodes[state.0 as usize];
        &self.branches[node.first as usize..node.after as usize]
    }
    /// The looks that a branch lays, in order.
    pub(super) fn laid_by(&self, branch: &Branch) -> &[LookId] {
        &self.emitted[branch.begin as usize..branch.end as usize]
    }
    /// How many cards are still to be laid.
    pub(super) fn rest(&self, state: StreamState) -> u16 {
        self.nodes[state.0 as usize].rest
    }
    /// How many states there are.
    pub(super) fn size(&self) -> usize {
        self.nodes.len()
    }

    fn cons(&mut self, look: LookId, list: List) -> List {
        let length = self.length(list).saturating_add(1);
        let cells = &mut self.cells;
        *self.cell_ids.entry((look, list)).or_insert_with(|| {
            cells.push((look, list, length));
            u32::try_from(cells.len()).unwrap_or(u32::MAX)
        })
    }
    fn uncons(&self, list: List) -> Option<(LookId, List)> {
        let (look, rest, _) = *self.cells.get((list as usize).checked_sub(1)?)?;
        Some((look, rest))
    }
    fn length(&self, list: List) -> u16 {
        (list as usize)
            .checked_sub(1)
            .and_then(|at| self.cells.get(at))
            .map_or(0, |cell| cell.2)
    }

    /// The state with this key, and whether it is new.
    fn state(&mut self, key: &[u32], rest: u16) -> (StreamState, bool) {
        if let Some(id) = self.state_ids.get(key) {
            return (StreamState(*id), false);
        }
        let id = u32::try_from(self.nodes.len()).unwrap_or(u32::MAX);
        self.state_ids.insert(key.into(), id);
        self.nodes.push(Node {
            rest,
            ..Node::default()
        });
        (StreamState(id), true)
    }
    /// Gives a state its branches; each with its choice, its looks and what follows.
    fn set_branches(
        &mut self,
        state: StreamState,
        ways: Vec<(Option<u16>, Vec<LookId>, StreamState)>,
    ) {
        let first = self.branches.len() as u32;
        for (choice, looks, next) in ways {
            let begin = self.emitted.len() as u32;
            self.emitted.extend(looks);
            let end = self.emitted.len() as u32;
            self.branches.push(Branch {
                choice,
                begin,
                end,
                next,
            });
        }
        let after = self.branches.len() as u32;
        let node = &mut self.nodes[state.0 as usize];
        (node.first, node.after) = (first, after);
    }

    /// The stream of `n` cards, each of any of these looks, whatever the others are.
    pub(super) fn any_of(&mut self, looks: &[LookId], n: u16) -> StreamState {
        let mut key = vec![ANY_OF, 0];
        key.extend(looks.iter().map(|look| u32::from(*look)));
        let (mut below, _) = self.state(&key, 0);
        for rest in 1..=n {
            key[1] = u32::from(rest);
            let (state, new) = self.state(&key, rest);
            if new {
                let ways = (0..)
                    .zip(looks)
                    .map(|(i, look)| (Some(i), vec![*look], below));
                let ways = ways.collect();
                self.set_branches(state, ways);
            }
            below = state;
        }
        below
    }

    /// The stream of all orders of so many cards of each look; `None` where there are too many states.
    pub(super) fn any_order(&mut self, counts: &[(LookId, u16)]) -> Option<StreamState> {
        let states = counts
            .iter()
            .try_fold(1_usize, |product, (_, count)| {
                product.checked_mul(usize::from(*count) + 1)
            })
            .filter(|states| *states <= MOST_STATES)?;
        let mut key = vec![ANY_ORDER];
        key.extend(counts.iter().map(|(look, _)| u32::from(*look)));
        let looks = key.len();
        key.extend(counts.iter().map(|(_, count)| u32::from(*count)));
        let rest = counts.iter().map(|(_, count)| *count).sum();
        let (start, new) = self.state(&key, rest);
        let mut open = Vec::with_capacity(states.min(1024));
        if new {
            open.push((start, key));
        }
        while let Some((state, key)) = open.pop() {
            let rest = self.rest(state);
            let mut ways = Vec::new();
            for (index, (look, _)) in (0_u16..).zip(counts) {
                let at = looks + usize::from(index);
                if key[at] == 0 {
                    continue;
                }
                let mut less = key.clone();
                less[at] -= 1;
                let (next, new) = self.state(&less, rest - 1);
                ways.push((Some(index), vec![*look], next));
                if new {
                    open.push((next, less));
                }
            }
            self.set_branches(state, ways);
        }
        Some(start)
    }
}
