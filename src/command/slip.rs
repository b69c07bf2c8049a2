//! `slip`: which handling mistake explains the packet one ended with.
//!
//! Exit codes: 0 the packet is right; 1 something is not: a slip, the cards themselves, or nothing that could be found; 3 nothing
//! was found, but not everything could be looked at; 2 a wrong command line or file.
//!
//! `--json` prints `{"routine","right","complete","pairs","cards":[{"kind","card","words"}],
//! "explanations":[{"share","slips":[{"step","visit","kind","words"}]}],"nearest":{"places","slips"}|null,"seconds"}`: `complete`
//! says whether everything that nobody saw could be followed, `pairs` is `not-needed`, `all` or `partly`, the kind of a card
//! fault is `missing`, `doubled`, `foreign` or `count` (`card` being a code, a name for a foreign card, or null), and the
//! explanations are all that fit exactly, the likeliest first, with their share of the likelihood. Keys may be added; none changes its
//! meaning.

use super::failure::{Failure, Outcome};
use super::pages::paragraph;
use super::source::Source;
use crate::rescue::slip::{
    CardFault, Case, Explanation, Got, MOST_STEPS, Pairs, Report, Slip, card_words, end_piles,
    explain, explanation_words, slip_words, untold,
};
use crate::roads::{Choices, replay, start, start_as, unknown_start};
use crate::routine::{Routine, StopIndex, World};
use clap::Args;
use serde::Serialize;
use std::io::{self, Write};
use std::time::{Duration, Instant};

/// So many explanations are told in words.
const MOST_TOLD: usize = 8;

/// Which road, and which packet.
#[derive(Debug, Args)]
pub struct SlipArgs {
    /// The routine: a name, or a path
    pub routine: String,
    /// A spectator's choice, as in walk; what nobody saw may be left out
    #[arg(long, value_name = "NAME=VALUE")]
    pub choose: Vec<String>,
    /// The cards you ended with, from the top: 7H, r or b for a colour, ? for a card you did not look at, ^ after a card that faces up; PILE=CARDS for each pile where there are several
    #[arg(long, value_name = "CARDS", required = true)]
    pub got: Vec<String>,
    /// The cards lay so after this step (STEP@2 the second time), not at the end
    #[arg(long, value_name = "STEP")]
    pub after: Option<String>,
    /// Take choices that were not given, and how a shuffled deck lay, from the road of this seed
    #[arg(long)]
    pub seed: Option<u64>,
    /// Which draw of the set-up
    #[arg(long, default_value_t = 0)]
    pub setup: u64,
    /// For how many seconds pairs of slips are looked for, where no single one fits
    #[arg(long, default_value_t = 2.0, value_name = "SECONDS")]
    pub seconds: f64,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}

/// Explains it.
pub(super) fn run(args: &SlipArgs, out: &mut dyn Write) -> Result<Outcome, Failure> {
    let routine = Source::find(&args.routine)?.load(args.setup)?;
    let (start, choices) = road(&routine, args)?;
    let until = args
        .after
        .as_deref()
        .map(|step| after(&routine, step))
        .transpose()?;
    let nothing = Got::default();
    let blank = Case {
        routine: &routine,
        start: &start,
        choices: &choices,
        until,
        got: &nothing,
        most_steps: MOST_STEPS,
    };
    let missing = untold(&blank);
    if !missing.is_empty() {
        let told: Vec<String> = missing
            .iter()
            .map(|name| format!("--choose {name}=\u{2026}"))
            .collect();
        return Err(Failure::Wrong(format!(
            "these choices were made in the open on this road, and are needed: {}",
            told.join(" ")
        )));
    }
    let piles = end_piles(&blank);
    let names: Vec<&str> = piles.iter().map(|pile| routine.pile_name(*pile)).collect();
    let names = names.join(", ");
    let alone = match piles.as_slice() {
        [one] => Ok(*one),
        _ => Err(names.as_str()),
    };
    let got = Got::read(&routine, args.got.iter().map(String::as_str), alone)
        .map_err(|fault| Failure::Wrong(fault.to_string()))?;
    let case = Case { got: &got, ..blank };
    let began = Instant::now();
    let patience = Duration::try_from_secs_f64(args.seconds).map_err(|_| {
        Failure::Wrong(format!(
            "--seconds {}: write a number of seconds from 0",
            args.seconds
        ))
    })?;
    let report = explain(&case, &|| began.elapsed() > patience);
    if args.json {
        let seconds = began.elapsed().as_secs_f64();
        serde_json::to_writer(&mut *out, &json(&routine, &report, seconds))
            .map_err(io::Error::from)?;
        writeln!(out)?;
    } else {
        told(out, &routine, &report)?;
    }
    Ok(outcome(&report))
}

