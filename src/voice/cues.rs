//! The sounds of the cues: ours, which are inside the program, or the performer's own.

use super::line::Cue;
use super::mix::{CHANNELS, SAMPLE_RATE};
use super::notice::Notice;
use super::speech::RATE;
use rodio::Decoder;
use rodio::source::UniformSourceIterator;
use std::collections::BTreeMap;
use std::fs;
use std::io::Cursor;
use std::path::Path;
use std::sync::Arc;

/// A sound of the performer's own may be so large, in bytes, and so long, in seconds.
const LARGEST: u64 = 4 * 1024 * 1024;
const LONGEST: usize = 5;

/// The loudest sample of a sound of the performer's own, as a part of full scale: they may not drown the speech.
const PEAK: f32 = 0.4;

/// The sound of every cue.
#[derive(Debug)]
pub(super) struct Sounds(BTreeMap<Cue, Arc<[f32]>>);

impl Sounds {
    /// Ours, with the performer's own in their place where this folder has some. A file that cannot be played is told.
    pub(super) fn load(folder: Option<&Path>) -> (Self, Vec<Notice>) {
        let mut told = Vec::new();
        let sounds = Cue::ALL.into_iter().map(|cue| {
            let own = folder.map(|f| f.join(cue.name()).with_extension("wav"));
            let samples = match own.filter(|path| path.exists()).map(|path| read(&path)) {
                Some(Ok(samples)) => samples,
                Some(Err(why)) => {
                    told.push(Notice::Sound {
                        file: format!("{}.wav", cue.name()),
                        why,
                    });
                    ours(cue)
                }
                None => ours(cue),
            };
            (cue, samples)
        });
        (Self(sounds.collect()), told)
    }

    pub(super) fn of(&self, cue: Cue) -> Option<Arc<[f32]>> {
        self.0.get(&cue).cloned()
    }
}

/// Our sound of a cue, as the file in `sounds/` has it.
#[must_use]
pub fn file(cue: Cue) -> &'static [u8] {
    match cue {
        Cue::Ask => include_bytes!("../../sounds/ask.wav"),
        Cue::Right => include_bytes!("../../sounds/right.wav"),
        Cue::Wrong => include_bytes!("../../sounds/wrong.wav"),
        Cue::Time => include_bytes!("../../sounds/time.wav"),
        Cue::Ready => include_bytes!("../../sounds/ready.wav"),
        Cue::Done => include_bytes!("../../sounds/done.wav"),
    }
}

fn ours(cue: Cue) -> Arc<[f32]> {
    // Our own files are read by a test; should one be spoilt all the same, it is silent.
    decode(file(cue)).unwrap_or_default().into()
}

fn read(path: &Path) -> Result<Arc<[f32]>, String> {
    let size = fs::metadata(path).map_err(|cause| cause.to_string())?.len();
    if size > LARGEST {
        return Err("it is larger than 4 MiB".to_owned());
    }
    let bytes = fs::read(path).map_err(|cause| cause.to_string())?;
    let mut samples = decode(&bytes)?;
    if samples.is_empty() {
        return Err("there is no sound in it".to_owned());
    }
    let peak = samples.iter().fold(0.0_f32, |peak, s| peak.max(s.abs()));
    if peak > PEAK {
        for sample in &mut samples {
            *sample *= PEAK / peak;
        }
    }
    Ok(samples.into())
}

/// The samples of a WAV file, brought to one channel and our rate.
fn decode(bytes: &[u8]) -> Result<Vec<f32>, String> {
    let decoded = Decoder::new_wav(Cursor::new(bytes.to_vec()))
        .map_err(|_| "it is not a WAV file that can be played".to_owned())?;
    let uniform = UniformSourceIterator::new(decoded, CHANNELS, SAMPLE_RATE);
    let most = LONGEST * RATE as usize;
    let samples: Vec<f32> = uniform.take(most + 1).collect();
    if samples.len() > most {
        return Err("it is longer than five seconds".to_owned());
    }
    if samples.iter().any(|s| !s.is_finite()) {
        return Err("it holds numbers that are no sound".to_owned());
    }
    Ok(samples)
}

#[cfg(test)]
mod tests {
    use super::super::mix::RING_OUT;
    use super::*;

    #[test]
    fn every_cue_has_its_sound_and_a_line_lets_it_ring_out() {
        for cue in Cue::ALL {
            let samples = decode(file(cue)).unwrap();
            assert!(samples.len() > 1600, "{cue:?} is over too soon");
            assert!(samples.len() <= RING_OUT, "{cue:?} ends under a line");
            let peak = samples.iter().fold(0.0_f32, |peak, s| peak.max(s.abs()));
            assert!((0.1..=PEAK).contains(&peak), "{cue:?} peaks at {peak}");
        }
    }

    #[test]
    fn a_sound_of_the_performers_own_takes_the_place_of_ours() {
        let folder = tempfile::tempdir().unwrap();
        // Ours under another name, so that it can be told apart.
        std::fs::write(folder.path().join("ask.wav"), file(Cue::Done)).unwrap();
        let (sounds, told) = Sounds::load(Some(folder.path()));
        assert!(told.is_empty());
        assert_eq!(sounds.of(Cue::Ask), sounds.of(Cue::Done));
        assert_ne!(sounds.of(Cue::Right), sounds.of(Cue::Done));
    }

    #[test]
    fn a_file_that_is_no_sound_is_told_and_ours_is_played() {
        let folder = tempfile::tempdir().unwrap();
        let half = &file(Cue::Done)[..30];
        for spoilt in [&b""[..], b"not a sound", half] {
            std::fs::write(folder.path().join("time.wav"), spoilt).unwrap();
            let (sounds, told) = Sounds::load(Some(folder.path()));
            assert_eq!(told.len(), 1);
            let ours = Sounds::load(None).0;
            assert_eq!(sounds.of(Cue::Time), ours.of(Cue::Time));
        }
    }
}
