//! The shipped routines: each loads, reads well aloud, and keeps every claim on every road that can be walked here.

use allroads::command::SHIPPED;
use allroads::roads::{Choices, Walked};
use allroads::roads::{broken_claims, domain, replay, sample, start, take};
use allroads::routine::{Blank, ForkKind, Routine, Scene, Stop, Template, Value, World, load};
use std::collections::BTreeSet;

/// Roads sampled of each routine.
const SAMPLED: u64 = 2_000;
/// The longest patter of one step that can be said in one breath of attention, in characters.
const LONGEST_PATTER: usize = 400;

fn shipped(name: &str, setup: u64) -> Routine {
    let found = SHIPPED
        .iter()
        .find(|s| s.name == name)
        .unwrap_or_else(|| panic!("no routine called {name} is shipped"));
    read(found.text, name, setup)
}

fn read(text: &str, name: &str, setup: u64) -> Routine {
    load(text, name, setup).unwrap_or_else(|troubles| {
        let all: Vec<String> = troubles.iter().map(ToString::to_string).collect();
        panic!("{name} does not load:\n{}", all.join("\n"));
    })
}

fn every() -> impl Iterator<Item = (&'static str, Routine)> {
    SHIPPED.iter().map(|s| (s.name, read(s.text, s.name, 0)))
}

fn is_gate(stop: &Stop) -> bool {
    stop.fork
        .as_ref()
        .is_some_and(|f| matches!(f.kind, ForkKind::Again { .. }))
}

/// The stops that somebody wrote: all but the questions whether to go round again.
fn steps(routine: &Routine) -> impl Iterator<Item = &Stop> {
    routine.stops.iter().filter(|stop| !is_gate(stop))
}

/// What a walk over all roads came past.
#[derive(Default)]
struct Seen {
    roads: u64,
    stops: BTreeSet<String>,
    claims: u64,
}

/// Walks every road from a world on, going round an "again" part at most so many times, and checks every claim.
fn walk_all(routine: &Routine, world: &World, rounds: u32, visits: u32, seen: &mut Seen) {
    let Some(stop) = routine.stop(world.at) else {
        seen.roads += 1;
        return;
    };
    let open =
        domain(routine, world).unwrap_or_else(|e| panic!("{}, {}: {e}", routine.title, stop.id));
    let choices: Vec<Option<Value>> = match &open {
        None => vec![None],
        Some(open) => open.branches().map(Some).collect(),
    };
    assert!(
        !choices.is_empty(),
        "{}, {}: nothing to choose",
        routine.title,
        stop.id
    );
    for choice in choices {
        let again = is_gate(stop) && choice == Some(Value::Bool(true));
        if again && visits + 1 >= rounds {
            continue;
        }
        let taken = take(routine, world, choice.as_ref())
            .unwrap_or_else(|e| panic!("{}, {}, {choice:?}: {e}", routine.title, stop.id));
        let scene = Scene {
            routine,
            world: &taken.world,
        };
        for claim in &stop.claims {
            let holds = claim
                .kind
                .holds(scene)
                .unwrap_or_else(|e| panic!("{}, {}: {e}", routine.title, stop.id));
            assert!(
                holds,
                "{}, {}, {choice:?}: \u{201c}{}\u{201d} fails",
                routine.title, stop.id, claim.words
            );
            seen.claims += 1;
        }
        seen.stops.insert(stop.id.to_string());
        walk_all(
            routine,
            &taken.world,
            rounds,
            visits + u32::from(again),
            seen,
        );
    }
}

/// Every road, with at most so many rounds; every step must lie on one of them.
fn all_roads(routine: &Routine, rounds: u32) -> u64 {
    let mut seen = Seen::default();
    walk_all(routine, &start(routine, 1), rounds, 0, &mut seen);
    let written: BTreeSet<String> = routine.stops.iter().map(|s| s.id.to_string()).collect();
    assert_eq!(
        seen.stops, written,
        "{}: steps that no road comes past",
        routine.title
    );
    assert!(
        seen.claims > seen.roads,
        "{}: claims are checked on every road",
        routine.title
    );
    seen.roads
}

fn in_words(template: &Template, walked: &Walked, routine: &Routine) -> String {
    template
        .render(Scene {
            routine,
            world: &walked.after,
        })
        .unwrap_or_else(|e| panic!("{}: the patter cannot be said: {e}", routine.title))
}

