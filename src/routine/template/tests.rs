use crate::cards::{Lang, Pack};
use crate::routine::by_hand::ByHand;
use crate::routine::model::Template;
use crate::routine::world::{Fault, Value};
use crate::table::PileId;
use proptest::prelude::*;

fn hand() -> ByHand {
    let on = ByHand::new(&[("packet", "7H 2C KS"), ("left", ""), ("right", "")]);
    let card = on.card("7H");
    on.with("n", Value::Int(7))
        .with("theirs", Value::Card(card))
        .with("where", Value::Pile(PileId(1)))
        .with("order", Value::Order([PileId(2), PileId(1)].into()))
        .with("side", Value::Text("left hand".into()))
}

#[test]
fn blanks_are_filled_in_words() {
    let on = hand();
    for (text, said) in [
        ("", ""),
        ("Deal {n} cards.", "Deal 7 cards."),
        ("The {theirs}!", "The seven of hearts!"),
        ("{where}: {size(packet) + 1}", "left: 4"),
        ("First {order}.", "First right, left."),
        (
            "Your {side}; is it red? {colour(theirs)}",
            "Your left hand; is it red? red",
        ),
        ("{n}{n}", "77"),
        ("a {{brace}} and }}", "a {brace} and }"),
        ("{{{n}}}", "{7}"),
        ("{n % 2 == 1 ? 'odd' : 'even'} — é", "odd — é"),
    ] {
        let template = Template::parse(text, &on.routine).unwrap();
        assert_eq!(template.render(on.scene()), Ok(said.to_owned()), "{text}");
    }
}

#[test]
fn cards_are_named_in_the_routines_language() {
    let mut on = hand();
    let template = Template::parse("{theirs}", &on.routine).unwrap();
    on.routine.pack = Pack::full(Lang::De).unwrap();
    // "Herz Sieben" is common practice in German, no source.
    let said = template.render(on.scene()).unwrap();
    assert!(said.contains("Herz"), "{said}");
}

#[test]
fn a_blank_that_cannot_be_filled_says_where_or_why() {
    let on = hand();
    for (text, words, at) in [
        (
            "Say {n",
            "this `{` is never closed; for a brace as it stands write `{{`",
            4,
        ),
        (
            "Say {n {n}",
            "this `{` is never closed; for a brace as it stands write `{{`",
            4,
        ),
        (
            "n} is",
            "this `}` closes nothing; for a brace as it stands write `}}`",
            1,
        ),
        ("é {sied}", "there is no `sied`; did you mean `side`?", 3),
        ("{}", "there is nothing here; write an expression", 1),
    ] {
        let fault = Template::parse(text, &on.routine).unwrap_err();
        assert_eq!(
            (fault.message.as_str(), fault.offset),
            (words, at),
            "{text}"
        );
    }
    let template = Template::parse("{1 / (n - 7)}", &on.routine).unwrap();
    assert!(matches!(template.render(on.scene()), Err(Fault::Value(_))));
}

#[test]
fn an_open_template_shows_what_its_blanks_ask_for() {
    let on = hand();
    let template = Template::parse("Deal {n} of {size(packet)}.", &on.routine).unwrap();
    assert_eq!(template.open(), "Deal [n] of [size(packet)].");
    assert!(Template::plain("").is_empty());
    assert!(!template.is_empty());
}

proptest! {
    #[test]
    fn text_without_blanks_is_said_as_it_stands(text in "[^{}]{0,40}") {
        let on = hand();
        let template = Template::parse(&text, &on.routine).unwrap();
        prop_assert_eq!(&template, &Template::plain(&text));
        prop_assert_eq!(template.render(on.scene()), Ok(text));
    }

    #[test]
    fn any_text_is_survived(text in "[{}n+ é'sideorp()]{0,40}") {
        let on = hand();
        match Template::parse(&text, &on.routine) {
            Ok(template) => drop(template.render(on.scene())),
            Err(fault) => prop_assert!(fault.offset <= text.chars().count()),
        }
    }
}
