//! Proofs told, of reports written by hand.

use super::json::ProofJson;
use super::{Proved, of, text, worse};
use crate::command::failure::Outcome;
use crate::command::lasting::Cut;
use crate::command::lasting::budget::Budget;
use crate::proof::{
    Blame, ClaimProof, Counterexample, Odds, Proof, Roads, Settled, Verdict, Wrong,
};
use crate::roads::start;
use crate::routine::{Fault, Routine, StopIndex, Value, load};
use num_bigint::{BigInt, BigUint};
use num_rational::BigRational;

fn routine() -> Routine {
    let file = r#"allroads: 1
title: Six and a cut
blurb: One cut.
principle: A cut moves the top cards under the others.
lang: en-GB
running-time: 1m
cards:
  packet: {list: "AC 2H^ 3C 4H 5C 6H"}
piles: [dealt]
steps:
  - id: cut
    title: Cut the packet
    say: Cut anywhere. Was it {n}?
    fork: {name: n, about: where they cut, cut: {pile: packet, least: 1}}
    reckon: [{name: left, is: 6 - n, asks: How many were left?}]
    do: [{cut: {pile: packet, at: n}}, {move: {from: packet, to: dealt, count: 1}}]
    sees: [{count: dealt}]
    claims: [{says: the two lies there, lies: {pile: dealt, at: 1, card: 2H}}]
finale:
  id: look
  title: Look
  say: There it is.
  claims: [{count: {piles: [packet, dealt], is: 6}}]
"#;
    load(file, "six.yaml", 0).unwrap()
}

fn claim(routine: &Routine, stop: u16, holds: Option<bool>) -> ClaimProof {
    let claim = &routine.stops[usize::from(stop)].claims[0];
    ClaimProof {
        stop: StopIndex(stop),
        index: 0,
        words: claim.words.clone(),
        line: claim.line,
        reached: true,
        holds,
        odds: None,
    }
}

fn proof(routine: &Routine, verdict: Verdict) -> Proof {
    let holds = Some(true);
    Proof {
        verdict,
        roads: Roads::Exactly(BigUint::from(1_048_576u32)),
        states: 1_378,
        ends: None,
        claims: vec![claim(routine, 0, holds), claim(routine, 1, holds)],
        counterexample: None,
        untaken: Vec::new(),
        unreached: Vec::new(),
        blame: Vec::new(),
        withdraw: None,
        loops: Vec::new(),
    }
}

fn part(a: u32, b: u32) -> BigRational {
    BigRational::new(BigInt::from(a), BigInt::from(b))
}

fn refuted(routine: &Routine) -> Proof {
    let mut proof = proof(routine, Verdict::Refuted);
    proof.roads = Roads::Exactly(BigUint::from(5u8));
    proof.claims[0].holds = Some(false);
    proof.claims[0].odds = Some(Odds::Exactly(part(1, 5)));
    proof.counterexample = Some(Counterexample {
        stop: StopIndex(0),
        wrong: Wrong::Broken { index: 0 },
        choices: vec![(StopIndex(0), "n=2".into())],
        world: start(routine, 1),
    });
    let blame = |n: i64| Blame {
        stop: StopIndex(0),
        branch: Value::Int(n),
        label: n.to_string(),
        holds: part(u32::from(n == 1), 1),
    };
    proof.blame = [2, 3, 4, 5, 1].map(blame).to_vec();
    proof.withdraw = Some([2, 3, 4, 5].map(|n| (StopIndex(0), n.to_string())).to_vec());
    proof
}

fn proved(routine: &Routine, proof: Proof, cut: Option<Cut>) -> Proved<'_> {
    Proved {
        origin: "my own/six.yaml",
        routine,
        proof,
        seconds: 0.0042,
        cut,
        budget: Budget::of(&[]),
    }
}

fn told(proved: &Proved<'_>) -> String {
    let mut out = Vec::new();
    text::tell(&mut out, proved).unwrap();
    let text = String::from_utf8(out).unwrap();
    let most = text
        .lines()
        .filter(|line| !line.contains("allroads walk"))
        .map(|line| line.chars().count())
        .max();
    assert!(most <= Some(78), "{text}");
    text
}

fn json(proved: &Proved<'_>) -> serde_json::Value {
    serde_json::to_value(ProofJson::of(proved)).unwrap()
}

#[test]
fn what_is_sure_fire_is_told_in_a_sentence() {
    let routine = routine();
    let mut one = proof(&routine, Verdict::SureFire);
    one.ends = Some(36);
    insta::assert_snapshot!("sure_fire", told(&proved(&routine, one.clone(), None)));
    one.roads = Roads::Unbounded;
    one.loops = vec![
        (StopIndex(0), Settled::Induction),
        (StopIndex(1), Settled::Fixpoint),
    ];
    insta::assert_snapshot!("unbounded", told(&proved(&routine, one, None)));
}

#[test]
fn a_proof_about_nothing_is_told() {
    let routine = routine();
    let mut one = proof(&routine, Verdict::SureFire);
    one.claims[1].reached = false;
    one.unreached = vec![StopIndex(1)];
    one.untaken = vec![(StopIndex(0), "3".into())];
    insta::assert_snapshot!("about_nothing", told(&proved(&routine, one, None)));
}

