//! Panes on a test screen, and key scripts.

mod after;
mod live;
mod progress;

use super::*;
use crate::cards::{Card, Lang, Pack};
use crate::coach::Hold;
use crate::drill::{
    Answered, Correction, Drill, Expected, Key, Kind, Line, Prompt, Question, Session, Spot,
    Spread, StepSummary, Subject, Summary, Tell, Tile, Word,
};
use crate::routine::{
    Fork, ForkKind, Millis, NameId, Routine, Seen, StepId, Stop, StopIndex, Template, Then, Weights,
};
use crate::table::{Laid, PileId, Place as CardPlace};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::style::Color;
use std::collections::BTreeMap;
use std::sync::Arc;

const COLOUR: Theme = Theme {
    colour: true,
    unicode: true,
};

fn stop(n: u16, id: &str, title: &str, say: &str, handling: &str, fork: bool) -> Stop {
    Stop {
        id: StepId(id.into()),
        by: None,
        theirs: false,
        title: title.into(),
        say: Template::plain(say),
        handling: handling.into(),
        fork: fork.then(|| Fork {
            name: NameId(0),
            kind: ForkKind::Option(vec!["north".into(), "south".into()]),
            weights: Weights::Even,
            says: Template::plain("North."),
            seen: Seen::All,
        }),
        reckonings: Vec::new(),
        acts: Vec::new(),
        reply: None,
        sights: Vec::new(),
        claims: Vec::new(),
        target: Some(Millis(12_000)),
        strays: Vec::new(),
        caution: None,
        hint: None,
        then: if n == 4 {
            Then::Finish
        } else {
            Then::Go(StopIndex(n + 1))
        },
        line: 1,
    }
}

fn routine(title: &str) -> Arc<Routine> {
    let mut routine = Routine::bare(
        Pack::full(Lang::EnGb).unwrap(),
        &["packet", "north", "south"],
    );
    routine.title = title.into();
    routine.blurb = "Two ferries leave from the same pier, and every passenger boards the one that was meant for them.".into();
    routine.principle = "Colours that alternate stay matched in pairs after one riffle.".into();
    routine.content_hash = "00ff".into();
    for (n, card) in [6u16, 20, 33, 41, 12, 2].into_iter().enumerate() {
        routine
            .start
            .pile_mut(PileId(0))
            .push_back(Laid::new(Card(card), n == 2));
    }
    routine.names = vec![crate::routine::Name {
        name: "pier".into(),
        kind: crate::routine::NameKind::Fork,
        about: Some("the pier they chose".into()),
    }];
    routine.stops = vec![
        stop(
            0,
            "show",
            "Show the packet",
            "These are the passengers. They never could agree on anything.",
            "Spread them face up, close, hold face down.",
            false,
        ),
        stop(
            1,
            "pier",
            "They choose a pier",
            "Which pier would you like them to leave from? It is the last thing anybody asks them.",
            "",
            true,
        ),
        stop(
            2,
            "deal",
            "Deal to the pier",
            "One by one they go on board, and nobody looks back.",
            "Deal onto the pier they named, reversing the order.",
            false,
        ),
        stop(
            3,
            "turn",
            "Turn the boat round",
            "The weather turns, and so do they.",
            "",
            false,
        ),
        stop(
            4,
            "landing",
            "Everybody lands",
            "And every one of them sits beside the one they came with.",
            "Turn up pair by pair.",
            false,
        ),
    ];
    Arc::new(routine)
}

fn shelved(name: &str, title: &str, days: Option<u32>) -> Shelved {
    let holds = match days {
        None => Vec::new(),
        Some(_) => vec![
            (StepId("show".into()), Hold::ShowReady),
            (StepId("pier".into()), Hold::Steady),
            (StepId("deal".into()), Hold::Shaky),
        ],
    };
    Shelved {
        name: name.into(),
        routine: routine(title),
        standing: Standing {
            days,
            holds,
            lines: Vec::new(),
            guide: None,
            planned: None,
            changed: None,
            met: BTreeMap::new(),
        },
        proven: match name {
            "ferry" => Proven::Proved,
            "lamp" => Proven::CanFail,
            "ladder" => Proven::NotProved,
            _ => Proven::NotYet,
        },
    }
}

