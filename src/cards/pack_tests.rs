use proptest::prelude::*;

use super::*;
use crate::cards::custom::tests::sky;
use crate::cards::traits::BUILT_IN;
use crate::cards::{Suit, read_face};

fn full(lang: Lang) -> Pack {
    Pack::full(lang).expect("the full pack")
}

fn card(pack: &Pack, text: &str) -> Card {
    pack.read(text).expect(text)
}

fn class_of<'a>(pack: &'a Pack, text: &str, name: &str) -> Option<&'a str> {
    let id = pack.find_trait(name).expect(name);
    pack.class(card(pack, text), id)
        .map(|class| pack.label(id, class))
}

#[test]
fn the_constants_name_their_traits() {
    let pack = full(Lang::EnGb);
    for (id, name) in [
        (TraitId::COLOUR, "colour"),
        (TraitId::SUIT, "suit"),
        (TraitId::VALUE, "value"),
        (TraitId::PARITY, "parity"),
        (TraitId::LETTERS, "letters"),
        (TraitId::COURT, "court"),
        (TraitId::FACE, "face"),
    ] {
        assert_eq!(pack.trait_name(id), name);
        assert_eq!(pack.find_trait(name), Some(id));
        assert_eq!(BUILT_IN[id.index()], name);
    }
    assert_eq!(pack.traits().len(), 7);
    assert_eq!(pack.find_trait("Color"), Some(TraitId::COLOUR));
    assert_eq!(pack.find_trait("shape"), None);
}

#[test]
fn a_full_pack_splits_as_everybody_knows() {
    let pack = full(Lang::EnGb);
    let sizes = |id: TraitId| -> Vec<usize> {
        (0..pack.traits()[id.index()].labels.len())
            .map(|class| {
                pack.cards()
                    .filter(|card| pack.class(*card, id).map(Class::index) == Some(class))
                    .count()
            })
            .collect()
    };
    assert_eq!(pack.size(), 52);
    assert_eq!(sizes(TraitId::COLOUR), [26, 26]);
    assert_eq!(sizes(TraitId::SUIT), [13; 4]);
    assert_eq!(sizes(TraitId::VALUE), [4; 13]);
    assert_eq!(sizes(TraitId::PARITY), [28, 24]);
    assert_eq!(sizes(TraitId::COURT), [12, 40]);
    assert_eq!(sizes(TraitId::FACE), [1; 52]);
}

#[test]
fn a_card_has_its_classes() {
    let pack = full(Lang::EnGb);
    assert_eq!(class_of(&pack, "7H", "colour"), Some("red"));
    assert_eq!(class_of(&pack, "KS", "colour"), Some("black"));
    assert_eq!(class_of(&pack, "7H", "suit"), Some("hearts"));
    assert_eq!(class_of(&pack, "7H", "value"), Some("seven"));
    assert_eq!(class_of(&pack, "7H", "parity"), Some("odd"));
    assert_eq!(class_of(&pack, "QH", "parity"), Some("even"));
    assert_eq!(class_of(&pack, "QH", "court"), Some("court"));
    assert_eq!(class_of(&pack, "AH", "court"), Some("spot"));
    assert_eq!(class_of(&pack, "10H", "face"), Some("10H"));
    // seven of hearts: 5 + 2 + 6; ace of clubs: 3 + 2 + 5.
    assert_eq!(pack.letters(card(&pack, "7H")), 13);
    assert_eq!(class_of(&pack, "7H", "letters"), Some("odd"));
    assert_eq!(class_of(&pack, "AC", "letters"), Some("even"));
    assert_eq!(pack.value_number(card(&pack, "KS")), Some(13));
}

