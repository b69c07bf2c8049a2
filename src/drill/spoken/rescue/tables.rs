//! A stray on one table, and every table that fits what was seen of it.
//!
//! The tables are listed: every table that fitted before, and every way in which the stray can happen on it; those on which the performer
//! would have seen something else are left out. Where there are too many, a part of them is drawn. What is lost on a part is lost on the
//! whole, since a plan for the whole is one for each part; any other verdict on a part is worth nothing, and such a stray is not asked
//! about.

use crate::proof::{Fraction, Limits};
use crate::rescue::{Case, Deed, Ground, Happened, Rescuer, Verdict, When};
use crate::roads::{Draw, Sighted, seen};
use crate::routine::{Fault, Sight, World};
use rustc_hash::FxHashSet;
use std::sync::atomic::{AtomicU32, Ordering};

/// No more tables than this are listed.
pub(super) const MOST_FITTING: usize = 2_048;

/// So many ways to happen are tried for them, at most: many come to the same, or do not fit.
const MOST_TRIED: usize = 8 * MOST_FITTING;

/// Of more, so many are drawn.
const DRAWN: usize = 96;

/// How often a search may ask whether to go on before it is given up: about 256 states each time.
const PATIENCE: u32 = 400;

/// Memory for one verdict, in bytes.
const MOST_BYTES: usize = 128 << 20;

/// A stray that has happened.
#[derive(Debug, Clone)]
pub(in crate::drill) struct Astray {
    /// Which, by its index in the ground.
    pub case: usize,
    /// The table before it, as it really lies.
    pub before: World,
    /// The same after it.
    pub real: World,
    /// What the performer saw of it.
    pub sights: Vec<Sighted>,
    /// Every table that fits.
    pub tables: Vec<World>,
    /// Whether these are all of them.
    pub whole: bool,
    pub verdict: Verdict,
}

/// Asks a rescuer something, within what a drill may spend on it.
pub(in crate::drill) fn asking<T>(
    ground: &Ground,
    follow: bool,
    ask: impl FnOnce(&mut Rescuer<'_>) -> T,
) -> T {
    let asked = AtomicU32::new(0);
    let stop = || asked.fetch_add(1, Ordering::Relaxed) > PATIENCE;
    let limits = Limits {
        bytes: MOST_BYTES,
        stop: &stop,
        progress: &|_| {},
    };
    ask(&mut Rescuer::new(ground, follow, &limits))
}

/// Lets a case happen on the table that really lies there, if it can, and if what to do about it is settled. `fitted` are the tables
/// that fitted before.
pub(in crate::drill) fn astray(
    ground: &Ground,
    number: usize,
    real: &World,
    fitted: &[World],
    draw: &mut Draw,
) -> Option<Astray> {
    let case = ground.cases().get(number)?;
    let before = ground.enter(real.clone());
    if !case.makes_sense(&before) {
        return None;
    }
    for follow in [true, false] {
        let settled = asking(ground, follow, |rescuer| {
            settled(rescuer, case, (number, &before), fitted, draw)
        })?;
        if settled.verdict != Verdict::Undecided {
            return Some(settled);
        }
    }
    None
}

fn settled(
    rescuer: &mut Rescuer<'_>,
    case: &Case,
    (number, before): (usize, &World),
    fitted: &[World],
    draw: &mut Draw,
) -> Option<Astray> {
    let happened = rescuer
        .happen(case, before.clone(), |open| open.sample(draw))
        .ok()?;
    if happened.world == *before && !happened.sights.is_empty() {
        return None;
    }
    let (tables, whole) = match listed(rescuer, case, fitted, &happened) {
        Listed::All(tables) => (tables, true),
        Listed::TooMany => (drawn(rescuer, case, fitted, &happened, draw)?, false),
        Listed::Never => return None,
    };
    let endings = rescuer.endings(fitted);
    let mut weighed: Vec<_> = Vec::with_capacity(tables.len());
    for table in &tables {
        weighed.push((Some(rescuer.moment(table.clone())), Fraction::ONE));
    }
    let verdict = rescuer.verdict(&weighed, endings);
    let settled = whole || matches!(verdict, Verdict::Lost { .. });
    settled.then_some(Astray {
        case: number,
        before: before.clone(),
        real: happened.world,
        sights: happened.sights,
        tables,
        whole,
        verdict,
    })
}

enum Listed {
    All(Vec<World>),
    TooMany,
    /// On some table it could not be worked out.
    Never,
}

/// Every table that fits what was seen.
fn listed(rescuer: &Rescuer<'_>, case: &Case, fitted: &[World], really: &Happened) -> Listed {
    let mut found: FxHashSet<World> = FxHashSet::default();
    let mut tried = 0_usize;
    for world in fitted {
        if !case.makes_sense(&rescuer.ground().enter(world.clone())) {
            continue;
        }
        // By the number of the branch, the choices to be made first.
        let mut waiting: Vec<Vec<u128>> = vec![Vec::new()];
        while let Some(first) = waiting.pop() {
            tried += 1;
            if tried > MOST_TRIED || found.len() > MOST_FITTING {
                return Listed::TooMany;
            }
            let mut made: Vec<u128> = Vec::new();
            let mut open: Vec<u128> = Vec::new();
            let mut lost = false;
            let happened = rescuer.happen(case, world.clone(), |domain| {
                let n = first.get(made.len()).copied().unwrap_or(0);
                open.push(domain.count());
                made.push(n);
                let chosen = domain.nth(n);
                lost |= chosen.is_none();
                chosen
                    .or_else(|| domain.first())
                    .unwrap_or(crate::routine::Value::Bool(false))
            });
            if lost || open.iter().any(|count| *count > MOST_TRIED as u128) {
                return Listed::TooMany;
            }
            for (n, count) in open.iter().enumerate().skip(first.len()) {
                for other in 1..*count {
                    let mut choices = made[..n].to_vec();
                    choices.push(other);
                    waiting.push(choices);
                }
            }
            match happened {
                Ok(one) if one.sights == really.sights => {
                    found.insert(one.world);
                }
                Ok(_) | Err(Fault::Choice(_)) => {}
                // A stray that cannot be done does not happen; of a step that cannot be done nobody can say what is seen.
                Err(Fault::Handling(_) | Fault::Value(_)) if case.when == When::After => {}
                Err(Fault::Handling(_) | Fault::Value(_) | Fault::Unfixed(_)) => {
                    return Listed::Never;
                }
            }
        }
    }
    let mut tables: Vec<World> = found.into_iter().collect();
    tables.sort_unstable();
    if tables.is_empty() {
        Listed::Never
    } else {
        Listed::All(tables)
    }
}

/// Some of the tables that fit, by lot; the one that really lies there is one of them.
fn drawn(
    rescuer: &Rescuer<'_>,
    case: &Case,
    fitted: &[World],
    really: &Happened,
    draw: &mut Draw,
) -> Option<Vec<World>> {
    let mut found: FxHashSet<World> = FxHashSet::default();
    for _ in 0..DRAWN {
        let n = usize::try_from(draw.below(fitted.len() as u64)).ok()?;
        let world = fitted.get(n)?;
        if !case.makes_sense(&rescuer.ground().enter(world.clone())) {
            continue;
        }
        match rescuer.happen(case, world.clone(), |open| open.sample(draw)) {
            Ok(one) if one.sights == really.sights => {
                found.insert(one.world);
            }
            Ok(_) | Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => {}
            Err(Fault::Unfixed(_)) => return None,
        }
    }
    let mut tables: Vec<World> = found.into_iter().collect();
    tables.sort_unstable();
    (!tables.is_empty()).then_some(tables)
}

/// What a performer's own sequence is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::drill) enum Worth {
    /// Safe on every table that fits.
    Safe,
    /// Safe on the table that lies there, and not on all that fit.
    Luck,
    /// Not safe.
    Not,
}

