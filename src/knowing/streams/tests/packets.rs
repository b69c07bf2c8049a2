//! Packets with a known answer, induction, and when a question ends.

use super::*;

/// A packet whose cards' looks repeat in this pattern, in which equal looks are one card; nothing is dealt off yet.
fn periodic(pattern: &[&str], n: u16) -> (Routine, World) {
    let codes: Vec<&str> = (0..usize::from(n))
        .map(|at| pattern[at % pattern.len()])
        .collect();
    let routine = packet(&codes.join(" "));
    let mut world = unknown_start(&routine);
    for laid in world.table.pile_mut(PACKET) {
        *laid = Laid::new(Card(laid.card().0 % pattern.len() as u16), false);
    }
    (routine, world)
}

/// Deals off each number of cards in turn and asks of the free riffle of the two parts whether the claim can fail, and
/// in how many ways it holds.
fn after_any_deal(
    routine: &Routine,
    world: &World,
    claim: &ClaimKind,
    then: &[Move],
) -> (Streams, Vec<bool>, BigUint) {
    let mut streams = Streams::default();
    let mut fails = Vec::new();
    let mut holding = BigUint::default();
    for count in 0..=world.table.size(PACKET) as u16 {
        let mut before = world.clone();
        do_all(
            &[Move::Deal {
                from: PACKET,
                to: vec![DEALT],
                count,
                up: None,
            }],
            &mut before,
        )
        .unwrap();
        let riffle = Move::Riffle {
            left: DEALT,
            right: PACKET,
            to: PACKET,
        };
        let free = program(&riffle, &before.table).unwrap();
        let followed = streams.follow(routine, &free, &before).unwrap();
        let mut after = followed.world.clone();
        do_all(then, &mut after).unwrap();
        let claimed = Claimed {
            routine,
            world: &after,
            turned: None,
            claim,
        };
        let monitor = streams
            .monitor(followed.start, &followed.tokens, claimed)
            .unwrap();
        fails.push(
            streams
                .can_end(followed.start, monitor, false, &mut on)
                .unwrap(),
        );
        holding += streams
            .count(followed.start, monitor, true, &mut on)
            .unwrap();
    }
    (streams, fails, holding)
}

#[test]
fn a_periodic_packet_keeps_one_of_each_in_every_block_whatever_is_dealt_and_however_it_is_riffled()
{
    // N. Gilbreath 1958, 1966; Diaconis & Graham, Magical Mathematics (2012), ch. 5: blocks of k for any period k. There are 2^n
    // roads: over all deals, every way to pick which of the n cards come from the dealt part.
    let suits = ["AC", "AH", "AS", "AD"];
    let values = [
        "AC", "2C", "3C", "4C", "5C", "6C", "7C", "8C", "9C", "10C", "JC", "QC", "KC",
    ];
    let cases: [(&[&str], TraitId, u16); 5] = [
        (&["AC", "AH"], TraitId::COLOUR, 52),
        (&["AC", "AH"], TraitId::COLOUR, 104),
        (&["AC", "AH"], TraitId::COLOUR, 200),
        (&suits, TraitId::SUIT, 52),
        (&values, TraitId::VALUE, 52),
    ];
    for (pattern, class, n) in cases {
        let (routine, world) = periodic(pattern, n);
        let claim = ClaimKind::Blocks {
            pile: PACKET,
            of: pattern.len() as u16,
            class,
        };
        let (streams, fails, holding) = after_any_deal(&routine, &world, &claim, &[]);
        assert!(
            !fails.contains(&true),
            "{n} cards, period {}",
            pattern.len()
        );
        assert_eq!(holding, BigUint::from(1_u8) << n);
        if pattern.len() == 2 {
            // What is left of two alternating packets: fewer than one state for each pair of sizes.
            let pairs = usize::from(n + 1) * usize::from(n + 2) / 2;
            assert!(streams.states() <= pairs, "{} states", streams.states());
            assert!(
                streams.visited() <= 4 * pairs as u64,
                "{} pairs",
                streams.visited()
            );
        }
    }
}

