//! Counting along a chain of values through a shuffled pack: most chains meet. The odds are out of exact reach, so they are sampled,
//! from seeds that never change.

use super::routine;
use allroads::proof::{Limits, Odds, Verdict, Ways, prove};

/// How many random roads are walked.
const ROADS: u64 = 20_000;

/// A spectator counts from one of the first ten cards, the performer from the card that `mine` says.
fn two_chains(mine: &str) -> String {
    let start = match mine {
        "random" => {
            "  - id: mine\n    fork: {name: mine, says: '{mine}', number: {from: 1, to: 10}}\n"
        }
        _ => "  - id: mine\n    reckon: [{name: mine, is: 1, asks: Where do you start?}]\n",
    };
    format!(
        "allroads: 1\ntitle: Two chains\ncards:\n  packet: {{shuffled: full}}\nsteps:\n  - id: theirs\n    fork: {{name: theirs, says: '{{theirs}}', number: {{from: 1, to: 10}}}}\n{start}  - id: count\n    do:\n      - chain: {{pile: packet, from: theirs, court: 5, name: reached}}\n      - chain: {{pile: packet, from: mine, court: 5, name: arrived}}\nfinale:\n  id: end\n  claims: [{{says: the chains have met, expr: reached == arrived}}]\n"
    )
}

/// The chance that two chains meet, sampled; it is said to be.
fn sampled(mine: &str) -> f64 {
    let ways = Ways {
        sample: ROADS,
        ..Ways::default()
    };
    // Little memory: the exploring ends soon and the sampling begins.
    let limits = Limits {
        bytes: 1 << 20,
        stop: &|| false,
        progress: &|_| (),
    };
    let proof = prove(&routine(&two_chains(mine)), ways, &limits);
    assert_eq!(proof.verdict, Verdict::Refuted);
    let claim = proof.claims.last().expect("a claim");
    match claim.odds {
        Some(Odds::Sampled { held, of }) => {
            assert_eq!(of, ROADS);
            held as f64 / of as f64
        }
        ref other => panic!("{other:?}"),
    }
}

/// Three standard errors: of our own sample, and of the figure (0.001).
fn near(sampled: f64, figure: f64) {
    let own = (figure * (1.0 - figure) / ROADS as f64).sqrt();
    let most = 3.0 * own.hypot(0.001);
    assert!(
        (sampled - figure).abs() < most,
        "{sampled} instead of {figure}, more than {most} away"
    );
}

// Lagarias, Rains, Vanderbei, The Kruskal count (2001), gives about 0.85 (from memory). The figures to four places were
// computed outside the project on 200,000 shuffles; their standard error is 0.001.
#[test]
fn two_chains_meet_as_often_as_reckoned_when_the_performer_starts_on_the_first_card() {
    near(sampled("first"), 0.8525);
}

#[test]
fn two_chains_meet_as_often_as_reckoned_when_both_start_at_random() {
    near(sampled("random"), 0.8421);
}
