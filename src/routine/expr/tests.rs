mod any_text;

use super::*;
use crate::cards::{Lang, Pack};
use crate::routine::model::{Lookup, Name, NameKind, StopIndex};
use crate::routine::{Routine, World};
use crate::table::Table;
use proptest::prelude::*;

/// A routine on the full pack with names `n` (7), `where` (the pile left), `theirs` (7H), `order` (right, left),
/// `picks` (2 and 5), `side` (the word `left`), a table `keys`, and the top of `packet` 7H, 2C (face up), KS.
struct Fixture {
    routine: Routine,
    world: World,
}

const NAMES: [&str; 8] = [
    "n", "where", "theirs", "order", "picks", "side", "again", "late",
];

impl Fixture {
    fn new() -> Self {
        let pack = Pack::full(Lang::EnGb).unwrap();
        let mut routine = Routine::bare(pack, &["packet", "left", "right"]);
        routine.names = NAMES
            .iter()
            .map(|name| Name {
                name: (*name).to_owned(),
                kind: NameKind::Fork,
                about: None,
            })
            .collect();
        routine.lookups = vec![Lookup {
            name: "keys".to_owned(),
            rows: vec![
                (Value::Int(7), Value::Text("seven".into())),
                (Value::Int(8), Value::Text("eight".into())),
            ],
        }];
        let read = |text: &str| routine.pack.read(text).unwrap();
        let mut table = Table::empty(3);
        for (text, up) in [("7H", false), ("2C", true), ("KS", false)] {
            table
                .pile_mut(PileId(0))
                .push_back(crate::table::Laid::new(read(text), up));
        }
        let world = World {
            at: StopIndex(0),
            table,
            memory: vec![
                Some(Value::Int(7)),
                Some(Value::Pile(PileId(1))),
                Some(Value::Card(read("7H"))),
                Some(Value::Order([PileId(2), PileId(1)].into())),
                Some(Value::Places([2, 5].into())),
                Some(Value::Text("left".into())),
                Some(Value::Bool(true)),
                None,
            ],
            faces: Vec::new(),
        };
        Self { routine, world }
    }
    fn scene(&self) -> Scene<'_> {
        Scene {
            routine: &self.routine,
            world: &self.world,
        }
    }
}

/// As the routine, but with the kinds of the names known, as they are when a file is read.
struct Known<'a>(&'a Routine);

impl Scope for Known<'_> {
    fn look_up(&self, name: &str) -> Option<Meaning> {
        let kinds = [
            Kind::Int,
            Kind::Pile,
            Kind::Card,
            Kind::Order,
            Kind::Places,
            Kind::Text,
            Kind::Bool,
            Kind::Int,
        ];
        match self.0.look_up(name)? {
            Meaning::Name(id, _) => Some(Meaning::Name(id, kinds[id.index()])),
            other @ (Meaning::Pile(_) | Meaning::Lookup(..)) => Some(other),
        }
    }
    fn card(&self, text: &str) -> Option<Card> {
        self.0.card(text)
    }
    fn trait_named(&self, name: &str) -> Option<TraitId> {
        self.0.trait_named(name)
    }
    fn traits(&self) -> Vec<String> {
        self.0.traits()
    }
    fn class(&self, trait_id: TraitId, label: &str) -> Option<Class> {
        self.0.class(trait_id, label)
    }
    fn labels(&self, trait_id: TraitId) -> Vec<String> {
        self.0.labels(trait_id)
    }
    fn options(&self, name: NameId) -> Option<Vec<Arc<str>>> {
        (name == NameId(5)).then(|| vec!["left".into(), "right".into()])
    }
    fn near(&self, name: &str) -> Option<String> {
        self.0.near(name)
    }
}

