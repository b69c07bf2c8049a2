//! What the foyer shows of each routine, and the one who keeps answers.

use super::after::ToldShow;
use super::proven::{News, Proven};
use crate::coach::{Hold, Progress};
use crate::drill::{Answered, Drill, DrillFault, Guide, Plan, Session};
use crate::routine::{Routine, StepId};
use chrono::NaiveDate;
use std::collections::BTreeMap;
use std::sync::Arc;

/// How a routine stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Standing {
    /// Whole days since it was last rehearsed; `None` for never.
    pub days: Option<u32>,
    /// Every step that was ever asked about.
    pub holds: Vec<(StepId, Hold)>,
    /// How the lines of each step are held.
    pub lines: Vec<(StepId, Hold)>,
    /// What is worth practising, if the coach has a say.
    pub guide: Option<Guide>,
    /// What comes next by the plan to a show that it is part of: “Thursday 25 March, 20 minutes; the show is on 2 April”.
    pub planned: Option<String>,
    /// The show of that plan, where it has several routines.
    pub show: Option<WholeShow>,
    /// What has changed in its text since it was last rehearsed, in words.
    pub changed: Option<String>,
    /// How often each stray was met on stage, by its name.
    pub met: BTreeMap<String, u32>,
    /// By step, which slips are fatal there, in words; as far as that was worked out.
    pub careful: BTreeMap<StepId, String>,
}

impl Standing {
    /// How a step is held.
    #[must_use]
    pub fn hold(&self, step: &StepId) -> Hold {
        of(&self.holds, step)
    }

    /// How a step's line is held.
    #[must_use]
    pub fn line(&self, step: &StepId) -> Hold {
        of(&self.lines, step)
    }
}

/// The routines of a show, as a session takes them together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WholeShow {
    /// Their names, as in [`Shelved::name`].
    pub routines: Vec<String>,
    /// How long one day's rehearsal is by the plan, in minutes.
    pub minutes: u32,
}

fn of(holds: &[(StepId, Hold)], step: &StepId) -> Hold {
    holds
        .iter()
        .find(|(id, _)| id == step)
        .map_or(Hold::Untried, |&(_, hold)| hold)
}

/// A routine of the foyer.
#[derive(Debug, Clone)]
pub struct Shelved {
    /// The name that commands take and the logbook keeps.
    pub name: String,
    /// The routine.
    pub routine: Arc<Routine>,
    /// How it stands.
    pub standing: Standing,
    /// Whether its ending is proved.
    pub proven: Proven,
}

impl Shelved {
    /// A session of this routine: by the coach's guide, where it has one.
    ///
    /// # Errors
    /// When it cannot begin.
    pub fn session(&self, plan: Plan) -> Result<Session, DrillFault> {
        let routine = Arc::clone(&self.routine);
        match &self.standing.guide {
            Some(guide) => Session::guided(routine, plan, guide.clone()),
            None => Session::new(routine, plan),
        }
    }

    /// What is to be said before a rehearsal: that it can fail, or that its text has changed.
    #[must_use]
    pub fn notice(&self) -> Option<String> {
        let warning = self.proven.warning().map(str::to_owned);
        warning.or_else(|| self.standing.changed.clone())
    }

    /// A plan whose road is like those that spectators were seen to choose, where the coach has a say.
    #[must_use]
    pub fn aimed(&self, plan: Plan) -> Plan {
        match &self.standing.guide {
            Some(guide) => Plan {
                seed: guide.seed(&self.routine, plan.seed),
                ..plan
            },
            None => plan,
        }
    }
}

/// A rehearsal that begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Begun {
    /// The routine's name, as in [`Shelved::name`].
    pub name: String,
    /// SHA-256 of the routine's file.
    pub content_hash: String,
    /// Which draw of the set-up.
    pub setup: u64,
    /// The seed of the first road.
    pub seed: u64,
    /// The drills.
    pub drills: Vec<Drill>,
    /// Line by line, not on the full screen.
    pub plain: bool,
}

/// Why an answer was not kept.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct KeepFault(#[from] pub Box<dyn std::error::Error>);

/// Keeps answers. When [`Keeper::keep`] returns without a fault, the answer is on the disk.
pub trait Keeper {
    /// A rehearsal begins, or a routine joins the one that has begun and not ended.
    ///
    /// # Errors
    /// When that could not be kept; the rehearsal goes on, and every answer tries again.
    fn begin(&mut self, begun: &Begun) -> Result<(), KeepFault>;
    /// Keeps an answer of a rehearsal that has begun and not ended.
    ///
    /// # Errors
    /// When the answer could not be kept; none before it is lost.
    fn keep(&mut self, answered: &Answered) -> Result<(), KeepFault>;
    /// The rehearsal is over.
    ///
    /// # Errors
    /// When that could not be kept; no answer is lost by it.
    fn end(&mut self) -> Result<(), KeepFault>;
    /// Remembers how loud or how fast it was, under a name.
    ///
    /// # Errors
    /// When that could not be kept.
    fn remember(&mut self, name: &str, value: &str) -> Result<(), KeepFault> {
        let _ = (name, value);
        Ok(())
    }
    /// The performer's date today; `None` where nobody keeps shows.
    fn today(&self) -> Option<NaiveDate> {
        None
    }
    /// Keeps what was told of a performance; what to say of it.
    ///
    /// # Errors
    /// When it could not be kept.
    fn keep_show(&mut self, told: &ToldShow) -> Result<String, KeepFault> {
        let _ = told;
        Err(KeepFault("nobody here keeps shows".into()))
    }
    /// How a routine stands, by its name; `None` when it cannot be found out.
    fn standing(&mut self, name: &str) -> Option<Standing>;
    /// All there is to look at of a routine, by its name; `None` when it cannot be found out.
    fn progress(&mut self, name: &str) -> Option<Progress> {
        let _ = name;
        None
    }
    /// The verdicts that have come in since the last look, if anybody is proving; never waits for one.
    fn news(&mut self) -> Vec<News> {
        Vec::new()
    }
}
