//! Roads as `walk --json` shows them.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;
use std::rc::Rc;

/// A road.
#[derive(Debug)]
pub struct Walk(pub Value);

impl Walk {
    /// The steps.
    pub fn steps(&self) -> &[Value] {
        self.0["steps"].as_array().unwrap()
    }

    /// The piles after so many steps.
    pub fn piles(&self, done: usize) -> &serde_json::Map<String, Value> {
        let at = match done.checked_sub(1) {
            None => &self.0["start"],
            Some(last) => &self.steps()[last],
        };
        at["piles"].as_object().unwrap()
    }

    /// The cards of a pile after so many steps: what each is, and whether it faces up.
    pub fn cards(&self, done: usize, pile: &str) -> Vec<(String, bool)> {
        self.piles(done)[pile]
            .as_array()
            .unwrap()
            .iter()
            .map(|card| {
                let text = |key: &str| card[key].as_str().unwrap();
                (text("card").to_owned(), text("face") == "up")
            })
            .collect()
    }

    /// Whether what was printed so far is seen on this road in the same order, and nothing else is.
    pub fn fits(&self, done: usize, printed: &[String]) -> bool {
        let steps = self.steps();
        if steps.len() < done {
            return false;
        }
        let plain = |text: &str| text.trim_end_matches(['.', ':', '?', '!']).to_owned();
        let titles: BTreeSet<String> = steps
            .iter()
            .map(|step| plain(step["title"].as_str().unwrap()))
            .collect();
        // Titles are known from the steps; each line counts once.
        let told = |lines: &mut dyn Iterator<Item = &str>| -> Vec<String> {
            let mut kept: Vec<String> = Vec::new();
            for line in lines {
                let known = titles.contains(&plain(line)) || line.starts_with("They: ");
                if !known && !kept.iter().any(|k| k == line) {
                    kept.push(line.to_owned());
                }
            }
            kept
        };
        let seen = |steps: &[Value]| -> Vec<String> {
            told(
                &mut steps
                    .iter()
                    .flat_map(|step| step["seen"].as_array().unwrap())
                    .map(|line| line.as_str().unwrap()),
            )
        };
        let printed = told(&mut printed.iter().map(String::as_str));
        // A line of patter is asked for with what is seen at its own step.
        let now = seen(&steps[..done]);
        printed == now || printed == seen(&steps[..steps.len().min(done + 1)])
    }
}

/// The roads of a routine, each walked once.
pub struct Walks {
    routine: String,
    /// The number of the set-up.
    pub setup: u64,
    walked: BTreeMap<(Vec<String>, u64), Rc<Walk>>,
}

impl Walks {
    /// Of a routine.
    pub fn new(routine: &str) -> Self {
        Self {
            routine: routine.to_owned(),
            setup: 0,
            walked: BTreeMap::new(),
        }
    }

    /// The road with these choices, the others from the seed.
    pub fn walk(&mut self, choices: &[String], seed: u64) -> Rc<Walk> {
        let (routine, setup) = (&self.routine, self.setup.to_string());
        let walk = self
            .walked
            .entry((choices.to_vec(), seed))
            .or_insert_with(|| {
                let mut command = Command::new(env!("CARGO_BIN_EXE_allroads"));
                command
                    .args(["walk", routine, "--json", "--setup", &setup])
                    .args(["--seed", &seed.to_string()]);
                for choice in choices {
                    command.args(["--choose", choice]);
                }
                let output = command.output().unwrap();
                assert!(output.status.success(), "{command:?}: {output:?}");
                Rc::new(Walk(serde_json::from_slice(&output.stdout).unwrap()))
            });
        Rc::clone(walk)
    }

    /// The names of the piles.
    pub fn pile_names(&self) -> Vec<String> {
        let (_, walk) = self.walked.first_key_value().unwrap();
        walk.piles(0).keys().cloned().collect()
    }
}
