//! Spoken rehearsals: panes, key scripts, and line by line.

use super::sessions::Book;
use super::*;
use crate::drill::{Sound, Speaker, Speech, SpokenPrompt};

/// A routine small enough to read here: a choice that is spoken, one that hands make freely, an answer that only the table can give.
const FERRY: &str = include_str!(concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/tests/fixtures/ferry.yaml"
));

pub(super) fn ferry() -> Shelved {
    ferry_as(FERRY)
}

fn ferry_as(text: &str) -> Shelved {
    let routine =
        crate::routine::load(text, "ferry", 0).unwrap_or_else(|troubles| panic!("{troubles:?}"));
    Shelved {
        name: "ferry".into(),
        routine: Arc::new(routine),
        standing: Standing::default(),
        proven: Proven::NotYet,
    }
}

/// The foyer with this routine alone, and a rehearsal of one drill begun by its key.
fn begun(key: &str) -> State {
    begun_with(ferry(), key)
}

fn begun_with(shelved: Shelved, key: &str) -> State {
    let mut state = State::foyer(COLOUR, vec![shelved], Terms::usual(7));
    let effects = press(&mut state, key);
    assert!(matches!(&effects[..], [Effect::Begin(_)]), "{effects:?}");
    update(&mut state, Event::Drawn(Millis(0)));
    state
}

fn live(state: &State) -> &Live {
    match &state.page {
        Page::Live(live) => live,
        _ => panic!("no spoken rehearsal is on the screen"),
    }
}

/// Goes on, answering whatever is asked rightly, until this holds.
fn until(state: &mut State, now: &mut u64, wanted: impl Fn(&SpokenPrompt) -> bool) -> Vec<Effect> {
    let mut effects = Vec::new();
    for _ in 0..200 {
        let prompt = match &state.page {
            Page::Live(live) => live.prompt.clone(),
            _ => panic!("it ended"),
        };
        if wanted(&prompt) {
            return effects;
        }
        *now += 3_000;
        let keys = match &prompt {
            SpokenPrompt::Ask(ask) => format!("{}⏎", ask.question.expected_keys),
            SpokenPrompt::Which(_) => "1".to_owned(),
            _ => "⏎".to_owned(),
        };
        effects.extend(press_at(state, &keys, *now));
        update(state, Event::Drawn(Millis(*now)));
    }
    panic!("it never came to that");
}

fn hands_at(wanted: impl Fn(&SpokenPrompt) -> bool) -> State {
    let mut state = begun("h");
    until(&mut state, &mut 0, wanted);
    state
}

fn step(id: &'static str) -> impl Fn(&SpokenPrompt) -> bool {
    let at = ferry().routine.find_step(id).unwrap();
    move |prompt| matches!(prompt, SpokenPrompt::Step(step) if step.stop == at && step.word != "YES" && step.word != "NO")
}

fn lines_at(keys: &str) -> State {
    let mut state = begun("l");
    for (n, key) in (1..).zip(keys.chars()) {
        press_at(&mut state, &key.to_string(), n * 2_000);
        update(&mut state, Event::Drawn(Millis(n * 2_000)));
    }
    state
}

/// Of a rescue with this seed, the first prompt that is wanted; every answer before it is `answers`, one for each.
fn rescue_at(wanted: impl Fn(&SpokenPrompt) -> bool, verdict: &str) -> State {
    for seed in 0..60 {
        let mut state = State::foyer(COLOUR, vec![train()], Terms::usual(seed));
        press(&mut state, "o");
        for n in 0..30_u64 {
            update(&mut state, Event::Drawn(Millis(n * 3_000)));
            let Page::Live(live) = &state.page else {
                break;
            };
            if wanted(&live.prompt) {
                return state;
            }
            let keys = match &live.prompt {
                SpokenPrompt::Stray(_) => verdict,
                SpokenPrompt::Mend(_) | SpokenPrompt::WhereNow(_) => "-⏎",
                _ => "⏎",
            };
            press_at(&mut state, keys, n * 3_000 + 1_000);
        }
    }
    panic!("it never came to that");
}

