//! Slips: planted ones are found, known answers come out, and what is right is called right.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

#[path = "slips/by_hand.rs"]
mod by_hand;
mod planted_slips;

use allroads::cards::Card;
use allroads::rescue::slip::{
    CardFault, Case, Effect, Got, Judging, Looked, MOST_STEPS, Pairs, Reach, Report, SlipKind,
    Wrong, consequences, explain, explanation_words,
};
use allroads::roads::{Choices, domain, sample, take, unknown_start};
use allroads::routine::{Routine, Scene, StopIndex, Value, World, load};
use planted_slips::{got, shipped, tally};
use std::time::Duration;

/// So many random roads of each routine here; `cargo run --release --example planted_slips` walks 2,000.
const ROADS: u32 = 40;
const PATIENCE: Duration = Duration::from_secs(600);

#[test]
fn a_planted_slip_is_always_among_the_explanations_and_mostly_first() {
    for (name, routine) in shipped() {
        let tally = tally(&routine, ROADS, 1, false, PATIENCE);
        assert!(tally.shown() > ROADS / 2, "{name}: {tally:?}");
        assert_eq!(tally.missed, Vec::<u64>::new(), "{name}");
        assert_eq!(tally.partly, 0, "{name}");
        assert!(tally.first * 10 >= tally.shown() * 8, "{name}: {tally:?}");
    }
}

/// A routine with these acts in one step, on six clubs and two more piles.
fn with(acts: &str) -> Routine {
    let text = format!(
        "allroads: 1\ntitle: One step\nlang: en-GB\ncards:\n  packet: {{list: \"AC 2C 3C 4C 5C 6C\"}}\npiles: [heap, third]\n\
         steps:\n  - id: only\n    title: The step\n    do:\n{acts}\nfinale:\n  id: end\n  title: The end\n  claims:\n    \
         - says: the cards lie somewhere\n      expr: size(packet) + size(heap) + size(third) == 6\n"
    );
    load(&text, "one step", 0).unwrap_or_else(|faults| panic!("{}", faults[0]))
}

fn asked(routine: &Routine, choices: &[&str], packet: &Got) -> Report {
    let choices = Choices::read(routine, choices.iter().copied()).unwrap();
    let start = unknown_start(routine);
    explain(
        &Case {
            routine,
            start: &start,
            choices: &choices,
            until: None,
            got: packet,
            most_steps: MOST_STEPS,
        },
        &|| false,
    )
}

fn read(routine: &Routine, piles: &[&str]) -> Got {
    Got::read(routine, piles.iter().copied(), Err("packet, heap, third")).unwrap()
}

#[test]
fn a_road_without_a_slip_is_called_right_whatever_is_told_of_it() {
    for (name, routine) in shipped() {
        for seed in 0..10 {
            let road = sample(&routine, seed).unwrap();
            let packet = got(&road.walked.last().unwrap().after);
            let all = Choices::of_road(&routine, &road.walked, |_| true);
            let case = Case {
                routine: &routine,
                start: &road.walked[0].before,
                choices: &all,
                until: None,
                got: &packet,
                most_steps: MOST_STEPS,
            };
            let report = explain(&case, &|| false);
            assert!(report.right, "{name}, seed {seed}");
            assert_eq!(report.explanations, [], "{name}, seed {seed}");
            assert_eq!(report.pairs, Pairs::NotNeeded);
        }
    }
}

