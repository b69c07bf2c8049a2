//! The JSON Schema of routine files, from the draft types, for editors.

use super::draft::RoutineFile;
use super::yaml_read::SHORT;
use schemars::generate::SchemaSettings;
use serde_json::{Value, json};

/// The JSON Schema (draft 2020-12) of a routine file.
#[must_use]
pub fn schema() -> Value {
    let generator = SchemaSettings::draft2020_12().into_generator();
    let mut schema = generator.into_root_schema_for::<RoutineFile>().to_value();
    without_null(&mut schema);
    if let Some(definitions) = schema.get_mut("$defs").and_then(Value::as_object_mut) {
        for name in SHORT {
            if let Some(long) = definitions.get_mut(name) {
                *long = json!({"anyOf": [{"type": "string"}, long.take()]});
            }
        }
    }
    if let Some(root) = schema.as_object_mut() {
        root.insert("title".to_owned(), json!("allroads routine"));
    }
    schema
}

/// A key that may be left out may not be written without a value.
fn without_null(value: &mut Value) {
    match value {
        Value::Object(map) => {
            if let Some(Value::Array(types)) = map.get_mut("type") {
                types.retain(|t| t != "null");
                if let [only] = types.as_slice() {
                    let only = only.clone();
                    map.insert("type".to_owned(), only);
                }
            }
            if let Some(Value::Array(ways)) = map.get_mut("anyOf") {
                ways.retain(|way| *way != json!({"type": "null"}));
                if let [only] = ways.as_slice() {
                    let only = only.clone();
                    map.remove("anyOf");
                    if let Value::Object(inner) = only {
                        map.extend(inner);
                    }
                }
            }
            map.values_mut().for_each(without_null);
        }
        Value::Array(items) => items.iter_mut().for_each(without_null),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}
