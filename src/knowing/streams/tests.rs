//! Shuffles followed a card at a time, against every one of their outcomes listed.

mod packets;

use super::*;
use crate::cards::{Class, TraitId};
use crate::handling::{
    ByChunks, ByWeave, End, Forced, Halves, Kept, Move, Over, Weave, all_chunks, all_weaves,
    program, run,
};
use crate::roads::fixtures::{DEALT, PACKET, packet};
use crate::roads::unknown_start;
use crate::routine::{Expr, Scene, Value, Wanted};
use crate::table::{PileId, Place, Table};
use proptest::prelude::*;
use proptest::strategy::ValueTree;

/// Never stops.
fn on(_: u64) -> bool {
    false
}

/// What is made up for one case: the cards, how many are dealt off, the shuffle, the moves after it.
#[derive(Debug, Clone)]
struct Case {
    cards: Vec<usize>,
    dealt: u16,
    overhand: bool,
    moves: Vec<Move>,
    claim: ClaimKind,
}

/// Cards with mates, values, colours and suits in common.
const CARDS: [&str; 10] = ["AC", "AS", "AH", "2D", "2H", "3C", "3S", "KD", "KH", "10C"];

fn a_move() -> impl Strategy<Value = Move> {
    let n = 0_u16..8;
    let place = (1_u16..8).prop_map(Place);
    prop_oneof![
        n.clone().prop_map(|at| Move::Cut { pile: PACKET, at }),
        (n.clone(), any::<bool>()).prop_map(|(count, kept)| Move::Block {
            from: PACKET,
            take: End::Top,
            count,
            to: DEALT,
            put: End::Bottom,
            order: if kept { Kept::Kept } else { Kept::Reversed },
        }),
        (n.clone(), prop::option::of(any::<bool>())).prop_map(|(count, up)| Move::Deal {
            from: PACKET,
            to: vec![DEALT],
            count,
            up
        }),
        any::<bool>().prop_map(|first| Move::Gather {
            piles: if first {
                vec![PACKET, DEALT]
            } else {
                vec![DEALT, PACKET]
            },
            onto: PACKET,
        }),
        Just(Move::Klondike(PACKET)),
        Just(Move::Monge(PACKET, Over::Under)),
        Just(Move::Faro(PACKET, Weave::In)),
        Just(Move::InverseFaro(PACKET, Halves::EvensOnTop)),
        Just(Move::Reverse(PACKET)),
        n.prop_map(|count| Move::Turn {
            pile: PACKET,
            count
        }),
        place.clone().prop_map(|at| Move::TurnEach {
            pile: PACKET,
            places: vec![at]
        }),
        (place.clone(), place).prop_map(|(a, b)| Move::Swap { pile: PACKET, a, b }),
    ]
}

fn a_trait() -> impl Strategy<Value = TraitId> {
    prop::sample::select(vec![
        TraitId::COLOUR,
        TraitId::SUIT,
        TraitId::VALUE,
        TraitId::PARITY,
        TraitId::COURT,
    ])
}

fn piles() -> impl Strategy<Value = Vec<PileId>> {
    prop_oneof![
        Just(vec![PACKET]),
        Just(vec![DEALT]),
        Just(vec![PACKET, DEALT])
    ]
}

fn wanted() -> impl Strategy<Value = Wanted> {
    prop_oneof![
        1 => Just(Wanted::Any),
        3 => (a_trait(), 0_u8..3).prop_map(|(class, c)| Wanted::Is(class, Class(c))),
    ]
}