fn shelf(rehearsed: bool) -> Vec<Shelved> {
    let days = |n| rehearsed.then_some(n);
    vec![
        shelved("ferry", "The Two Ferries", days(3)),
        shelved("lamp", "Who Left the Lamp On", days(1)),
        shelved("ladder", "A Ladder for Two", None),
    ]
}

fn foyer(rehearsed: bool) -> State {
    State::foyer(COLOUR, shelf(rehearsed), Terms::usual(7))
}

fn tell() -> Tell {
    Tell {
        stop: Some(StopIndex(1)),
        title: "They choose a pier".into(),
        patter:
            "Which pier would you like them to leave from? It is the last thing anybody asks them."
                .into(),
        handling: vec!["Point at both piers and wait.".into()],
        seen: vec!["They chose the north pier.".into()],
        road: 1,
        done: 1,
        of: 5,
        seed: 7,
        choices: vec!["pier=north".into()],
        table: vec![
            Spread {
                pile: PileId(0),
                count: Some(6),
                tiles: vec![Tile {
                    card: None,
                    up: Some(false),
                    traits: vec![],
                }],
            },
            Spread {
                pile: PileId(1),
                count: Some(3),
                tiles: vec![Tile {
                    card: Some(Card(20)),
                    up: Some(true),
                    traits: vec![],
                }],
            },
            Spread {
                pile: PileId(2),
                count: Some(0),
                tiles: vec![],
            },
        ],
    }
}

fn question() -> Question {
    Question {
        key: Key {
            step: StepId("pier".into()),
            drill: Drill::Picture,
            kind: Kind::Card,
            detail: "packet 1".into(),
        },
        text: "Which card lies on top of the packet?".into(),
        answer_as: "a card, like 7H".into(),
        given: vec![
            "You set the packet out yourself.".into(),
            "They chose the north pier.".into(),
        ],
        expected: Expected::Card(Card(20)),
        expected_words: "the eight of hearts".into(),
        expected_keys: "8H".into(),
        subject: Subject::CardAt(PileId(0), CardPlace(1)),
        spot: Spot {
            road: 1,
            stop: StopIndex(1),
            visit: 1,
            done: 2,
        },
        sights: vec![],
        seed: 7,
        choices: vec!["pier=north".into()],
        one_pile: true,
        again: false,
    }
}

fn correction() -> Correction {
    let tiles = [6u16, 20, 33, 41, 12, 2]
        .into_iter()
        .enumerate()
        .map(|(n, card)| Tile {
            card: (n != 4).then_some(Card(card)),
            up: Some(n == 2),
            traits: vec![],
        })
        .collect();
    Correction {
        question: question(),
        given: "7 of clubs".into(),
        expected: Expected::Card(Card(20)),
        answer: "the eight of hearts".into(),
        why: "“They choose a pier” moved the top card under, so the second one came to the top."
            .into(),
        packet: vec![Spread {
            pile: PileId(0),
            count: Some(6),
            tiles,
        }],
        words: vec![],
    }
}

fn rehearsal(prompt: Prompt) -> State {
    let mut state = foyer(true);
    let plan = state.terms.plan();
    let session = Session::new(routine("The Two Ferries"), plan).unwrap();
    state.page = Page::Rehearsal(Box::new(Rehearsal {
        which: 0,
        session,
        prompt,
        told: Some(tell()),
        trail: vec![false, true],
        input: String::new(),
        watch: Watch::new(),
        spent: Watch::new(),
        paused: false,
        unread: None,
        tally: (4, 3),
        lost: 0,
        rested: false,
    }));
    state
}

fn asked(input: &str) -> State {
    let mut state = rehearsal(Prompt::Ask(question()));
    if let Page::Rehearsal(rehearsal) = &mut state.page {
        rehearsal.input = input.into();
    }
    state
}