fn train() -> Shelved {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/fixtures/train.yaml"
    ));
    let routine =
        crate::routine::load(text, "train", 0).unwrap_or_else(|troubles| panic!("{troubles:?}"));
    Shelved {
        name: "train".into(),
        routine: Arc::new(routine),
        standing: Standing::default(),
        proven: Proven::NotYet,
    }
}

/// Every pane of spoken rehearsals.
pub(super) fn panes() -> Vec<(&'static str, State)> {
    let mut telling = begun("h");
    press(&mut telling, "c⏎");
    let mut late = hands_at(step("ashore"));
    let began = live(&late).now.0;
    update(&mut late, Event::Tick(Millis(began + 21_000)));
    let mut packet = hands_at(|prompt| matches!(prompt, SpokenPrompt::Judge(_)));
    press(&mut packet, "n7h ? r");
    let mut lost = hands_at(|prompt| matches!(prompt, SpokenPrompt::Judge(_)));
    press(&mut lost, "n⏎⏎");
    let mut named = lost.clone();
    press(&mut named, "2⏎");
    let mut dress = begun("d");
    let laid = dress.clone();
    until(
        &mut dress,
        &mut 0,
        |prompt| matches!(prompt, SpokenPrompt::Step(step) if !step.word.is_empty()),
    );
    let mut paused = hands_at(step("wind"));
    press(&mut paused, "p");
    let mut doing_help = hands_at(step("wind"));
    press(&mut doing_help, "?");
    let mut asked = hands_at(|prompt| matches!(prompt, SpokenPrompt::Ask(_)));
    press(&mut asked, "^p^p");
    let cut = |prompt: &SpokenPrompt| matches!(prompt, SpokenPrompt::Stray(met) if met.name == "cuts-again");
    let mend = |prompt: &SpokenPrompt| matches!(prompt, SpokenPrompt::Mend(asked) if asked.seen.len() == 1);
    let keyed = |keys: &str| {
        let mut state = rescue_at(mend, "m");
        press_at(&mut state, keys, 60_000);
        state
    };
    let missed_it = |prompt: &SpokenPrompt| matches!(prompt, SpokenPrompt::Rescue(told) if told.right == Some(false) && told.packets.len() > 1);
    let mut missed = asked.clone();
    press(&mut missed, "-⏎");
    vec![
        ("hands set up", begun("h")),
        ("hands told", telling),
        ("hands free", hands_at(step("wind"))),
        ("hands spoken", hands_at(step("ashore"))),
        ("hands late", late),
        ("hands asked", asked),
        ("hands missed", missed),
        (
            "hands which",
            hands_at(|prompt| matches!(prompt, SpokenPrompt::Which(_))),
        ),
        (
            "hands judge",
            hands_at(|prompt| matches!(prompt, SpokenPrompt::Judge(_))),
        ),
        ("hands packet", packet),
        ("hands where", lost),
        ("hands noted", named),
        ("hands paused", paused),
        ("hands help", doing_help),
        ("rescue stray", rescue_at(cut, "-")),
        ("rescue mend", keyed("bottom to t")),
        ("rescue unread", keyed("jump⏎")),
        ("rescue looked", keyed("look top⏎")),
        ("rescue mended", keyed("bottom to top⏎")),
        ("rescue missed", rescue_at(missed_it, "o")),
        (
            "rescue where",
            rescue_at(|prompt| matches!(prompt, SpokenPrompt::WhereNow(_)), "-"),
        ),
        (
            "rescue ended",
            rescue_at(
                |prompt| matches!(prompt, SpokenPrompt::Rescue(told) if told.right.is_none()),
                "-",
            ),
        ),
        ("dress set up", laid),
        ("dress", dress),
        ("lines opening", begun("l")),
        ("lines cue", lines_at("⏎⏎⏎⏎")),
        ("lines saying", lines_at("⏎⏎⏎⏎⏎")),
        ("lines real", lines_at("⏎⏎⏎")),
        ("lines reading", lines_at("r")),
        ("lines read", lines_at("r⏎⏎⏎⏎⏎")),
    ]
}

