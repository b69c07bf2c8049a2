//! Laws that hold for every move on every table.
use super::{A, B, C, act};
use crate::cards::Card;
use crate::handling::{Chooser, End, Forced, Halves, Kept, Move, Over, Weave, program};
use crate::table::{Laid, PileId, Place, Table};
use proptest::prelude::*;
use std::collections::BTreeMap;

/// Chooses by given bits, over and over.
#[derive(Debug)]
struct Bits {
    bits: Vec<bool>,
    next: usize,
}

impl Bits {
    fn next(&mut self) -> bool {
        self.next += 1;
        self.bits[self.next % self.bits.len()]
    }
}

impl Chooser for Bits {
    fn from_left(&mut self, left: usize, right: usize) -> bool {
        assert!(left > 0 && right > 0, "asked where there is no choice");
        self.next()
    }
    fn here(&mut self, remaining: usize) -> bool {
        assert!(remaining > 0, "asked where there is no choice");
        self.next()
    }
}

fn bits() -> impl Strategy<Value = Bits> {
    prop::collection::vec(any::<bool>(), 1..40).prop_map(|bits| Bits { bits, next: 0 })
}

/// Three piles of up to 14 cards in a random order, facing anyhow.
fn tables() -> impl Strategy<Value = Table> {
    let sizes = (0..=14usize, 0..=14usize, 0..=14usize);
    (sizes, any::<u64>()).prop_flat_map(|((a, b, c), faces)| {
        let cards: Vec<u16> = (0..u16::try_from(a + b + c).unwrap()).collect();
        Just(cards).prop_shuffle().prop_map(move |cards| {
            let mut laid = cards
                .iter()
                .map(|&card| Laid::new(Card(card), faces >> (card % 64) & 1 == 1));
            let mut table = Table::empty(3);
            for (pile, size) in [(A, a), (B, b), (C, c)] {
                *table.pile_mut(pile) = laid.by_ref().take(size).collect();
            }
            table
        })
    })
}

/// How many kinds of move [`move_of_kind`] knows.
const KINDS: usize = 17;

/// A move of each kind that can be done on this table, if there is one, its numbers drawn from `raw`.
fn move_of_kind(kind: usize, table: &Table, raw: [u16; 4]) -> Option<Move> {
    let three = [
        [A, B, C],
        [B, C, A],
        [C, A, B],
        [A, C, B],
        [B, A, C],
        [C, B, A],
    ];
    let [pile, other, third] = three[usize::from(raw[3]) % three.len()];
    let even = |n: usize| raw[n].is_multiple_of(2);
    let size = |pile: PileId| u16::try_from(table.size(pile)).unwrap();
    let count = |n: usize, pile| raw[n] % (size(pile) + 1);
    let place = |n: usize, pile, beyond: u16| {
        let places = size(pile) + beyond;
        (places > 0).then(|| Place(raw[n] % places + 1))
    };
    let end = |n| if even(n) { End::Top } else { End::Bottom };
    let to = if even(2) { other } else { pile };
    Some(match kind % KINDS {
        0 => Move::Cut {
            pile,
            at: count(0, pile),
        },
        1 => Move::Block {
            from: pile,
            take: end(0),
            count: count(1, pile),
            to,
            put: end(3),
            order: if raw[1].is_multiple_of(3) {
                Kept::Kept
            } else {
                Kept::Reversed
            },
        },
        2 => Move::Deal {
            from: pile,
            to: if even(0) {
                vec![other]
            } else {
                vec![other, third]
            },
            count: count(1, pile),
            up: [None, Some(true), Some(false)][usize::from(raw[2]) % 3],
        },
        3 => Move::Gather {
            piles: [
                vec![pile, other, third],
                vec![pile, other],
                vec![pile],
                vec![],
            ][usize::from(raw[0]) % 4]
                .clone(),
            onto: if even(1) { other } else { third },
        },
        4 => Move::DownUnder {
            pile,
            to: other,
            leave: count(0, pile),
            first_under: even(1),
        },
        5 => Move::Klondike(pile),
        6 => Move::Monge(pile, if even(0) { Over::Over } else { Over::Under }),
        7 => Move::Faro(pile, if even(0) { Weave::Out } else { Weave::In }),
        8 => Move::InverseFaro(
            pile,
            if even(0) {
                Halves::OddsOnTop
            } else {
                Halves::EvensOnTop
            },
        ),
        9 => Move::Riffle {
            left: pile,
            right: other,
            to: if even(0) { third } else { pile },
        },
        10 => Move::Overhand(pile),
        11 => Move::Turn {
            pile,
            count: count(0, pile),
        },
        12 => Move::TurnEach {
            pile,
            places: (1..=size(pile))
                .filter(|place| raw[0] >> (place % 16) & 1 == 1)
                .map(Place)
                .collect(),
        },
        13 => Move::Reverse(pile),
        14 => Move::Take {
            from: pile,
            at: place(0, pile, 0)?,
            to,
            put: end(1),
        },
        15 => Move::Put {
            from: pile,
            to: if size(pile) > 0 { to } else { return None },
            at: place(0, to, u16::from(to != pile))?,
        },
        _ => Move::Swap {
            pile,
            a: place(0, pile, 0)?,
            b: place(1, pile, 0)?,
        },
    })
}