#[test]
fn what_can_fail_is_told_with_its_road_its_table_and_its_odds() {
    let routine = routine();
    let one = refuted(&routine);
    insta::assert_snapshot!("refuted", told(&proved(&routine, one.clone(), None)));
    let mut stuck = one;
    stuck.claims[0].odds = Some(Odds::Sampled {
        held: 21_000,
        of: 100_000,
    });
    if let Some(found) = &mut stuck.counterexample {
        found.wrong = Wrong::Stuck(Fault::Value("there is no card there".into()));
        found.choices.clear();
    }
    stuck.blame.clear();
    stuck.withdraw = Some(vec![(StopIndex(0), "2".into()), (StopIndex(1), "7".into())]);
    insta::assert_snapshot!("stuck", told(&proved(&routine, stuck, None)));
}

#[test]
fn where_no_road_was_found_in_time_one_is_found_by_chance() {
    let routine = routine();
    let mut one = refuted(&routine);
    one.counterexample = None;
    one.roads = Roads::Uncounted;
    one.claims = vec![one.claims[0].clone(); 7];
    one.claims[0].odds = Some(Odds::Sampled { held: 0, of: 1_023 });
    one.blame.clear();
    one.withdraw = None;
    insta::assert_snapshot!("no_road", told(&proved(&routine, one, None)));
}

#[test]
fn of_many_branches_the_worst_and_the_best_are_told() {
    let routine = routine();
    let mut one = refuted(&routine);
    one.blame = (0..20)
        .map(|n| Blame {
            stop: StopIndex(0),
            branch: Value::Int(n),
            label: n.to_string(),
            holds: part(u32::try_from(n).unwrap(), 20),
        })
        .collect();
    one.withdraw = Some((0..19).map(|n| (StopIndex(0), n.to_string())).collect());
    let told = told(&proved(&routine, one, None));
    for words in [
        "where they cut: from 0 % with 0 to 19/20 (95 %) with 19, the best of 20.",
        "choose 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10 or 8 others for",
    ] {
        assert!(told.replace('\n', " ").contains(words), "{told}");
    }
}

#[test]
fn what_is_not_proved_says_how_far_it_came() {
    let routine = routine();
    let mut one = proof(&routine, Verdict::Unfinished);
    one.roads = Roads::Uncounted;
    one.claims[1].holds = None;
    let all: Vec<String> = [None, Some(Cut::Time), Some(Cut::Memory), Some(Cut::Asked)]
        .map(|cut| told(&proved(&routine, one.clone(), cut)))
        .to_vec();
    insta::assert_snapshot!("unfinished", all.join("\n"));
}

#[test]
fn the_json_has_the_keys_that_stay() {
    let routine = routine();
    let one = proved(&routine, refuted(&routine), None);
    let told = json(&one);
    assert_eq!(told["routine"], "Six and a cut");
    assert_eq!(told["file"], "my own/six.yaml");
    assert_eq!(told["holds"], false);
    assert_eq!(told["verdict"], "can fail");
    assert_eq!(told["roads"], "5");
    assert_eq!(told["states"], 1378);
    assert_eq!(told["ends"], serde_json::Value::Null);
    assert_eq!(told["seconds"], 0.0042);
    assert_eq!(
        told["claims"][0],
        serde_json::json!({"step": "cut", "claim": "the two lies there", "line": 18, "reached": true, "holds": false,
            "odds": {"num": "1", "den": "5", "sampled": false}})
    );
    assert_eq!(told["claims"][1]["odds"]["num"], "1");
    assert_eq!(
        told["counterexample"],
        serde_json::json!([{"step": "cut", "choice": "n=2"}])
    );
    assert_eq!(told["wrong"]["claim"], "the two lies there");
    assert_eq!(told["wrong"]["fault"], serde_json::Value::Null);
    assert_eq!(
        told["wrong"]["piles"]["packet"][1],
        serde_json::json!({"card": "2H", "face": "up"})
    );
    assert_eq!(
        told["withdraw"][0],
        serde_json::json!({"step": "cut", "branch": "2"})
    );
    assert_eq!(told["blame"].as_array().unwrap().len(), 5);

    let mut one = proof(&routine, Verdict::Unfinished);
    one.roads = Roads::Uncounted;
    one.claims[0].holds = None;
    let told = json(&proved(&routine, one, Some(Cut::Time)));
    assert_eq!(told["holds"], false);
    assert_eq!(told["roads"], serde_json::Value::Null);
    assert_eq!(told["counterexample"], serde_json::Value::Null);
    assert_eq!(told["claims"][0]["holds"], serde_json::Value::Null);
    assert_eq!(told["cut"], "time");

    let mut one = proof(&routine, Verdict::SureFire);
    one.roads = Roads::Unbounded;
    let told = json(&proved(&routine, one, None));
    assert_eq!(
        (&told["holds"], &told["roads"]),
        (&true.into(), &"unbounded".into())
    );
}

#[test]
fn the_worst_of_several_ends_wins_and_failing_outranks_not_knowing() {
    use Outcome::{Done, Found, Unfinished};
    for (all, worst) in [
        (vec![Done, Done], Done),
        (vec![Done, Unfinished], Unfinished),
        (vec![Unfinished, Found, Done], Found),
    ] {
        assert_eq!(all.into_iter().fold(Done, worse), worst);
    }
    assert_eq!(of(Verdict::SureFire), Done);
    assert_eq!(of(Verdict::Unfinished), Unfinished);
    assert_eq!(of(Verdict::Refuted), Found);
}
