//! From the draft to the routine: every name looked up, the set-up drawn, the steps laid out as stops.
//!
//! All faults are gathered; a routine comes out only when there are none.

mod acts;
mod cards;
mod claims;
mod forks;
mod head;
mod names;
mod setup;
mod steps;
mod strays;

use super::check::{Gathered, Trouble};
use super::claim::Claim;
use super::draft::RoutineFile;
use super::model::Routine;
use super::yaml::Node;
use super::{yaml, yaml_read};
use crate::table::PileId;
use names::Names;
use sha2::{Digest, Sha256};

/// Reads a routine file. `origin` names the file in messages; `setup` says which draw of the set-up is wanted, which
/// matters only where cards are drawn to fit a pattern.
///
/// # Errors
/// All faults of the file, in its order.
pub fn load(text: &str, origin: &str, setup: u64) -> Result<Routine, Vec<Trouble>> {
    let root = yaml::read(text, origin).map_err(|trouble| vec![*trouble])?;
    let gathered = Gathered::new(origin, text);
    let draft: Option<RoutineFile> = yaml_read::read(&root, &gathered);
    let routine = draft.and_then(|draft| build(&draft, &root, setup, &gathered));
    match routine {
        Some(mut routine) if gathered.none() => {
            routine.content_hash = hash(text);
            Ok(routine)
        }
        _ => {
            if gathered.none() {
                gathered.say(root.spot, "this is not a routine");
            }
            Err(gathered.into_troubles())
        }
    }
}

fn build(draft: &RoutineFile, root: &Node, setup: u64, gathered: &Gathered<'_>) -> Option<Routine> {
    // Where the shape was wrong, a name may have been declared in a part that could not be read.
    let doubtful = if gathered.none() {
        Vec::new()
    } else {
        names::perhaps(root)
    };
    head::version(draft, gathered);
    let lang = head::lang(draft, gathered);
    let running_time = draft
        .running_time
        .as_ref()
        .and_then(|t| t.get())
        .and_then(|t| head::time(t, gathered));
    let laid = cards::lay(draft, lang, setup, gathered)?;
    let names = Names::declare(draft, laid.pack, laid.piles, gathered, doubtful);
    let plan = steps::plan(draft, &names, gathered);
    let strays = strays::own(draft, &names, &plan, gathered);
    let mends = steps::mends(draft, &names, gathered);
    if gathered.none() {
        names.report_unused();
    }
    let plain = |text: &Option<yaml_read::Part<yaml_read::Text>>| {
        text.as_ref()
            .and_then(|t| t.get())
            .map(|t| t.text.trim().to_owned())
            .unwrap_or_default()
    };
    let (pack, piles, remembered, lookups) = names.into_parts();
    let mut start = laid.start;
    if let Some(last) = piles
        .len()
        .checked_sub(1)
        .and_then(|n| u8::try_from(n).ok())
    {
        // The table holds every pile from the start on, the empty ones too.
        start.pile_mut(PileId(last));
    }
    let mut routine = Routine {
        title: plain(&draft.title),
        blurb: plain(&draft.blurb),
        principle: plain(&draft.principle),
        lang,
        running_time,
        content_hash: String::new(),
        setup,
        pack,
        piles,
        start,
        shuffled: laid.shuffled,
        names: remembered,
        lookups,
        stops: plan.stops,
        endings: plan.endings,
        mends,
        strays,
    };
    for claim in routine.stops.iter_mut().flat_map(|s| &mut s.claims) {
        claim.kind.remember_start(&routine.start);
    }
    word_claims(&mut routine);
    Some(routine)
}

/// Claims that the file does not put in words are put in words by us.
fn word_claims(routine: &mut Routine) {
    let words: Vec<Vec<Option<String>>> = routine
        .stops
        .iter()
        .map(|stop| {
            let own = |claim: &Claim| claim.words.is_empty().then(|| claim.kind.words(routine));
            stop.claims.iter().map(own).collect()
        })
        .collect();
    for (stop, words) in routine.stops.iter_mut().zip(words) {
        for (claim, words) in stop.claims.iter_mut().zip(words) {
            if let Some(words) = words {
                claim.words = words;
            }
        }
    }
}

/// SHA-256 in hexadecimal.
fn hash(text: &str) -> String {
    Sha256::digest(text.as_bytes())
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}