/// Every card with the way it faces, by card.
fn faces(table: &Table) -> BTreeMap<Card, bool> {
    let laid: Vec<Laid> = table.piles().flat_map(|(_, pile)| pile).copied().collect();
    let faces: BTreeMap<_, _> = laid.iter().map(|l| (l.card(), l.face_up())).collect();
    assert_eq!(faces.len(), laid.len(), "a card is there twice");
    faces
}

/// The cards that a move turns over, told from its definition.
fn must_turn(mv: &Move, table: &Table) -> Vec<Card> {
    let top = |pile: PileId, count: u16| table.pile(pile).iter().take(usize::from(count));
    match mv {
        Move::Turn { pile, count } => top(*pile, *count).map(|laid| laid.card()).collect(),
        Move::TurnEach { pile, places } => places
            .iter()
            .filter_map(|&place| Some(table.at(*pile, place)?.card()))
            .collect(),
        Move::Deal {
            from,
            count,
            up: Some(up),
            ..
        } => top(*from, *count)
            .filter(|laid| laid.face_up() != *up)
            .map(|laid| laid.card())
            .collect(),
        Move::Cut { .. }
        | Move::Block { .. }
        | Move::Deal { up: None, .. }
        | Move::Gather { .. }
        | Move::DownUnder { .. }
        | Move::Klondike(_)
        | Move::Monge(..)
        | Move::Faro(..)
        | Move::InverseFaro(..)
        | Move::Riffle { .. }
        | Move::Overhand(_)
        | Move::Reverse(_)
        | Move::Take { .. }
        | Move::Put { .. }
        | Move::Swap { .. } => Vec::new(),
    }
}

fn table_and_move() -> impl Strategy<Value = (Table, Move)> {
    (tables(), 0..KINDS, any::<[u16; 4]>()).prop_filter_map(
        "no such move here",
        |(table, kind, raw)| {
            let mv = move_of_kind(kind, &table, raw)?;
            Some((table, mv))
        },
    )
}