fn summary() -> Summary {
    let step = StepSummary {
        step: StepId("deal".into()),
        title: "Deal to the pier".into(),
        asked: 4,
        right: 2,
        median: Some(Millis(6_340)),
        target: Some(Millis(12_000)),
    };
    Summary {
        asked: 10,
        right: 8,
        roads: 2,
        steps: vec![step.clone()],
        weak: vec![step],
        went_well: vec!["Every question about the opening was right.".into()],
        next: "Tomorrow, five minutes from the step “Deal to the pier”.".into(),
    }
}

fn ended() -> State {
    let mut state = foyer(true);
    state.page = Page::Ended(Box::new(Ended {
        which: 0,
        summary: summary(),
        lost: 0,
        spent: Millis(372_000),
    }));
    state
}

fn line(aloud: bool) -> State {
    let words = if aloud {
        vec![]
    } else {
        vec![
            Word::Same("One by one they go".into()),
            Word::Missed("on".into()),
            Word::Changed("board,".into(), "ships".into()),
            Word::Same("and nobody".into()),
            Word::Added("ever".into()),
            Word::Same("looks back.".into()),
        ]
    };
    rehearsal(Prompt::Line(Line {
        question: question(),
        line: "One by one they go on board, and nobody looks back.".into(),
        handling: vec!["Deal onto the pier they named, reversing the order.".into()],
        words,
        aloud,
    }))
}

fn key_words() -> State {
    let mut correction = correction();
    correction.question.text = "What do you say at “Deal to the pier”?".into();
    correction.packet.clear();
    correction.words = "One by one they go on *board, and nobody looks *back."
        .split(' ')
        .map(|word| match word.strip_prefix('*') {
            Some(typed) => Word::Same(typed.into()),
            None => Word::Missed(word.into()),
        })
        .chain([Word::Added("ships".into())])
        .collect();
    rehearsal(Prompt::Correct(correction))
}

fn walking() -> State {
    let mut state = foyer(true);
    press(&mut state, "w");
    press(&mut state, "→→");
    state
}

/// What the screen shows, without the blanks at the ends of lines.
fn shown(state: &State, width: u16, height: u16) -> String {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| view(state, frame)).unwrap();
    let buffer = terminal.backend().buffer();
    let lines: Vec<String> = (0..height)
        .map(|y| {
            (0..width)
                .map(|x| buffer[(x, y)].symbol())
                .collect::<String>()
                .trim_end()
                .to_owned()
        })
        .collect();
    lines.join("\n")
}

/// Presses keys: `⏎` enter, `⎋` escape, `←→↑↓` arrows, `⌫` backspace, `^x` control-x. Gives back all effects.
fn press(state: &mut State, keys: &str) -> Vec<Effect> {
    press_at(state, keys, 0)
}

fn press_at(state: &mut State, keys: &str, now: u64) -> Vec<Effect> {
    let mut effects = Vec::new();
    let mut control = false;
    for c in keys.chars() {
        let code = match c {
            '^' => {
                control = true;
                continue;
            }
            '⏎' => KeyCode::Enter,
            '⎋' => KeyCode::Esc,
            '←' => KeyCode::Left,
            '→' => KeyCode::Right,
            '↑' => KeyCode::Up,
            '↓' => KeyCode::Down,
            '⌫' => KeyCode::Backspace,
            c => KeyCode::Char(c),
        };
        let modifiers = if control {
            KeyModifiers::CONTROL
        } else {
            KeyModifiers::NONE
        };
        control = false;
        effects.extend(update(
            state,
            Event::Key(KeyEvent::new(code, modifiers), Millis(now)),
        ));
    }
    effects
}

fn every_pane() -> Vec<(&'static str, State)> {
    let mut paused = asked("8");
    press(&mut paused, "^p");
    let mut help = asked("");
    press(&mut help, "?");
    let mut foyer_help = foyer(true);
    press(&mut foyer_help, "?");
    let mut unread = asked("");
    if let Page::Rehearsal(rehearsal) = &mut unread.page {
        rehearsal.unread = Some("That is no card: type it like 7H.".into());
    }
    let mut lost = ended();
    update(&mut lost, Event::NotKept("the disk is full".into()));
    let mut panes = live::panes();
    panes.extend(after::panes());
    panes.extend([
        ("foyer first", foyer(false)),
        ("foyer", foyer(true)),
        ("foyer help", foyer_help),
        ("walk", walking()),
        ("told", rehearsal(Prompt::Tell(tell()))),
        ("asked", asked("8 of h")),
        ("asked help", help),
        ("unread", unread),
        ("paused", paused),
        ("correction", rehearsal(Prompt::Correct(correction()))),
        ("line typed", line(false)),
        ("line key words", key_words()),
        ("line aloud", line(true)),
        ("summary", ended()),
        ("summary lost", lost),
    ]);
    panes
}