fn outcome(report: &Report) -> Outcome {
    if report.right && report.cards.is_empty() {
        Outcome::Done
    } else if report.explanations.is_empty()
        && report.cards.is_empty()
        && (!report.complete || report.pairs == Pairs::Partly)
    {
        Outcome::Unfinished
    } else {
        Outcome::Found
    }
}

/// How the table stood, and what was chosen.
fn road(routine: &Routine, args: &SlipArgs) -> Result<(World, Choices), Failure> {
    let choices = Choices::read(routine, args.choose.iter().map(String::as_str))
        .map_err(|fault| Failure::Wrong(fault.to_string()))?;
    let Some(seed) = args.seed else {
        let start = choices
            .shuffle()
            .map_or_else(|| unknown_start(routine), |order| start_as(routine, order));
        return Ok((start, choices));
    };
    let walked = replay(routine, seed, &choices)?.walked;
    let begin = walked
        .first()
        .map_or_else(|| start(routine, seed), |first| first.before.clone());
    Ok((begin, Choices::of_road(routine, &walked, |_| true)))
}

/// A step and the how-manieth time: `STEP` or `STEP@2`.
fn after(routine: &Routine, text: &str) -> Result<(StopIndex, u32), Failure> {
    let (id, visit) = match text.split_once('@') {
        None => (text, Some(1)),
        Some((id, visit)) => (id, visit.parse().ok().filter(|visit| *visit > 0)),
    };
    let visit = visit.ok_or_else(|| {
        Failure::Wrong(format!(
            "--after {text}: after the @ goes the how-manieth time, from 1"
        ))
    })?;
    let stop = routine.find_step(id).ok_or_else(|| {
        let ids: Vec<&str> = routine.stops.iter().map(|stop| &*stop.id.0).collect();
        let meant = crate::cards::nearest(id, ids.iter().copied()).map_or_else(
            || format!("the steps are {}", ids.join(", ")),
            |near| format!("did you mean {near}?"),
        );
        Failure::Wrong(format!("--after {id}: there is no such step; {meant}"))
    })?;
    Ok((stop, visit))
}

fn told(out: &mut dyn Write, routine: &Routine, report: &Report) -> io::Result<()> {
    for fault in &report.cards {
        paragraph(out, "", &sentence(&card_words(routine, fault)))?;
    }
    if report.right {
        let words = if report.cards.is_empty() {
            "The packet is right: done as written, the cards can lie just so."
        } else {
            "But for that the cards can lie just so when all is done as written."
        };
        return paragraph(out, "", words);
    }
    match report.explanations.split_first() {
        Some((first, others)) => {
            let words = explanation_words(routine, first);
            let sure = if others.is_empty() {
                words
            } else {
                probably(&words)
            };
            paragraph(out, "", &sentence(&sure))?;
            if !others.is_empty() {
                paragraph(
                    out,
                    "",
                    &format!("({} in 100 of all that fits.)", percent(first)),
                )?;
                writeln!(out)?;
                paragraph(out, "", "It fits as well that")?;
                for other in others.iter().take(MOST_TOLD) {
                    let words = explanation_words(routine, other);
                    paragraph(out, "  - ", &format!("{words} ({} in 100)", percent(other)))?;
                }
                if others.len() > MOST_TOLD {
                    let more = others.len() - MOST_TOLD;
                    paragraph(out, "  ", &format!("and {more} more; --json lists all"))?;
                }
            }
        }
        None if report.cards.is_empty() => nothing(out, routine, report)?,
        None => {}
    }
    if !report.complete {
        paragraph(
            out,
            "",
            "More could have happened unseen than can be followed; say more of the choices with --choose.",
        )?;
    }
    Ok(())
}

