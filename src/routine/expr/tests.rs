use super::*;
use crate::cards::{Lang, Pack};
use crate::routine::model::{Lookup, Name, NameKind, StopIndex};
use crate::routine::{Routine, World};
use crate::table::Table;

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
        ("min(n, 3, 9) + max(1, 2)", "5"),
        ("abs(3 - 10)", "7"),
        ("pow2_below(12)", "8"),
        ("pow2_below(16)", "16"),
        ("first(order)", "right"),
        ("last(order)", "left"),
        ("nth(order, 2)", "left"),
        ("picks[2]", "5"),
        ("5 in picks", "yes"),
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
