//! Progress for programs; the README tells every key.

use crate::coach::{
    Progress, Readiness, SkillProgress, StepProgress, Sureness, Untried, WeekProgress,
};
use crate::routine::Millis;
use crate::screen::progress::words::{heading_for, plain_date};
use serde_json::{Value, json};
use std::io::{self, Write};

/// One object a line for each routine; of those whose files are not here, only what the logbook knows.
pub(super) fn print(
    routines: &[Progress],
    elsewhere: &[(String, u64)],
    out: &mut dyn Write,
) -> io::Result<()> {
    for progress in routines {
        writeln!(out, "{}", object(progress))?;
    }
    for (name, answers) in elsewhere {
        writeln!(
            out,
            "{}",
            json!({"routine": name, "title": null, "answers": answers})
        )?;
    }
    Ok(())
}

fn object(progress: &Progress) -> Value {
    json!({
        "routine": progress.name,
        "title": progress.title,
        "answers": progress.answers,
        "today": plain_date(progress.aim.today),
        "show": progress.aim.show.map(plain_date),
        "clean": progress.readiness.as_ref().map(|readiness| clean(progress, readiness)),
        "steps": progress.steps.iter().map(step).collect::<Vec<_>>(),
        "weeks": progress.weeks.iter().map(week).collect::<Vec<_>>(),
        "untried": progress.untried.iter().map(untried).collect::<Vec<_>>(),
        "own": progress.own.map(|own| json!({
            "better_by": fine(own.better_by),
            "foretold": own.foretold,
            "adopted": own.adopted,
        })),
        "gone": progress.gone.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}

fn clean(progress: &Progress, readiness: &Readiness) -> Value {
    json!({
        "on": plain_date(progress.aim.day()),
        "chance": fine(readiness.chance),
        "low": fine(readiness.low),
        "high": fine(readiness.high),
        "roads": readiness.roads,
        "guesses": progress.guesses(),
    })
}

fn step(step: &StepProgress) -> Value {
    let footing = &step.footing;
    let tempo = footing.tempo.as_ref();
    json!({
        "step": footing.step.to_string(),
        "title": step.title,
        "hold": footing.hold.word(),
        "answers": footing.answers,
        "missed": footing.missed,
        "sure": match footing.sure {
            Sureness::Thin => "thin",
            Sureness::Some => "some",
            Sureness::Good => "plenty",
        },
        "now": fine(footing.now),
        "show": fine(footing.show),
        "costs": step.costs.map(fine),
        "slips": footing.events.slips,
        "strays": footing.events.strays,
        "lately": tempo.map(|tempo| seconds(tempo.lately)),
        "target": tempo.and_then(|tempo| tempo.target).map(seconds),
        "heading": tempo.and_then(heading_for).map(seconds),
        "fits": tempo.map(|tempo| tempo.fits),
        "kinds": step.skills.iter().map(kind).collect::<Vec<_>>(),
    })
}

fn kind(skill: &SkillProgress) -> Value {
    json!({
        "drill": skill.drill.word(),
        "kind": skill.kind.word(),
        "answers": skill.answers,
        "missed": skill.missed,
        "days": skill.days,
        "last": plain_date(skill.last),
        "right": skill.last_right,
        "now": fine(skill.now),
        "show": fine(skill.show),
        "lately": skill.lately.map(seconds),
    })
}

fn week(week: &WeekProgress) -> Value {
    json!({
        "monday": plain_date(week.monday),
        "answers": week.answers,
        "right": week.right,
        "days": week.days,
        "shows": week.shows,
        "seconds": seconds(week.time),
        "chance": week.chance.map(fine),
    })
}

fn untried(untried: &Untried) -> Value {
    json!({
        "step": untried.step.to_string(),
        "about": untried.about,
        "of": untried.of,
        "open": untried.open,
    })
}

/// A chance to four places: more is not known.
pub(super) fn fine(chance: f64) -> f64 {
    (chance * 10_000.0).round() / 10_000.0
}

/// Thousandths of a second as seconds.
pub(super) fn seconds(time: Millis) -> f64 {
    #[expect(
        clippy::cast_precision_loss,
        reason = "a time that somebody waited for"
    )]
    let ms = time.0 as f64;
    ms / 1_000.0
}
