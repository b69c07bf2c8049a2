//! Strays: those of the routine's own, and the names of strays that steps list.

use super::names::Names;
use super::steps::{Plan, good_id, say, sights};
use super::{acts, forks};
use crate::cards::nearest;
use crate::routine::check::{Gathered, Spot};
use crate::routine::draft::RoutineFile;
use crate::routine::model::StepId;
use crate::routine::stray::{KnownStray, OwnStray, Stray};
use crate::routine::yaml_read::Text;

/// The ids of the routine's own strays, in order.
pub(super) fn ids(draft: &RoutineFile) -> Vec<String> {
    let drafts = draft.strays.iter().filter_map(|s| s.get()).flatten();
    drafts
        .filter_map(|stray| Some(stray.get()?.id.text.clone()))
        .collect()
}

/// The stray with this name: of the routine's own, or one that the program knows.
pub(super) fn named(text: &Text, own: &[String], names: &Names<'_>) -> Option<Stray> {
    if let Some(at) = own.iter().position(|id| *id == text.text) {
        return u16::try_from(at).ok().map(Stray::Own);
    }
    let known = KnownStray::ALL.iter().find(|known| known.id() == text.text);
    if let Some(known) = known {
        return Some(Stray::Known(*known));
    }
    let all = || {
        let known = KnownStray::ALL.iter().map(|known| known.id());
        own.iter().map(String::as_str).chain(known)
    };
    let help = match nearest(&text.text, all()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!(
            "list one that the program knows ({}), or write your own under `strays:` of the file",
            KnownStray::ALL.map(KnownStray::id).join(", ")
        ),
    };
    let message = format!("there is no stray \"{}\"", text.text);
    names.gathered.advise(text.spot, message, help);
    None
}

/// The routine's own strays.
pub(super) fn own(
    draft: &RoutineFile,
    names: &Names<'_>,
    plan: &Plan,
    gathered: &Gathered<'_>,
) -> Vec<OwnStray> {
    let drafts = draft.strays.iter().filter_map(|s| s.get()).flatten();
    let mut seen: Vec<(&str, Spot)> = Vec::new();
    let mut strays = Vec::new();
    for (at, draft) in drafts.filter_map(|s| s.get()).enumerate() {
        let id = &draft.id;
        good_id(id, gathered);
        if KnownStray::ALL.iter().any(|known| known.id() == id.text) {
            gathered.advise(
                id.spot,
                format!("the program knows a stray \"{}\" already", id.text),
                "give your own another id",
            );
        }
        if let Some((_, first)) = seen.iter().find(|(known, _)| *known == id.text) {
            gathered.advise(
                id.spot,
                format!("there is a stray \"{}\" already", id.text),
                format!(
                    "it is on line {}; give one of the two another id",
                    first.line
                ),
            );
        }
        seen.push((&id.text, id.spot));
        let this = u16::try_from(at).map(Stray::Own);
        let met = |stop: &crate::routine::model::Stop| this.is_ok_and(|s| stop.strays.contains(&s));
        if !plan.stops.iter().any(met) {
            gathered.advise(
                id.spot,
                format!("no step meets the stray \"{}\"", id.text),
                "list it under `strays:` of a step, or take it out",
            );
        }
        let mark = names.mark();
        let fork = draft.fork.as_ref().and_then(|f| f.get());
        let fork = fork.and_then(|fork| forks::fork(fork, names));
        let acts = draft.acts.as_ref().and_then(|a| a.get());
        let often = draft.often.as_ref().and_then(|o| o.get()).copied();
        let says = say(draft.says.as_ref(), names);
        strays.push(OwnStray {
            id: StepId(id.text.as_str().into()),
            says,
            fork,
            acts: acts.map(|acts| acts::acts(acts, names)).unwrap_or_default(),
            sights: sights(draft.sees.as_ref(), names),
            often: often.unwrap_or(1).max(1),
            line: id.spot.line,
        });
        names.forget_since(mark);
    }
    strays
}
