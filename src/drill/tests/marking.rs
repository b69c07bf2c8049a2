use crate::cards::TraitId;
use crate::drill::marking::{
    Mark, mark, read_class, read_number, read_pattern, read_pile, read_yes,
};
use crate::drill::patter::{close, differences, key_words, right_line};
use crate::drill::{Drill, Expected, Key, Kind, Question, Spot, Subject, Word};
use crate::routine::{NameId, Routine, StepId, StopIndex, load};
use crate::table::{PileId, Place};
use proptest::prelude::*;

fn routine() -> Routine {
    let text = "allroads: 1\ntitle: T\nblurb: b\nprinciple: p\nlang: en-GB\ncards:\n  traits: {lucky: [7H, 3C]}\n  packet: {list: \"7H 3C 9D 10S QH\"}\npiles: [dealt, left, right, A1]\nsteps:\n  - id: choose\n    title: Deal off any number\n    say: Deal.\n    fork: {name: mood, about: their mood, says: x, option: [kind, cruel]}\n    do: [{deal: {from: packet, to: [dealt, left, right, A1], count: \"mood == \\\"kind\\\" ? 2 : 3\"}}]\n    claims: [{all: {piles: [dealt], trait: lucky}}]\n  - id: walk\n    title: Walk the dog home\n    say: Walk.\n    do: [{reverse: packet}]\nfinale: {id: end, title: The end, say: There.}\n";
    load(text, "t", 1).unwrap_or_else(|troubles| panic!("{troubles:?}"))
}

fn question(expected: Expected, subject: Subject, one_pile: bool) -> Question {
    Question {
        key: Key {
            step: StepId("choose".into()),
            drill: Drill::Picture,
            kind: Kind::Card,
            detail: String::new(),
        },
        text: String::new(),
        answer_as: String::new(),
        given: Vec::new(),
        expected_words: String::new(),
        expected_keys: String::new(),
        expected,
        subject,
        spot: Spot {
            road: 1,
            stop: StopIndex(0),
            visit: 1,
            done: 1,
        },
        sights: Vec::new(),
        seed: 1,
        choices: Vec::new(),
        one_pile,
        again: false,
    }
}

fn marks(expected: Expected, cases: &[(&str, Mark)]) {
    marks_about(expected, Subject::Next, false, cases);
}

fn marks_about(expected: Expected, subject: Subject, one_pile: bool, cases: &[(&str, Mark)]) {
    let routine = routine();
    let question = question(expected, subject, one_pile);
    for (text, wanted) in cases {
        assert_eq!(
            mark(&routine, &question, text),
            *wanted,
            "{text:?} for {:?}",
            question.expected
        );
    }
}

use Mark::{Right, Unread, Wrong};

#[test]
fn a_card_may_be_written_in_letters_signs_or_words() {
    let seven = routine().pack.read("7H").unwrap();
    marks(
        Expected::Card(seven),
        &[
            ("7h", Right),
            ("7H", Right),
            (" 7♥ ", Right),
            ("seven of hearts", Right),
            ("the Seven of Hearts", Right),
            ("3c", Wrong),
            ("queen of hearts", Wrong),
            ("AS", Wrong),
            ("7x", Unread),
            ("hello", Unread),
            ("", Unread),
            ("-", Wrong),
            ("don't know", Wrong),
        ],
    );
}

#[test]
fn a_class_may_be_its_word_or_how_it_begins() {
    let red = read_class(&routine(), TraitId::COLOUR, "red").unwrap();
    marks(
        Expected::Class(TraitId::COLOUR, red),
        &[
            ("r", Right),
            ("RED", Right),
            ("reds", Right),
            ("b", Wrong),
            ("black", Wrong),
            ("green", Unread),
            ("x", Unread),
        ],
    );
    let hearts = read_class(&routine(), TraitId::SUIT, "hearts").unwrap();
    marks(
        Expected::Class(TraitId::SUIT, hearts),
        &[
            ("h", Right),
            ("♥", Right),
            ("heart", Right),
            ("s", Wrong),
            ("♠", Wrong),
            ("q", Unread),
        ],
    );
    let routine = routine();
    let lucky = TraitId(
        routine
            .pack
            .traits()
            .iter()
            .position(|t| t.name == "lucky")
            .unwrap() as u8,
    );
    let is = read_class(&routine, lucky, "lucky").unwrap();
    marks(
        Expected::Class(lucky, is),
        &[
            ("lucky", Right),
            ("y", Right),
            ("not lucky", Wrong),
            ("no", Wrong),
        ],
    );
}