#[test]
fn clickers_and_foot_switches_go_on_and_back() {
    for code in [
        KeyCode::Char(' '),
        KeyCode::Enter,
        KeyCode::PageDown,
        KeyCode::Right,
        // Any other key does as well.
        KeyCode::Char('x'),
        KeyCode::F(5),
        KeyCode::Down,
    ] {
        let mut state = hands_at(step("board"));
        let event = Event::Key(KeyEvent::new(code, KeyModifiers::NONE), Millis(9_000));
        update(&mut state, event);
        assert!(!step("board")(&live(&state).prompt), "{code:?}");
    }
    for code in [KeyCode::PageUp, KeyCode::Left] {
        let mut state = hands_at(step("ashore"));
        let event = Event::Key(KeyEvent::new(code, KeyModifiers::NONE), Millis(9_000));
        let effects = update(&mut state, event);
        assert!(step("ashore")(&live(&state).prompt), "{code:?}");
        assert_eq!(effects[0], Effect::Hush);
        assert!(
            spoken(&effects)
                .iter()
                .any(|s| s.words.starts_with("I say"))
        );
    }
}

fn spoken(effects: &[Effect]) -> Vec<&Speech> {
    effects
        .iter()
        .filter_map(|effect| match effect {
            Effect::Say(speech) => Some(speech),
            _ => None,
        })
        .collect()
}

#[test]
fn a_step_says_what_the_spectator_says_and_shows_it_large() {
    let mut state = begun("h");
    let effects = until(&mut state, &mut 0, step("ashore"));
    let said = spoken(&effects);
    let last = said.last().unwrap();
    assert_eq!(last.who, Speaker::Spectator);
    let SpokenPrompt::Step(step) = &live(&state).prompt else {
        panic!("no step");
    };
    assert_eq!(last.words, format!("I say {}.", step.word));
    assert!(shown(&state, 80, 24).contains('█'));
}

/// The step of the cut with much more to read: three rows of handling and caution, five of patter.
fn wordy() -> State {
    let caution =
        "Complete the cut at once, and let nobody see the faces while the packet is in two parts.";
    let patter = "Then the wind comes up. ".repeat(14) + "Nobody sits where they sat.";
    let text = FERRY
        .replace(
            "caution: Complete the cut at once.",
            &format!("caution: {caution}"),
        )
        .replace("say: Then the wind comes up.", &format!("say: {patter}"));
    let mut state = begun_with(ferry_as(&text), "h");
    until(&mut state, &mut 0, step("wind"));
    state
}

#[test]
fn the_patter_of_a_long_step_is_whole_on_a_small_screen_and_its_word_still_large() {
    let state = wordy();
    for (width, height) in [(80, 24), (120, 40)] {
        let screen = shown(&state, width, height);
        let words: Vec<&str> = screen.split_whitespace().collect();
        assert!(
            words.join(" ").contains("Nobody sits where they sat.”"),
            "{screen}"
        );
        assert!(screen.contains('█'), "{screen}");
        insta::assert_snapshot!(format!("{width}x{height}_hands_wordy"), screen);
    }
}

#[test]
fn a_question_is_heard_again_by_page_up_and_a_clicker_is_told_what_to_answer_with() {
    let mut state = hands_at(|prompt| matches!(prompt, SpokenPrompt::Ask(_)));
    let SpokenPrompt::Ask(asked) = live(&state).prompt.clone() else {
        panic!("it is asked");
    };
    let mut say = |code| {
        let effects = update(
            &mut state,
            Event::Key(KeyEvent::new(code, KeyModifiers::NONE), Millis(90_000)),
        );
        let said: Vec<String> = spoken(&effects).iter().map(|s| s.words.clone()).collect();
        assert!(matches!(live(&state).prompt, SpokenPrompt::Ask(_)));
        said
    };
    assert_eq!(say(KeyCode::PageUp), [&*asked.question.text]);
    for code in [KeyCode::PageDown, KeyCode::Right] {
        let told = say(code);
        assert_eq!(told.len(), 1);
        assert!(told[0].starts_with("Please answer with "), "{told:?}");
    }
}

