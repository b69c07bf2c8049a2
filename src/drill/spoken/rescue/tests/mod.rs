//! Rescues held against plain walking: every table listed by hand, every road from it walked step by step.

mod keying;
mod mends;
mod performing;
mod placing;

use super::keyed::{Keyed, Look, Reading, read};
use super::tables::{Worth, worth};
use super::*;
use crate::drill::question::Drill;
use crate::drill::tests::made_up::file;
use crate::drill::tests::play::{plan, shipped};
use crate::handling::End::{Bottom, Top};
use crate::handling::{Forced, Move, program, run};
use crate::rescue::{Case, Deed as Mend, Plan as Way, Rescuer, Verdict, When};
use crate::roads::{Domain, broken_claims, domain, sample, seen, take, unknown_start};
use crate::routine::{Value, load};
use crate::table::{PileId, Place};
use std::collections::{BTreeSet, HashMap, HashSet};

/// Endings that come out on some tables and not on others.
const ENDINGS: [&str; 4] = [
    "expr: \"showing(packet) % 2 == 0\"",
    "expr: 'colour(card(packet, 1)) == \"red\"'",
    "expr: \"up(packet, 1) == up(packet, -1)\"",
    "expr: \"colour(card(packet, 1)) != colour(card(packet, -1))\"",
];

const MENDS: &str = "mends:
  - {id: one-under, say: That one goes under., do: [{cut: {pile: packet, at: 1}}], rank: 1}
  - {id: turned, say: And this one turns., sees: [{trait: {pile: packet, at: 1, trait: colour}}], do: [{turn: {pile: packet, count: 1}}], rank: 2}
";

/// A made-up routine with an ending that can go wrong, and mends.
fn shaky(number: u64) -> Arc<Routine> {
    let claim = ENDINGS[usize::try_from(number).unwrap() % ENDINGS.len()];
    let text = file(number).replace(
        "count: {piles: [left, right, spare], is: 0}",
        &format!("and: [{{count: {{piles: [left, right, spare], is: 0}}}}, {{{claim}}}]"),
    );
    let text = format!("{text}{MENDS}");
    Arc::new(load(&text, "made up", 1).unwrap_or_else(|faults| panic!("{text}\n{faults:?}")))
}

/// Every table on which the performer would have seen the same on the road so far, by trying every choice of every step.
fn tables_before(routine: &Routine, road: &Road, until: usize) -> Vec<World> {
    let mut tables = HashSet::from([unknown_start(routine)]);
    for walked in &road.walked[..until] {
        let mut next = HashSet::new();
        for world in &tables {
            if world.at != walked.stop {
                continue;
            }
            let choices: Vec<Option<Value>> = match domain(routine, world) {
                Ok(Some(open)) => open.branches().map(Some).collect(),
                Ok(None) => vec![None],
                Err(_) => Vec::new(),
            };
            for choice in choices {
                if let Ok(taken) = take(routine, world, choice.as_ref())
                    && taken.sights == walked.sights
                {
                    next.insert(taken.world);
                }
            }
        }
        tables = next;
    }
    tables.into_iter().collect()
}

/// Everything that a stray can do to a world, with what is seen of it: every first choice, and after each every second one.
fn all_ways(rescuer: &Rescuer<'_>, case: &Case, world: &World) -> Vec<(World, Vec<Sighted>)> {
    let mut found = Vec::new();
    let mut firsts = 1_u64;
    let mut first = 0;
    while first < firsts {
        let mut seconds = 1_u64;
        let mut second = 0;
        while second < seconds {
            let mut asked = 0;
            let happened = rescuer.happen(case, world.clone(), |open: &Domain| {
                let all: Vec<Value> = open.branches().collect();
                asked += 1;
                let n = if asked == 1 {
                    firsts = all.len() as u64;
                    first
                } else {
                    seconds = all.len() as u64;
                    second
                };
                all[usize::try_from(n).unwrap()].clone()
            });
            assert!(asked < 3);
            if let Ok(happened) = happened {
                found.push((happened.world, happened.sights));
            }
            second += 1;
        }
        first += 1;
    }
    found
}