#[test]
fn every_pane_at_80_by_24() {
    for (name, state) in every_pane() {
        insta::assert_snapshot!(
            format!("80x24_{}", name.replace(' ', "_")),
            shown(&state, 80, 24)
        );
    }
}

#[test]
fn every_pane_at_120_by_40() {
    for (name, state) in every_pane() {
        insta::assert_snapshot!(
            format!("120x40_{}", name.replace(' ', "_")),
            shown(&state, 120, 40)
        );
    }
}

#[test]
fn every_pane_in_ascii() {
    for (name, mut state) in every_pane() {
        state.theme.unicode = false;
        let shown = shown(&state, 80, 24);
        assert!(shown.is_ascii(), "{name}: {shown}");
        insta::assert_snapshot!(format!("ascii_{}", name.replace(' ', "_")), shown);
    }
}

#[test]
fn without_colour_no_pane_has_any_and_the_text_is_the_same() {
    for (name, mut state) in every_pane() {
        let coloured = shown(&state, 80, 24);
        state.theme.colour = false;
        assert_eq!(coloured, shown(&state, 80, 24), "{name}");
        let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
        terminal.draw(|frame| view(&state, frame)).unwrap();
        for cell in terminal.backend().buffer().content() {
            assert_eq!((cell.fg, cell.bg), (Color::Reset, Color::Reset), "{name}");
        }
    }
}

#[test]
fn every_size_down_to_nothing_is_drawn_without_a_fault() {
    for (name, state) in every_pane() {
        for (width, height) in [
            (60, 20),
            (61, 21),
            (59, 20),
            (60, 19),
            (20, 5),
            (1, 1),
            (300, 80),
        ] {
            let shown = shown(&state, width, height);
            assert!(!shown.trim().is_empty(), "{name} at {width} by {height}");
        }
    }
    assert!(shown(&foyer(true), 59, 20).contains("allroads needs 60 by 20"));
}

#[test]
fn a_long_hint_is_shown_whole_on_a_narrow_screen() {
    let mut state = asked("");
    let hint = "That is not one of its steps. Type a step's title, its main words, or how it begins. If you do not know, type ?";
    if let Page::Rehearsal(rehearsal) = &mut state.page {
        rehearsal.unread = Some(hint.into());
    }
    for width in [80, 60] {
        let shown = shown(&state, width, 20);
        for word in hint.split(' ') {
            assert!(shown.contains(word), "{word}: {shown}");
        }
        assert!(shown.contains("type ?"), "{shown}");
    }
}

#[test]
fn a_step_and_what_was_typed_stand_in_quotation_marks() {
    let mut missed = correction();
    missed.expected = Expected::Step(StopIndex(1));
    missed.answer = "They choose a pier".into();
    let shown = shown(&rehearsal(Prompt::Correct(missed)), 80, 24);
    assert!(shown.contains("It is “They choose a pier”."), "{shown}");
    assert!(shown.contains("You said “7 of clubs”."), "{shown}");
}

#[test]
fn the_foot_says_how_to_get_help_in_every_pane() {
    for (name, state) in every_pane() {
        let shown = shown(&state, 80, 24);
        let foot = shown.lines().last().unwrap_or_default();
        assert!(
            foot.contains("help") || foot.contains('?'),
            "{name}: {foot}"
        );
    }
}

#[test]
fn the_foyer_points_at_what_was_rehearsed_last_and_the_arrows_move() {
    let mut state = foyer(true);
    assert_eq!(state.chosen, 1);
    press(&mut state, "↑↑↑");
    assert_eq!(state.chosen, 0);
    press(&mut state, "jjjj");
    assert_eq!(state.chosen, 2);
    assert_eq!(press(&mut state, "q"), [Effect::Leave]);
}

