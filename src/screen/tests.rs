//! Panes on a test screen, and key scripts.

mod after;
mod key_scripts;
mod live;
mod progress;
mod sessions;

use super::*;
use crate::cards::{Card, Lang, Pack};
use crate::coach::Hold;
use crate::drill::{
    Answered, Correction, Drill, Expected, Interleaved, Key, Kind, Line, Prompt, Question, Session,
    Spot, Spread, StepSummary, Subject, Summary, Tell, Tile, Word,
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
            show: None,
            days,
            holds,
            lines: Vec::new(),
            guide: None,
            planned: None,
            changed: None,
            met: BTreeMap::new(),
            careful: BTreeMap::new(),
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
        which: vec![0],
        session: session.into(),
        to_begin: vec![None],
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
        which: vec![0],
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
    let mut shelf = shelf(true);
    let careful = "Careful here: there may be no way back if you leave something out, or take the wrong pile.";
    for one in &mut shelf {
        one.standing.careful = BTreeMap::from([(StepId("pier".into()), careful.to_owned())]);
    }
    let mut state = State::foyer(COLOUR, shelf, Terms::usual(7));
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

/// What is printed line by line when these lines are typed; the clock goes on by a hundredth of a second with each look.
fn typed<T: std::fmt::Display>(answers: &[T], run: impl FnOnce(&mut Lines<'_>)) -> String {
    let input: String = answers.iter().map(|line| format!("{line}\n")).collect();
    let mut output = Vec::new();
    let mut time = 0;
    let mut clock = || {
        time += 10;
        Millis(time)
    };
    run(&mut Lines {
        input: &mut input.as_bytes(),
        output: &mut output,
        clock: &mut clock,
    });
    String::from_utf8(output).unwrap()
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
