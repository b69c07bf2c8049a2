//! Complete lists against brute force over all patterns and all roads, which uses neither the prover nor the solver.

use super::canvas::{Canvas, Unfit, Wish};
use super::pattern::{Alike, Pattern};
use super::search::{Sought, search};
use crate::cards::Face;
use crate::proof::Limits;
use crate::roads::{domain, take, unknown_start};
use crate::routine::{Routine, Scene, World, load};
use rustc_hash::FxHashSet;
use std::collections::BTreeSet;

mod surviving;

const NO_LIMITS: Limits<'static> = Limits {
    bytes: 1 << 30,
    stop: &|| false,
    progress: &|_| {},
};

/// A routine of so many cards from the deck, whatever they are, with these steps and this ending.
fn routine(cards: usize, piles: &str, steps: &str, finale: &str) -> Routine {
    let list: Vec<String> = Face::all52().iter().take(cards).map(Face::short).collect();
    let text = format!(
        "allroads: 1\ntitle: T\nblurb: b\nprinciple: p\nlang: en-GB\nrunning-time: 1m\ncards:\n  packet: {{list: \"{}\"}}\n{piles}steps:\n{steps}finale:\n  id: end\n  title: The end\n  say: So.\n  claims: [{finale}]\n",
        list.join(" ")
    );
    load(&text, "t.yaml", 0).unwrap_or_else(|troubles| {
        let all: Vec<String> = troubles.iter().map(ToString::to_string).collect();
        panic!("{text}\n{}", all.join("\n"))
    })
}

/// Down-under, the last card dropped on top, as often as they like; the pattern is as it was.
fn down_under(cards: usize, claim: &str) -> Routine {
    routine(
        cards,
        "piles: [dealt]\n",
        "  - again:
      name: rounds
      says: Once more?
      steps:
        - id: deal
          title: One down, one under
          say: Down, under.
          do:
            - down-under: {pile: packet, to: dealt}
            - move: {from: dealt, to: packet}
",
        claim,
    )
}

/// Deal any number, riffle the two parts.
fn deal_and_riffle(cards: usize, claim: &str) -> Routine {
    routine(
        cards,
        "piles: [dealt]\n",
        &format!(
            "  - id: deal
    title: Deal any number
    say: Any number.
    fork: {{name: n, says: Mine., number: {{from: 0, to: {cards}}}}}
    do: [{{deal: {{from: packet, to: [dealt], count: n}}}}]
  - id: riffle
    title: Riffle
    say: Push them together.
    fork: {{name: mix, says: There., seen: nothing, riffle: {{left: dealt, right: packet}}}}
    do: [{{riffle: {{left: dealt, right: packet, to: packet, by: mix}}}}]
"
        ),
        claim,
    )
}

/// Cut anywhere.
fn cut(cards: usize, claim: &str) -> Routine {
    routine(
        cards,
        "",
        "  - id: cut
    title: Cut
    say: Anywhere.
    fork: {name: n, says: Here., seen: nothing, cut: {pile: packet, least: 0}}
    do: [{cut: {pile: packet, at: n}}]
",
        claim,
    )
}

/// The routine with cards of these classes laid instead of its own, by the pattern.
fn laid(routine: &Routine, by: &str, labels: &[&str], pattern: &[u8]) -> Routine {
    let all = crate::cards::Pack::full(routine.lang).unwrap();
    let id = all.find_trait(by).unwrap();
    let mut free: Vec<_> = all.cards().collect();
    let faces = pattern
        .iter()
        .map(|class| {
            let wanted = labels[usize::from(*class)];
            let at = free
                .iter()
                .position(|card| all.label(id, all.class(*card, id).unwrap()) == wanted)
                .unwrap();
            all.face(free.remove(at)).unwrap().clone()
        })
        .collect();
    let mut routine = routine.clone();
    routine.pack = routine.pack.with_faces(faces).unwrap();
    routine
}

