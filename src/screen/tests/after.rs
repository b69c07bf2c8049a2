//! The page after a performance: its pane, and a key script from the foyer to what is kept.

use super::*;
use crate::logbook::Happened;
use chrono::NaiveDate;

fn today() -> NaiveDate {
    "2031-05-02".parse().unwrap()
}

/// The page after `s` in the foyer.
fn asked_about() -> State {
    let mut state = foyer(true);
    state.chosen = 0;
    assert_eq!(press(&mut state, "s"), vec![Effect::Today(0)]);
    update(&mut state, Event::Performed(0, today()));
    assert!(matches!(state.page, Page::After(_)));
    state
}

pub(super) fn panes() -> Vec<(&'static str, State)> {
    let mut choice = asked_about();
    press(&mut choice, "⏎the pier⏎nort");
    let mut slip = asked_about();
    press(&mut slip, "⏎⏎⏎⏎9⏎2");
    vec![
        ("after show", asked_about()),
        ("after choice", choice),
        ("after slip", slip),
    ]
}

#[test]
fn what_happened_on_stage_is_told_one_thing_at_a_time() {
    let mut state = asked_about();
    // A date that is none, then yesterday; place; the choice; no stray of the file, own words, no more; the third step, and how.
    let script = "soon⏎^uyesterday⏎the pier?⏎north⏎blew away⌫⌫⌫⌫away⏎⏎3⏎too fast⏎⏎warm⏎";
    let effects = press(&mut state, script);
    let told = ToldShow {
        routine: "ferry".into(),
        date: "2031-05-01".parse().unwrap(),
        place: "the pier?".into(),
        choices: vec!["pier=north".into()],
        strays: vec![Happened {
            step: String::new(),
            what: "blew away".into(),
        }],
        slips: vec![Happened {
            step: "deal".into(),
            what: "too fast".into(),
        }],
        note: "warm".into(),
    };
    assert_eq!(effects, vec![Effect::KeepShow(told)]);
    let after = update(&mut state, Event::ShowKept(Ok("Kept.".into())));
    assert_eq!(after, vec![Effect::Stand(0)]);
    assert!(matches!(state.page, Page::Foyer));
    assert_eq!(state.notice.as_deref(), Some("Kept."));
}

#[test]
fn what_cannot_be_read_is_asked_again_and_escape_keeps_nothing() {
    let mut state = asked_about();
    assert_eq!(press(&mut state, "2031-06-01⏎"), vec![]);
    let text = shown(&state, 80, 24);
    assert!(
        text.contains("When was it?") && text.contains("still to come"),
        "{text}"
    );
    press(&mut state, "⏎⏎west⏎");
    let text = shown(&state, 80, 24);
    assert!(
        text.contains("the pier they chose") && text.contains("north"),
        "{text}"
    );
    assert_eq!(press(&mut state, "⎋"), vec![]);
    assert!(matches!(state.page, Page::Foyer));
}

#[test]
fn a_show_that_cannot_be_kept_is_told() {
    let mut state = asked_about();
    let told = press(&mut state, "⏎⏎⏎⏎⏎⏎");
    assert!(matches!(told.as_slice(), [Effect::KeepShow(_)]));
    update(
        &mut state,
        Event::ShowKept(Err("the disk is full\nno more".into())),
    );
    assert_eq!(
        state.notice.as_deref(),
        Some("The show was not kept: the disk is full")
    );
}

#[test]
fn a_choice_that_no_road_offers_is_asked_again_before_anything_is_lost() {
    let ferry = live::ferry();
    let mut state = State::foyer(COLOUR, vec![ferry], Terms::usual(7));
    assert_eq!(press(&mut state, "s"), vec![Effect::Today(0)]);
    update(&mut state, Event::Performed(0, today()));
    // From two to four of the six go ashore.
    press(&mut state, "⏎⏎5⏎");
    let text = shown(&state, 80, 24);
    assert!(text.contains("That is not on offer there"), "{text}");
    press(&mut state, "4⏎");
    let text = shown(&state, 80, 24);
    assert!(
        !text.contains("not on offer") && !text.contains("how many went ashore"),
        "{text}"
    );
}

#[test]
fn what_is_said_of_a_show_that_was_kept_is_told_to_its_last_word() {
    let words = "Kept. What went wrong comes back first when you rehearse. Next: today, 20 minutes; the show is Monday 5 April";
    let mut state = foyer(true);
    let before = shown(&state, 80, 24);
    state.notice = Some(words.to_owned());
    let after = shown(&state, 80, 24);
    let told: Vec<&str> = after.split_whitespace().collect();
    assert!(told.join(" ").contains(words), "{after}");
    // The keys stay where they are.
    assert_eq!(before.lines().last(), after.lines().last());
}
