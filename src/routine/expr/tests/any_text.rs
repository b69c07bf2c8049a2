//! Expressions made up at random: the plain way agrees, and any text is survived.

use super::*;

/// A tree of arithmetic and conditions, worked out the plain way.
#[derive(Debug, Clone)]
enum Plain {
    Number(i32),
    N,
    Two(&'static str, Box<Plain>, Box<Plain>),
    Negative(Box<Plain>),
    If(&'static str, Box<Plain>, Box<Plain>, Box<Plain>),
}

impl Plain {
    fn written(&self) -> String {
        match self {
            Self::Number(n) if *n < 0 => format!("({n})"),
            Self::Number(n) => n.to_string(),
            Self::N => "n".to_owned(),
            Self::Two(op @ ("min" | "max"), a, b) => {
                format!("{op}({}, {})", a.written(), b.written())
            }
            Self::Two(op, a, b) => format!("({} {op} {})", a.written(), b.written()),
            Self::Negative(a) => format!("-({})", a.written()),
            Self::If(op, a, b, c) => {
                format!(
                    "({} {op} {} ? {} : {})",
                    a.written(),
                    b.written(),
                    c.written(),
                    a.written()
                )
            }
        }
    }
    /// In numbers wide enough for what 200 characters can make of small ones; `None` without a value.
    fn worked_out(&self) -> Option<i128> {
        let within = |n: i128| i64::try_from(n).ok().map(i128::from);
        match self {
            Self::Number(n) => Some(i128::from(*n)),
            Self::N => Some(7),
            Self::Two(op, a, b) => {
                let (a, b) = (a.worked_out()?, b.worked_out()?);
                within(match *op {
                    "+" => a + b,
                    "-" => a - b,
                    "*" => a * b,
                    "/" if b != 0 => a / b,
                    "%" if b != 0 => a % b,
                    "min" => a.min(b),
                    "max" => a.max(b),
                    _ => return None,
                })
            }
            Self::Negative(a) => within(-a.worked_out()?),
            Self::If(op, a, b, c) => {
                let (left, right) = (a.worked_out()?, b.worked_out()?);
                let so = match *op {
                    "==" => left == right,
                    "!=" => left != right,
                    "<" => left < right,
                    "<=" => left <= right,
                    ">" => left > right,
                    _ => left >= right,
                };
                if so { c.worked_out() } else { Some(left) }
            }
        }
    }
}

fn plain() -> impl Strategy<Value = Plain> {
    let leaf = prop_oneof![
        any::<i32>().prop_map(Plain::Number),
        (-9..10).prop_map(Plain::Number),
        Just(Plain::N)
    ];
    leaf.prop_recursive(3, 12, 2, |inner| {
        let ops = prop::sample::select(vec!["+", "-", "*", "/", "%", "min", "max"]);
        let compare = prop::sample::select(vec!["==", "!=", "<", "<=", ">", ">="]);
        prop_oneof![
            (ops, inner.clone(), inner.clone()).prop_map(|(op, a, b)| Plain::Two(
                op,
                Box::new(a),
                Box::new(b)
            )),
            inner.clone().prop_map(|a| Plain::Negative(Box::new(a))),
            (compare, inner.clone(), inner.clone(), inner).prop_map(|(op, a, b, c)| Plain::If(
                op,
                Box::new(a),
                Box::new(b),
                Box::new(c)
            )),
        ]
    })
}

/// Text made of the pieces that expressions are made of, in any order.
fn scraps() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "n",
        "where",
        "theirs",
        "order",
        "picks",
        "side",
        "packet",
        "left",
        "keys",
        "size",
        "place",
        "card",
        "colour",
        "min",
        "first",
        "with_pile_at",
        "nth",
        "letters",
        "mate",
        "up",
        "(",
        ")",
        "[",
        "]",
        "(",
        ")",
        "+",
        "-",
        "*",
        "/",
        "%",
        "==",
        "!=",
        "<",
        "&&",
        "||",
        "!",
        "?",
        ":",
        ",",
        " in ",
        "'left'",
        "\"red\"",
        "'7H'",
        "1",
        "2",
        "0",
        "9223372036854775807",
        " ",
        ".",
        "{",
        "}",
        "all",
        "has",
        "//",
        "é",
        "\\",
        "b'",
        "r\"",
        "\"\"\"",
        "\n",
        "_",
        "0x",
        "1e9",
        "`",
        "$",
        ";",
    ]);
    prop::collection::vec(piece, 1..24).prop_map(|pieces| pieces.concat())
}

