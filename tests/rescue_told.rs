//! The table of strays as it is printed, and as programs read it.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

mod program;

use program::{NOWHERE, program, told};
use serde_json::Value;

const TRAIN: &str = "tests/fixtures/train.yaml";

fn rescue(args: &[&str]) -> String {
    let (code, text, errors) = told(
        program(NOWHERE)
            .args(["rescue", TRAIN])
            .args(args)
            .output()
            .unwrap(),
    );
    assert_eq!((code, errors.as_str()), (0, ""));
    text
}

#[test]
fn the_table_of_strays_as_it_is_read() {
    insta::assert_snapshot!("strays_of_the_train", rescue(&[]));
}

#[test]
fn a_step_of_it_for_programs() {
    let text = rescue(&["--step", "push", "--json"]);
    for line in text.lines() {
        let row: Value = serde_json::from_str(line).unwrap();
        assert_eq!(row["step"], "push");
    }
    insta::assert_snapshot!("strays_after_the_riffle_of_the_train", text);
}