/// Whether every road keeps every claim: every road is walked, each world once.
fn keeps_all(routine: &Routine) -> bool {
    let mut met: FxHashSet<World> = FxHashSet::default();
    let mut open = vec![unknown_start(routine)];
    while let Some(world) = open.pop() {
        let Some(stop) = routine.stop(world.at) else {
            continue;
        };
        let choices = match domain(routine, &world).unwrap() {
            None => vec![None],
            Some(open) => open.branches().map(Some).collect(),
        };
        for choice in choices {
            let mut next = take(routine, &world, choice.as_ref()).unwrap().world;
            for claim in &stop.claims {
                let scene = Scene {
                    routine,
                    world: &next,
                };
                if !claim.kind.holds(scene).unwrap() {
                    return false;
                }
            }
            // How often they went round is read by nothing in these routines.
            next.memory.fill(None);
            if met.insert(next.clone()) {
                open.push(next);
            }
        }
    }
    true
}

/// All patterns of so many cells, in lexical order.
fn all_patterns(cells: usize, classes: usize) -> impl Iterator<Item = Pattern> {
    (0..classes.pow(cells as u32)).map(move |number| {
        let digit = |cell: usize| number / classes.pow((cells - 1 - cell) as u32) % classes;
        (0..cells).map(|cell| digit(cell) as u8).collect()
    })
}

fn by_brute_force(routine: &Routine, cells: usize, by: &str, labels: &[&str]) -> BTreeSet<Pattern> {
    all_patterns(cells, labels.len())
        .filter(|pattern| keeps_all(&laid(routine, by, labels, pattern)))
        .collect()
}

fn sought(routine: &Routine, wish: &Wish) -> Sought {
    let canvas = Canvas::new(routine, wish).unwrap();
    let sought = search(&canvas, usize::MAX, &NO_LIMITS, &|_| {}).unwrap();
    assert!(sought.complete);
    sought
}

fn letters(pattern: &[u8]) -> String {
    pattern
        .iter()
        .map(|class| ["R", "B"][usize::from(*class)])
        .collect()
}

#[test]
fn four_cards_under_a_down_under_deal_work_exactly_with_equal_ends() {
    // Common practice, no source: a b c d becomes d b c a, so that equal ends stay as they are. Half of the sixteen.
    let found = sought(
        &down_under(4, "{same-as-start: {pile: packet, trait: colour}}"),
        &Wish::default(),
    );
    let found: Vec<String> = found.patterns.iter().map(|p| letters(p)).collect();
    let equal_ends: Vec<String> = all_patterns(4, 2)
        .filter(|p| p[0] == p[3])
        .map(|p| letters(&p))
        .collect();
    assert_eq!(found.len(), 8);
    assert_eq!(found, equal_ends);
}

#[test]
fn pairs_after_a_deal_and_a_riffle_are_found_as_by_brute_force() {
    for cards in 4..=10 {
        let routine = deal_and_riffle(cards, "{blocks: {pile: packet, of: 2, trait: colour}}");
        let found = sought(&routine, &Wish::default());
        let wanted = by_brute_force(&routine, cards, "colour", &["red", "black"]);
        assert_eq!(found.patterns, wanted, "{cards} cards");
        // The alternating ones, where the packet divides into pairs (N. Gilbreath 1958); none where it does not.
        assert_eq!(wanted.len(), if cards % 2 == 0 { 2 } else { 0 });
    }
}

