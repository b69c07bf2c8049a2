//! Complete lists against brute force over all patterns and all roads, which uses neither the prover nor the solver.

use super::canvas::{Canvas, Unfit, Wish};
use super::pattern::{Alike, Pattern, group};
use super::search::{Sought, search};
use crate::cards::Face;
use crate::proof::Limits;
use crate::roads::{domain, take, unknown_start};
use crate::routine::{Routine, Scene, World, load};
use rustc_hash::FxHashSet;
use std::collections::BTreeSet;

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
fn down_under(cards: usize) -> Routine {
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
        "{same-as-start: {pile: packet, trait: colour}}",
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
    pattern.iter().map(|class| ["R", "B"][usize::from(*class)]).collect()
}

#[test]
fn four_cards_under_a_down_under_deal_work_exactly_with_equal_ends() {
    // Common practice, no source: a b c d becomes d b c a, so that equal ends stay as they are. Half of the sixteen.
    let found = sought(&down_under(4), &Wish::default());
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
    for cards in [4, 5, 6, 7, 8] {
        let routine = deal_and_riffle(cards, "{blocks: {pile: packet, of: 2, trait: colour}}");
        let found = sought(&routine, &Wish::default());
        let wanted = by_brute_force(&routine, cards, "colour", &["red", "black"]);
        assert_eq!(found.patterns, wanted, "{cards} cards");
    }
}
