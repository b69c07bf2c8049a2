//! A proof told: the verdict in a sentence, then what stands behind it.

use super::Proved;
use crate::command::lasting::Cut;
use crate::command::lasting::numbers::{chance, grouped, sampled, seconds, thousands};
use crate::command::pages::{paragraph, piles};
use crate::command::source::shown;
use crate::command::walk::quoted;
use crate::proof::{
    Blame, ClaimProof, Counterexample, Odds, Proof, Roads, Settled, Verdict, Wrong,
};
use crate::routine::{Routine, StopIndex};
use num_bigint::BigUint;
use num_traits::One;
use std::io::{self, Write};

/// So many claims that fail are told, in the order of the file.
const MOST_CLAIMS: usize = 5;
/// So many branches are named one by one.
const MOST_BRANCHES: usize = 12;
/// What stands under the verdict is set in from it.
const INDENT: &str = "   ";

/// Tells it.
pub(super) fn tell(out: &mut dyn Write, proved: &Proved<'_>) -> io::Result<()> {
    let (routine, proof) = (proved.routine, &proved.proof);
    let title = &routine.title;
    match proof.verdict {
        Verdict::SureFire => {
            paragraph(
                out,
                "",
                &format!("{title} is sure-fire: {}", sure_fire(proof)),
            )?;
            loops(out, proved)?;
            reach(out, proved)?;
        }
        Verdict::Refuted => {
            paragraph(
                out,
                "",
                &format!("{title} can fail: {}", what_fails(routine, proof)),
            )?;
            refuted(out, proved)?;
            reach(out, proved)?;
        }
        Verdict::Unfinished => {
            paragraph(
                out,
                "",
                &format!("{title} is not proved: {}", unfinished(proved)),
            )?;
            failing(out, proved)?;
            loops(out, proved)?;
        }
    }
    about_nothing(out, proved)
}

/// "1,024 roads, and all of them lead to the ending."
fn sure_fire(proof: &Proof) -> String {
    match &proof.roads {
        Roads::Exactly(count) if count.is_one() => {
            "there is but one road, and it leads to the ending.".to_owned()
        }
        Roads::Exactly(count) if *count == BigUint::from(2u8) => {
            "two roads, and both lead to the ending.".to_owned()
        }
        Roads::Exactly(count) => {
            format!(
                "{} roads, and all of them lead to the ending.",
                grouped(count)
            )
        }
        Roads::Unbounded => {
            "let them go on as long as they like, all roads lead to the ending.".to_owned()
        }
        Roads::Uncounted => "all roads lead to the ending.".to_owned(),
    }
}

/// What it took.
fn reach(out: &mut dyn Write, proved: &Proved<'_>) -> io::Result<()> {
    let proof = &proved.proof;
    let mut told = Vec::new();
    if proof.verdict == Verdict::SureFire {
        told.push(match proof.claims.iter().filter(|c| c.reached).count() {
            0 => "Nothing is claimed in it".to_owned(),
            1 => "Its one claim is true on every road".to_owned(),
            n => format!("Its {n} claims are true on every road"),
        });
    } else if let Roads::Exactly(count) = &proof.roads {
        told.push(match grouped(count).as_str() {
            "1" => "It has one road".to_owned(),
            count => format!("It has {count} roads"),
        });
    }
    told.push(format!(
        "{} looked at, in {}",
        tables(proof.states),
        seconds(proved.seconds)
    ));
    if let Some(ends) = proof.ends {
        told.push(match ends {
            1 => "they end with one and the same table".to_owned(),
            n => format!("they end with {} different tables", thousands(n)),
        });
    }
    let indent = match proof.verdict {
        Verdict::SureFire => INDENT,
        Verdict::Refuted | Verdict::Unfinished => "",
    };
    paragraph(out, indent, &format!("{}.", told.join("; ")))
}

fn tables(count: u64) -> String {
    match count {
        1 => "one table".to_owned(),
        n => format!("{} tables", thousands(n)),
    }
}

/// How parts without a last round were settled.
fn loops(out: &mut dyn Write, proved: &Proved<'_>) -> io::Result<()> {
    for (stop, settled) in &proved.proof.loops {
        let how = match settled {
            Settled::Induction => {
                "any number of times, because one round keeps what must be true, whatever lies on the table"
            }
            Settled::Fixpoint => {
                "any number of times, because every table that any number of rounds can lead to was looked at"
            }
        };
        paragraph(
            out,
            INDENT,
            &format!("\u{201c}{}\u{201d}: {how}.", title(proved.routine, *stop)),
        )?;
    }
    Ok(())
}