#[test]
fn long_lists_are_found_as_by_brute_force() {
    let two = ["red", "black"];
    let rules: [(&str, Routine, usize, &str, &[&str]); 6] = [
        (
            "five red ones, wherever they lie",
            cut(8, "{count: {piles: [packet], class: red, is: 5}}"),
            8,
            "colour",
            &two,
        ),
        (
            "half a packet on lies the other colour, wherever it is cut",
            cut(
                12,
                r#"{expr: "colour(card(packet, 1)) != colour(card(packet, 7))"}"#,
            ),
            12,
            "colour",
            &two,
        ),
        (
            "never a mirror, wherever it is cut",
            cut(6, "{not: {mirror: {pile: packet, by: suit}}}"),
            6,
            "suit",
            &["clubs", "hearts", "spades"],
        ),
        (
            "as it was up to a cut and reversal, under a down-under deal without end",
            down_under(
                9,
                "{same-as-start: {pile: packet, trait: colour, up-to: [rotation, reversal]}}",
            ),
            9,
            "colour",
            &two,
        ),
        (
            "ends alike or a red card third, after a deal and a riffle",
            deal_and_riffle(
                7,
                r#"{or: [{expr: "colour(card(packet, 1)) == colour(card(packet, 2))"}, {count: {piles: [packet], class: red, places: odd, is: 2}}, {sequence: {pile: packet, is: "* * black * * * *"}}]}"#,
            ),
            7,
            "colour",
            &two,
        ),
        (
            "what is done hangs on the top card",
            routine(
                8,
                "",
                r#"  - id: cut
    title: Cut
    say: Anywhere.
    fork: {name: n, says: Here., seen: nothing, cut: {pile: packet, least: 0}}
    do:
      - cut: {pile: packet, at: n}
      - when: {is: 'colour(card(packet, 1)) == "red"', do: [{cut: {pile: packet, at: 3}}], else: [{reverse: packet}]}
"#,
                r#"{or: [{expr: "colour(card(packet, 1)) == colour(card(packet, 4))"}, {expr: "colour(card(packet, 2)) != colour(card(packet, 8))"}]}"#,
            ),
            8,
            "colour",
            &two,
        ),
    ];
    let mut long = 0;
    for (what, routine, cards, by, labels) in rules {
        let pack = crate::cards::Pack::full(routine.lang).unwrap();
        let id = pack.find_trait(by).unwrap();
        let class = |label: &&str| pack.find_class(label).unwrap().1;
        let wish = Wish {
            class: Some(id),
            classes: labels.iter().map(class).collect(),
            ..Wish::default()
        };
        let found = sought(&routine, &wish);
        let wanted = by_brute_force(&routine, cards, by, labels);
        assert_eq!(found.patterns, wanted, "{what}");
        let all = labels.len().pow(cards as u32);
        assert!(wanted.len() < all, "{what}: nothing is ruled out");
        long += usize::from(wanted.len() > 50);
    }
    assert!(long >= 3, "only {long} of the lists are long");
}

#[test]
fn counts_and_another_number_of_cards_are_kept() {
    let routine = cut(
        4,
        r#"{expr: "colour(card(packet, 1)) != colour(card(packet, 4))"}"#,
    );
    let wish = Wish {
        counts: vec![Some(2), None],
        cards: Some(6),
        ..Wish::default()
    };
    let found = sought(&routine, &wish);
    // Plainly: six cards, two of them red, whatever turn: place 1 and place 4 differ. Each pair of opposite places holds a red one,
    // so three red ones would be needed.
    assert_eq!(found.patterns.len(), 0);
    let wish = Wish {
        counts: vec![Some(3), None],
        ..wish
    };
    // One of two places of each of the three pairs.
    assert_eq!(sought(&routine, &wish).patterns.len(), 8);
    let canvas = Canvas::new(&routine, &wish).unwrap();
    // Of 6 places 3.
    assert_eq!(canvas.patterns(), 20u8.into());
    // 26 · 25 · 24 for each colour.
    assert_eq!(
        canvas.ways(&[0, 0, 0, 1, 1, 1]),
        (15_600u64 * 15_600).into()
    );
}

#[test]
fn twenty_cards_of_two_classes_are_found() {
    let routine = deal_and_riffle(20, "{blocks: {pile: packet, of: 2, trait: colour}}");
    let found = sought(&routine, &Wish::default());
    let told: Vec<String> = found.patterns.iter().map(|p| letters(p)).collect();
    assert_eq!(told, ["RB".repeat(10), "BR".repeat(10)]);
}

#[test]
fn what_a_pattern_cannot_say_is_told_with_its_line() {
    let unfit = |claim: &str, wish: &Wish| Canvas::new(&cut(4, claim), wish).unwrap_err();
    let told = unfit("{mates: packet}", &Wish::default()).to_string();
    assert!(told.contains("line 19, the claim that"), "{told}");
    let told = unfit("{lies: {pile: packet, at: 1, card: AC}}", &Wish::default()).to_string();
    assert!(told.contains("more is asked of its cards"), "{told}");
    let by_colour = Wish {
        class: Some(crate::cards::TraitId::COLOUR),
        ..Wish::default()
    };
    let told = unfit("{all: {piles: [packet], trait: suit}}", &by_colour).to_string();
    assert!(told.contains("suit: line 19"), "{told}");
    let told = unfit("{all: {piles: [packet], trait: value}}", &Wish::default());
    assert!(matches!(told, Unfit::Classes { .. }), "{told}");
    let too_many = Wish {
        counts: vec![Some(3), Some(3)],
        ..Wish::default()
    };
    let told = unfit("{all: {piles: [packet], trait: colour}}", &too_many);
    assert_eq!(
        told,
        Unfit::Counts {
            cells: 4,
            classes: 2
        }
    );
    // The suit says the colour too.
    let both = cut(
        4,
        "{and: [{all: {piles: [packet], trait: suit}}, {all: {piles: [packet], trait: colour}}]}",
    );
    let canvas = Canvas::new(&both, &Wish::default()).unwrap();
    assert_eq!(canvas.class, crate::cards::TraitId::SUIT);
}

