//! Real hands, played by a performer who has a table of their own that the program never sees.

use super::*;
use crate::drill::question::Subject;
use crate::drill::spoken::prompt::Speaker;
use crate::drill::spoken::road::{Decided, Next};
use crate::drill::tests::made_up::made_up;
use crate::drill::tests::play::{plan, shipped};
use crate::handling::{End, Kept, Move};
use crate::roads::{Shuffler, domain, start, take};
use crate::routine::{Scene, Value, World};

mod packets;

/// A performer with real cards: the free choices are theirs.
struct Table {
    world: World,
    choices: Draw,
}

impl Table {
    fn laid(routine: &Routine, hands: &Hands, seed: u64) -> Self {
        if !hands.road.walked.is_empty() {
            // In the middle of a road every card lies where the program said.
            return Self {
                world: hands.road.scene(routine).world.clone(),
                choices: Draw::for_step(seed, "hands", 1),
            };
        }
        // The program cannot know how a shuffled deck lies.
        assert!(routine.shuffled.is_empty() || hands.road.seed != seed);
        Self {
            world: start(routine, seed),
            choices: Draw::for_step(seed, "hands", 1),
        }
    }

    /// Does the step that the hands are told to do.
    fn follow(&mut self, routine: &Routine, next: &Next) {
        let value = match &next.decided {
            Decided::Nobody => None,
            Decided::Spoken(value) | Decided::Thought(value) => Some(value.clone()),
            Decided::Free => {
                let open = domain(routine, &self.world).unwrap().unwrap();
                Some(open.sample(&mut self.choices))
            }
        };
        assert_eq!(self.world.at, next.stop);
        self.world = take(routine, &self.world, value.as_ref()).unwrap().world;
    }

    fn answers(&self, told: &Told) -> bool {
        match told {
            Told::Reply(Sighted::Reply(name, value)) => self.world.value(*name) == Some(value),
            Told::Reply(_) => false,
            Told::Way(at) => self.world.at == *at,
        }
    }

    /// Whether it is one of the tables that the program thinks possible, as far as faces are fixed there.
    fn could_be(&self, hands: &Hands) -> bool {
        hands.road.all.worlds().is_none_or(|worlds| {
            worlds.iter().any(|world| {
                world.table == self.world.table
                    && world.at == self.world.at
                    && world
                        .memory
                        .iter()
                        .zip(&self.world.memory)
                        .all(|(thought, real)| thought.is_none() || thought == real)
            })
        })
    }
}

struct Went {
    asked: usize,
    said: Vec<Speech>,
    kept: Vec<crate::drill::Answered>,
    summary: Summary,
    steps: usize,
    free: usize,
}

/// Plays one rehearsal of so many questions; `end` is called at the judgement and gives what is typed.
fn perform(
    routine: &Arc<Routine>,
    drill: Drill,
    questions: u32,
    seed: u64,
    end: impl FnMut(&mut Hands, &Table) -> Vec<Deed>,
) -> Went {
    perform_on(routine, plan(&[drill], questions, seed), drill, end)
}

