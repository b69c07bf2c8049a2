use crate::cards::{Lang, Pack};
use crate::routine::by_hand::ByHand;
use crate::routine::expr::Expr;
use crate::routine::model::ForkKind;
use crate::routine::world::{Fault, Value};
use crate::table::PileId;
use proptest::prelude::*;

const P: PileId = PileId(0);

fn hand() -> ByHand {
    ByHand::new(&[("packet", "7H 2C KS"), ("left", ""), ("Right", "")])
}

fn piles() -> Vec<PileId> {
    vec![PileId(0), PileId(1), PileId(2)]
}

fn kinds() -> [ForkKind; 12] {
    let number = |n| Expr::number(n);
    [
        ForkKind::Number {
            from: number(-5),
            to: number(9),
            by: 1,
        },
        ForkKind::Option(vec!["left".into(), "in the middle".into()]),
        ForkKind::Pile(piles()),
        ForkKind::PileOrder(piles()),
        ForkKind::Place(P),
        ForkKind::Card(P),
        ForkKind::Cards {
            pile: P,
            count: number(2),
        },
        ForkKind::Cut { pile: P, least: 1 },
        ForkKind::Riffle {
            left: P,
            right: PileId(1),
        },
        ForkKind::Overhand(P),
        ForkKind::Again { at_most: None },
        ForkKind::Again { at_most: Some(3) },
    ]
}

#[test]
fn choices_are_read_as_people_type_them() {
    let on = hand();
    let [
        number,
        option,
        pile,
        order,
        place,
        card,
        cards,
        cut,
        riffle,
        overhand,
        again,
        _,
    ] = kinds();
    for (kind, text, value) in [
        (&number, " -3 ", Value::Int(-3)),
        (
            &option,
            "In The Middle",
            Value::Text("in the middle".into()),
        ),
        (&pile, "right", Value::Pile(PileId(2))),
        (
            &order,
            "left, packet,Right",
            Value::Order([PileId(1), PileId(0), PileId(2)].into()),
        ),
        (&place, "3", Value::Int(3)),
        (&card, "7h", Value::Card(on.card("7H"))),
        (&card, "7♥", Value::Card(on.card("7H"))),
        (&card, "seven of hearts", Value::Card(on.card("7H"))),
        (&cards, "7, 1,4", Value::Places([1, 4, 7].into())),
        (&cut, "12", Value::Int(12)),
        (
            &riffle,
            "LrRL",
            Value::Weave([true, false, false, true].into()),
        ),
        (&overhand, "3,2,5", Value::Chunks([3, 2, 5].into())),
        (&again, "Yes", Value::Bool(true)),
        (&again, "stop", Value::Bool(false)),
    ] {
        assert_eq!(Value::read(text, kind, &on.routine), Ok(value), "{text}");
    }
}

#[test]
fn what_is_no_choice_is_refused_in_words() {
    let on = hand();
    let [
        number,
        option,
        pile,
        order,
        place,
        card,
        cards,
        _,
        riffle,
        overhand,
        again,
        _,
    ] = kinds();
    for (kind, text, words) in [
        (&number, "seven", "`seven` is not a whole number, such as 7"),
        (&option, "lfet", "there is no `lfet`; did you mean `left`?"),
        (&option, "xyz", "`xyz` is not among `left`, `in the middle`"),
        (
            &pile,
            "pakcet",
            "there is no `pakcet`; did you mean `packet`?",
        ),
        (
            &order,
            "left,packet",
            "`left,packet` is not an order of all 3 piles",
        ),
        (
            &order,
            "left,left,packet",
            "`left,left,packet` is not an order: a pile is named twice",
        ),
        (&place, "-1", "`-1` is not a number of cards, such as 7"),
        (
            &cards,
            "0,1",
            "`0,1` is not a list of places from the top, such as 1,4,7",
        ),
        (
            &cards,
            "1,1",
            "`1,1` is not a choice of places: one is named twice",
        ),
        (
            &riffle,
            "LXR",
            "`LXR` is not an interleaving: write L and R from the top down, such as LRRL",
        ),
        (
            &overhand,
            "3,,5",
            "`3,,5` is not a list of chunks, such as 3,2,5",
        ),
        (&again, "maybe", "`maybe` is not yes or no"),
        (&card, "7H#2", "there is no card `7H#2` in this routine"),
    ] {
        assert_eq!(
            Value::read(text, kind, &on.routine),
            Err(Fault::Choice(words.to_owned()))
        );
    }
    assert!(matches!(
        Value::read("1X", &card, &on.routine),
        Err(Fault::Choice(_))
    ));
}

