//! The plan to a show: the least time on the fewest days that makes a clean run likely enough, and what to expect of it.

use super::footing::Aim;
use super::forecast::{Chance, Forecast, Part, Stint, forecast};
use super::memory::Day;
use super::plan::{MOST_MINUTES, Season, Spacing, share_out};
use crate::routine::{Fault, Millis, StepId};

/// What is wished for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wish {
    /// The days there are.
    pub season: Season,
    /// The most minutes on one day; more than [`MOST_MINUTES`] are not planned.
    pub minutes: u32,
}

/// What one routine gets of a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// How long.
    pub minutes: u32,
    /// Its chance of a clean run on the night, after this day.
    pub chance: Chance,
    /// The steps that will probably need it most.
    pub focus: Vec<StepId>,
}

/// A day of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedDay {
    /// The day.
    pub day: Day,
    /// Whether it is that of the dress rehearsal.
    pub dress: bool,
    /// How long, all routines together.
    pub minutes: u32,
    /// What each routine gets of it, in their order.
    pub shares: Vec<Share>,
    /// The chance that all routines are clean on the night, after this day.
    pub chance: Chance,
}

/// A plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// How close the rehearsals come.
    pub spacing: Spacing,
    /// Minutes on a day that is not that of the dress rehearsal.
    pub minutes: u32,
    /// The chance that all routines are clean on the night, without any rehearsal more.
    pub now: Chance,
    /// The same for each routine.
    pub each: Vec<Chance>,
    /// The days to rehearse on.
    pub days: Vec<PlannedDay>,
}

/// A plan that makes a clean run so likely is enough; of those that do, the one with the least time is taken.
pub const ENOUGH_CHANCE: f64 = 0.90;

/// Of plans that are not enough, one with less time is taken where it costs no more than this.
const AS_GOOD: f64 = 0.02;

/// So many performers are played for each plan that is tried, and for the one that is taken.
const TRYING: u32 = 40;
const TAKEN: u32 = 200;

/// Not less than this on one day, where so much is allowed.
const LEAST_MINUTES: u32 = 10;

/// Beside the running time of all routines the dress rehearsal leaves so long for what it showed.
const AFTERWARDS: u32 = 5;

/// Days with minutes.
fn stints(season: &Season, spacing: Spacing, minutes: u32, running: u32) -> Vec<Stint> {
    let days = season.days(spacing);
    let last = days.len().saturating_sub(1);
    days.into_iter()
        .enumerate()
        .map(|(n, day)| Stint {
            day,
            minutes: if n == last {
                minutes.max(running + AFTERWARDS)
            } else {
                minutes
            }
            .min(season.room(day)),
        })
        .collect()
}

/// Minutes that are tried: all that are allowed, and half of them.
fn amounts(most: u32) -> Vec<u32> {
    let most = most.clamp(1, MOST_MINUTES);
    let half = (most / 2).next_multiple_of(5).max(LEAST_MINUTES);
    if half < most {
        vec![half, most]
    } else {
        vec![most]
    }
}

/// The chance that all are clean, for each performer played, at a moment of the course.
fn together(forecasts: &[Forecast], moment: usize) -> Vec<f64> {
    let performers = forecasts.first().map_or(0, |one| one.chances.len());
    (0..performers)
        .map(|n| {
            forecasts
                .iter()
                .filter_map(|one| one.chances.get(n)?.get(moment))
                .product()
        })
        .collect()
}

fn alone(forecast: &Forecast, moment: usize) -> Chance {
    let chances: Vec<f64> = forecast
        .chances
        .iter()
        .filter_map(|course| course.get(moment).copied())
        .collect();
    Chance::of(&chances)
}

struct Tried {
    stints: Vec<Stint>,
    shares: Vec<Vec<u32>>,
    forecasts: Vec<Forecast>,
}

