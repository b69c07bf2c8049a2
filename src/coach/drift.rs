//! Where this performer's answers go another way than memory alone tells, learnt from the answers as they come in.
//!
//! A logistic regression whose offset is what memory tells: the log odds of an answer are those of memory, and beside them a constant,
//! what practice adds (the log of the answers so far; that practice counts in such a regression is from Pavlik, Cen and Koedinger
//! 2009, "Performance factors analysis"), and a slope. With nothing to go by all three are nothing. Each answer moves the normal
//! distribution of the three by one step of Newton's method, its curvature added to what was known before (an extended Kalman filter
//! without a drift).

/// What the regression looks at.
const LOOKED_AT: usize = 3;

/// The standard deviation of each before there are answers. Our own judgement, no source.
const BEFORE: f64 = 1.0;

/// Log odds and the log of one more than the answers that count as usual: there the constant alone speaks, but for a hair.
const USUAL_LOG_ODDS: f64 = 3.0;
const USUAL_LOG_ANSWERS: f64 = 1.6;
/// The unit of log odds for the slope.
const LOG_ODDS: f64 = 0.3;
/// The slope is never so far below nothing that what was longer ago would count as better known.
const FLATTEST: f64 = -2.5;
/// More answers than so count as so many: what practice adds beyond is not told by what it added before.
const COUNTED: u32 = 30;

/// An answer about to be given, or asked about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sight {
    /// The log odds that memory tells.
    pub log_odds: f64,
    /// Answers so far to the same skill.
    pub answers: u32,
}

impl Sight {
    /// What counts as usual.
    pub const USUAL: Self = Self {
        log_odds: USUAL_LOG_ODDS,
        answers: 4,
    };

    fn looked_at(self) -> [f64; LOOKED_AT] {
        [
            1.0,
            f64::from(self.answers.min(COUNTED) + 1).ln() - USUAL_LOG_ANSWERS,
            LOG_ODDS * (self.log_odds - USUAL_LOG_ODDS),
        ]
    }
}

/// What the answers so far say of the three: a normal distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Drift {
    mean: [f64; LOOKED_AT],
    covariance: [[f64; LOOKED_AT]; LOOKED_AT],
}

impl Default for Drift {
    fn default() -> Self {
        let mut covariance = [[0.0; LOOKED_AT]; LOOKED_AT];
        for (n, row) in covariance.iter_mut().enumerate() {
            row[n] = BEFORE * BEFORE;
        }
        Self {
            mean: [0.0; LOOKED_AT],
            covariance,
        }
    }
}

