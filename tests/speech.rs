//! The speech process, as the program uses it: what it makes, and what happens when it dies, hangs or is not there.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

use allroads::cards::{Lang, Suit, Value};
use allroads::voice::speech::{Manner, Samples, Speaker, SpeechFault, longest_full_scale_run};
use allroads::voice::{
    Cue, Ending, Line, Pace, Role, Settings, TARGET, Voice, Volume, levelled, loudness, wording,
};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

fn program() -> &'static Path {
    Path::new(env!("CARGO_BIN_EXE_allroads"))
}

/// Every value once, every suit several times.
fn cards(lang: Lang) -> Vec<String> {
    (1..=13)
        .map(|n| lang.card_name(Value::new(n).unwrap(), Suit::ALL[usize::from(n) % 4]))
        .collect()
}

/// Loudness as EBU R 128 measures it, by the crate `ebur128`, which is no part of the program. A phrase under 400 ms is repeated
/// until it is longer.
fn measured(samples: &[i16]) -> f64 {
    let mut meter = ebur128::EbuR128::new(1, 16_000, ebur128::Mode::I).unwrap();
    let repeated: Vec<i16> = samples
        .iter()
        .copied()
        .cycle()
        .take(samples.len().max(6400))
        .collect();
    meter.add_frames_i16(&repeated).unwrap();
    // One channel counts as the left of two, as everywhere in the standard.
    meter.loudness_global().unwrap()
}

#[test]
fn every_voice_speaks_cards_and_numbers_unclipped_and_equally_loud() {
    let folder = tempfile::tempdir().unwrap();
    let mut speaker = Speaker::new(program(), folder.path());
    let mut spoken = 0;
    for lang in Lang::ALL {
        for role in Role::ALL {
            let manner = Manner::of(role, lang, Pace::USUAL);
            for text in cards(lang)
                .into_iter()
                .chain((14..=20).map(|n| wording::number(lang, n)))
            {
                let made: Samples = speaker.make(manner, &text).unwrap();
                spoken += 1;
                assert!(
                    made.len() > 2000,
                    "{lang} {role:?} {text}: {} samples",
                    made.len()
                );
                assert!(
                    longest_full_scale_run(&made) < 2,
                    "{lang} {role:?} {text} is clipped where it is made"
                );
                let level = levelled(&made);
                assert_eq!(longest_full_scale_run(&level), 0);
                let loud = measured(&level);
                assert!(
                    (loud - TARGET).abs() < 1.5,
                    "{lang} {role:?} {text}: {loud:.1} LUFS"
                );
                let ours = loudness(&made).unwrap();
                assert!(
                    (ours - measured(&made)).abs() < 0.2,
                    "{text}: {ours} and {}",
                    measured(&made)
                );
            }
        }
    }
    assert_eq!(spoken, 6 * 2 * 20);
    assert_eq!(speaker.started(), 1);
}

#[test]
fn the_two_speakers_do_not_sound_alike() {
    let folder = tempfile::tempdir().unwrap();
    let mut speaker = Speaker::new(program(), folder.path());
    for lang in Lang::ALL {
        let [spectator, prompter] = Role::ALL.map(|role| Manner::of(role, lang, Pace::USUAL));
        assert!(spectator.pitch >= prompter.pitch + 15, "{lang}");
        if matches!(lang, Lang::EnGb | Lang::EnUs) {
            assert_ne!(spectator.voice, prompter.voice);
        }
        let text = wording::number(lang, 1729);
        let [high, low] = [spectator, prompter].map(|m| pitch(&speaker.make(m, &text).unwrap()));
        assert!(high > low * 1.1, "{lang}: {high:.0} Hz and {low:.0} Hz");
    }
}

/// The pitch of a voice in hertz: the lag at which the whole phrase is most like itself, from 80 to 400 Hz.
fn pitch(samples: &[i16]) -> f64 {
    let sound: Vec<f64> = samples.iter().map(|s| f64::from(*s)).collect();
    let alike = |lag: usize| -> f64 { sound.iter().zip(&sound[lag..]).map(|(a, b)| a * b).sum() };
    let best = (40..200)
        .max_by(|a, b| alike(*a).total_cmp(&alike(*b)))
        .unwrap();
    16_000.0 / best as f64
}

