//! The chance that all goes well from a moment on.
//!
//! A road is a random walk over the states: at a fork each branch comes with its weight, an unknown card is each of those it can be with
//! their number. Let g(s) be the chance that no claim breaks and every step can be done from state s on: 0 where a claim breaks, 1 where
//! all roads end well and at the end of the road, otherwise the weighted mean of g over what follows. Each state is worked out once, those
//! that follow it first. After a followed shuffle the outcomes that keep a claim, among those that what is known leaves, go on with that
//! claim known to hold.
//!
//! A state from which a road can come round again has no chance here, nor has one that leads to it.

use super::book::Opened;
use super::{Fate, Judge, Moment, followed};
use crate::proof::fraction::Fraction;
use crate::proof::shuffled::Lost;
use num_traits::Zero;
use rustc_hash::FxHashSet;

/// A state on the way, with what follows it and its share, and what that comes to so far.
struct Leg {
    n: u32,
    onward: Vec<(u32, Fraction)>,
    next: usize,
    sum: Fraction,
}

/// Why there is no chance.
enum Why {
    /// It has none, and so has nothing that leads to it.
    None,
    /// Whoever asked said to stop, or it is too much.
    Stopped,
}

impl Judge<'_> {
    /// How much chances may cost from here on, in steps taken; a state after a followed shuffle costs as much as many.
    pub fn allow(&mut self, steps: u64) {
        self.most_work = self.work.saturating_add(steps);
    }

    /// The chance that all goes well on a random road from a moment; `None` where it cannot be worked out: it costs more than was allowed,
    /// a road can come round again, or a free shuffle can neither be followed nor listed.
    pub fn chance(&mut self, moment: Moment) -> Option<Fraction> {
        if let Some(known) = self.settled_chance(moment.0) {
            return known;
        }
        let found = self.walked(moment.0);
        self.expander.lost = None;
        found
    }

    fn settled_chance(&self, n: u32) -> Option<Option<Fraction>> {
        match self.book.fate(n) {
            Some(Fate::Good(_)) => Some(Some(Fraction::ONE)),
            Some(Fate::Bad | Fate::Undecided) | None => self.book.chance(n).cloned(),
        }
    }

    fn walked(&mut self, start: u32) -> Option<Fraction> {
        let mut way: Vec<Leg> = Vec::new();
        let mut open: FxHashSet<u32> = FxHashSet::default();
        let mut coming = Some(start);
        loop {
            if let Some(n) = coming.take() {
                self.work += 1;
                let stopped = self.work >= self.most_work
                    || (self.work.is_multiple_of(256) && (self.expander.limits.stop)());
                let leg = if stopped {
                    Err(Why::Stopped)
                } else {
                    self.leg(n)
                };
                match leg {
                    Ok(leg) => {
                        open.insert(n);
                        way.push(leg);
                    }
                    Err(Why::Stopped) => return None,
                    Err(Why::None) => {
                        self.book.set_chance(n, None);
                        return self.none_on(&way);
                    }
                }
            }
            let leg = way.last_mut()?;
            if let Some((to, share)) = leg.onward.get(leg.next) {
                let (to, share) = (*to, share.clone());
                if open.contains(&to) {
                    return self.none_on(&way);
                }
                match self.settled_chance(to) {
                    Some(Some(chance)) => {
                        leg.sum = leg.sum.plus(&share.times(&chance));
                        leg.next += 1;
                    }
                    Some(None) => return self.none_on(&way),
                    None => coming = Some(to),
                }
                continue;
            }
            let Some(Leg { n, sum, .. }) = way.pop() else {
                continue;
            };
            open.remove(&n);
            self.book.set_chance(n, Some(sum.clone()));
            if way.is_empty() {
                return Some(sum);
            }
        }
    }

    fn none_on(&mut self, way: &[Leg]) -> Option<Fraction> {
        for leg in way {
            self.book.set_chance(leg.n, None);
        }
        None
    }

    /// What follows a state with a chance above nought.
    fn leg(&mut self, n: u32) -> Result<Leg, Why> {
        let end = |sum: Fraction| Leg {
            n,
            onward: Vec::new(),
            next: 0,
            sum,
        };
        if let Fate::Good(_) = self.fate(Moment(n)) {
            return Ok(end(Fraction::ONE));
        }
        match self.book.opened(n) {
            Some(Opened::Broken) => return Ok(end(Fraction::NOUGHT)),
            Some(Opened::Only(to)) => {
                return Ok(Leg {
                    onward: vec![(to, Fraction::ONE)],
                    ..end(Fraction::NOUGHT)
                });
            }
            None => {}
        }
        self.expander.weighs = true;
        let core = self.book.core(n);
        let whole = self.expander.cores.core(core);
        let card = if whole.done.is_some() && whole.origin != 0 {
            match self.parted(n) {
                Ok(Kept::Parted(share, to)) => {
                    return Ok(Leg {
                        onward: vec![(to, share)],
                        ..end(Fraction::NOUGHT)
                    });
                }
                Ok(Kept::None) => return Ok(end(Fraction::NOUGHT)),
                Ok(Kept::All) => None,
                Err(_) => return Err(Why::None),
            }
        } else {
            match self.breaks(n) {
                Ok(Ok(true)) => return Ok(end(Fraction::NOUGHT)),
                Ok(Ok(false)) => None,
                Ok(Err(card)) => Some(card),
                Err(_) => return Err(Why::None),
            }
        };
        if self.overflows(Moment(n)) {
            return Err(Why::None);
        }
        let steps = self.steps(n, card);
        self.work += steps.len() as u64;
        if let Some(lost) = self.expander.lost.take() {
            return Err(match lost {
                Lost::Stopped => Why::Stopped,
                Lost::Unfollowable | Lost::NotInductive => Why::None,
            });
        }
        if steps.is_empty() && self.expander.ends(core) {
            return Ok(end(Fraction::ONE));
        }
        let mut onward: Vec<(u32, Fraction)> = Vec::with_capacity(steps.len());
        for step in steps {
            let Some(to) = step.to else { continue };
            let share = Fraction::of(step.weight.0, step.weight.1);
            match onward.last_mut() {
                Some((last, sum)) if *last == to.0 => *sum = sum.plus(&share),
                _ if share.is_nought() => {}
                _ => onward.push((to.0, share)),
            }
        }
        Ok(Leg {
            onward,
            ..end(Fraction::NOUGHT)
        })
    }

    /// Parts a state after a followed shuffle by the first claim that some outcomes keep and others break.
    fn parted(&mut self, n: u32) -> Result<Kept, Lost> {
        let (core, cells) = (self.book.core(n), self.book.cells(n).to_vec());
        let whole = self.expander.cores.core(core).clone();
        let routine = self.expander.routine;
        let Some(stop) = whole.done.and_then(|done| routine.stop(done)) else {
            return Ok(Kept::All);
        };
        let world = self.expander.cores.world(core, &cells);
        self.work += followed(cells.len());
        for claim in &stop.claims {
            let Some((kept, broken, monitor)) = self.expander.weigh(&whole, &world, &claim.kind)?
            else {
                continue;
            };
            if broken.is_zero() {
                continue;
            }
            if kept.is_zero() {
                return Ok(Kept::None);
            }
            let share = Fraction::of_big(&kept, &(&kept + &broken));
            let mut whole = whole;
            whole.given.push((monitor, true));
            let core = self.expander.cores.number(whole);
            return Ok(Kept::Parted(share, self.number(core, &cells)));
        }
        Ok(Kept::All)
    }
}

/// Which outcomes of a followed shuffle keep the claims that are looked at.
enum Kept {
    /// All.
    All,
    /// None.
    None,
    /// Of one claim this share of them, which this state stands for.
    Parted(Fraction, u32),
}
