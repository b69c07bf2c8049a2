//! Tests of what is known, against listing every road.

use super::{Knowledge, Known, Watch};
use crate::cards::TraitId;
use crate::roads::fixtures::{PACKET, cut_and_turn, deal_and_riffle, stop};
use crate::roads::{Road, Sighted, domain, sample, take, unknown_start};
use crate::routine::{Act, ClaimKind, Expr, Fault, Routine, Scene, Sight, SightKind, World};
use crate::table::Place;
use proptest::prelude::*;
use std::collections::BTreeSet;

/// Every table after the road's steps with just these sightings: all branches tried, nothing merged.
fn fitting(routine: &Routine, road: &Road) -> BTreeSet<World> {
    let mut edge: Vec<(World, Vec<Sighted>)> = vec![(unknown_start(routine), Vec::new())];
    let wanted: Vec<Sighted> = road.walked.iter().flat_map(|w| w.sights.clone()).collect();
    for _ in &road.walked {
        let mut next = Vec::new();
        for (world, seen) in edge {
            let choices: Vec<_> = match domain(routine, &world).unwrap() {
                None => vec![None],
                Some(open) => open.branches().map(Some).collect(),
            };
            for choice in choices {
                let taken = take(routine, &world, choice.as_ref()).unwrap();
                let mut seen = seen.clone();
                seen.extend(taken.sights);
                if wanted.starts_with(&seen) {
                    next.push((taken.world, seen));
                }
            }
        }
        edge = next;
    }
    edge.into_iter().map(|(world, _)| world).collect()
}

fn knowledge(routine: &Routine, road: &Road, budget: usize) -> Knowledge {
    let mut knowledge = Knowledge::at_start(routine, budget);
    for walked in &road.walked {
        knowledge.follow(routine, walked);
    }
    knowledge
}

fn class_at(
    place: u16,
    class: TraitId,
) -> impl Fn(Scene<'_>) -> Result<Option<crate::cards::Class>, Fault> {
    move |scene| {
        let laid = scene
            .world
            .table
            .at(PACKET, Place(place))
            .ok_or_else(|| Fault::Value(String::new()))?;
        Ok(scene.routine.pack.class(laid.card(), class))
    }
}

/// Whether the two cards from this place on are of different colours.
fn differ(place: u16) -> impl Fn(Scene<'_>) -> Result<bool, Fault> {
    move |scene| {
        Ok(
            class_at(place, TraitId::COLOUR)(scene)?
                != class_at(place + 1, TraitId::COLOUR)(scene)?,
        )
    }
}

proptest! {
    #[test]
    fn the_tables_that_fit_are_those_of_all_roads_with_the_same_sightings(seed: u64) {
        for routine in [deal_and_riffle("AC 2H 3C 4H 5C 6H"), deal_and_riffle("AC 2H 3C 4H 5C 6H 7C 8H")] {
            let road = sample(&routine, seed).unwrap();
            let found: BTreeSet<World> = knowledge(&routine, &road, 10_000).worlds().unwrap().iter().cloned().collect();
            prop_assert_eq!(found, fitting(&routine, &road));
        }
    }

    #[test]
    fn a_watch_on_colours_knows_just_what_the_exact_listing_knows_of_colours(seed: u64) {
        let routine = deal_and_riffle("AC 2H 3C 4H 5C 6H 7C 8H");
        let road = sample(&routine, seed).unwrap();
        let exact = knowledge(&routine, &road, 100_000);
        prop_assert!(exact.worlds().is_some());
        let coarse = knowledge(&routine, &road, 17);
        let watch = Watch::Trait(TraitId::COLOUR);
        if coarse.worlds().is_none() && coarse.worlds_for(watch).is_some() {
            for place in 1..=8 {
                let what = class_at(place, TraitId::COLOUR);
                prop_assert_eq!(coarse.known(&routine, watch, &what), exact.known(&routine, watch, &what));
            }
            for place in 1..8 {
                prop_assert_eq!(coarse.known(&routine, watch, differ(place)), exact.known(&routine, watch, differ(place)));
            }
        }
    }
}

