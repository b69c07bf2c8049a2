//! `walk`: one road, for people or as JSON.

mod json;

use super::failure::{Failure, Outcome};
use super::machine::Machine;
use super::pages::{paragraph, piles};
use super::rescue::slips;
use super::source::Source;
use crate::drill::seen_in_words;
use crate::roads::{Choices, Road, Sighted, Walked, broken_claims, choice_label, replay};
use crate::routine::{Routine, Scene, StepId, Template, World};
use clap::Args;
use json::RoadJson;
pub(super) use json::{ByName, CardJson, piles as piles_json};
use std::collections::BTreeMap;
use std::io::{self, Write};

/// Which road.
#[derive(Debug, Args)]
pub struct WalkArgs {
    /// The routine: a name, or a path
    pub routine: String,
    /// A spectator's choice; may be given several times, NAME@2=VALUE for the second time round
    #[arg(long, value_name = "NAME=VALUE")]
    pub choose: Vec<String>,
    /// Where the other choices come from
    #[arg(long)]
    pub seed: Option<u64>,
    /// Which draw of the set-up
    #[arg(long, default_value_t = 0)]
    pub setup: u64,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}

/// Walks it.
pub(super) fn run(
    args: &WalkArgs,
    machine: &Machine,
    out: &mut dyn Write,
) -> Result<Outcome, Failure> {
    let source = Source::find(&args.routine)?;
    let routine = source.load(args.setup)?;
    let road = chosen_road(
        &routine,
        args.seed.unwrap_or_else(|| machine.seed()),
        &args.choose,
    )?;
    let mut broken = Vec::new();
    for walked in &road.walked {
        broken.push(
            broken_claims(&routine, walked)?
                .into_iter()
                .map(|claim| claim.words.clone())
                .collect::<Vec<_>>(),
        );
    }
    // What is known already: nobody waits here for it to be worked out.
    let careful = slips::known(machine, &routine);
    if args.json {
        let whole = RoadJson::of(&routine, &road, &careful)?;
        serde_json::to_writer(&mut *out, &whole).map_err(io::Error::from)?;
        writeln!(out)?;
    } else {
        told(out, &source.origin, &routine, &road, (&broken, &careful))?;
    }
    Ok(if broken.iter().all(Vec::is_empty) {
        Outcome::Done
    } else {
        Outcome::Found
    })
}

/// The road with these choices, the others from the seed. A choice that no step of the road asks for is an error.
pub(super) fn chosen_road(
    routine: &Routine,
    seed: u64,
    choose: &[String],
) -> Result<Road, Failure> {
    let choices = Choices::read(routine, choose.iter().map(String::as_str))
        .map_err(|fault| Failure::Wrong(fault.to_string()))?;
    Ok(replay(routine, seed, &choices)?)
}

fn told(
    out: &mut dyn Write,
    origin: &str,
    routine: &Routine,
    road: &Road,
    (broken, careful): (&[Vec<String>], &BTreeMap<StepId, String>),
) -> Result<(), Failure> {
    paragraph(out, "", &routine.title)?;
    writeln!(out, "seed {}, set-up {}\n", road.seed, road.setup)?;
    if let Some(first) = road.walked.first() {
        writeln!(out, "At the start")?;
        piles(out, "   ", routine, &first.before)?;
    }
    for (n, (walked, broken)) in road.walked.iter().zip(broken).enumerate() {
        let Some(stop) = routine.stop(walked.stop) else {
            continue;
        };
        let scene = Scene {
            routine,
            world: &walked.after,
        };
        let filled =
            |template: &Template| template.render(scene).unwrap_or_else(|_| template.open());
        writeln!(out)?;
        paragraph(out, &format!("{}. ", n + 1), &stop.title)?;
        if !stop.say.is_empty() {
            paragraph(
                out,
                "   \u{201c}",
                &format!("{}\u{201d}", filled(&stop.say)),
            )?;
        }
        if !stop.handling.is_empty() {
            paragraph(out, "   ", &stop.handling)?;
        }
        if let Some(line) = careful.get(&stop.id) {
            paragraph(out, "   ", line)?;
        }
        if let (Some(fork), Some(label)) = (&stop.fork, choice_label(routine, walked)) {
            let says = filled(&fork.says);
            let says = if says.is_empty() {
                String::new()
            } else {
                format!("  \u{201c}{says}\u{201d}")
            };
            paragraph(out, "   They choose: ", &format!("{label}{says}"))?;
        }
        for reckoning in &stop.reckonings {
            if let (Some(name), Some(value)) = (
                routine.names.get(reckoning.name.index()),
                walked.after.value(reckoning.name),
            ) {
                let value = value.in_words(scene)?;
                paragraph(
                    out,
                    "   You work out: ",
                    &format!("{} = {value}", name.name),
                )?;
            }
        }
        if let Some(reply) = &stop.reply
            && let Some(value) = walked.after.value(reply.name)
        {
            let value = value.in_words(scene)?;
            paragraph(out, "   You ask: ", &format!("{} {value}.", reply.asks))?;
        }
        for line in sights(routine, walked) {
            // The line begins with the word already.
            let line = ["You saw ", "You counted "]
                .iter()
                .find_map(|start| line.strip_prefix(start))
                .unwrap_or(&line);
            paragraph(out, "   You see: ", line)?;
        }
        if walked.before.table != walked.after.table {
            piles(out, "   ", routine, &walked.after)?;
        }
        for claim in broken {
            paragraph(out, "   NOT TRUE: ", claim)?;
        }
    }
    let turned = |world: &World| {
        world
            .table
            .piles()
            .any(|(_, p)| p.iter().any(|l| l.face_up()))
    };
    if road
        .walked
        .iter()
        .any(|w| turned(&w.before) || turned(&w.after))
    {
        writeln!(out, "\n^ lies face up.")?;
    }
    writeln!(out)?;
    let mut command = format!("allroads walk {}", quoted(origin));
    for walked in &road.walked {
        if let Some(label) = choice_label(routine, walked) {
            command.push_str(&format!(" --choose {}", quoted(&label)));
        }
    }
    command.push_str(&format!(" --seed {}", road.seed));
    if road.setup != 0 {
        command.push_str(&format!(" --setup {}", road.setup));
    }
    // One line, so that it can be copied.
    writeln!(out, "This road again:\n   {command}")?;
    let count = broken.iter().map(Vec::len).sum::<usize>();
    match count {
        0 => writeln!(out, "Every claim on it is true.")?,
        1 => writeln!(out, "One claim on it is not true.")?,
        n => writeln!(out, "{n} claims on it are not true.")?,
    }
    Ok(())
}

/// What is seen at a step, in the words of a rehearsal. Its choice and its reply have lines of their own.
fn sights(routine: &Routine, walked: &Walked) -> Vec<String> {
    let mut walked = walked.clone();
    walked.sights.retain(|sighted| match sighted {
        Sighted::Card { .. }
        | Sighted::Trait { .. }
        | Sighted::Count { .. }
        | Sighted::Value { .. } => true,
        Sighted::Stop(_) | Sighted::Choice(..) | Sighted::Part { .. } | Sighted::Reply(..) => false,
    });
    seen_in_words(routine, &walked)
}

/// As a shell takes it.
pub(super) fn quoted(text: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "=@,.-_/:".contains(c);
    if !text.is_empty() && text.chars().all(plain) {
        text.to_owned()
    } else {
        format!("'{}'", text.replace('\'', "'\\''"))
    }
}
