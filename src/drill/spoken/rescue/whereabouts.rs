//! "Where are we?" after an interruption: what an audience sees of the table, and the steps at which the road may go on from there.
//!
//! Shown are the size of each pile, its top card where that faces up, and what was said so far. Every table of every road on which the same
//! was said is listed; each step before which one of them looks the same is right. Where the tables cannot be listed, or the
//! look fits more than [`MOST_RIGHT`] steps, it is not asked.

use crate::cards::Card;
use crate::drill::asking::MOST_TABLES;
use crate::knowing::{Done, Knowledge};
use crate::rescue::Ground;
use crate::roads::{Sighted, Walked};
use crate::routine::{Scene, Seen, StopIndex, World};
use crate::table::PileId;
use std::collections::BTreeSet;

/// A look that fits more steps than this says too little.
pub(super) const MOST_RIGHT: usize = 2;

/// What an audience sees: by pile that holds cards, how many, and the top card where it faces up.
pub(in crate::drill) type Look = Vec<(PileId, usize, Option<Card>)>;

/// What an audience sees of a table.
pub(in crate::drill) fn look(ground: &Ground, world: &World) -> Look {
    let scene = Scene {
        routine: ground.routine(),
        world,
    };
    let pocket = ground.pocket();
    world
        .table
        .piles()
        .filter(|(pile, cards)| !cards.is_empty() && *pile != pocket)
        .map(|(pile, cards)| {
            let top = cards.front().filter(|laid| laid.face_up());
            let print = top.and_then(|laid| scene.print(laid.card()).ok());
            (pile, cards.len(), print)
        })
        .collect()
}

/// What of a step is said aloud.
fn said(walked: &Walked) -> Vec<Sighted> {
    walked
        .sights
        .iter()
        .filter(|one| {
            matches!(
                one,
                Sighted::Choice(..) | Sighted::Reply(..) | Sighted::Part { .. }
            )
        })
        .cloned()
        .collect()
}

/// By number of stops done, the steps that are right there: those before which the table may look the same and the same was said.
/// Nothing where it is not to be asked.
pub(in crate::drill) fn right_steps(
    ground: &Ground,
    walked: &[Walked],
) -> Vec<BTreeSet<StopIndex>> {
    let routine = ground.routine();
    let mut known = Knowledge::at_start(routine, MOST_TABLES);
    // By number of stops done: the looks of all tables that fit what was said; none where they were not listed or the road may part.
    let mut looks: Vec<Option<BTreeSet<Look>>> = Vec::with_capacity(walked.len());
    let mut heard: Vec<usize> = Vec::with_capacity(walked.len());
    let mut so_far = 0;
    let mut parts = false;
    for (n, step) in walked.iter().enumerate() {
        heard.push(so_far);
        let listed = known.worlds().filter(|_| !parts);
        looks.push(listed.map(|worlds| worlds.iter().map(|world| look(ground, world)).collect()));
        let spoken = said(step);
        so_far += spoken.len();
        let open = routine
            .stop(step.stop)
            .and_then(|stop| stop.fork.as_ref())
            .is_some_and(|fork| fork.seen == Seen::All);
        let done = |on: Option<StopIndex>| Done {
            stop: step.stop,
            choice: step
                .choice
                .as_ref()
                .filter(|_| open)
                .map(|(_, value)| value.clone()),
            sights: spoken.clone(),
            whole: false,
            on,
        };
        let mut either = known.clone();
        either.follow_done(routine, done(None));
        let ways: BTreeSet<StopIndex> = either
            .worlds()
            .unwrap_or_default()
            .iter()
            .map(|world| world.at)
            .collect();
        parts |= ways.len() != 1;
        let on = walked.get(n + 1).map(|next| next.stop);
        known.follow_done(routine, done(on));
    }
    (0..walked.len())
        .map(|n| {
            let real = look(ground, &ground.enter(walked[n].before.clone()));
            let mut right = BTreeSet::new();
            for other in (0..walked.len()).filter(|other| heard[*other] == heard[n]) {
                match &looks[other] {
                    None => return BTreeSet::new(),
                    Some(looks) if looks.contains(&real) => {
                        right.insert(walked[other].stop);
                    }
                    Some(_) => {}
                }
            }
            let gate = |at: &StopIndex| routine.stop(*at).is_none_or(crate::drill::say::is_gate);
            if right.len() > MOST_RIGHT || right.iter().any(gate) {
                right.clear();
            }
            right
        })
        .collect()
}