#[test]
fn yes_number_pile_and_facing_are_read_as_people_write_them() {
    marks(
        Expected::Yes(true),
        &[
            ("y", Right),
            ("Yes", Right),
            ("true", Right),
            ("n", Wrong),
            ("maybe", Unread),
        ],
    );
    marks(
        Expected::Facing(false),
        &[
            ("n", Right),
            ("down", Right),
            ("face up", Wrong),
            ("sideways", Unread),
        ],
    );
    marks(
        Expected::Number(21),
        &[
            ("21", Right),
            ("twenty-one", Right),
            ("twenty one", Right),
            ("twentyone", Right),
            ("20", Wrong),
            ("many", Unread),
        ],
    );
    marks(
        Expected::Pile(PileId(1)),
        &[
            ("dealt", Right),
            ("d", Right),
            ("the dealt pile", Right),
            ("left", Wrong),
            ("l", Wrong),
            ("zebra", Unread),
            ("the", Unread),
        ],
    );
    assert_eq!(read_pile(&routine(), "pile A1"), Some(PileId(4)));
}

#[test]
fn a_place_needs_its_pile_unless_there_is_only_one() {
    let place = || Expected::Place(PileId(0), Place(3));
    marks_about(
        place(),
        Subject::Next,
        false,
        &[
            ("packet 3", Right),
            ("p 3", Right),
            ("3 packet", Right),
            ("third from the top of the packet", Right),
            ("packet third", Right),
            ("packet 4", Wrong),
            ("dealt 3", Wrong),
            ("3", Unread),
            ("packet", Unread),
        ],
    );
    marks_about(
        place(),
        Subject::Next,
        true,
        &[
            ("3", Right),
            ("third", Right),
            ("3rd", Right),
            ("packet 3", Right),
            ("2", Wrong),
        ],
    );
}

#[test]
fn a_pattern_may_be_letters_or_words() {
    let routine = routine();
    let rbr = read_pattern(&routine, TraitId::COLOUR, "rbr").unwrap();
    assert_eq!(rbr.len(), 3);
    marks(
        Expected::Pattern(TraitId::COLOUR, rbr),
        &[
            ("RBR", Right),
            ("r b r", Right),
            ("r, b, r", Right),
            ("red black red", Right),
            ("rbb", Wrong),
            ("rb", Wrong),
            ("rxr", Unread),
        ],
    );
}

#[test]
fn a_step_is_known_by_its_key_words_or_its_id() {
    marks(
        Expected::Step(StopIndex(1)),
        &[
            ("walk the dog home", Right),
            ("walk dog", Right),
            ("walk", Right),
            ("dog hmoe", Right),
            ("deal", Wrong),
            ("something else", Wrong),
            ("choose", Wrong),
            ("?!", Unread),
        ],
    );
}

#[test]
fn an_option_may_be_shortened_while_it_is_clear() {
    let expected = || Expected::Word("kind".to_owned());
    let about = Subject::Remembered(NameId(0));
    marks_about(
        expected(),
        about,
        false,
        &[
            ("kind", Right),
            ("k", Right),
            ("KIND", Right),
            ("c", Wrong),
            ("cruel", Wrong),
            ("nice", Wrong),
        ],
    );
    marks_about(
        Expected::Word("a beginner".to_owned()),
        Subject::Next,
        false,
        &[
            ("beginner", Right),
            ("a beginer", Right),
            ("a teacher", Wrong),
        ],
    );
}

#[test]
fn orders_and_places_are_lists() {
    marks(
        Expected::Order(vec![PileId(2), PileId(1), PileId(3)]),
        &[
            ("left dealt right", Right),
            ("l, d, r", Right),
            ("ldr", Right),
            ("dlr", Wrong),
            ("l z r", Unread),
        ],
    );
    marks(
        Expected::Places(vec![1, 4]),
        &[
            ("1 4", Right),
            ("1, 4", Right),
            ("one and four", Right),
            ("4 1", Wrong),
            ("x", Unread),
        ],
    );
}

