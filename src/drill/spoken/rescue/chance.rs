//! Which stray happens on a road.
//!
//! Every case whose step the road comes by may be drawn, with the weight
//!
//! > (1 + *met*) × *listed* × *shaky*
//!
//! where *met* is how often it was met on stage (from the notes after shows), *listed* is 4 where its step lists it as one that is met there
//! often and else 1, a routine's own stray times the `often` that it gives; and *shaky* is what an answer about it at its step is worth
//! today by the coach's guide, divided by what a step never asked about is worth, between 1/4 and 4; 1 without a guide. Cases that cannot happen on the
//! table, or that nobody could judge, are put aside and another is drawn.

use crate::drill::guide::{Guide, Topic};
use crate::drill::question::{Drill, Kind};
use crate::rescue::{Case, Ground};
use crate::routine::Stray;
use std::collections::BTreeMap;

/// What a stray listed by its step weighs more.
const LISTED: f64 = 4.0;

/// By how much the coach may move a weight, up or down.
const SWAY: f64 = 4.0;

/// Weights are whole numbers: so many to one.
const FINE: f64 = 100.0;

/// What is known of a performer's strays.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Strays {
    /// How often each was met on stage, by its name as files write it.
    pub met: BTreeMap<String, u32>,
    /// What is worth practising.
    pub guide: Option<Guide>,
}

impl Strays {
    /// Of how often each was noted after shows, in words or by its name, and of what is worth practising.
    #[must_use]
    pub fn new(noted: &BTreeMap<String, u32>, guide: Option<Guide>) -> Self {
        let mut met = BTreeMap::new();
        for (words, times) in noted {
            let words: Vec<String> = words.split_whitespace().map(str::to_lowercase).collect();
            let here = met.entry(words.join("-")).or_insert(0_u32);
            *here = here.saturating_add(*times);
        }
        Self { met, guide }
    }

    /// The weight of a case, when its step was asked about so many times in this session.
    pub(in crate::drill) fn weight(&self, ground: &Ground, case: &Case, asked: u32) -> u64 {
        let met = self.met.get(&name_of(ground, case)).copied().unwrap_or(0);
        let own = match case.stray {
            Stray::Known(_) => 1,
            Stray::Own(n) => ground
                .routine()
                .strays
                .get(usize::from(n))
                .map_or(1, |own| own.often.max(1)),
        };
        let listed = if case.often { LISTED } else { 1.0 } * f64::from(own);
        let weight = (1.0 + f64::from(met)) * listed * self.shaky(ground, case, asked) * FINE;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a weight above nought; what is beyond the range is the greatest weight"
        )]
        let weight = weight.round() as u64;
        weight.max(1)
    }

    fn shaky(&self, ground: &Ground, case: &Case, asked: u32) -> f64 {
        let (Some(guide), Some(stop)) = (&self.guide, ground.routine().stop(case.stop)) else {
            return 1.0;
        };
        let worth = |kind| {
            let topic = Topic {
                step: stop.id.clone(),
                drill: Drill::Rescue,
                kind,
            };
            guide.worth(&topic, asked)
        };
        let most = worth(Kind::Verdict).max(worth(Kind::Mend));
        if guide.fresh <= 0.0 {
            return 1.0;
        }
        (most / guide.fresh).clamp(1.0 / SWAY, SWAY)
    }
}

/// The name of a case's stray, as files and notes write it.
pub(in crate::drill) fn name_of(ground: &Ground, case: &Case) -> String {
    match case.stray {
        Stray::Known(known) => known.id().to_owned(),
        Stray::Own(n) => ground
            .routine()
            .strays
            .get(usize::from(n))
            .map_or_else(String::new, |own| own.id.to_string()),
    }
}
