//! What happens on a table: a stray with all that it can come to, a mend, a performer's own sequence.

use super::ground::{Case, Doing, Ground, When};
use super::plan::Seen;
use crate::handling::{self, Forced, Move};
use crate::proof::{Fate, Follow, Fraction, Judge, Limits, MOST_LISTED, Moment, Onward};
use crate::roads::{Domain, Draw, Sighted, domain, seen, take};
use crate::routine::{Fault, Value, World};
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// A road of one stray has at most so many stops.
const MOST_STOPS: usize = 4;

/// So many ways of a shuffle are drawn where there are too many to list.
const SOME: usize = 128;

/// Something that a performer does to set things right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Deed {
    /// A mend of the routine, by its index.
    Mend(usize),
    /// A move of their own.
    Move(Move),
}

/// A stray that happened on one table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Happened {
    /// The world after it.
    pub world: World,
    /// What was chosen in it, first to last.
    pub choices: Vec<Value>,
    /// What the performer saw of it, but for the steps themselves.
    pub sights: Vec<Sighted>,
}

/// Gives verdicts on one routine; keeps what it found out for the next question.
pub struct Rescuer<'g> {
    ground: &'g Ground,
    /// Where ways of a shuffle are drawn from that are too many to list.
    seed: u64,
    pub(super) judge: Judge<'g>,
    /// By mend and moment: what comes of the mend, or `None` where it cannot be done.
    mended: FxHashMap<(usize, Moment), Option<Arc<[Moment]>>>,
    /// By mend and moment: what its looks show.
    glimpsed: FxHashMap<(usize, Moment), Arc<Seen>>,
    /// Whether something could not be decided since it was last asked.
    pub(super) undecided: bool,
    /// Whether only some ways of a shuffle were looked at.
    pub(super) sampled: bool,
}

impl<'g> Rescuer<'g> {
    /// With nothing found out yet. `follow` says whether free shuffles are followed (and exact whatever their number), or else listed.
    #[must_use]
    pub fn new(ground: &'g Ground, follow: bool, limits: &'g Limits<'g>) -> Self {
        let follow = if follow { Follow::All } else { Follow::None };
        Self::following(ground, follow, limits, 0)
    }

    /// The same; some shuffles may be followed and others listed, and parts are drawn from this seed.
    pub(super) fn following(
        ground: &'g Ground,
        follow: Follow,
        limits: &'g Limits<'g>,
        seed: u64,
    ) -> Self {
        Self {
            ground,
            seed,
            judge: Judge::new(
                ground.routine(),
                &ground.names,
                &ground.piles,
                follow,
                limits,
            ),
            mended: FxHashMap::default(),
            glimpsed: FxHashMap::default(),
            undecided: false,
            sampled: false,
        }
    }

