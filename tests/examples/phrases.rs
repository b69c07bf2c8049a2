//! Every phrase that spoken rehearsals of the shipped English routines can say, as far as many seeds find them, for the tests that let a
//! recogniser hear them. A line each: routine, who speaks, language, words; parted by tabs. Long ones in the parts in which they
//! are spoken.
//!
//! `phrases SEEDS [DRILL…]` rehearses these drills, or hands, dress, lines and rescue, with so many seeds; rescues with a few only, for
//! to judge a stray takes its time. What strays are told with is asked of each.

use allroads::cards::Lang;
use allroads::command::{SHIPPED, Source};
use allroads::drill::{
    Deed, Drill, Performer, Plan, Speaker, Speech, Spoken, SpokenEffect, SpokenPrompt,
};
use allroads::rescue::{Ground, When};
use allroads::routine::{Millis, Routine};
use allroads::voice::wording;
use std::collections::BTreeSet;
use std::error::Error;
use std::sync::Arc;

/// No rehearsal takes more key presses than this.
const MOST_DEEDS: u64 = 2000;

/// Rescues of a routine that are played.
const RESCUES: u64 = 2;

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
        SpokenPrompt::Stray(_) => Deed::Answer(["s", "m", "o", "l"][(n % 4) as usize].to_owned()),
        SpokenPrompt::Mend(mend) => {
            let listed = n as usize % (mend.mends.len() + 1);
            Deed::Answer(if listed == 0 {
                "-".to_owned()
            } else {
                listed.to_string()
            })
        }
        SpokenPrompt::WhereNow(_) => Deed::Answer("1".to_owned()),
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

/// What every stray of a routine is told with, and what is said with it.
fn strays(found: &mut Found, routine: &Routine) {
    let ground = Ground::new(routine);
    for case in ground.cases() {
        let when = match case.when {
            When::Instead => "At",
            When::After => "After",
        };
        let title = routine
            .stop(case.stop)
            .map_or("", |stop| stop.title.trim_end_matches('.'));
        let told = format!("{when} “{title}”: {}", ground.told(case));
        for (who, lang, words) in [
            (Speaker::Prompter, Lang::EnGb, told),
            (Speaker::Spectator, routine.lang, ground.quip(case)),
        ] {
            keep(found, &Speech { who, lang, words });
        }
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let seeds: u64 = std::env::args()
        .nth(1)
        .unwrap_or_else(|| "20".to_owned())
        .parse()?;
    let words: Vec<String> = std::env::args().skip(2).collect();
    let drills: Vec<Drill> = [Drill::Hands, Drill::Dress, Drill::Lines, Drill::Rescue]
        .into_iter()
        .filter(|drill| words.is_empty() || words.iter().any(|word| word == drill.word()))
        .collect();
    for shipped in SHIPPED {
        let routine = Arc::new(Source::find(shipped.name)?.load(0)?);
        if !matches!(routine.lang, Lang::EnGb | Lang::EnUs) {
            continue;
        }
        let mut found = Found::new();
        for seed in 0..seeds {
            for &drill in &drills {
                let rescue = drill == Drill::Rescue;
                if rescue && seed >= RESCUES {
                    continue;
                }
                let plan = Plan {
                    drills: vec![drill],
                    questions: Some(if rescue { 2 } else { 8 }),
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
        if drills.contains(&Drill::Rescue) {
            strays(&mut found, &routine);
        }
        for (who, lang, words) in found {
            println!("{}\t{who}\t{lang}\t{words}", shipped.name);
        }
    }
    Ok(())
}
