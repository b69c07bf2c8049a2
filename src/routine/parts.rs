//! A routine for two, rehearsed in either part.
//!
//! In the file a step may say `by:` whose part it is; steps without it are everybody's. Who rehearses one part goes down the same roads,
//! hears the other's lines and what is spoken, and sees what is seen at steps of their own and of everybody. What the other sees at
//! theirs, and works out there, is not known.

use super::model::Routine;
use std::sync::Arc;

impl Routine {
    /// The performers whose parts the file names, in the order of their first steps; none in a routine for one.
    #[must_use]
    pub fn performers(&self) -> Vec<Arc<str>> {
        let mut all: Vec<Arc<str>> = Vec::new();
        for by in self.stops.iter().filter_map(|stop| stop.by.as_ref()) {
            if !all.contains(by) {
                all.push(Arc::clone(by));
            }
        }
        all
    }

    /// The routine as one performer has it; `None` where no step is theirs. Roads and claims are the same.
    #[must_use]
    pub fn in_part(&self, performer: &str) -> Option<Self> {
        self.performers()
            .iter()
            .any(|known| **known == *performer)
            .then(|| {
                let mut own = self.clone();
                for stop in &mut own.stops {
                    let Some(by) = stop.by.as_ref().filter(|by| ***by != *performer) else {
                        continue;
                    };
                    stop.title = format!("{} ({by})", stop.title);
                    stop.theirs = true;
                    stop.sights.clear();
                }
                own
            })
    }
}

#[cfg(test)]
mod tests {
    use crate::drill::{Drill, Event, Kind, Plan, Prompt, Session};
    use crate::routine::load;
    use std::collections::BTreeSet;
    use std::sync::Arc;

    const FOR_TWO: &str = include_str!("../../tests/fixtures/for-two.yaml");

    /// What is asked in so many sessions: kinds with their steps, and every question's words.
    fn asked(part: Option<&str>) -> (BTreeSet<(Kind, String)>, String) {
        let whole = load(FOR_TWO, "for-two", 0).unwrap_or_else(|faults| panic!("{faults:?}"));
        let routine = Arc::new(match part {
            Some(part) => whole.in_part(part).unwrap(),
            None => whole,
        });
        let (mut kinds, mut words) = (BTreeSet::new(), String::new());
        for seed in 0..12 {
            let plan = Plan {
                drills: Drill::ASKED.to_vec(),
                questions: Some(40),
                minutes: None,
                seed: seed * 1_000,
                from: None,
            };
            let mut session = Session::new(Arc::clone(&routine), plan).unwrap();
            loop {
                match session.prompt() {
                    Prompt::Ask(question) => {
                        kinds.insert((question.key.kind, question.key.step.to_string()));
                        words.push_str(&format!(
                            "{} {}\n",
                            question.text,
                            question.given.join(" ")
                        ));
                        session.update(Event::Answer {
                            text: "-".into(),
                            first_key: crate::routine::Millis(1),
                            total: crate::routine::Millis(1),
                        });
                    }
                    Prompt::Done(_) => break,
                    Prompt::Tell(_) | Prompt::Correct(_) | Prompt::Line(_) => {
                        session.update(Event::Go);
                    }
                }
            }
        }
        (kinds, words)
    }

    #[test]
    fn each_is_asked_for_their_own_lines_and_for_nothing_that_only_the_other_saw() {
        let (bea, bea_heard) = asked(Some("bea"));
        let (ann, ann_heard) = asked(Some("ann"));
        let lines = |asked: &BTreeSet<(Kind, String)>| -> Vec<String> {
            let lines = asked.iter().filter(|(kind, _)| *kind == Kind::Line);
            lines.map(|(_, step)| step.clone()).collect()
        };
        assert_eq!(lines(&bea), ["peek", "welcome"]);
        assert_eq!(lines(&ann), ["name", "welcome"]);
        // Bea looks at the card; Ann hears a number and works with that alone.
        assert!(bea_heard.contains("You saw"), "{bea_heard}");
        assert!(!ann_heard.contains("You saw"), "{ann_heard}");
        let works = |asked: &BTreeSet<(Kind, String)>| {
            asked.iter().any(|(kind, _)| *kind == Kind::Reckoning)
        };
        assert!(works(&bea) && works(&ann));
        let code = |asked: &BTreeSet<(Kind, String)>| {
            asked.contains(&(Kind::Reckoning, "peek".to_owned()))
        };
        assert!(code(&bea) && !code(&ann), "{ann:?}");
        // Both must know what comes next, whoever does it.
        for part in [&bea, &ann] {
            assert!(part.contains(&(Kind::Next, "peek".to_owned())), "{part:?}");
        }
    }

    #[test]
    fn parts_are_named_in_order_and_the_roads_are_the_same() {
        let whole = load(FOR_TWO, "for-two", 0).unwrap();
        let names: Vec<String> = whole.performers().iter().map(ToString::to_string).collect();
        assert_eq!(names, ["bea", "ann"]);
        assert!(whole.in_part("cleo").is_none());
        let ann = whole.in_part("ann").unwrap();
        assert_eq!(ann.content_hash, whole.content_hash);
        for seed in 0..20 {
            let one = crate::roads::sample(&whole, seed).unwrap();
            let two = crate::roads::sample(&ann, seed).unwrap();
            let ends = |road: &crate::roads::Road| road.walked.last().unwrap().after.clone();
            assert_eq!(ends(&one), ends(&two));
        }
    }
}