#[test]
fn five_routines_are_shipped_and_load_with_any_set_up() {
    assert_eq!(SHIPPED.len(), 5);
    for shipped in SHIPPED {
        for setup in 0..20 {
            let routine = read(shipped.text, shipped.name, setup);
            assert_eq!(routine.setup, setup);
        }
    }
}

#[test]
fn every_step_can_be_performed_from_what_is_written() {
    for (name, routine) in every() {
        assert!(
            !routine.title.is_empty() && !routine.blurb.is_empty() && !routine.principle.is_empty(),
            "{name}"
        );
        assert!(routine.running_time.is_some(), "{name}");
        let steps: Vec<&Stop> = steps(&routine).collect();
        assert!(
            (6..=12).contains(&steps.len()),
            "{name} has {} steps",
            steps.len()
        );
        for stop in steps {
            assert!(!stop.title.is_empty(), "{name}, {}: no title", stop.id);
            assert!(
                !stop.say.0.is_empty(),
                "{name}, {}: nothing to say",
                stop.id
            );
            assert!(
                stop.target.is_some_and(|t| t.0 > 0),
                "{name}, {}: no target",
                stop.id
            );
            assert!(
                stop.acts.is_empty() || !stop.handling.is_empty(),
                "{name}, {}: no handling",
                stop.id
            );
            for reckoning in &stop.reckonings {
                let asks = reckoning.asks.as_deref().unwrap_or_default();
                assert!(
                    asks.ends_with('?'),
                    "{name}, {}: a reckoning without its question",
                    stop.id
                );
            }
            for claim in &stop.claims {
                assert!(
                    !claim.words.is_empty(),
                    "{name}, {}: a claim without words",
                    stop.id
                );
            }
        }
        assert!(!routine.mends.is_empty(), "{name}: no mends");
        assert!(
            routine
                .mends
                .iter()
                .all(|m| !m.say.0.is_empty() && !m.acts.is_empty()),
            "{name}"
        );
        assert!(steps_with_strays(&routine) > 0, "{name}: no strays");
        let last = routine
            .endings
            .last()
            .and_then(|e| routine.stop(e.first))
            .expect("a finale");
        assert!(!last.claims.is_empty(), "{name}: the finale claims nothing");
    }
}

fn steps_with_strays(routine: &Routine) -> usize {
    steps(routine).filter(|s| !s.strays.is_empty()).count()
}

#[test]
fn all_targets_together_fit_the_running_time() {
    for (name, routine) in every() {
        let talking: u64 = steps(&routine).filter_map(|s| s.target).map(|t| t.0).sum();
        let in_all = routine.running_time.expect("checked above").0;
        assert!(
            talking <= in_all,
            "{name}: {talking} ms of steps in {in_all} ms"
        );
    }
}

#[test]
fn the_patter_can_be_said_aloud_on_every_sampled_road() {
    for (name, routine) in every() {
        for seed in 0..200 {
            let road =
                sample(&routine, seed).unwrap_or_else(|e| panic!("{name}, seed {seed}: {e}"));
            for walked in &road.walked {
                let stop = routine.stop(walked.stop).expect("a stop");
                let said = in_words(&stop.say, walked, &routine);
                let length = said.chars().count();
                assert!(
                    length <= LONGEST_PATTER,
                    "{name}, {}: {length} characters",
                    stop.id
                );
                assert!(
                    !said.contains(['{', '}', '_', '\n']),
                    "{name}, {}: {said}",
                    stop.id
                );
                assert!(
                    !said.contains("  "),
                    "{name}, {}: two spaces in {said}",
                    stop.id
                );
                for sentence in said
                    .split(['.', '?', '!'])
                    .map(|s| s.trim_start_matches(['"', ' ']))
                {
                    let first = sentence.chars().next();
                    assert!(
                        !first.is_some_and(char::is_lowercase),
                        "{name}, {}: \u{201c}{sentence}\u{201d}",
                        stop.id
                    );
                }
                if let Some(fork) = &stop.fork {
                    let says = in_words(&fork.says, walked, &routine);
                    assert!(
                        !says.is_empty(),
                        "{name}, {}: the spectator says nothing",
                        stop.id
                    );
                }
            }
        }
    }
}

#[test]
fn what_a_spectator_decides_is_heard_or_used() {
    for (name, routine) in every() {
        let blanks = steps(&routine)
            .flat_map(|s| &s.say.0)
            .filter(|blank| matches!(blank, Blank::Value(_)))
            .count();
        assert!(blanks > 0, "{name}: no blank in all its patter");
    }
}

