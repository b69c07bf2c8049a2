//! Files from strangers: whatever is done to a file, reading it ends, and nothing harmful is printed.

use allroads::routine::load;
use proptest::prelude::*;

const EVERYTHING: &str = include_str!("fixtures/everything.yaml");

fn harmless(text: &str) {
    if let Err(troubles) = load(text, "stranger\u{1b}.yaml", 0) {
        assert!(!troubles.is_empty());
        for trouble in troubles {
            let told = trouble.to_string();
            assert!(
                !told.chars().any(|c| c.is_control() && c != '\n'),
                "{told:?}"
            );
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_damaged_file_is_refused_or_read(from in 0..EVERYTHING.len(), length in 0_usize..40, put in "[-a-z0-9{}\\[\\]:,'\"&*!|>%@#^ \n\u{1b}\u{202e}]{0,6}") {
        let characters: Vec<char> = EVERYTHING.chars().collect();
        let from = from.min(characters.len());
        let to = (from + length).min(characters.len());
        let mut text: String = characters[..from].iter().collect();
        text.push_str(&put);
        text.extend(&characters[to..]);
        harmless(&text);
    }

    #[test]
    fn any_text_is_refused_or_read(text in "\\PC{0,200}|[ \n:\\-\\[\\]{}a-c'\"&*!|>]{0,200}") {
        harmless(&text);
    }
}

#[test]
fn a_long_file_of_small_keys_is_read_in_bounded_time() {
    let keys: String = (0..9_000).map(|n| format!("k{n}: 1\n")).collect();
    let began = std::time::Instant::now();
    assert!(load(&keys, "keys.yaml", 0).is_err());
    assert!(began.elapsed().as_secs() < 20, "{:?}", began.elapsed());
}