const TEN: &str = "
allroads: 1
title: Ten
lang: en-GB
cards:
  packet: {list: \"AH AS 2H 2S 3H 3S 4H 4S 5H 5S\"}
piles: [hut]
steps:
  - id: deal
    title: Some go in
    fork: {name: k, says: \"{k}\", number: {from: 1, to: 9}}
    do:
      - deal: {from: packet, to: [hut], count: k}
  - id: mix
    title: Out again
    fork: {name: mix, seen: nothing, says: so, riffle: {left: hut, right: packet}}
    do:
      - riffle: {left: hut, right: packet, to: packet, by: mix}
finale:
  id: end
  title: Pairs
  claims:
    - says: every two are a red and a black
      blocks: {pile: packet, of: 2, trait: colour}
";

/// Every way to interleave two lists, the plainest way there is.
fn interleaved(left: &[&str], right: &[&str]) -> Vec<Vec<String>> {
    match (left, right) {
        ([], rest) | (rest, []) => vec![rest.iter().map(|c| (*c).to_owned()).collect()],
        ([l, left_rest @ ..], [r, right_rest @ ..]) => {
            let mut all = interleaved(left_rest, right);
            all.iter_mut()
                .for_each(|rest| rest.insert(0, (*l).to_owned()));
            let mut from_right = interleaved(left, right_rest);
            from_right
                .iter_mut()
                .for_each(|rest| rest.insert(0, (*r).to_owned()));
            all.append(&mut from_right);
            all
        }
    }
}

#[test]
fn an_unseen_riffle_is_right_exactly_when_it_is_one_of_the_interleavings() {
    let routine = load(TEN, "ten", 0).unwrap();
    let cards = ["AH", "AS", "2H", "2S", "3H", "3S", "4H", "4S", "5H", "5S"];
    for k in [2_usize, 5] {
        let lifted: Vec<&str> = cards[..k].to_vec();
        let dealt: Vec<&str> = lifted.iter().rev().copied().collect();
        let right = interleaved(&dealt, &cards[k..]);
        let choice = format!("k={k}");
        for packet in right.iter().step_by(7) {
            let packet = Got::read(
                &routine,
                [&*format!("packet={}", packet.join(" "))],
                Err(""),
            )
            .unwrap();
            assert!(asked(&routine, &[&choice], &packet).right);
        }
        for packet in interleaved(&lifted, &cards[k..]).iter().step_by(5) {
            let read = Got::read(
                &routine,
                [&*format!("packet={}", packet.join(" "))],
                Err(""),
            )
            .unwrap();
            let report = asked(&routine, &[&choice], &read);
            assert_eq!(report.right, right.contains(packet), "{packet:?}");
            assert!(report.complete);
            if !report.right {
                assert!(
                    report
                        .explanations
                        .iter()
                        .any(|one| one.slips[0].wrong == Wrong::Lifted),
                    "{packet:?}"
                );
            }
        }
    }
}

#[test]
fn a_trait_or_a_question_mark_says_as_much_as_it_says() {
    let routine = load(TEN, "ten", 0).unwrap();
    let packet = |text: &str| Got::read(&routine, [text], Err("")).unwrap();
    // Three reds on top cannot be in pairs of a red and a black, and so no riffle after a right deal.
    let colours = asked(&routine, &["k=4"], &packet("packet=rrrbbbrbrb"));
    assert!(!colours.right && !colours.explanations.is_empty());
    assert!(asked(&routine, &["k=4"], &packet("packet=? ? ? ? ? ? ? ? ? ?")).right);
    // The top card is one of two after a right riffle: the last one dealt, or the first one left.
    for (card, right) in [("2S", true), ("3H", true), ("AH", false), ("5S", false)] {
        let report = asked(&routine, &["k=4"], &packet(&format!("packet={card} ...")));
        assert_eq!(report.right, right, "{card}");
    }
}

#[test]
fn missing_doubled_and_foreign_cards_are_told_apart() {
    let routine = load(TEN, "ten", 0).unwrap();
    let faults = |text: &str| {
        asked(
            &routine,
            &["k=1"],
            &Got::read(&routine, [text], Err("")).unwrap(),
        )
        .cards
    };
    let card = |code: &str| routine.pack.read(code).unwrap();
    assert_eq!(faults("packet=AH AS 2H 2S 3H 3S 4H 4S 5H 5S"), []);
    assert_eq!(
        faults("packet=AH AS 2H 2S 3H 3S 4H 4S 5H"),
        [CardFault::Missing(card("5S"))]
    );
    assert_eq!(
        faults("packet=AH AS 2H 2S 3H 3S 4H 4S 5H 5H"),
        [
            CardFault::Doubled(card("5H")),
            CardFault::Missing(card("5S"))
        ]
    );
    assert!(matches!(
        &faults("packet=AH AS 2H 2S 3H 3S 4H 4S 5H QC")[..],
        [CardFault::Foreign { place: 10, .. }, ..]
    ));
    assert!(matches!(
        &faults("packet=rbrbrbrbr")[..],
        [CardFault::Class { label, missing: 1, .. }] if label == "black"
    ));
    assert_eq!(faults("packet=? ? ? ? ? ? ? ? ?"), [CardFault::Some(1)]);
    // Of a pile of which only the top was looked at nothing is missing.
    assert_eq!(faults("packet=AH AS ..."), []);
}

#[test]
fn a_card_missing_from_an_elimination_deal_moves_the_place_as_the_formula_says() {
    // Under-down on n cards leaves the one that lay at place 2l + 1, n = 2^m + l (Graham, Knuth, Patashnik, section 1.3).
    let left = |n: usize| 2 * (n - (1 << n.ilog2())) + 1;
    let names = [
        "AC", "2C", "3C", "4C", "5C", "6C", "7C", "8C", "9C", "10C", "JC", "QC",
    ];
    for n in 3..=names.len() {
        let text = format!(
            "allroads: 1\ntitle: Last\nlang: en-GB\ncards:\n  packet: {{list: \"{}\"}}\npiles: [away]\nsteps:\n  - id: deal\n    \
             title: One stays, one goes\n    do:\n      - under-down: {{pile: packet, to: away, leave: 1}}\nfinale:\n  id: end\n  \
             title: One is left\n  claims:\n    - says: one is left\n      count: {{piles: [packet], is: 1}}\n",
            names[..n].join(" ")
        );
        let routine = load(&text, "last", 0).unwrap();
        for gone in 0..n {
            let mut line: Vec<&str> = names[..n].to_vec();
            line.remove(gone);
            let last = line[left(n - 1) - 1];
            // The deal with a list of names and nothing else.
            let mut away: Vec<&str> = Vec::new();
            while line.len() > 1 {
                line.rotate_left(1);
                away.insert(0, line.remove(0));
            }
            assert_eq!(line, [last], "{n} cards without number {gone}");
            let packet = Got::read(
                &routine,
                [
                    &*format!("packet={last}"),
                    &*format!("away={}", away.join(" ")),
                ],
                Err(""),
            )
            .unwrap();
            let report = asked(&routine, &[], &packet);
            assert_eq!(
                report.cards,
                [CardFault::Missing(Card(u16::try_from(gone).unwrap()))]
            );
            let first = &report.explanations[0];
            assert_eq!(
                first.slips[0].wrong,
                Wrong::Lost,
                "{n} cards without number {gone}"
            );
            assert_eq!(
                explanation_words(&routine, first),
                "a card had gone before “One stays, one goes”"
            );
        }
    }
}

#[test]
fn two_slips_are_found_where_one_does_not_explain_the_packet() {
    let routine = with(
        "      - deal: {from: packet, to: [heap], count: 3}\n      - cut: {pile: packet, at: 1}",
    );
    // Lifted instead of dealt, and the cut left out.
    let report = asked(
        &routine,
        &[],
        &read(&routine, &["packet=4C 5C 6C", "heap=AC 2C 3C"]),
    );
    assert!(!report.right);
    assert_eq!(report.pairs, Pairs::All);
    assert_eq!(
        explanation_words(&routine, &report.explanations[0]),
        "you lifted the three cards as a block at “The step” instead of dealing them one by one, and left out the cut at “The step”"
    );
    let three = load(THREE, "three", 0).unwrap();
    let tally = tally(&three, 12, 2, false, PATIENCE);
    assert!(tally.shown() > 2, "{tally:?}");
    assert_eq!(tally.missed, Vec::<u64>::new());
}

const THREE: &str = "
allroads: 1
title: Three
lang: en-GB
cards:
  packet: {list: \"AC 2C 3C 4C 5C 6C 7C 8C\"}
piles: [heap]
steps:
  - id: deal
    title: Deal
    fork: {name: k, says: \"{k}\", number: {from: 3, to: 6}}
    do:
      - deal: {from: packet, to: [heap], count: k}
      - move: {from: heap, to: packet}
  - id: cut
    title: Cut
    do:
      - cut: {pile: packet, at: 3}
  - id: weave
    title: Weave
    do:
      - faro: {pile: packet, weave: in}
finale:
  id: end
  title: All there
  claims:
    - says: all eight are there
      count: {piles: [packet], is: 8}
";

/// Whether every road from here keeps the claims of the ending: every branch, one by one.
fn keeps(routine: &Routine, world: &World) -> bool {
    let Some(stop) = routine.stop(world.at) else {
        return true;
    };
    let branches: Vec<Option<Value>> = match domain(routine, world) {
        Err(_) => return false,
        Ok(None) => vec![None],
        Ok(Some(fork)) => fork.branches().map(Some).collect(),
    };
    branches.iter().all(|choice| {
        take(routine, world, choice.as_ref()).is_ok_and(|taken| {
            let world = &taken.world;
            stop.claims
                .iter()
                .all(|claim| claim.kind.holds(Scene { routine, world }) == Ok(true))
                && keeps(routine, world)
        })
    })
}

/// Judges by walking every road.
struct Plainly<'r>(&'r Routine);

impl Judging for Plainly<'_> {
    fn effect(&mut self, stop: StopIndex, _: Option<&World>, slipped: &World) -> Effect {
        let scene = Scene {
            routine: self.0,
            world: slipped,
        };
        let claims = &self.0.stop(stop).unwrap().claims;
        let now = claims
            .iter()
            .all(|claim| claim.kind.holds(scene) == Ok(true));
        if now && keeps(self.0, slipped) {
            Effect::Harmless
        } else {
            Effect::Fatal
        }
    }
}

#[test]
fn lifting_instead_of_dealing_in_the_alternating_packet_of_ten_is_fatal_exactly_for_two_four_six_and_eight()
 {
    let routine = load(TEN, "ten", 0).unwrap();
    let reach = Reach {
        all: 20_000,
        roads: 10,
    };
    let (found, looked) = consequences(&routine, reach, || Plainly(&routine));
    assert_eq!(looked, Looked::All);
    let deal = routine.find_step("deal").unwrap();
    let lifted = found
        .iter()
        .find(|one| one.stop == deal && one.kind == SlipKind::Lifted)
        .unwrap();
    assert_eq!(lifted.effect, Effect::Fatal);
    let fatal: Vec<Value> = lifted
        .by_choice
        .iter()
        .filter(|(_, effect)| *effect == Effect::Fatal)
        .map(|(value, _)| value.clone())
        .collect();
    assert_eq!(fatal, [2, 4, 6, 8].map(Value::Int));
    // Of one card lifting is dealing; the other numbers are all there.
    assert_eq!(lifted.by_choice.len(), 8);
}

#[test]
fn where_nothing_fits_the_nearest_is_told() {
    let routine = with("      - cut: {pile: packet, at: 2}");
    // Right but for three cards that changed places all round: no two slips of one cut do that.
    let report = asked(
        &routine,
        &[],
        &read(&routine, &["packet=3C 5C 4C 2C 6C AC"]),
    );
    assert_eq!(report.explanations, []);
    let (_, places) = report.nearest.unwrap();
    assert!((1..=4).contains(&places), "{places}");
}

#[test]
fn what_cannot_be_read_is_told_with_its_place() {
    let routine = with("      - cut: {pile: packet, at: 2}");
    let fault = |given: &[&str]| {
        Got::read(&routine, given.iter().copied(), Err("packet, heap"))
            .unwrap_err()
            .to_string()
    };
    assert!(fault(&["packet=AC 2C xyz"]).starts_with("card 3 of “packet”, “xyz”, is no card"));
    assert!(
        fault(&["sack=AC"])
            .starts_with("there is no pile “sack”; the piles are packet, heap, third")
    );
    assert!(fault(&["packet=AC", "packet=2C"]).contains("given twice"));
    assert!(fault(&["AC 2C"]).contains("cards lie in several piles there"));
    assert!(fault(&["heap="]).contains("write `nothing` for a pile that is empty"));
}
