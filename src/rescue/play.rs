//! Playing a case through on one table: whether it makes sense there, what a deed does, to which endings its roads lead.

use super::rescuer::{Deed, Rescuer};
use crate::handling::{self, Forced};
use crate::proof::{EndingSet, Fate};
use crate::roads::take;
use crate::routine::{Fault, World};

impl Rescuer<'_> {
    /// The endings to which roads from these worlds can come; `None` where not all of them end well.
    pub fn endings(&mut self, worlds: &[World]) -> Option<EndingSet> {
        let mut reached = EndingSet::default();
        for world in worlds {
            let moment = self.moment(self.ground().enter(world.clone()));
            match self.judge.fate(moment) {
                Fate::Good(there) => reached = reached.and(there),
                Fate::Bad | Fate::Undecided => return None,
            }
        }
        Some(reached)
    }

    /// A world after a deed.
    ///
    /// # Errors
    /// When it cannot be done there.
    pub fn done(&self, world: &World, deed: &Deed) -> Result<World, Fault> {
        let mut world = self.ground().enter(world.clone());
        match deed {
            Deed::Mend(mend) => {
                let stop = self.ground().mend(*mend, world.at);
                world.at = stop
                    .ok_or_else(|| Fault::Choice("nothing comes after it any more".to_owned()))?;
                Ok(take(self.ground().routine(), &world, None)?.world)
            }
            Deed::Move(mv) => {
                let program = handling::program(mv, &world.table)?;
                handling::run(&program, &mut world.table, &mut Forced)?;
                Ok(world)
            }
        }
    }
}
