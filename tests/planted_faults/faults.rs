//! All single faults of a routine.

use serde_json::{Map, Value, json};

/// What kind of fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Two cards of the set-up swapped, or one exchanged for another.
    SetUp,
    /// A move done otherwise, or left out.
    Move,
    /// A choice more than there should be.
    Choice,
}

impl Kind {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::SetUp => "set-up",
            Self::Move => "move",
            Self::Choice => "choice",
        }
    }
}

/// A routine with one fault.
pub struct Fault {
    pub kind: Kind,
    /// What was planted, in words.
    pub words: String,
    pub tree: Value,
}

/// Every one of them. Piles that lie in unknown order in the routine as it comes have no order that could be wrong.
pub fn all(tree: &Value, as_it_comes: &Value) -> Vec<Fault> {
    let mut faults = Vec::new();
    set_ups(tree, as_it_comes, &mut faults);
    let mut places = Vec::new();
    steps(tree, &mut Vec::new(), &mut places);
    for pointer in places {
        let step = tree.pointer(&pointer).expect("a step");
        let id = step["id"].as_str().unwrap_or("");
        if let Some(acts) = step.get("do") {
            for (words, acts) in lists(acts) {
                let planted = with(tree, &format!("{pointer}/do"), acts);
                push(&mut faults, Kind::Move, format!("{id}: {words}"), planted);
            }
        }
        if let Some(fork) = step.get("fork") {
            for (words, fork) in forks(fork) {
                let planted = with(tree, &format!("{pointer}/fork"), fork);
                push(&mut faults, Kind::Choice, format!("{id}: {words}"), planted);
            }
        }
        if let Some(most) = step.get("at-most").and_then(Value::as_u64) {
            let planted = with(tree, &format!("{pointer}/at-most"), json!(most + 1));
            push(
                &mut faults,
                Kind::Choice,
                "one round more".to_owned(),
                planted,
            );
        }
    }
    faults
}

fn push(faults: &mut Vec<Fault>, kind: Kind, words: String, tree: Value) {
    faults.push(Fault { kind, words, tree });
}

fn with(tree: &Value, pointer: &str, part: Value) -> Value {
    let mut planted = tree.clone();
    *planted.pointer_mut(pointer).expect("the same place") = part;
    planted
}