#[test]
fn the_parity_of_letters_follows_the_language() {
    // Counted by hand: Herz-Sieben 10, sept de cœur 4 + 2 + 5.
    let german = full(Lang::De);
    assert_eq!(german.letters(card(&german, "7H")), 10);
    assert_eq!(class_of(&german, "7H", "letters"), Some("even"));
    let french = full(Lang::Fr);
    assert_eq!(french.letters(card(&french, "7H")), 11);
    assert_eq!(class_of(&french, "7H", "letters"), Some("odd"));
}

#[test]
fn classes_are_found_by_their_labels() {
    let pack = full(Lang::EnGb);
    for (label, id, class) in [
        ("red", TraitId::COLOUR, "red"),
        ("Blacks", TraitId::COLOUR, "black"),
        ("heart", TraitId::SUIT, "hearts"),
        ("hearts", TraitId::SUIT, "hearts"),
        ("♥", TraitId::SUIT, "hearts"),
        ("seven", TraitId::VALUE, "seven"),
        ("sixes", TraitId::VALUE, "six"),
        ("7", TraitId::VALUE, "seven"),
        ("10", TraitId::VALUE, "ten"),
        ("odd", TraitId::PARITY, "odd"),
        ("letters=odd", TraitId::LETTERS, "odd"),
        ("letters = even", TraitId::LETTERS, "even"),
        ("court", TraitId::COURT, "court"),
        ("spots", TraitId::COURT, "spot"),
        ("7H", TraitId::FACE, "7H"),
        ("TH", TraitId::FACE, "10H"),
        ("7♥", TraitId::FACE, "7H"),
        ("seven of hearts", TraitId::FACE, "7H"),
        ("face=7h", TraitId::FACE, "7H"),
        ("value=K", TraitId::VALUE, "king"),
        ("value=12", TraitId::VALUE, "queen"),
        ("suit=heart", TraitId::SUIT, "hearts"),
    ] {
        let (found, found_class) = pack.find_class(label).expect(label);
        assert_eq!(
            (found, pack.label(found, found_class)),
            (id, class),
            "{label}"
        );
    }
    for label in [
        "",
        " ",
        "*",
        "A",
        "B",
        "green",
        "colour=seven",
        "shape=round",
        "=",
        "lucky",
        "14",
        "s",
    ] {
        assert_eq!(pack.find_class(label), None, "{label}");
    }
    let german = full(Lang::De);
    assert_eq!(german.find_class("rot"), german.find_class("red"));
    assert_eq!(german.find_class("Herz"), german.find_class("hearts"));
    assert_eq!(german.find_class("König"), german.find_class("king"));
}

#[test]
fn every_label_finds_its_class_when_the_trait_is_named() {
    let lists = [(
        "lucky".to_owned(),
        vec![Face::Standard(Value(7), Suit::Hearts)],
    )];
    for lang in Lang::ALL {
        let mut faces = Face::all52();
        faces.extend(sky().iter().map(|custom| Face::Custom(custom.code.clone())));
        let pack = Pack::new(faces, lang, &sky(), &lists).expect("a pack");
        for id in pack.trait_ids() {
            for (at, label) in pack.traits()[id.index()].labels.iter().enumerate() {
                let found = pack.find_class(&format!("{}={label}", pack.trait_name(id)));
                assert_eq!(
                    found,
                    Some((id, Class(u8::try_from(at).expect("few")))),
                    "{lang} {label}"
                );
            }
        }
    }
}

#[test]
fn lists_of_the_file_are_traits() {
    let lucky = ["7H", "3C"]
        .map(|text| read_face(text).expect(text))
        .to_vec();
    let pack = Pack::new(
        Face::all52(),
        Lang::EnGb,
        &[],
        &[("lucky".to_owned(), lucky)],
    )
    .expect("a pack");
    assert_eq!(class_of(&pack, "3C", "lucky"), Some("lucky"));
    assert_eq!(class_of(&pack, "4C", "lucky"), Some("not lucky"));
    let id = pack.find_trait("lucky").expect("lucky");
    assert_eq!(pack.find_class("lucky"), Some((id, Class(0))));
    assert_eq!(pack.find_class("not-lucky"), Some((id, Class(1))));
    assert_eq!(pack.find_class("not lucky"), Some((id, Class(1))));
}

