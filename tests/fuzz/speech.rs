//! From hostile text to samples, as long as one likes.
//!
//! `cargo test --test speech_fuzz` runs for a few seconds; `ALLROADS_FUZZ_SECONDS=600 cargo test --release --test speech_fuzz --
//! --nocapture` for ten minutes, with `ALLROADS_FUZZ_SEED=N` from another seed. The seconds are those of the processors, of this
//! process and of the speech process, however busy the machine is (elsewhere than on Linux: those of the clock). Every text goes both ways: through the wording, as all texts of
//! a rehearsal do, and raw to the speech process, which must stand it too. An engine that dies or hangs, or anything but words
//! after the wording, fails with the text that did it. Noise that is loud enough to be clipped is counted, no more: what is heard of it is
//! as loud as everything else.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

use allroads::cards::Lang;
use allroads::voice::speech::{Manner, Speaker, SpeechFault, longest_full_scale_run};
use allroads::voice::{Pace, Role, wording};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::path::Path;
use std::time::{Duration, Instant};

/// What texts are put together from.
const SCRAPS: &[&str] = &[
    "<play file=\"/etc/passwd\"/>",
    "<play file='x.wav'>",
    "<genfile file=\"/tmp/x\"/>",
    "<usesig file=\"x\">",
    "<speed level=\"9999999999999\">",
    "<pitch level=\"-1\">",
    "<volume level=\"500\">",
    "</volume>",
    "</speed>",
    "</pitch>",
    "<s>",
    "<p>",
    "<break time=\"99999999ms\"/>",
    "<mark name=\"x\"/>",
    "<phoneme ph=\"\u{1}\u{2}@{}\">x</phoneme>",
    "<preproccontext name=\"DATE\">",
    "<![CDATA[",
    "<!--",
    "&lt;",
    "&#0;",
    "&",
    "<",
    ">",
    "\\",
    "\"",
    "\u{0}",
    "\u{1b}[2J",
    "\u{1b}]0;x\u{7}",
    "\r\n",
    "\t",
    "\u{202e}",
    "\u{200b}",
    "\u{feff}",
    "שלום",
    "مرحبا",
    "世界",
    "🂱🃏🎩",
    "👨\u{200d}👩\u{200d}👧",
    "e\u{301}\u{301}\u{301}",
    "ﬁ",
    "İ",
    "ß",
    "œ",
    "7H",
    "10♦",
    "AS",
    "1st",
    "99999999999999999999999",
    "-0",
    "1,000,000.5",
    "12:30",
    "3/4",
    "$5",
    "50%",
    "1e309",
    "www.a.b",
    "a@b.c",
    "...",
    "?!?!",
    "''''",
    "----",
    "the",
    "of",
    "hearts",
    "STOP",
    "xkcdqzv",
    "bcdfghjklmnpqrstvwxz",
    "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa",
    "strč prst skrz krk",
    "l'œuf",
    "Donaudampfschifffahrtsgesellschaft",
];

fn text(draw: &mut ChaCha8Rng) -> String {
    let mut text = String::new();
    let pieces = match draw.random_range(0..20) {
        0 => 0,
        1 => 300,
        _ => draw.random_range(1..12),
    };
    for _ in 0..pieces {
        match draw.random_range(0..8) {
            0..4 => text.push_str(SCRAPS[draw.random_range(0..SCRAPS.len())]),
            4 => text.extend(std::iter::repeat_n(
                any_char(draw),
                draw.random_range(1..40),
            )),
            5 => text.extend(
                (0..draw.random_range(1..30)).map(|_| char::from(draw.random_range(32..127_u8))),
            ),
            6 => text.extend((0..draw.random_range(1..12)).map(|_| any_char(draw))),
            _ => text.push_str(&draw.random_range(-5000..2_000_000_i64).to_string()),
        }
        if draw.random_range(0..3) > 0 {
            text.push(' ');
        }
    }
    // Now and then one word of a hundred kilobytes.
    if draw.random_range(0..400) == 0 {
        text.push_str(&"abra".repeat(25_000));
    }
    text
}

