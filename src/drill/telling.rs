//! Telling the road: the set-up, each step, and what came before the step to begin from.

use super::doing;
use super::prompt::Tell;
use super::say;
use super::session::Session;
use super::sighting::sightings;
use super::tile::{Spread, spreads};
use crate::roads::{Sighted, Walked, choice_label};
use crate::routine::{Scene, capital};

impl Session {
    /// What is told before the first step shown: the set-up, or all that came before.
    pub(super) fn opening(&self) -> Tell {
        let routine = &self.routine;
        let mut tell = self.blank_tell();
        if self.walk.done == 0 {
            tell.title = routine.title.clone();
            tell.handling = self
                .table()
                .iter()
                .filter_map(|spread| {
                    let count = i64::try_from(spread.count?).ok()?;
                    Some(format!(
                        "{} in {}.",
                        capital(&say::cards(count)),
                        say::pile(routine, spread.pile)
                    ))
                })
                .collect();
        } else {
            tell.title = "So far".to_owned();
            tell.seen = self
                .walk
                .given
                .iter()
                .map(|said| said.text.clone())
                .collect();
        }
        tell
    }

    fn table(&self) -> Vec<Spread> {
        let moment = self.walk.moment(&self.routine);
        moment.world().map_or_else(Vec::new, |world| {
            spreads(&self.routine, &self.walk.knowledge, world)
        })
    }

    fn blank_tell(&self) -> Tell {
        Tell {
            stop: None,
            title: String::new(),
            patter: String::new(),
            handling: Vec::new(),
            seen: Vec::new(),
            road: self.walk.number,
            done: self.walk.done,
            of: self.walk.road.walked.len(),
            seed: self.walk.road.seed,
            choices: self.walk.choices.clone(),
            table: self.table(),
        }
    }

    /// The next step, told: the table as it is before it.
    pub(super) fn telling(&self) -> Tell {
        let mut tell = self.blank_tell();
        let Some(walked) = self.walk.next() else {
            return tell;
        };
        let routine = &self.routine;
        tell.stop = Some(walked.stop);
        tell.choices.extend(choice_label(routine, walked));
        let heard = self.heard_with(walked);
        if let Some(stop) = routine.stop(walked.stop) {
            tell.title = say::heading(routine, stop);
            let scene = Scene {
                routine,
                world: &walked.after,
            };
            if !self.walk.line_known {
                tell.patter = super::answer::line(scene, walked.stop).unwrap_or_default();
            }
            let says = stop
                .fork
                .as_ref()
                .and_then(|fork| fork.says.render(scene).ok())
                .filter(|says| !says.is_empty());
            match says {
                // Whether to go round again is asked by the performer.
                Some(asks) if say::is_gate(stop) => {
                    if tell.patter.is_empty() {
                        tell.patter = asks;
                    }
                }
                says => tell.seen.extend(says.map(|says| format!("They: “{says}”"))),
            }
        }
        tell.handling = doing::handling(routine, walked, &heard);
        let told = sightings(routine, walked).into_iter();
        // The title stands above already.
        tell.seen.extend(
            told.filter(|said| said.text.trim_end_matches('.') != tell.title)
                .map(|said| said.text),
        );
        tell
    }

    fn heard_with(&self, walked: &Walked) -> Vec<Sighted> {
        let mut heard = self.walk.sights.clone();
        heard.extend(walked.sights.iter().cloned());
        heard
    }
}
