//! Looking for the slips that explain a packet.
//!
//! A [`Walk`] goes the road again with every slip; those that end with the packet explain it.

use super::count::{CardFault, card_faults};
use super::hands::Doing;
use super::kind::SlipKind;
use super::pairs::pairs;
use super::state::{Case, Chance, State};
use super::walk::{Looking, Walk};
use super::wrong::Wrong;
use crate::routine::{ForkKind, Seen, StopIndex};
use crate::table::PileId;
use rustc_hash::FxHashMap;

/// So many steps are taken at most where much happened unseen, unless a case says otherwise.
pub const MOST_STEPS: u64 = 600_000;
/// So many explanations are kept.
const MOST_FOUND: usize = 2_000;

/// A handling mistake at a moment of the road.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Slip {
    /// The how-manieth stop of the road, from 0.
    pub nth: u16,
    /// Which stop.
    pub stop: StopIndex,
    /// The how-manieth time there, from 1.
    pub visit: u32,
    /// The moment of the step, from 0.
    pub moment: u16,
    /// What should have been done.
    pub doing: Doing,
    /// What was done instead.
    pub wrong: Wrong,
    /// Of which kind that is.
    pub kind: SlipKind,
}

impl Slip {
    pub(super) fn of(nth: u16, (stop, visit): (StopIndex, u32), chance: &Chance) -> Self {
        Self {
            nth,
            stop,
            visit,
            moment: chance.at,
            doing: chance.doing.clone(),
            wrong: chance.wrong.clone(),
            kind: chance.kind,
        }
    }
}

/// Slips that lead to the packet exactly.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// One slip, or two, in the order of the road.
    pub slips: Vec<Slip>,
    /// The share of its likelihood among all explanations found, from 0 to 1.
    pub share: f64,
}

/// How far pairs of slips were looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pairs {
    /// Not at all: a single slip explains the packet, or it is right.
    NotNeeded,
    /// All of them.
    All,
    /// Until the time was up.
    Partly,
}

/// What a packet says of the handling.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// What is wrong with the cards themselves; told first.
    pub cards: Vec<CardFault>,
    /// Whether the packet is one of those that the road leads to when all is done as written.
    pub right: bool,
    /// Every explanation that fits exactly, the likeliest first.
    pub explanations: Vec<Explanation>,
    /// Where nothing fits: the slip, if any, that comes nearest, and at how many places the packet still differs.
    pub nearest: Option<(Vec<Slip>, usize)>,
    /// How far pairs were looked for.
    pub pairs: Pairs,
    /// Whether everything that could have happened was followed; else what was not found may still be so.
    pub complete: bool,
}

/// Explains a packet. Pairs of slips are looked for where no single one fits, until `stop` says that the time is up.
#[must_use]
pub fn explain(case: &Case<'_>, stop: &(dyn Fn() -> bool + Sync)) -> Report {
    let right_end = right_end(case);
    let cards = right_end
        .as_ref()
        .map(|end| card_faults(case.routine, case.start, &end.world, case.got))
        .unwrap_or_default();
    let lost = match cards.as_slice() {
        [CardFault::Missing(card)] => Some(*card),
        _ => None,
    };
    // Whether all was done as written is quickly seen, and mostly so.
    let straight = Walk::new(case, Looking::Rightness);
    let right = straight
        .ends()
        .iter()
        .any(|(state, _)| case.done(state) && case.fit(state) > 0.0);
    let walk = if right {
        straight
    } else {
        Walk::new(case, Looking::ForSlips(lost))
    };
    let mut report = Report {
        cards,
        right,
        explanations: Vec::new(),
        nearest: None,
        pairs: Pairs::NotNeeded,
        complete: walk.complete,
    };
    if report.right {
        return report;
    }
    let mut found: FxHashMap<u32, f64> = FxHashMap::default();
    let mut nearest: Option<(Option<u32>, usize)> = None;
    for (state, tag) in walk.ends() {
        if !case.done(state) {
            continue;
        }
        let fit = case.fit(state);
        if fit > 0.0 {
            for (slip, likely) in &tag.slips {
                *found.entry(*slip).or_default() += likely * fit;
            }
        } else if let Some(off) = case.differs(state) {
            let slip = if tag.right > 0.0 {
                Some(None)
            } else {
                tag.slips
                    .iter()
                    .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
                    .map(|(id, _)| Some(*id))
            };
            if let Some(slip) = slip
                && nearest.is_none_or(|(_, least)| off < least)
            {
                nearest = Some((slip, off));
            }
        }
    }
    let singles: Vec<(Vec<Slip>, f64)> = found
        .into_iter()
        .filter_map(|(id, likely)| Some((vec![walk.slip(id)?.clone()], likely)))
        .collect();
    if singles.is_empty() && report.cards.is_empty() {
        let (pairs, all) = pairs(case, &Walk::new(case, Looking::ForPairs), stop);
        report.pairs = if all { Pairs::All } else { Pairs::Partly };
        report.explanations = ranked(pairs);
    } else {
        report.explanations = ranked(singles);
    }
    if report.explanations.is_empty() {
        report.nearest = nearest.map(|(slip, off)| {
            let slips = slip.and_then(|id| walk.slip(id)).cloned();
            (slips.into_iter().collect(), off)
        });
    }
    report
}

