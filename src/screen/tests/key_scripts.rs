//! What keys do, and what comes in by itself.

use super::sessions::{market, terms};
use super::*;

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
