//! Colours that alternate, some of them dealt off one by one and riffled back in: every two are a red and a black.

use super::{Table, What, cut, dealt, fewest, riffles, share, what};
use allroads::rescue::Verdict;
use num_rational::BigRational;
use std::collections::{BTreeMap, BTreeSet};

const CARDS: usize = 8;

/// Eight cards that alternate. `LOOKS` is what the mend looks at first.
const PAIRS: &str = r#"
allroads: 1
title: Pairs
cards: {packet: {list: "4H 9S KD 2C 8D JS 3H 6C"}}
piles: [dealt]
steps:
  - id: show
    title: Eight cards
    sees: [{count: packet}]
  - id: deal
    fork: {name: many, number: {from: 2, to: 6}}
    do: [{deal: {from: packet, to: [dealt], count: many}}]
  - id: push
    fork: {name: shove, seen: nothing, riffle: {left: dealt, right: packet}}
    do: [{riffle: {left: dealt, right: packet, to: packet, by: shove}}]
finale:
  id: pairs
  claims: [{blocks: {pile: packet, of: 2, trait: colour}}]
mends:
  - id: one-under
    say: That one was never in the queue.
    sees: [LOOKS]
    do: [{cut: {pile: packet, at: 1}}]
"#;

type Packet = Vec<bool>;

fn alternating(cards: usize) -> Packet {
    (0..cards).map(|n| n % 2 == 0).collect()
}

fn paired(packet: &Packet) -> bool {
    packet.chunks(2).all(|two| two[0] != two[1])
}

/// By how many were dealt: every packet that the riffle can give.
fn after_the_riffle() -> BTreeMap<usize, Vec<Packet>> {
    (2..=6)
        .map(|many| {
            let (heap, rest) = dealt(&alternating(CARDS), many);
            (many, riffles(&heap, &rest))
        })
        .collect()
}

fn one_under(packet: &Packet) -> Packet {
    cut(packet, 1)
}

fn look_at(places: &str) -> Table {
    let looks: Vec<String> = places
        .split_whitespace()
        .map(|at| format!("{{trait: {{pile: packet, at: {at}, trait: colour}}}}"))
        .collect();
    Table::of(&PAIRS.replace("LOOKS", &looks.join(", ")))
}

#[test]
fn after_the_riffle_a_seen_even_cut_is_safe_and_an_odd_one_is_mended_by_one_card_more() {
    let mut wanted: BTreeMap<usize, BTreeSet<What>> = BTreeMap::new();
    for packets in after_the_riffle().values() {
        for at in 1..CARDS {
            let tables: Vec<Packet> = packets.iter().map(|packet| cut(packet, at)).collect();
            let best = fewest(&tables, &[&one_under], &paired);
            wanted.entry(at).or_default().insert(best);
        }
    }
    for (at, verdicts) in &wanted {
        let known = if at % 2 == 0 {
            What::Safe
        } else {
            What::Mends(1)
        };
        assert_eq!(verdicts, &BTreeSet::from([known]), "{at}");
    }
    let table = look_at("");
    assert_eq!(table.by_choice("push", "cuts-again"), wanted);
    // Of seven ways to cut eight cards three are even, whatever was dealt.
    let even = wanted.values().filter(|all| all.contains(&What::Safe));
    let row = table.row("push", "cuts-again");
    let shares: Vec<_> = row.parts.iter().map(|part| part.share.clone()).collect();
    assert_eq!(even.count(), 3);
    assert_eq!(shares, [Some(share(3, 7)), Some(share(4, 7))]);
}

#[test]
fn an_unseen_cut_after_the_riffle_has_no_mend_that_is_fixed() {
    for packets in after_the_riffle().values() {
        let tables: Vec<Packet> = packets
            .iter()
            .flat_map(|packet| (1..CARDS).map(|at| cut(packet, at)))
            .collect();
        assert_eq!(fewest(&tables, &[&one_under], &paired), What::Lost);
    }
    let table = look_at("");
    assert_eq!(what(table.only("push", "cuts-unseen")), What::Lost);
}

/// Whether so many cards from top to bottom at most can be told from what is seen at these places (a fresh look after each of them).
fn told_by(tables: &BTreeSet<Packet>, places: &[usize], most: usize, looked: bool) -> bool {
    if tables.iter().all(paired) {
        return true;
    }
    if most == 0 {
        return false;
    }
    let moved = tables.iter().map(one_under).collect();
    if told_by(&moved, places, most - 1, false) {
        return true;
    }
    let mut parts: BTreeMap<Vec<bool>, BTreeSet<Packet>> = BTreeMap::new();
    for packet in tables {
        let seen = places.iter().map(|at| packet[*at]).collect();
        parts.entry(seen).or_default().insert(packet.clone());
    }
    !looked && parts.len() > 1 && parts.values().all(|part| told_by(part, places, most, true))
}