/// The likeliest first; of equals the one that came first on the road.
fn ranked(mut found: Vec<(Vec<Slip>, f64)>) -> Vec<Explanation> {
    let order = |slips: &[Slip]| -> Vec<(u16, u16, Wrong)> {
        slips
            .iter()
            .map(|slip| (slip.nth, slip.moment, slip.wrong.clone()))
            .collect()
    };
    found.sort_by(|(a, x), (b, y)| {
        // Sums of chances in another order differ in their last bits.
        let close = (x - y).abs() <= 1e-9 * x.max(*y);
        if close {
            order(a).cmp(&order(b))
        } else {
            y.total_cmp(x)
        }
    });
    found.truncate(MOST_FOUND);
    let all: f64 = found.iter().map(|(_, likely)| likely).sum();
    found
        .into_iter()
        .map(|(slips, likely)| Explanation {
            slips,
            share: likely / all,
        })
        .collect()
}

/// The end of the road without a slip: any of them, for which cards there are.
fn right_end(case: &Case<'_>) -> Option<State> {
    let mut state = case.begin();
    for _ in 0..crate::roads::LONGEST_ROAD {
        if case.done(&state) {
            return Some(state);
        }
        let (from, choice, _) = case.branches(&state).ok()?.into_iter().next()?;
        state = case.step(&from, choice.as_ref(), &[]).ok()?;
    }
    None
}

/// The piles that hold cards at the end of a road that was walked as written.
#[must_use]
pub fn end_piles(case: &Case<'_>) -> Vec<PileId> {
    right_end(case).map_or_else(Vec::new, |end| {
        end.world
            .table
            .piles()
            .filter(|(_, pile)| !pile.is_empty())
            .map(|(id, _)| id)
            .collect()
    })
}

/// The choices that are spoken on this road, or made in the open, and were not told: `thirsty`, `seat@2`.
#[must_use]
pub fn untold(case: &Case<'_>) -> Vec<String> {
    let mut missing = Vec::new();
    let mut state = case.begin();
    for _ in 0..crate::roads::LONGEST_ROAD {
        if case.done(&state) {
            break;
        }
        let (at, visit) = case.coming(&state);
        if let Some(fork) = case.routine.stop(at).and_then(|stop| stop.fork.as_ref()) {
            let again = matches!(fork.kind, ForkKind::Again { .. });
            let heard = matches!(fork.seen, Seen::All)
                && !matches!(fork.kind, ForkKind::Riffle { .. } | ForkKind::Overhand(_));
            if (heard || again) && case.choices.at(fork.name, visit, again).is_none() {
                let name = case
                    .routine
                    .names
                    .get(fork.name.index())
                    .map_or("", |name| name.name.as_str());
                missing.push(match visit {
                    1 => name.to_owned(),
                    visit => format!("{name}@{visit}"),
                });
            }
        }
        let next = case
            .branches(&state)
            .ok()
            .and_then(|branches| branches.into_iter().next())
            .and_then(|(from, choice, _)| case.step(&from, choice.as_ref(), &[]).ok());
        match next {
            Some(next) => state = next,
            None => break,
        }
    }
    missing
}
