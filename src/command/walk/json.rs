//! `walk --json`.
//!
//! `{"seed","steps":[{"step","choice","piles":{NAME:[{"card","face"}]}}]}`, the top card first, `face` being `up` or
//! `down`, and `choice` the value chosen, as `--choose` takes it, or null. Beside these:
//!
//! * `routine` (the title), `setup` (the number of the set-up), `choices` (all of them, as `--choose` takes them);
//! * `names`: what is remembered, `[{"name","kind","about","asks","step"}]`, the kind being `choice`, `reply` or
//!   `reckoning`, and `about` and `asks` the file's words, or null;
//! * `start`: `{"piles","now"}` before the first step;
//! * in each step `visit` (the how-manieth time, from 1), `title`, `say` (the patter), `seen` (what the performer sees and
//!   hears, as a rehearsal tells it), `careful` (which slips are fatal there, where `rescue --slips` or the foyer has worked that out, or
//!   null), `claims` (`[{"claim","holds"}]`), `holds` (whether all of them do), `remembered`
//!   (values by name), and `now`: every claim of the routine and whether it happens to be true after this step
//!   (null where that cannot be said, as of a card in an empty pile).
//!
//! Keys may be added; none of these changes its meaning.

use crate::drill::{heading, seen_in_words};
use crate::roads::{Road, Walked, choice_label, start};
use crate::routine::{Fault, NameKind, Routine, Scene, StepId, Stop, World};
use crate::table::Laid;
use serde::Serialize;
use serde::ser::{SerializeMap, Serializer};
use std::collections::BTreeMap;

/// A road.
#[derive(Serialize)]
pub(super) struct RoadJson<'a> {
    seed: u64,
    routine: &'a str,
    setup: u64,
    choices: Vec<String>,
    names: Vec<NameJson<'a>>,
    start: StartJson<'a>,
    steps: Vec<StepJson<'a>>,
}

#[derive(Serialize)]
struct NameJson<'a> {
    name: &'a str,
    kind: &'static str,
    about: Option<&'a str>,
    asks: Option<&'a str>,
    step: Option<&'a str>,
}

#[derive(Serialize)]
struct StartJson<'a> {
    piles: ByName<'a, Vec<CardJson>>,
    now: Vec<ClaimJson<'a>>,
}

#[derive(Serialize)]
struct StepJson<'a> {
    step: &'a str,
    visit: u32,
    title: String,
    choice: Option<String>,
    say: String,
    careful: Option<&'a str>,
    seen: Vec<String>,
    claims: Vec<ClaimJson<'a>>,
    holds: bool,
    remembered: ByName<'a, String>,
    piles: ByName<'a, Vec<CardJson>>,
    now: Vec<ClaimJson<'a>>,
}

/// A card as it lies.
#[derive(Serialize)]
pub(in crate::command) struct CardJson {
    card: String,
    face: &'static str,
}

#[derive(Serialize)]
struct ClaimJson<'a> {
    claim: &'a str,
    holds: Option<bool>,
}

/// Values by name, in the routine's order.
pub(in crate::command) struct ByName<'a, T>(pub(in crate::command) Vec<(&'a str, T)>);

impl<T: Serialize> Serialize for ByName<'_, T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut map = to.serialize_map(Some(self.0.len()))?;
        for (name, value) in &self.0 {
            map.serialize_entry(name, value)?;
        }
        map.end()
    }
}

impl<'a> RoadJson<'a> {
    /// Of a road walked.
    ///
    /// # Errors
    /// When something on it cannot be worked out.
    pub(super) fn of(
        routine: &'a Routine,
        road: &Road,
        careful: &'a BTreeMap<StepId, String>,
    ) -> Result<Self, Fault> {
        let before = match road.walked.first() {
            Some(walked) => walked.before.clone(),
            None => start(routine, road.seed),
        };
        let steps: Result<Vec<StepJson<'a>>, Fault> = road
            .walked
            .iter()
            .filter_map(|walked| {
                let stop = routine.stop(walked.stop)?;
                let careful = careful.get(&stop.id).map(String::as_str);
                Some(step(routine, stop, walked, careful))
            })
            .collect();
        Ok(Self {
            seed: road.seed,
            routine: &routine.title,
            setup: road.setup,
            choices: road
                .walked
                .iter()
                .filter_map(|walked| choice_label(routine, walked))
                .collect(),
            names: names(routine),
            start: StartJson {
                piles: piles(routine, &before)?,
                now: now(routine, &before),
            },
            steps: steps?,
        })
    }
}