const EXPRESSIONS: [&str; 26] = [
    "showing(packet) % 2 == 0",
    "showing_odd(packet) % 2 == showing_even(packet) % 2",
    "(showing(packet) - 3) % 2 == 0",
    "1 == (value(card(packet, 1)) + value(card(packet, 2))) % 3",
    "colour(card(packet, 1)) == \"red\"",
    "colour(card(packet, 1)) == colour(card(packet, -1))",
    "card(packet, 2) == card(\"AS\")",
    "place(card(\"AS\")) == 2",
    "place(card(\"AH\")) < place(card(\"KD\"))",
    "place(card(\"AH\")) + place(card(\"KD\")) == size(packet) + 1",
    "value(card(packet, 1)) + value(card(packet, 2)) > 4",
    "value(card(packet, 1)) == 2 * value(card(packet, -1)) - 1",
    "showing(packet) >= 2",
    "showing_odd(packet) == showing_even(packet)",
    "showing_odd(packet) + showing(dealt) < 3",
    "up(packet, 1) || colour(card(packet, 2)) == \"black\"",
    "up(packet, 1) == up(packet, 2)",
    "letters(card(packet, 1)) > letters(card(packet, 2))",
    "suit(card(packet, 1)) in [\"hearts\", \"clubs\"] && value(card(packet, 2)) < 3",
    "value(card(packet, 1)) == 1 ? up(packet, 1) : colour(card(packet, -1)) == \"red\"",
    "(value(card(packet, 1)) > 2) == (value(card(packet, 2)) > 2)",
    "max(value(card(packet, 1)), value(card(packet, 2))) == 3",
    "card(packet, 1) == theirs",
    "place(theirs) > 2",
    "card(packet, 1) != theirs && card(packet, -1) != theirs",
    "size(dealt) > 2 || size(packet) % 2 == 1",
];

fn a_claim() -> impl Strategy<Value = ClaimKind> {
    let simple = prop_oneof![
        (piles(), a_trait()).prop_map(|(piles, class)| ClaimKind::AllOne { piles, class }),
        prop::collection::vec(wanted(), 0..8).prop_map(|wanted| ClaimKind::Sequence {
            pile: PACKET,
            wanted
        }),
        (1_u16..5, a_trait()).prop_map(|(of, class)| ClaimKind::Blocks {
            pile: PACKET,
            of,
            class
        }),
        (
            piles(),
            prop::option::of(wanted()),
            prop::option::of(any::<bool>()),
            0_u8..3,
            0_i64..5
        )
            .prop_map(|(piles, wanted, up, places, is)| ClaimKind::Count {
                piles,
                wanted,
                up,
                places,
                is: Expr::number(is),
            }),
        prop::option::of(a_trait()).prop_map(|class| ClaimKind::Mirror {
            pile: PACKET,
            class
        }),
        Just(ClaimKind::MatesTogether(PACKET)),
        (prop::option::of(a_trait()), any::<bool>(), any::<bool>()).prop_map(
            |(class, rotation, reversal)| {
                ClaimKind::SameAs {
                    pile: PACKET,
                    as_was: Table::empty(2),
                    class,
                    rotation,
                    reversal,
                }
            }
        ),
        (piles(), prop::option::of(Just(5)), 0_i64..25).prop_map(|(piles, court, is)| {
            ClaimKind::Sum {
                piles,
                court,
                is: Expr::number(is),
            }
        }),
        (0_usize..3, -2_i64..4).prop_map(|(which, is)| {
            let routine = named();
            let card = ["card(\"AS\")", "card(\"KD\")", "theirs"][which];
            ClaimKind::Place {
                card: Expr::compile(card, &routine).unwrap(),
                pile: PACKET,
                is: Expr::number(is),
            }
        }),
        (0..EXPRESSIONS.len()).prop_map(|which| ClaimKind::Expr(
            Expr::compile(EXPRESSIONS[which], &named()).unwrap()
        )),
        Just(()).prop_map(|()| ClaimKind::Count {
            piles: vec![PACKET],
            wanted: Some(Wanted::Is(TraitId::COLOUR, Class(0))),
            up: None,
            places: 0,
            is: Expr::compile("size(dealt)", &named()).unwrap(),
        }),
    ];
    simple.prop_recursive(2, 6, 3, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 1..3).prop_map(ClaimKind::And),
            prop::collection::vec(inner.clone(), 1..3).prop_map(ClaimKind::Or),
            inner.prop_map(|claim| ClaimKind::Not(Box::new(claim))),
        ]
    })
}