#[test]
fn mates_have_the_same_value_and_colour_and_are_mutual() {
    let pack = full(Lang::EnGb);
    for one in pack.cards() {
        let mate = pack.mate_of(one).expect("a mate");
        assert_ne!(one, mate);
        assert_eq!(pack.mate_of(mate), Some(one));
        assert!(pack.are_mates(one, mate));
        for id in [TraitId::COLOUR, TraitId::VALUE] {
            assert_eq!(pack.class(one, id), pack.class(mate, id));
        }
    }
    assert_eq!(pack.mate_of(card(&pack, "7H")), Some(card(&pack, "7D")));
}

#[test]
fn cards_that_look_alike_are_two_cards() {
    let faces = ["7H", "7D", "7H", "7D", "7H", "2S"]
        .map(|text| read_face(text).expect(text))
        .to_vec();
    let pack = Pack::new(faces, Lang::EnGb, &[], &[]).expect("a pack");
    assert_eq!(pack.read("7d"), Ok(Card(1)));
    assert!(pack.same_look(Card(0), Card(2)) && !pack.same_look(Card(0), Card(1)));
    assert!(!pack.same_look(Card(90), Card(91)));
    let mates: Vec<Option<Card>> = pack.cards().map(|card| pack.mate_of(card)).collect();
    assert_eq!(
        mates,
        [
            Some(Card(1)),
            Some(Card(0)),
            Some(Card(3)),
            Some(Card(2)),
            None,
            None
        ]
    );
    assert!(pack.are_mates(Card(4), Card(1)));
    assert_eq!(
        pack.traits()[TraitId::FACE.index()].labels,
        ["7H", "7D", "2S"]
    );
}

#[test]
fn a_card_that_is_not_there_is_named() {
    let pack = Pack::new(
        vec![Face::Standard(Value(2), Suit::Clubs)],
        Lang::EnGb,
        &[],
        &[],
    )
    .expect("a pack");
    let fault = pack.read("7h").expect_err("absent").to_string();
    assert_eq!(
        fault,
        "7H (seven of hearts) is not among the 1 cards of this routine"
    );
}

#[test]
fn every_card_reads_back_in_all_three_ways_and_every_language() {
    for lang in Lang::ALL {
        let pack = full(lang);
        for card in pack.cards() {
            for how in [Written::Letters, Written::Symbols, Written::Words] {
                assert_eq!(pack.read(&pack.written(card, how)), Ok(card), "{lang}");
            }
        }
    }
}

proptest! {
    #[test]
    fn any_packet_of_standard_cards_holds_together(picks in prop::collection::vec(0usize..52, 0..80), lang in 0usize..6) {
        let all = Face::all52();
        let faces: Vec<Face> = picks.iter().map(|pick| all[*pick].clone()).collect();
        let pack = Pack::new(faces, Lang::ALL[lang], &[], &[]).expect("a pack");
        for table in pack.traits() {
            prop_assert_eq!(table.of.len(), picks.len());
            let in_range = |class: &Option<Class>| class.is_some_and(|class| class.index() < table.labels.len());
            prop_assert!(table.of.iter().all(in_range), "{}", table.name);
        }
        for one in pack.cards() {
            let read = pack.read(pack.name(one)).expect("its own name");
            prop_assert!(read <= one && pack.same_look(read, one));
            if let Some(mate) = pack.mate_of(one) {
                prop_assert_eq!(pack.mate_of(mate), Some(one));
                prop_assert!(pack.are_mates(one, mate) && !pack.same_look(one, mate));
            }
            for other in pack.cards() {
                let alike = pack.class(one, TraitId::FACE) == pack.class(other, TraitId::FACE);
                prop_assert_eq!(alike, pack.same_look(one, other));
            }
        }
    }
}