fn attempt(
    stints: Vec<Stint>,
    parts: &[Part<'_>],
    needs: &[f64],
    aim: Aim,
    (performers, seed): (u32, u64),
) -> Result<Tried, Fault> {
    let minutes: Vec<u32> = stints.iter().map(|stint| stint.minutes).collect();
    let shares = share_out(&minutes, needs);
    let forecasts: Result<Vec<Forecast>, Fault> = parts
        .iter()
        .enumerate()
        .map(|(n, part)| {
            let own: Vec<Stint> = stints
                .iter()
                .zip(&shares)
                .map(|(stint, share)| Stint {
                    minutes: share[n],
                    ..*stint
                })
                .collect();
            let own_seed = seed.wrapping_add(n as u64);
            forecast(part, &own, aim, performers, own_seed)
        })
        .collect();
    Ok(Tried {
        stints,
        shares,
        forecasts: forecasts?,
    })
}

/// The plan: of all that are tried the one with the least time that makes a clean run of everything likely enough
/// ([`ENOUGH_CHANCE`]); if none does, the one that makes it likeliest. The same seed gives the same plan.
///
/// # Errors
/// When a road cannot be walked.
pub fn plan(wish: &Wish, parts: &[Part<'_>], seed: u64) -> Result<Plan, Fault> {
    let season = &wish.season;
    let aim = Aim {
        today: season.today,
        show: Some(season.show),
    };
    let running = parts
        .iter()
        .filter_map(|part| part.routine.running_time)
        .map(|Millis(time)| u32::try_from(time.div_ceil(60_000)).unwrap_or(u32::MAX))
        .fold(0, u32::saturating_add);
    let before = attempt(
        Vec::new(),
        parts,
        &vec![1.0; parts.len()],
        aim,
        (TAKEN, seed),
    )?;
    let each: Vec<Chance> = before.forecasts.iter().map(|one| alone(one, 0)).collect();
    let needs: Vec<f64> = each.iter().map(|one| -one.mean.max(1e-6).ln()).collect();
    let mut best: Option<(f64, Spacing, u32)> = None;
    let mut wishes: Vec<(u64, Spacing, u32)> = Spacing::ALL
        .into_iter()
        .flat_map(|spacing| amounts(wish.minutes).into_iter().map(move |m| (spacing, m)))
        .map(|(spacing, minutes)| {
            let all = stints(season, spacing, minutes, running);
            let sum = all.iter().map(|stint| u64::from(stint.minutes)).sum();
            (sum, spacing, minutes)
        })
        .collect();
    wishes.sort_unstable();
    for (_, spacing, minutes) in wishes {
        let days = stints(season, spacing, minutes, running);
        let moment = days.len();
        let tried = attempt(days, parts, &needs, aim, (TRYING, seed))?;
        let chance = Chance::of(&together(&tried.forecasts, moment)).mean;
        if best.is_none_or(|(most, ..)| chance > most + AS_GOOD) {
            best = Some((chance, spacing, minutes));
        }
        if chance >= ENOUGH_CHANCE {
            break;
        }
    }
    let (spacing, minutes) = best.map_or((Spacing::Wide, wish.minutes), |(_, s, m)| (s, m));
    let days = stints(season, spacing, minutes, running);
    let taken = attempt(days, parts, &needs, aim, (TAKEN, seed))?;
    let last = taken.stints.len().saturating_sub(1);
    let days = taken
        .stints
        .iter()
        .enumerate()
        .map(|(n, stint)| PlannedDay {
            day: stint.day,
            dress: n == last,
            minutes: stint.minutes,
            shares: taken
                .forecasts
                .iter()
                .zip(&taken.shares[n])
                .map(|(one, minutes)| Share {
                    minutes: *minutes,
                    chance: alone(one, n + 1),
                    focus: one.focus[n].clone(),
                })
                .collect(),
            chance: Chance::of(&together(&taken.forecasts, n + 1)),
        })
        .collect();
    Ok(Plan {
        spacing,
        minutes,
        now: Chance::of(&together(&before.forecasts, 0)),
        each,
        days,
    })
}
