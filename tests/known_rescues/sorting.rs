//! Nine cards, twice dealt into three piles: the card thought of comes to the place that was named.

use super::{Table, What, cut, fewest, share};
use allroads::rescue::Verdict;
use std::collections::BTreeSet;

const NINE: &str = r#"
allroads: 1
title: Nine
cards: {packet: {list: "AC 2H 3S 4D 5C 6H 7S 8D 9C"}}
piles: [left, middle, right, counter]
steps:
  - id: ticket
    fork: {name: ticket, says: "{ticket}", number: {from: 1, to: 9}}
    reckon:
      - {name: first, is: (ticket - 1) % 3, asks: How many piles go on top first?}
      - {name: second, is: (ticket - 1) / 3, asks: And then?}
  - id: sort-once
    fork: {name: theirs, seen: nothing, card: packet}
    do: [{deal: {from: packet, to: [left, middle, right], count: 9, face: up}}]
    reply: {name: once, asks: Which pile?, is: pile_of(theirs)}
  - id: box-once
    do:
      - turn: left
      - turn: middle
      - turn: right
      - gather: {by: "with_pile_at([left, middle, right], once, first + 1)", onto: packet}
  - id: sort-twice
    do: [{deal: {from: packet, to: [left, middle, right], count: 9, face: up}}]
    reply: {name: twice, asks: Which pile now?, is: pile_of(theirs)}
  - id: box-twice
    do:
      - turn: left
      - turn: middle
      - turn: right
      - gather: {by: "with_pile_at([left, middle, right], twice, second + 1)", onto: packet}
finale:
  id: called
  do:
    - deal: {from: packet, to: [counter], count: ticket, face: down}
  claims: [{place: {card: theirs, pile: counter, is: 1}}]
mends:
  - id: one-under
    do: [{cut: {pile: packet, at: 1}}]
  - id: one-over
    do: [{cut: {pile: packet, at: size(packet) - 1}}]
"#;

type Packet = Vec<usize>;

/// Dealt face up by turns: three piles, each with its first card at the top once it is turned over.
fn piles(packet: &Packet) -> [Packet; 3] {
    [0, 1, 2].map(|n| packet.iter().copied().skip(n).step_by(3).collect())
}

/// Gathered with so many piles on top of this one, the others as they lay.
fn gathered(piles: &[Packet; 3], theirs: usize, above: usize) -> Packet {
    let mut order: Vec<usize> = (0..3).filter(|n| *n != theirs).collect();
    order.insert(above, theirs);
    order.into_iter().flat_map(|n| piles[n].clone()).collect()
}

fn pile_of(piles: &[Packet; 3], card: usize) -> usize {
    piles.iter().position(|pile| pile.contains(&card)).unwrap()
}

/// A road with this ticket and card; at the first sorting, after the answer, the piles come to lie in this order.
fn walked_in(ticket: usize, card: usize, order: [usize; 3]) -> Packet {
    let (first, second) = ((ticket - 1) % 3, (ticket - 1) / 3);
    let mut once = piles(&(1..=9).collect());
    let answer = pile_of(&once, card);
    once = order.map(|n| once[n].clone());
    let twice = piles(&gathered(&once, answer, first));
    gathered(&twice, pile_of(&twice, card), second)
}

/// The same; two of the piles change places, if any do.
fn walked(ticket: usize, card: usize, swapped: Option<(usize, usize)>) -> Packet {
    let mut order = [0, 1, 2];
    if let Some((one, other)) = swapped {
        order.swap(one, other);
    }
    walked_in(ticket, card, order)
}

#[test]
fn a_seen_cut_at_the_end_is_mended_by_as_many_the_shorter_way_round() {
    let table = Table::of(NINE);
    let found = table.by_choice("box-twice", "cuts-again");
    for at in 1..9 {
        let mut wanted = BTreeSet::new();
        for ticket in 1..=9 {
            // Who it is nobody knows: all cards that can be theirs.
            let tables: Vec<(Packet, usize)> = (1..=9)
                .map(|card| (walked(ticket, card, None), card))
                .inspect(|(packet, card)| assert_eq!(packet[ticket - 1], *card))
                .map(|(packet, card)| (cut(&packet, at), card))
                .collect();
            let by = |n: usize| move |(packet, card): &(Packet, usize)| (cut(packet, n), *card);
            let best = fewest(&tables, &[&by(1), &by(8)], &|(packet, card)| {
                packet[ticket - 1] == *card
            });
            wanted.insert(best);
        }
        assert_eq!(found[&at], wanted, "{at}");
        let short = at.min(9 - at);
        let known = if short > 3 {
            What::Lost
        } else {
            What::Mends(short)
        };
        assert_eq!(wanted, BTreeSet::from([known]));
    }
}

#[test]
fn piles_that_changed_places_come_right_where_theirs_was_not_one_of_them() {
    let mut kept = 0;
    let mut all = 0;
    for ticket in 1..=9 {
        for card in 1..=9 {
            for swapped in [(0, 1), (0, 2), (1, 2)] {
                let right = walked(ticket, card, Some(swapped))[ticket - 1] == card;
                let theirs = (card - 1) % 3;
                assert_eq!(right, swapped.0 != theirs && swapped.1 != theirs);
                kept += usize::from(right);
                all += 1;
            }
        }
    }
    let table = Table::of(NINE);
    let Verdict::Lost { chance } = table.only("sort-once", "swaps-piles") else {
        panic!("it is lost");
    };
    assert_eq!(*chance, Some(share(kept, all)));
    assert_eq!(share(kept, all), share(1, 3));
}

#[test]
fn three_piles_in_another_order_come_right_as_often_as_every_road_says() {
    let mut kept = 0;
    let mut all = 0;
    for ticket in 1..=9 {
        for card in 1..=9 {
            // Each in the place of the next, or of the one before.
            for order in [[1, 2, 0], [2, 0, 1]] {
                kept += usize::from(walked_in(ticket, card, order)[ticket - 1] == card);
                all += 1;
            }
        }
    }
    let table = Table::of(NINE);
    let Verdict::Lost { chance } = table.only("sort-once", "reorders-piles") else {
        panic!("it is lost");
    };
    assert_eq!(*chance, Some(share(kept, all)));
}
