use super::*;

#[test]
fn every_file_of_names_reads() {
    for (name, text) in [
        ("en", EN_TEXT),
        ("de", DE_TEXT),
        ("es", ES_TEXT),
        ("fr", FR_TEXT),
        ("it", IT_TEXT),
    ] {
        let names = Names::parse(text).unwrap_or_else(|fault| panic!("{name}: {fault}"));
        assert!(
            names.card.contains("{value}") && names.card.contains("{suit}"),
            "{name}"
        );
        for words in names
            .values
            .iter()
            .chain(&names.suits)
            .chain(&names.colours)
        {
            assert!(
                !words.is_empty() && words.iter().all(|word| !word.trim().is_empty()),
                "{name}"
            );
        }
    }
}

#[test]
fn a_bad_file_of_names_is_refused() {
    assert!(Names::parse("value 1 ace").is_err());
    assert!(Names::parse("value 1 = ace").is_err());
    assert!(Names::parse(&format!("{EN_TEXT}\nvalue 14 = page")).is_err());
    assert!(Names::parse(&format!("{EN_TEXT}\nvalue 1 = ace")).is_err());
}

#[test]
fn the_thirteen_english_values_have_52_letters_in_all() {
    // Source: M. Gardner, "Mathematics, Magic and Mystery" (1956); any English dictionary.
    let letters: usize = Value::all()
        .map(|value| count_letters(&Lang::EnGb.value_words(value)[0]))
        .sum();
    assert_eq!(letters, 52);
}

#[test]
fn the_letters_of_all_names_are_those_of_a_recount_by_hand() {
    // Letters of ace … king, of clubs, hearts, spades, diamonds, and of the joining word, counted by hand.
    type Count = (Lang, [usize; 13], [usize; 4], usize);
    let counts: [Count; 6] = [
        (
            Lang::EnGb,
            [3, 3, 5, 4, 4, 3, 5, 5, 4, 3, 4, 5, 4],
            [5, 6, 6, 8],
            2,
        ),
        (
            Lang::EnUs,
            [3, 3, 5, 4, 4, 3, 5, 5, 4, 3, 4, 5, 4],
            [5, 6, 6, 8],
            2,
        ),
        (
            Lang::De,
            [3, 4, 4, 4, 4, 5, 6, 4, 4, 4, 4, 4, 5],
            [5, 4, 3, 4],
            0,
        ),
        (
            Lang::Es,
            [2, 3, 4, 6, 5, 4, 5, 4, 5, 4, 4, 5, 3],
            [8, 9, 5, 9],
            2,
        ),
        (
            Lang::Fr,
            [2, 4, 5, 6, 4, 3, 4, 4, 4, 3, 5, 4, 3],
            [6, 5, 5, 7],
            2,
        ),
        (
            Lang::It,
            [4, 3, 3, 7, 6, 3, 5, 4, 4, 5, 5, 5, 2],
            [5, 5, 6, 6],
            2,
        ),
    ];
    for (lang, values, suits, joining) in counts {
        for (value, value_letters) in Value::all().zip(values) {
            for (suit, suit_letters) in Suit::ALL.into_iter().zip(suits) {
                let name = lang.card_name(value, suit);
                assert_eq!(
                    count_letters(&name),
                    value_letters + joining + suit_letters,
                    "{lang} {name}"
                );
            }
        }
    }
}

#[test]
fn names_are_put_together_as_each_language_does() {
    // Common practice, no source.
    let seven = Value(7);
    assert_eq!(Lang::EnGb.card_name(seven, Suit::Hearts), "seven of hearts");
    assert_eq!(Lang::De.card_name(seven, Suit::Hearts), "Herz-Sieben");
    assert_eq!(
        Lang::Es.card_name(seven, Suit::Hearts),
        "siete de corazones"
    );
    assert_eq!(Lang::Fr.card_name(seven, Suit::Hearts), "sept de cœur");
    assert_eq!(Lang::It.card_name(seven, Suit::Hearts), "sette di cuori");
    assert_eq!(Lang::Fr.card_name(Value::ACE, Suit::Spades), "as de pique");
    assert_eq!(
        Lang::It.card_name(Value::ACE, Suit::Spades),
        "asso di picche"
    );
    assert_eq!(Lang::De.card_name(Value::KING, Suit::Clubs), "Kreuz-König");
}

#[test]
fn letters_are_counted_as_they_are_spelled() {
    assert_eq!(count_letters("König"), 5);
    assert_eq!(count_letters("tre\u{300}fle"), 6);
    assert_eq!(count_letters("cœur"), 5);
    assert_eq!(count_letters("Herz-Sieben"), 10);
    assert_eq!(count_letters("the 7 of hearts!"), 11);
    assert_eq!(count_letters(""), 0);
}

#[test]
fn languages_print_and_read_back() {
    for lang in Lang::ALL {
        assert_eq!(lang.to_string().parse(), Ok(lang));
    }
    assert_eq!("EN-gb".parse(), Ok(Lang::EnGb));
    assert!("tlh".parse::<Lang>().is_err());
}

#[test]
fn folding_forgets_case_accents_and_signs() {
    assert_eq!(fold("  Herz–König! "), "herz konig");
    assert_eq!(fold("CŒUR"), "coeur");
    assert_eq!(fold("tre\u{300}fle"), "trefle");
    assert_eq!(fold("l’as"), "l as");
}
