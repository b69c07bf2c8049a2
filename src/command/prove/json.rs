//! `prove --json`: one object a line for each routine, in the order given.
//!
//! `{"routine","holds","roads","states","ends","claims":[{"step","claim","holds","odds":{"num","den"}}],
//! "counterexample":[{"step","choice"}],"seconds"}`
//!
//! * `routine`: the title; `holds`: whether every claim holds on every road, true only where that is proved;
//! * `roads`: how many there are, a decimal string, or `"unbounded"`; null where the budget ran out before they were counted;
//! * `states`: how many different states were visited; `ends`: how many different tables the roads end with, or null;
//! * `claims`: every claim; `holds` is null where the budget ran out first; `odds` is the chance that a random road keeps it,
//!   `num` and `den` being decimal strings, or null where it was not worked out;
//! * `counterexample`: the shortest road that fails, each `choice` as `walk --choose` takes it; null where there is none;
//! * `seconds`: how long it took.
//!
//! Beside these: `file` (as it was named on the command line), `setup` (the number of the set-up), `verdict` (`sure-fire`,
//! `can fail` or `not proved`), `cut` (what ended it early: `time`, `memory`, `asked`, or null); in each claim `line` (in the
//! file), `reached` (whether any road comes by it) and `odds.sampled` (true where `den` random roads were walked and `num` of them
//! kept it); `wrong` (where the counterexample goes wrong: `{"step","claim","fault","piles":{NAME:[{"card","face"}]}}`, one of `claim`
//! and `fault` being null, or null altogether); `blame` (`[{"step","branch","odds"}]`: branches with the chance that all claims
//! are kept on roads that take them); `withdraw` (`[{"step","branch"}]`: the fewest branches without which it is
//! sure-fire, or null); `untaken` (`[{"step","branch"}]`: branches that no road can take); `unreached` (steps that no road comes
//! by); and `loops` (`[{"step","by"}]`: parts gone through as often as anybody likes, settled by `induction` or
//! `fixpoint`).
//!
//! Keys may be added; none of these changes its meaning.

use super::Proved;
use crate::command::lasting::Cut;
use crate::command::walk::{ByName, CardJson, piles_json};
use crate::proof::{Odds, Roads, Settled, Verdict, Wrong};
use crate::routine::{Routine, StopIndex};
use num_rational::BigRational;
use serde::Serialize;

/// What was found of one routine.
#[derive(Serialize)]
pub(super) struct ProofJson<'a> {
    routine: &'a str,
    file: &'a str,
    setup: u64,
    verdict: &'static str,
    holds: bool,
    roads: Option<String>,
    states: u64,
    ends: Option<u64>,
    claims: Vec<ClaimJson<'a>>,
    counterexample: Option<Vec<ChoiceJson<'a>>>,
    wrong: Option<WrongJson<'a>>,
    blame: Vec<BlameJson<'a>>,
    withdraw: Option<Vec<BranchJson<'a>>>,
    untaken: Vec<BranchJson<'a>>,
    unreached: Vec<&'a str>,
    loops: Vec<LoopJson<'a>>,
    cut: Option<&'static str>,
    seconds: f64,
}

#[derive(Serialize)]
struct ClaimJson<'a> {
    step: &'a str,
    claim: &'a str,
    line: u32,
    reached: bool,
    holds: Option<bool>,
    odds: Option<OddsJson>,
}

#[derive(Serialize)]
struct OddsJson {
    num: String,
    den: String,
    sampled: bool,
}

#[derive(Serialize)]
struct ChoiceJson<'a> {
    step: &'a str,
    choice: &'a str,
}

#[derive(Serialize)]
struct BranchJson<'a> {
    step: &'a str,
    branch: &'a str,
}

#[derive(Serialize)]
struct WrongJson<'a> {
    step: &'a str,
    claim: Option<&'a str>,
    fault: Option<String>,
    piles: Option<ByName<'a, Vec<CardJson>>>,
}

#[derive(Serialize)]
struct BlameJson<'a> {
    step: &'a str,
    branch: &'a str,
    odds: OddsJson,
}

