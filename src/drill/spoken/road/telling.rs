//! What only the table can tell: an answer of the spectator's, and which way the road goes on.

use super::HandRoad;
use crate::knowing::{Known, Watch};
use crate::roads::Sighted;
use crate::routine::{Routine, StopIndex, Value};

impl HandRoad {
    /// What the spectator may answer at the next stop, if that cannot be told: each answer once.
    pub fn open_replies(&self, routine: &Routine) -> Vec<(Sighted, Value)> {
        let Some(next) = &self.next else {
            return Vec::new();
        };
        let Some(reply) = routine.stop(next.stop).and_then(|stop| stop.reply.as_ref()) else {
            return Vec::new();
        };
        let told = |one: &Sighted| matches!(one, Sighted::Reply(name, _) if *name == reply.name);
        if next.agreed.iter().any(told) {
            return Vec::new();
        }
        let mut values: Vec<Value> = next
            .all
            .worlds()
            .unwrap_or_default()
            .iter()
            .filter_map(|world| world.value(reply.name).cloned())
            .collect();
        values.sort_unstable();
        values.dedup();
        values
            .into_iter()
            .map(|value| (Sighted::Reply(reply.name, value.clone()), value))
            .collect()
    }

    /// Where the road may go on after the next stop, once this was told.
    pub fn ways_on(&self, routine: &Routine, told: &[Sighted]) -> Vec<StopIndex> {
        let Some(next) = &self.next else {
            return Vec::new();
        };
        let told_more;
        let known = if told.is_empty() {
            &next.all
        } else {
            let ours = next.decided.known_to_us();
            told_more = self.with(routine, next, &self.all, ours, told, None);
            &told_more
        };
        if let Known::Same(at) = known.known(routine, Watch::Sizes, |scene| Ok(scene.world.at)) {
            return vec![at];
        }
        let mut ways: Vec<StopIndex> = known
            .worlds()
            .unwrap_or_default()
            .iter()
            .map(|world| world.at)
            .collect();
        ways.sort_unstable();
        ways.dedup();
        if ways.is_empty() {
            ways.push(next.walked.after.at);
        }
        ways
    }
}
