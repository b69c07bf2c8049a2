//! Verdicts: what all roads from a set of tables come to, and what makes them end well.

use super::ground::{Case, Doing, Ground};
use super::plan::{Plan, Seen};
use crate::handling::{self, Forced, Move};
use crate::proof::{EndingSet, Fate, Judge, Limits, Moment, Onward};
use crate::roads::{Domain, Draw, Sighted, domain, seen, take};
use crate::routine::{Fault, Value, World};
use num_bigint::BigUint;
use num_rational::BigRational;
use num_traits::Zero;
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// A road of one stray has at most so many stops.
const MOST_STOPS: usize = 4;

/// So many ways of a shuffle are drawn where there are too many to list.
const SOME: usize = 128;

/// Chances are worked out for so many moments at once.
const AT_ONCE: usize = 512;

/// What is to be done about a set of tables.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// Every ending claim still holds on all roads that remain.
    Safe,
    /// This makes it so.
    Mend(Plan),
    /// It ends well, but at another ending on some road: one of these, by their index in the routine.
    Out(Vec<usize>),
    /// Neither; with the chance that it goes well all the same, where that could be worked out.
    Lost {
        /// The chance of getting away with it.
        chance: Option<BigRational>,
    },
    /// The budget ran out first, or a shuffle could not be followed.
    Undecided,
}

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
    pub(super) judge: Judge<'g>,
    /// By mend and moment: what comes of the mend, or `None` where it cannot be done.
    mended: FxHashMap<(usize, Moment), Option<Arc<[Moment]>>>,
    /// Whether something could not be decided since it was last asked.
    undecided: bool,
    /// Whether only some ways of a shuffle were looked at.
    sampled: bool,
}