#[test]
fn enter_begins_a_rehearsal_and_the_next_takes_other_roads() {
    let mut state = foyer(true);
    let effects = press(&mut state, "⏎");
    assert!(
        matches!(&effects[..], [Effect::Begin(begun)] if begun.name == "lamp" && begun.seed == 7)
    );
    assert!(matches!(state.page, Page::Rehearsal(_)));
    assert_ne!(state.terms.seed, 7);
}

#[test]
fn letters_go_into_the_answer_and_can_be_taken_back() {
    let mut state = asked("");
    press(&mut state, "8 of hx⌫");
    let Page::Rehearsal(rehearsal) = &state.page else {
        panic!()
    };
    assert_eq!(rehearsal.input, "8 of h");
    press(&mut state, "^u9");
    let Page::Rehearsal(rehearsal) = &state.page else {
        panic!()
    };
    assert_eq!(rehearsal.input, "9");
}

#[test]
fn help_and_pause_stop_the_watch() {
    let mut state = asked("");
    update(&mut state, Event::Drawn(Millis(1_000)));
    press_at(&mut state, "?", 1_500);
    assert_eq!(state.place(), Place::Help);
    press_at(&mut state, "⎋", 60_000);
    press_at(&mut state, "8", 60_200);
    press_at(&mut state, "^p", 60_300);
    assert_eq!(state.place(), Place::Paused);
    press_at(&mut state, "⏎", 90_300);
    let Page::Rehearsal(rehearsal) = &state.page else {
        panic!()
    };
    assert_eq!(
        rehearsal.watch.times(Millis(90_400)),
        (Millis(700), Millis(900))
    );
}

#[test]
fn sleeping_stops_the_watch_too() {
    let mut state = asked("");
    update(&mut state, Event::Drawn(Millis(0)));
    update(&mut state, Event::Slept(Millis(100)));
    update(&mut state, Event::Woken(Millis(9_000)));
    let Page::Rehearsal(rehearsal) = &state.page else {
        panic!()
    };
    assert_eq!(rehearsal.watch.passed(Millis(9_050)), Millis(150));
}

#[test]
fn escape_ends_a_rehearsal_with_its_summary() {
    let mut state = asked("");
    let effects = press(&mut state, "⎋");
    assert_eq!(effects, [Effect::End, Effect::Stand(0)]);
    assert!(matches!(state.page, Page::Ended(_)));
    press(&mut state, "⏎");
    assert!(matches!(state.page, Page::Foyer));
}

#[test]
fn control_c_leaves_from_anywhere_and_ends_the_rehearsal() {
    assert_eq!(press(&mut asked(""), "^c"), [Effect::End, Effect::Leave]);
    assert_eq!(press(&mut foyer(true), "^c"), [Effect::Leave]);
    assert_eq!(press(&mut asked(""), "^z"), [Effect::Suspend]);
}

#[test]
fn a_refused_answer_is_told_and_the_rehearsal_goes_on() {
    let mut state = asked("");
    update(&mut state, Event::NotKept("the disk is full".into()));
    assert!(shown(&state, 80, 24).contains("This answer was not kept: the disk is full"));
    assert_eq!(state.place(), Place::Asked);
}

#[test]
fn after_twenty_minutes_the_hands_may_rest_once() {
    let mut state = asked("");
    update(&mut state, Event::Drawn(Millis(0)));
    update(&mut state, Event::Tick(Millis(19 * 60_000)));
    assert_eq!(state.notice, None);
    update(&mut state, Event::Tick(Millis(20 * 60_000)));
    assert!(state.notice.take().is_some());
    update(&mut state, Event::Tick(Millis(21 * 60_000)));
    assert_eq!(state.notice, None);
}