fn product(a: &[f64; LOOKED_AT], b: &[f64; LOOKED_AT]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

impl Drift {
    /// By how much the log odds lie above what memory tells.
    pub fn shift(&self, sight: Sight) -> f64 {
        let [constant, practice, slope] = self.mean;
        product(
            &[constant, practice, slope.max(FLATTEST)],
            &sight.looked_at(),
        )
    }

    /// How far the shift may be off: a standard deviation, in log odds.
    pub fn spread(&self, sight: Sight) -> f64 {
        let looked_at = sight.looked_at();
        product(&looked_at, &self.times(&looked_at)).max(0.0).sqrt()
    }

    fn times(&self, looked_at: &[f64; LOOKED_AT]) -> [f64; LOOKED_AT] {
        self.covariance.map(|row| product(&row, looked_at))
    }

    /// Takes in an answer, of which `chance` was expected all in all.
    pub fn take_in(&mut self, sight: Sight, chance: f64, right: bool) {
        let looked_at = sight.looked_at();
        let along = self.times(&looked_at);
        let weight = chance * (1.0 - chance);
        let narrower = 1.0 + weight * product(&looked_at, &along);
        let seen = if right { 1.0 } else { 0.0 };
        for n in 0..LOOKED_AT {
            self.mean[n] += along[n] * (seen - chance) / narrower;
            for m in 0..LOOKED_AT {
                self.covariance[n][m] -= weight * along[n] * along[m] / narrower;
            }
        }
    }

    /// All its numbers: the means, then the covariance row by row.
    pub fn numbers(&self) -> Vec<f64> {
        self.mean
            .iter()
            .chain(self.covariance.iter().flatten())
            .copied()
            .collect()
    }

    /// The drift of these numbers.
    pub fn of_numbers(numbers: &[f64]) -> Option<Self> {
        let (mean, rest) = numbers.split_first_chunk::<LOOKED_AT>()?;
        let (rows, []) = rest.as_chunks::<LOOKED_AT>() else {
            return None;
        };
        Some(Self {
            mean: *mean,
            covariance: *rows.first_chunk()?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::roads::Draw;
    use proptest::prelude::*;

    fn chance(log_odds: f64) -> f64 {
        1.0 / (1.0 + (-log_odds).exp())
    }

    /// Answers of somebody whose log odds are those of memory and what these three add.
    fn answers(truth: [f64; LOOKED_AT], count: u64, seed: u64) -> Vec<(Sight, bool)> {
        const FINE: u64 = 1 << 32;
        let mut draw = Draw::for_step(seed, "somebody", 1);
        (0..count)
            .map(|_| {
                let sight = Sight {
                    log_odds: draw.below(50) as f64 / 10.0 - 0.5,
                    answers: draw.below(20) as u32 + 1,
                };
                let known = chance(sight.log_odds + product(&truth, &sight.looked_at()));
                let right = (draw.below(FINE) as f64) < known * FINE as f64;
                (sight, right)
            })
            .collect()
    }

    fn learnt(answers: &[(Sight, bool)]) -> Drift {
        let mut drift = Drift::default();
        for (sight, right) in answers {
            let chance = chance(sight.log_odds + drift.shift(*sight));
            drift.take_in(*sight, chance, *right);
        }
        drift
    }

    /// The most likely three for all answers at once, by plain steps uphill: another way to the same.
    fn most_likely(answers: &[(Sight, bool)]) -> [f64; LOOKED_AT] {
        let mut three = [0.0; LOOKED_AT];
        for _ in 0..20_000 {
            let mut uphill: Vec<f64> = (0..LOOKED_AT)
                .map(|n| -three[n] / (BEFORE * BEFORE))
                .collect();
            for (sight, right) in answers {
                let looked_at = sight.looked_at();
                let off = f64::from(u8::from(*right))
                    - chance(sight.log_odds + product(&three, &looked_at));
                for n in 0..LOOKED_AT {
                    uphill[n] += off * looked_at[n];
                }
            }
            for n in 0..LOOKED_AT {
                three[n] += 0.002 * uphill[n];
            }
        }
        three
    }

    #[test]
    fn somebody_who_goes_another_way_than_memory_is_found_as_all_answers_at_once_find_them() {
        for (seed, truth) in [(1, [0.8, 0.9, -0.5]), (2, [-0.6, 0.2, 0.8])] {
            let all = answers(truth, 400, seed);
            let (found, best) = (learnt(&all), most_likely(&all));
            for (sight, _) in all.iter().take(40) {
                let at_once = product(&best, &sight.looked_at());
                let off = (found.shift(*sight) - at_once).abs();
                assert!(off < 0.25, "{sight:?}: {off} from {at_once}");
            }
        }
    }

    #[test]
    fn with_nothing_to_go_by_memory_alone_speaks() {
        for (sight, _) in answers([0.0; LOOKED_AT], 20, 3) {
            assert_eq!(Drift::default().shift(sight), 0.0);
        }
    }

    proptest! {
        #[test]
        fn an_answer_moves_the_shift_its_own_way_and_never_makes_it_less_sure(
            seed in 0_u64..1_000,
            count in 0_u64..60,
            right in any::<bool>(),
        ) {
            let mut all = answers([0.3, 0.2, 0.4], count + 1, seed);
            let (sight, _) = all.remove(0);
            let before = learnt(&all);
            let mut after = before;
            after.take_in(sight, chance(sight.log_odds + before.shift(sight)), right);
            let moved = after.shift(sight) - before.shift(sight);
            prop_assert!(if right { moved > 0.0 } else { moved < 0.0 }, "{moved}");
            prop_assert!(after.spread(sight) <= before.spread(sight));
        }
    }
}