#[test]
fn cards_that_look_alike_are_told_apart() {
    let mut on = hand();
    let face = on.routine.pack.face(on.card("7H")).unwrap().clone();
    on.routine.pack = Pack::new(vec![face; 3], Lang::EnGb, &[], &[]).unwrap();
    let shown: Vec<String> = (0..3)
        .map(|n| Value::Card(crate::cards::Card(n)).show(&on.routine))
        .collect();
    assert_eq!(shown, ["7H", "7H#2", "7H#3"]);
    for (n, text) in (0..3).zip(&shown) {
        let card = Value::Card(crate::cards::Card(n));
        let read = Value::read(text, &ForkKind::Card(P), &on.routine);
        assert_eq!(read, Ok(card));
    }
}

#[test]
fn in_a_shuffled_packet_cards_go_by_what_is_printed() {
    let mut on = hand();
    let (seven, king) = (on.card("7H"), on.card("KS"));
    on.world.faces = vec![None; 52];
    on.world.faces[seven.index()] = Some(king);
    let value = Value::Card(seven);
    assert_eq!(value.show_in(on.scene()), Ok("KS".to_owned()));
    assert_eq!(value.in_words(on.scene()), Ok("king of spades".to_owned()));
    let card = ForkKind::Card(P);
    assert_eq!(Value::read_in("KS", &card, on.scene()), Ok(value));
    assert_eq!(
        Value::Card(king).show_in(on.scene()),
        Err(Fault::Unfixed(king))
    );
}

fn value(kind: usize) -> BoxedStrategy<Value> {
    match kind {
        0 => any::<i64>().prop_map(Value::Int).boxed(),
        1 => prop::sample::select(vec!["left", "in the middle"])
            .prop_map(|word| Value::Text(word.into()))
            .boxed(),
        2 => (0..3_u8).prop_map(|n| Value::Pile(PileId(n))).boxed(),
        3 => Just(piles())
            .prop_shuffle()
            .prop_map(|order| Value::Order(order.into()))
            .boxed(),
        4 | 7 => (0..60_i64).prop_map(Value::Int).boxed(),
        5 => (0..52_u16)
            .prop_map(|n| Value::Card(crate::cards::Card(n)))
            .boxed(),
        6 => prop::collection::btree_set(1..60_u16, 1..9)
            .prop_map(|places| Value::Places(places.into_iter().collect()))
            .boxed(),
        8 => prop::collection::vec(any::<bool>(), 1..52)
            .prop_map(|weave| Value::Weave(weave.into()))
            .boxed(),
        9 => prop::collection::vec(1..20_u16, 1..9)
            .prop_map(|chunks| Value::Chunks(chunks.into()))
            .boxed(),
        _ => any::<bool>().prop_map(Value::Bool).boxed(),
    }
}

proptest! {
    #[test]
    fn what_is_shown_is_read_back((at, value) in (0..12_usize).prop_flat_map(|at| (Just(at), value(at)))) {
        let on = hand();
        let text = value.show(&on.routine);
        prop_assert_eq!(Value::read(&text, &kinds()[at], &on.routine), Ok(value), "{}", text);
    }

    #[test]
    fn any_text_is_survived(at in 0..12_usize, text in "\\PC{0,20}") {
        let on = hand();
        if let Err(fault) = Value::read(&text, &kinds()[at], &on.routine) {
            prop_assert!(!fault.to_string().is_empty());
        }
    }
}