#[derive(Serialize)]
struct LoopJson<'a> {
    step: &'a str,
    by: &'static str,
}

impl<'a> ProofJson<'a> {
    /// Of a proof.
    pub(super) fn of(proved: &'a Proved<'_>) -> Self {
        let (routine, proof) = (proved.routine, &proved.proof);
        let branches = |of: &'a [(StopIndex, String)]| {
            of.iter()
                .map(|(stop, branch)| BranchJson {
                    step: step(routine, *stop),
                    branch,
                })
                .collect::<Vec<_>>()
        };
        Self {
            routine: &routine.title,
            file: proved.origin,
            setup: routine.setup,
            verdict: match proof.verdict {
                Verdict::SureFire => "sure-fire",
                Verdict::Refuted => "can fail",
                Verdict::Unfinished => "not proved",
            },
            holds: proof.holds(),
            roads: match &proof.roads {
                Roads::Exactly(count) => Some(count.to_string()),
                Roads::Unbounded => Some("unbounded".to_owned()),
                Roads::Uncounted => None,
            },
            states: proof.states,
            ends: proof.ends,
            claims: proof
                .claims
                .iter()
                .map(|claim| ClaimJson {
                    step: step(routine, claim.stop),
                    claim: &claim.words,
                    line: claim.line,
                    reached: claim.reached,
                    holds: claim.holds,
                    odds: odds(claim.odds.as_ref(), claim.holds),
                })
                .collect(),
            counterexample: proof.counterexample.as_ref().map(|found| {
                found
                    .choices
                    .iter()
                    .map(|(stop, choice)| ChoiceJson {
                        step: step(routine, *stop),
                        choice,
                    })
                    .collect()
            }),
            wrong: proof.counterexample.as_ref().map(|found| {
                let (claim, fault) = match &found.wrong {
                    Wrong::Broken { index } => (
                        routine
                            .stop(found.stop)
                            .and_then(|stop| stop.claims.get(*index))
                            .map(|claim| claim.words.as_str()),
                        None,
                    ),
                    Wrong::Stuck(fault) => (None, Some(fault.told(routine))),
                };
                WrongJson {
                    step: step(routine, found.stop),
                    claim,
                    fault,
                    // Null where a card has no face yet.
                    piles: piles_json(routine, &found.world).ok(),
                }
            }),
            blame: proof
                .blame
                .iter()
                .map(|blame| BlameJson {
                    step: step(routine, blame.stop),
                    branch: &blame.label,
                    odds: exactly(&blame.holds),
                })
                .collect(),
            withdraw: proof.withdraw.as_deref().map(branches),
            untaken: branches(&proof.untaken),
            unreached: proof
                .unreached
                .iter()
                .map(|stop| step(routine, *stop))
                .collect(),
            loops: proof
                .loops
                .iter()
                .map(|(stop, settled)| LoopJson {
                    step: step(routine, *stop),
                    by: match settled {
                        Settled::Induction => "induction",
                        Settled::Fixpoint => "fixpoint",
                    },
                })
                .collect(),
            cut: proved.cut.map(Cut::word),
            seconds: proved.seconds,
        }
    }
}

fn step(routine: &Routine, stop: StopIndex) -> &str {
    routine.stop(stop).map_or("", |stop| &*stop.id.0)
}

/// The odds of a claim; one that holds is certain.
fn odds(odds: Option<&Odds>, holds: Option<bool>) -> Option<OddsJson> {
    match (odds, holds) {
        (Some(Odds::Exactly(chance)), _) => Some(exactly(chance)),
        (Some(Odds::Sampled { held, of }), _) => Some(OddsJson {
            num: held.to_string(),
            den: of.to_string(),
            sampled: true,
        }),
        (None, Some(true)) => Some(OddsJson {
            num: "1".to_owned(),
            den: "1".to_owned(),
            sampled: false,
        }),
        (None, Some(false) | None) => None,
    }
}

fn exactly(chance: &BigRational) -> OddsJson {
    OddsJson {
        num: chance.numer().to_string(),
        den: chance.denom().to_string(),
        sampled: false,
    }
}
