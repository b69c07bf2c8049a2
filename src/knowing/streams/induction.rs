//! Induction: whether what holds before a round holds after it, whatever the table.

use super::{Claimed, Halt, Streams, Tokens};
use crate::knowing::stream::StreamState;

impl Streams {
    /// Whether after a round `then` holds on every table on which all of `given` hold before it. `start` is any table
    /// ([`Streams::any_of`]); the claims are on worlds with every card a token ([`super::all_tokens`]), `given` as they lie before
    /// the round, `then` after it. `None` where a claim cannot be followed.
    ///
    /// Any order of reading will do, for each cell is free of the others. Cells that have the same say in the claims are read one after
    /// the other, so that the sums that are kept stay few, and two rounds that differ only in which cells have which say are one
    /// question, answered once.
    ///
    /// # Errors
    /// As [`Streams::can_end`].
    pub fn preserved(
        &mut self,
        start: StreamState,
        tokens: &Tokens,
        given: &[Claimed<'_>],
        then: Claimed<'_>,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<Option<bool>, Halt> {
        let mut steps: Vec<u16> = (0..tokens.count).collect();
        let mut fails = None;
        for pass in 0..2 {
            let mut parts = Vec::with_capacity(given.len() + 1);
            for (claimed, wanted) in given.iter().map(|g| (*g, true)).chain([(then, false)]) {
                let Some(monitor) = self.monitor_in_order(start, tokens, &steps, claimed) else {
                    return Ok(None);
                };
                parts.push((monitor, wanted));
            }
            let all = self.all(&parts);
            if pass == 0 {
                let mut order: Vec<u16> = (0..tokens.count).collect();
                order.sort_by_cached_key(|step| self.monitors.say(all, *step));
                for (step, token) in (0..).zip(order) {
                    steps[usize::from(token)] = step;
                }
            }
            fails = Some(all);
        }
        match fails {
            Some(fails) => Ok(Some(!self.can_end(start, fails, true, stop)?)),
            None => Ok(None),
        }
    }
}