#[test]
fn after_a_free_riffle_of_an_alternating_packet_only_the_pairs_are_known() {
    // Diaconis & Graham, Magical Mathematics (2012), ch. 5: each pair holds one of each colour; nothing else is known.
    let routine = deal_and_riffle(
        "AC 2H 3C 4H 5C 6H 7C 8H 9C 10H JC QH KC AH 2C 3H 4C 5H 6C 7H 8C 9H 10C JH",
    );
    let mut seed = 0;
    let road = loop {
        let road = sample(&routine, seed).unwrap();
        if road.walked[1].before.table.size(PACKET).abs_diff(12) < 2 {
            break road;
        }
        seed += 1;
    };
    let known = knowledge(&routine, &road, 20_000);
    assert!(
        known.worlds().is_none(),
        "2.7 million interleavings are not listed card by card"
    );
    let watch = Watch::Trait(TraitId::COLOUR);
    for place in 1..=24 {
        assert_eq!(
            known.known(&routine, watch, class_at(place, TraitId::COLOUR)),
            Known::Differs
        );
    }
    for place in (1..24).step_by(2) {
        assert_eq!(
            known.known(&routine, watch, differ(place)),
            Known::Same(true)
        );
    }
    assert_eq!(known.known(&routine, watch, differ(2)), Known::Differs);
    assert_eq!(
        known.known(&routine, Watch::Sizes, |s| Ok(s.world.table.size(PACKET))),
        Known::Same(24)
    );
    assert_eq!(
        known.known(&routine, Watch::Cards, |s| Ok(s
            .world
            .table
            .at(PACKET, Place(1)))),
        Known::TooMany
    );
}

#[test]
fn how_many_face_up_at_even_places_is_not_known_by_number_after_cuts_but_its_balance_is() {
    let routine = cut_and_turn("AC 2H 3C 4H 5C 6H");
    for seed in 0..20 {
        let road = sample(&routine, seed).unwrap();
        let known = knowledge(&routine, &road, 50_000);
        let up_at = |s: Scene<'_>, odd: usize| {
            s.world
                .table
                .pile(PACKET)
                .iter()
                .skip(odd)
                .step_by(2)
                .filter(|l| l.face_up())
                .count()
        };
        // B. Hummer 1946; Diaconis & Graham, ch. 1: as many face up at even places as at odd.
        assert_eq!(
            known.known(&routine, Watch::Sizes, |s| Ok(up_at(s, 0) == up_at(s, 1))),
            Known::Same(true)
        );
    }
}

#[test]
fn a_cut_that_nobody_saw_and_nothing_reads_is_forgotten_and_no_table_is_lost() {
    let routine = cut_and_turn("AC 2H 3C 4H");
    let mut tried = 0;
    for seed in 0..40 {
        let road = sample(&routine, seed).unwrap();
        if road.walked.len() > 8 {
            continue;
        }
        tried += 1;
        let known = knowledge(&routine, &road, 10_000);
        let tables = |worlds: &mut dyn Iterator<Item = World>| {
            worlds.map(|world| world.table).collect::<BTreeSet<_>>()
        };
        let found = known.worlds().unwrap();
        let wanted = tables(&mut fitting(&routine, &road).into_iter());
        assert_eq!(tables(&mut found.iter().cloned()), wanted);
        assert_eq!(found.len(), wanted.len(), "each table is listed once");
    }
    assert!(tried > 10);
}

/// Deal off any number in sight, riffle unseen, then fixed moves, with a glimpse of the top card or of a colour further down.
fn riffle_and_glimpse(cards: &str, glimpse: usize) -> Routine {
    let mut routine = deal_and_riffle(cards);
    let acts = vec![
        Act::Reverse(PACKET),
        Act::Cut {
            pile: PACKET,
            at: Expr::number(3),
        },
    ];
    let at = stop(&mut routine, "turn", None, acts);
    let sight = |kind| Sight { kind, line: 1 };
    let card = SightKind::Card {
        pile: PACKET,
        at: Expr::number(1),
    };
    let colour = SightKind::Trait {
        pile: PACKET,
        at: Expr::number(4),
        class: TraitId::COLOUR,
    };
    routine.stops[at.index()].sights = match glimpse {
        0 => Vec::new(),
        1 => vec![sight(card)],
        2 => vec![sight(colour)],
        _ => vec![sight(card), sight(colour)],
    };
    routine
}

/// What a card's face says of a place, asked as questions ask.
fn print_at(place: u16) -> impl Fn(Scene<'_>) -> Result<crate::cards::Card, Fault> {
    move |scene| scene.print(scene.laid(PACKET, i64::from(place))?.card())
}

fn colour_at(place: u16) -> impl Fn(Scene<'_>) -> Result<Option<crate::cards::Class>, Fault> {
    move |scene| {
        scene.class(
            scene.laid(PACKET, i64::from(place))?.card(),
            TraitId::COLOUR,
        )
    }
}