/// The routine of all cases: all cards of [`CARDS`], and the name `theirs`.
fn named() -> Routine {
    let mut routine = packet(&CARDS.join(" "));
    crate::roads::fixtures::name(&mut routine, "theirs");
    routine
}

fn a_case() -> impl Strategy<Value = Case> {
    (
        prop::sample::subsequence((0..CARDS.len()).collect::<Vec<_>>(), 1..8).prop_shuffle(),
        0_u16..7,
        any::<bool>(),
        prop::collection::vec(a_move(), 0..3),
        a_claim(),
    )
        .prop_map(|(cards, dealt, overhand, moves, claim)| Case {
            dealt: dealt.min(cards.len() as u16),
            cards,
            overhand,
            moves,
            claim,
        })
}

/// The routine and the world before the shuffle; `theirs` is the king of hearts.
fn before(case: &Case) -> (Routine, World) {
    let routine = named();
    let mut world = unknown_start(&routine);
    world.table = Table::empty(2);
    let cards = case
        .cards
        .iter()
        .map(|card| Laid::new(Card(*card as u16), false));
    world.table.pile_mut(PACKET).extend(cards);
    world.memory[0] = Some(Value::Card(Card(8)));
    if !case.overhand {
        do_all(
            &[Move::Deal {
                from: PACKET,
                to: vec![DEALT],
                count: case.dealt,
                up: None,
            }],
            &mut world,
        )
        .unwrap();
    }
    (routine, world)
}

fn do_all(moves: &[Move], world: &mut World) -> Option<()> {
    for mv in moves {
        let program = program(mv, &world.table).ok()?;
        run(&program, &mut world.table, &mut Forced).ok()?;
    }
    Some(())
}

fn shuffle(case: &Case) -> Move {
    if case.overhand {
        Move::Overhand(PACKET)
    } else {
        Move::Riffle {
            left: DEALT,
            right: PACKET,
            to: PACKET,
        }
    }
}

/// All outcomes in the order of the branches: the value of the fork and the world after the moves.
fn outcomes(case: &Case, world: &World) -> Vec<(Value, World)> {
    let mv = shuffle(case);
    let program = program(&mv, &world.table).unwrap();
    let (packet, dealt) = (
        world.table.size(PACKET) as u16,
        world.table.size(DEALT) as u16,
    );
    let mut all = Vec::new();
    let mut keep = |value: Value, mut after: World| {
        if do_all(&case.moves, &mut after).is_some() {
            all.push((value, after));
        }
    };
    if case.overhand {
        for chunks in all_chunks(packet) {
            let mut after = world.clone();
            run(&program, &mut after.table, &mut ByChunks::new(&chunks)).unwrap();
            keep(Value::Chunks(chunks.into()), after);
        }
    } else {
        for weave in all_weaves(dealt, packet) {
            let mut after = world.clone();
            run(&program, &mut after.table, &mut ByWeave::new(&weave)).unwrap();
            keep(Value::Weave(weave.into()), after);
        }
    }
    all
}

/// A claim with the table at the start filled in.
fn with_start(claim: &ClaimKind, start: &Table) -> ClaimKind {
    let each = |claims: &[ClaimKind]| claims.iter().map(|c| with_start(c, start)).collect();
    match claim {
        ClaimKind::SameAs {
            pile,
            class,
            rotation,
            reversal,
            ..
        } => ClaimKind::SameAs {
            pile: *pile,
            as_was: start.clone(),
            class: *class,
            rotation: *rotation,
            reversal: *reversal,
        },
        ClaimKind::And(claims) => ClaimKind::And(each(claims)),
        ClaimKind::Or(claims) => ClaimKind::Or(each(claims)),
        ClaimKind::Not(claim) => ClaimKind::Not(Box::new(with_start(claim, start))),
        other => other.clone(),
    }
}