#[test]
fn every_claim_holds_on_two_thousand_sampled_roads() {
    for (name, _) in every() {
        for setup in 0..4 {
            let routine = shipped(name, setup);
            for seed in 0..SAMPLED / 4 {
                let road = sample(&routine, seed + setup * SAMPLED)
                    .unwrap_or_else(|e| panic!("{name}, set-up {setup}, seed {seed}: {e}"));
                for walked in &road.walked {
                    let broken =
                        broken_claims(&routine, walked).expect("claims that can be worked out");
                    let words: Vec<&str> = broken.iter().map(|c| c.words.as_str()).collect();
                    assert!(
                        words.is_empty(),
                        "{name}, set-up {setup}, seed {seed}: {words:?}"
                    );
                }
            }
        }
    }
}

#[test]
fn audition_casts_the_chosen_card_on_all_its_roads() {
    // 52 cards, 22 sizes of the crowd, two tempers.
    assert_eq!(all_roads(&shipped("audition", 0), 1), 52 * 22 * 2);
}

#[test]
fn lost_umbrella_calls_every_card_at_every_number() {
    assert_eq!(all_roads(&shipped("lost-umbrella", 0), 1), 27 * 27);
}

#[test]
fn slow_post_stays_a_mirror_through_all_orders_of_six_rounds() {
    // 2 + 4 + … + 64 ways of stacking, then seven letters.
    assert_eq!(all_roads(&shipped("slow-post", 0), 6), 126 * 7);
}

#[test]
fn geese_draw_the_vote_on_all_roads_of_three_rounds() {
    // Two parties; sixteen cuts a round.
    assert_eq!(
        all_roads(&shipped("geese", 0), 3),
        2 * (16 + 16 * 16 + 16 * 16 * 16)
    );
}

#[test]
fn chairlift_pairs_on_all_roads_of_a_coach_of_eight() {
    let text = SHIPPED
        .iter()
        .find(|s| s.name == "chairlift")
        .expect("a shipped routine")
        .text;
    let small = [
        ("R B R B R B R B R B R B R B R B R B R B", "R B R B R B R B"),
        ("{from: 4, to: 16}", "{from: 1, to: 7}"),
        (
            "weights: [1, 2, 3, 4, 3, 6, 4, 5, 3, 2, 3, 2, 1]",
            "weights: [1, 2, 3, 4, 3, 2, 1]",
        ),
        ("{piles: [packet], is: 20}", "{piles: [packet], is: 8}"),
        ("{from: 2, to: 10}", "{from: 2, to: 4}"),
        ("weights: [1, 2, 2, 3, 2, 5, 2, 2, 1]", "weights: [1, 2, 1]"),
        ("2 * (10 - ride)", "2 * (4 - ride)"),
    ]
    .iter()
    .fold(text.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    });
    // Seven cuts; 2^8 - 2 ways of dealing one to seven off and pushing them in; three chairs; two hands.
    assert_eq!(
        all_roads(&read(&small, "a small chairlift", 0), 1),
        7 * 254 * 3 * 2
    );
}

#[test]
fn an_out_is_taken_exactly_where_it_should_be() {
    let routine = shipped("lost-umbrella", 0);
    for (ticket, ending) in [
        (1, "front-of-the-queue"),
        (2, "called"),
        (26, "called"),
        (27, "last-of-the-day"),
    ] {
        let choices =
            Choices::read(&routine, [format!("ticket={ticket}").as_str()]).expect("a choice");
        let road = replay(&routine, 3, &choices).expect("a road");
        let last = road
            .walked
            .last()
            .and_then(|w| routine.stop(w.stop))
            .expect("an ending");
        assert_eq!(last.id.to_string(), ending);
    }
}

#[test]
fn the_routine_in_the_readme_works_on_all_its_roads() {
    let readme = include_str!("../README.md");
    let (_, after) = readme.split_once("```yaml\n").expect("an example");
    let (text, _) = after.split_once("```").expect("its end");
    // Two to six of eight dealt off, and every way of pushing them in: 28 + 56 + 70 + 56 + 28.
    assert_eq!(all_roads(&read(text, "README.md", 0), 1), 238);
}

