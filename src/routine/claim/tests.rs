use super::*;
use crate::cards::Card;
use crate::routine::by_hand::ByHand;
use crate::routine::world::{Fault, Value};
use proptest::prelude::*;

const A: PileId = PileId(0);
const B: PileId = PileId(1);

fn is(label: &str, on: &ByHand) -> Wanted {
    let (id, class) = on.routine.pack.find_class(label).unwrap();
    Wanted::Is(id, class)
}

fn holds(cards: &str, claim: impl FnOnce(&ByHand) -> ClaimKind) -> bool {
    let on = ByHand::new(&[("packet", cards), ("rest", "")]);
    claim(&on).holds(on.scene()).unwrap()
}

fn sequence(text: &str, on: &ByHand) -> ClaimKind {
    let wanted = text
        .split_whitespace()
        .map(|word| match word {
            "*" => Wanted::Any,
            word => is(word, on),
        })
        .collect();
    ClaimKind::Sequence { pile: A, wanted }
}

fn blocks(of: u16, class: TraitId) -> ClaimKind {
    ClaimKind::Blocks { pile: A, of, class }
}

#[test]
fn all_of_one_class_looks_at_all_piles_together() {
    let claim = |_: &ByHand| ClaimKind::AllOne {
        piles: vec![A, B],
        class: TraitId::COLOUR,
    };
    assert!(holds("", claim));
    assert!(holds("7H 2D^ KH", claim));
    assert!(!holds("7H 2D KS", claim));
    let on = ByHand::new(&[("packet", "7H"), ("rest", "2S")]);
    assert_eq!(claim(&on).holds(on.scene()), Ok(false));
}

#[test]
fn a_sequence_has_a_class_for_every_place() {
    let claim = |on: &ByHand| sequence("red black * heart", on);
    assert!(holds("2D 2S KS 7H", claim));
    assert!(!holds("2D 2S KS 7S", claim));
    assert!(!holds("2D 2S KS", claim), "a card too few");
    assert!(!holds("2D 2S KS 7H AH", claim), "a card too many");
}

#[test]
fn a_block_holds_one_of_each_and_nothing_may_be_left_over() {
    let pairs = |_: &ByHand| blocks(2, TraitId::COLOUR);
    assert!(holds("", pairs));
    assert!(holds("2D 2S KS 7H", pairs));
    assert!(
        !holds("2D 2S KS 7H AH", pairs),
        "a card is left over at the bottom"
    );
    assert!(!holds("2D 7H KS 2S", pairs));
    let fours = |_: &ByHand| blocks(4, TraitId::SUIT);
    assert!(holds("2D 2S KC 7H 3S 3D 3C 3H", fours));
    assert!(!holds("2D 2S KC 7H 3S 3D 3C 4D", fours));
    assert!(!holds("2D", |_| blocks(0, TraitId::SUIT)));
}

#[test]
fn counts_go_by_class_facing_and_place() {
    let count = |wanted: Option<&'static str>, up, places, n| {
        move |on: &ByHand| ClaimKind::Count {
            piles: vec![A, B],
            wanted: wanted.map(|label| is(label, on)),
            up,
            places,
            is: Expr::number(n),
        }
    };
    let cards = "2D^ 2S KH^ 7H 3C^";
    assert!(holds(cards, count(None, None, 0, 5)));
    assert!(holds(cards, count(Some("red"), None, 0, 3)));
    assert!(holds(cards, count(None, Some(true), 0, 3)));
    assert!(holds(cards, count(None, Some(false), 0, 2)));
    assert!(holds(cards, count(Some("heart"), Some(true), 0, 1)));
    assert!(holds(cards, count(Some("red"), None, 1, 2)));
    assert!(holds(cards, count(Some("red"), None, 2, 1)));
    assert!(!holds(cards, count(Some("red"), None, 0, 4)));
    // Places are counted in each pile on its own.
    let on = ByHand::new(&[("packet", "2D"), ("rest", "3S 4H")]);
    let odd = count(None, None, 1, 2)(&on);
    assert_eq!(odd.holds(on.scene()), Ok(true));
}