impl<'g> Rescuer<'g> {
    /// With nothing found out yet. `follow` says whether free shuffles are followed (and exact whatever their number), or else listed.
    #[must_use]
    pub fn new(ground: &'g Ground, follow: bool, limits: &'g Limits<'g>) -> Self {
        Self {
            ground,
            judge: Judge::new(
                ground.routine(),
                &ground.names,
                &ground.piles,
                follow,
                limits,
            ),
            mended: FxHashMap::default(),
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
    pub(super) fn strayed(&mut self, case: &Case, moment: Moment) -> Option<Vec<Strayed>> {
        let world = self.judge.world(moment);
        if !case.makes_sense(&world) {
            return Some(Vec::new());
        }
        let stops = match &case.doing {
            Doing::Forget(name) => {
                let mut world = world;
                let slot = world.memory.get_mut(name.index());
                if slot.is_none_or(|slot| slot.take().is_none()) {
                    return Some(Vec::new());
                }
                return Some(vec![Strayed {
                    to: Some(self.judge.moment(world, None)),
                    branch: 0,
                    weight: BigRational::from_integer(1.into()),
                }]);
            }
            Doing::Stops(stops) => stops,
        };
        let next = self.judge.stop_of(moment);
        let Some((_, first)) = stops.iter().find(|(at, _)| *at == next) else {
            return Some(Vec::new());
        };
        let turned = self.judge.turned_to(moment, *first);
        let mut waiting = vec![(turned, None, BigRational::from_integer(1.into()))];
        let mut found = Vec::new();
        let instead = case.when == super::ground::When::Instead;
        while let Some((moment, branch, weight)) = waiting.pop() {
            if self.judge.overflows(moment) {
                self.sampled = true;
                found.extend(self.some(moment, branch, &weight));
                continue;
            }
            for Onward {
                branch: this,
                to,
                weight: (part, of),
            } in self.judge.onward(moment)?
            {
                let branch = branch.unwrap_or(this);
                let weight = &weight * share(part, of);
                match to {
                    // A stray that cannot be done does not happen; a step done otherwise that cannot be done is a step that cannot be.
                    None if !instead => {}
                    Some(to)
                        if !self.ground.is_own(self.judge.stop_of(to))
                            && self.judge.stop_of(to) != self.ground.routine().finish() =>
                    {
                        waiting.push((to, Some(branch), weight));
                    }
                    Some(_) | None => found.push(Strayed { to, branch, weight }),
                }
            }
        }
        if let (Some(name), super::ground::When::After) = (case.name, case.when) {
            // Somebody who says the same again has not changed their mind.
            let before = world.value(name);
            found.retain(|strayed| {
                strayed
                    .to
                    .is_none_or(|to| self.judge.world(to).value(name) != before || before.is_none())
            });
        }
        Some(found)
    }

    /// Some ways of a shuffle that can lay down too many packets, drawn at random.
    fn some(&mut self, moment: Moment, branch: Option<u64>, weight: &BigRational) -> Vec<Strayed> {
        let world = self.judge.world(moment);
        let Ok(Some(open)) = domain(self.ground.routine(), &world) else {
            return Vec::new();
        };
        let mut draw = Draw::for_step(0, "stray", 1);
        let each = weight * share(1, SOME as u128);
        (0..SOME)
            .filter_map(|_| {
                let choice = open.sample(&mut draw);
                let to = self.judge.by_choice(moment, &choice)?;
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
        let turned = self.judge.turned_to(moment, stop);
        let Some(onward) = self.judge.onward(turned) else {
            self.undecided = true;
            return None;
        };
        onward.into_iter().map(|onward| onward.to).collect()
    }

    /// What the looks of a mend show at a moment.
    pub(super) fn glimpsed(&mut self, mend: usize, moment: Moment) -> Seen {
        let world = self.judge.world(moment);
        let routine = self.ground.routine();
        let looks = routine.mends.get(mend).map_or(&[][..], |m| &m.looks);
        seen(routine, &world, looks)
            .into_iter()
            .map(Result::ok)
            .collect()
    }

    /// The verdict on a set of tables, each with its weight; `None` in place of a table is a step that cannot be done. `endings` are those
    /// to which these roads could have come without the stray; `None` where that is not known.
    pub fn verdict(
        &mut self,
        tables: &[(Option<Moment>, BigRational)],
        endings: Option<EndingSet>,
    ) -> Verdict {
        self.undecided = false;
        let moments: Vec<Moment> = tables.iter().filter_map(|(to, _)| *to).collect();
        let stuck = moments.len() < tables.len();
        let well = !stuck && moments.iter().all(|moment| self.ends_well(*moment));
        if well {
            let mut reached = EndingSet::default();
            for moment in &moments {
                if let Fate::Good(there) = self.judge.fate(*moment) {
                    reached = reached.and(there);
                }
            }
            let others: Vec<usize> = (0..self.ground.routine().endings.len())
                .filter(|n| reached.has(*n) && endings.is_some_and(|known| !known.has(*n)))
                .collect();
            return if others.is_empty() {
                Verdict::Safe
            } else {
                Verdict::Out(others)
            };
        }
        let pending = moments.iter().any(|moment| self.judge.is_pending(*moment));
        let over = moments
            .iter()
            .any(|moment| !self.ground.is_own(self.judge.stop_of(*moment)));
        if !stuck
            && !pending
            && !over
            && let Some(plan) = self.plan(&moments)
        {
            return Verdict::Mend(plan);
        }
        if self.undecided {
            return Verdict::Undecided;
        }
        Verdict::Lost {
            chance: self.chance(tables),
        }
    }

    /// The chance that all goes well, on a random one of these tables.
    fn chance(&mut self, tables: &[(Option<Moment>, BigRational)]) -> Option<BigRational> {
        let (mut sum, mut all) = (BigRational::zero(), BigRational::zero());
        for part in tables.chunks(AT_ONCE) {
            let moments: Vec<Moment> = part.iter().filter_map(|(to, _)| *to).collect();
            let mut chances = self.judge.chances(&moments)?.into_iter();
            for (to, weight) in part {
                all += weight;
                if to.is_some() {
                    sum += weight * chances.next()?;
                }
            }
        }
        (!all.is_zero()).then(|| sum / all)
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
    pub(super) weight: BigRational,
}

/// So many of so many.
pub(super) fn share(part: u128, of: u128) -> BigRational {
    BigRational::new(BigUint::from(part).into(), BigUint::from(of.max(1)).into())
}
