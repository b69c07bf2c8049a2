use proptest::prelude::*;

use super::*;

fn face(value: u8, suit: Suit) -> Face {
    Face::Standard(Value(value), suit)
}

fn moon() -> Vec<Custom> {
    let custom = |code: &str, name: &str| Custom {
        code: code.to_owned(),
        name: name.to_owned(),
        traits: Vec::new(),
        mate: None,
    };
    vec![custom("moon", "the full moon"), custom("★", "a star")]
}

#[test]
fn one_card_reads_the_same_however_it_is_written() {
    for text in [
        "7H",
        "7h",
        "7♥",
        "7♡",
        "7♥\u{fe0f}",
        "♥7",
        "h7",
        " 7 H ",
        "seven of hearts",
        "Seven Of Hearts",
        "the seven of hearts",
        "seven hearts",
        "7 of hearts",
        "heart seven",
        "SEVEN OF HEARTS!",
    ] {
        assert_eq!(read_face(text), Ok(face(7, Suit::Hearts)), "{text}");
    }
    for text in ["10H", "TH", "th", "10♥", "ten of hearts", "10 of hearts"] {
        assert_eq!(read_face(text), Ok(face(10, Suit::Hearts)), "{text}");
    }
    assert_eq!(face(10, Suit::Hearts).short(), "10H");
    assert_eq!(read_face("knave of clubs"), Ok(face(11, Suit::Clubs)));
    assert_eq!(read_face("Q of S"), Ok(face(12, Suit::Spades)));
}

#[test]
fn words_are_read_in_each_language_with_and_without_accents() {
    for (lang, text, expected) in [
        (Lang::De, "Herz-Sieben", face(7, Suit::Hearts)),
        (Lang::De, "Herz Sieben", face(7, Suit::Hearts)),
        (Lang::De, "herzsieben", face(7, Suit::Hearts)),
        (Lang::De, "die Herz-Sieben", face(7, Suit::Hearts)),
        (Lang::De, "Karo König", face(13, Suit::Diamonds)),
        (Lang::De, "karokoenig", face(13, Suit::Diamonds)),
        (Lang::De, "Pik-As", face(1, Suit::Spades)),
        (Lang::Fr, "l’as de cœur", face(1, Suit::Hearts)),
        (Lang::Fr, "as de coeur", face(1, Suit::Hearts)),
        (Lang::Fr, "la dame de trefle", face(12, Suit::Clubs)),
        (Lang::Es, "el tres de trebol", face(3, Suit::Clubs)),
        (Lang::It, "l'asso di picche", face(1, Suit::Spades)),
        (Lang::It, "Re di Quadri", face(13, Suit::Diamonds)),
    ] {
        assert_eq!(read_face_in(text, lang), Ok(expected), "{text}");
    }
}

#[test]
fn english_words_are_read_in_every_language_and_never_mean_another_card() {
    for lang in Lang::ALL {
        for face in Face::all52() {
            assert_eq!(
                read_face_in(&Lang::EnGb.face_name(&face), lang),
                Ok(face.clone()),
                "{lang}"
            );
        }
    }
}