#[test]
fn the_look_follows_the_environment() {
    let theme = |no_color, pairs: &[(&str, &str)]| {
        Theme::from_environment(no_color, |name| {
            pairs
                .iter()
                .find(|(n, _)| *n == name)
                .map(|(_, value)| (*value).to_owned())
        })
    };
    assert_eq!(theme(false, &[("LANG", "en_GB.UTF-8")]), COLOUR);
    assert!(!theme(true, &[("LANG", "C.utf8")]).colour);
    assert!(!theme(false, &[("NO_COLOR", "1")]).colour);
    assert!(theme(false, &[("NO_COLOR", "")]).colour);
    assert!(!theme(false, &[("LC_ALL", "C"), ("LANG", "en_GB.UTF-8")]).unicode);
    assert!(theme(false, &[("LC_ALL", ""), ("LANG", "en_GB.UTF-8")]).unicode);
}

/// A keeper for tests: remembers, and refuses from some answer on.
#[derive(Debug, Default)]
struct Book {
    kept: Vec<Answered>,
    refuse_from: Option<usize>,
    ended: bool,
}

impl Keeper for Book {
    fn begin(&mut self, _: &Begun) -> Result<(), KeepFault> {
        Ok(())
    }
    fn keep(&mut self, answered: &Answered) -> Result<(), KeepFault> {
        if self.refuse_from.is_some_and(|from| self.kept.len() >= from) {
            return Err(KeepFault("the disk is full".into()));
        }
        self.kept.push(answered.clone());
        Ok(())
    }
    fn end(&mut self) -> Result<(), KeepFault> {
        self.ended = true;
        Ok(())
    }
    fn standing(&mut self, _: &str) -> Option<Standing> {
        None
    }
}

/// A routine small enough to read here, with a fork and things to know.
const MARKET: &str = r#"
allroads: 1
title: The Market
blurb: Two stalls and one customer.
principle: What is dealt off lies in reverse.
lang: en-GB
cards:
  packet: {list: "7H 4S 9D 2C KH QS"}
piles: [stall]
steps:
  - id: open
    title: Open the market
    say: This is everything I have to sell today.
    handling: Show the faces, then turn the packet face down.
    target: 10s
  - id: buy
    title: They buy some
    say: Tell me how many you would like, and I will count them out. You said {n}, a modest customer.
    fork: {name: n, about: the number they bought, says: "I take {n}.", number: {from: 2, to: 4}}
    do:
      - count: {from: packet, to: stall, count: n}
    claims:
      - count: {piles: [packet], is: "6 - n"}
finale:
  id: close
  title: Close the market
  say: And this one is for the road.
  do:
    - turn: {pile: packet, count: 1}
"#;

fn market() -> Shelved {
    let routine = crate::routine::load(MARKET, "market", 0).unwrap();
    Shelved {
        name: "market".into(),
        routine: Arc::new(routine),
        standing: Standing::default(),
        proven: Proven::NotYet,
    }
}

fn terms(questions: u32) -> Terms {
    Terms {
        questions: Some(questions),
        ..Terms::usual(7)
    }
}

/// The right answers to the questions of a session, taken from a second session that is asked the same.
fn right_answers(questions: u32) -> Vec<String> {
    let mut session = Session::new(market().routine, terms(questions).plan()).unwrap();
    let mut answers = Vec::new();
    loop {
        let event = match session.prompt() {
            Prompt::Ask(question) => {
                answers.push(question.expected_keys.clone());
                crate::drill::Event::Answer {
                    text: question.expected_keys,
                    first_key: Millis(10),
                    total: Millis(10),
                }
            }
            Prompt::Done(_) => return answers,
            Prompt::Tell(_) | Prompt::Correct(_) | Prompt::Line(_) => crate::drill::Event::Go,
        };
        session.update(event);
    }
}

fn in_lines(answers: &[String], book: &mut Book) -> String {
    let input: String = answers.iter().map(|line| format!("{line}\n")).collect();
    let mut output = Vec::new();
    let mut time = 0;
    let mut clock = || {
        time += 10;
        Millis(time)
    };
    let mut lines = Lines {
        input: &mut input.as_bytes(),
        output: &mut output,
        clock: &mut clock,
    };
    plain(&market(), &terms(6), book, &mut lines, None).unwrap();
    String::from_utf8(output).unwrap()
}

