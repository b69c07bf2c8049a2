use super::*;
use crate::proof::Limits;
use crate::routine::{KnownStray, Routine, Stray, Value, load};

/// An alternating packet of eight, some dealt off and riffled back in: pairs. One mend moves the top card to the bottom.
const PAIRS: &str = include_str!("../../tests/fixtures/train.yaml");

fn routine(text: &str) -> Routine {
    load(text, "routine.yaml", 0).unwrap_or_else(|troubles| {
        let told: String = troubles.iter().map(ToString::to_string).collect();
        panic!("{told}")
    })
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