#[test]
fn the_pace_is_heard() {
    let folder = tempfile::tempdir().unwrap();
    let mut speaker = Speaker::new(program(), folder.path());
    let text = "Which of the two benches has to turn round now?";
    let [slow, usual, quick] = [60, 100, 160].map(|pace| {
        let manner = Manner::of(Role::Prompter, Lang::EnGb, Pace::new(pace));
        speaker.make(manner, text).unwrap().len()
    });
    assert!(
        slow > usual * 13 / 10 && usual > quick * 11 / 10,
        "{slow} {usual} {quick}"
    );
}

#[test]
fn markup_changes_nothing_but_the_words() {
    let folder = tempfile::tempdir().unwrap();
    let mut speaker = Speaker::new(program(), folder.path());
    let manner = Manner::of(Role::Spectator, Lang::EnGb, Pace::USUAL);
    let wav = folder.path().join("other.wav");
    std::fs::write(&wav, include_bytes!("../sounds/done.wav")).unwrap();
    let tag = format!("<play file=\"{}\"/>", wav.display());
    // Raw, past the wording: its signs become gaps, so that it is read as the words in it. The engine never makes the same
    // samples twice, so lengths are compared.
    let words = format!(" play file=\"{}\"/ ", wav.display());
    let [tagged, plain] = [tag, words].map(|text| speaker.make(manner, &text).unwrap().len());
    assert!(
        tagged.abs_diff(plain) < plain / 20,
        "{tagged} and {plain} samples"
    );
    let loud = speaker
        .make(manner, "<volume level=\"500\">eleven</volume>")
        .unwrap();
    assert!(longest_full_scale_run(&loud) < 2);
    assert_eq!(speaker.started(), 1);
}

#[test]
fn a_word_of_a_hundred_kilobytes_is_refused_and_the_next_is_spoken() {
    let folder = tempfile::tempdir().unwrap();
    let mut speaker = Speaker::new(program(), folder.path());
    let manner = Manner::of(Role::Spectator, Lang::EnGb, Pace::USUAL);
    let refused = speaker.make(manner, &"x".repeat(100_000));
    assert!(matches!(refused, Err(SpeechFault::Refused(_))));
    // One that fits into a request, without a gap.
    let long = speaker.make(manner, &"ab".repeat(300));
    assert!(
        matches!(long, Ok(_) | Err(SpeechFault::Refused(_))),
        "{:?}",
        long.err()
    );
    let sane = speaker.make(manner, "seven of hearts").unwrap().len();
    let mut other = Speaker::new(program(), folder.path());
    let fresh = other.make(manner, "seven of hearts").unwrap().len();
    assert!(sane > 8000);
    assert!(
        fresh.abs_diff(sane) < fresh / 20,
        "what came before is heard: {sane} samples, not {fresh}"
    );
    assert_eq!(speaker.started(), 1);
}

/// A program of a few lines of shell in place of ours.
#[cfg(unix)]
fn script(folder: &Path, name: &str, lines: &str) -> PathBuf {
    use std::os::unix::fs::PermissionsExt;
    let path = folder.join(name);
    std::fs::write(&path, format!("#!/bin/sh\n{lines}\n")).unwrap();
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o755)).unwrap();
    path
}

#[cfg(unix)]
const GREET: &str = "printf 'allroads speech: 1\\r\\n'";

#[cfg(unix)]
#[test]
fn a_process_that_was_killed_is_started_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut speaker = Speaker::new(program(), folder.path());
    let manner = Manner::of(Role::Spectator, Lang::EnGb, Pace::USUAL);
    let before = speaker.make(manner, "before").unwrap().len();
    for round in 2..5 {
        let process = speaker.process().unwrap().to_string();
        let killed = std::process::Command::new("kill")
            .args(["-9", &process])
            .status()
            .unwrap();
        assert!(killed.success());
        let again = speaker.make(manner, "before").unwrap().len();
        assert!(
            again.abs_diff(before) < before / 20,
            "{again} and {before} samples"
        );
        assert_eq!(speaker.started(), round);
    }
}

#[cfg(unix)]
#[test]
fn an_engine_that_hangs_or_dies_costs_one_line() {
    let folder = tempfile::tempdir().unwrap();
    let manner = Manner::of(Role::Spectator, Lang::EnGb, Pace::USUAL);
    let hangs = script(folder.path(), "hangs", &format!("{GREET}; exec sleep 60"));
    let mut speaker = Speaker::new(&hangs, folder.path()).with_limit(Duration::from_millis(200));
    let since = Instant::now();
    assert_eq!(speaker.make(manner, "text"), Err(SpeechFault::Slow));
    assert!(
        matches!(speaker.make(manner, "text"), Err(SpeechFault::Refused(_))),
        "it is not tried twice"
    );
    assert!(since.elapsed() < Duration::from_secs(3));
    let dies = script(
        folder.path(),
        "dies",
        &format!("{GREET}; head -c 9 > /dev/null; kill -SEGV $$"),
    );
    let mut speaker = Speaker::new(&dies, folder.path());
    assert_eq!(speaker.make(manner, "text"), Err(SpeechFault::Died));
    assert_eq!(
        speaker.started(),
        2,
        "once more, for it may have been ended from outside"
    );
}

