//! Asking: whether an outcome ends so, how many do, which is the first.

use super::{Halt, Outcome, Pair, Streams};
use crate::knowing::monitor::{FALSE, Monitor, MonitorState, TRUE};
use crate::knowing::stream::StreamState;
use crate::table::Laid;
use num_bigint::BigUint;

impl Streams {
    /// The monitor after what a branch lays.
    fn after(
        &mut self,
        from: StreamState,
        branch: usize,
        mut monitor: MonitorState,
        length: u16,
    ) -> Result<MonitorState, Halt> {
        let branch = self.graph.ways(from)[branch];
        let first = length - self.graph.rest(from);
        for (step, look) in (first..).zip(self.graph.laid_by(&branch)) {
            if monitor <= TRUE {
                break;
            }
            monitor = self
                .monitors
                .read(monitor, step, *look)
                .ok_or(Halt::Unfit)?;
        }
        Ok(monitor)
    }

    /// Whether there is an outcome on which the monitor comes to this verdict. `stop` is asked now and then, with the number of pairs of
    /// states visited so far.
    ///
    /// # Errors
    /// [`Halt::Stopped`] when told to, [`Halt::Unfit`] when the monitor was made for another stream.
    pub fn can_end(
        &mut self,
        start: StreamState,
        monitor: Monitor,
        want: bool,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<bool, Halt> {
        let first = self.monitors.start(monitor);
        self.can_end_from(start, first, want, self.graph.rest(start), stop)
    }

    fn can_end_from(
        &mut self,
        start: StreamState,
        monitor: MonitorState,
        want: bool,
        length: u16,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<bool, Halt> {
        if let Some(known) = self.known((start, monitor, length), want)? {
            return Ok(known);
        }
        let mut road = vec![(start, monitor, 0)];
        self.count_visit(stop)?;
        while let Some((state, monitor, branch)) = road.last_mut() {
            let (from, before, at) = (*state, *monitor, *branch);
            if at == self.graph.ways(from).len() {
                self.can[usize::from(want)].insert((from, before, length), false);
                road.pop();
                continue;
            }
            *branch += 1;
            let next = self.graph.ways(from)[at].next;
            let after = self.after(from, at, before, length)?;
            match self.known((next, after, length), want)? {
                Some(true) => {
                    let can = &mut self.can[usize::from(want)];
                    can.extend(
                        road.iter()
                            .map(|(state, monitor, _)| ((*state, *monitor, length), true)),
                    );
                    return Ok(true);
                }
                Some(false) => {}
                None => {
                    road.push((next, after, 0));
                    self.count_visit(stop)?;
                }
            }
        }
        Ok(false)
    }

    fn known(&self, pair: Pair, want: bool) -> Result<Option<bool>, Halt> {
        let (state, monitor, _) = pair;
        match monitor {
            FALSE | TRUE => Ok(Some((monitor == TRUE) == want)),
            // After the last card every monitor is decided, if it was made for this stream.
            _ if self.graph.rest(state) == 0 => Err(Halt::Unfit),
            _ => Ok(self.can[usize::from(want)].get(&pair).copied()),
        }
    }

    fn count_visit(&mut self, stop: &mut dyn FnMut(u64) -> bool) -> Result<(), Halt> {
        self.visited += 1;
        if self.visited.is_multiple_of(1024) && stop(self.visited) {
            return Err(Halt::Stopped);
        }
        Ok(())
    }

    /// How many choice sequences there are from a start.
    pub fn total(&mut self, start: StreamState) -> BigUint {
        let mut open = vec![start];
        while let Some(state) = open.last().copied() {
            let ways = self.graph.ways(state);
            let missing = ways
                .iter()
                .map(|way| way.next)
                .find(|next| !self.totals.contains_key(next));
            if let Some(next) = missing {
                open.push(next);
                continue;
            }
            open.pop();
            let total = if ways.is_empty() {
                BigUint::from(1_u8)
            } else {
                ways.iter()
                    .filter_map(|way| self.totals.get(&way.next))
                    .sum()
            };
            self.totals.insert(state, total);
        }
        self.totals.get(&start).cloned().unwrap_or_default()
    }

    /// How many choice sequences bring the monitor to this verdict.
    ///
    /// # Errors
    /// As [`Streams::can_end`].
    pub fn count(
        &mut self,
        start: StreamState,
        monitor: Monitor,
        want: bool,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<BigUint, Halt> {
        let length = self.graph.rest(start);
        let first = self.monitors.start(monitor);
        if let Some(known) = self.counted((start, first, length), want)? {
            return Ok(known);
        }
        let mut road = vec![(start, first, 0, BigUint::default())];
        self.count_visit(stop)?;
        while let Some((state, monitor, branch, sum)) = road.last_mut() {
            let (from, before, at) = (*state, *monitor, *branch);
            if at == self.graph.ways(from).len() {
                let sum = std::mem::take(sum);
                self.ways[usize::from(want)].insert((from, before, length), sum);
                road.pop();
                continue;
            }
            let next = self.graph.ways(from)[at].next;
            let after = self.after(from, at, before, length)?;
            if let Some(ways) = self.counted((next, after, length), want)? {
                *sum += ways;
                *branch += 1;
            } else {
                road.push((next, after, 0, BigUint::default()));
                self.count_visit(stop)?;
            }
        }
        Ok(self
            .counted((start, first, length), want)?
            .unwrap_or_default())
    }

    fn counted(&mut self, pair: Pair, want: bool) -> Result<Option<BigUint>, Halt> {
        let (state, monitor, _) = pair;
        match monitor {
            FALSE | TRUE if (monitor == TRUE) == want => Ok(Some(self.total(state))),
            FALSE | TRUE => Ok(Some(BigUint::default())),
            _ if self.graph.rest(state) == 0 => Err(Halt::Unfit),
            _ => Ok(self.ways[usize::from(want)].get(&pair).cloned()),
        }
    }

    /// The choices of the first outcome, in the order of the branches, on which the monitor comes to this verdict; for a shuffle 1 is
    /// "from the left" or "here", for any table the number of the look in [`Streams::looks`].
    ///
    /// # Errors
    /// As [`Streams::can_end`].
    pub fn first(
        &mut self,
        start: StreamState,
        monitor: Monitor,
        want: bool,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<Option<Outcome>, Halt> {
        let length = self.graph.rest(start);
        let mut state = start;
        let mut monitor = self.monitors.start(monitor);
        if !self.can_end_from(state, monitor, want, length, stop)? {
            return Ok(None);
        }
        let mut outcome = Outcome::default();
        while !self.graph.ways(state).is_empty() {
            let mut on = None;
            for at in 0..self.graph.ways(state).len() {
                let next = self.graph.ways(state)[at].next;
                let after = self.after(state, at, monitor, length)?;
                if self.can_end_from(next, after, want, length, stop)? {
                    on = Some((at, after));
                    break;
                }
            }
            let Some((at, after)) = on else {
                return Err(Halt::Unfit);
            };
            let branch = self.graph.ways(state)[at];
            outcome.choices.extend(branch.choice);
            let looks = self.graph.laid_by(&branch);
            outcome
                .looks
                .extend(looks.iter().map(|look| self.graph.look(*look)));
            (state, monitor) = (branch.next, after);
        }
        Ok(Some(outcome))
    }

    /// The looks that a token can have where the monitor of what is given comes to "true".
    ///
    /// # Errors
    /// As [`Streams::can_end`].
    pub fn looks_at(
        &mut self,
        start: StreamState,
        given: Monitor,
        token: u16,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<Vec<Laid>, Halt> {
        let mut found = Vec::new();
        for look in self.looks(start) {
            let Some(is) = self.fixed(start, token, &[look]) else {
                continue;
            };
            let both = self.all(&[(given, true), (is, true)]);
            if self.can_end(start, both, true, stop)? {
                found.push(look);
            }
        }
        Ok(found)
    }
}
