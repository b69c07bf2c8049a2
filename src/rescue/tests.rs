use super::*;
use crate::proof::Limits;
use crate::routine::{KnownStray, Routine, Stray, Value, load};
use num_rational::BigRational;
use std::collections::BTreeSet;

/// An alternating packet of eight, some dealt off and riffled back in: pairs. One mend moves the top card to the bottom.
const PAIRS: &str = r#"
allroads: 1
title: Pairs
cards: {packet: {list: "4H 9S KD 2C 8D JS 3H 6C"}}
piles: [dealt]
steps:
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
    do: [{cut: {pile: packet, at: 1}}]
"#;

fn routine(text: &str) -> Routine {
    load(text, "routine.yaml", 0).unwrap_or_else(|troubles| {
        let told: String = troubles.iter().map(ToString::to_string).collect();
        panic!("{told}")
    })
}

fn table(ground: &Ground) -> Vec<Row> {
    let limits = Limits {
        bytes: 1 << 30,
        stop: &|| false,
        progress: &|_| (),
    };
    rows(ground, Wanted::default(), &limits)
}

/// The row of a stray at a step.
fn row<'t>(ground: &Ground, rows: &'t [Row], step: &str, stray: KnownStray) -> &'t Row {
    rows.iter()
        .find(|row| {
            let case = &ground.cases()[row.case];
            let stop = ground.routine().stop(case.stop).unwrap();
            &*stop.id.0 == step && case.stray == Stray::Known(stray)
        })
        .unwrap()
}

fn numbers(choices: &BTreeSet<Value>) -> Vec<i64> {
    choices
        .iter()
        .map(|value| value.as_int().unwrap())
        .collect()
}

#[test]
fn after_the_riffle_an_even_cut_is_safe_and_an_odd_one_is_mended_by_one_card_more() {
    let ground = Ground::new(&routine(PAIRS));
    let rows = table(&ground);
    let seen = row(&ground, &rows, "push", KnownStray::CutsAgain);
    assert_eq!(seen.extent, Extent::All);
    assert_eq!(seen.parts.len(), 2);
    assert_eq!(seen.parts[0].verdict, Verdict::Safe);
    assert_eq!(numbers(&seen.parts[0].choices), [2, 4, 6]);
    let one_under = Plan::Mend(0, Box::new(Plan::Done));
    assert_eq!(seen.parts[1].verdict, Verdict::Mend(one_under));
    assert_eq!(numbers(&seen.parts[1].choices), [1, 3, 5, 7]);
    let share = BigRational::new(3.into(), 7.into());
    assert_eq!(seen.parts[0].share, Some(share));
    let unseen = row(&ground, &rows, "push", KnownStray::CutsUnseen);
    assert_eq!(unseen.parts.len(), 1);
    assert!(matches!(
        unseen.parts[0].verdict,
        Verdict::Lost { chance: Some(_) }
    ));
}

#[test]
fn the_performers_own_moves_count_where_they_work_on_every_table_and_luck_does_not() {
    let ground = Ground::new(&routine(PAIRS));
    let limits = Limits {
        bytes: 1 << 30,
        stop: &|| false,
        progress: &|_| (),
    };
    let mut rescuer = Rescuer::new(&ground, true, &limits);
    let case = ground
        .cases()
        .iter()
        .find(|case| case.stray == Stray::Known(KnownStray::CutsAgain) && case.stop.0 == 1)
        .unwrap();
    // A packet that one card more at the bottom does harm: its colours do not simply alternate.
    let pairs = routine(PAIRS);
    let red =
        |laid: &crate::table::Laid| pairs.pack.class(laid.card(), crate::cards::TraitId::COLOUR);
    let after = (0..)
        .map(|seed| {
            crate::roads::sample(&pairs, seed).unwrap().walked[1]
                .after
                .clone()
        })
        .find(|world| {
            let packet = world.table.pile(crate::table::PileId(0));
            (1..7)
                .step_by(2)
                .any(|n| red(&packet[n]) == red(&packet[n + 1]))
        })
        .unwrap();
    let cut = |n: i64| {
        rescuer
            .happen(case, after.clone(), |_| Value::Int(n))
            .unwrap()
    };
    let (one, two) = (cut(1), cut(2));
    assert_eq!(one.sights.len(), 1);
    let packet = crate::table::PileId(0);
    let mv = |at| Deed::Move(crate::handling::Move::Cut { pile: packet, at });
    let worlds = std::slice::from_ref(&one.world);
    assert!(rescuer.mends_it(worlds, &[Deed::Mend(0)]));
    assert!(rescuer.mends_it(worlds, &[mv(3)]));
    assert!(rescuer.mends_it(worlds, &[mv(2), Deed::Mend(0)]));
    assert!(!rescuer.mends_it(worlds, &[Deed::Mend(0), Deed::Mend(0)]));
    assert!(!rescuer.mends_it(worlds, &[mv(9)]), "it cannot be done");
    assert!(rescuer.mends_it(std::slice::from_ref(&two.world), &[]));
    assert!(!rescuer.mends_it(&[one.world, two.world], &[mv(1)]));
}