#[cfg(unix)]
#[test]
fn a_program_that_is_not_ours_is_no_speech() {
    let folder = tempfile::tempdir().unwrap();
    let manner = Manner::of(Role::Spectator, Lang::EnGb, Pace::USUAL);
    let rude = script(
        folder.path(),
        "rude",
        "echo hello; echo and more of that, whatever is asked",
    );
    for other in [
        rude,
        PathBuf::from("/bin/true"),
        folder.path().join("nobody"),
    ] {
        let mut speaker = Speaker::new(&other, folder.path());
        let made = speaker.make(manner, "text");
        assert!(matches!(made, Err(SpeechFault::Start(_))), "{other:?}");
        // Nor is it started again for every line.
        let again = speaker.make(manner, "other text");
        assert!(matches!(again, Err(SpeechFault::Start(_))));
        assert_eq!(speaker.started(), 1);
    }
}

fn settings(program: Option<PathBuf>, cache: &Path) -> Settings {
    Settings {
        volume: Volume::new(0),
        pace: Pace::USUAL,
        first_time: false,
        program,
        cache: Some(cache.to_path_buf()),
        sounds: None,
    }
}

/// Whether there is a sound server on this machine or not, nothing waits for it and every line ends once.
#[test]
fn every_line_ends_exactly_once_and_no_call_takes_long() {
    let folder = tempfile::tempdir().unwrap();
    for program in [
        Some(program().to_path_buf()),
        None,
        Some(folder.path().join("nobody")),
    ] {
        let voice = Voice::start(settings(program, folder.path()));
        let mut slowest = Duration::ZERO;
        let mut timed = |call: &mut dyn FnMut()| {
            let since = Instant::now();
            call();
            slowest = slowest.max(since.elapsed());
        };
        let mut given = Vec::new();
        for i in 0..6 {
            let line = Line::new(Role::ALL[i % 2], Lang::EnGb, format!("Number {i}."));
            timed(&mut || voice.ahead(std::slice::from_ref(&line)));
            timed(&mut || given.push(voice.say(line.clone())));
            timed(&mut || voice.cue(Cue::Ask));
            timed(&mut || drop(voice.finished()));
        }
        timed(&mut || voice.set_pace(Pace::new(120)));
        timed(&mut || voice.set_volume(Volume::new(0)));
        timed(&mut || voice.hush());
        for text in ["", "😀", "<>"] {
            timed(&mut || given.push(voice.say(Line::new(Role::Prompter, Lang::De, text))));
        }
        assert!(slowest < Duration::from_millis(250), "{slowest:?}");
        assert!(voice.wait(Duration::from_secs(15)));
        assert_eq!(given.len(), 9);
        drop(voice);
    }
}

#[test]
fn each_end_is_told_in_order() {
    let folder = tempfile::tempdir().unwrap();
    let voice = Voice::start(settings(Some(program().to_path_buf()), folder.path()));
    let given: Vec<_> = (0..4)
        .map(|i| voice.say(Line::new(Role::Spectator, Lang::EnGb, format!("{i}"))))
        .collect();
    assert!(voice.wait(Duration::from_secs(20)));
    let heard = voice.finished();
    assert_eq!(heard.iter().map(|h| h.said).collect::<Vec<_>>(), given);
    assert!(heard.windows(2).all(|w| w[0].at <= w[1].at));
    assert!(heard.iter().all(|h| h.ending != Ending::Hushed));
    assert!(voice.finished().is_empty());
}

#[test]
fn a_silent_voice_ends_its_lines_at_once_and_says_nothing() {
    let voice = Voice::silent();
    let said = voice.say(Line::new(Role::Spectator, Lang::EnGb, "Number seven."));
    let heard = voice.finished();
    assert_eq!(heard.len(), 1);
    assert_eq!((heard[0].said, heard[0].ending), (said, Ending::Unheard));
    voice.cue(Cue::Done);
    assert!(voice.wait(Duration::ZERO));
    assert!(voice.notices().is_empty() && !voice.is_heard());
}