fn names(routine: &Routine) -> Vec<NameJson<'_>> {
    let mut found = Vec::new();
    for (index, name) in routine.names.iter().enumerate() {
        let is = |id: crate::routine::NameId| id.index() == index;
        let mut told = NameJson {
            name: &name.name,
            kind: match name.kind {
                NameKind::Fork => "choice",
                NameKind::Reply => "reply",
                NameKind::Reckoning => "reckoning",
            },
            about: name.about.as_deref(),
            asks: None,
            step: None,
        };
        for stop in &routine.stops {
            let forked = stop.fork.as_ref().is_some_and(|fork| is(fork.name));
            let reply = stop.reply.as_ref().filter(|reply| is(reply.name));
            let reckoned = stop.reckonings.iter().find(|reckoned| is(reckoned.name));
            if forked || reply.is_some() || reckoned.is_some() {
                told.step = Some(&stop.id.0);
                told.asks = reply
                    .map(|reply| reply.asks.as_str())
                    .or_else(|| reckoned.and_then(|reckoned| reckoned.asks.as_deref()));
                break;
            }
        }
        found.push(told);
    }
    found
}

fn step<'a>(
    routine: &'a Routine,
    stop: &'a Stop,
    walked: &Walked,
    careful: Option<&'a str>,
) -> Result<StepJson<'a>, Fault> {
    let scene = Scene {
        routine,
        world: &walked.after,
    };
    let mut claims = Vec::new();
    for claim in &stop.claims {
        claims.push(ClaimJson {
            claim: &claim.words,
            holds: Some(claim.kind.holds(scene)?),
        });
    }
    let mut remembered = Vec::new();
    for (name, value) in routine.names.iter().zip(&walked.after.memory) {
        if let Some(value) = value {
            remembered.push((name.name.as_str(), value.show_in(scene)?));
        }
    }
    let choice = choice_label(routine, walked)
        .and_then(|label| label.split_once('=').map(|(_, value)| value.to_owned()));
    let say = stop.say.render(scene)?;
    Ok(StepJson {
        step: &stop.id.0,
        visit: walked.visit,
        title: heading(routine, stop),
        choice,
        say: say.split_whitespace().collect::<Vec<_>>().join(" "),
        careful,
        seen: seen_in_words(routine, walked),
        holds: claims.iter().all(|claim| claim.holds == Some(true)),
        claims,
        remembered: ByName(remembered),
        piles: piles(routine, &walked.after)?,
        now: now(routine, &walked.after),
    })
}

/// Every pile of the file, by its name, from the top.
///
/// # Errors
/// When a card has no face yet.
pub(in crate::command) fn piles<'a>(
    routine: &'a Routine,
    world: &World,
) -> Result<ByName<'a, Vec<CardJson>>, Fault> {
    let scene = Scene { routine, world };
    let card = |laid: &Laid| -> Result<CardJson, Fault> {
        Ok(CardJson {
            card: routine.pack.short(scene.print(laid.card())?),
            face: if laid.face_up() { "up" } else { "down" },
        })
    };
    let mut found = Vec::new();
    for (id, cards) in world.table.piles().take(routine.piles.len()) {
        let cards: Result<Vec<CardJson>, Fault> = cards.iter().map(card).collect();
        found.push((routine.pile_name(id), cards?));
    }
    Ok(ByName(found))
}

fn now<'a>(routine: &'a Routine, world: &World) -> Vec<ClaimJson<'a>> {
    routine
        .stops
        .iter()
        .flat_map(|stop| &stop.claims)
        .map(|claim| ClaimJson {
            claim: &claim.words,
            holds: claim.kind.holds(Scene { routine, world }).ok(),
        })
        .collect()
}