fn perform_on(
    routine: &Arc<Routine>,
    plan: crate::drill::Plan,
    drill: Drill,
    mut end: impl FnMut(&mut Hands, &Table) -> Vec<Deed>,
) -> Went {
    let seed = plan.seed;
    let mut hands = Hands::new(Arc::clone(routine), plan, drill).unwrap();
    let mut table = Table::laid(routine, &hands, seed + 999);
    let mut went = Went {
        asked: 0,
        said: Vec::new(),
        kept: Vec::new(),
        summary: Summary::default(),
        steps: 0,
        free: 0,
    };
    let mut now = 0;
    for _ in 0..5_000 {
        now += 700;
        hands.work_ahead();
        let deeds = match hands.phase.clone() {
            Phase::SetUp(_) => {
                table = Table::laid(routine, &hands, seed + 999 + now);
                vec![Deed::Go]
            }
            Phase::Step(_) => {
                let next = hands.road.next.clone().unwrap();
                went.steps += 1;
                went.free += usize::from(next.decided == Decided::Free);
                table.follow(routine, &next);
                vec![Deed::Go]
            }
            Phase::Answered(step) => {
                assert!(step.spectator.is_some());
                vec![Deed::Go]
            }
            Phase::Which(which, meant, _) => {
                assert_eq!(which.options.len(), meant.len());
                let at = meant.iter().position(|told| table.answers(told)).unwrap();
                vec![Deed::Answer((at + 1).to_string())]
            }
            Phase::Ask(ask) => {
                went.asked += 1;
                assert!(table.could_be(&hands));
                let scene = Scene {
                    routine,
                    world: &table.world,
                };
                // Fair: on the table that really lies there the answer is the one expected.
                let subject = &ask.question.subject;
                if subject.applies(scene)
                    && let Ok(real) = subject.answer(scene)
                {
                    assert_eq!(real, ask.question.expected, "{}", ask.question.text);
                }
                let typed: String = ask.question.expected_keys.chars().take(ask.keys).collect();
                vec![Deed::Answer(typed)]
            }
            Phase::Judge(_) => {
                assert!(table.could_be(&hands), "{} {seed}", routine.title);
                end(&mut hands, &table)
            }
            Phase::Marked(_) | Phase::Verdict(_) => vec![Deed::Go],
            Phase::Packet(..) | Phase::Where(_) => vec![Deed::Answer(String::new())],
            Phase::Done(summary) => {
                went.summary = summary;
                return went;
            }
        };
        for deed in deeds {
            for effect in hands.update(&deed, Millis(now)) {
                match effect {
                    SpokenEffect::Say(speech) => went.said.push(speech),
                    SpokenEffect::Keep(answered) => went.kept.push(answered),
                    SpokenEffect::Unread(how) => panic!("{deed:?}: {how}"),
                    SpokenEffect::Play(_) | SpokenEffect::Hush | SpokenEffect::Finished(_) => {}
                }
            }
        }
    }
    panic!("{} never ends", routine.title);
}

fn true_end(_: &mut Hands, _: &Table) -> Vec<Deed> {
    vec![Deed::Go]
}

#[test]
fn whatever_the_hands_do_freely_the_program_follows_and_asks_only_what_is_true_there() {
    let mut asked = 0;
    for routine in shipped() {
        for seed in 0..12 {
            let went = perform(&routine, Drill::Hands, 4, seed, true_end);
            asked += went.asked;
            assert!(went.steps > 0);
            assert!(
                went.summary.right == went.summary.asked,
                "{}",
                routine.title
            );
        }
    }
    assert!(asked >= 100, "{asked}");
}

#[test]
fn made_up_routines_are_followed_too() {
    let (mut asked, mut free) = (0, 0);
    for number in 1..=40 {
        let routine = made_up(number);
        let went = perform(&routine, Drill::Hands, 3, number, true_end);
        asked += went.asked;
        free += went.free;
    }
    assert!(asked > 40 && free > 0, "{asked} {free}");
}

#[test]
fn a_dress_rehearsal_asks_and_helps_with_nothing_and_ends_after_one_road() {
    for routine in shipped() {
        let went = perform(&routine, Drill::Dress, 4, 3, |hands, _| {
            assert!(hands.answers.is_empty());
            vec![Deed::Go]
        });
        assert_eq!(went.asked, 0);
        assert_eq!(went.summary.roads, 1);
        let spectators = went
            .said
            .iter()
            .filter(|speech| speech.who == Speaker::Spectator)
            .count();
        // Besides them only the question at the end is spoken.
        assert_eq!(went.said.len(), spectators + 1);
        assert!(went.summary.went_well[0].starts_with("The whole routine took"));
        assert!(went.kept.iter().all(|kept| kept.drill == Drill::Dress));
    }
}

