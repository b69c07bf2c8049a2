use super::*;
use crate::cards::{Suit, Value as CardValue};
use proptest::prelude::*;

const EN: Lang = Lang::EnGb;

#[test]
fn numbers_are_said_as_the_reference_says_them() {
    // From the PyPI package num2words; tests/reference/spoken_numbers.py makes the file.
    let reference = include_str!("../../../tests/reference/spoken_numbers.txt");
    let mut compared = 0;
    let mut wrong = Vec::new();
    for line in reference.lines() {
        let fields: Vec<&str> = line.split('\t').collect();
        let lang: Lang = fields[0].parse().unwrap();
        let n: i64 = fields[1].parse().unwrap();
        compared += 1;
        let said = number(lang, n);
        if said != fields[2] {
            wrong.push(format!("{lang} {n}: {said}, not {}", fields[2]));
        }
    }
    assert!(compared > 1000, "{compared}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn small_negative_and_large_numbers_are_said() {
    assert_eq!(number(EN, -3), "minus three");
    assert_eq!(number(Lang::Fr, -1), "moins un");
    assert_eq!(number(EN, 1_000_000), "one zero zero zero zero zero zero");
    assert!(number(EN, i64::MIN).starts_with("minus nine two two"));
}

#[test]
fn a_card_is_said_by_its_name_in_every_language() {
    let seven_of_hearts = [
        "seven of hearts",
        "seven of hearts",
        "Herz-Sieben",
        "siete de corazones",
        "sept de cœur",
        "sette di cuori",
    ];
    for (lang, name) in Lang::ALL.into_iter().zip(seven_of_hearts) {
        let pack = Pack::full(lang).unwrap();
        let seven = pack.read("7H").unwrap();
        assert_eq!(card(&pack, seven), name);
        for text in ["7H", "7♥", "7♡", "7\u{2665}\u{fe0f}", " 7H "] {
            assert_eq!(plain(lang, text), name, "{text}");
        }
    }
}

#[test]
fn no_code_of_a_card_is_spelled_out() {
    for suit in Suit::ALL {
        for n in 1..=13 {
            let value = CardValue::new(n).unwrap();
            let code = format!(
                "{}{}",
                value_code(n),
                "CHSD".chars().nth(suit as usize).unwrap()
            );
            assert_eq!(plain(EN, &code), EN.card_name(value, suit), "{code}");
            let listed = format!("2C {code} 3D");
            assert!(
                plain(EN, &listed).contains(&EN.card_name(value, suit)),
                "{listed}"
            );
        }
    }
}

fn value_code(n: u8) -> String {
    match n {
        1 => "A".to_owned(),
        11 => "J".to_owned(),
        12 => "Q".to_owned(),
        13 => "K".to_owned(),
        n => n.to_string(),
    }
}

#[test]
fn texts_are_said_as_a_person_would() {
    for (text, said) in [
        ("Let's say 17.", "Let's say seventeen."),
        ("Chair number 4, please", "Chair number four, please"),
        ("AS YOU WISH", "as you wish"),
        ("I say A", "I say A"),
        ("The 2nd and the 21st", "The second and the twenty-first"),
        ("1,000 or 1,2", "one thousand or one two"),
        ("3.5 cm", "three point five cm"),
        ("-2 cards", "minus two cards"),
        ("two — or three…", "two, or three."),
        ("“Read it!” (softly)", "Read it! softly,"),
        ("a well-known b2", "a well-known b two"),
        ("two\n\n  lines\tof it", "two lines of it"),
        ("♥ is his suit", "hearts is his suit"),
        ("room 007", "room zero zero seven"),
        ("What?!", "What?"),
    ] {
        assert_eq!(plain(EN, text), said, "{text:?}");
    }
    assert_eq!(plain(Lang::De, "3,5"), "drei fünf");
    assert_eq!(plain(Lang::Fr, "L'as de cœur"), "L'as de cœur");
}

#[test]
fn names_of_piles_are_said_as_words() {
    for (written, said) in [
        ("left", "left"),
        ("left-hand", "left hand"),
        ("LEFT", "left"),
        ("leftHand", "left hand"),
        ("left_2", "left two"),
        ("A", "A"),
        ("b", "B"),
    ] {
        assert_eq!(name(EN, written), said);
    }
}

#[test]
fn what_cannot_be_spoken_leaves_no_trace() {
    for text in [
        "",
        "   ",
        "\u{1b}[31m",
        "😀🎩",
        "שלום",
        "<>",
        "&&",
        "\u{202e}\u{200b}",
        "—",
        "'''",
        "...",
    ] {
        let said = plain(EN, text);
        assert!(
            said.chars().all(|c| c.is_alphanumeric()),
            "{text:?}: {said:?}"
        );
    }
    assert_eq!(plain(EN, "\u{1b}[31mred\u{7}"), "red");
    assert_eq!(
        plain(EN, "<play file=\"/etc/passwd\"/>"),
        "play file etc passwd"
    );
    assert_eq!(plain(EN, &"x".repeat(100_000)), "");
    assert!(plain(EN, &"word ".repeat(100_000)).chars().count() <= LONGEST);
}

fn readable(c: char) -> bool {
    c.is_alphabetic() || " .,?!:;'-".contains(c)
}

#[test]
fn a_text_is_taken_apart_at_its_sentences() {
    let text = "This is the first sentence of all. And this is the second! Short. And the third one ends it";
    let found = parts(text);
    assert_eq!(found.len(), 3, "{found:?}");
    assert_eq!(found.join(" "), text);
    let long = "word ".repeat(200);
    assert!(parts(long.trim()).iter().all(|p| p.chars().count() <= 180));
}

proptest! {
    #[test]
    fn what_is_said_holds_nothing_but_words(text in "\\PC*|[<>&/a-z \"=0-9♥♦HDAJQK.,'\\-\u{0}-\u{1f}]*") {
        for lang in Lang::ALL {
            let said = plain(lang, &text);
            prop_assert!(said.chars().all(readable), "{:?}", said);
            prop_assert!(!said.contains("  ") && said.trim() == said, "{:?}", said);
            prop_assert_eq!(plain(lang, &said), said.clone());
            prop_assert_eq!(parts(&said).join(" "), said);
        }
    }
}