/// The value as text, or the fault's words.
fn shown(source: &str) -> String {
    let fixture = Fixture::new();
    let known = match Expr::compile(source, &Known(&fixture.routine)) {
        Ok(expr) => expr,
        Err(fault) => return format!("{} @{}", fault.message, fault.offset),
    };
    let unknown = Expr::compile(source, &fixture.routine).unwrap();
    let value = known.value(fixture.scene());
    assert_eq!(
        value,
        unknown.value(fixture.scene()),
        "kinds known or not, {source} has one value"
    );
    match value {
        Ok(value) => value.show(&fixture.routine),
        Err(fault) => fault.to_string(),
    }
}

#[test]
fn expressions_have_the_values_a_performer_expects() {
    for (source, value) in [
        ("2 * (n - 8)", "-2"),
        ("-7 / 2", "-3"),
        ("-7 % 3", "-1"),
        ("n > 6 && !(n == 8) || false", "yes"),
        ("n % 2 == 1 ? 'odd' : 'even'", "odd"),
        ("keys[n]", "seven"),
        ("keys[n + 1]", "eight"),
        ("size(packet)", "3"),
        ("size(where)", "0"),
        ("size(order)", "2"),
        ("place(theirs)", "1"),
        ("pile_of(theirs)", "packet"),
        ("card(packet, 2)", "2C"),
        ("card(packet, -1)", "KS"),
        ("theirs == card(\"7♥\")", "yes"),
        ("card(packet, 1) == card('seven of hearts')", "yes"),
        ("colour(theirs)", "red"),
        ("suit(card(packet, 3)) == \"spades\"", "yes"),
        ("colour(theirs) != \"black\"", "yes"),
        ("suit(theirs) in ['hearts', 'diamonds']", "yes"),
        ("trait(theirs, \"colour\")", "red"),
        ("value(card(packet, 3))", "13"),
        ("letters(theirs)", "13"),
        ("letters(\"abracadabra\")", "11"),
        ("mate(theirs)", "7D"),
        ("up(packet, 2)", "yes"),
        ("up(packet, 1)", "no"),
        ("showing(packet)", "1"),
        ("showing_odd(packet)", "0"),
        ("showing_even(packet)", "1"),
        ("showing_even(left) + showing(right)", "0"),
        ("min(n, 3, 9) + max(1, 2)", "5"),
        ("abs(3 - 10)", "7"),
        ("pow2_below(12)", "8"),
        ("pow2_below(16)", "16"),
        ("first(order)", "right"),
        ("last(order)", "left"),
        ("nth(order, 2)", "left"),
        ("picks[2]", "5"),
        ("5 in picks", "yes"),
        ("n in [1, 7]", "yes"),
        ("n in []", "no"),
        ("theirs in [card('2C'), card('7H')]", "yes"),
        ("card('2C') == theirs", "no"),
        ("card('2C') == card('2C')", "yes"),
        ("'red' == colour(theirs)", "yes"),
        ("'red' == 'black'", "no"),
        ("left in order", "yes"),
        ("where == left", "yes"),
        ("side == 'left'", "yes"),
        ("side in ['right']", "no"),
        ("[left, packet, right]", "left,packet,right"),
        (
            "with_pile_at([left, packet, right], where, 3)",
            "packet,right,left",
        ),
        (
            "with_pile_at([left, packet, right], right, 1)",
            "right,left,packet",
        ),
        ("false && 1 / 0 == 1", "no"),
        ("again", "yes"),
    ] {
        assert_eq!(shown(source), value, "{source}");
    }
}