#[test]
fn a_step_is_kept_as_done_only_when_the_ending_came_true() {
    let routine = &shipped()[0];
    let well = perform(routine, Drill::Hands, 0, 5, true_end);
    let steps = well.kept.iter().filter(|kept| kept.kind == "step").count();
    assert_eq!(steps, well.steps);
    assert_eq!(well.kept.last().unwrap().kind, "ending");
    let badly = perform(routine, Drill::Hands, 0, 5, |_, _| vec![Deed::Back]);
    assert!(badly.kept.iter().all(|kept| kept.kind != "step"));
    let ending = badly.kept.last().unwrap();
    assert_eq!((ending.kind.as_str(), ending.right), ("ending", false));
}

#[test]
fn a_miss_is_corrected_aloud_and_no_step_is_blamed_that_only_the_table_could_tell() {
    let (mut missed, mut blamed) = (0, 0);
    let made = (1..=20).map(made_up);
    for (number, routine) in shipped().into_iter().chain(made).enumerate() {
        let seed = u64::try_from(number).unwrap();
        let plan = plan(&[Drill::Hands], 3, seed);
        let mut hands = Hands::new(Arc::clone(&routine), plan, Drill::Hands).unwrap();
        for turn in 0..400 {
            let deed = match &hands.phase {
                Phase::Which(..) => Deed::Answer("1".into()),
                Phase::Ask(_) => Deed::Answer("-".into()),
                Phase::Done(_) => break,
                _ => Deed::Go,
            };
            let asked = match &hands.phase {
                Phase::Ask(ask) => Some(ask.question.clone()),
                _ => None,
            };
            let effects = hands.update(&deed, Millis(turn * 700));
            let Some(question) = asked else {
                continue;
            };
            missed += 1;
            let said: Vec<&Speech> = effects
                .iter()
                .filter_map(|effect| match effect {
                    SpokenEffect::Say(speech) => Some(speech),
                    _ => None,
                })
                .collect();
            let [said] = said.as_slice() else {
                panic!("{said:?}");
            };
            let Phase::Marked(marked) = &hands.phase else {
                panic!("{}", question.text);
            };
            assert_eq!(said.who, Speaker::Prompter);
            let lower = |text: &str| text.to_lowercase();
            assert!(
                lower(&said.words).contains(&lower(question.expected_words.trim_end_matches('.')))
            );
            assert!(said.words.ends_with(&marked.why));
            // A step is blamed only where nothing else could lie on the table than what was told.
            let told = matches!(question.subject, Subject::Remembered(_));
            if !told && !marked.why.is_empty() {
                blamed += 1;
                assert_eq!(hands.road.all.worlds().unwrap().len(), 1, "{}", marked.why);
                assert!(hands.road.thoughts.is_empty());
            }
        }
    }
    assert!(missed >= 30 && blamed >= 5, "{missed} {blamed}");
}

#[test]
fn the_set_up_is_told_card_by_card() {
    let routine = shipped()
        .into_iter()
        .find(|routine| routine.shuffled.is_empty())
        .unwrap();
    let mut hands = Hands::new(
        Arc::clone(&routine),
        plan(&[Drill::Hands], 0, 1),
        Drill::Hands,
    )
    .unwrap();
    let mut told = Vec::new();
    let mut deed = Deed::Cards;
    loop {
        let said: Vec<String> = hands
            .update(&deed, Millis(0))
            .into_iter()
            .filter_map(|effect| match effect {
                SpokenEffect::Say(speech) => Some(speech.words),
                _ => None,
            })
            .collect();
        let Phase::SetUp(lay) = &hands.phase else {
            panic!("it began by itself");
        };
        if lay.telling.is_none() {
            break;
        }
        told.push(said.last().unwrap().clone());
        deed = Deed::Go;
    }
    let laid: usize = routine.start.piles().map(|(_, cards)| cards.len()).sum();
    assert_eq!(told.len(), laid);
    let (_, first) = routine.start.piles().next().unwrap();
    assert!(told[0].starts_with(routine.pack.name(first[0].card())));
}