#[test]
fn an_unseen_cut_after_the_riffle_is_mended_by_a_look_exactly_where_the_look_tells_enough() {
    let mut met = BTreeSet::new();
    // Top and bottom, the two on top, every other card, all but the last two, all.
    for (words, places) in [
        ("1 -1", vec![0, 7]),
        ("1 2", vec![0, 1]),
        ("1 3 5 7", vec![0, 2, 4, 6]),
        ("1 2 3 4 5 6", vec![0, 1, 2, 3, 4, 5]),
        ("1 2 3 4 5 6 7 8", (0..8).collect()),
    ] {
        let fits: BTreeSet<bool> = after_the_riffle()
            .values()
            .map(|packets| {
                let tables: BTreeSet<Packet> = packets
                    .iter()
                    .flat_map(|packet| (1..CARDS).map(|at| cut(packet, at)))
                    .collect();
                told_by(&tables, &places, 3, false)
            })
            .collect();
        let table = look_at(words);
        let found: BTreeSet<bool> = table
            .row("push", "cuts-unseen")
            .parts
            .iter()
            .map(|part| matches!(&part.verdict, Verdict::Mend(plan) if plan.looks()))
            .collect();
        assert_eq!(found, fits, "{words}");
        met.extend(fits);
    }
    assert_eq!(met.len(), 2, "some looks tell enough and others do not");
}

#[test]
fn before_the_deal_any_complete_cut_is_safe() {
    for at in 1..CARDS {
        let packet = cut(&alternating(CARDS), at);
        for many in 2..=6 {
            let (heap, rest) = dealt(&packet, many);
            assert!(riffles(&heap, &rest).iter().all(paired), "{at}, {many}");
        }
    }
    let table = look_at("");
    assert_eq!(*table.only("show", "cuts-again"), Verdict::Safe);
    assert_eq!(*table.only("show", "cuts-unseen"), Verdict::Safe);
}

#[test]
fn of_ten_lifting_instead_of_dealing_is_fatal_exactly_for_two_four_six_and_eight() {
    let ten = PAIRS
        .replace("4H 9S KD 2C 8D JS 3H 6C", "4H 9S KD 2C 8D JS 3H 6C AD 7S")
        .replace("{from: 2, to: 6}", "{from: 1, to: 9}")
        .replace("LOOKS", "");
    let table = Table::of(&ten);
    let mut wanted: BTreeMap<usize, BTreeSet<What>> = BTreeMap::new();
    for many in 1..=9 {
        let packet = alternating(10);
        let (lifted, rest) = packet.split_at(many);
        let before_the_mend = riffles(lifted, rest);
        // What could be done between lifting and riffling: cards of the packet from top to bottom.
        let mut found = What::Lost;
        for mends in (0..=3).rev() {
            let mut rest = rest.to_vec();
            for _ in 0..mends {
                rest = if rest.is_empty() { rest } else { cut(&rest, 1) };
            }
            if riffles(lifted, &rest).iter().all(paired) {
                found = if mends == 0 {
                    What::Safe
                } else {
                    What::Mends(mends)
                };
            }
        }
        let without = before_the_mend.iter().all(paired);
        assert_eq!(without, !matches!(many, 2 | 4 | 6 | 8), "{many}");
        wanted.insert(many, BTreeSet::from([found]));
    }
    assert_eq!(table.by_choice("deal", "lifts-instead"), wanted);
    // Nobody can set it right where they have no mend, and then it is fatal.
    let bare = &ten[..ten.find("mends:").unwrap()];
    let fatal: Vec<usize> = Table::of(bare)
        .by_choice("deal", "lifts-instead")
        .into_iter()
        .filter(|(_, verdicts)| verdicts.contains(&What::Lost))
        .map(|(many, _)| many)
        .collect();
    assert_eq!(fatal, [2, 4, 6, 8]);
}

/// The chance by going every road: how many were dealt (by weight), which card had fallen to the bottom before, how they were riffled.
fn chance_after_a_fall(cards: usize, weights: &[usize], first: usize) -> BigRational {
    let mut chance = share(0, 1);
    let all: usize = weights.iter().sum();
    for fell in 0..cards - 1 {
        let mut packet = alternating(cards);
        let card = packet.remove(fell);
        packet.push(card);
        for (n, weight) in weights.iter().enumerate() {
            let (heap, rest) = dealt(&packet, first + n);
            let ends = riffles(&heap, &rest);
            let good = ends.iter().filter(|end| paired(end)).count();
            chance += share(1, cards - 1) * share(*weight, all) * share(good, ends.len());
        }
    }
    chance
}

#[test]
fn a_chance_through_a_riffle_that_is_still_to_come_is_that_of_all_roads() {
    for (list, weights, first) in [
        ("4H 9S KD 2C 8D JS", vec![1, 2, 3], 2),
        ("4H 9S KD 2C 8D JS", vec![1, 1, 1, 1, 1], 1),
        ("4H 9S KD 2C 8D JS 3H 6C", vec![1, 2, 3, 2, 5], 2),
    ] {
        let cards = list.split(' ').count();
        let text = PAIRS
            .replace("4H 9S KD 2C 8D JS 3H 6C", list)
            .replace("LOOKS", "")
            .replace(
                "number: {from: 2, to: 6}",
                &format!(
                    "weights: {weights:?}, number: {{from: {first}, to: {}}}",
                    first + weights.len() - 1
                ),
            );
        let table = Table::of(&text);
        let Verdict::Lost { chance } = table.only("show", "drops-a-card") else {
            panic!("it is lost");
        };
        let wanted = chance_after_a_fall(cards, &weights, first);
        assert_eq!(*chance, Some(wanted), "{list}, {weights:?}");
    }
}
