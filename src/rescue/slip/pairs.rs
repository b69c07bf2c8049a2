//! Two slips on one road: looked for in the order of how likely the first is, until the time is up.

use super::hands::Made;
use super::kind::SlipKind;
use super::search::Slip;
use super::state::{Case, Chance, State};
use super::walk::Walk;
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use std::sync::atomic::{AtomicBool, Ordering};

/// A state from which a second slip is looked for.
struct Task<'a> {
    nth: u16,
    state: &'a State,
    /// How likely the likeliest way to it is.
    likely: f64,
    /// The first slips that lead to it; none where both are made at the same step.
    firsts: &'a [(u32, f64)],
    right: f64,
}

type Found = Vec<(Vec<Slip>, f64)>;

/// All pairs that lead to the packet, and whether all were looked at.
pub(super) fn pairs(
    case: &Case<'_>,
    walk: &Walk,
    stop: &(dyn Fn() -> bool + Sync),
) -> (Found, bool) {
    let mut tasks: Vec<Task<'_>> = Vec::new();
    for (nth, layer) in walk.layers.iter().enumerate() {
        let nth = u16::try_from(nth).unwrap_or(u16::MAX);
        for (state, tag) in layer.states.iter().filter(|(state, _)| !case.done(state)) {
            let likely = tag.slips.iter().map(|(_, w)| *w).sum::<f64>();
            tasks.push(Task {
                nth,
                state,
                // Two slips at one step are about as likely as two anywhere.
                likely: likely.max(tag.right),
                firsts: &tag.slips,
                right: tag.right,
            });
        }
    }
    tasks.sort_by(|a, b| b.likely.total_cmp(&a.likely));
    let ran_out = AtomicBool::new(false);
    let mut all: FxHashMap<Vec<Slip>, f64> = FxHashMap::default();
    // What has many ways, each of them unlikely, comes last.
    for scarce in [false, true] {
        let found: Vec<Found> = tasks
            .par_iter()
            .map(|task| {
                if ran_out.load(Ordering::Relaxed) || stop() {
                    ran_out.store(true, Ordering::Relaxed);
                    return Vec::new();
                }
                if task.right > 0.0 {
                    both(case, task, scarce, stop, &ran_out)
                } else {
                    second(case, walk, task, scarce)
                }
            })
            .collect();
        for (slips, likely) in found.into_iter().flatten() {
            *all.entry(slips).or_default() += likely;
        }
    }
    let complete = !ran_out.load(Ordering::Relaxed);
    (all.into_iter().collect(), complete)
}

/// Slips of one step that lead to the packet; those that lead to the same state are told once, as the likeliest of them.
#[derive(Default)]
struct Told(Vec<One>);

struct One {
    reached: State,
    slips: Vec<Slip>,
    weight: f64,
    most: f64,
    fit: f64,
}

impl Told {
    fn add(&mut self, reached: State, slips: Vec<Slip>, weight: f64, fit: f64) {
        match self.0.iter_mut().find(|one| one.reached == reached) {
            Some(one) => {
                one.weight += weight;
                if weight >= one.most {
                    one.most = weight;
                    one.slips = slips;
                }
            }
            None => self.0.push(One {
                reached,
                slips,
                weight,
                most: weight,
                fit,
            }),
        }
    }
}

fn is_scarce(kind: SlipKind) -> bool {
    matches!(kind, SlipKind::Dropped | SlipKind::LostBeat)
}

/// A second slip at this step, the first having been made at one before.
fn second(case: &Case<'_>, walk: &Walk, task: &Task<'_>, scarce: bool) -> Found {
    let mut found = Vec::new();
    let here = case.coming(task.state);
    for (state, choice, share) in case.branches(task.state).unwrap_or_default() {
        let choice = choice.as_ref();
        let mut told = Told::default();
        for chance in case.chances(&state, choice, &[], 0) {
            if is_scarce(chance.kind) != scarce {
                continue;
            }
            let Ok(reached) = case.step(&state, choice, &[chance.made()]) else {
                continue;
            };
            let fit = fits_on(case, &reached) * share;
            if fit > 0.0 {
                told.add(
                    reached,
                    vec![Slip::of(task.nth, here, &chance)],
                    chance.weight,
                    fit,
                );
            }
        }
        for one in told.0 {
            for (first, likely) in task.firsts {
                if let Some(first) = walk.slip(*first) {
                    let slips = std::iter::once(first).chain(&one.slips).cloned().collect();
                    found.push((slips, likely * one.weight * one.fit));
                }
            }
        }
    }
    found
}

/// Two slips at the same step.
fn both(
    case: &Case<'_>,
    task: &Task<'_>,
    scarce: bool,
    stop: &(dyn Fn() -> bool + Sync),
    ran_out: &AtomicBool,
) -> Found {
    let mut found = Vec::new();
    let here = case.coming(task.state);
    for (state, choice, share) in case.branches(task.state).unwrap_or_default() {
        let choice = choice.as_ref();
        let mut told = Told::default();
        for first in case.chances(&state, choice, &[], 0) {
            if stop() {
                ran_out.store(true, Ordering::Relaxed);
                return found;
            }
            let one: [Made<'_>; 1] = [first.made()];
            let laters: Vec<Chance> = case.chances(&state, choice, &one, first.at + 1);
            for later in &laters {
                if (is_scarce(first.kind) || is_scarce(later.kind)) != scarce {
                    continue;
                }
                let slips = [first.made(), later.made()];
                let Ok(reached) = case.step(&state, choice, &slips) else {
                    continue;
                };
                let fit = fits_on(case, &reached) * share * task.right;
                if fit > 0.0 {
                    let slips = vec![
                        Slip::of(task.nth, here, &first),
                        Slip::of(task.nth, here, later),
                    ];
                    told.add(reached, slips, first.weight * later.weight, fit);
                }
            }
        }
        found.extend(
            told.0
                .into_iter()
                .map(|one| (one.slips, one.weight * one.fit)),
        );
    }
    found
}

/// How likely the packet is from here on, without any more slips.
fn fits_on(case: &Case<'_>, state: &State) -> f64 {
    if case.done(state) {
        return case.fit(state);
    }
    case.branches(state)
        .unwrap_or_default()
        .iter()
        .map(|(from, choice, share)| {
            case.step(from, choice.as_ref(), &[])
                .map_or(0.0, |next| share * fits_on(case, &next))
        })
        .sum()
}
