//! A step done, as far as it is known: what [`super::Knowledge`] takes in.

use crate::roads::{Sighted, Walked};
use crate::routine::{Routine, Seen, StopIndex, Value, World};

/// A step done, as far as whoever follows it knows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// Which stop.
    pub stop: StopIndex,
    /// What was chosen there, if that is known; without it every branch could be.
    pub choice: Option<Value>,
    /// What was seen and heard.
    pub sights: Vec<Sighted>,
    /// Whether that is all there was to see. If not, only what is listed must fit: hands saw more than we were told.
    pub whole: bool,
    /// Where the road goes on, if that is known.
    pub on: Option<StopIndex>,
}

impl Done {
    /// A step of a road of which everything that is seen is known: a choice counts as known where all of it is seen.
    pub(super) fn of(routine: &Routine, walked: &Walked) -> Self {
        let open = routine
            .stop(walked.stop)
            .and_then(|stop| stop.fork.as_ref())
            .is_some_and(|fork| matches!(fork.seen, Seen::All));
        Self {
            stop: walked.stop,
            choice: walked
                .choice
                .as_ref()
                .filter(|_| open)
                .map(|(_, value)| value.clone()),
            sights: walked.sights.clone(),
            whole: true,
            on: None,
        }
    }

    /// Whether a table on which these things were seen fits.
    pub(super) fn fits(&self, seen: &[Sighted], wanted: &[Sighted], after: &World) -> bool {
        self.on.is_none_or(|on| on == after.at)
            && if self.whole {
                seen == wanted
            } else {
                wanted.iter().all(|one| seen.contains(one))
            }
    }
}
