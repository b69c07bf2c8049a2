//! The cue sounds: the generator makes the files that are in the repository, and their shapes differ.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod make;

use allroads::voice::Cue;

fn samples(name: &str) -> Vec<f64> {
    let wav = make::wav(name).unwrap();
    wav[44..]
        .chunks_exact(2)
        .map(|s| f64::from(i16::from_le_bytes([s[0], s[1]])) / 32768.0)
        .collect()
}

/// The power in frames of 10 ms, from 0 to 1, each sound's own loudest being 1.
fn envelope(name: &str) -> Vec<f64> {
    let frames: Vec<f64> = samples(name)
        .chunks(160)
        .map(|frame| frame.iter().map(|s| s * s).sum::<f64>().sqrt())
        .collect();
    let most = frames.iter().copied().fold(0.0, f64::max);
    frames.iter().map(|f| f / most).collect()
}

#[test]
fn the_files_are_what_the_generator_makes_byte_for_byte() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sounds");
    assert_eq!(make::NAMES, Cue::ALL.map(Cue::name));
    for name in make::NAMES {
        let kept = std::fs::read(folder.join(format!("{name}.wav"))).unwrap();
        assert_eq!(
            kept,
            make::wav(name).unwrap(),
            "{name}: run `cargo run --example make_sounds`"
        );
    }
    assert_eq!(make::wav("nothing"), None);
}

#[test]
fn the_sounds_are_gentle() {
    for name in make::NAMES {
        let sound = samples(name);
        let peak = sound.iter().fold(0.0_f64, |p, s| p.max(s.abs()));
        assert!(peak < 0.4, "{name} peaks at {peak}");
        // Neither end is a click, and nothing within is one: no step from sample to sample is larger than a tone makes.
        assert!(
            sound[0].abs() < 0.001 && sound[sound.len() - 1].abs() < 0.001,
            "{name}"
        );
        let step = sound
            .windows(2)
            .map(|w| (w[1] - w[0]).abs())
            .fold(0.0, f64::max);
        assert!(step < 0.25, "{name} steps by {step}");
        assert!(
            (3000..20_000).contains(&sound.len()),
            "{name}: {} samples",
            sound.len()
        );
    }
}

/// How many separate notes a sound has: how often its power comes up from below a third of what it reached.
fn strokes(name: &str) -> usize {
    let (mut count, mut low, mut top) = (0, true, 0.0_f64);
    for power in envelope(name) {
        if low && power > 0.25 {
            (count, low, top) = (count + 1, false, power);
        }
        top = top.max(power);
        if power < 0.15 {
            (low, top) = (true, 0.0);
        }
    }
    assert!(top.is_finite());
    count
}

#[test]
fn the_sounds_are_told_apart_without_their_pitch() {
    // Rhythm: how many strokes.
    let counted: Vec<usize> = make::NAMES.iter().map(|n| strokes(n)).collect();
    assert_eq!(
        make::NAMES,
        ["ask", "right", "wrong", "time", "ready", "done"]
    );
    assert_eq!(counted, [2, 2, 1, 3, 1, 4]);
    // Contour: of the loudness over time, laid over one another at their beginnings, no two are alike.
    for (i, a) in make::NAMES.iter().enumerate() {
        for b in &make::NAMES[i + 1..] {
            let (x, y) = (envelope(a), envelope(b));
            let length = x.len().max(y.len());
            let at = |e: &[f64], i: usize| e.get(i).copied().unwrap_or(0.0);
            let apart = (0..length)
                .map(|i| (at(&x, i) - at(&y, i)).powi(2))
                .sum::<f64>()
                / length as f64;
            assert!(apart.sqrt() > 0.2, "{a} and {b} are alike: {apart}");
        }
    }
}