#[test]
fn all_words_of_a_language_read_back_in_every_mix() {
    for lang in Lang::ALL {
        for value in Value::all() {
            for suit in Suit::ALL {
                for v in lang.value_words(value) {
                    for s in lang.suit_words(suit) {
                        let expected = Ok(Face::Standard(value, suit));
                        assert_eq!(
                            read_face_in(&format!("{v} {s}"), lang),
                            expected,
                            "{lang} {v} {s}"
                        );
                        assert_eq!(
                            read_face_in(&format!("{s}{v}"), lang),
                            expected,
                            "{lang} {s}{v}"
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn a_fault_says_what_is_wrong_and_what_a_card_looks_like() {
    for (text, said) in [
        ("", "no card is written here"),
        ("11H", "there is no value “11”"),
        ("1H", "there is no value “1”"),
        ("0h", "there is no value “0”"),
        ("7X", "there is no suit “X”"),
        ("10W", "there is no suit “W”"),
        ("7", "it says no suit"),
        ("seven", "it says no suit"),
        ("hearts", "it says no value"),
        ("seven of swords", "it says no suit"),
        ("page of hearts", "it says no value"),
        ("blue moon", "it says neither a value nor a suit"),
        ("abracadabra", "it is neither a code nor a name"),
        (
            "seven of hearts and ace of spades",
            "it says more than one card",
        ),
        ("my seven of hearts", "there are other words in it"),
        ("sevn of hearts", "it says no value, did you mean “seven”?"),
        ("seven of haerts", "it says no suit, did you mean “hearts”?"),
        ("qeuen", "did you mean “queen”?"),
        ("XH", "there is no value “X”"),
        ("14♥", "there is no value “14”"),
    ] {
        let fault = read_face(text).expect_err(text).to_string();
        assert!(fault.contains(said), "{text}: {fault}");
        assert!(
            fault.contains("write a card as 7H, 10H, 7♥ or “seven of hearts”"),
            "{fault}"
        );
    }
    let fault = read_face_in("Herz", Lang::De)
        .expect_err("no value")
        .to_string();
    assert!(fault.contains("“Herz-Sieben”"), "{fault}");
}

#[test]
fn custom_faces_are_read_by_code_and_by_name() {
    let customs = moon();
    for text in ["moon", "MOON", "the full moon", "The Full Moon"] {
        assert_eq!(
            read_face_among(text, Lang::EnGb, &customs),
            Ok(Face::Custom("moon".to_owned())),
            "{text}"
        );
    }
    assert_eq!(
        read_face_among("★", Lang::EnGb, &customs),
        Ok(Face::Custom("★".to_owned()))
    );
    assert_eq!(
        read_face_among("7h", Lang::EnGb, &customs),
        Ok(face(7, Suit::Hearts))
    );
    let fault = read_face_among("mooon", Lang::EnGb, &customs)
        .expect_err("no such")
        .to_string();
    assert!(fault.contains("did you mean “moon”?"), "{fault}");
    let fault = read_face_among("sun", Lang::EnGb, &customs)
        .expect_err("no sun")
        .to_string();
    assert!(fault.contains("this file's own faces: moon, ★"), "{fault}");
}

#[test]
fn lists_are_read_with_facing_and_give_all_faults() {
    let cards = read_list("7H 4S^, moon\n10d", Lang::EnGb, &moon()).expect("a list");
    let shown: Vec<(String, bool)> = cards
        .into_iter()
        .map(|card| (card.face.short(), card.up))
        .collect();
    let expected = [("7H", false), ("4S", true), ("moon", false), ("10D", false)];
    assert_eq!(shown, expected.map(|(code, up)| (code.to_owned(), up)));
    assert_eq!(
        read_list("7H 11H 3X", Lang::EnGb, &[])
            .expect_err("two faults")
            .len(),
        2
    );
    assert_eq!(read_list("  ", Lang::EnGb, &[]), Ok(Vec::new()));
}

proptest! {
    #[test]
    fn what_is_printed_reads_back(index in 0usize..52, lang_index in 0usize..6, loud: bool) {
        let face = Face::all52()[index].clone();
        let lang = Lang::ALL[lang_index];
        for text in [face.short(), face.symbol(), lang.face_name(&face)] {
            let text = if loud { text.to_uppercase() } else { text.to_lowercase() };
            prop_assert_eq!(read_face_in(&text, lang), Ok(face.clone()), "{}", text);
        }
    }

    #[test]
    fn any_text_reads_or_is_refused_without_harm(text in "\\PC{0,24}", lang_index in 0usize..6) {
        let lang = Lang::ALL[lang_index];
        if let Ok(face) = read_face_in(&text, lang) {
            prop_assert_eq!(read_face_in(&face.short(), lang), Ok(face));
        }
    }
}