#[test]
fn the_time_of_a_step_is_rung_once_and_a_line_is_repeated() {
    let routine = shipped()
        .into_iter()
        .find(|routine| routine.stops[0].target.is_some())
        .unwrap();
    let mut hands = Hands::new(
        Arc::clone(&routine),
        plan(&[Drill::Hands], 0, 1),
        Drill::Hands,
    )
    .unwrap();
    let said = |effects: Vec<SpokenEffect>| -> Vec<Speech> {
        effects
            .into_iter()
            .filter_map(|effect| match effect {
                SpokenEffect::Say(speech) => Some(speech),
                _ => None,
            })
            .collect()
    };
    let first = said(hands.update(&Deed::Go, Millis(1_000)));
    let again = said(hands.update(&Deed::Back, Millis(1_500)));
    assert_eq!(first, again);
    let target = routine.stops[0].target.unwrap();
    let early = hands.update(&Deed::Tick, Millis(1_000 + target.0 - 1));
    assert!(early.is_empty());
    let rung = hands.update(&Deed::Tick, Millis(1_000 + target.0));
    assert_eq!(rung, [SpokenEffect::Play(Sound::Time)]);
    assert!(
        hands
            .update(&Deed::Tick, Millis(2_000 + target.0))
            .is_empty()
    );
}

#[test]
fn what_is_spoken_says_the_choice_that_hands_follow() {
    // A number that is spoken stands in the spectator's words, and large.
    for routine in shipped() {
        perform(&routine, Drill::Hands, 0, 8, |hands, _| {
            for walked in &hands.road.walked {
                let stop = routine.stop(walked.stop).unwrap();
                let spoken = stop
                    .fork
                    .as_ref()
                    .is_some_and(|fork| matches!(fork.seen, crate::routine::Seen::All));
                if let (true, Some((_, Value::Int(n)))) = (spoken, &walked.choice) {
                    let scene = Scene {
                        routine: &routine,
                        world: &walked.after,
                    };
                    let decided = Decided::Spoken(Value::Int(*n));
                    assert_eq!(words::word(scene, stop, &decided), n.to_string());
                    let said = words::said(scene, stop, &decided, &walked.sights).unwrap();
                    assert!(said.contains(&n.to_string()), "{said}");
                }
            }
            vec![Deed::Go]
        });
    }
}

#[test]
fn a_road_can_begin_at_any_step_with_the_cards_laid_as_they_lie_there() {
    for routine in shipped() {
        for (n, stop) in routine.stops.iter().enumerate() {
            if crate::drill::say::is_gate(stop) {
                continue;
            }
            let mut asked = plan(&[Drill::Hands], 2, 4);
            asked.from = Some(stop.id.clone());
            let hands = match Hands::new(Arc::clone(&routine), asked.clone(), Drill::Hands) {
                Ok(hands) => hands,
                // An ending that few roads come to.
                Err(DrillFault::NotReached(_)) => continue,
                Err(fault) => panic!("{fault}"),
            };
            assert_eq!(
                hands.road.next.as_ref().unwrap().stop,
                StopIndex(u16::try_from(n).unwrap())
            );
            let Phase::SetUp(lay) = &hands.phase else {
                panic!("{:?}", hands.phase);
            };
            assert_eq!(lay.so_far.is_empty(), n == 0);
            // The cards are those of the road of the seed, walked by itself.
            let road = crate::roads::sample(&routine, hands.road.seed).unwrap();
            let before = &road
                .walked
                .iter()
                .find(|walked| walked.stop.index() == n)
                .unwrap()
                .before;
            if n > 0 {
                for pile in &lay.piles {
                    let names: Vec<String> = before
                        .table
                        .pile(pile.pile)
                        .iter()
                        .map(|laid| routine.pack.symbol(before.face_of(laid.card()).unwrap()))
                        .collect();
                    let laid: Vec<String> =
                        pile.cards.iter().map(|card| card.short.clone()).collect();
                    assert_eq!(laid, names);
                }
            }
            let went = perform_on(&routine, asked, Drill::Hands, true_end);
            assert_eq!(went.summary.right, went.summary.asked, "{}", routine.title);
        }
    }
    let mut nowhere = plan(&[Drill::Hands], 0, 1);
    nowhere.from = Some(crate::routine::StepId("x".into()));
    assert!(matches!(
        Hands::new(made_up(1), nowhere, Drill::Hands),
        Err(DrillFault::NoStep(_))
    ));
}
