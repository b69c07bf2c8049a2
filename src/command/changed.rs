//! A routine whose text has changed since it was last rehearsed: which steps are new, which are gone. What was practised is kept
//! where steps keep their ids.

use crate::drill::heading;
use crate::logbook::{Logbook, LogbookError};
use crate::routine::Routine;
use serde::{Deserialize, Serialize};

/// The text that was rehearsed last.
#[derive(Serialize, Deserialize)]
struct Rehearsed {
    content_hash: String,
    steps: Vec<String>,
}

fn key(routine: &str) -> String {
    format!("steps of {routine}")
}

fn ids(routine: &Routine) -> Vec<String> {
    routine
        .stops
        .iter()
        .map(|stop| stop.id.to_string())
        .collect()
}

/// What has changed, in a sentence or two; none where the text is the one that was rehearsed last, or none was.
pub(super) fn changed(
    logbook: &Logbook,
    name: &str,
    routine: &Routine,
) -> Result<Option<String>, LogbookError> {
    let before = logbook
        .remembered(&key(name))?
        .and_then(|text| serde_json::from_str::<Rehearsed>(&text).ok())
        .filter(|before| before.content_hash != routine.content_hash);
    Ok(before.map(|before| words(&before.steps, routine)))
}

fn words(before: &[String], routine: &Routine) -> String {
    let now = ids(routine);
    let new: Vec<String> = routine
        .stops
        .iter()
        .filter(|stop| !before.contains(&stop.id.to_string()))
        .map(|stop| format!("“{}”", heading(routine, stop)))
        .collect();
    let gone: Vec<&str> = before
        .iter()
        .filter(|step| !now.contains(step))
        .map(String::as_str)
        .collect();
    let mut words = "The text has changed".to_owned();
    match (new.as_slice(), gone.as_slice()) {
        ([], []) => words.push_str(", the steps have not"),
        (new, []) => words.push_str(&format!("; new: {}", new.join(", "))),
        ([], gone) => words.push_str(&format!("; gone: {}", gone.join(", "))),
        (new, gone) => words.push_str(&format!(
            "; new: {}; gone: {}",
            new.join(", "),
            gone.join(", ")
        )),
    }
    words.push_str(". All else you know is kept.");
    words
}

/// Notes the text that is rehearsed now.
pub(super) fn note(
    logbook: &mut Logbook,
    name: &str,
    routine: &Routine,
) -> Result<(), LogbookError> {
    let rehearsed = Rehearsed {
        content_hash: routine.content_hash.clone(),
        steps: ids(routine),
    };
    // Words always have a form as text.
    let text = serde_json::to_string(&rehearsed).unwrap_or_default();
    if logbook.remembered(&key(name))?.as_deref() == Some(&text) {
        return Ok(());
    }
    logbook.remember(&key(name), &text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::routine::load;

    const FERRY: &str = include_str!("../../tests/fixtures/ferry.yaml");

    #[test]
    fn new_and_gone_steps_are_named_once_and_other_words_are_told_as_such() {
        let folder = tempfile::tempdir().unwrap();
        let mut book = Logbook::open(folder.path()).unwrap();
        let first = load(FERRY, "ferry", 0).unwrap();
        assert_eq!(changed(&book, "ferry", &first).unwrap(), None);
        note(&mut book, "ferry", &first).unwrap();
        assert_eq!(changed(&book, "ferry", &first).unwrap(), None);
        let id = first.stops[0].id.to_string();
        let other = load(
            &FERRY.replace(&format!("id: {id}\n"), "id: quite-new\n"),
            "ferry",
            0,
        )
        .unwrap();
        let told = changed(&book, "ferry", &other).unwrap().unwrap();
        let title = heading(&other, &other.stops[0]);
        assert_eq!(
            told,
            format!("The text has changed; new: “{title}”; gone: {id}. All else you know is kept.")
        );
        note(&mut book, "ferry", &other).unwrap();
        assert_eq!(changed(&book, "ferry", &other).unwrap(), None);
        let worded = load(&FERRY.replace("title: ", "title: Oh, "), "ferry", 0).unwrap();
        note(&mut book, "ferry", &first).unwrap();
        assert_eq!(
            changed(&book, "ferry", &worded).unwrap().as_deref(),
            Some("The text has changed, the steps have not. All else you know is kept.")
        );
    }
}