#[test]
fn a_card_lies_at_a_place() {
    let place = |card: &'static str, at: &'static str| {
        move |on: &ByHand| ClaimKind::Place {
            card: on.expr(card),
            pile: A,
            is: on.expr(at),
        }
    };
    let cards = "2D 2S KH";
    assert!(holds(cards, place("card('2S')", "2")));
    assert!(holds(cards, place("card('KH')", "-1")));
    assert!(!holds(cards, place("card('2S')", "1")));
    assert!(!holds(cards, place("card('2S')", "9")), "no such place");
    let on = ByHand::new(&[("packet", cards)]).with("n", Value::Int(3));
    let named = ClaimKind::Place {
        card: on.expr("card('KH')"),
        pile: A,
        is: on.expr("n"),
    };
    assert_eq!(named.holds(on.scene()), Ok(true));
}

#[test]
fn a_mirror_and_mates_together() {
    let mirror = |_: &ByHand| ClaimKind::Mirror {
        pile: A,
        class: None,
    };
    assert!(holds("2D KS 3C 3S KC 2H", mirror));
    assert!(
        holds("2D KS 9C KC 2H", mirror),
        "the middle card has no partner"
    );
    assert!(!holds("2D KS KC 2S", mirror));
    let by_suit = |_: &ByHand| ClaimKind::Mirror {
        pile: A,
        class: Some(TraitId::SUIT),
    };
    assert!(holds("2D KS 3S 4D", by_suit));
    assert!(!holds("2D KS 3D 4D", by_suit));
    let together = |_: &ByHand| ClaimKind::MatesTogether(A);
    assert!(holds("2D 2H KS KC", together));
    assert!(!holds("2D 2H KS KC 4S", together));
    assert!(!holds("2D KS 2H KC", together));
}

#[test]
fn the_same_as_at_the_start_up_to_rotation_or_reversal() {
    let same = |rotation, reversal| {
        move |_: &ByHand| ClaimKind::SameAs {
            pile: A,
            as_was: ByHand::new(&[("packet", "2D 3S 4H 5C")]).world.table,
            class: None,
            rotation,
            reversal,
        }
    };
    for (cards, plainly, turned, reversed, both) in [
        ("2D 3S 4H 5C", true, true, true, true),
        ("2D^ 3S 4H^ 5C", true, true, true, true),
        ("4H 5C 2D 3S", false, true, false, true),
        ("5C 4H 3S 2D", false, false, true, true),
        ("3S 2D 5C 4H", false, false, false, true),
        ("3S 2D 4H 5C", false, false, false, false),
        ("2D 3S 4H", false, false, false, false),
    ] {
        assert_eq!(holds(cards, same(false, false)), plainly, "{cards}");
        assert_eq!(holds(cards, same(true, false)), turned, "{cards}");
        assert_eq!(holds(cards, same(false, true)), reversed, "{cards}");
        assert_eq!(holds(cards, same(true, true)), both, "{cards}");
    }
    let by_colour = |_: &ByHand| ClaimKind::SameAs {
        pile: A,
        as_was: ByHand::new(&[("packet", "2D 3S 4H 5C")]).world.table,
        class: Some(TraitId::COLOUR),
        rotation: false,
        reversal: false,
    };
    assert!(holds("AD 3C 4H KC", by_colour));
    assert!(!holds("3C AD 4H KC", by_colour));
}

#[test]
fn sums_take_court_cards_as_the_file_says() {
    let sum = |court, n| {
        move |_: &ByHand| ClaimKind::Sum {
            piles: vec![A, B],
            court,
            is: Expr::number(n),
        }
    };
    assert!(holds("AD 10S KH JC", sum(None, 1 + 10 + 13 + 11)));
    assert!(holds("AD 10S KH JC", sum(Some(10), 1 + 10 + 10 + 10)));
    assert!(!holds("AD 10S KH JC", sum(Some(10), 35)));
    assert!(holds("", sum(None, 0)));
}