#[test]
fn a_line_is_right_with_three_in_five_of_its_key_words_in_order() {
    let lang = crate::cards::Lang::EnGb;
    let line = "The lift was shut, so they drank their cocoa and stamped their feet.";
    assert_eq!(
        key_words(line, lang),
        ["lift", "shut", "drank", "cocoa", "stamped", "feet"]
    );
    for (typed, right) in [
        ("lift shut drank cocoa", true),
        ("the lift shut and then cocoa, stamped feet", true),
        ("lfit shut cocao stampd", true),
        ("lift shut drank", false),
        ("feet stamped cocoa drank shut lift", false),
        ("nothing of the sort", false),
    ] {
        assert_eq!(right_line(typed, line, lang), right, "{typed}");
    }
    // A line of small words keeps them all.
    assert!(right_line("so it was", "So it was.", lang));
    assert!(!right_line("not", "So it was.", lang));
    assert!(close("recieve", "receive") && !close("7", "6") && !close("cat", "cut"));
}

#[test]
fn differences_are_shown_word_by_word() {
    let words = differences(
        "The lift was open and the queue",
        "The lift was shut and so the queue.",
    );
    assert_eq!(
        words,
        [
            Word::Same("The".into()),
            Word::Same("lift".into()),
            Word::Same("was".into()),
            Word::Changed("shut".into(), "open".into()),
            Word::Same("and".into()),
            Word::Missed("so".into()),
            Word::Same("the".into()),
            Word::Same("queue.".into()),
        ]
    );
}

proptest! {
    #[test]
    fn every_number_to_fifty_nine_reads_back_from_its_words(n in 0i64..60) {
        let units = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
            "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"];
        let tens = ["", "", "twenty", "thirty", "forty", "fifty"];
        let words = match n {
            0..20 => units[n as usize].to_owned(),
            n if n % 10 == 0 => tens[(n / 10) as usize].to_owned(),
            n => format!("{}-{}", tens[(n / 10) as usize], units[(n % 10) as usize]),
        };
        prop_assert_eq!(read_number(&words), Some(n));
        prop_assert_eq!(read_number(&words.to_uppercase()), Some(n));
        prop_assert_eq!(read_number(&n.to_string()), Some(n));
    }

    #[test]
    fn marking_reads_anything_without_falling_over(text in "\\PC{0,40}") {
        let routine = routine();
        let card = routine.pack.read("7H").unwrap();
        for expected in [
            Expected::Card(card), Expected::Yes(true), Expected::Number(3), Expected::Pile(PileId(1)),
            Expected::Place(PileId(0), Place(2)), Expected::Facing(true), Expected::Step(StopIndex(1)),
            Expected::Order(vec![PileId(0), PileId(1)]), Expected::Places(vec![2]), Expected::Word("kind".into()),
            Expected::Line("A line with words.".into()),
            Expected::Pattern(TraitId::COLOUR, read_pattern(&routine, TraitId::COLOUR, "rb").unwrap()),
        ] {
            let _ = mark(&routine, &question(expected, Subject::Next, false), &text);
        }
        let _ = read_yes(&text);
        let _ = differences(&text, "A line with words.");
    }

    #[test]
    fn every_card_of_a_full_pack_reads_in_every_way(n in 0u16..52) {
        let pack = crate::cards::Pack::full(crate::cards::Lang::EnGb).unwrap();
        let mut routine = routine();
        routine.pack = pack.clone();
        let card = crate::cards::Card(n);
        let asked = question(Expected::Card(card), Subject::Next, false);
        for text in [pack.short(card), pack.short(card).to_lowercase(), pack.symbol(card), pack.name(card).to_owned()] {
            prop_assert_eq!(mark(&routine, &asked, &text), Right);
        }
        let other = crate::cards::Card((n + 1) % 52);
        prop_assert_eq!(mark(&routine, &asked, &pack.short(other)), Wrong);
    }

    #[test]
    fn differences_keep_every_word_of_the_line_in_order(typed in "[a-d ]{0,30}", line in "[a-d ]{0,30}") {
        let rebuilt: Vec<String> = differences(&typed, &line)
            .into_iter()
            .filter_map(|word| match word {
                Word::Same(w) | Word::Missed(w) | Word::Changed(w, _) => Some(w),
                Word::Added(_) => None,
            })
            .collect();
        prop_assert_eq!(rebuilt, line.split_whitespace().map(str::to_owned).collect::<Vec<_>>());
    }
}
