//! A voice on a string, for the tests with a real sound server: reads what to do from standard input, a line each, and tells
//! what happened.
//!
//! `speak PROGRAM CACHE` starts a voice whose speech process is PROGRAM (`allroads`). Then:
//!
//! ```text
//! say ROLE LANG TEXT     say it; ROLE is spectator or prompter
//! ahead ROLE LANG TEXT   make it ahead
//! cue NAME               sound a cue
//! hush                   be silent
//! volume PERCENT
//! wait MILLISECONDS      until all is said
//! sleep MILLISECONDS     only pass the time, telling what happens
//! ```
//!
//! It prints `said ID UNIX_NANOSECONDS` when a line was given, `heard ID ENDING UNIX_NANOSECONDS`, `notice WORDS`, and `done`
//! after each command.

use allroads::cards::Lang;
use allroads::voice::{Cue, Line, Pace, Role, Settings, Voice, Volume};
use std::error::Error;
use std::io::{BufRead, Write};
use std::path::PathBuf;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

fn now() -> Result<u128, Box<dyn Error>> {
    Ok(SystemTime::now().duration_since(UNIX_EPOCH)?.as_nanos())
}

fn tell(voice: &Voice) -> Result<(), Box<dyn Error>> {
    let mut out = std::io::stdout().lock();
    for notice in voice.notices() {
        writeln!(out, "notice {notice}")?;
    }
    for heard in voice.finished() {
        let ago = heard.at.elapsed().as_nanos();
        writeln!(
            out,
            "heard {} {:?} {}",
            heard.said.0,
            heard.ending,
            now()?.saturating_sub(ago)
        )?;
    }
    out.flush()?;
    Ok(())
}

fn pass(voice: &Voice, millis: &str, until_said: bool) -> Result<(), Box<dyn Error>> {
    let since = Instant::now();
    let long = Duration::from_millis(millis.parse()?);
    while since.elapsed() < long {
        tell(voice)?;
        if until_said && voice.wait(Duration::ZERO) {
            break;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    tell(voice)
}

fn line(rest: &str) -> Result<Line, Box<dyn Error>> {
    let mut parts = rest.splitn(3, ' ');
    let role = match parts.next() {
        Some("spectator") => Role::Spectator,
        Some("prompter") => Role::Prompter,
        other => return Err(format!("no role: {other:?}").into()),
    };
    let lang: Lang = parts.next().unwrap_or("").parse()?;
    Ok(Line::new(role, lang, parts.next().unwrap_or("")))
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args_os().skip(1).map(PathBuf::from);
    let voice = Voice::start(Settings {
        volume: Volume::new(100),
        pace: Pace::USUAL,
        first_time: false,
        program: args.next(),
        cache: args.next(),
        sounds: None,
    });
    for command in std::io::stdin().lock().lines() {
        let command = command?;
        let (word, rest) = command.split_once(' ').unwrap_or((&command, ""));
        match word {
            "say" => {
                let line = line(rest)?;
                let at = now()?;
                let said = voice.say(line);
                println!("said {} {at}", said.0);
            }
            "ahead" => voice.ahead(&[line(rest)?]),
            "cue" => {
                let cue = Cue::ALL.into_iter().find(|cue| cue.name() == rest);
                println!("said 0 {}", now()?);
                voice.cue(cue.ok_or("no such cue")?);
            }
            "hush" => voice.hush(),
            "volume" => voice.set_volume(Volume::new(rest.parse()?)),
            "wait" => pass(&voice, rest, true)?,
            "sleep" => pass(&voice, rest, false)?,
            other => return Err(format!("no command: {other}").into()),
        }
        tell(&voice)?;
        println!("done");
        std::io::stdout().flush()?;
    }
    Ok(())
}