/// Whether a claim was followed; then everything that can be asked agrees with the outcomes listed.
fn agrees(case: &Case) -> Result<bool, TestCaseError> {
    let (routine, world) = before(case);
    let mut start = world.table.clone();
    let rest: Vec<Laid> = start.pile(DEALT).iter().copied().collect();
    start.pile_mut(PACKET).extend(rest);
    let claim = with_start(&case.claim, &start);
    let listed = outcomes(case, &world);
    let mut streams = Streams::default();
    let free = program(&shuffle(case), &world.table).unwrap();
    let followed = streams.follow(&routine, &free, &world).unwrap();
    prop_assert_eq!(usize::from(followed.tokens.count), case.cards.len());
    let mut after = followed.world.clone();
    if do_all(&case.moves, &mut after).is_none() {
        prop_assert!(listed.is_empty());
        return Ok(false);
    }
    let claimed = Claimed {
        routine: &routine,
        world: &after,
        turned: None,
        claim: &claim,
    };
    let Some(monitor) = streams.monitor(followed.start, &followed.tokens, claimed) else {
        return Ok(false);
    };
    prop_assert_eq!(streams.total(followed.start), BigUint::from(listed.len()));
    let verdicts: Vec<bool> = listed
        .iter()
        .map(|(_, world)| {
            claim.holds(Scene {
                routine: &routine,
                world,
            })
        })
        .collect::<Result<_, _>>()
        .map_err(|fault| TestCaseError::fail(format!("{fault}, but it was followed")))?;
    for want in [false, true] {
        let many = verdicts.iter().filter(|is| **is == want).count();
        let start = followed.start;
        prop_assert_eq!(
            streams.can_end(start, monitor, want, &mut on).unwrap(),
            many > 0
        );
        prop_assert_eq!(
            streams.count(start, monitor, want, &mut on).unwrap(),
            BigUint::from(many)
        );
        let first = streams.first(start, monitor, want, &mut on).unwrap();
        let value = first
            .as_ref()
            .map(|outcome| outcome.value(&free, &world).unwrap());
        let expected = verdicts
            .iter()
            .position(|is| *is == want)
            .map(|at| listed[at].0.clone());
        prop_assert_eq!(value, expected);
        // What is known of the tokens under the claim.
        for token in 0..followed.tokens.count {
            let given = if want {
                monitor
            } else {
                streams.all(&[(monitor, false)])
            };
            let mut looks = streams.looks_at(start, given, token, &mut on).unwrap();
            looks.sort_unstable();
            let at = after.table.find(followed.tokens.card(token)).unwrap();
            let mut seen: Vec<Card> = listed
                .iter()
                .zip(&verdicts)
                .filter(|(_, is)| **is == want)
                .map(|((_, world), _)| world.table.at(at.0, at.1).unwrap().card())
                .collect();
            seen.sort_unstable();
            seen.dedup();
            prop_assert_eq!(
                looks.iter().map(|look| look.card()).collect::<Vec<_>>(),
                seen
            );
        }
    }
    Ok(true)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]
    #[test]
    fn a_shuffle_followed_agrees_with_all_its_outcomes_listed(case in a_case()) {
        agrees(&case)?;
    }
}

#[test]
fn every_kind_of_claim_is_followed() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut followed = 0;
    for _ in 0..300 {
        let case = a_case().new_tree(&mut runner).unwrap().current();
        followed += usize::from(agrees(&case).unwrap());
    }
    assert!(followed > 200, "only {followed} of 300 were followed");
    // Each expression, alone.
    for text in EXPRESSIONS {
        let claim = ClaimKind::Expr(Expr::compile(text, &named()).unwrap());
        for overhand in [false, true] {
            let case = Case {
                cards: vec![0, 3, 2, 8, 1, 7, 9],
                dealt: 3,
                overhand,
                moves: vec![Move::Turn {
                    pile: PACKET,
                    count: 3,
                }],
                claim: claim.clone(),
            };
            assert!(agrees(&case).unwrap(), "{text} was not followed");
        }
    }
}