/// What goes wrong, where.
fn what_fails(routine: &Routine, proof: &Proof) -> String {
    let Some(found) = &proof.counterexample else {
        return "not every claim is true on every road.".to_owned();
    };
    let title = title(routine, found.stop);
    match &found.wrong {
        Wrong::Broken { index } => {
            let words = routine
                .stop(found.stop)
                .and_then(|stop| stop.claims.get(*index))
                .map_or("", |claim| claim.words.as_str());
            format!("after \u{201c}{title}\u{201d} it is not always true that {words}.")
        }
        Wrong::Stuck(fault) => format!(
            "\u{201c}{title}\u{201d} cannot always be done: {}.",
            fault.told(routine)
        ),
    }
}

fn refuted(out: &mut dyn Write, proved: &Proved<'_>) -> io::Result<()> {
    let (routine, proof) = (proved.routine, &proved.proof);
    failing(out, proved)?;
    if let Some(found) = &proof.counterexample {
        let road = if found.choices.is_empty() {
            "Every road leads there:"
        } else {
            "The shortest road there:"
        };
        writeln!(out, "{road}")?;
        // One line, so that it can be copied.
        writeln!(out, "{INDENT}{}", shown(&command(proved, found)))?;
        let table = match found.wrong {
            Wrong::Broken { .. } => "The table then, from the top:",
            Wrong::Stuck(_) => "The table before it, from the top:",
        };
        writeln!(out, "{table}")?;
        piles(out, INDENT, routine, &found.world)?;
        let cards = || found.world.table.piles().flat_map(|(_, pile)| pile);
        if cards().any(|laid| laid.face_up()) {
            writeln!(out, "{INDENT}^ lies face up.")?;
        }
    } else {
        let told = format!(
            "There was no time to find the shortest road there; a larger --budget may do. `allroads check {}` shows one that it \
             met by chance.",
            quoted(proved.origin)
        );
        paragraph(out, "", &shown(&told))?;
    }
    blame(out, routine, &proof.blame)?;
    withdraw(out, routine, proof)
}

/// The claims that can fail, each with its chance. The one that the first line names is not named again.
fn failing(out: &mut dyn Write, proved: &Proved<'_>) -> io::Result<()> {
    let proof = &proved.proof;
    let named = proof
        .counterexample
        .as_ref()
        .and_then(|found| match found.wrong {
            Wrong::Broken { index } => Some((found.stop, index)),
            Wrong::Stuck(_) => None,
        });
    let fails = |claim: &&ClaimProof| {
        claim.holds == Some(false) || (claim.holds.is_none() && claim.odds.is_some())
    };
    let failing: Vec<&ClaimProof> = proof.claims.iter().filter(fails).collect();
    for claim in failing.iter().take(MOST_CLAIMS) {
        let is_named = named == Some((claim.stop, claim.index));
        let told = match (is_named, odds(claim)) {
            (true, Some(odds)) => format!("Line {}: {odds}.", claim.line),
            (true, None) => format!("Line {}.", claim.line),
            (false, odds) => format!(
                "Line {}, after \u{201c}{}\u{201d}, that {}: {}.",
                claim.line,
                title(proved.routine, claim.stop),
                claim.words,
                odds.unwrap_or_else(|| "not always true".to_owned())
            ),
        };
        paragraph(out, INDENT, &told)?;
    }
    if failing.len() > MOST_CLAIMS {
        let told = format!(
            "And {} more; --json has them all.",
            failing.len() - MOST_CLAIMS
        );
        paragraph(out, INDENT, &told)?;
    }
    Ok(())
}

/// How often it is true, where that was worked out.
fn odds(claim: &ClaimProof) -> Option<String> {
    Some(match claim.odds.as_ref()? {
        Odds::Exactly(odds) => format!("true with a chance of {}", chance(odds)),
        Odds::Sampled { held, of } => format!("true on {}", sampled(*held, *of)),
    })
}

/// The line that walks there.
fn command(proved: &Proved<'_>, found: &Counterexample) -> String {
    let mut command = format!("allroads walk {}", quoted(proved.origin));
    for (_, choice) in &found.choices {
        command.push_str(&format!(" --choose {}", quoted(choice)));
    }
    if proved.routine.setup != 0 {
        command.push_str(&format!(" --setup {}", proved.routine.setup));
    }
    command
}

/// Which branches it hangs on: for each fork, those of the same chance together.
fn blame(out: &mut dyn Write, routine: &Routine, blame: &[Blame]) -> io::Result<()> {
    if blame.is_empty() {
        return Ok(());
    }
    writeln!(
        out,
        "It hangs on these choices; the chance that all goes well:"
    )?;
    for of_one in blame.chunk_by(|a, b| a.stop == b.stop) {
        let stop = of_one.first().map_or(StopIndex(0), |one| one.stop);
        let told = if of_one.len() > MOST_BRANCHES {
            span(of_one)
        } else {
            of_one
                .chunk_by(|a, b| a.holds == b.holds)
                .filter_map(with_these)
                .collect::<Vec<_>>()
                .join("; ")
        };
        paragraph(out, INDENT, &format!("{}: {told}.", fork(routine, stop)))?;
    }
    Ok(())
}

