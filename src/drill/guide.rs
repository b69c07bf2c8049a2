//! What is worth practising today, and how a session goes by it. Made outside, from what earlier answers say; without it every step
//! and kind of question comes alike.
//!
//! A guide never decides alone: roads and questions are drawn by lot, what is worth more only comes more often, and every
//! sixth road is a whole run on which each step is asked about.

use super::question::{Drill, Kind};
use crate::roads::{Draw, Met};
use crate::routine::{Routine, StepId, capital};
use std::collections::{BTreeMap, BTreeSet};

/// A kind of question of a drill at a step.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Topic {
    /// The step.
    pub step: StepId,
    /// The drill.
    pub drill: Drill,
    /// The kind of question.
    pub kind: Kind,
}

/// Why something is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Why {
    /// It was missed in this session and comes back.
    Back,
    /// It was missed in this session and comes once more at the end.
    End,
    /// It was never asked.
    New,
    /// It was missed the last time.
    Missed,
    /// It would be right so many times in a hundred on the day practised for.
    Weak(u8),
    /// It is held well, and an answer today would make it last until the day practised for.
    Ripe(u8),
    /// The road is a whole run: every step is asked about.
    WholeRun,
    /// The road has a choice that was never practised: what it is about, and which.
    Branch(String),
    /// By lot: there is nothing to go by, or a seed was given.
    Lot,
}

impl Why {
    /// In a sentence.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Back => "You missed it a little while ago, so it comes back.".to_owned(),
            Self::End => "You missed it today, so it comes once more before the end.".to_owned(),
            Self::New => "It has never been asked here.".to_owned(),
            Self::Missed => "It was missed the last time it was asked.".to_owned(),
            Self::Weak(chance) => {
                format!(
                    "It loses the run: on the night it would be right about {chance} times in 100."
                )
            }
            Self::Ripe(chance) => format!(
                "It is ripe: you would know it {chance} times in 100 on the night, and today makes it last."
            ),
            Self::WholeRun => "This is a whole run: every step is asked about.".to_owned(),
            Self::Branch(choice) => format!(
                "This road has a choice that you have never practised. {}.",
                capital(choice)
            ),
            Self::Lot => "By lot: every kind of question comes alike here.".to_owned(),
        }
    }
}

/// What one topic is worth today.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// What an answer today gains for the day practised for; any scale, the same for all topics, above zero.
    pub worth: f64,
    /// Why.
    pub why: Why,
}

/// What is worth practising today.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Guide {
    /// What each topic asked about so far is worth.
    pub topics: BTreeMap<Topic, Worth>,
    /// What a topic never asked about is worth.
    pub fresh: f64,
    /// The branches practised so far, as `--choose` takes them for a first visit; `None` where that is not known.
    pub practised: Option<BTreeSet<String>>,
    /// What spectators were seen to choose on a stage: roads come more like that than by the file's weights alone.
    pub met: Met,
}

/// Every so-manieth road is a whole run.
pub const WHOLE_EVERY: u32 = 6;

/// On other roads so large a share of the steps is asked about.
pub const SHARE: f64 = 0.4;

/// So many roads are looked at when the next one is drawn.
pub const ROADS_LOOKED_AT: u64 = 6;

/// Luck moves what something is worth by at most this share, up or down.
const LUCK: f64 = 0.3;

/// An untried branch makes a road so many times likelier to be drawn.
const UNTRIED: f64 = 3.0;

/// What was asked already in this session is worth so much less each time.
const AGAIN_TODAY: f64 = 0.3;

impl Guide {
    /// What a topic is worth now, when it was asked so many times in this session.
    #[must_use]
    pub fn worth(&self, topic: &Topic, asked: u32) -> f64 {
        let worth = self
            .topics
            .get(topic)
            .map_or(self.fresh, |known| known.worth);
        worth * AGAIN_TODAY.powi(i32::try_from(asked).unwrap_or(i32::MAX))
    }

    /// The seed of one road, from the seed given: another where spectators were seen to choose otherwise than the file has it.
    #[must_use]
    pub fn seed(&self, routine: &Routine, seed: u64) -> u64 {
        let mut draw = Draw::for_step(seed, "as they choose", 1);
        let drawn = self.met.seeds(routine, seed, 1, &mut draw);
        drawn.first().copied().unwrap_or(seed)
    }

    /// Why a topic is asked about.
    #[must_use]
    pub fn why(&self, topic: &Topic) -> Why {
        self.topics
            .get(topic)
            .map_or(Why::New, |known| known.why.clone())
    }

    /// Whether the choices of a road hold one that was never practised, and which.
    pub fn untried<'a>(&self, choices: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
        let practised = self.practised.as_ref()?;
        choices
            .into_iter()
            .find(|choice| !choice.contains('@') && !practised.contains(*choice))
    }

    /// How much a road counts when the next one is drawn: what its steps are worth, and more with an untried branch.
    #[must_use]
    pub fn road<'a>(
        &self,
        steps: impl IntoIterator<Item = &'a StepId>,
        untried: bool,
        step_worth: impl Fn(&StepId) -> f64,
    ) -> f64 {
        let sum: f64 = steps.into_iter().map(step_worth).sum();
        if untried { sum * UNTRIED } else { sum }
    }
}

/// Whether this road is a whole run. The first of a session is none: what is weak comes first.
#[must_use]
pub fn whole_run(road: u32) -> bool {
    road.is_multiple_of(WHOLE_EVERY)
}

/// A worth with some luck in it, so that nobody can foretell what comes among things worth about the same.
pub fn with_luck(draw: &mut Draw, worth: f64) -> f64 {
    const FINE: u64 = 1 << 32;
    #[expect(clippy::cast_precision_loss, reason = "a share of 2³²")]
    let share = draw.below(FINE) as f64 / FINE as f64;
    worth * (1.0 + LUCK * (2.0 * share - 1.0))
}

/// Whether each step of a road is asked about, from what the best question there is worth: the best [`SHARE`] of them, at least
/// one.
#[must_use]
pub fn asked_about(worths: &[f64]) -> Vec<bool> {
    let mut order: Vec<usize> = (0..worths.len()).collect();
    order.sort_by(|a, b| worths[*b].total_cmp(&worths[*a]));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a share of the steps of a road"
    )]
    let count = ((SHARE * worths.len() as f64).round() as usize).max(1);
    let mut asked = vec![false; worths.len()];
    for n in order.into_iter().take(count) {
        asked[n] = true;
    }
    asked
}

/// An index drawn with these weights, which need not be whole; squared, so that what is worth most comes much more often.
pub fn drawn(draw: &mut Draw, worths: &[f64]) -> usize {
    let most = worths.iter().fold(0.0, |most: f64, w| most.max(*w));
    let weights: Vec<u64> = worths
        .iter()
        .map(|worth| {
            let share = if most > 0.0 { worth / most } else { 1.0 };
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a share of a million"
            )]
            let weight = (share * share * 1_000_000.0) as u64;
            weight.max(1)
        })
        .collect();
    draw.weighted(&weights)
}
