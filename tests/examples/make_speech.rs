//! Makes the speech of many phrases without playing it, for the tests that let a recogniser hear it.
//!
//! `make_speech PROGRAM FOLDER < PHRASES` takes lines as `phrases` prints them (routine, who speaks, language, words; parted by tabs),
//! writes the samples of the n-th as the engine returned them into `FOLDER/n.raw`, and as they are played into
//! `FOLDER/n.level.raw` (16 bits, little-endian, 16 kHz), and prints for each: n, the longest run of full-scale samples, both
//! as made and as played, the loudness as played in LUFS. At the end: `total SECONDS_OF_SPEECH SECONDS_TAKEN PROCESSES`.

use allroads::cards::Lang;
use allroads::voice::speech::{Manner, RATE, Speaker, longest_full_scale_run};
use allroads::voice::{Pace, Role, levelled, loudness};
use std::error::Error;
use std::io::BufRead;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

fn write(path: &Path, samples: &[i16]) -> std::io::Result<()> {
    let bytes: Vec<u8> = samples.iter().flat_map(|s| s.to_le_bytes()).collect();
    std::fs::write(path, bytes)
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args_os().skip(1).map(PathBuf::from);
    let program = args.next().ok_or("which program?")?;
    let folder = args.next().ok_or("which folder?")?;
    let mut speaker = Speaker::new(&program, &folder.join("voices"));
    let (mut spoken, mut taken) = (0, Duration::ZERO);
    for (n, line) in std::io::stdin().lock().lines().enumerate() {
        let line = line?;
        let fields: Vec<&str> = line.split('\t').collect();
        let [_, who, lang, words] = fields[..] else {
            return Err(format!("not a phrase: {line}").into());
        };
        let role = if who == "spectator" {
            Role::Spectator
        } else {
            Role::Prompter
        };
        let manner = Manner::of(role, lang.parse::<Lang>()?, Pace::USUAL);
        if n == 0 {
            // The process starts and unpacks its voice: not part of the pace of speech.
            speaker.make(manner, "one")?;
        }
        let since = Instant::now();
        let made = speaker.make(manner, words)?;
        taken += since.elapsed();
        spoken += made.len();
        let level = levelled(&made);
        write(&folder.join(format!("{n}.raw")), &made)?;
        write(&folder.join(format!("{n}.level.raw")), &level)?;
        let loud = loudness(&level).unwrap_or(f64::NEG_INFINITY);
        println!(
            "{n} {} {} {loud:.2}",
            longest_full_scale_run(&made),
            longest_full_scale_run(&level)
        );
    }
    let seconds = spoken as f64 / f64::from(RATE);
    println!(
        "total {seconds:.1} {:.3} {}",
        taken.as_secs_f64(),
        speaker.started()
    );
    Ok(())
}