#[test]
fn right_answers_line_by_line_are_all_right_and_kept_and_the_same_each_time() {
    let mut book = Book::default();
    let output = in_lines(&right_answers(6), &mut book);
    assert!(output.contains("summary: 6/6 right"), "{output}");
    assert_eq!(output.matches("right. kept.").count(), 6, "{output}");
    assert!(output.contains("choice: n="), "{output}");
    assert_eq!(book.kept.len(), 6);
    assert!(book.ended && book.kept.iter().all(|answered| answered.right));
    assert_eq!(output, in_lines(&right_answers(6), &mut Book::default()));
}

#[test]
fn a_question_that_comes_back_says_where_it_is_about() {
    let mut state = asked("");
    let Page::Rehearsal(rehearsal) = &mut state.page else {
        panic!()
    };
    let mut question = question();
    question.again = true;
    question.spot.done = 1;
    rehearsal.prompt = Prompt::Ask(question.clone());
    assert!(!shown(&state, 80, 24).contains("Back at"));
    let Page::Rehearsal(rehearsal) = &mut state.page else {
        panic!()
    };
    question.spot.done = 0;
    rehearsal.prompt = Prompt::Ask(question.clone());
    assert!(shown(&state, 80, 24).contains("Back at the very start, where you knew:"));
    let Page::Rehearsal(rehearsal) = &mut state.page else {
        panic!()
    };
    question.spot.road = 4;
    question.spot.done = 2;
    rehearsal.prompt = Prompt::Ask(question);
    assert!(shown(&state, 80, 24).contains("Back at “They choose a pier” on road 4"));
}

#[test]
fn wrong_answers_line_by_line_are_corrected_with_the_reason() {
    let mut book = Book::default();
    let output = in_lines(&vec!["-".to_owned(); 6], &mut book);
    assert!(output.contains("summary: 0/6 right"), "{output}");
    assert_eq!(output.matches("not quite. kept.").count(), 6);
    assert!(output.matches("answer: ").count() >= 5, "{output}");
    assert!(output.matches("why: ").count() >= 5, "{output}");
}

#[test]
fn a_full_disk_is_told_and_loses_nothing_kept_before() {
    let mut book = Book {
        refuse_from: Some(2),
        ..Book::default()
    };
    let output = in_lines(&right_answers(6), &mut book);
    assert_eq!(output.matches("right. kept.").count(), 2, "{output}");
    assert_eq!(
        output.matches("right. not kept: the disk is full").count(),
        4
    );
    assert_eq!(book.kept.len(), 2);
    assert!(output.contains("summary: 6/6 right"));
}

#[test]
fn the_end_of_the_input_ends_the_plain_session_with_its_summary() {
    let mut book = Book::default();
    let output = in_lines(&[], &mut book);
    assert!(output.contains("summary: 0/0 right"), "{output}");
    assert!(book.ended && book.kept.is_empty());
}

#[test]
fn an_answer_that_cannot_be_read_is_asked_again() {
    let mut answers = right_answers(6);
    answers.insert(0, String::new());
    answers.insert(0, "\u{1b}[2J?".to_owned());
    let output = in_lines(&answers, &mut Book::default());
    assert!(!output.contains('\u{1b}'));
    assert!(output.contains("not understood: "), "{output}");
}

#[test]
fn the_first_meeting_asks_for_no_line_and_the_next_one_may() {
    let drills = |days| {
        let mut shelved = market();
        shelved.standing.days = days;
        let mut state = State::foyer(COLOUR, vec![shelved], terms(6));
        press(&mut state, "⏎");
        match state.page {
            Page::Rehearsal(rehearsal) => rehearsal.session.plan().drills.clone(),
            Page::Foyer
            | Page::Walk(_)
            | Page::Live(_)
            | Page::Ended(_)
            | Page::Progress(_)
            | Page::After(_) => {
                panic!("a rehearsal begins")
            }
        }
    };
    assert_eq!(drills(None), [Drill::Picture, Drill::Reckon]);
    assert_eq!(drills(Some(1)), Drill::ASKED);
}

