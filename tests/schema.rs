//! The JSON Schema agrees with the reader: what loads fits it, and what the reader refuses for its shape does not.

#![expect(
    clippy::expect_used,
    reason = "a test that cannot read its files must stop"
)]

use allroads::routine::{load, schema};
use serde_json::Value;
use std::path::{Path, PathBuf};

const STARTER: &str = include_str!("../src/command/starter.yaml");

/// A plain validator for the part of JSON Schema that the schema uses; an unknown keyword is a failure.
fn faults(value: &Value, schema: &Value, root: &Value, at: &str, found: &mut Vec<String>) {
    let schema = match schema {
        Value::Bool(true) => return,
        Value::Bool(false) => return found.push(format!("{at}: nothing may stand here")),
        schema => schema.as_object().expect("a schema is an object"),
    };
    for (keyword, rule) in schema {
        match keyword.as_str() {
            "$schema" | "$defs" | "title" | "description" | "format" => {}
            "$ref" => {
                let pointer = rule.as_str().expect("a reference").trim_start_matches('#');
                let target = root.pointer(pointer).expect("a definition");
                faults(value, target, root, at, found);
            }
            "type" => {
                let one = [rule.clone()];
                let types = rule.as_array().map_or(&one[..], Vec::as_slice);
                let fits = types.iter().any(|t| match t.as_str().expect("a type") {
                    "object" => value.is_object(),
                    "array" => value.is_array(),
                    "string" => value.is_string(),
                    "number" => value.is_number(),
                    "integer" => value.is_i64() || value.is_u64(),
                    "boolean" => value.is_boolean(),
                    other => panic!("unknown type {other}"),
                });
                if !fits {
                    found.push(format!("{at}: {value} is not {rule}"));
                }
            }
            "minimum" | "maximum" => {
                let (n, bound) = (value.as_f64(), rule.as_f64().expect("a bound"));
                let low = keyword == "minimum";
                if n.is_some_and(|n| if low { n < bound } else { n > bound }) {
                    found.push(format!("{at}: {value} is out of bounds"));
                }
            }
            "enum" => {
                if !rule.as_array().expect("a list").contains(value) {
                    found.push(format!("{at}: {value} is none of {rule}"));
                }
            }
            "const" => {
                if rule != value {
                    found.push(format!("{at}: {value} is not {rule}"));
                }
            }
            "anyOf" | "oneOf" => {
                let ways = rule.as_array().expect("a list");
                let fits = ways.iter().any(|way| {
                    let mut inner = Vec::new();
                    faults(value, way, root, at, &mut inner);
                    inner.is_empty()
                });
                if !fits {
                    found.push(format!("{at}: {value} fits no way"));
                }
            }
            "required" => {
                for key in rule.as_array().expect("a list") {
                    let key = key.as_str().expect("a key");
                    if value.is_object() && value.get(key).is_none() {
                        found.push(format!("{at}: {key} is missing"));
                    }
                }
            }
            "properties" => {
                for (key, inner) in rule.as_object().expect("properties") {
                    if let Some(value) = value.get(key) {
                        faults(value, inner, root, &format!("{at}/{key}"), found);
                    }
                }
            }
            "additionalProperties" => {
                let known = schema.get("properties").and_then(Value::as_object);
                for (key, value) in value.as_object().into_iter().flatten() {
                    if !known.is_some_and(|k| k.contains_key(key)) {
                        faults(value, rule, root, &format!("{at}/{key}"), found);
                    }
                }
            }
            "items" => {
                for (n, value) in value.as_array().into_iter().flatten().enumerate() {
                    faults(value, rule, root, &format!("{at}/{n}"), found);
                }
            }
            other => panic!("the validator does not know {other}"),
        }
    }
}

fn check(text: &str) -> Vec<String> {
    let value: Value = serde_yaml::from_str(text).expect("it is YAML");
    let schema = schema();
    let mut found = Vec::new();
    faults(&value, &schema, &schema, "", &mut found);
    found
}

fn under(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let entries = std::fs::read_dir(folder).expect("the folder is there");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    paths
        .filter(|p| p.extension().is_some_and(|e| e == "yaml"))
        .collect()
}

#[test]
fn whatever_loads_fits_the_schema() {
    let mut texts = vec![STARTER.to_owned()];
    for path in under("drills").into_iter().chain(under("tests/fixtures")) {
        texts.push(std::fs::read_to_string(path).expect("the file can be read"));
    }
    assert!(texts.len() >= 7);
    for text in texts {
        assert!(load(&text, "file", 0).is_ok());
        assert_eq!(check(&text), Vec::<String>::new());
    }
}

#[test]
fn wrong_shapes_do_not_fit_the_schema() {
    let wrong = [
        "unknown-key",
        "unknown-key-in-step",
        "unknown-key-in-move",
        "missing-title",
        "missing-id",
        "missing-finale",
        "missing-key-in-move",
        "word-for-a-list",
        "list-for-a-word",
        "unknown-move",
        "unknown-word",
        "number-in-words",
        "weight-negative",
        "sees-a-word",
        "move-without-value",
    ];
    for name in wrong {
        let path =
            Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/malformed/{name}.yaml"));
        let text = std::fs::read_to_string(path).expect("the file can be read");
        assert_ne!(check(&text), Vec::<String>::new(), "{name}");
    }
}