#[test]
fn what_has_no_value_says_why() {
    for (source, words) in [
        ("1 / (n - 7)", "1 cannot be divided by zero"),
        ("1 % 0", "1 cannot be divided by zero"),
        ("9223372036854775807 + n", "the number grows too large"),
        ("keys[9]", "the table `keys` has no row for 9"),
        (
            "card(packet, 4)",
            "the pile `packet` has 3 cards; it has no place 4",
        ),
        (
            "card(packet, 0)",
            "the pile `packet` has 3 cards; it has no place 0",
        ),
        ("up(left, 1)", "the pile `left` is empty; it has no place 1"),
        ("place(card('AS'))", "this card is not on the table"),
        ("late + 1", "`late` is not known yet at this point"),
        ("pow2_below(0)", "no power of two is at most 0"),
        ("nth(order, 3)", "there is no number 3 of 2"),
        ("[left, where]", "the pile `left` is listed twice"),
        (
            "with_pile_at(order, packet, 1)",
            "the pile `packet` is not in this order",
        ),
    ] {
        assert_eq!(shown(source), format!("{words} (in `{source}`)"));
    }
}
#[test]
fn a_refusal_says_what_to_do_and_where() {
    for (source, words, at) in [
        (
            "sied == 'left'",
            "there is no `sied`; did you mean `side`?",
            0,
        ),
        (
            "1 + pakcet",
            "there is no `pakcet`; did you mean `packet`?",
            4,
        ),
        (
            "zebra + 1",
            "there is no `zebra`; words are written in quotes, and a name must be chosen or reckoned before it is used",
            0,
        ),
        ("'é' == sied", "there is no `sied`; did you mean `side`?", 7),
        (
            "n +",
            "the expression ends too early; a value is missing at its end",
            3,
        ),
        (
            "n ? 1",
            "the expression ends too early; a choice is written `a ? b : c`",
            5,
        ),
        (
            "n n",
            "before `n` an operator is missing, such as `+` or `==`",
            2,
        ),
        ("n and n", "for \"and\", write `&&`", 2),
        ("1 +* 2", "before `*` a value is missing", 3),
        ("[left right]", "before `right` a comma is missing", 6),
        ("(n", "this `(` is never closed", 0),
        ("n)", "`)` closes nothing; take it away", 1),
        ("(n]", "`]` does not close the `(` at character 1", 2),
        ("n = 7", "to compare, write `==`", 2),
        ("n ≤ 3", "write `<=`", 2),
        ("n & n", "for \"and\", write `&&`", 2),
        ("1.5", "only whole numbers here; there are no fractions", 1),
        (
            "5u",
            "only whole numbers here, such as 7; no fractions or suffixes",
            0,
        ),
        ("99999999999999999999", "this number is too large", 0),
        (
            "if n",
            "`if` means nothing here; a choice is written `a ? b : c`",
            0,
        ),
        ("{1: 2}", "`{` cannot stand in an expression", 0),
        (
            "n.x",
            "there is no `.` in this language; write a function, such as `size(pile)`",
            1,
        ),
        ("\"abc", "this \" is never closed by another", 0),
        (
            "n \u{202e}",
            "an unseen character (U+202E) stands here; take it away",
            2,
        ),
        (
            "'\u{7}'",
            "an unseen character (U+0007) stands here; take it away",
            1,
        ),
        ("", "there is nothing here; write an expression", 0),
        (
            "sise(packet)",
            "there is no function `sise`; did you mean `size`?",
            0,
        ),
        (
            "1 + size()",
            "`size` cannot take nothing; write `size(pile)`",
            4,
        ),
        ("size", "`size` is a function; say of what: `size(…)`", 0),
        ("keys", "`keys` is a table; say which row: `keys[n]`", 0),
        (
            "keys['x']",
            "here a number is needed, but this is a word",
            5,
        ),
        ("n + left", "here a number is needed, but this is a pile", 4),
        (
            "n && true",
            "here yes or no is needed, but this is a number",
            0,
        ),
        (
            "colour(7)",
            "here a card is needed, but this is a number",
            7,
        ),
        (
            "n ? 1 : 2",
            "here yes or no is needed, but this is a number",
            0,
        ),
        (
            "again ? 1 : 'x'",
            "both sides of `:` must be of one kind, but this is a word and the other a number",
            12,
        ),
        (
            "theirs == '7H'",
            "a card and a word can never be the same; a card is written `card(\"7H\")`",
            10,
        ),
        (
            "side == 'lfet'",
            "this can never be \"lfet\"; did you mean \"left\"?",
            8,
        ),
        (
            "colour(theirs) == 'heart'",
            "this can never be \"heart\"; it can be `red`, `black`",
            18,
        ),
        ("card('1X')", "there is no card \"1X\" in this routine", 5),
        (
            "trait(theirs, 'colur')",
            "there is no trait \"colur\"; did you mean \"colour\"?",
            14,
        ),
        (
            "n in packet",
            "after `in` a list is needed, but this is a pile",
            5,
        ),
        ("[]", "a list must name at least one pile", 0),
    ] {
        assert_eq!(shown(source), format!("{words} @{at}"), "{source}");
    }
}

