//! What a performer's own slip does to the rest of the road.

use super::ground::Ground;
use super::rescuer::Rescuer;
use super::slip::{Consequence, Effect, Judging, Looked, Reach, consequences};
use crate::proof::{Fate, Limits};
use crate::routine::{Routine, StopIndex, World};

impl Judging for Rescuer<'_> {
    /// Harmless where all roads end well, and at endings to which they could have come without the slip; mendable where they come to others, or
    /// where up to three mends make all of them end well on this table, which the performer knows once the slip is noticed.
    fn effect(&mut self, stop: StopIndex, right: Option<&World>, slipped: &World) -> Effect {
        let known = right.and_then(|right| self.endings(std::slice::from_ref(right)));
        let entered = self.ground().enter(slipped.clone());
        let moment = self.judge.moment(entered, Some(stop));
        match self.judge.fate(moment) {
            Fate::Good(reached) if known.is_none_or(|known| reached.within(known)) => {
                Effect::Harmless
            }
            Fate::Good(_) => Effect::Mendable,
            Fate::Undecided => Effect::Undecided,
            Fate::Bad => {
                self.undecided = false;
                let over = self.judge.is_pending(moment)
                    || !self.ground().is_own(self.judge.stop_of(moment));
                if !over && self.plan(&[moment]).is_some() {
                    Effect::Mendable
                } else if self.undecided {
                    Effect::Undecided
                } else {
                    Effect::Fatal
                }
            }
        }
    }
}

/// For every step and every kind of slip that can be made there: the worst that comes of it over all roads that remain.
#[must_use]
pub fn careful(routine: &Routine, reach: Reach, limits: &Limits<'_>) -> (Vec<Consequence>, Looked) {
    let ground = Ground::new(routine);
    consequences(routine, reach, || Rescuer::new(&ground, true, limits))
}