/// "0 % with 3 or 7", of branches with the same chance.
fn with_these(alike: &[Blame]) -> Option<String> {
    let names: Vec<&str> = alike.iter().map(|one| one.label.as_str()).collect();
    Some(format!(
        "{} with {}",
        chance(&alike.first()?.holds),
        either(&names)
    ))
}

/// "from 0 % with 3 to 1/2 (50 %) with 40", of many branches, the worst first.
fn span(branches: &[Blame]) -> String {
    let (Some(worst), Some(best)) = (branches.first(), branches.last()) else {
        return String::new();
    };
    format!(
        "from {} with {} to {} with {}, the best of {}",
        chance(&worst.holds),
        worst.label,
        chance(&best.holds),
        best.label,
        branches.len()
    )
}

/// Which branches would have to go.
fn withdraw(out: &mut dyn Write, routine: &Routine, proof: &Proof) -> io::Result<()> {
    let Some(branches) = proof.withdraw.as_ref().filter(|all| !all.is_empty()) else {
        return Ok(());
    };
    let told: Vec<String> = branches
        .chunk_by(|a, b| a.0 == b.0)
        .map(|of_one| {
            let names: Vec<&str> = of_one.iter().map(|(_, branch)| branch.as_str()).collect();
            let stop = of_one.first().map_or(StopIndex(0), |one| one.0);
            format!("{} for {}", either(&names), fork(routine, stop))
        })
        .collect();
    paragraph(
        out,
        "",
        &format!("Sure-fire if nobody may choose {}.", told.join(", nor ")),
    )
}

/// "3", "3 or 7", "3, 5 or 7", "3, 5 or 17 others".
fn either(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        long if long.len() > MOST_BRANCHES => {
            let (told, others) = long.split_at(MOST_BRANCHES - 1);
            format!("{} or {} others", told.join(", "), others.len())
        }
        [most @ .., last] => format!("{} or {last}", most.join(", ")),
    }
}

/// Why it is not proved, how far it came, and what would help.
fn unfinished(proved: &Proved<'_>) -> String {
    let so_far = tables(proved.proof.states);
    let budget = proved.budget;
    let mib = thousands(budget.bytes >> 20);
    let end = match proved.cut {
        Some(Cut::Asked) => return format!("you stopped it after {so_far}."),
        Some(Cut::Time) => format!("{} were not enough", seconds(budget.time.as_secs_f64())),
        Some(Cut::Memory) => format!("{mib} MiB were not enough"),
        None => "the budget was not enough".to_owned(),
    };
    format!(
        "{end}. No claim was seen to fail in {so_far}, but there are more. A larger --budget may do."
    )
}

/// What the proof says nothing about.
fn about_nothing(out: &mut dyn Write, proved: &Proved<'_>) -> io::Result<()> {
    let (routine, proof) = (proved.routine, &proved.proof);
    if proof.verdict == Verdict::Unfinished {
        return Ok(());
    }
    for stop in &proof.unreached {
        paragraph(
            out,
            "Mind: ",
            &format!(
                "no road comes by \u{201c}{}\u{201d}.",
                title(routine, *stop)
            ),
        )?;
    }
    for (stop, branch) in &proof.untaken {
        paragraph(
            out,
            "Mind: ",
            &format!(
                "{branch} is never chosen for {}: it has no weight.",
                fork(routine, *stop)
            ),
        )?;
    }
    for claim in proof.claims.iter().filter(|claim| !claim.reached) {
        paragraph(
            out,
            "Mind: ",
            &format!(
                "no road comes by a claim, so nothing is proved of it (line {}): {}.",
                claim.line, claim.words
            ),
        )?;
    }
    Ok(())
}

/// A fork as people speak of it: what is chosen, or the step's title.
fn fork(routine: &Routine, stop: StopIndex) -> String {
    let Some(found) = routine.stop(stop) else {
        return String::new();
    };
    found
        .fork
        .as_ref()
        .and_then(|fork| routine.names.get(fork.name.index()))
        .and_then(|name| name.about.clone())
        .unwrap_or_else(|| format!("\u{201c}{}\u{201d}", found.title))
}

fn title(routine: &Routine, stop: StopIndex) -> &str {
    routine.stop(stop).map_or("the end", |stop| &stop.title)
}
