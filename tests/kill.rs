//! Rehearsals that are killed: whatever the program called kept is in the logbook, and the logbook is sound.

#![cfg(unix)]
#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod program;

use program::program;
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

/// So many rehearsals are killed.
const KILLS: u64 = 200;
/// After so many milliseconds at most.
const LATEST: u64 = 160;

const ROUTINE: &str = "allroads: 1
title: Cut and look
blurb: A cut, again and again.
principle: A cut moves the top cards under the others.
lang: en-GB
running-time: 1m
cards:
  packet: {list: \"4H 9S KD 2C 8D JS 3H 6C\"}
steps:
  - again:
      name: rounds
      says: Once more?
      steps:
        - id: cut
          title: Cut the packet
          say: Cut anywhere you like. Was it {n}?
          fork: {name: n, about: where they cut, cut: {pile: packet, least: 1}}
          do: [{cut: {pile: packet, at: n}}]
finale:
  id: look
  title: Look at the top card
  say: It is red or it is black, I am sure of it.
  sees: [{card: {pile: packet, at: 1}}]
  claims: [{count: {piles: [packet], is: 8}}]
";

/// Numbers that look random and are always the same: a linear congruential generator (Knuth's MMIX constants).
struct Moments(u64);

impl Moments {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

/// Begins a rehearsal with more answers than it can take, kills it, and counts the answers it called kept.
fn killed(data: &Path, routine: &Path, seed: u64, after: Duration) -> usize {
    let begun = Instant::now();
    let mut child = program(data)
        .arg("rehearse")
        .arg(routine)
        .args([
            "--plain",
            "--questions",
            "1000",
            "--seed",
            &seed.to_string(),
        ])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut to = child.stdin.take().unwrap();
    let mut from = child.stdout.take().unwrap();
    // Few enough to fit into the pipe at once; the end of the input is far away.
    to.write_all("-\n".repeat(1_200).as_bytes()).unwrap();
    let reader = std::thread::spawn(move || {
        let mut printed = Vec::new();
        from.read_to_end(&mut printed).unwrap();
        printed
    });
    std::thread::sleep(after.saturating_sub(begun.elapsed()));
    child.kill().unwrap();
    let status = child.wait().unwrap();
    assert!(
        !status.success(),
        "it was killed, or ended too early: {status}"
    );
    drop(to);
    let printed = String::from_utf8(reader.join().unwrap()).unwrap();
    printed
        .split_inclusive('\n')
        .filter(|line| line.ends_with(". kept.\n"))
        .count()
}

fn sound(data: &Path) {
    let output = program(data).args(["log", "check"]).output().unwrap();
    let told = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success(), "{told}");
}

/// How many answers each session holds, by its seed.
fn held(data: &Path) -> BTreeMap<u64, usize> {
    let output = program(data).args(["log", "export"]).output().unwrap();
    assert!(output.status.success());
    let (mut seeds, mut answers) = (BTreeMap::new(), BTreeMap::new());
    for line in String::from_utf8(output.stdout).unwrap().lines() {
        let row: Value = serde_json::from_str(line).unwrap();
        if let Some(session) = row.get("session") {
            let seed: u64 = session["seed"].as_str().unwrap().parse().unwrap();
            seeds.insert(session["id"].as_str().unwrap().to_owned(), seed);
            answers.insert(seed, 0);
        } else if let Some(answer) = row.get("answer") {
            *answers
                .get_mut(&seeds[answer["session"].as_str().unwrap()])
                .unwrap() += 1;
        }
    }
    answers
}

#[test]
fn what_was_called_kept_is_in_the_logbook_whenever_the_program_is_killed() {
    let data = tempfile::tempdir().unwrap();
    let routine = data.path().join("cut.yaml");
    std::fs::write(&routine, ROUTINE).unwrap();
    let mut moments = Moments(7);
    let mut called = Vec::new();
    for seed in 0..KILLS {
        let after = Duration::from_millis(moments.below(LATEST));
        called.push(killed(data.path(), &routine, seed, after));
        if seed % 40 == 0 {
            sound(data.path());
        }
    }
    sound(data.path());
    let held = held(data.path());
    for (seed, called) in called.iter().enumerate() {
        let held = held.get(&(seed as u64)).copied().unwrap_or(0);
        // One more may be on the disk of which there was no time to speak.
        assert!(
            (*called..=called + 1).contains(&held),
            "rehearsal {seed}: {called} called kept, {held} in the logbook"
        );
    }
    // Some were killed before the first answer, and many later.
    assert!(called.contains(&0), "{called:?}");
    let later = called.iter().filter(|called| **called > 1).count();
    assert!(later > 20, "{called:?}");
}
