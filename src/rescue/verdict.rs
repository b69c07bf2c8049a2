//! Verdicts on a set of tables.
//!
//! What a stray came to on one table is judged once ([`Came`]), however many sets the table is in; a verdict on a set puts these together.

use super::rescuer::Rescuer;
use crate::proof::{EndingSet, Fate, Fraction, Moment};
use num_rational::BigRational;

/// What is to be done about a set of tables.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// Every ending claim still holds on all roads that remain.
    Safe,
    /// This makes it so.
    Mend(super::plan::Plan),
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

/// What a stray came to on one table, as far as the performer cannot tell it apart. How it ends is looked at when somebody asks: of what is
/// lost a few moments tell enough.
#[derive(Debug)]
pub(super) struct Came {
    /// Each moment once, with its weight; `None` is a step that cannot be done.
    outcomes: Vec<(Option<Moment>, Fraction)>,
    /// All weights together.
    pub(super) weight: Fraction,
    /// Whether it is too late for a mend: a step cannot be done, the road is over, or claims are still to be looked at.
    late: bool,
    /// What all of them come to, and the first that goes wrong or else cannot be decided; once it was asked for.
    fate: Option<(Fate, Option<Moment>)>,
    /// The chance on a random one of them, once it was asked for.
    chance: Option<Option<Fraction>>,
}

/// Tables that cannot be told apart: what came of the stray on each, by its number, with the weight of the table.
pub(super) type Together = [(usize, Fraction)];

impl Came {
    fn moments(&self) -> impl Iterator<Item = Moment> + Clone + '_ {
        self.outcomes.iter().filter_map(|(to, _)| *to)
    }
}

impl Rescuer<'_> {
    /// Judges what a stray came to on a table.
    pub(super) fn came(&mut self, mut outcomes: Vec<(Option<Moment>, Fraction)>) -> Came {
        outcomes.sort_by_key(|(to, _)| *to);
        outcomes.dedup_by(|(to, share), (kept, sum)| {
            let same = to == kept;
            if same {
                *sum = sum.plus(share);
            }
            same
        });
        let (mut weight, mut late) = (Fraction::NOUGHT, false);
        for (to, share) in &outcomes {
            weight = weight.plus(share);
            late |= to.is_none_or(|to| {
                self.judge.is_pending(to) || !self.ground().is_own(self.judge.stop_of(to))
            });
        }
        Came {
            outcomes,
            weight,
            late,
            fate: None,
            chance: None,
        }
    }

    fn fate_of(&mut self, came: &mut Came) -> (Fate, Option<Moment>) {
        if let Some(known) = came.fate {
            return known;
        }
        let mut found = (Fate::Good(EndingSet::default()), None);
        for (to, _) in &came.outcomes {
            let its = to.map_or(Fate::Bad, |to| self.judge.fate(to));
            if its == Fate::Bad || found.1.is_none() && its == Fate::Undecided {
                found.1 = *to;
            }
            found.0 = both(found.0, its);
            if found.0 == Fate::Bad {
                break;
            }
        }
        came.fate = Some(found);
        found
    }

    /// The verdict on a set of tables, each with its weight; `None` in place of a table is a step that cannot be done. `endings` are those
    /// to which these roads could have come without the stray; `None` where that is not known.
    pub fn verdict(
        &mut self,
        tables: &[(Option<Moment>, Fraction)],
        endings: Option<EndingSet>,
    ) -> Verdict {
        let came = self.came(tables.to_vec());
        self.verdict_on(&mut [came], &[(0, Fraction::ONE)], true, endings)
    }

    /// The same where what came of it is judged already. `weighed`: whether the weights of the tables mean anything.
    pub(super) fn verdict_on(
        &mut self,
        all: &mut [Came],
        these: &Together,
        weighed: bool,
        endings: Option<EndingSet>,
    ) -> Verdict {
        let mut fate = Fate::Good(EndingSet::default());
        let mut late = false;
        let mut worst: Option<Moment> = None;
        for (n, _) in these {
            late |= all[*n].late;
            if fate == Fate::Bad {
                continue;
            }
            let (its, there) = self.fate_of(&mut all[*n]);
            if its == Fate::Bad || worst.is_none() {
                worst = there.or(worst);
            }
            fate = both(fate, its);
        }
        if let Fate::Good(reached) = fate {
            let others: Vec<usize> = (0..self.ground().routine().endings.len())
                .filter(|n| reached.has(*n) && endings.is_some_and(|known| !known.has(*n)))
                .collect();
            return if others.is_empty() {
                Verdict::Safe
            } else {
                Verdict::Out(others)
            };
        }
        self.undecided = false;
        if !late && let Some(worst) = worst {
            let moments = these.iter().flat_map(|(n, _)| all[*n].moments());
            if let Some(plan) = self.plan_for(worst, &moments) {
                return Verdict::Mend(plan);
            }
        }
        if self.undecided || fate == Fate::Undecided {
            return Verdict::Undecided;
        }
        Verdict::Lost {
            chance: self.chance(all, these, weighed).map(|chance| chance.big()),
        }
    }

    /// The chance that all goes well, on a random one of these tables; where the weights mean nothing, if it is the same on all.
    fn chance(&mut self, all: &mut [Came], these: &Together, weighed: bool) -> Option<Fraction> {
        let (mut sum, mut whole) = (Fraction::NOUGHT, Fraction::NOUGHT);
        let mut same: Option<Fraction> = None;
        for (n, weight) in these {
            let came = &mut all[*n];
            let chance = self.chance_of(came)?;
            if weighed {
                sum = sum.plus(&weight.times(&chance).times(&came.weight));
                whole = whole.plus(&weight.times(&came.weight));
            } else if same.get_or_insert_with(|| chance.clone()) != &chance {
                return None;
            }
        }
        if weighed {
            (!whole.is_nought()).then(|| sum.over(&whole))
        } else {
            same
        }
    }

    fn chance_of(&mut self, came: &mut Came) -> Option<Fraction> {
        if came.chance.is_none() {
            let mut sum = Some(Fraction::NOUGHT);
            for (to, share) in &came.outcomes {
                let chance = match to {
                    None => Some(Fraction::NOUGHT),
                    Some(to) => self.judge.chance(*to),
                };
                sum = sum.and_then(|sum| Some(sum.plus(&share.times(&chance?))));
                if sum.is_none() {
                    break;
                }
            }
            came.chance = Some(sum.map(|sum| sum.over(&came.weight)));
        }
        came.chance.clone().flatten()
    }
}

/// What two fates come to together.
fn both(one: Fate, other: Fate) -> Fate {
    match (one, other) {
        (Fate::Bad, _) | (_, Fate::Bad) => Fate::Bad,
        (Fate::Undecided, _) | (_, Fate::Undecided) => Fate::Undecided,
        (Fate::Good(one), Fate::Good(other)) => Fate::Good(one.and(other)),
    }
}