proptest! {
    #[test]
    fn what_is_known_with_shuffles_followed_is_what_the_listing_knows(seed: u64, glimpse in 0_usize..4) {
        let routine = riffle_and_glimpse("AC 2H 3C 4H 5C 6H 7C 8H", glimpse);
        let road = sample(&routine, seed).unwrap();
        let exact = knowledge(&routine, &road, 100_000);
        // So few tables that nothing is listed, once more than so many fit.
        let followed = knowledge(&routine, &road, 3);
        for watch in [Watch::Cards, Watch::Trait(TraitId::COLOUR)] {
            for place in 1..=8 {
                let (a, b) = (followed.known(&routine, watch, colour_at(place)), exact.known(&routine, watch, colour_at(place)));
                prop_assert_eq!(&a, &b, "colour at {} by {:?}", place, watch);
                if watch == Watch::Cards {
                    let (a, b) = (followed.known(&routine, watch, print_at(place)), exact.known(&routine, watch, print_at(place)));
                    prop_assert_eq!(a, b, "card at {}", place);
                }
            }
            for of in [2, 4, 8] {
                let claim = ClaimKind::Blocks { pile: PACKET, of, class: TraitId::COLOUR };
                prop_assert_eq!(followed.holds(&routine, watch, &claim), exact.holds(&routine, watch, &claim));
                let claim = ClaimKind::Mirror { pile: PACKET, class: Some(TraitId::COLOUR) };
                prop_assert_eq!(followed.holds(&routine, watch, &claim), exact.holds(&routine, watch, &claim));
            }
        }
        // Whoever reads card numbers off the table, where nothing is listed, is told nothing wrong.
        if followed.worlds_for(Watch::Cards).is_none() {
            let raw = followed.known(&routine, Watch::Cards, |s| Ok(s.world.table.at(PACKET, Place(1))));
            let listed = exact.known(&routine, Watch::Cards, |s| Ok(s.world.table.at(PACKET, Place(1))));
            prop_assert!(raw == Known::TooMany || raw == listed, "{:?} is not {:?}", raw, listed);
        }
    }
}

#[test]
fn after_a_free_riffle_of_a_whole_deck_the_pairs_are_known_without_a_table_listed() {
    // Diaconis & Graham, Magical Mathematics (2012), ch. 5.
    let values = [
        "A", "2", "3", "4", "5", "6", "7", "8", "9", "10", "J", "Q", "K",
    ];
    let cards: Vec<String> = (0..52)
        .map(|n| format!("{}{}", values[n / 4], ["C", "H", "S", "D"][n % 4]))
        .collect();
    let routine = deal_and_riffle(&cards.join(" "));
    let mut seed = 0;
    let road = loop {
        let road = sample(&routine, seed).unwrap();
        if road.walked[1].before.table.size(PACKET).abs_diff(26) < 4 {
            break road;
        }
        seed += 1;
    };
    let known = knowledge(&routine, &road, 20_000);
    let watch = Watch::Trait(TraitId::COLOUR);
    assert!(
        known.worlds_for(watch).is_none(),
        "2^26 patterns of colours are not listed"
    );
    for place in 1..=52 {
        assert_eq!(
            known.known(&routine, watch, colour_at(place)),
            Known::Differs
        );
        assert_eq!(
            known.known(&routine, Watch::Cards, print_at(place)),
            Known::Differs
        );
    }
    let pair =
        |place: u16| move |s: Scene<'_>| Ok(colour_at(place)(s)? != colour_at(place + 1)(s)?);
    for place in (1..52).step_by(2) {
        assert_eq!(known.known(&routine, watch, pair(place)), Known::Same(true));
    }
    assert_eq!(known.known(&routine, watch, pair(2)), Known::Differs);
    let blocks = |of, class| ClaimKind::Blocks {
        pile: PACKET,
        of,
        class,
    };
    assert_eq!(
        known.holds(&routine, watch, &blocks(2, TraitId::COLOUR)),
        Known::Same(true)
    );
    assert_eq!(
        known.holds(&routine, watch, &blocks(4, TraitId::COLOUR)),
        Known::Same(false)
    );
    // The suits come in fours too.
    assert_eq!(
        known.holds(&routine, Watch::Cards, &blocks(4, TraitId::SUIT)),
        Known::Same(true)
    );
}
