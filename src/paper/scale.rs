//! Scales of charts: from values to places on paper, and round numbers to label them with.

/// A scale from values to places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Values from … to ….
    pub values: (f64, f64),
    /// Places from … to …; these may fall.
    pub places: (f64, f64),
}

impl Scale {
    /// Where a value lies. Values outside are brought to the nearer end.
    #[must_use]
    pub fn at(&self, value: f64) -> f64 {
        let (low, high) = self.values;
        let (from, to) = self.places;
        if high <= low {
            return from;
        }
        let share = ((value - low) / (high - low)).clamp(0.0, 1.0);
        from + share * (to - from)
    }
}

/// Round steps from 0 that reach at least `most`: 1, 2 or 5 times a power of ten, at most `count` of them.
#[must_use]
pub fn ticks(most: f64, count: usize) -> Vec<f64> {
    #[expect(clippy::cast_precision_loss, reason = "a small count")]
    let rough = most.max(1e-9) / count.max(1) as f64;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= rough * (1.0 - 1e-9))
        .unwrap_or(10.0 * power);
    let mut ticks = vec![0.0];
    let mut at = 0.0;
    while at < most - step * 1e-9 {
        at += step;
        ticks.push(at);
    }
    ticks
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ticks_are_round() {
        assert_eq!(ticks(1.0, 4), [0.0, 0.5, 1.0]);
        assert_eq!(ticks(43.0, 3), [0.0, 20.0, 40.0, 60.0]);
        assert_eq!(ticks(30.0, 3), [0.0, 10.0, 20.0, 30.0]);
    }

    #[test]
    fn a_scale_keeps_to_its_ends_and_may_fall() {
        let scale = Scale {
            values: (0.0, 10.0),
            places: (100.0, 0.0),
        };
        assert!((scale.at(2.5) - 75.0).abs() < 1e-9);
        assert!((scale.at(-3.0) - 100.0).abs() < 1e-9 && scale.at(30.0).abs() < 1e-9);
        let flat = Scale {
            values: (3.0, 3.0),
            places: (5.0, 9.0),
        };
        assert!((flat.at(3.0) - 5.0).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn ticks_reach_the_most_evenly_and_are_few(most in 0.001..1e7_f64, count in 1..8_usize) {
            let ticks = ticks(most, count);
            prop_assert!(*ticks.last().unwrap() >= most * (1.0 - 1e-9));
            prop_assert!(ticks.len() <= count + 1);
            let step = ticks[1];
            prop_assert!(ticks.windows(2).all(|w| ((w[1] - w[0]) / step - 1.0).abs() < 1e-6));
            // Not twice as far as needed: the last step is needed.
            prop_assert!(ticks[ticks.len() - 2] < most);
        }
    }
}