#[test]
fn a_whole_rehearsal_by_keys_asks_keeps_and_sums_up() {
    let every_drill = Terms {
        drills: Drill::ASKED.to_vec(),
        ..terms(6)
    };
    let mut state = State::foyer(COLOUR, vec![market()], every_drill);
    let mut kept = Vec::new();
    let mut effects = press(&mut state, "⏎");
    let mut now = 0;
    let mut answers = right_answers(6).into_iter();
    while let Page::Rehearsal(rehearsal) = &state.page {
        let keys = match &rehearsal.prompt {
            Prompt::Ask(_) => format!("{}⏎", answers.next().unwrap()),
            Prompt::Tell(_) | Prompt::Correct(_) | Prompt::Line(_) | Prompt::Done(_) => {
                "⏎".to_owned()
            }
        };
        now += 1_000;
        update(&mut state, Event::Drawn(Millis(now)));
        assert!(!shown(&state, 80, 24).is_empty());
        effects.extend(press_at(&mut state, &keys, now + 700));
    }
    for effect in &effects {
        if let Effect::Keep(answered) = effect {
            kept.push(answered.clone());
        }
    }
    assert_eq!(kept.len(), 6);
    for answered in &kept {
        assert!(answered.right, "{answered:?}");
        assert_eq!(
            (answered.first_key, answered.total),
            (Millis(700), Millis(700))
        );
    }
    assert_eq!(effects.last(), Some(&Effect::Stand(0)));
    assert!(shown(&state, 80, 24).contains("6 of 6 right."));
}

#[test]
fn a_verdict_that_comes_in_is_shown_in_foyer_and_rehearsal() {
    let mut state = foyer(true);
    for shelved in &mut state.shelf {
        shelved.proven = Proven::NotYet;
    }
    let foyer_before = shown(&state, 80, 24);
    assert_eq!(foyer_before.matches("… not proved yet").count(), 3);
    let news = |hash: &str, setup, proven| {
        Event::Proven(News {
            content_hash: hash.into(),
            setup,
            proven,
        })
    };
    // Of another text, and of another set-up.
    update(&mut state, news("00fe", 0, Proven::Proved));
    update(&mut state, news("00ff", 1, Proven::Proved));
    assert_eq!(shown(&state, 80, 24), foyer_before);
    assert_eq!(update(&mut state, news("00ff", 0, Proven::Proved)), []);
    // All three have the same text here.
    assert_eq!(shown(&state, 80, 24).matches("✓ proved").count(), 3);

    let mut state = rehearsal(Prompt::Tell(tell()));
    update(&mut state, news("00ff", 0, Proven::NotProved));
    assert!(shown(&state, 80, 24).contains("The Two Ferries   – not proved"));
    assert_eq!(state.notice, None);
}

#[test]
fn a_rehearsal_of_what_can_fail_says_so_once() {
    let warning = "This routine can fail on some road: `allroads prove` shows which.";
    let mut shelved = market();
    shelved.proven = Proven::CanFail;
    let mut state = State::foyer(COLOUR, vec![shelved], terms(3));
    assert!(shown(&state, 80, 24).contains("! can fail"));
    press(&mut state, "⏎");
    assert_eq!(state.notice.as_deref(), Some(warning));
    for (width, height) in [(80, 24), (120, 40), (60, 20)] {
        assert!(shown(&state, width, height).contains(&warning[..50]));
    }
    press(&mut state, "⏎");
    assert_eq!(state.notice, None);

    // Found out in the middle of it.
    let mut state = State::foyer(COLOUR, vec![market()], terms(3));
    press(&mut state, "⏎");
    assert_eq!(state.notice, None);
    let content_hash = state.shelf[0].routine.content_hash.clone();
    let news = News {
        content_hash,
        setup: 0,
        proven: Proven::CanFail,
    };
    update(&mut state, Event::Proven(news));
    assert_eq!(state.notice.as_deref(), Some(warning));
    assert!(shown(&state, 80, 24).contains("The Market   ! can fail"));
}

#[test]
fn a_long_title_leaves_the_verdict_in_sight() {
    let mut state = foyer(true);
    let mut long = (*state.shelf[1].routine).clone();
    long.title = "The Long Road to the Sea and Back by Night".into();
    state.shelf[1].routine = Arc::new(long);
    for width in [60, 80] {
        let shown = shown(&state, width, 24);
        let line = shown.lines().find(|l| l.contains("The Long Road")).unwrap();
        assert!(line.contains("! can fail"), "{line}");
    }
}
