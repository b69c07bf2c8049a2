//! How cards lie at the start: lists, decks, drawn patterns, unknown orders.

use allroads::routine::{Routine, load};
use allroads::table::PileId;

fn with_cards(cards: &str, setup: u64) -> Routine {
    let text = format!(
        "allroads: 1\ntitle: Cards\ncards:\n  packet: {cards}\nsteps:\n  - id: cut\n    do:\n      - cut: {{pile: packet, at: 1}}\nfinale:\n  id: end\n"
    );
    load(&text, "cards.yaml", setup).unwrap_or_else(|troubles| {
        panic!(
            "{}",
            troubles.iter().map(ToString::to_string).collect::<String>()
        )
    })
}

fn top_down(routine: &Routine) -> Vec<String> {
    let pile = routine.start.pile(PileId(0)).iter();
    pile.map(|laid| {
        let up = if laid.face_up() { "^" } else { "" };
        format!("{}{up}", routine.pack.short(laid.card()))
    })
    .collect()
}

#[test]
fn a_list_lies_as_written_from_the_top() {
    let routine = with_cards(
        r#"{list: "7H 10S^, ace-of-spades 9d"}"#.replace("ace-of-spades", "A♠").as_str(),
        0,
    );
    let ten = if top_down(&routine)[1].starts_with('T') {
        "TS^"
    } else {
        "10S^"
    };
    assert_eq!(top_down(&routine), ["7H", ten, "AS", "9D"]);
    assert!(routine.shuffled.is_empty());
}

// The next two orders are common practice, without a source.
#[test]
fn a_deck_by_suit_and_by_value() {
    let by_suit = top_down(&with_cards("{deck: {suits: CHSD, order: by-suit}}", 0));
    assert_eq!(by_suit.len(), 52);
    assert_eq!(by_suit[..3], ["AC", "2C", "3C"]);
    assert_eq!(by_suit[12..15], ["KC", "AH", "2H"]);
    assert_eq!(by_suit[51], "KD");
    let by_value = top_down(&with_cards("{deck: {suits: SH, order: by-value}}", 0));
    assert_eq!(by_value.len(), 26);
    assert_eq!(by_value[..4], ["AS", "AH", "2S", "2H"]);
}

#[test]
fn a_stepped_deck_is_three_higher_each_time_with_the_suits_rotating() {
    let deck = top_down(&with_cards("{deck: {suits: CHSD, start: AC, step: 3}}", 0));
    assert_eq!(deck.len(), 52);
    assert_eq!(deck[..3], ["AC", "4H", "7S"]);
    // Five cards make fifteen pips, two more than a suit has.
    assert_eq!(deck[4..7], ["KC", "3H", "6S"]);
    // Thirteen cards further the same value comes in the next suit.
    assert_eq!(deck[13..15], ["AH", "4S"]);
    let different: std::collections::BTreeSet<_> = deck.iter().collect();
    assert_eq!(different.len(), 52);
}

#[test]
fn a_full_shuffled_deck_has_fifty_two_cards_of_unknown_order() {
    let routine = with_cards("{shuffled: full}", 0);
    assert_eq!(routine.pack.size(), 52);
    assert_eq!(routine.shuffled.len(), 52);
}

#[test]
fn a_pattern_is_drawn_to_fit_and_mates_are_mates() {
    let mirror = r#"{pattern: "A B C^ c b a", where: {A: red, B: black, C: any, a: mate of A, b: mate of B, c: mate of C}}"#;
    for setup in 0..100 {
        let routine = with_cards(mirror, setup);
        let pile: Vec<_> = routine
            .start
            .pile(PileId(0))
            .iter()
            .map(|l| l.card())
            .collect();
        for at in 0..3 {
            assert!(
                routine.pack.are_mates(pile[at], pile[5 - at]),
                "set-up {setup}, place {}",
                at + 1
            );
        }
        let different: std::collections::BTreeSet<_> = top_down(&routine).into_iter().collect();
        assert_eq!(different.len(), 6);
        assert_eq!(
            top_down(&routine),
            top_down(&with_cards(mirror, setup)),
            "the same number, the same cards"
        );
    }
}

/// Never change these: a set-up must be the same in every later version.
#[test]
fn the_draw_of_a_set_up_is_frozen() {
    let pattern =
        r#"{pattern: "R B A a X", where: {R: red, B: black, A: any, a: mate of A, X: "7"}}"#;
    let drawn: Vec<String> = (0..4)
        .map(|n| top_down(&with_cards(pattern, n)).join(" "))
        .collect();
    insta::assert_snapshot!(drawn.join("\n"));
}