#[test]
fn claims_join() {
    let red = |_: &ByHand| ClaimKind::AllOne {
        piles: vec![A],
        class: TraitId::COLOUR,
    };
    let three = |on: &ByHand| ClaimKind::Expr(on.expr("size(packet) == 3"));
    let join = |how: u8| {
        move |on: &ByHand| match how {
            0 => ClaimKind::And(vec![red(on), three(on)]),
            1 => ClaimKind::Or(vec![red(on), three(on)]),
            _ => ClaimKind::Not(Box::new(three(on))),
        }
    };
    for (cards, all, any, none) in [
        ("2D 3D 4D", true, true, false),
        ("2D 3S 4D", false, true, false),
        ("2D 3D", false, true, true),
        ("2D 3S", false, false, true),
    ] {
        assert_eq!(holds(cards, join(0)), all, "{cards}");
        assert_eq!(holds(cards, join(1)), any, "{cards}");
        assert_eq!(holds(cards, join(2)), none, "{cards}");
    }
    assert!(holds("2D", |_| ClaimKind::And(Vec::new())));
    assert!(!holds("2D", |_| ClaimKind::Or(Vec::new())));
}

#[test]
fn a_print_that_nothing_has_fixed_is_asked_for_and_only_when_it_is_needed() {
    let mut on = ByHand::new(&[("packet", "2D 3S")]);
    on.world.faces = vec![None; 52];
    let (two, three) = (on.card("2D"), on.card("3S"));
    assert_eq!(
        blocks(2, TraitId::COLOUR).holds(on.scene()),
        Err(Fault::Unfixed(two))
    );
    let lies = ClaimKind::Place {
        card: on.expr("card('4C')"),
        pile: A,
        is: Expr::number(2),
    };
    assert_eq!(
        lies.holds(on.scene()),
        Err(Fault::Unfixed(three)),
        "only the card at the place matters"
    );
    on.world.faces[two.index()] = Some(on.card("4C"));
    let lies = ClaimKind::Place {
        card: on.expr("card('4C')"),
        pile: A,
        is: Expr::number(1),
    };
    assert_eq!(lies.holds(on.scene()), Ok(true));
    assert_eq!(
        blocks(2, TraitId::COLOUR).holds(on.scene()),
        Err(Fault::Unfixed(three))
    );
    assert_eq!(
        sequence("red *", &on).holds(on.scene()),
        Ok(false),
        "the first card decides"
    );
    on.world.faces[three.index()] = Some(on.card("4D"));
    assert_eq!(blocks(2, TraitId::COLOUR).holds(on.scene()), Ok(true));
}

#[test]
fn claims_speak_for_themselves() {
    let on = ByHand::new(&[("packet", "2D 3S"), ("left", ""), ("right", "")]);
    let words = |kind: ClaimKind| kind.words(&on.routine);
    let piles = || vec![PileId(1), PileId(2)];
    assert_eq!(
        words(blocks(2, TraitId::COLOUR)),
        "every pair in packet holds one red and one black card"
    );
    assert_eq!(
        words(blocks(4, TraitId::SUIT)),
        "every block of 4 cards in packet holds one of each suit"
    );
    assert_eq!(
        words(blocks(3, TraitId::VALUE)),
        "in every block of 3 cards in packet no value comes twice"
    );
    assert_eq!(
        words(ClaimKind::AllOne {
            piles: piles(),
            class: TraitId::COLOUR
        }),
        "all cards in left and right are of one colour"
    );
    assert_eq!(
        words(sequence("red * heart", &on)),
        "from the top, packet is red, any, hearts"
    );
    assert_eq!(
        words(ClaimKind::Count {
            piles: piles(),
            wanted: Some(is("red", &on)),
            up: Some(true),
            places: 1,
            is: Expr::number(5),
        }),
        "the number of face-up red cards at odd places in left and right is 5"
    );
    assert_eq!(
        words(ClaimKind::Place {
            card: on.expr("card('7H')"),
            pile: A,
            is: Expr::number(13),
        }),
        "seven of hearts lies at place 13 of packet"
    );
    assert_eq!(
        words(ClaimKind::Not(Box::new(ClaimKind::MatesTogether(A)))),
        "it is not so that every pair in packet is a pair of mates"
    );
    assert_eq!(
        words(ClaimKind::SameAs {
            pile: A,
            as_was: on.routine.start.clone(),
            class: None,
            rotation: true,
            reversal: false,
        }),
        "packet has its cards in the same order as at the start, but for a cut"
    );
    assert_eq!(
        words(ClaimKind::Sum {
            piles: vec![A],
            court: Some(10),
            is: Expr::number(20)
        }),
        "the values in packet add up to 20, court cards counting 10"
    );
}

