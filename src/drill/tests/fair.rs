//! Every question states what was seen and heard; all tables that fit it give one answer. The tables are listed here by walking
//! every road there is, apart from how the drills find out what is known.

use super::made_up::made_up;
use super::play::{plan, play};
use crate::cards::Card;
use crate::drill::{Drill, Expected, Question, Subject};
use crate::roads::{Sighted, domain, start, take};
use crate::routine::{Routine, Scene, StopIndex, World};

/// Orders of a few cards.
fn orders(cards: &[Card]) -> Vec<Vec<Card>> {
    if cards.is_empty() {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for n in 0..cards.len() {
        let mut rest = cards.to_vec();
        let first = rest.remove(n);
        for mut order in orders(&rest) {
            order.insert(0, first);
            all.push(order);
        }
    }
    all
}

fn starts(routine: &Routine) -> Vec<World> {
    if routine.shuffled.is_empty() {
        return vec![start(routine, 1)];
    }
    orders(&routine.shuffled)
        .into_iter()
        .map(|order| {
            let mut world = start(routine, 1);
            for (card, print) in routine.shuffled.iter().zip(order) {
                world.faces[card.index()] = Some(print);
            }
            world
        })
        .collect()
}

/// All states after as many sightings as the question has, on every road whose sightings are the question's.
fn fitting(routine: &Routine, seen: &[Sighted]) -> Vec<World> {
    let mut found = Vec::new();
    let mut open: Vec<(World, usize)> = starts(routine)
        .into_iter()
        .map(|world| (world, 0))
        .collect();
    while let Some((world, matched)) = open.pop() {
        if matched == seen.len() {
            found.push(world);
            continue;
        }
        let branches: Vec<Option<_>> = match domain(routine, &world) {
            Ok(Some(domain)) => domain.branches().map(Some).collect(),
            Ok(None) => vec![None],
            Err(_) => Vec::new(),
        };
        for branch in branches {
            if let Ok(taken) = take(routine, &world, branch.as_ref())
                && seen[matched..].starts_with(&taken.sights)
            {
                open.push((taken.world, matched + taken.sights.len()));
            }
        }
    }
    found
}

/// The answers to a question on a table, worked out here in the plainest way, apart from the drills' own.
fn plain(routine: &Routine, world: &World, question: &Question) -> Option<Expected> {
    let scene = Scene { routine, world };
    let print = |pile, place: crate::table::Place| {
        let laid = world.table.at(pile, place)?;
        Some((world.face_of(laid.card())?, laid.face_up()))
    };
    let class = |pile, place, of| routine.pack.class(print(pile, place)?.0, of);
    let find = |wanted: &dyn Fn(Card) -> bool| {
        world.table.piles().find_map(|(pile, cards)| {
            let at = cards.iter().position(|laid| wanted(laid.card()))?;
            Some((pile, crate::table::Place(at as u16 + 1)))
        })
    };
    let theirs = |name| match world.value(name) {
        Some(crate::routine::Value::Card(card)) => {
            let card = *card;
            find(&move |other| other == card)
        }
        _ => None,
    };
    Some(match &question.subject {
        Subject::CardAt(pile, place) => Expected::Card(print(*pile, *place)?.0),
        Subject::TraitAt(pile, place, of) => Expected::Class(*of, class(*pile, *place, *of)?),
        Subject::FacingAt(pile, place) => {
            Expected::Facing(world.table.at(*pile, *place)?.face_up())
        }
        Subject::WhereIs(card) => {
            let (pile, place) = find(&|other| world.face_of(other) == Some(*card))?;
            Expected::Place(pile, place)
        }
        Subject::PileOf(card) => {
            Expected::Pile(find(&|other| world.face_of(other) == Some(*card))?.0)
        }
        Subject::WhereTheirs(name) => {
            let (pile, place) = theirs(*name)?;
            Expected::Place(pile, place)
        }
        Subject::PileOfTheirs(name) => Expected::Pile(theirs(*name)?.0),
        Subject::HowMany(pile) => Expected::Number(world.table.pile(*pile).iter().count() as i64),
        Subject::FaceUp(pile) => Expected::Number(
            world
                .table
                .pile(*pile)
                .iter()
                .filter(|l| l.face_up())
                .count() as i64,
        ),
        Subject::Pattern {
            pile,
            class: of,
            places,
        } => Expected::Pattern(
            *of,
            (1..=*places)
                .map(|n| class(*pile, crate::table::Place(n), *of))
                .collect::<Option<_>>()?,
        ),
        Subject::Follows {
            pile,
            class: of,
            asked,
            ..
        } => Expected::Class(*of, class(*pile, *asked, *of)?),
        Subject::Claim(stop, index) => Expected::Yes(
            routine.stops[stop.index()].claims[*index]
                .kind
                .holds(scene)
                .ok()?,
        ),
        Subject::Next => Expected::Step(world.at),
        Subject::Remembered(name) => match world.value(*name)? {
            crate::routine::Value::Int(n) => Expected::Number(*n),
            crate::routine::Value::Bool(b) => Expected::Yes(*b),
            crate::routine::Value::Text(t) => Expected::Word(t.to_string()),
            crate::routine::Value::Pile(p) => Expected::Pile(*p),
            crate::routine::Value::Places(places) => Expected::Places(places.to_vec()),
            other => panic!("{other:?} is not made up here"),
        },
        Subject::Line(stop) => {
            let said = routine.stops[stop.index()].say.render(scene).ok()?;
            Expected::Line(said.split_whitespace().collect::<Vec<_>>().join(" "))
        }
    })
}

/// On a table that the question supposes.
fn supposed(routine: &Routine, world: &World, question: &Question) -> bool {
    match &question.subject {
        Subject::Follows {
            pile,
            class,
            shown,
            shows,
            ..
        } => {
            world
                .table
                .at(*pile, *shown)
                .and_then(|laid| routine.pack.class(world.face_of(laid.card())?, *class))
                == Some(*shows)
        }
        _ => true,
    }
}

fn check(routine: &Routine, question: &Question) {
    let worlds = fitting(routine, &question.sights);
    assert!(!worlds.is_empty(), "nothing fits: {question:?}");
    let answers: Vec<Option<Expected>> = worlds
        .iter()
        .filter(|world| supposed(routine, world, question))
        .map(|world| plain(routine, world, question))
        .collect();
    assert!(!answers.is_empty(), "supposes what cannot be: {question:?}");
    for answer in answers {
        assert_eq!(
            answer.as_ref(),
            Some(&question.expected),
            "{}\n{:#?}",
            routine.title,
            question
        );
    }
}

#[test]
fn each_question_on_made_up_routines_has_one_answer_on_all_tables_that_fit() {
    let mut kinds = std::collections::BTreeSet::new();
    for number in 1..=30 {
        let routine = made_up(number);
        for drill in Drill::ASKED {
            let played = play(&routine, plan(&[drill], 14, number), |_, q| {
                q.expected_keys.clone()
            });
            for question in &played.asked {
                kinds.insert(question.key.kind);
                check(&routine, question);
            }
        }
    }
    // The test is not about nothing: nearly every sort of question came up.
    assert!(kinds.len() >= 12, "{kinds:?}");
}

#[test]
fn a_question_never_gives_its_own_answer_away() {
    for number in 1..=10 {
        let routine = made_up(number);
        let played = play(&routine, plan(&[Drill::Reckon], 20, number), |_, q| {
            q.expected_keys.clone()
        });
        for question in &played.asked {
            if let Subject::Remembered(name) = &question.subject
                && let Some(about) = routine.names[name.index()].about.as_ref()
            {
                let told = format!("{about}:").to_lowercase();
                assert!(
                    question
                        .given
                        .iter()
                        .all(|line| !line.to_lowercase().starts_with(&told)),
                    "{question:#?}"
                );
            }
        }
    }
}

#[test]
fn after_a_hidden_riffle_of_alternating_colours_the_top_card_tells_the_next() {
    let text = "allroads: 1\ntitle: Pairs\nblurb: b\nprinciple: p\nlang: en-GB\ncards:\n  packet: {pattern: \"R B R B R B R B R B R B\", where: {R: red, B: black}}\npiles: [heap]\nsteps:\n  - id: mix\n    title: Mix\n    say: Mix them well.\n    do: [{deal: {from: packet, to: [heap], count: 5}}]\n  - id: push\n    title: Push\n    say: Push them together.\n    fork: {name: how, says: Here., seen: nothing, riffle: {left: heap, right: packet}}\n    do: [{riffle: {left: heap, right: packet, to: packet, by: how}}]\nfinale:\n  id: end\n  title: End\n  say: There.\n  claims: [{blocks: {pile: packet, of: 2, trait: colour}}]\n";
    let routine = std::sync::Arc::new(
        crate::routine::load(text, "pairs", 1).unwrap_or_else(|t| panic!("{t:?}")),
    );
    let mut follows = 0;
    for seed in 1..=3 {
        let played = play(&routine, plan(&[Drill::Picture], 30, seed), |_, q| {
            q.expected_keys.clone()
        });
        for question in &played.asked {
            if question.spot.stop == StopIndex(1) && question.spot.done == 2 {
                assert!(
                    !matches!(
                        question.subject,
                        Subject::CardAt(..) | Subject::WhereIs(_) | Subject::Pattern { .. }
                    ),
                    "{}",
                    question.text
                );
                if let Subject::Follows { shown, asked, .. } = &question.subject {
                    assert_eq!(
                        (shown.0 % 2, asked.0),
                        (1, shown.0 + 1),
                        "{}",
                        question.text
                    );
                    follows += 1;
                }
            }
        }
    }
    assert!(follows > 2, "{follows}");
}
