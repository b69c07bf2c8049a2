//! Times: how fast right answers come, whether they fit the beat of the patter, and where they are heading.
//!
//! Speed is no grade of memory: nothing here goes into a chance. The curve is each performer's own, exponential, because that fits
//! single learners better than a power law (Heathcote, Brown and Mewhort 2000, "The power law repealed").

use crate::routine::Millis;

/// The latest times of right answers, at most so many.
const KEPT: usize = 24;

/// The median, the lower of the middle two, of at least one time.
pub(super) fn median(times: &[Millis]) -> Option<Millis> {
    let mut sorted = times.to_vec();
    sorted.sort_unstable();
    sorted.get(sorted.len().checked_sub(1)? / 2).copied()
}

/// The times of one skill's right answers, oldest first.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Pace {
    times: Vec<Millis>,
}

impl Pace {
    /// A pace with these times, oldest first; only the latest are kept.
    #[must_use]
    pub fn of(times: impl IntoIterator<Item = Millis>) -> Self {
        let mut pace = Self::default();
        for time in times {
            pace.add(time);
        }
        pace
    }
    /// Takes in a time.
    pub fn add(&mut self, time: Millis) {
        if self.times.len() == KEPT {
            self.times.remove(0);
        }
        self.times.push(time);
    }
    /// The times kept, oldest first.
    #[must_use]
    pub fn times(&self) -> &[Millis] {
        &self.times
    }
    /// The median of the latest five, once there is one.
    #[must_use]
    pub fn lately(&self) -> Option<Millis> {
        median(&self.times[self.times.len().saturating_sub(5)..])
    }
}

/// An answer that takes more than so many times as long as this kind of question usually takes this performer is a hesitation.
const HESITATION: u64 = 2;

/// Whether an answer's time fits the beat: within the step's target, where it has one, and no hesitation.
#[must_use]
pub fn fits_the_beat(time: Millis, target: Option<Millis>, usual: Option<Millis>) -> bool {
    target.is_none_or(|target| time <= target)
        && usual.is_none_or(|usual| time.0 <= usual.0.saturating_mul(HESITATION))
}

/// A learning curve: after n answers the next takes `floor + extra · e^(−rate · n)` thousandths of a second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curve {
    /// Where it is heading, in thousandths of a second; never below zero.
    pub floor: f64,
    /// How far above that it began; negative where answers grow slower.
    pub extra: f64,
    /// How fast it gets there, per answer.
    pub rate: f64,
}

/// A curve is fitted to at least so many times.
const ENOUGH_TIMES: usize = 6;

/// The rates that are tried: half of the way is gone after 1 to 100 answers, evenly on a log scale.
const RATES: usize = 60;

impl Curve {
    /// The curve nearest to these times (least squares); `None` for too few. For each rate the best floor and extra follow from
    /// the normal equations; the rate is searched on a grid.
    #[must_use]
    pub fn fit(times: &[Millis]) -> Option<Self> {
        if times.len() < ENOUGH_TIMES {
            return None;
        }
        #[expect(
            clippy::cast_precision_loss,
            reason = "times of answers and small counts"
        )]
        let points: Vec<(f64, f64)> = times
            .iter()
            .enumerate()
            .map(|(n, time)| (n as f64, time.0 as f64))
            .collect();
        let mut best: Option<(f64, Self)> = None;
        for n in 0..RATES {
            #[expect(clippy::cast_precision_loss, reason = "a small count")]
            let answers_to_half = 100_f64.powf(n as f64 / (RATES - 1) as f64);
            let rate = std::f64::consts::LN_2 / answers_to_half;
            let Some(curve) = Self::with_rate(&points, rate) else {
                continue;
            };
            let misfit = points
                .iter()
                .map(|(n, time)| (time - curve.at(*n)).powi(2))
                .sum();
            if best.as_ref().is_none_or(|(least, _)| misfit < *least) {
                best = Some((misfit, curve));
            }
        }
        best.map(|(_, curve)| curve)
    }

    fn with_rate(points: &[(f64, f64)], rate: f64) -> Option<Self> {
        let (mut n, mut sx, mut sy, mut sxx, mut sxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (at, time) in points {
            let x = (-rate * at).exp();
            n += 1.0;
            sx += x;
            sy += time;
            sxx += x * x;
            sxy += x * time;
        }
        let det = n * sxx - sx * sx;
        if det.abs() < 1e-12 {
            return None;
        }
        let extra = (n * sxy - sx * sy) / det;
        let floor = (sy - extra * sx) / n;
        if floor >= 0.0 {
            return Some(Self { floor, extra, rate });
        }
        // Nobody answers before being asked.
        Some(Self {
            floor: 0.0,
            extra: sxy / sxx,
            rate,
        })
    }

    /// The time after so many answers, in thousandths of a second.
    #[must_use]
    pub fn at(&self, answers: f64) -> f64 {
        self.floor + self.extra * (-self.rate * answers).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn an_answer_fits_the_beat_within_the_target_and_without_hesitation() {
        let ms = |n| Some(Millis(n));
        assert!(fits_the_beat(Millis(3_000), ms(3_000), ms(1_500)));
        assert!(!fits_the_beat(Millis(3_001), ms(3_000), ms(2_000)));
        assert!(!fits_the_beat(Millis(3_001), None, ms(1_500)));
        assert!(fits_the_beat(Millis(90_000), None, None));
    }

    #[test]
    fn a_curve_is_found_again_from_its_own_points() {
        let made = |n: i32| 2_000.0 + 6_000.0 * (-0.2 * f64::from(n)).exp();
        let times: Vec<Millis> = (0..20).map(|n| Millis(made(n).round() as u64)).collect();
        let curve = Curve::fit(&times).unwrap();
        // Half a percent of the range: the grid of rates is that coarse.
        for n in 0..40 {
            assert!(
                (curve.at(f64::from(n)) - made(n)).abs() < 30.0,
                "{n} {curve:?}"
            );
        }
    }

    proptest! {
        #[test]
        fn no_other_curve_tried_by_brute_force_lies_nearer(
            times in proptest::collection::vec(500_u64..20_000, 6..20),
        ) {
            let times: Vec<Millis> = times.into_iter().map(Millis).collect();
            let misfit = |curve: &Curve| -> f64 {
                times.iter().enumerate().map(|(n, t)| (t.0 as f64 - curve.at(n as f64)).powi(2)).sum()
            };
            let found = misfit(&Curve::fit(&times).unwrap());
            for half in [1.0, 1.5, 3.0, 8.0, 20.0, 50.0, 100.0] {
                for floor in (0..20).map(|n| f64::from(n) * 1_000.0) {
                    for extra in (-20..=20).map(|n| f64::from(n) * 1_000.0) {
                        let curve = Curve { floor, extra, rate: std::f64::consts::LN_2 / half };
                        // The grid of rates costs a little.
                        prop_assert!(found <= misfit(&curve) * 1.02 + 1.0);
                    }
                }
            }
        }

        #[test]
        fn the_median_is_one_of_the_times_with_half_on_either_side(
            times in proptest::collection::vec(0_u64..100, 1..30),
        ) {
            let times: Vec<Millis> = times.into_iter().map(Millis).collect();
            let found = median(&times).unwrap();
            let below = times.iter().filter(|t| **t < found).count();
            let above = times.iter().filter(|t| **t > found).count();
            prop_assert!(times.contains(&found) && 2 * below <= times.len() && 2 * above <= times.len());
        }
    }
}