#[test]
fn a_value_of_the_wrong_kind_is_refused_where_a_kind_is_wanted() {
    let fixture = Fixture::new();
    let scope = Known(&fixture.routine);
    let refused = Expr::compile_as("n + 1", &scope, Kind::Pile).unwrap_err();
    assert_eq!(
        refused.message,
        "`n + 1` is a number, but here a pile is needed"
    );
    assert!(Expr::compile_as("keys[n]", &scope, Kind::Text).is_ok());
}

#[test]
fn what_an_expression_looks_at_is_known() {
    let fixture = Fixture::new();
    let reads = |source: &str| {
        Expr::compile(source, &Known(&fixture.routine))
            .unwrap()
            .reads()
            .clone()
    };
    assert_eq!(
        reads("n + size(packet) + n"),
        ReadSet {
            names: vec![NameId(0)],
            piles: vec![PileId(0)],
            sizes: true,
            ..ReadSet::default()
        }
    );
    assert_eq!(
        reads("colour(theirs) == 'red' && keys[n] == 'x' && up(where, 1)"),
        ReadSet {
            names: vec![NameId(0), NameId(1), NameId(2)],
            lookups: vec![0],
            places: true,
            facing: true,
            faces: true,
            traits: vec![TraitId::COLOUR],
            identity: true,
            ..ReadSet::default()
        }
    );
    assert_eq!(reads("1 + 1"), ReadSet::default());
    assert!(!reads("suit(card(packet, 1)) == 'heart'").identity);
    assert!(reads("card(packet, 1) == card(packet, 2)").identity);
}

#[test]
fn in_a_shuffled_packet_a_print_that_nothing_has_fixed_is_asked_for() {
    let mut fixture = Fixture::new();
    let read = |text: &str| fixture.routine.pack.read(text).unwrap();
    let (seven, two, king) = (read("7H"), read("2C"), read("KS"));
    // The card that was numbered as the seven turned out to bear the king's print; nothing else is fixed.
    let mut faces = vec![None; 52];
    faces[seven.index()] = Some(king);
    fixture.world.faces = faces;
    let value = |fixture: &Fixture, source: &str| {
        Expr::compile(source, &fixture.routine)
            .unwrap()
            .value(fixture.scene())
    };
    assert_eq!(value(&fixture, "value(theirs)"), Ok(Value::Int(13)));
    assert_eq!(value(&fixture, "place(card('KS'))"), Ok(Value::Int(1)));
    assert_eq!(
        value(&fixture, "colour(card(packet, 2)) == 'red'"),
        Err(Fault::Unfixed(two))
    );
    assert_eq!(
        value(&fixture, "place(card('7H'))"),
        Err(Fault::Unfixed(Card(0)))
    );
    // Whether a card is the one written out needs only its own print.
    assert_eq!(
        value(&fixture, "theirs == card('7H')"),
        Ok(Value::Bool(false))
    );
    assert_eq!(
        value(&fixture, "card(packet, 2) in [card('7H')]"),
        Err(Fault::Unfixed(two))
    );
    // Where a card lies needs no print.
    assert_eq!(value(&fixture, "place(theirs)"), Ok(Value::Int(1)));
}