/// Whatever the text, compiling and working it out ends, and does not panic; offsets lie in the text.
fn survives(text: &str) {
    let fixture = Fixture::new();
    let known = Known(&fixture.routine);
    for scope in [&fixture.routine as &dyn Scope, &known] {
        match Expr::compile(text, scope) {
            Ok(expr) => match expr.value(fixture.scene()) {
                Ok(value) => assert!(value.kind().fits(expr.kind()), "{text}"),
                Err(fault) => assert!(!fault.to_string().is_empty()),
            },
            Err(fault) => {
                assert!(!fault.message.is_empty());
                assert!(fault.offset <= text.chars().count(), "{text}: {fault:?}");
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn arithmetic_agrees_with_the_plain_way(tree in plain()) {
        let fixture = Fixture::new();
        let source = tree.written();
        match Expr::compile(&source, &Known(&fixture.routine)) {
            Ok(expr) => {
                let got = expr.int(fixture.scene()).ok().map(i128::from);
                prop_assert_eq!(got, tree.worked_out(), "{}", source);
            }
            Err(fault) => prop_assert!(source.len() > LONGEST, "{}: {}", source, fault),
        }
    }

    #[test]
    fn any_text_is_survived(text in "\\PC{0,60}") {
        survives(&text);
    }

    #[test]
    fn any_scraps_of_expressions_are_survived(text in scraps()) {
        survives(&text);
    }
}

#[test]
fn texts_made_to_hurt_are_survived() {
    for text in [
        "(".repeat(200),
        "[".repeat(200),
        "-".repeat(200),
        "!".repeat(200),
        "- ".repeat(100),
        format!("{}n", "-".repeat(199)),
        format!("{}again", "!".repeat(195)),
        format!("{}n", "n+".repeat(99)),
        format!("{}n", "n?".repeat(99)),
        format!("{}n", "again?1:".repeat(24)),
        format!("{}1{}", "abs(".repeat(12), ")".repeat(12)),
        format!("{}1{}", "abs(".repeat(13), ")".repeat(13)),
        format!("n{}", "[1]".repeat(66)),
        format!("{}again", "again&&".repeat(27)),
        format!("n{}", " in n".repeat(39)),
        format!("{}1{}", "again?(".repeat(12), "):1".repeat(12)),
        format!("again?{}1{}:1", "abs(again?-1:".repeat(11), ")".repeat(11)),
        "'".repeat(200),
        "\"\"\"((((((((((((((((((((((((((((((((((((\"\"\"".to_owned(),
        "1".repeat(100_000),
        "\u{1F0A1}".repeat(200),
    ] {
        survives(&text);
    }
}

#[test]
fn names_that_expressions_cannot_use_are_refused() {
    for name in ["n", "theirs", "pile_2", "N", "truer"] {
        assert_eq!(name_fault(name), None, "{name}");
    }
    for name in ["", "2n", "_n", "my-pile", "a b", "é", "in", "true", "for"] {
        assert!(name_fault(name).is_some(), "{name}");
    }
}

#[test]
fn every_name_that_may_be_used_can_be_read() {
    // Words that a parser might keep for itself, and the names of our functions.
    for name in [
        "size", "card", "all", "has", "map", "type", "int", "null_", "dyn", "exists",
    ] {
        assert_eq!(name_fault(name), None, "{name}");
        let mut fixture = Fixture::new();
        fixture.routine.names[0].name = name.to_owned();
        let expr = Expr::compile(&format!("{name} + 1"), &fixture.routine).unwrap();
        assert_eq!(expr.int(fixture.scene()), Ok(8), "{name}");
    }
}

#[test]
fn the_nearest_name_is_a_slip_of_the_fingers_away() {
    let names = ["number", "packet", "left", "n"];
    for (wrong, near) in [
        ("nunber", Some("number")),
        ("numbre", Some("number")),
        ("numbers", Some("number")),
        ("umber", Some("number")),
        ("Packet", Some("packet")),
        ("lfet", Some("left")),
        ("right", None),
        ("m", None),
        ("", None),
    ] {
        assert_eq!(crate::cards::nearest(wrong, names), near, "{wrong}");
    }
}