#[test]
fn a_search_that_is_stopped_never_says_that_it_is_complete() {
    let canvas = Canvas::new(
        &cut(8, "{count: {piles: [packet], class: red, is: 5}}"),
        &Wish::default(),
    )
    .unwrap();
    let asked = std::sync::atomic::AtomicU32::new(0);
    for after in [0, 1, 5, 40] {
        asked.store(0, std::sync::atomic::Ordering::SeqCst);
        let limits = Limits {
            stop: &|| asked.fetch_add(1, std::sync::atomic::Ordering::SeqCst) >= after,
            ..NO_LIMITS
        };
        let found = search(&canvas, usize::MAX, &limits, &|_| {}).unwrap();
        assert!(!found.complete);
        // What was found by then is true all the same.
        assert!(
            found
                .patterns
                .iter()
                .all(|p| p.iter().filter(|c| **c == 0).count() == 5)
        );
    }
    let found = search(&canvas, 3, &NO_LIMITS, &|_| {}).unwrap();
    assert!(!found.complete && found.patterns.len() >= 3);
}

/// Claims of every kind that looks at colours.
const CLAIMS: [&str; 11] = [
    "{all: {piles: [packet], trait: colour}}",
    "{sequence: {pile: packet, is: \"red * black * * red\"}}",
    "{blocks: {pile: packet, of: 2, trait: colour}}",
    "{mirror: {pile: packet, by: colour}}",
    "{same-as-start: {pile: packet, trait: colour}}",
    "{same-as-start: {pile: packet, trait: colour, up-to: [rotation, reversal]}}",
    "{count: {piles: [packet], class: red, places: odd, is: 2}}",
    "{not: {count: {piles: [packet], class: black, is: 3}}}",
    "{or: [{mirror: {pile: packet, by: colour}}, {blocks: {pile: packet, of: 2, trait: colour}}]}",
    "{expr: 'colour(card(packet, 2)) == \"red\" && colour(card(packet, 5)) == \"red\"'}",
    "{same-as-start: {pile: packet}}",
];

#[test]
fn a_claim_is_called_true_or_false_only_where_it_is_so_for_every_filling() {
    use super::truth::truth;
    let mut decided = 0;
    for claim in CLAIMS {
        for by in [0, 1, 4] {
            let routine = cut(6, claim);
            let canvas = Canvas::new(&routine, &Wish::default()).unwrap();
            let kind = &canvas.routine().stops.last().unwrap().claims[0].kind;
            let on = |pattern: &[u8], laid: &[bool]| {
                let mut world = canvas.open(pattern, laid);
                world
                    .table
                    .pile_mut(crate::table::PileId(0))
                    .rotate_left(by);
                world
            };
            for shape in 0..1 << 6 {
                let laid: Vec<bool> = (0..6).map(|cell| shape >> cell & 1 == 1).collect();
                for pattern in all_patterns(6, 2) {
                    let said = truth(kind, &on(&pattern, &laid), canvas.filling());
                    let fillings = all_patterns(6, 2)
                        .filter(|other| (0..6).all(|c| !laid[c] || other[c] == pattern[c]));
                    let holds: BTreeSet<bool> = fillings
                        .map(|filled| {
                            let world = on(&filled, &[true; 6]);
                            kind.holds(Scene {
                                routine: canvas.routine(),
                                world: &world,
                            })
                            .unwrap()
                        })
                        .collect();
                    match said {
                        Some(is) => {
                            assert_eq!(holds, BTreeSet::from([is]), "{claim} {pattern:?} {laid:?}");
                            decided += 1;
                        }
                        None => assert!(laid.contains(&false), "{claim} {pattern:?}"),
                    }
                }
            }
        }
    }
    assert!(decided > 10_000, "{decided}");
}