#[test]
fn what_the_hands_do_freely_is_said_in_words_that_choose_nothing() {
    let state = hands_at(step("wind"));
    let SpokenPrompt::Step(step) = &live(&state).prompt else {
        panic!("no step");
    };
    assert_eq!(step.word, "CUT");
    assert_eq!(step.spectator.as_deref(), Some("About here."));
    assert!(
        step.free
            .as_deref()
            .unwrap()
            .starts_with("Cut the packet anywhere")
    );
}

#[test]
fn pausing_stops_the_time_and_hushes_and_going_on_says_it_again() {
    let mut state = hands_at(step("wind"));
    let before = live(&state).now.0;
    assert_eq!(press_at(&mut state, "p", before + 1_000), [Effect::Hush]);
    update(&mut state, Event::Tick(Millis(before + 60_000)));
    assert_eq!(live(&state).now.0, before);
    let again = press_at(&mut state, "p", before + 61_000);
    assert!(!spoken(&again).is_empty());
    update(&mut state, Event::Tick(Millis(before + 62_000)));
    assert_eq!(live(&state).now.0, before + 2_000);
}

#[test]
fn the_countdown_is_drawn_anew_once_a_second_and_rung_once() {
    let mut state = hands_at(step("wind"));
    let since = live(&state).now.0;
    let (mut drawn, mut rung) = (0, 0);
    for tenth in 1..=100 {
        for effect in update(&mut state, Event::Tick(Millis(since + tenth * 100))) {
            match effect {
                Effect::Redraw => drawn += 1,
                Effect::Play(Sound::Time) => rung += 1,
                other => panic!("{other:?}"),
            }
        }
    }
    // Ten seconds pass; the step has eight. The sound is drawn for as well.
    assert_eq!((drawn, rung), (11, 1));
}

#[test]
fn a_whole_rehearsal_by_one_key_keeps_its_steps_and_sums_up() {
    let mut state = begun("h");
    let mut now = 0;
    let effects = until(&mut state, &mut now, |prompt| {
        matches!(prompt, SpokenPrompt::Judge(_))
    });
    let asked = effects
        .iter()
        .filter(|effect| matches!(effect, Effect::Keep(_)))
        .count();
    let effects = press_at(&mut state, "y", now + 500);
    let kept: Vec<&Answered> = effects
        .iter()
        .filter_map(|effect| match effect {
            Effect::Keep(answered) => Some(answered),
            _ => None,
        })
        .collect();
    // Five steps and the ending.
    assert_eq!(kept.len(), 6);
    assert!(
        kept.iter()
            .all(|kept| kept.right && kept.drill == Drill::Hands)
    );
    assert_eq!(kept[1].step, StepId("wind".into()));
    assert_eq!(
        &effects[effects.len() - 2..],
        [Effect::End, Effect::Stand(0)]
    );
    let Page::Ended(ended) = &state.page else {
        panic!("no summary");
    };
    assert_eq!(usize::try_from(ended.summary.asked).unwrap(), asked + 6);
}

#[test]
fn a_short_answer_needs_no_enter() {
    let mut state = begun("h");
    let mut now = 0;
    for _ in 0..60 {
        let wanted =
            |prompt: &SpokenPrompt| matches!(prompt, SpokenPrompt::Ask(_) | SpokenPrompt::Judge(_));
        until(&mut state, &mut now, wanted);
        let SpokenPrompt::Ask(ask) = live(&state).prompt.clone() else {
            break;
        };
        assert!(ask.keys <= 2);
        let typed: String = ask.question.expected_keys.chars().take(ask.keys).collect();
        let enter = if typed.chars().count() < ask.keys {
            "⏎"
        } else {
            ""
        };
        let effects = press_at(&mut state, &format!("{typed}{enter}"), now + 700);
        let kept = effects.iter().find_map(|effect| match effect {
            Effect::Keep(answered) => Some(answered),
            _ => None,
        });
        assert!(kept.unwrap().right);
        assert_eq!(effects[1], Effect::Play(Sound::Right));
    }
}

