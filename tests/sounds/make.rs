//! The generator of the cue sounds in `sounds/`: sine tones with soft edges, put together by a few lines of score.
//!
//! The six are told apart by their shape, so that nobody needs an ear for pitch:
//!
//! | cue | shape |
//! | --- | --- |
//! | ask | a long glide upwards, then a short tap above it: a raised eyebrow |
//! | right | two quick steps up |
//! | wrong | one soft note that sinks |
//! | time | three even knocks |
//! | ready | one note that swells slowly and goes slowly |
//! | done | four notes, short short short long |
//!
//! Everything is worked out with additions, multiplications and divisions of 64-bit floats only, which every machine does alike, so the
//! files come out the same everywhere, byte for byte.

/// Samples a second; one channel, 16 bits.
pub const RATE: u32 = 16_000;

/// A note of the score. Times are in milliseconds, pitches in hertz, the level is a part of full scale.
struct Note {
    start: u32,
    length: u32,
    from: f64,
    to: f64,
    level: f64,
    /// How long it takes to come, and to go.
    attack: u32,
    release: u32,
    /// How much of the level is left at the end of the length, before the release.
    sustain: f64,
    /// The partials over the note: how many times its pitch, how loud.
    partials: &'static [(f64, f64)],
}

const SOFT: &[(f64, f64)] = &[(1.0, 1.0), (2.0, 0.25), (3.0, 0.08)];
const WOOD: &[(f64, f64)] = &[(1.0, 1.0), (2.76, 0.35), (5.4, 0.12)];

fn note(start: u32, length: u32, from: f64, to: f64) -> Note {
    Note {
        start,
        length,
        from,
        to,
        level: 0.26,
        attack: 12,
        release: 60,
        sustain: 0.4,
        partials: SOFT,
    }
}

/// The score of a cue; none for a name that is none.
fn score(name: &str) -> Option<Vec<Note>> {
    let notes = match name {
        "ask" => vec![
            Note {
                sustain: 0.9,
                attack: 40,
                ..note(0, 340, 392.0, 587.33)
            },
            Note {
                level: 0.2,
                ..note(420, 90, 783.99, 783.99)
            },
        ],
        "right" => vec![
            Note {
                release: 40,
                ..note(0, 80, 587.33, 587.33)
            },
            Note {
                release: 160,
                ..note(160, 160, 880.0, 880.0)
            },
        ],
        "wrong" => vec![Note {
            attack: 30,
            release: 150,
            sustain: 0.6,
            ..note(0, 380, 311.13, 220.0)
        }],
        "time" => [0, 170, 340]
            .map(|start| Note {
                attack: 3,
                release: 40,
                sustain: 0.05,
                level: 0.3,
                partials: WOOD,
                ..note(start, 70, 493.88, 493.88)
            })
            .into(),
        "ready" => vec![Note {
            attack: 380,
            release: 420,
            sustain: 1.0,
            level: 0.22,
            ..note(0, 480, 440.0, 440.0)
        }],
        "done" => vec![
            Note {
                release: 40,
                ..note(0, 90, 659.26, 659.26)
            },
            Note {
                release: 40,
                ..note(180, 90, 587.33, 587.33)
            },
            Note {
                release: 40,
                ..note(360, 90, 659.26, 659.26)
            },
            Note {
                release: 300,
                sustain: 0.5,
                ..note(540, 300, 880.0, 880.0)
            },
        ],
        _ => return None,
    };
    Some(notes)
}

/// The names of all cues.
pub const NAMES: [&str; 6] = ["ask", "right", "wrong", "time", "ready", "done"];

/// The WAV file of a cue.
pub fn wav(name: &str) -> Option<Vec<u8>> {
    let notes = score(name)?;
    let end = notes.iter().map(|n| n.start + n.length + n.release).max()?;
    let mut sum = vec![0.0_f64; samples(end + 20)];
    for note in &notes {
        play(note, &mut sum);
    }
    Some(file(&sum))
}

fn samples(millis: u32) -> usize {
    (millis * RATE / 1000) as usize
}

fn play(note: &Note, sum: &mut [f64]) {
    let (body, release) = (samples(note.length), samples(note.release));
    let attack = samples(note.attack).max(1);
    let whole: f64 = note.partials.iter().map(|(_, loud)| loud).sum();
    let mut turns = vec![0.0_f64; note.partials.len()];
    for i in 0..body + release {
        let along = i as f64 / body as f64;
        let pitch = note.from + (note.to - note.from) * along.min(1.0);
        // The sustain is reached in a straight line; both edges are smooth curves.
        let held = 1.0 - (1.0 - note.sustain) * along.min(1.0);
        let come = smooth((i as f64 / attack as f64).min(1.0));
        let go = if i < body {
            1.0
        } else {
            1.0 - smooth((i - body) as f64 / release as f64)
        };
        let mut tone = 0.0;
        for ((times, loud), turn) in note.partials.iter().zip(&mut turns) {
            tone += loud * sine(*turn);
            *turn += pitch * times / f64::from(RATE);
            *turn -= turn.trunc();
        }
        if let Some(place) = sum.get_mut(samples(note.start) + i) {
            *place += note.level * held * come * go * tone / whole;
        }
    }
}

/// From 0 to 1 without a corner at either end.
fn smooth(x: f64) -> f64 {
    x * x * (3.0 - 2.0 * x)
}

/// The sine of a part of a turn from 0 to 1, by its series around the nearest quarter; exact to 1e-9.
fn sine(turn: f64) -> f64 {
    let folded = if turn < 0.25 {
        turn
    } else if turn < 0.75 {
        0.5 - turn
    } else {
        turn - 1.0
    };
    let x = folded * std::f64::consts::TAU;
    let square = x * x;
    let mut term = x;
    let mut sum = x;
    for k in 1..9 {
        term *= -square / f64::from(2 * k * (2 * k + 1));
        sum += term;
    }
    sum
}

/// A WAV file: RIFF, one `fmt ` chunk (PCM, one channel, 16 bits), one `data` chunk; all numbers little-endian.
fn file(sum: &[f64]) -> Vec<u8> {
    let bytes = 2 * sum.len() as u32;
    let mut out = Vec::new();
    out.extend(b"RIFF");
    out.extend((36 + bytes).to_le_bytes());
    out.extend(b"WAVEfmt ");
    out.extend(16_u32.to_le_bytes());
    out.extend(1_u16.to_le_bytes());
    out.extend(1_u16.to_le_bytes());
    out.extend(RATE.to_le_bytes());
    out.extend((2 * RATE).to_le_bytes());
    out.extend(2_u16.to_le_bytes());
    out.extend(16_u16.to_le_bytes());
    out.extend(b"data");
    out.extend(bytes.to_le_bytes());
    for sample in sum {
        out.extend(((sample * 32767.0).round() as i16).to_le_bytes());
    }
    out
}
