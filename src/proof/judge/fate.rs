//! What all roads from a moment come to, depth first.

use super::book::Opened;
use super::{EndingSet, Fate, Judge, Moment, followed};
use crate::cards::Card;
use crate::proof::explore::broken;
use crate::proof::shuffled::Lost;
use crate::proof::state::Cores;
use crate::roads::domain;
use rustc_hash::FxHashMap;

/// So many ways of a shuffle are tried before it is listed.
const TRIED: u128 = 12;

/// A state on the way of a search.
struct Frame {
    n: u32,
    onward: Vec<u32>,
    next: usize,
    index: u32,
    low: u32,
    endings: EndingSet,
}

impl Judge<'_> {
    /// Whether a few ways of a free shuffle that comes next and must be listed show that it can go wrong: most that can, do soon.
    fn goes_wrong_soon(&mut self, n: u32) -> bool {
        let moment = Moment(n);
        if !self.shuffles(moment) {
            return false;
        }
        let world = self.world(moment);
        let Ok(Some(open)) = domain(self.expander.routine, &world) else {
            return false;
        };
        let count = open.count();
        (0..TRIED.min(count)).any(|k| {
            let Some(choice) = open.nth(count / TRIED.min(count) * k) else {
                return false;
            };
            let after = self.by_choice(&world, &open, &choice);
            after.is_some_and(|after| self.fate(after) == Fate::Bad)
        })
    }

    /// What all roads from the moment come to.
    pub fn fate(&mut self, moment: Moment) -> Fate {
        if let Some(fate) = self.book.fate(moment.0) {
            return fate;
        }
        let fate = self.searched(moment.0);
        if fate == Fate::Undecided && !(self.expander.limits.stop)() {
            self.book.set_fate(moment.0, fate);
        }
        fate
    }

    /// Whether a claim that is still to be looked at breaks. A card whose face must be fixed first comes back.
    pub(super) fn breaks(&mut self, n: u32) -> Result<Result<bool, Card>, Lost> {
        let core = self.book.core(n);
        let whole = self.expander.cores.core(core);
        if whole.done.is_none() {
            return Ok(Ok(false));
        }
        if whole.origin != 0 {
            let whole = whole.clone();
            let cells = self.book.cells(n);
            self.work += followed(cells.len());
            let world = self.expander.cores.world(core, cells);
            return Ok(Ok(self.expander.breakable(&whole, &world)? != 0));
        }
        let cells = self.book.cells(n);
        Ok(broken(&self.expander, core, cells, &mut Cores::desk()).map(|broken| broken != 0))
    }

    /// A state opened: what follows it, or `None` where something goes wrong at once.
    fn opened(&mut self, n: u32, index: u32) -> Result<Option<Frame>, Lost> {
        let card = match self.breaks(n)? {
            Ok(true) => {
                // After a followed shuffle some of what it can give breaks it, and the rest may not.
                if self.core(n).origin == 0 {
                    self.book.set_opened(n, Opened::Broken);
                }
                return Ok(None);
            }
            Ok(false) => None,
            Err(card) => Some(card),
        };
        if self.goes_wrong_soon(n) {
            return Ok(None);
        }
        if self.overflows(Moment(n)) {
            return Err(Lost::Unfollowable);
        }
        let steps = self.steps(n, card);
        self.work += 1 + steps.len() as u64;
        if let Some(lost) = self.expander.lost.take() {
            return Err(lost);
        }
        let at = self.core(n).at;
        let ending = self.endings.iter().position(|first| *first == at);
        let mut onward = Vec::with_capacity(steps.len());
        for step in steps {
            match step.to {
                None => return Ok(None),
                Some(to) => {
                    if onward.last() != Some(&to.0) {
                        onward.push(to.0);
                    }
                }
            }
        }
        if let [only] = onward[..] {
            self.book.set_opened(n, Opened::Only(only));
        }
        // What is nearest to the end first: a road that goes wrong shows it soonest there, and not after going round and round.
        onward.sort_by_key(|to| std::cmp::Reverse(self.core(*to).at));
        Ok(Some(Frame {
            n,
            onward,
            next: 0,
            index,
            low: index,
            endings: ending.map_or_else(EndingSet::default, |e| EndingSet::default().with(e)),
        }))
    }

    fn searched(&mut self, start: u32) -> Fate {
        self.expander.weighs = false;
        let mut indices: FxHashMap<u32, u32> = FxHashMap::default();
        // States that a circle may still hold together.
        let mut open: Vec<u32> = Vec::new();
        let mut way: Vec<Frame> = Vec::new();
        let mut coming = Some(start);
        loop {
            if let Some(n) = coming.take() {
                if indices.len() % 256 == 255 && (self.expander.limits.stop)() {
                    return Fate::Undecided;
                }
                let index = u32::try_from(indices.len()).unwrap_or(u32::MAX);
                indices.insert(n, index);
                match self.opened(n, index) {
                    Err(_) => return Fate::Undecided,
                    Ok(None) => {
                        self.book.set_fate(n, Fate::Bad);
                        return self.all_bad(&way);
                    }
                    Ok(Some(frame)) => {
                        open.push(n);
                        way.push(frame);
                    }
                }
            }
            let Some(frame) = way.last_mut() else {
                // The start was settled with the last circle.
                return self.book.fate(start).unwrap_or(Fate::Undecided);
            };
            if let Some(to) = frame.onward.get(frame.next).copied() {
                frame.next += 1;
                match self.book.fate(to) {
                    Some(Fate::Good(endings)) => frame.endings = frame.endings.and(endings),
                    Some(Fate::Bad) => return self.all_bad(&way),
                    Some(Fate::Undecided) => return Fate::Undecided,
                    None => match indices.get(&to) {
                        Some(index) => frame.low = frame.low.min(*index),
                        None => coming = Some(to),
                    },
                }
                continue;
            }
            let Some(done) = way.pop() else { continue };
            if done.low == done.index {
                while let Some(n) = open.pop() {
                    self.book.set_fate(n, Fate::Good(done.endings));
                    if n == done.n {
                        break;
                    }
                }
            }
            if let Some(before) = way.last_mut() {
                before.low = before.low.min(done.low);
                before.endings = before.endings.and(done.endings);
            }
        }
    }

    fn all_bad(&mut self, way: &[Frame]) -> Fate {
        for frame in way {
            self.book.set_fate(frame.n, Fate::Bad);
        }
        Fate::Bad
    }
}
