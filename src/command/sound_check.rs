//! `sound-check`: every cue and every voice once, and where they come out.

use super::failure::{Failure, Outcome};
use super::machine::Machine;
use crate::cards::Lang;
use crate::voice::speech::NOTICE;
use crate::voice::{Cue, Ending, Line, Notice, Pace, Role, Settings, Voice, Volume, where_to};
use clap::Args;
use std::io::Write;
use std::time::Duration;

/// What to check.
#[derive(Debug, Args)]
pub struct SoundCheckArgs {
    /// Set how loud it is, in percent, and keep it for rehearsals
    #[arg(long, value_parser = clap::value_parser!(u8).range(0..=100))]
    pub volume: Option<u8>,
    /// Set how fast people speak, in percent, and keep it for rehearsals
    #[arg(long, value_parser = clap::value_parser!(u8).range(60..=160))]
    pub pace: Option<u8>,
    /// Print the licence of the speech engine and its voices instead
    #[arg(long)]
    pub licence: bool,
}

/// The longest wait for one sound or sentence.
const AT_MOST: Duration = Duration::from_secs(15);

/// Checks.
pub(super) fn run(
    args: &SoundCheckArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    if args.licence {
        writeln!(out, "{}", NOTICE.trim_end())?;
        return Ok(Outcome::Done);
    }
    let settings = chosen(args, machine)?;
    let place = where_to().map_err(|why| {
        Failure::Machine(format!(
            "no sound: {why}\n  A rehearsal shows everything that it would say, so it works without."
        ))
    })?;
    writeln!(
        out,
        "Sound comes out at {}, by {}.",
        place.device, place.server
    )?;
    let (volume, pace) = (settings.volume.percent(), settings.pace.percent());
    writeln!(out, "Volume {volume} of 100, pace {pace} of 100.")?;
    if settings.first_time {
        writeln!(out, "{}", Notice::FirstTime)?;
    }
    out.flush()?;
    let voice = Voice::start(settings);
    wait_for_output(&voice);
    for cue in Cue::ALL {
        writeln!(out, "  sound {}: {}", cue.name(), meaning(cue))?;
        out.flush()?;
        voice.cue(cue);
        voice.wait(AT_MOST);
        std::thread::sleep(Duration::from_millis(250));
    }
    let mut unheard = Vec::new();
    for lang in Lang::ALL {
        for role in Role::ALL {
            let text = sentence(role, lang);
            writeln!(out, "  voice {lang}, {}: {text}", who(role))?;
            out.flush()?;
            voice.say(Line::new(role, lang, text));
            voice.wait(AT_MOST);
            let heard = voice.finished();
            if !heard.iter().all(|h| h.ending == Ending::Spoken) || heard.is_empty() {
                unheard.push(format!("{lang}, {}", who(role)));
            }
        }
    }
    for notice in voice.notices() {
        if notice != Notice::FirstTime {
            writeln!(out, "{notice}")?;
        }
    }
    if unheard.is_empty() {
        writeln!(
            out,
            "All of it was played. If you heard nothing, look at the volume of this device."
        )?;
        return Ok(Outcome::Done);
    }
    Err(Failure::Machine(format!(
        "these were not spoken: {}\n  A rehearsal shows everything that it would say, so it works without.",
        unheard.join("; ")
    )))
}

/// As remembered, or as given and then remembered.
fn chosen(args: &SoundCheckArgs, machine: &Machine) -> Result<Settings, Failure> {
    let mut settings = machine.voice_settings()?;
    if args.volume.is_none() && args.pace.is_none() {
        return Ok(settings);
    }
    settings.volume = args.volume.map_or(settings.volume, Volume::new);
    settings.pace = args.pace.map_or(settings.pace, Pace::new);
    settings.first_time = false;
    let mut logbook = machine.logbook()?;
    for (key, value) in Settings::to_remember(settings.volume, settings.pace) {
        logbook.remember(key, &value)?;
    }
    Ok(settings)
}

/// Waits a moment for the output; what is given too early would not be heard.
fn wait_for_output(voice: &Voice) {
    for _ in 0..200 {
        if voice.is_heard() {
            return;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
}

fn who(role: Role) -> &'static str {
    match role {
        Role::Spectator => "a spectator",
        Role::Prompter => "the prompter",
    }
}

fn meaning(cue: Cue) -> &'static str {
    match cue {
        Cue::Ask => "a question comes",
        Cue::Right => "that was right",
        Cue::Wrong => "that was not it",
        Cue::Time => "the time for this step is over",
        Cue::Ready => "ready to begin",
        Cue::Done => "the end",
    }
}

fn sentence(role: Role, lang: Lang) -> &'static str {
    match (role, lang) {
        (Role::Spectator, Lang::EnGb | Lang::EnUs) => "I'll take the seven of hearts.",
        (Role::Prompter, Lang::EnGb | Lang::EnUs) => "Which colour lies on top?",
        (Role::Spectator, Lang::De) => "Ich nehme die Herz-Sieben.",
        (Role::Prompter, Lang::De) => "Welche Farbe liegt oben?",
        (Role::Spectator, Lang::Es) => "Tomo el siete de corazones.",
        (Role::Prompter, Lang::Es) => "¿Qué color está arriba?",
        (Role::Spectator, Lang::Fr) => "Je prends le sept de cœur.",
        (Role::Prompter, Lang::Fr) => "Quelle couleur est au-dessus ?",
        (Role::Spectator, Lang::It) => "Prendo il sette di cuori.",
        (Role::Prompter, Lang::It) => "Quale colore sta in cima?",
    }
}
