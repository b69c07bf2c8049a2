//! Silence at the ends of what the engine made.

/// A sample that cannot be any louder; the engine clips to one less than the smallest.
pub const FULL_SCALE: i16 = i16::MAX;

/// Below this a sample is silence: 40 dB under what the engine's peaks are. It breathes out for half a second at less.
const SILENCE: u16 = 70;

/// Kept before the first sound and after the last, in samples: 5 ms and 40 ms.
const BEFORE: usize = 80;
const AFTER: usize = 640;

/// After a question the engine is silent for half a second, and then stirs once more, 35 dB under what its peaks are. What is
/// fainter than this after so long a silence, 200 ms, is no speech: no consonant holds its breath so long.
const FAINT: u16 = 250;
const BREATH: usize = 3_200;

/// The samples without the silence around them, so that a line begins when it is said and ends when it is over. Empty if there
/// is no sound at all.
pub(super) fn trimmed(samples: &[i16]) -> &[i16] {
    let loud = |s: &i16| s.unsigned_abs() >= SILENCE;
    let (Some(first), Some(last)) = (samples.iter().position(loud), last_spoken(samples)) else {
        return &[];
    };
    &samples[first.saturating_sub(BEFORE)..(last + 1 + AFTER).min(samples.len())]
}

/// The last sample that belongs to speech.
fn last_spoken(samples: &[i16]) -> Option<usize> {
    let mut end = None;
    let mut faint = true;
    // From the end: sounds parted by long silences, of which the faint ones are left out.
    for (at, sample) in samples.iter().enumerate().rev() {
        let size = sample.unsigned_abs();
        if size < SILENCE {
            continue;
        }
        match end {
            Some((_, before)) if faint && before - at > BREATH => end = Some((at, at)),
            Some((last, _)) => end = Some((last, at)),
            None => end = Some((at, at)),
        }
        faint &= size < FAINT;
        if !faint {
            break;
        }
    }
    end.map(|(last, _)| last)
}

/// The longest run of neighbouring samples at full scale: two or more mean that what was made is clipped.
#[must_use]
pub fn longest_full_scale_run(samples: &[i16]) -> usize {
    samples
        .split(|s| s.unsigned_abs() < FULL_SCALE.unsigned_abs())
        .map(<[i16]>::len)
        .max()
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_goes_and_a_little_of_it_stays() {
        let mut sound = vec![60; 2000];
        sound.extend([400; 100]);
        sound.extend(vec![-60; 2000]);
        assert_eq!(trimmed(&sound).len(), BEFORE + 100 + AFTER);
        assert_eq!(trimmed(&[400, 3, -400]), [400, 3, -400]);
        assert!(trimmed(&[0; 50]).is_empty());
        assert!(trimmed(&[]).is_empty());
    }

    #[test]
    fn what_stirs_faintly_long_after_the_speech_is_no_part_of_it() {
        let spoken = [4000; 100];
        let after = |silence: usize, loud: i16| {
            let mut sound = spoken.to_vec();
            sound.extend(vec![0; silence]);
            sound.extend([loud; 50]);
            trimmed(&sound).len()
        };
        assert_eq!(after(8000, 100), 100 + AFTER);
        assert_eq!(after(8000, 300), 100 + 8000 + 50, "that is speech");
        assert_eq!(after(1600, 100), 100 + 1600 + 50, "a stop before its burst");
        // Alone it is all there is.
        assert_eq!(trimmed(&[100; 50]), [100; 50]);
        // Only what stirs at the end goes, not a faint sound before speech.
        let mut sound = vec![100; 50];
        sound.extend(vec![0; 8000]);
        sound.extend(spoken);
        assert_eq!(trimmed(&sound).len(), 50 + 8000 + 100);
    }

    #[test]
    fn a_run_at_full_scale_is_counted() {
        assert_eq!(longest_full_scale_run(&[]), 0);
        assert_eq!(longest_full_scale_run(&[1, i16::MAX - 1, 3]), 0);
        assert_eq!(
            longest_full_scale_run(&[i16::MAX, 0, i16::MIN, i16::MAX, 2]),
            2
        );
    }
}