#[test]
fn two_cards_swapped_break_the_pairs_and_the_first_road_that_shows_it_is_found() {
    let (routine, mut world) = periodic(&["AC", "AH"], 52);
    world.table.pile_mut(PACKET).swap(20, 21);
    let claim = ClaimKind::Blocks {
        pile: PACKET,
        of: 2,
        class: TraitId::COLOUR,
    };
    let (_, fails, holding) = after_any_deal(&routine, &world, &claim, &[]);
    // Nothing dealt off and nothing mixed, the pairs are as they were: each still holds one of each.
    assert!(!fails[0] && fails[20]);
    assert!(holding < BigUint::from(1_u8) << 52);
}

#[test]
fn pairs_half_a_packet_apart_are_followed_too() {
    // After an out-faro, cards that lay half the packet apart lie side by side.
    for n in [8_u16, 24] {
        let (routine, world) = periodic(&["AC", "AH"], n);
        let claim = ClaimKind::Blocks {
            pile: PACKET,
            of: 2,
            class: TraitId::COLOUR,
        };
        let then = [Move::Faro(PACKET, Weave::Out)];
        let (streams, fails, _) = after_any_deal(&routine, &world, &claim, &then);
        assert!(fails[1]);
        assert!(
            streams.visited() < 40_000,
            "{} pairs of states",
            streams.visited()
        );
    }
}

