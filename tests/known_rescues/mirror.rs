//! First and last are mates, and so on inwards; and a packet that is the same up to where it begins.

use super::{Table, What, cut, fewest, share};
use allroads::rescue::Verdict;
use std::collections::BTreeSet;

const MIRROR: &str = r#"
allroads: 1
title: Mirror
cards: {packet: {list: "AH 2C 3S 4D 4H 3C 2S AD"}}
piles: []
steps:
  - id: show
    sees: [{count: packet}]
  - id: sort
    fork: {name: bag, option: [hers, his]}
    do: [{inverse-faro: {pile: packet, odds-on-top: 'bag == "hers"'}}]
finale:
  id: end
  claims: [{mirror: {pile: packet, by: mates}}]
mends:
  - id: one-under
    do: [{cut: {pile: packet, at: 1}}]
  - id: one-over
    do: [{cut: {pile: packet, at: size(packet) - 1}}]
"#;

type Packet = Vec<u8>;

fn mirrored(packet: &Packet) -> bool {
    packet.iter().eq(packet.iter().rev())
}

/// Every second card out, and the halves stacked either way.
fn sorted(packet: &Packet) -> [Packet; 2] {
    let half = |from: usize| packet.iter().copied().skip(from).step_by(2);
    [
        half(0).chain(half(1)).collect(),
        half(1).chain(half(0)).collect(),
    ]
}

#[test]
fn a_seen_cut_is_mended_by_the_cut_that_undoes_it_and_at_exactly_half_it_is_safe() {
    let start: Packet = vec![1, 2, 3, 4, 4, 3, 2, 1];
    let table = Table::of(MIRROR);
    let cards = start.len();
    let mends: [&dyn Fn(&Packet) -> Packet; 2] = [&|packet| cut(packet, 1), &|packet| {
        cut(packet, packet.len() - 1)
    }];
    // After the sorting whatever it made of the packet, before it whatever it will make of it.
    let after = table.by_choice("sort", "cuts-again");
    let before = table.by_choice("show", "cuts-again");
    for at in 1..cards {
        let mut wanted = BTreeSet::new();
        for packet in sorted(&start) {
            wanted.insert(fewest(&[cut(&packet, at)], &mends, &mirrored));
        }
        assert_eq!(after[&at], wanted, "{at}");
        let well = |packet: &Packet| sorted(packet).iter().all(mirrored);
        let best = fewest(&[cut(&start, at)], &mends, &well);
        assert_eq!(before[&at], BTreeSet::from([best]), "{at}");
        assert_eq!(best == What::Safe, at == cards / 2, "{at}");
        // The cut that undoes it, or the one that makes it a cut at half.
        let away = at.min(cards - at).min(at.abs_diff(cards / 2));
        if away > 0 {
            assert_eq!(best, What::Mends(away), "{at}");
        }
        assert!(mirrored(&cut(&cut(&start, at), cards - at)));
    }
}

const ROUND: &str = r#"
allroads: 1
title: Round and round
cards: {packet: {list: "AC 2H 3S 4D 5C 6H 7S"}}
piles: []
steps:
  - id: show
    sees: [{count: packet}]
finale:
  id: end
  claims: [{same-as-start: {pile: packet, up-to: [rotation]}}]
"#;

#[test]
fn in_a_packet_that_goes_round_any_cut_is_safe_and_a_fallen_card_mostly_is_not() {
    let start: Vec<usize> = (0..7).collect();
    let round = |packet: &Vec<usize>| (0..7).any(|at| cut(&start, at) == *packet);
    assert!((1..7).all(|at| round(&cut(&start, at))));
    let table = Table::of(ROUND);
    assert_eq!(*table.only("show", "cuts-again"), Verdict::Safe);
    assert_eq!(*table.only("show", "cuts-unseen"), Verdict::Safe);
    // A card falls from any place but the lowest, and goes underneath.
    let fallen = |at: usize| {
        let mut packet = start.clone();
        let card = packet.remove(at);
        packet.push(card);
        packet
    };
    let kept = (0..6).filter(|at| round(&fallen(*at))).count();
    let chance = Some(share(kept, 6));
    assert_eq!(
        *table.only("show", "drops-a-card"),
        Verdict::Lost { chance }
    );
    // A packet turned over goes round the other way.
    let reversed: Vec<usize> = start.iter().rev().copied().collect();
    assert!(!round(&reversed));
    let chance = Some(share(0, 1));
    assert_eq!(
        *table.only("show", "turns-the-packet"),
        Verdict::Lost { chance }
    );
}
