//! The shipped routines with fewer cards and fewer choices, so that every road can be walked.

use serde_json::{Value, json};

/// Makes a routine small.
///
/// # Panics
/// When nobody has said how, or when the routine is no longer as it was when somebody did.
pub fn make(name: &str, tree: &mut Value) {
    strip_weights(tree);
    match name {
        "chairlift" => chairlift(tree),
        "geese" => geese(tree),
        "audition" => audition(tree),
        "lost-umbrella" => lost_umbrella(tree),
        "slow-post" => slow_post(tree),
        other => panic!("say here how to make \u{201c}{other}\u{201d} small"),
    }
}

/// Weights go by branch; here there are fewer branches, and the odds do not matter.
fn strip_weights(tree: &mut Value) {
    match tree {
        Value::Object(map) => {
            map.remove("weights");
            map.values_mut().for_each(strip_weights);
        }
        Value::Array(items) => items.iter_mut().for_each(strip_weights),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

/// The part of a step at this pointer, which must be there.
fn part<'a>(tree: &'a mut Value, step: &str, pointer: &str) -> &'a mut Value {
    let found = find(tree, step).unwrap_or_else(|| panic!("there is no step {step}"));
    found
        .pointer_mut(pointer)
        .unwrap_or_else(|| panic!("{step} has no {pointer}"))
}

fn find<'a>(tree: &'a mut Value, id: &str) -> Option<&'a mut Value> {
    match tree {
        Value::Object(map) if map.get("id").is_some_and(|own| own == id) => Some(tree),
        Value::Object(map) => map.values_mut().find_map(|inner| find(inner, id)),
        Value::Array(items) => items.iter_mut().find_map(|inner| find(inner, id)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => None,
    }
}

/// Exchanges a part of a step that must be as it is said to be.
fn change(tree: &mut Value, step: &str, pointer: &str, was: &Value, is: Value) {
    let part = part(tree, step, pointer);
    assert_eq!(part, was, "{step} {pointer}");
    *part = is;
}

/// Six cards in three chairs.
fn chairlift(tree: &mut Value) {
    tree["cards"]["packet"] = json!({"list": "AH 2C 3D 4S 5H 6C"});
    *part(tree, "cocoa", "/fork/number") = json!({"from": 2, "to": 4});
    *part(tree, "your-chair", "/fork/number") = json!({"from": 2, "to": 3});
    change(tree, "elbows", "/claims/1/count/is", &json!(20), json!(6));
    let left = json!("size(packet) == 2 * (10 - ride)");
    let fewer = json!("size(packet) == 2 * (3 - ride)");
    change(tree, "your-chair", "/claims/1/expr", &left, fewer);
}

/// Six councillors, who argue twice at most.
fn geese(tree: &mut Value) {
    tree["cards"]["packet"] = json!({"list": "4H 9S KD 2C 8D JS"});
    let again = tree["steps"]
        .as_array_mut()
        .expect("steps")
        .iter_mut()
        .find_map(|step| step.get_mut("again"))
        .expect("a part that comes again");
    again["at-most"] = json!(2);
    change(tree, "benches", "/do/0/deal/count", &json!(16), json!(6));
    change(
        tree,
        "turn-a-bench",
        "/claims/0/count/is",
        &json!(8),
        json!(3),
    );
    change(tree, "the-vote", "/claims/0/count/is", &json!(8), json!(3));
    for side in 0..2 {
        let pointer = format!("/claims/1/or/{side}/and/1/count/is");
        change(tree, "the-vote", &pointer, &json!(8), json!(3));
    }
}

/// Seven actors, of whom three to seven come.
fn audition(tree: &mut Value) {
    tree["cards"]["deck"] = json!({"list": "AH 2C 3D 4S 5H 6C 7D"});
    *part(tree, "crowd", "/fork/number") = json!({"from": 3, "to": 7});
}

/// All twenty-seven cards, since they are three times three times three; every fourth ticket.
fn lost_umbrella(tree: &mut Value) {
    let cards = tree["cards"]["packet"]["shuffled"].take();
    tree["cards"]["packet"] = json!({"list": cards});
    *part(tree, "ticket", "/fork/number") = json!({"from": 1, "to": 27, "by": 4});
}

/// Eight letters, sorted three times at most.
fn slow_post(tree: &mut Value) {
    tree["cards"]["packet"] = json!({"list": "AH 2C 3S 4D 4H 3C 2S AD"});
    let again = tree["steps"]
        .as_array_mut()
        .expect("steps")
        .iter_mut()
        .find_map(|step| step.get_mut("again"))
        .expect("a part that comes again");
    again["at-most"] = json!(3);
    *part(tree, "your-letter", "/fork/number") = json!({"from": 1, "to": 3});
    change(
        tree,
        "your-letter",
        "/reckon/0/is",
        &json!("14 - wish"),
        json!("6 - wish"),
    );
    change(
        tree,
        "every-answer",
        "/do/0/repeat/times",
        &json!(6),
        json!(2),
    );
    change(
        tree,
        "every-answer",
        "/claims/1/count/is",
        &json!(14),
        json!(6),
    );
}
