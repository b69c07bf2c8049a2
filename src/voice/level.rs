//! How loud speech is, and bringing all of it to one loudness.
//!
//! Loudness is measured as EBU R 128 and ITU-R BS.1770-4 say: the signal is weighted by two filters (a shelf for the head, a
//! high-pass), its power is taken in blocks of 400 ms that overlap by three quarters, and blocks below −70 LUFS, then those more
//! than 10 LU below the rest, do not count. BS.1770 gives the filters for 48 kHz; for another rate they are worked out from the
//! analogue filters behind them. A phrase shorter than a block is measured as if it were said again and again until it fills one.

use super::speech::{RATE, Samples};
use std::f64::consts::PI;

/// The loudness that speech is brought to before the volume, in LUFS: a little below the −23 of EBU R 128, so that the peaks of
/// every voice have room.
pub const TARGET: f64 = -24.0;

/// No sample gets louder than this part of full scale (−2 dB) by it.
const PEAK: f64 = 0.794;

/// A block in samples, and the step from one to the next.
const BLOCK: usize = RATE as usize * 4 / 10;
const STEP: usize = BLOCK / 4;

/// A filter of second order: y₀ = b₀x₀ + b₁x₁ + b₂x₂ − a₁y₁ − a₂y₂.
struct Filter {
    b: [f64; 3],
    a: [f64; 2],
    x: [f64; 2],
    y: [f64; 2],
}

impl Filter {
    fn new(b: [f64; 3], a: [f64; 2]) -> Self {
        Self {
            b,
            a,
            x: [0.0; 2],
            y: [0.0; 2],
        }
    }

    /// The shelf: 4 dB up above 1682 Hz.
    fn shelf() -> Self {
        let (centre, gain, q) = (1681.974450955533, 3.999843853973347, 0.7071752369554196);
        let k = (PI * centre / f64::from(RATE)).tan();
        let high = 10_f64.powf(gain / 20.0);
        let band = high.powf(0.4996667741545416);
        let a0 = 1.0 + k / q + k * k;
        Self::new(
            [
                (high + band * k / q + k * k) / a0,
                2.0 * (k * k - high) / a0,
                (high - band * k / q + k * k) / a0,
            ],
            [2.0 * (k * k - 1.0) / a0, (1.0 - k / q + k * k) / a0],
        )
    }

    /// The high-pass at 38 Hz.
    fn high_pass() -> Self {
        let (centre, q) = (38.13547087602444, 0.5003270373238773);
        let k = (PI * centre / f64::from(RATE)).tan();
        let a0 = 1.0 + k / q + k * k;
        Self::new(
            [1.0, -2.0, 1.0],
            [2.0 * (k * k - 1.0) / a0, (1.0 - k / q + k * k) / a0],
        )
    }

    fn next(&mut self, x: f64) -> f64 {
        let y = self.b[0] * x + self.b[1] * self.x[0] + self.b[2] * self.x[1]
            - self.a[0] * self.y[0]
            - self.a[1] * self.y[1];
        self.x = [x, self.x[0]];
        self.y = [y, self.y[0]];
        y
    }
}

/// The loudness of a phrase in LUFS; none if it is silent.
#[must_use]
pub fn loudness(samples: &[i16]) -> Option<f64> {
    if samples.is_empty() {
        return None;
    }
    let (mut shelf, mut high) = (Filter::shelf(), Filter::high_pass());
    let power: Vec<f64> = samples
        .iter()
        .cycle()
        .take(samples.len().max(BLOCK))
        .map(|s| high.next(shelf.next(f64::from(*s) / 32768.0)).powi(2))
        .collect();
    let blocks: Vec<f64> = (0..=(power.len() - BLOCK) / STEP)
        .map(|i| power[i * STEP..i * STEP + BLOCK].iter().sum::<f64>() / BLOCK as f64)
        .collect();
    let above = |gate: f64| mean(blocks.iter().copied().filter(|p| lufs(*p) > gate));
    let relative = lufs(above(-70.0)?) - 10.0;
    above(relative.max(-70.0)).map(lufs)
}

fn lufs(power: f64) -> f64 {
    -0.691 + 10.0 * power.log10()
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), v| (sum + v, count + 1.0));
    (count > 0.0).then(|| sum / count)
}

/// The samples at [`TARGET`], or as near to it as their peaks allow. Silence stays as it is.
#[must_use]
pub fn levelled(samples: &[i16]) -> Samples {
    let peak = samples.iter().map(|s| s.unsigned_abs()).max().unwrap_or(0);
    let Some(loud) = loudness(samples) else {
        return samples.into();
    };
    let room = PEAK * 32768.0 / f64::from(peak.max(1));
    let gain = 10_f64.powf((TARGET - loud) / 20.0).min(room);
    samples
        .iter()
        .map(|s| (f64::from(*s) * gain).round() as i16)
        .collect()
}