fn nothing(out: &mut dyn Write, routine: &Routine, report: &Report) -> io::Result<()> {
    let words = match report.pairs {
        Pairs::Partly => {
            "No single slip leads to this packet. Of pairs of slips not all could be tried in the time; give more with --seconds."
        }
        Pairs::All | Pairs::NotNeeded => "No slip and no pair of slips leads to this packet.",
    };
    paragraph(out, "", words)?;
    if let Some((slips, places)) = &report.nearest {
        let off = match places {
            1 => "one place".to_owned(),
            n => format!("{n} places"),
        };
        let words = match slips.first() {
            None => format!("What the routine leads to differs from it at {off}."),
            Some(slip) => format!(
                "The nearest: had you {}, it would still differ at {off}.",
                slip_words(routine, slip)
            ),
        };
        paragraph(out, "", &words)?;
    }
    Ok(())
}

/// "you lifted" → "you probably lifted".
fn probably(words: &str) -> String {
    match words.strip_prefix("you ") {
        Some(rest) => format!("you probably {rest}"),
        None => format!("probably {words}"),
    }
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters
        .next()
        .map(|c| c.to_uppercase().collect::<String>())
        .unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

fn percent(explanation: &Explanation) -> String {
    let share = explanation.share * 100.0;
    if share < 1.0 {
        "less than 1".to_owned()
    } else {
        format!("{share:.0}")
    }
}

#[derive(Serialize)]
struct ReportJson<'a> {
    routine: &'a str,
    right: bool,
    complete: bool,
    pairs: &'static str,
    cards: Vec<CardJson>,
    explanations: Vec<ExplanationJson<'a>>,
    nearest: Option<NearestJson<'a>>,
    seconds: f64,
}

#[derive(Serialize)]
struct CardJson {
    kind: &'static str,
    card: Option<String>,
    words: String,
}

#[derive(Serialize)]
struct ExplanationJson<'a> {
    share: f64,
    slips: Vec<SlipJson<'a>>,
}

#[derive(Serialize)]
struct SlipJson<'a> {
    step: &'a str,
    visit: u32,
    kind: &'static str,
    words: String,
}

#[derive(Serialize)]
struct NearestJson<'a> {
    places: usize,
    slips: Vec<SlipJson<'a>>,
}

fn json<'a>(routine: &'a Routine, report: &Report, seconds: f64) -> ReportJson<'a> {
    let all = |slips: &[Slip]| slips.iter().map(|slip| slip_json(routine, slip)).collect();
    ReportJson {
        routine: &routine.title,
        right: report.right,
        complete: report.complete,
        pairs: match report.pairs {
            Pairs::NotNeeded => "not-needed",
            Pairs::All => "all",
            Pairs::Partly => "partly",
        },
        cards: report
            .cards
            .iter()
            .map(|fault| {
                let (kind, card) = match fault {
                    CardFault::Missing(card) => ("missing", Some(routine.pack.short(*card))),
                    CardFault::Doubled(card) => ("doubled", Some(routine.pack.short(*card))),
                    CardFault::Foreign { card, .. } => ("foreign", Some(card.clone())),
                    CardFault::Class { .. } | CardFault::Some(_) => ("count", None),
                };
                CardJson {
                    kind,
                    card,
                    words: card_words(routine, fault),
                }
            })
            .collect(),
        explanations: report
            .explanations
            .iter()
            .map(|explanation| ExplanationJson {
                share: explanation.share,
                slips: all(&explanation.slips),
            })
            .collect(),
        nearest: report.nearest.as_ref().map(|(slips, places)| NearestJson {
            places: *places,
            slips: all(slips),
        }),
        seconds,
    }
}

fn slip_json<'a>(routine: &'a Routine, slip: &Slip) -> SlipJson<'a> {
    SlipJson {
        step: routine.stop(slip.stop).map_or("", |stop| &stop.id.0),
        visit: slip.visit,
        kind: slip.kind.id(),
        words: slip_words(routine, slip),
    }
}