fn any_char(draw: &mut ChaCha8Rng) -> char {
    let most = match draw.random_range(0..3) {
        0 => 0x80,
        1 => 0x0600,
        _ => 0x11_0000,
    };
    char::from_u32(draw.random_range(0..most)).unwrap_or('\u{fffd}')
}

/// The time that the processors spent on this process and its children so far.
#[cfg(target_os = "linux")]
fn worked(_since: Instant) -> Duration {
    // Fields 14 to 17 of proc(5)'s stat, counted behind the name, which stands in brackets and may hold anything: in user and in
    // system mode, and the same of the children that have ended; in hundredths of a second.
    let ticks = |pid: &str| -> u64 {
        let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).unwrap_or_default();
        let (_, fields) = stat.rsplit_once(')').unwrap_or_default();
        fields
            .split_whitespace()
            .skip(11)
            .take(4)
            .map(|ticks| ticks.parse::<u64>().unwrap())
            .sum()
    };
    let mut all = ticks("self");
    for thread in std::fs::read_dir("/proc/self/task").unwrap() {
        let children = thread.unwrap().path().join("children");
        let children = std::fs::read_to_string(children).unwrap_or_default();
        all += children.split_whitespace().map(ticks).sum::<u64>();
    }
    Duration::from_millis(all * 10)
}

/// The time that has passed: what processors spent is not to be had everywhere.
#[cfg(not(target_os = "linux"))]
fn worked(since: Instant) -> Duration {
    since.elapsed()
}

fn number(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).map_or(otherwise, |text| text.parse().unwrap())
}

#[test]
fn hostile_text_is_spoken_or_skipped() {
    let seconds = number("ALLROADS_FUZZ_SECONDS", 6);
    let seed = number("ALLROADS_FUZZ_SEED", 1);
    let folder = tempfile::tempdir().unwrap();
    let program = Path::new(env!("CARGO_BIN_EXE_allroads"));
    let mut speaker = Speaker::new(program, folder.path()).with_limit(Duration::from_secs(20));
    let mut draw = ChaCha8Rng::seed_from_u64(seed);
    let (mut inputs, mut spoken, mut refused, mut clipped, mut samples) =
        (0_u64, 0_u64, 0_u64, 0_u64, 0_u64);
    let since = Instant::now();
    while worked(since) < Duration::from_secs(seconds) || inputs < 20 {
        let text = text(&mut draw);
        let lang = Lang::ALL[draw.random_range(0..6)];
        let role = Role::ALL[draw.random_range(0..2)];
        let manner = Manner::of(role, lang, Pace::new(draw.random_range(60..161)));
        let said = wording::plain(lang, &text);
        assert!(
            said.chars()
                .all(|c| c.is_alphabetic() || " .,?!:;'-".contains(c)),
            "{text:?} became {said:?}"
        );
        let long = if draw.random_range(0..20) == 0 {
            900
        } else {
            60
        };
        let raw: String = text.chars().take(long).collect();
        for part in wording::parts(&said).into_iter().take(2).chain([raw]) {
            inputs += 1;
            match speaker.make(manner, &part) {
                Ok(made) => {
                    spoken += 1;
                    samples += made.len() as u64;
                    clipped += u64::from(longest_full_scale_run(&made) > 1);
                }
                Err(SpeechFault::Refused(_)) => refused += 1,
                Err(fault) => panic!("{fault} at seed {seed}, input {inputs}: {manner:?} {part:?}"),
            }
        }
    }
    assert_eq!(speaker.started(), 1, "the engine died");
    println!(
        "{inputs} inputs in {:.1} s of the processors ({:.1} s by the clock): {spoken} spoken ({} s of speech), {refused} refused, \
         {clipped} clipped",
        worked(since).as_secs_f64(),
        since.elapsed().as_secs_f64(),
        samples / 16_000
    );
}