/// Cards of a small set, so that structure comes up by chance, as codes with their facing.
fn cards() -> impl Strategy<Value = Vec<(String, bool)>> {
    let codes: Vec<String> = "2C 2H 2S 2D KC KH KS KD"
        .split(' ')
        .map(str::to_owned)
        .collect();
    (Just(codes).prop_shuffle(), 0..=8_usize).prop_flat_map(|(mut codes, n)| {
        codes.truncate(n);
        prop::collection::vec(any::<bool>(), n)
            .prop_map(move |ups| codes.iter().cloned().zip(ups).collect())
    })
}

fn written(cards: &[(String, bool)]) -> String {
    let cards: Vec<String> = cards
        .iter()
        .map(|(code, up)| format!("{code}{}", if *up { "^" } else { "" }))
        .collect();
    cards.join(" ")
}

/// The classes from the letters of the codes, apart from the pack's tables.
fn colour(code: &str) -> char {
    if code.ends_with(['H', 'D']) { 'r' } else { 'b' }
}
fn value(code: &str) -> i64 {
    if code.starts_with('K') { 13 } else { 2 }
}
fn mates(a: &str, b: &str) -> bool {
    a != b && colour(a) == colour(b) && value(a) == value(b)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Every claim against its meaning said again over plain lists.
    #[test]
    fn claims_agree_with_plain_statements(packet in cards(), was in cards(), n in 0..9_i64) {
        let on = ByHand::new(&[("packet", &written(&packet))]);
        let before = ByHand::new(&[("packet", &written(&was))]);
        let codes: Vec<&str> = packet.iter().map(|(code, _)| code.as_str()).collect();
        let then: Vec<&str> = was.iter().map(|(code, _)| code.as_str()).collect();
        let size = codes.len();
        let so = |kind: &ClaimKind| kind.holds(on.scene()).unwrap();

        let one = ClaimKind::AllOne { piles: vec![A], class: TraitId::COLOUR };
        prop_assert_eq!(so(&one), codes.windows(2).all(|w| colour(w[0]) == colour(w[1])));

        let pairs = size.is_multiple_of(2) && codes.chunks(2).all(|c| colour(c[0]) != colour(c[1]));
        prop_assert_eq!(so(&blocks(2, TraitId::COLOUR)), pairs);

        let fours = size.is_multiple_of(4) && codes.chunks(4).all(|c| {
            "CHSD".chars().all(|s| c.iter().any(|code| code.ends_with(s)))
        });
        prop_assert_eq!(so(&blocks(4, TraitId::SUIT)), fours);

        let mirror = (0..size / 2).all(|i| mates(codes[i], codes[size - 1 - i]));
        prop_assert_eq!(so(&ClaimKind::Mirror { pile: A, class: None }), mirror);
        let mirror = (0..size).all(|i| colour(codes[i]) == colour(codes[size - 1 - i]));
        let by_colour = ClaimKind::Mirror { pile: A, class: Some(TraitId::COLOUR) };
        prop_assert_eq!(so(&by_colour), mirror);

        let together = size.is_multiple_of(2) && codes.chunks(2).all(|c| mates(c[0], c[1]));
        prop_assert_eq!(so(&ClaimKind::MatesTogether(A)), together);

        let sum: i64 = codes.iter().map(|c| value(c)).sum();
        for (court, sum) in [(None, sum), (Some(10), codes.iter().map(|c| value(c).min(10)).sum())] {
            let sums = |is| ClaimKind::Sum { piles: vec![A], court, is: Expr::number(is) };
            prop_assert!(so(&sums(sum)) && !so(&sums(sum + 1)));
        }

        for up in [true, false] {
            let counted = packet.iter().skip(1).step_by(2)
                .filter(|(code, u)| *u == up && colour(code) == 'r').count();
            let count = ClaimKind::Count {
                piles: vec![A], wanted: Some(is("red", &on)), up: Some(up), places: 2,
                is: Expr::number(n),
            };
            prop_assert_eq!(so(&count), i64::try_from(counted) == Ok(n));
        }

        // A rotation of a list stands in the list written twice; colours as a text.
        let text = |codes: &[&str]| codes.iter().map(|c| colour(c)).collect::<String>();
        let (now, start) = (text(&codes), text(&then));
        let back: String = start.chars().rev().collect();
        let turned = |of: &str| now.len() == of.len() && of.repeat(2).contains(&now);
        for (rotation, reversal, same) in [
            (false, false, now == start),
            (true, false, turned(&start)),
            (false, true, now == start || now == back),
            (true, true, turned(&start) || turned(&back)),
        ] {
            let claim = ClaimKind::SameAs {
                pile: A, as_was: before.world.table.clone(), class: Some(TraitId::COLOUR),
                rotation, reversal,
            };
            prop_assert_eq!(so(&claim), same, "{} {} {} {}", now, start, rotation, reversal);
        }
    }

    /// A rotation of the start is the start up to rotation, card by card; one swap more is not.
    #[test]
    fn rotations_are_found_card_by_card(packet in cards(), by in 0..8_usize) {
        let before = ByHand::new(&[("packet", &written(&packet))]);
        let mut turned = packet.clone();
        if !turned.is_empty() {
            let by = by % turned.len();
            turned.rotate_left(by);
        }
        let claim = |rotation| ClaimKind::SameAs {
            pile: A, as_was: before.world.table.clone(), class: None, rotation, reversal: false,
        };
        let on = ByHand::new(&[("packet", &written(&turned))]);
        prop_assert_eq!(claim(true).holds(on.scene()), Ok(true));
        prop_assert_eq!(claim(false).holds(on.scene()), Ok(turned.iter().map(|c| &c.0).eq(packet.iter().map(|c| &c.0))));
        if turned.len() > 3 {
            turned.swap(0, 1);
            let on = ByHand::new(&[("packet", &written(&turned))]);
            prop_assert_eq!(claim(true).holds(on.scene()), Ok(false));
        }
    }
}

#[test]
fn look_alikes_are_still_two_cards() {
    let mut on = ByHand::new(&[("packet", "2D 3S")]);
    let twins = vec![on.routine.pack.face(Card(0)).unwrap().clone(); 2];
    on.routine.pack = crate::cards::Pack::new(twins, crate::cards::Lang::EnGb, &[], &[]).unwrap();
    let lay = |first: u16, second: u16| {
        let mut table = crate::table::Table::empty(1);
        for card in [first, second] {
            table
                .pile_mut(A)
                .push_back(crate::table::Laid::new(Card(card), false));
        }
        table
    };
    on.world.table = lay(1, 0);
    let claim = |class| ClaimKind::SameAs {
        pile: A,
        as_was: lay(0, 1),
        class,
        rotation: false,
        reversal: false,
    };
    assert_eq!(claim(None).holds(on.scene()), Ok(false));
    assert_eq!(claim(Some(TraitId::FACE)).holds(on.scene()), Ok(true));
    // What is written out is a print: either twin will do.
    for at in ["1", "2"] {
        let lies = ClaimKind::Place {
            card: on.expr("card('AC')"),
            pile: A,
            is: on.expr(at),
        };
        assert_eq!(lies.holds(on.scene()), Ok(true));
    }
}
