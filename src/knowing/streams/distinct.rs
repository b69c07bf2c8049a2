//! The different outcomes of a shuffle, for those that cannot be followed: listed a card at a time, so that what has come to look the same
//! is gone on with once.

use super::{Outcome, StreamState, Streams};
use crate::handling::Program;
use crate::knowing::stream::{Followable, LookId};
use crate::table::Table;
use num_bigint::BigUint;
use std::collections::BTreeMap;

/// What has been laid so far.
type Laid = Vec<LookId>;

/// The ways to one state with the same laid: how many, and the smallest choices.
type Ways = (BigUint, Vec<u16>);

impl Streams {
    /// What a free program can lay down on this table. `None` where the program is of another shape.
    pub fn spread(&mut self, program: &Program, table: &Table) -> Option<StreamState> {
        Followable::new(program)?.start(&mut self.graph, table, |laid| laid)
    }

    /// The different outcomes from a start, each with its smallest choices and with how many choice sequences lead to it, in the order
    /// of what is laid. `None` where more than `most` beginnings look different at once.
    pub fn outcomes(&mut self, start: StreamState, most: usize) -> Option<Vec<(Outcome, BigUint)>> {
        let mut open: BTreeMap<(usize, Laid), BTreeMap<StreamState, Ways>> = BTreeMap::new();
        let first = BTreeMap::from([(start, (BigUint::from(1_u8), Vec::new()))]);
        open.insert((0, Laid::new()), first);
        let mut done: BTreeMap<Laid, Ways> = BTreeMap::new();
        while let Some(((_, laid), states)) = open.pop_first() {
            if open.len() + done.len() > most {
                return None;
            }
            for (state, (count, choices)) in states {
                let branches = self.graph.ways(state);
                if branches.is_empty() {
                    add(done.entry(laid.clone()), count, choices);
                    continue;
                }
                for branch in branches {
                    let mut laid = laid.clone();
                    laid.extend_from_slice(self.graph.laid_by(branch));
                    let mut choices = choices.clone();
                    choices.extend(branch.choice);
                    let states = open.entry((laid.len(), laid)).or_default();
                    add(states.entry(branch.next), count.clone(), choices);
                }
            }
        }
        let outcome = |(laid, (count, choices)): (Laid, Ways)| {
            let looks = laid.iter().map(|look| self.graph.look(*look)).collect();
            (Outcome { choices, looks }, count)
        };
        Some(done.into_iter().map(outcome).collect())
    }
}

fn add<K: Ord>(
    entry: std::collections::btree_map::Entry<'_, K, Ways>,
    count: BigUint,
    choices: Vec<u16>,
) {
    let ways = entry.or_insert_with(|| (BigUint::default(), choices.clone()));
    ways.0 += count;
    if choices < ways.1 {
        ways.1 = choices;
    }
}