/// What doing this comes to.
pub(in crate::drill) fn worth(
    ground: &Ground,
    real: &World,
    tables: &[World],
    deeds: &[Deed],
) -> Worth {
    for follow in [true, false] {
        let worth = asking(ground, follow, |rescuer| {
            if rescuer.mends_it(tables, deeds) {
                Worth::Safe
            } else if rescuer.mends_it(std::slice::from_ref(real), deeds) {
                Worth::Luck
            } else {
                Worth::Not
            }
        });
        if worth != Worth::Not {
            return worth;
        }
    }
    Worth::Not
}

/// Deeds done on one table.
///
/// # Errors
/// When one cannot be done.
pub(in crate::drill) fn all_done(
    ground: &Ground,
    real: &World,
    deeds: &[Deed],
) -> Result<World, Fault> {
    asking(ground, false, |rescuer| {
        let mut world = real.clone();
        for deed in deeds {
            world = rescuer.done(&world, deed)?;
        }
        Ok(world)
    })
}

/// Looks at the table: what is seen, and the tables that fit it. What nothing is known of on a table tells nothing against it; a card
/// seen is that card from then on.
pub(in crate::drill) fn look(
    ground: &Ground,
    real: &World,
    tables: &[World],
    sights: &[Sight],
) -> (Vec<Sighted>, Vec<World>) {
    let routine = ground.routine();
    let shown: Vec<Option<Sighted>> = seen(routine, real, sights)
        .into_iter()
        .map(Result::ok)
        .collect();
    let fits = |world: &World| -> Option<World> {
        let mut world = world.clone();
        for (n, shown) in shown.iter().enumerate() {
            match (seen(routine, &world, sights).into_iter().nth(n)?, shown) {
                (Ok(there), Some(shown)) if there == *shown => {}
                (Ok(_), Some(_)) => return None,
                (Err(Fault::Unfixed(card)), Some(Sighted::Card { print, .. })) => {
                    *world.faces.get_mut(card.index())? = Some(*print);
                }
                (Err(_), _) | (Ok(_), None) => {}
            }
        }
        Some(world)
    };
    let fitting = tables.iter().filter_map(fits).collect();
    (shown.into_iter().flatten().collect(), fitting)
}