/// Every table of so many cards with these looks.
fn all_tables(looks: &[Laid], n: usize) -> Vec<Vec<Laid>> {
    (0..n).fold(vec![Vec::new()], |tables, _| {
        tables
            .iter()
            .flat_map(|table: &Vec<Laid>| {
                looks
                    .iter()
                    .map(move |look| [table.as_slice(), &[*look]].concat())
            })
            .collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn induction_agrees_with_trying_every_table(
        n in 1_usize..6, round in prop::collection::vec(a_move(), 1..4), given in a_claim(), then in a_claim()
    ) {
        let routine = named();
        let looks: Vec<Laid> = [0, 3].iter().flat_map(|card| [false, true].map(|up| Laid::new(Card(*card), up))).collect();
        let mut world = unknown_start(&routine);
        world.table = Table::empty(2);
        world.table.pile_mut(PACKET).extend((0..n).map(|_| looks[0]));
        world.memory[0] = Some(Value::Card(Card(8)));
        let as_was = {
            let mut table = Table::empty(2);
            table.pile_mut(PACKET).extend((0..n).map(|at| looks[at % 4]));
            table
        };
        let (given, then) = (with_start(&given, &as_was), with_start(&then, &as_was));
        let (down, up, tokens) = all_tokens(&routine, &world).unwrap();
        let (mut down_after, mut up_after) = (down.clone(), up.clone());
        prop_assume!(do_all(&round, &mut down_after).is_some());
        do_all(&round, &mut up_after).unwrap();
        let mut streams = Streams::default();
        let start = streams.any_of(&looks, tokens.count);
        let before = Claimed { routine: &routine, world: &down, turned: Some(&up), claim: &given };
        let after = Claimed { routine: &routine, world: &down_after, turned: Some(&up_after), claim: &then };
        let Some(preserved) = streams.preserved(start, &tokens, &[before], after, &mut on).unwrap() else {
            return Ok(());
        };
        let mut expected = true;
        for table in all_tables(&looks, n) {
            let mut world = world.clone();
            world.table.pile_mut(PACKET).clear();
            world.table.pile_mut(PACKET).extend(table);
            let holds = |claim: &ClaimKind, world: &World| claim.holds(Scene { routine: &routine, world });
            if holds(&given, &world).unwrap() {
                do_all(&round, &mut world).unwrap();
                expected &= holds(&then, &world).unwrap();
            }
        }
        prop_assert_eq!(preserved, expected);
    }

    #[test]
    fn any_order_of_some_cards_agrees_with_trying_every_order(
        cards in prop::collection::vec((0_u16..3, any::<bool>()), 1..6), claim in a_claim()
    ) {
        let routine = named();
        let looks: Vec<Laid> = cards.iter().map(|(card, up)| Laid::new(Card(*card), *up)).collect();
        let mut world = unknown_start(&routine);
        world.table = Table::empty(2);
        world.table.pile_mut(PACKET).extend(&looks);
        world.memory[0] = Some(Value::Card(Card(8)));
        let claim = with_start(&claim, &world.table);
        let (down, up, tokens) = all_tokens(&routine, &world).unwrap();
        let mut streams = Streams::default();
        let start = streams.any_order(&looks).unwrap();
        let claimed = Claimed { routine: &routine, world: &down, turned: Some(&up), claim: &claim };
        let Some(monitor) = streams.monitor(start, &tokens, claimed) else {
            return Ok(());
        };
        let mut tables = all_tables(&looks, looks.len());
        let sorted = |table: &[Laid]| {
            let mut table = table.to_vec();
            table.sort_unstable();
            table
        };
        tables.retain(|table| sorted(table) == sorted(&looks));
        tables.sort_unstable();
        tables.dedup();
        let mut holding = 0_usize;
        for table in &tables {
            let mut world = world.clone();
            world.table.pile_mut(PACKET).clear();
            world.table.pile_mut(PACKET).extend(table);
            holding += usize::from(claim.holds(Scene { routine: &routine, world: &world }).unwrap());
        }
        prop_assert_eq!(streams.total(start), BigUint::from(tables.len()));
        prop_assert_eq!(streams.count(start, monitor, true, &mut on).unwrap(), BigUint::from(holding));
        prop_assert_eq!(streams.can_end(start, monitor, false, &mut on).unwrap(), holding < tables.len());
    }
}

#[test]
fn cut_anywhere_and_turn_two_keeps_as_many_face_up_at_odd_places_as_at_even() {
    // B. Hummer 1946; Diaconis & Graham, Magical Mathematics (2012), ch. 1.
    for (n, turned, keeps) in [
        (10_u16, 2, true),
        (52, 2, true),
        (200, 2, true),
        (10, 3, false),
        (52, 1, false),
    ] {
        let (routine, world) = periodic(&["AC"], n);
        let text = "showing_odd(packet) == showing_even(packet)";
        let claim = ClaimKind::Expr(Expr::compile(text, &routine).unwrap());
        let (down, up, tokens) = all_tokens(&routine, &world).unwrap();
        let mut streams = Streams::default();
        let looks = [false, true].map(|up| Laid::new(Card(0), up));
        let start = streams.any_of(&looks, n);
        for at in 0..n {
            let round = [
                Move::Cut { pile: PACKET, at },
                Move::Turn {
                    pile: PACKET,
                    count: turned,
                },
            ];
            let (mut down_after, mut up_after) = (down.clone(), up.clone());
            do_all(&round, &mut down_after).unwrap();
            do_all(&round, &mut up_after).unwrap();
            let before = Claimed {
                routine: &routine,
                world: &down,
                turned: Some(&up),
                claim: &claim,
            };
            let after = Claimed {
                world: &down_after,
                turned: Some(&up_after),
                ..before
            };
            let preserved = streams
                .preserved(start, &tokens, &[before], after, &mut on)
                .unwrap();
            assert_eq!(preserved, Some(keeps), "{n} cards cut at {at}");
        }
        // Cuts at odd numbers are one question, and cuts at even numbers another.
        assert!(streams.visited() <= 2 * u64::from(n) * (2 * u64::from(n) + 1));
    }
}

#[test]
fn a_question_ends_when_it_is_told_to_stop() {
    let (routine, world) = periodic(&["AC", "AH"], 104);
    let mut streams = Streams::default();
    let free = program(&Move::Overhand(PACKET), &world.table).unwrap();
    let followed = streams.follow(&routine, &free, &world).unwrap();
    let claim = ClaimKind::Blocks {
        pile: PACKET,
        of: 13,
        class: TraitId::COLOUR,
    };
    let claim = ClaimKind::Or(vec![
        claim,
        ClaimKind::Count {
            piles: vec![PACKET],
            wanted: Some(Wanted::Is(TraitId::COLOUR, Class(0))),
            up: None,
            places: 1,
            is: Expr::number(26),
        },
    ]);
    let claimed = Claimed {
        routine: &routine,
        world: &followed.world,
        turned: None,
        claim: &claim,
    };
    let monitor = streams
        .monitor(followed.start, &followed.tokens, claimed)
        .unwrap();
    let stopped = streams.count(followed.start, monitor, true, &mut |visited| {
        visited > 2_000
    });
    assert_eq!(stopped, Err(Halt::Stopped));
    // What was found out stays, and the question can be asked again.
    assert!(
        streams
            .count(followed.start, monitor, true, &mut on)
            .unwrap()
            > BigUint::default()
    );
}

#[test]
fn a_step_is_taken_with_tokens_only_where_it_does_not_ask_which_card_a_card_is() {
    use crate::roads::fixtures::{fork, stop};
    use crate::routine::{Act, Expr, ForkKind, Reckoning, Seen};
    let cut = |text: &str, routine: &Routine| Act::Cut {
        pile: PACKET,
        at: Expr::compile(text, routine).unwrap(),
    };
    let plain = [
        "size(packet) / 2",
        "value(card(packet, 1))",
        // What is printed on it is asked for, and that is a fault until it is fixed.
        "card(packet, 1) == card(\"AS\") ? 1 : 2",
        "up(packet, 1) ? 1 : 2",
    ];
    let not_plain = [
        "place(card(\"AS\"))",
        "card(packet, 1) == theirs ? 1 : 2",
        "card(packet, 1) == card(packet, 2) ? 1 : 2",
        "theirs in [card(packet, 1), card(packet, 2)] ? 1 : 2",
        "value(mate(card(packet, 1)))",
    ];
    for (texts, expected) in [(&plain[..], true), (&not_plain[..], false)] {
        for text in texts {
            let mut routine = named();
            let theirs = routine.find_name("theirs").unwrap();
            let kind = ForkKind::Card(DEALT);
            stop(
                &mut routine,
                "choose",
                fork(theirs, kind, Seen::Nothing),
                Vec::new(),
            );
            let acts = vec![cut(text, &routine)];
            let at = stop(&mut routine, "cut", None, acts);
            let world = World {
                at,
                ..unknown_start(&routine)
            };
            assert_eq!(
                step_is_plain_with_tokens(&routine, &world),
                expected,
                "{text}"
            );
        }
    }
    // A value worked out at the step itself may be a card, too.
    let mut routine = named();
    let top = crate::roads::fixtures::name(&mut routine, "top");
    let at = stop(&mut routine, "look", None, vec![]);
    let is = Expr::compile("card(packet, 1)", &routine).unwrap();
    routine.stops[at.index()].reckonings.push(Reckoning {
        name: top,
        is,
        asks: None,
    });
    let acts = vec![cut("top == top ? 1 : 2", &routine)];
    routine.stops[at.index()].acts = acts;
    let world = World {
        at,
        ..unknown_start(&routine)
    };
    assert!(!step_is_plain_with_tokens(&routine, &world));
    // Nor may a card be chosen from tokens.
    let mut routine = named();
    let theirs = routine.find_name("theirs").unwrap();
    let at = stop(
        &mut routine,
        "choose",
        fork(theirs, ForkKind::Card(PACKET), Seen::All),
        Vec::new(),
    );
    let world = World {
        at,
        ..unknown_start(&routine)
    };
    assert!(step_is_plain_with_tokens(&routine, &world));
    let (down, _, _) = all_tokens(&routine, &world).unwrap();
    assert!(!step_is_plain_with_tokens(&routine, &down));
}