#[test]
fn a_long_practice_is_asked_once_to_rest() {
    let mut state = begun("h");
    update(&mut state, Event::Tick(Millis(19 * 60_000)));
    assert_eq!(state.notice, None);
    update(&mut state, Event::Tick(Millis(20 * 60_000)));
    assert!(
        state
            .notice
            .take()
            .unwrap()
            .contains("shake out your hands")
    );
    update(&mut state, Event::Tick(Millis(25 * 60_000)));
    assert_eq!(state.notice, None);
}

#[test]
fn speech_that_ends_starts_the_hesitation() {
    let mut state = lines_at("⏎⏎⏎⏎");
    assert!(matches!(live(&state).prompt, SpokenPrompt::Line(_)));
    update(&mut state, Event::Spoken(Millis(11_000)));
    press_at(&mut state, "x", 11_600);
    press_at(&mut state, "x", 15_600);
    let SpokenPrompt::Real(real) = &live(&state).prompt else {
        panic!("no real line");
    };
    assert_eq!((real.hesitation.0, real.length.0), (600, 4_000));
    let effects = press_at(&mut state, "d", 16_000);
    let kept = effects.iter().find_map(|effect| match effect {
        Effect::Keep(answered) => Some(answered),
        _ => None,
    });
    let kept = kept.unwrap();
    assert!(!kept.right);
    assert_eq!((kept.first_key.0, kept.total.0), (600, 4_600));
}

#[test]
fn the_better_a_step_is_held_the_less_of_the_cue_is_shown() {
    let mut shelved = ferry();
    shelved.standing.lines = vec![(StepId("board".into()), Hold::ShowReady)];
    let mut state = State::foyer(COLOUR, vec![shelved], Terms::usual(7));
    press(&mut state, "l⏎");
    let screen = shown(&state, 80, 24);
    assert!(!screen.contains("Six people"), "{screen}");
    assert!(!screen.contains("Show the faces"), "{screen}");
}

#[test]
fn a_dress_rehearsal_shows_no_help() {
    let mut state = begun("d");
    let mut now = 0;
    for _ in 0..4 {
        until(&mut state, &mut now, |prompt| {
            matches!(prompt, SpokenPrompt::Step(_))
        });
        let screen = shown(&state, 120, 40);
        for help in [
            "Count them off",
            "Complete the cut",
            "Six people",
            "king among",
        ] {
            assert!(!screen.contains(help), "{screen}");
        }
        now += 1_000;
        press_at(&mut state, " ", now);
    }
}

/// Line by line: what is printed for these answers.
fn in_lines(drill: Drill, answers: &[&str]) -> (String, Book) {
    let terms = Terms {
        drills: vec![drill],
        ..Terms::usual(7)
    };
    let mut book = Book::default();
    let printed = typed(answers, |lines| {
        plain(&[ferry()], &terms, &mut book, lines, None).unwrap();
    });
    (printed, book)
}

#[test]
fn hands_line_by_line() {
    let (printed, book) = in_lines(Drill::Dress, &["", "", "", "", "", "1", "", "yes"]);
    insta::assert_snapshot!("plain_dress", printed);
    assert_eq!(book.kept.len(), 6);
    assert!(book.ended);
    let (printed, book) = in_lines(
        Drill::Dress,
        &["", "", "", "", "", "1", "", "no", "", "", "2", ""],
    );
    assert!(printed.contains("where did it go wrong?"), "{printed}");
    assert_eq!(book.kept.len(), 1);
    assert_eq!(book.kept[0].kind, "slip");
}

#[test]
fn lines_line_by_line_said_or_typed() {
    let (printed, book) = in_lines(
        Drill::Lines,
        &["", "", "", "no", "wind comes", "", "", "", "yes"],
    );
    insta::assert_snapshot!("plain_lines", printed);
    let marks: Vec<bool> = book.kept.iter().map(|kept| kept.right).collect();
    assert_eq!(marks, [true, true, false]);
}
