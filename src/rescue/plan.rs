//! Plans: which mends, in which order, after which look; and the search for a shortest one.
//!
//! A plan for a set of tables works on each of its parts, so the search keeps a few tables only and adds one on which a plan fails until
//! none does. What it ends with is as short as any plan for the whole set can be, and it was tried on the whole set.

use super::rescuer::Rescuer;
use crate::proof::Moment;
use crate::roads::Sighted;
use std::sync::Arc;

/// No longer plan is looked for.
pub const LONGEST_PLAN: usize = 3;

/// What a look at the table showed: for each thing looked at, in order, what it showed; `None` where nothing is known of it.
pub type Seen = Vec<Option<Sighted>>;

/// What to do to make it safe.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Plan {
    /// Nothing more.
    Done,
    /// This mend, by its index in the routine, and then the rest.
    Mend(usize, Box<Plan>),
    /// What this mend looks at first; then by what is seen. The mend itself is not done yet.
    Look(usize, Vec<(Seen, Plan)>),
}

/// How much a plan asks: the most mends one after the other, their ranks together, and the looks.
type Cost = (usize, u32, usize);

impl Plan {
    /// The most mends that it does one after the other.
    #[must_use]
    pub fn length(&self) -> usize {
        match self {
            Self::Done => 0,
            Self::Mend(_, rest) => 1 + rest.length(),
            Self::Look(_, cases) => cases.iter().map(|(_, p)| p.length()).max().unwrap_or(0),
        }
    }

    /// Whether it looks at something first.
    #[must_use]
    pub fn looks(&self) -> bool {
        match self {
            Self::Done => false,
            Self::Mend(_, rest) => rest.looks(),
            Self::Look(..) => true,
        }
    }

    /// The mends that it does or looks by, each once.
    #[must_use]
    pub fn mends(&self) -> Vec<usize> {
        let mut mends = Vec::new();
        self.gather(&mut mends);
        mends.sort_unstable();
        mends.dedup();
        mends
    }

    fn gather(&self, mends: &mut Vec<usize>) {
        match self {
            Self::Done => {}
            Self::Mend(mend, rest) => {
                mends.push(*mend);
                rest.gather(mends);
            }
            Self::Look(mend, cases) => {
                mends.push(*mend);
                cases.iter().for_each(|(_, plan)| plan.gather(mends));
            }
        }
    }
}

impl Rescuer<'_> {
    /// A shortest plan after which all roads end well from each of these moments; among the shortest one of least ranks together, and
    /// among these one of fewest looks. `None` where no plan of at most [`LONGEST_PLAN`] mends does.
    pub fn plan(&mut self, moments: &[Moment]) -> Option<Plan> {
        self.plan_for(*moments.first()?, &moments.iter().copied())
    }

    /// The same; the search begins with this one of them.
    pub(super) fn plan_for(
        &mut self,
        first: Moment,
        moments: &(impl Iterator<Item = Moment> + Clone),
    ) -> Option<Plan> {
        let mut few = vec![first];
        loop {
            let (plan, _) = self.within(&few, LONGEST_PLAN, 0)?;
            let fails = moments.clone().find(|moment| !self.works(&plan, *moment));
            match fails {
                None => return Some(plan),
                // A table on which it works already would be added for ever.
                Some(moment) if few.contains(&moment) => return None,
                Some(moment) => few.push(moment),
            }
        }
    }

    /// Whether all roads end well after the plan, from this moment.
    fn works(&mut self, plan: &Plan, moment: Moment) -> bool {
        match plan {
            Plan::Done => self.ends_well(moment),
            Plan::Mend(mend, rest) => match self.mended(*mend, moment) {
                Some(after) => after.iter().all(|moment| self.works(rest, *moment)),
                None => false,
            },
            Plan::Look(mend, cases) => {
                let seen = self.glimpsed(*mend, moment);
                let case = cases.iter().find(|(what, _)| *what == *seen);
                case.is_some_and(|(_, plan)| self.works(plan, moment))
            }
        }
    }

    /// A cheapest plan of at most so many mends. `looked`: the mends whose looks were taken since the last move, one bit each.
    fn within(&mut self, moments: &[Moment], most: usize, looked: u64) -> Option<(Plan, Cost)> {
        (0..=most).find_map(|length| self.exactly(moments, length, looked))
    }

    fn exactly(&mut self, moments: &[Moment], length: usize, looked: u64) -> Option<(Plan, Cost)> {
        if length == 0 {
            let well = moments.iter().all(|moment| self.ends_well(*moment));
            return well.then_some((Plan::Done, (0, 0, 0)));
        }
        let mut best: Option<(Plan, Cost)> = None;
        for mend in 0..self.ground().routine().mends.len() {
            let found = self.by_doing(mend, moments, length);
            best = cheaper(best, found);
            let found = self.by_looking(mend, moments, length, looked);
            best = cheaper(best, found);
        }
        best
    }

    fn by_doing(&mut self, mend: usize, moments: &[Moment], length: usize) -> Option<(Plan, Cost)> {
        let mut after = Vec::with_capacity(moments.len());
        for moment in moments {
            after.extend(self.mended(mend, *moment)?.iter().copied());
        }
        after.sort_unstable();
        after.dedup();
        let (rest, (_, ranks, looks)) = self.exactly(&after, length - 1, 0)?;
        let rank = self.ground().routine().mends.get(mend)?.rank;
        let cost = (length, ranks + u32::from(rank), looks);
        Some((Plan::Mend(mend, Box::new(rest)), cost))
    }

    fn by_looking(
        &mut self,
        mend: usize,
        moments: &[Moment],
        length: usize,
        looked: u64,
    ) -> Option<(Plan, Cost)> {
        let bit = 1_u64 << mend.min(63);
        let looks = self.ground().routine().mends.get(mend)?.looks.is_empty();
        if looks || looked & bit != 0 {
            return None;
        }
        let mut parts: Vec<(Arc<Seen>, Vec<Moment>)> = Vec::new();
        for moment in moments {
            let seen = self.glimpsed(mend, *moment);
            match parts.iter_mut().find(|(what, _)| *what == seen) {
                Some((_, part)) => part.push(*moment),
                None => parts.push((seen, vec![*moment])),
            }
        }
        if parts.len() < 2 {
            return None;
        }
        parts.sort();
        let mut cases = Vec::with_capacity(parts.len());
        let mut whole: Cost = (0, 0, 0);
        for (seen, part) in parts {
            let (plan, cost) = self.within(&part, length, looked | bit)?;
            whole = (
                whole.0.max(cost.0),
                whole.1.max(cost.1),
                whole.2.max(cost.2),
            );
            cases.push((Seen::clone(&seen), plan));
        }
        whole.2 += 1;
        (whole.0 == length).then_some((Plan::Look(mend, cases), whole))
    }
}

fn cheaper(one: Option<(Plan, Cost)>, other: Option<(Plan, Cost)>) -> Option<(Plan, Cost)> {
    match (one, other) {
        (Some(one), Some(other)) => Some(if other.1 < one.1 { other } else { one }),
        (one, None) => one,
        (None, other) => other,
    }
}
