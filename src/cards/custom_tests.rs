use crate::cards::{Pack, Suit, Value};

use super::*;

fn custom(code: &str, name: &str, traits: &[(&str, &str)], mate: Option<&str>) -> Custom {
    Custom {
        code: code.to_owned(),
        name: name.to_owned(),
        traits: traits
            .iter()
            .map(|(name, class)| ((*name).to_owned(), (*class).to_owned()))
            .collect(),
        mate: mate.map(str::to_owned),
    }
}

pub(in crate::cards) fn sky() -> Vec<Custom> {
    vec![
        custom(
            "moon",
            "the moon",
            &[("colour", "silver"), ("shape", "round")],
            Some("sun"),
        ),
        custom(
            "sun",
            "the sun",
            &[("colour", "red"), ("shape", "round")],
            None,
        ),
        custom(
            "seven",
            "a plain seven",
            &[("value", "7"), ("suit", "heart")],
            None,
        ),
    ]
}

fn class_of<'a>(pack: &'a Pack, text: &str, name: &str) -> Option<&'a str> {
    let id = pack.find_trait(name).expect(name);
    pack.class(pack.read(text).expect(text), id)
        .map(|class| pack.label(id, class))
}

#[test]
fn custom_faces_have_only_what_they_say() {
    let faces = ["moon", "sun", "seven"]
        .map(|code| Face::Custom(code.to_owned()))
        .to_vec();
    let pack = Pack::new(faces, Lang::EnGb, &sky(), &[]).expect("a pack");
    let (moon, sun, seven) = (Card(0), Card(1), Card(2));
    assert_eq!(class_of(&pack, "moon", "colour"), Some("silver"));
    assert_eq!(class_of(&pack, "sun", "colour"), Some("red"));
    assert_eq!(class_of(&pack, "moon", "shape"), Some("round"));
    assert_eq!(class_of(&pack, "moon", "value"), None);
    assert_eq!(class_of(&pack, "moon", "suit"), None);
    assert_eq!(class_of(&pack, "moon", "court"), None);
    assert_eq!(class_of(&pack, "seven", "value"), Some("seven"));
    assert_eq!(class_of(&pack, "seven", "colour"), Some("red"));
    assert_eq!(class_of(&pack, "seven", "parity"), Some("odd"));
    assert_eq!(class_of(&pack, "seven", "shape"), None);
    assert_eq!(pack.value_number(moon), None);
    assert_eq!(pack.value_number(seven), Some(7));
    assert_eq!(
        (pack.mate_of(moon), pack.mate_of(sun), pack.mate_of(seven)),
        (Some(sun), Some(moon), None)
    );
    assert_eq!(
        (
            pack.name(moon),
            pack.letters(moon),
            pack.short(moon).as_str()
        ),
        ("the moon", 7, "moon")
    );
    assert_eq!(pack.read("The Sun"), Ok(sun));
    assert_eq!(
        pack.find_class("round").map(|(id, _)| pack.trait_name(id)),
        Some("shape")
    );
}

#[test]
fn a_pack_that_contradicts_itself_is_refused_with_all_faults() {
    let customs = [
        custom("7H", "mine", &[], None),
        custom("two words", "mine", &[], None),
        custom(
            "a1",
            "",
            &[("value", "14"), ("letters", "odd")],
            Some("nobody"),
        ),
        custom("a1", "again", &[], Some("a1")),
    ];
    let lists = [
        ("colour".to_owned(), Vec::new()),
        ("x".to_owned(), vec![Face::Custom("none".to_owned())]),
    ];
    let faces = vec![
        Face::Custom("lost".to_owned()),
        Face::Standard(Value(14), Suit::Clubs),
    ];
    let fault = Pack::new(faces, Lang::EnGb, &customs, &lists)
        .expect_err("faults")
        .to_string();
    for said in [
        "face 7H: this code is one of the 52",
        "a code is one word",
        "face a1: it needs a name",
        "its mate nobody is not defined",
        "face a1 is defined twice",
        "cannot be its own mate",
        "trait list colour: every pack has",
        "trait list x: face none is not defined",
        "face lost is not defined",
        "there is no value 14",
    ] {
        assert!(fault.contains(said), "{said}: {fault}");
    }
    let traits = [custom(
        "a1",
        "one",
        &[("value", "14"), ("letters", "odd"), ("suit", "cups")],
        None,
    )];
    let fault = Pack::new(Vec::new(), Lang::EnGb, &traits, &[])
        .expect_err("faults")
        .to_string();
    assert!(
        fault.contains("14 is not a value")
            && fault.contains("cannot be set")
            && fault.contains("cups"),
        "{fault}"
    );
}

#[test]
fn faces_that_differ_by_case_or_share_a_name_are_refused() {
    let customs = [
        custom("sun", "the sun", &[], None),
        custom("Sun", "another sun", &[], None),
    ];
    let fault = Pack::new(Vec::new(), Lang::EnGb, &customs, &[]).expect_err("case");
    assert_eq!(fault.to_string(), "face Sun is defined twice");
    let customs = [
        custom("a1", "the sun", &[], None),
        custom("a2", "The Sun", &[], None),
    ];
    let fault = Pack::new(Vec::new(), Lang::EnGb, &customs, &[]).expect_err("name");
    assert_eq!(
        fault.to_string(),
        "face a2: another face has the name The Sun"
    );
}
