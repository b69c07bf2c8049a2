//! Cut, turn the top two over together, as often as they like: as many face up at odd places as at even ones.

use super::{LIMITS, Table, What, cut, fewest};
use allroads::handling::Move;
use allroads::rescue::{Deed, Ground, Rescuer, Verdict};
use allroads::roads::{domain, take, unknown_start};
use allroads::routine::World;
use allroads::table::{PileId, Place};
use std::collections::{BTreeMap, BTreeSet};

const CARDS: usize = 6;
const ROUNDS: usize = 2;

const TURNS: &str = r#"
allroads: 1
title: Turns
cards: {packet: {list: "AH 2C 3H 4C 5H 6C"}}
piles: []
steps:
  - again:
      name: rounds
      says: Once more?
      at-most: 2
      steps:
        - id: cut
          fork: {name: seat, seen: nothing, cut: {pile: packet, least: 0}}
          do: [{cut: {pile: packet, at: seat}}]
        - id: turn
          do: [{turn: {pile: packet, count: 2}}]
          strays: [each-in-place]
finale:
  id: end
  claims:
    - expr: showing_odd(packet) == showing_even(packet)
strays:
  - id: each-in-place
    says: First the one, then the other.
    do: [{turn-each: {pile: packet, at: [1, 2]}}]
    sees: [{value: "up(packet, 1) == up(packet, 2)"}]
MENDS
"#;

const THREE_BACK: &str = "mends:\n  - id: three-back\n    do: [{turn: {pile: packet, count: 3}}]\n";

/// Which cards show, from the top.
type Packet = Vec<bool>;

fn turned(packet: &[bool], count: usize) -> Packet {
    let top = packet[..count].iter().rev().map(|up| !up);
    top.chain(packet[count..].iter().copied()).collect()
}

fn even(packet: &Packet) -> bool {
    let showing = |from: usize| {
        packet
            .iter()
            .skip(from)
            .step_by(2)
            .filter(|up| **up)
            .count()
    };
    showing(0) == showing(1)
}

/// All that so many rounds can make of these packets.
fn rounds(packets: &BTreeSet<Packet>) -> BTreeSet<Packet> {
    packets
        .iter()
        .flat_map(|packet| (0..CARDS).map(|at| turned(&cut(packet, at), 2)))
        .collect()
}

/// Whether all goes well from here, with up to so many rounds to come.
fn well(packet: &Packet, left: usize) -> bool {
    let mut now = BTreeSet::from([packet.clone()]);
    for _ in 0..=left {
        if !now.iter().all(even) {
            return false;
        }
        now = rounds(&now);
    }
    true
}

/// By round, from 1: the packets after it.
fn after_rounds() -> Vec<BTreeSet<Packet>> {
    let mut now = BTreeSet::from([vec![false; CARDS]]);
    (0..ROUNDS)
        .map(|_| {
            now = rounds(&now);
            now.clone()
        })
        .collect()
}

#[test]
fn turning_any_even_block_over_is_safe_and_a_block_of_three_is_not() {
    for mends in ["", THREE_BACK] {
        let mut wanted: BTreeMap<usize, BTreeSet<What>> = BTreeMap::new();
        for (round, packets) in after_rounds().iter().enumerate() {
            let left = ROUNDS - 1 - round;
            for count in 2..CARDS {
                let tables: Vec<Packet> = packets.iter().map(|p| turned(p, count)).collect();
                let three = |packet: &Packet| turned(packet, 3);
                let all: [&dyn Fn(&Packet) -> Packet; 1] = [&three];
                let some = if mends.is_empty() {
                    &all[..0]
                } else {
                    &all[..]
                };
                let best = fewest(&tables, some, &|packet| well(packet, left));
                wanted.entry(count).or_default().insert(best);
            }
        }
        assert_eq!(wanted[&2], BTreeSet::from([What::Safe]));
        assert_eq!(wanted[&4], BTreeSet::from([What::Safe]));
        assert!(!wanted[&3].contains(&What::Safe));
        let table = Table::of(&TURNS.replace("MENDS", mends));
        assert_eq!(table.by_choice("turn", "turns-a-block"), wanted, "{mends}");
    }
}

#[test]
fn two_turned_over_each_in_its_place_are_safe_exactly_when_they_face_the_same_way() {
    let each = |packet: &Packet, places: [usize; 2]| {
        let mut packet = packet.clone();
        for at in places {
            packet[at - 1] = !packet[at - 1];
        }
        packet
    };
    for (round, packets) in after_rounds().iter().enumerate() {
        for packet in packets {
            let safe = well(&each(packet, [1, 2]), ROUNDS - 1 - round);
            assert_eq!(safe, packet[0] == packet[1], "{packet:?}");
        }
    }
    // What the performer sees tells the one from the other.
    let table = Table::of(&TURNS.replace("MENDS", ""));
    let parts = &table.row("turn", "each-in-place").parts;
    assert_eq!(parts.len(), 2);
    assert_eq!(parts[0].verdict, Verdict::Safe);
    assert!(matches!(parts[1].verdict, Verdict::Lost { .. }));
    // Table by table, and any two neighbours.
    let mut rescuer = Rescuer::new(&table.ground, true, &LIMITS);
    let mut met = BTreeSet::new();
    for (world, left) in worlds(&table.ground) {
        let packet: Packet = world
            .table
            .pile(PileId(0))
            .iter()
            .map(|laid| laid.face_up())
            .collect();
        for at in 1..CARDS {
            let places = [at, at + 1];
            let deed = Deed::Move(Move::TurnEach {
                pile: PileId(0),
                places: places.map(|at| Place(u16::try_from(at).unwrap())).to_vec(),
            });
            let wanted = well(&each(&packet, places), left);
            assert_eq!(wanted, packet[at - 1] == packet[at]);
            let found = rescuer.mends_it(std::slice::from_ref(&world), &[deed]);
            assert_eq!(found, wanted, "{packet:?}, {places:?}");
            met.insert(wanted);
        }
    }
    assert_eq!(met.len(), 2);
}

/// Worlds after the turning, each with the rounds that may come; of all roads.
fn worlds(ground: &Ground) -> Vec<(World, usize)> {
    let routine = ground.routine();
    let turn = routine.find_step("turn").unwrap();
    let mut found = Vec::new();
    let mut open = vec![(unknown_start(routine), 0)];
    while let Some((world, done)) = open.pop() {
        if routine.stop(world.at).is_none() {
            continue;
        }
        let choices = match domain(routine, &world).unwrap() {
            None => vec![None],
            Some(open) => open.branches().map(Some).collect(),
        };
        for choice in choices {
            let after = take(routine, &world, choice.as_ref()).unwrap().world;
            let turned = done + usize::from(world.at == turn);
            if world.at == turn {
                found.push((after.clone(), ROUNDS - turned));
            }
            open.push((after, turned));
        }
    }
    found
}