#[test]
fn the_readme_names_routines_steps_and_choices_that_exist() {
    let readme = include_str!("../README.md");
    for (name, _) in every() {
        assert!(
            readme.contains(&format!("`{name}`")),
            "{name} is not told of"
        );
    }
    let (_, steps) = readme.split_once("--from ").expect("an example of a step");
    let step = steps.split('`').next().unwrap_or_default();
    assert!(shipped("chairlift", 0).find_step(step).is_some(), "{step}");
    let (_, choices) = readme
        .split_once("--choose ")
        .expect("an example of a choice");
    let choice = choices.split(['`', ' ']).next().unwrap_or_default();
    Choices::read(&shipped("chairlift", 0), [choice]).expect("a choice of that routine");
}

/// What the mend of this name does, as the file writes it.
fn mend_acts<'t>(text: &'t str, mend: &str) -> &'t str {
    let (_, mends) = text.split_once("\nmends:\n").unwrap_or_default();
    let (_, mend) = mends
        .split_once(&format!("- id: {mend}\n"))
        .unwrap_or_default();
    let (_, acts) = mend.split_once("    do:\n").unwrap_or_default();
    acts.split_once("    rank:").unwrap_or_default().0
}

/// The routine with one step more before another: somebody does something odd, and the mend is made at once.
fn with_stray(name: &str, before: &str, odd: &str, mend: &str, claim: &str) -> Routine {
    let text = SHIPPED
        .iter()
        .find(|s| s.name == name)
        .map_or("", |s| s.text);
    let acts = mend_acts(text, mend);
    assert!(!acts.is_empty(), "{name} has no mend {mend}");
    let step = format!(
        "  - id: stray\n    title: Odd\n    say: Oh.\n    target: 1s\n    fork: {{name: odd, says: Oh., number: {{from: 1, to: 15}}}}\n    \
         reckon: [{{name: kept, is: odd}}]\n    do:\n      - {odd}\n{acts}    claims:\n      - {claim}\n      - expr: kept > 0\n"
    );
    let at = format!("  - id: {before}\n");
    assert!(text.contains(&at), "{name}: {before}");
    read(&text.replace(&at, &format!("{step}{at}")), name, 0)
}

#[test]
fn each_mend_sets_right_what_it_is_meant_for() {
    let mirror = "mirror: {pile: packet, by: mates}";
    let pairs = "blocks: {pile: packet, of: 2, trait: colour}";
    let spot = "place: {card: star, pile: stage, is: spot}";
    let down = "count: {piles: [packet], up: false, is: 27}";
    let whole = "count: {piles: [packet], is: 16}";
    let cases = [
        (
            "slow-post",
            "damp",
            "cut: {pile: packet, at: odd}",
            "thumbs",
            mirror,
        ),
        ("slow-post", "damp", "turn: packet", "upside-down", mirror),
        (
            "chairlift",
            "first-seat",
            "cut: {pile: packet, at: 2 * (odd / 2) + 1}",
            "forgotten-glove",
            pairs,
        ),
        (
            "chairlift",
            "first-seat",
            "cut: {pile: packet, at: 2 * (odd / 2) + 1}",
            "friend-of-the-lift-man",
            pairs,
        ),
        (
            "audition",
            "first-two",
            "move: {from: stage, to: stage, count: 1, take: bottom}",
            "stage-fright",
            spot,
        ),
        (
            "audition",
            "first-two",
            "reverse: stage",
            "wrong-door",
            spot,
        ),
        (
            "lost-umbrella",
            "sort-twice",
            "turn: packet",
            "face-down-please",
            down,
        ),
        (
            "lost-umbrella",
            "sort-twice",
            "reverse: packet",
            "drawer-for-hats",
            down,
        ),
        (
            "geese",
            "benches",
            "turn: {pile: packet, count: 1}",
            "point-of-order",
            whole,
        ),
        (
            "geese",
            "benches",
            "turn: {pile: packet, count: 3}",
            "no-coalitions",
            whole,
        ),
    ];
    for (name, before, odd, mend, claim) in cases {
        let routine = with_stray(name, before, odd, mend, claim);
        for seed in 0..100 {
            let road = sample(&routine, seed).unwrap_or_else(|e| panic!("{name}, {mend}: {e}"));
            for walked in &road.walked {
                let broken =
                    broken_claims(&routine, walked).expect("claims that can be worked out");
                let words: Vec<&str> = broken.iter().map(|c| c.words.as_str()).collect();
                assert!(words.is_empty(), "{name}, {mend}, seed {seed}: {words:?}");
            }
        }
    }
}
