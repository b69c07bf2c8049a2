//! Spoken rehearsals: `hands` and `dress` with real cards, and `lines` said aloud.
//!
//! And `rescue`, which is told, shown and asked by the same means.
//!
//! The performer looks at the cards and not at the screen. [`Spoken`] says what to show ([`Spoken::prompt`]) and, as effects, what
//! is to be said aloud and by whom; it takes what the performer did with the time of the rehearsal, pauses not counted.
//! Whether anything can be heard is nobody's business here: everything said is shown too.

mod aloud;
mod hands;
mod kept;
mod packet;
mod prompt;
mod rescue;
mod road;
mod words;

pub use prompt::{
    Along, Deed, EnterPacket, HandMarked, HandQuestion, HandStep, Help, Judge, Lay, LayCard,
    LaySetUp, LineCue, LinesOpening, MendAsked, ReadThrough, Reading, RealLine, RescueTold, Saying,
    Sound, Speaker, Speech, SpokenEffect, SpokenPrompt, StrayMet, Verdict, WhereNow, WhereWrong,
    Which,
};
pub use rescue::Strays;

use super::prompt::{DrillFault, Plan};
use super::question::Drill;
use crate::routine::{Millis, Routine, StepId};
use std::sync::Arc;

/// A spoken rehearsal. Pure: the same plan and the same deeds at the same times give the same prompts and effects.
#[derive(Debug, Clone)]
pub struct Spoken {
    routine: Arc<Routine>,
    plan: Plan,
    kind: Kind,
}

#[derive(Debug, Clone)]
enum Kind {
    Hands(Box<hands::Hands>),
    Lines(Box<aloud::Aloud>),
    Rescue(Box<rescue::Rescue>),
}

/// What is known of a performer before a spoken rehearsal.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Performer {
    /// For each step how much of its cue is given in the lines; a step that is not named gets the most.
    pub helps: Vec<(StepId, Help)>,
    /// Which strays they met, and what is worth practising.
    pub strays: Strays,
}

impl Spoken {
    /// The one drill of a plan that is rehearsed spoken, if it is such a plan.
    #[must_use]
    pub fn drill(plan: &Plan) -> Option<Drill> {
        match plan.drills.as_slice() {
            [one @ (Drill::Hands | Drill::Dress | Drill::Lines | Drill::Rescue)] => Some(*one),
            _ => None,
        }
    }

    /// Begins a spoken rehearsal.
    ///
    /// # Errors
    /// When the plan names anything but one such drill, or no road can be walked.
    pub fn new(
        routine: Arc<Routine>,
        plan: Plan,
        performer: Performer,
    ) -> Result<Self, DrillFault> {
        let kind = match Self::drill(&plan) {
            Some(Drill::Lines) => Kind::Lines(Box::new(aloud::Aloud::new(
                Arc::clone(&routine),
                plan.clone(),
                performer.helps,
            )?)),
            Some(Drill::Rescue) => Kind::Rescue(Box::new(rescue::Rescue::new(
                Arc::clone(&routine),
                plan.clone(),
                performer.strays,
            )?)),
            Some(drill) => Kind::Hands(Box::new(hands::Hands::new(
                Arc::clone(&routine),
                plan.clone(),
                drill,
            )?)),
            None => return Err(DrillFault::NoDrill),
        };
        Ok(Self {
            routine,
            plan,
            kind,
        })
    }

    /// What to show now.
    #[must_use]
    pub fn prompt(&self) -> SpokenPrompt {
        match &self.kind {
            Kind::Hands(hands) => hands.prompt(),
            Kind::Lines(aloud) => aloud.prompt(),
            Kind::Rescue(rescue) => rescue.prompt(),
        }
    }

    /// What will probably be said next, so that it can be made ahead.
    #[must_use]
    pub fn ahead(&self) -> Vec<Speech> {
        match &self.kind {
            Kind::Hands(hands) => hands.ahead(),
            Kind::Lines(aloud) => aloud.ahead(),
            Kind::Rescue(_) => Vec::new(),
        }
    }

    /// Works out what comes next while the performer is busy; it changes nothing that is shown.
    pub fn work_ahead(&mut self) {
        match &mut self.kind {
            Kind::Hands(hands) => hands.work_ahead(),
            Kind::Lines(_) | Kind::Rescue(_) => {}
        }
    }

    /// Takes what the performer did, or what happened. `now` is the time of the rehearsal, pauses not counted. What does not fit
    /// what is shown changes nothing.
    pub fn update(&mut self, deed: &Deed, now: Millis) -> Vec<SpokenEffect> {
        match &mut self.kind {
            Kind::Hands(hands) => hands.update(deed, now),
            Kind::Lines(aloud) => aloud.update(deed, now),
            Kind::Rescue(rescue) => rescue.update(deed, now),
        }
    }

    /// The routine.
    #[must_use]
    pub fn routine(&self) -> &Arc<Routine> {
        &self.routine
    }

    /// The plan.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }
}
