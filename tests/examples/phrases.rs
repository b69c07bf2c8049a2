//! Every phrase that spoken rehearsals of the shipped English routines can say, as far as many seeds find them, for the tests that let a
//! recogniser hear them. A line each: routine, who speaks, language, words; parted by tabs. Long ones in the parts in which they
//! are spoken.
//!
//! `phrases SEEDS` rehearses hands, a dress rehearsal and the lines with so many seeds.

use allroads::cards::Lang;
use allroads::command::{SHIPPED, Source};
use allroads::drill::{
    Deed, Drill, Performer, Plan, Speaker, Speech, Spoken, SpokenEffect, SpokenPrompt,
};
use allroads::routine::Millis;
use allroads::voice::wording;
use std::collections::BTreeSet;
use std::error::Error;
use std::sync::Arc;

/// No rehearsal takes more key presses than this.
const MOST_DEEDS: u64 = 2000;

type Found = BTreeSet<(&'static str, Lang, String)>;

fn keep(found: &mut Found, speech: &Speech) {
    let who = match speech.who {
        Speaker::Spectator => "spectator",
        Speaker::Prompter => "prompter",
    };
    for part in wording::parts(&wording::plain(speech.lang, &speech.words)) {
        found.insert((who, speech.lang, part));
    }
}

/// What a performer might do now; `n` makes one rehearsal unlike the next.
fn deed(prompt: &SpokenPrompt, n: u64) -> Deed {
    match prompt {
        SpokenPrompt::SetUp(lay) if lay.telling.is_none() && n.is_multiple_of(3) => Deed::Cards,
        SpokenPrompt::Which(which) => {
            Deed::Answer((n % which.options.len().max(1) as u64 + 1).to_string())
        }
        SpokenPrompt::Ask(_) => {
            Deed::Answer(["red", "7", "left", "yes"][(n % 4) as usize].to_owned())
        }
        SpokenPrompt::Judge(_) if n.is_multiple_of(2) => Deed::Back,
        SpokenPrompt::Packet(_) => Deed::Answer("?".to_owned()),
        SpokenPrompt::Where(_) => Deed::Answer("1".to_owned()),
        SpokenPrompt::Opening(_) if n.is_multiple_of(2) => Deed::Read,
        SpokenPrompt::Reading(_) => Deed::Spoken,
        SpokenPrompt::Stray(_) | SpokenPrompt::Mend(_) | SpokenPrompt::WhereNow(_) => {
            Deed::Answer("-".to_owned())
        }
        SpokenPrompt::SetUp(_)
        | SpokenPrompt::Rescue(_)
        | SpokenPrompt::Step(_)
        | SpokenPrompt::Marked(_)
        | SpokenPrompt::Judge(_)
        | SpokenPrompt::Verdict(_)
        | SpokenPrompt::Opening(_)
        | SpokenPrompt::Line(_)
        | SpokenPrompt::Real(_)
        | SpokenPrompt::Read(_)
        | SpokenPrompt::Done(_) => Deed::Go,
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let seeds: u64 = std::env::args()
        .nth(1)
        .unwrap_or_else(|| "20".to_owned())
        .parse()?;
    for shipped in SHIPPED {
        let routine = Arc::new(Source::find(shipped.name)?.load(0)?);
        if !matches!(routine.lang, Lang::EnGb | Lang::EnUs) {
            continue;
        }
        let mut found = Found::new();
        for seed in 0..seeds {
            for drill in [Drill::Hands, Drill::Dress, Drill::Lines] {
                let plan = Plan {
                    drills: vec![drill],
                    questions: Some(8),
                    minutes: None,
                    seed,
                    from: None,
                };
                let mut session = Spoken::new(Arc::clone(&routine), plan, Performer::default())?;
                for turn in 0..MOST_DEEDS {
                    let prompt = session.prompt();
                    if matches!(prompt, SpokenPrompt::Done(_)) {
                        break;
                    }
                    let done = session.update(&deed(&prompt, seed + turn), Millis(turn * 5000));
                    for effect in &done {
                        if let SpokenEffect::Say(speech) = effect {
                            keep(&mut found, speech);
                        }
                    }
                }
            }
        }
        for (who, lang, words) in found {
            println!("{}\t{who}\t{lang}\t{words}", shipped.name);
        }
    }
    Ok(())
}
