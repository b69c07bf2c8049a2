//! One under, one down, until one card is left.

use super::{Table, share};
use allroads::rescue::Verdict;

const NAMES: [&str; 13] = [
    "AC", "2C", "3C", "4C", "5C", "6C", "7C", "8C", "9C", "10C", "JC", "QC", "KC",
];

/// The place of the last card, from 1: 2l + 1 of n = 2^m + l cards, l below 2^m (Graham, Knuth, Patashnik, "Concrete Mathematics", section
/// 1.3).
fn by_formula(cards: usize) -> usize {
    2 * (cards - (1 << cards.ilog2())) + 1
}

/// The last card, by doing it.
fn last<T: Clone>(cards: &[T]) -> T {
    let mut packet = cards.to_vec();
    while packet.len() > 1 {
        let under = packet.remove(0);
        packet.push(under);
        packet.remove(0);
    }
    packet[0].clone()
}

/// The card at this place is left of so many.
fn text(cards: usize, place: usize) -> String {
    format!(
        r#"
allroads: 1
title: Last of all
cards: {{packet: {{list: "{}"}}}}
piles: [home]
steps:
  - id: line
    sees: [{{count: packet}}]
  - id: send-home
    do: [{{under-down: {{pile: packet, to: home, leave: 1}}}}]
finale:
  id: last
  claims: [{{lies: {{pile: packet, at: 1, card: {}}}}}]
"#,
        NAMES[..cards].join(" "),
        NAMES[place - 1]
    )
}

#[test]
fn one_card_missing_moves_the_place_as_the_formula_says() {
    for cards in 2..=NAMES.len() {
        let all: Vec<usize> = (1..=cards).collect();
        let place = last(&all);
        assert_eq!(place, by_formula(cards));
        // It must lie where the formula has it for one card fewer, once the missing one is gone.
        let mut kept = 0;
        for missing in 1..=cards {
            let fewer: Vec<usize> = all.iter().copied().filter(|n| *n != missing).collect();
            let moved = place - usize::from(missing < place);
            let stays = last(&fewer) == place;
            assert_eq!(
                stays,
                missing != place && moved == by_formula(cards - 1),
                "{cards} without {missing}"
            );
            kept += usize::from(stays);
        }
        let table = Table::of(&text(cards, place));
        let Verdict::Lost { chance } = table.only("line", "takes-a-card") else {
            panic!("{cards}: it is not always right");
        };
        assert_eq!(*chance, Some(share(kept, cards)), "{cards}");
    }
}

#[test]
fn a_seen_cut_is_never_safe_and_is_mended_by_as_many_cards_the_other_way() {
    let cards = 11;
    let all: Vec<usize> = (1..=cards).collect();
    let place = last(&all);
    let mends = "mends:\n  - id: back\n    do: [{cut: {pile: packet, at: size(packet) - 1}}]\n";
    let table = Table::of(&format!("{}{mends}", text(cards, place)));
    let found = table.by_choice("line", "cuts-again");
    for at in 1..cards {
        let best = super::fewest(
            &[super::cut(&all, at)],
            &[&|packet: &Vec<usize>| super::cut(packet, cards - 1)],
            &|packet| last(packet) == place,
        );
        assert_eq!(found[&at], [best].into(), "{at}");
        assert_eq!(best == super::What::Mends(at), at <= 3, "{at}");
    }
}