/// Where the steps are; mends are not gone through on any road.
fn steps(tree: &Value, way: &mut Vec<String>, found: &mut Vec<String>) {
    match tree {
        Value::Object(map) => {
            if map.contains_key("id") || map.contains_key("at-most") {
                found.push(format!("/{}", way.join("/")));
            }
            for (key, inner) in map
                .iter()
                .filter(|(key, _)| !["mends", "strays", "do"].contains(&key.as_str()))
            {
                way.push(key.clone());
                steps(inner, way, found);
                way.pop();
            }
        }
        Value::Array(items) => {
            for (n, inner) in items.iter().enumerate() {
                way.push(n.to_string());
                steps(inner, way, found);
                way.pop();
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

fn set_ups(tree: &Value, as_it_comes: &Value, faults: &mut Vec<Fault>) {
    for (pile, cards) in tree["cards"].as_object().expect("cards") {
        let unknown = as_it_comes["cards"][pile].get("shuffled").is_some();
        let Some(list) = cards
            .get("list")
            .and_then(Value::as_str)
            .filter(|_| !unknown)
        else {
            continue;
        };
        let pointer = format!("/cards/{pile}/list");
        let cards: Vec<&str> = list.split_whitespace().collect();
        let mut plant = |words: String, cards: &[&str]| {
            let planted = with(tree, &pointer, json!(cards.join(" ")));
            push(faults, Kind::SetUp, words, planted);
        };
        for a in 0..cards.len() {
            for b in a + 1..cards.len() {
                let mut swapped = cards.clone();
                swapped.swap(a, b);
                plant(format!("{} and {} swapped", cards[a], cards[b]), &swapped);
            }
            // One of each suit, if it can be had.
            for suit in ["C", "D", "H", "S"] {
                let others = ["Q", "9", "J", "T"].map(|value| format!("{value}{suit}"));
                if let Some(other) = others.iter().find(|other| !cards.contains(&&***other)) {
                    let mut exchanged = cards.clone();
                    exchanged[a] = other;
                    plant(format!("{other} instead of {}", cards[a]), &exchanged);
                }
            }
        }
    }
}

/// A list of moves with one of them changed or left out.
fn lists(acts: &Value) -> Vec<(String, Value)> {
    let acts = acts.as_array().expect("moves");
    let mut changed = Vec::new();
    for (n, act) in acts.iter().enumerate() {
        let mut fewer = acts.clone();
        fewer.remove(n);
        changed.push((format!("left out {act}"), Value::Array(fewer)));
        for (words, act) in moves(act) {
            let mut other = acts.clone();
            other[n] = act;
            changed.push((words, Value::Array(other)));
        }
    }
    changed
}

/// A number or an expression, one more and one less.
fn off_by_one(count: &Value) -> Vec<Value> {
    match count {
        Value::Number(n) => {
            let n = n.as_i64().expect("a whole number");
            vec![json!(n + 1), json!(n - 1)]
        }
        Value::String(expr) => vec![
            json!(format!("({expr}) + 1")),
            json!(format!("({expr}) - 1")),
        ],
        Value::Null | Value::Bool(_) | Value::Array(_) | Value::Object(_) => Vec::new(),
    }
}

/// The same map with a key set.
fn set(map: &Map<String, Value>, key: &str, value: Value) -> Map<String, Value> {
    let mut map = map.clone();
    map.insert(key.to_owned(), value);
    map
}

/// The same map without some keys.
fn without(map: &Map<String, Value>, keys: &[&str]) -> Map<String, Value> {
    let mut map = map.clone();
    map.retain(|key, _| !keys.contains(&&**key));
    map
}

/// All orders of a list but its own.
fn other_orders(items: &[Value]) -> Vec<Vec<Value>> {
    fn orders(items: &[Value]) -> Vec<Vec<Value>> {
        if items.is_empty() {
            return vec![Vec::new()];
        }
        (0..items.len())
            .flat_map(|n| {
                let mut rest = items.to_vec();
                let first = rest.remove(n);
                orders(&rest).into_iter().map(move |mut tail| {
                    tail.insert(0, first.clone());
                    tail
                })
            })
            .collect()
    }
    let mut all = orders(items);
    all.retain(|order| order != items);
    all
}

/// One move, done otherwise.
fn moves(act: &Value) -> Vec<(String, Value)> {
    let (name, body) = act
        .as_object()
        .and_then(|map| map.iter().next())
        .expect("a move");
    let mut others: Vec<Value> = Vec::new();
    let map = match body {
        Value::Object(map) => map.clone(),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) | Value::Array(_) => {
            whole(name, body, &mut others);
            return told(act, others);
        }
    };
    let mut as_move = |name: &str, map: Map<String, Value>| others.push(json!({name: map}));
    for key in ["at", "count", "leave", "times", "a", "b"] {
        for other in map.get(key).map(off_by_one).unwrap_or_default() {
            as_move(name, set(&map, key, other));
        }
    }
    match name.as_str() {
        "deal" => {
            let to = map["to"].as_array().expect("piles");
            if let [only] = &to[..] {
                // Lifted off as a block.
                as_move("move", set(&without(&map, &["face"]), "to", only.clone()));
            }
            for order in other_orders(to) {
                as_move(name, set(&map, "to", order.into()));
            }
            for face in ["up", "down", "as-is"] {
                if map.get("face").is_none_or(|own| own != face) {
                    as_move(name, set(&map, "face", json!(face)));
                }
            }
        }
        "move" | "count" => {
            let other = if name == "move" { "count" } else { "move" };
            as_move(other, map.clone());
            for end in ["take", "put"] {
                let other = if map.get(end).is_some_and(|end| end == "bottom") {
                    "top"
                } else {
                    "bottom"
                };
                as_move(name, set(&map, end, json!(other)));
            }
        }
        "gather" => {
            for order in map
                .get("piles")
                .and_then(Value::as_array)
                .iter()
                .flat_map(|p| other_orders(p))
            {
                as_move(name, set(&map, "piles", order.into()));
            }
            if let Some(by) = map.get("by").and_then(Value::as_str) {
                for other in ["+ 2)", ")"] {
                    as_move(name, set(&map, "by", json!(by.replace("+ 1)", other))));
                }
            }
        }
        "down-under" => as_move("under-down", map.clone()),
        "under-down" => as_move("down-under", map.clone()),
        "inverse-faro" => {
            if let Some(odds) = map.get("odds-on-top").and_then(Value::as_str) {
                as_move(name, set(&map, "odds-on-top", json!(format!("!({odds})"))));
            }
            // Woven instead of drawn out.
            for weave in ["in", "out"] {
                as_move(
                    "faro",
                    set(
                        &without(&map, &["odds-on-top", "top"]),
                        "weave",
                        json!(weave),
                    ),
                );
            }
        }
        "turn-each" => {
            let at = map
                .get("at")
                .and_then(Value::as_array)
                .cloned()
                .unwrap_or_default();
            for (n, place) in at.iter().enumerate() {
                for other in off_by_one(place) {
                    let mut at = at.clone();
                    at[n] = other;
                    as_move(name, set(&map, "at", at.into()));
                }
            }
        }
        "turn" => {
            // Counted over one by one, each lying as it lay; and all of them instead of some.
            as_move(name, without(&map, &["count"]));
        }
        "riffle" => {
            // One lies on the other.
            for piles in [["left", "right"], ["right", "left"]] {
                let piles = piles.map(|side| map[side].clone());
                others.push(json!({"gather": {"piles": piles, "onto": map["to"]}}));
            }
        }
        "when" => {
            let is = map["is"].as_str().expect("a condition");
            as_move(name, set(&map, "is", json!(format!("!({is})"))));
        }
        _ => {}
    }
    let mut all = told(act, others);
    // Inside: a repeated part, a part that is done only if.
    for key in ["do", "else"] {
        for (words, acts) in map.get(key).map(lists).unwrap_or_default() {
            all.push((words, json!({name: set(&map, key, acts)})));
        }
    }
    all
}

/// Moves that name a packet and nothing else.
fn whole(name: &str, body: &Value, others: &mut Vec<Value>) {
    match name {
        "turn" => {
            others.push(json!({"reverse": body}));
            others.push(json!({"turn": {"pile": body, "count": 1}}));
        }
        "reverse" => others.push(json!({"turn": body})),
        "klondike" => others.push(json!({"monge": {"pile": body, "second": "over"}})),
        _ => {}
    }
}

fn told(act: &Value, others: Vec<Value>) -> Vec<(String, Value)> {
    let told = |other: Value| (format!("{other} instead of {act}"), other);
    others.into_iter().map(told).collect()
}

/// A fork with a branch more than there should be.
fn forks(fork: &Value) -> Vec<(String, Value)> {
    let map = fork.as_object().expect("a fork");
    let mut all = Vec::new();
    let mut more = |words: String, key: &str, value: Value| {
        all.push((words, Value::Object(set(map, key, value))));
    };
    if let Some(number) = map.get("number").and_then(Value::as_object) {
        let by = number.get("by").and_then(Value::as_i64).unwrap_or(1);
        let to = number["to"].as_i64().expect("a number") + by;
        let from = number["from"].as_i64().expect("a number") - by;
        more(
            format!("up to {to}"),
            "number",
            set(number, "to", json!(to)).into(),
        );
        more(
            format!("from {from} on"),
            "number",
            set(number, "from", json!(from)).into(),
        );
    }
    if let Some(options) = map.get("option").and_then(Value::as_array) {
        let mut options = options.clone();
        options.push(json!("neither"));
        more("neither".to_owned(), "option", options.into());
    }
    if let Some(cut) = map.get("cut").and_then(Value::as_object)
        && cut.get("least").is_some_and(|least| *least != json!(0))
    {
        more(
            "a cut of nothing".to_owned(),
            "cut",
            set(cut, "least", json!(0)).into(),
        );
    }
    all
}
