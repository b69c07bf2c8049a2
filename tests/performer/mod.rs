//! A performer who reads what a rehearsal prints and answers from tables that `walk --json` shows.

mod table;
mod words;

use std::collections::BTreeMap;
use table::Walks;

/// So many other roads are tried for each question.
const OTHERS: u64 = 3;
/// So many are tried until one fits an "if".
const PATIENCE: u64 = 3_000;

/// What was printed of the road at hand.
#[derive(Debug, Clone, Default)]
struct Road {
    seed: u64,
    choices: Vec<String>,
    /// Steps told, the first being the set-up.
    steps: usize,
    seen: Vec<String>,
}

/// The performer.
pub struct Performer {
    walks: Walks,
    road: Road,
    question: String,
    once_more: bool,
    /// Lines now tell of another moment.
    elsewhere: bool,
    answered: BTreeMap<String, String>,
}

impl Performer {
    /// Of a routine.
    pub fn new(routine: &str) -> Self {
        Self {
            walks: Walks::new(routine),
            road: Road::default(),
            question: String::new(),
            once_more: false,
            elsewhere: false,
            answered: BTreeMap::new(),
        }
    }

    /// Reads a line.
    pub fn read(&mut self, line: &str) {
        let Some((word, text)) = line.split_once(": ") else {
            return;
        };
        match word {
            "set-up" => self.walks.setup = text.parse().unwrap(),
            "step" => self.road.steps += 1,
            "choice" => self.road.choices.push(text.to_owned()),
            "back at" => self.elsewhere = true,
            "seen" if self.elsewhere => {}
            "seen" => self.road.seen.push(text.to_owned()),
            _ if word.starts_with("road ") => {
                self.road = Road {
                    seed: text.strip_prefix("seed=").unwrap().parse().unwrap(),
                    ..Road::default()
                };
            }
            _ if word.starts_with("question ") => {
                self.question = text.to_owned();
                self.once_more = word.ends_with("once more");
                self.elsewhere = false;
            }
            _ => {}
        }
    }

    /// The question asked last.
    pub fn question(&self) -> String {
        self.question.clone()
    }

    /// Its answer.
    pub fn answer(&mut self) -> String {
        let done = self.road.steps - 1;
        match self.found(PATIENCE) {
            Some(answer) => answer,
            None => panic!(
                "no road answers {:?} after {done} steps of {:?}",
                self.question, self.road
            ),
        }
    }

    /// Its answer, if one of so many roads has it.
    fn found(&mut self, patience: u64) -> Option<String> {
        let question = self.question.clone();
        // A question that comes back is about a moment that is over.
        if self.once_more
            && let Some(answer) = self.answered.get(&question)
        {
            return Some(answer.clone());
        }
        let done = self.road.steps - 1;
        let own = self.road.seed;
        let mut answer: Option<(u64, String)> = None;
        let mut tried = 0;
        for seed in std::iter::once(own).chain((1..).map(|n| own + 1_000 * n)) {
            let walk = self.walks.walk(&self.road.choices, seed);
            if walk.fits(done, &self.road.seen)
                && let Some(found) = words::answer(&walk, done, &question)
            {
                match &answer {
                    None => answer = Some((seed, found)),
                    Some((first, one)) => assert_eq!(
                        *one, found,
                        "{question}: seeds {first} and {seed} of {:?} differ after {done} steps",
                        self.road
                    ),
                }
            }
            tried += 1;
            if tried > patience || tried > OTHERS && answer.is_some() {
                break;
            }
        }
        let (_, answer) = answer?;
        self.answered.insert(question, answer.clone());
        Some(answer)
    }

    /// A wrong answer of the same kind.
    pub fn wrong(&mut self) -> String {
        match self.found(OTHERS) {
            Some(right) => words::wrong(&self.question, &right, &self.walks.pile_names()),
            None => words::NOT_KNOWN.to_owned(),
        }
    }
}