    /// What it was made from.
    #[must_use]
    pub fn ground(&self) -> &'g Ground {
        self.ground
    }

    /// The moment of a world of the ground.
    pub fn moment(&mut self, world: World) -> Moment {
        self.judge.moment(world, None)
    }

    /// Lets a stray happen on one table; each choice in it is taken by `choose`.
    ///
    /// # Errors
    /// When the stray makes no sense there, or a step done otherwise cannot be done.
    pub fn happen(
        &self,
        case: &Case,
        world: World,
        mut choose: impl FnMut(&Domain) -> Value,
    ) -> Result<Happened, Fault> {
        let routine = self.ground.routine();
        let mut now = self.ground.enter(world);
        let (mut choices, mut sights) = (Vec::new(), Vec::new());
        match &case.doing {
            Doing::Forget(name) => {
                if let Some(slot) = now.memory.get_mut(name.index()) {
                    *slot = None;
                }
            }
            Doing::Stops(stops) => {
                let first = stops.iter().find(|(next, _)| *next == now.at);
                let (_, first) = first
                    .ok_or_else(|| Fault::Choice("this stray does not happen here".to_owned()))?;
                now.at = *first;
                for _ in 0..MOST_STOPS {
                    if self.ground.is_own(now.at) || now.at == routine.finish() {
                        break;
                    }
                    let choice = domain(routine, &now)?.map(|open| choose(&open));
                    let taken = take(routine, &now, choice.as_ref())?;
                    choices.extend(choice);
                    sights.extend(
                        taken
                            .sights
                            .into_iter()
                            .filter(|seen| !matches!(seen, Sighted::Stop(_))),
                    );
                    now = taken.world;
                }
            }
        }
        Ok(Happened {
            world: now,
            choices,
            sights,
        })
    }

    /// Everything that a stray can come to at a moment; nothing where it makes no sense there, `None` where that cannot be worked out.
    /// `briefly`: a shuffle in it is looked at in so many ways only, whatever it can lay down.
    pub(super) fn strayed(
        &mut self,
        case: &Case,
        moment: Moment,
        briefly: Option<usize>,
    ) -> Option<Vec<Strayed>> {
        if !self.makes_sense(case, moment) {
            return Some(Vec::new());
        }
        let stops = match &case.doing {
            Doing::Forget(name) => {
                let mut world = self.judge.world(moment);
                let slot = world.memory.get_mut(name.index());
                if slot.is_none_or(|slot| slot.take().is_none()) {
                    return Some(Vec::new());
                }
                return Some(vec![Strayed {
                    to: Some(self.judge.moment(world, None)),
                    branch: 0,
                    weight: Fraction::ONE,
                }]);
            }
            Doing::Stops(stops) => stops,
        };
        let next = self.judge.stop_of(moment);
        let Some((_, first)) = stops.iter().find(|(at, _)| *at == next) else {
            return Some(Vec::new());
        };
        let mut waiting = Vec::new();
        let mut found = Vec::new();
        if self.judge.is_shuffle(*first) {
            let turned = self.judge.turned_to(moment, *first);
            waiting.push((turned, None, Fraction::ONE));
        } else {
            let onward = self.judge.onward_by(moment, *first)?;
            self.go_on(case, onward, None, &Fraction::ONE, &mut waiting, &mut found);
        }
        while let Some((moment, branch, weight)) = waiting.pop() {
            let few = match briefly {
                Some(few) if self.judge.shuffles(moment) => Some(few),
                Some(_) | None => self.judge.overflows(moment).then_some(SOME),
            };
            if let Some(few) = few {
                self.sampled = true;
                found.extend(self.some(moment, branch, &weight, few));
                continue;
            }
            let onward = self.judge.onward(moment)?;
            self.go_on(case, onward, branch, &weight, &mut waiting, &mut found);
        }
        if let (Some(name), When::After) = (case.name, case.when) {
            // Somebody who says the same again has not changed their mind.
            let before = self.judge.value(moment, name);
            found.retain(|strayed| {
                strayed
                    .to
                    .is_none_or(|to| self.judge.value(to, name) != before || before.is_none())
            });
        }
        Some(found)
    }

    /// Sorts what follows a step of a stray: what the stray goes on from is waiting, the rest is found.
    fn go_on(
        &self,
        case: &Case,
        onward: Vec<Onward>,
        branch: Option<u64>,
        weight: &Fraction,
        waiting: &mut Vec<(Moment, Option<u64>, Fraction)>,
        found: &mut Vec<Strayed>,
    ) {
        for Onward {
            branch: this,
            to,
            weight: (part, of),
        } in onward
        {
            let branch = branch.unwrap_or(this);
            let weight = weight.times(&Fraction::of(part, of));
            match to {
                // A stray that cannot be done does not happen; a step done otherwise that cannot be done is a step that cannot be.
                None if case.when == When::After => {}
                Some(to) if self.is_within_a_stray(to) => waiting.push((to, Some(branch), weight)),
                Some(_) | None => found.push(Strayed { to, branch, weight }),
            }
        }
    }

    /// Whether a stray goes on from a moment.
    fn is_within_a_stray(&self, moment: Moment) -> bool {
        let at = self.judge.stop_of(moment);
        !self.ground.is_own(at) && at != self.ground.routine().finish()
    }

    /// As [`Case::makes_sense`], of a moment.
    fn makes_sense(&self, case: &Case, moment: Moment) -> bool {
        let mut piles = case.piles.iter();
        piles.all(|pile| self.judge.size(moment, *pile) >= case.least)
    }

    /// How many moments a stray comes to at a moment, about, without going through a shuffle in it.
    pub(super) fn ways(&mut self, case: &Case, moment: Moment) -> usize {
        let next = self.judge.stop_of(moment);
        let Doing::Stops(stops) = &case.doing else {
            return 1;
        };
        let Some((_, first)) = stops.iter().find(|(at, _)| *at == next) else {
            return 0;
        };
        if !self.makes_sense(case, moment) {
            return 0;
        }
        let mut open = vec![self.judge.turned_to(moment, *first)];
        let mut ways = 0_usize;
        while let Some(moment) = open.pop() {
            if self.judge.shuffles(moment) {
                let world = self.judge.world(moment);
                let count = domain(self.ground.routine(), &world).ok().flatten();
                let count = count.map_or(1, |open| open.count().min(MOST_LISTED as u128));
                ways = ways.saturating_add(usize::try_from(count).unwrap_or(MOST_LISTED));
                continue;
            }
            for onward in self.judge.onward(moment).unwrap_or_default() {
                match onward.to {
                    Some(to) if self.is_within_a_stray(to) => open.push(to),
                    Some(_) | None => ways = ways.saturating_add(1),
                }
            }
        }
        ways
    }

    /// Some ways of a shuffle that can lay down too many packets, drawn at random.
    fn some(
        &mut self,
        moment: Moment,
        branch: Option<u64>,
        weight: &Fraction,
        few: usize,
    ) -> Vec<Strayed> {
        let world = self.judge.world(moment);
        let Ok(Some(open)) = domain(self.ground.routine(), &world) else {
            return Vec::new();
        };
        let mut draw = Draw::for_step(self.seed, "stray", 1);
        let each = weight.times(&Fraction::of(1, few as u128));
        (0..few)
            .filter_map(|_| {
                let choice = open.sample(&mut draw);
                let to = self.judge.by_choice(&world, &open, &choice)?;
                Some(Strayed {
                    to: Some(to),
                    branch: branch.unwrap_or(0),
                    weight: each.clone(),
                })
            })
            .collect()
    }

    /// Whether only some ways of a shuffle were looked at since it was last asked.
    pub(super) fn is_partial(&self) -> bool {
        self.sampled
    }

    /// The same, and it is asked anew from here on.
    pub(super) fn took_some(&mut self) -> bool {
        std::mem::take(&mut self.sampled)
    }

    /// Whether all roads from a moment end well.
    pub(super) fn ends_well(&mut self, moment: Moment) -> bool {
        match self.judge.fate(moment) {
            Fate::Good(_) => true,
            Fate::Bad => false,
            Fate::Undecided => {
                self.undecided = true;
                false
            }
        }
    }

    /// What comes of a mend at a moment, one moment for each face that it hangs on; `None` where it cannot be done.
    pub(super) fn mended(&mut self, mend: usize, moment: Moment) -> Option<Arc<[Moment]>> {
        if let Some(known) = self.mended.get(&(mend, moment)) {
            return known.clone();
        }
        let after = self.mend_now(mend, moment);
        self.mended.insert((mend, moment), after.clone());
        after
    }

    fn mend_now(&mut self, mend: usize, moment: Moment) -> Option<Arc<[Moment]>> {
        let stop = self.ground.mend(mend, self.judge.stop_of(moment))?;
        let Some(onward) = self.judge.onward_by(moment, stop) else {
            self.undecided = true;
            return None;
        };
        onward.into_iter().map(|onward| onward.to).collect()
    }

    /// What the looks of a mend show at a moment.
    pub(super) fn glimpsed(&mut self, mend: usize, moment: Moment) -> Arc<Seen> {
        if let Some(known) = self.glimpsed.get(&(mend, moment)) {
            return Arc::clone(known);
        }
        let world = self.judge.world(moment);
        let routine = self.ground.routine();
        let looks = routine.mends.get(mend).map_or(&[][..], |m| &m.looks);
        let shown: Arc<Seen> = Arc::new(
            seen(routine, &world, looks)
                .into_iter()
                .map(Result::ok)
                .collect(),
        );
        self.glimpsed.insert((mend, moment), Arc::clone(&shown));
        shown
    }

    /// Whether a performer's own sequence makes it safe: on every one of these tables, which are all that fit what was seen, every step of
    /// it can be done and all roads end well afterwards. Luck on some of them is not enough.
    pub fn mends_it(&mut self, worlds: &[World], sequence: &[Deed]) -> bool {
        !worlds.is_empty()
            && worlds
                .iter()
                .all(|world| self.mends_one(world.clone(), sequence))
    }

    fn mends_one(&mut self, world: World, sequence: &[Deed]) -> bool {
        let entered = self.ground.enter(world);
        let mut moments = vec![entered];
        for deed in sequence {
            let mut after = Vec::new();
            for mut world in moments {
                match deed {
                    Deed::Mend(mend) => {
                        let at = world.at;
                        let Some(stop) = self.ground.mend(*mend, at) else {
                            return false;
                        };
                        world.at = stop;
                        // Whole worlds, not moments: a move of the performer's own may name any pile.
                        match take(self.ground.routine(), &world, None) {
                            Ok(taken) => after.push(taken.world),
                            Err(Fault::Unfixed(_)) => {
                                let moment = self.judge.moment(world, None);
                                let Some(onward) = self.judge.onward(moment) else {
                                    return false;
                                };
                                for onward in onward {
                                    let Some(to) = onward.to else { return false };
                                    after.push(self.judge.world(to));
                                }
                            }
                            Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => {
                                return false;
                            }
                        }
                    }
                    Deed::Move(mv) => {
                        let Ok(program) = handling::program(mv, &world.table) else {
                            return false;
                        };
                        if program.is_free()
                            || handling::run(&program, &mut world.table, &mut Forced).is_err()
                        {
                            return false;
                        }
                        after.push(world);
                    }
                }
            }
            moments = after;
        }
        moments.into_iter().all(|world| {
            let moment = self.judge.moment(world, None);
            self.ends_well(moment)
        })
    }
}

/// What a stray came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Strayed {
    /// The moment after it; `None` where the step cannot be done so.
    pub(super) to: Option<Moment>,
    /// The branch of what was chosen in it first.
    pub(super) branch: u64,
    /// Its chance among all that the stray can come to at the same moment.
    pub(super) weight: Fraction,
}