/// Two moves of which the second undoes the first.
fn move_and_undoing() -> impl Strategy<Value = (Table, Move, Move)> {
    (tables(), 0..10usize, any::<[u16; 4]>()).prop_filter_map("no card", |(table, kind, raw)| {
        let size = u16::try_from(table.size(A)).ok()?;
        let count = raw[0] % (size + 1);
        let block = |from, to, take, put, order| Move::Block {
            from,
            take,
            count,
            to,
            put,
            order,
        };
        let end = |n: usize| {
            if raw[n].is_multiple_of(2) {
                End::Top
            } else {
                End::Bottom
            }
        };
        let same = |mv: Move| (mv.clone(), mv);
        let (first, second) = match kind {
            0 => (
                Move::Cut { pile: A, at: count },
                Move::Cut {
                    pile: A,
                    at: size - count,
                },
            ),
            1 => (
                Move::Faro(A, Weave::Out),
                Move::InverseFaro(A, Halves::OddsOnTop),
            ),
            2 => (
                Move::Faro(A, Weave::In),
                Move::InverseFaro(A, Halves::EvensOnTop),
            ),
            3 => (
                Move::InverseFaro(A, Halves::OddsOnTop),
                Move::Faro(A, Weave::Out),
            ),
            4 => same(Move::Reverse(A)),
            5 => same(Move::Turn { pile: A, count }),
            6 => same(Move::TurnEach {
                pile: A,
                places: (1..=count).map(Place).collect(),
            }),
            7 => {
                let order = if raw[1].is_multiple_of(3) {
                    Kept::Kept
                } else {
                    Kept::Reversed
                };
                let (take, put) = (end(2), end(3));
                (block(A, B, take, put, order), block(B, A, put, take, order))
            }
            8 if size > 0 => {
                let at = Place(raw[0] % size + 1);
                (
                    Move::Take {
                        from: A,
                        at,
                        to: B,
                        put: End::Top,
                    },
                    Move::Put { from: B, to: A, at },
                )
            }
            9 if size > 0 => {
                let (a, b) = (Place(raw[0] % size + 1), Place(raw[1] % size + 1));
                (
                    Move::Swap { pile: A, a, b },
                    Move::Swap {
                        pile: A,
                        a: b,
                        b: a,
                    },
                )
            }
            _ => return None,
        };
        Some((table, first, second))
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn no_move_loses_or_doubles_a_card_and_faces_flip_exactly_when_they_must(
        (before, mv) in table_and_move(),
        mut chooser in bits(),
    ) {
        let mut after = before.clone();
        prop_assert_eq!(act(&mv, &mut after, &mut chooser), Ok(()));
        prop_assert_eq!(after.count(), before.count());
        let mut expected = faces(&before);
        for card in must_turn(&mv, &before) {
            if let Some(up) = expected.get_mut(&card) {
                *up = !*up;
            }
        }
        prop_assert_eq!(faces(&after), expected);
    }

    #[test]
    fn piles_that_a_move_does_not_name_stay_as_they_were(
        (before, mv) in table_and_move(),
        mut chooser in bits(),
    ) {
        let mut after = before.clone();
        prop_assert_eq!(act(&mv, &mut after, &mut chooser), Ok(()));
        for pile in [A, B, C] {
            if !mv.piles().contains(&pile) {
                prop_assert_eq!(after.pile(pile), before.pile(pile));
            }
        }
    }

    #[test]
    fn a_program_depends_on_the_sizes_of_the_piles_only((table, mv) in table_and_move()) {
        let mut other = Table::empty(3);
        for pile in [A, B, C] {
            *other.pile_mut(pile) = vec![Laid::new(Card(0), true); table.size(pile)].into();
        }
        prop_assert_eq!(program(&mv, &table), program(&mv, &other));
    }

    #[test]
    fn a_program_names_only_the_moves_piles_and_its_own_scratch((table, mv) in table_and_move()) {
        let program = program(&mv, &table).unwrap();
        prop_assert!(program.scratch <= 3);
        prop_assert_eq!(usize::from(program.piles), table.count());
        // A table with one pile more has its scratch one further on: nothing else may change.
        let mut after = table.clone();
        prop_assert_eq!(act(&mv, &mut after, &mut Forced), Ok(()));
        let mut wider = table;
        wider.pile_mut(PileId(3)).push_front(Laid::new(Card(1000), false));
        prop_assert_eq!(act(&mv, &mut wider, &mut Forced), Ok(()));
        prop_assert_eq!(wider.size(PileId(3)), 1);
        wider.pile_mut(PileId(3)).clear();
        wider.forget_scratch(3);
        prop_assert_eq!(wider, after);
    }

    #[test]
    fn moves_that_undo_each_other_do((before, first, second) in move_and_undoing()) {
        let mut table = before.clone();
        prop_assert_eq!(act(&first, &mut table, &mut Forced), Ok(()));
        prop_assert_eq!(act(&second, &mut table, &mut Forced), Ok(()));
        prop_assert_eq!(table, before);
    }
}
