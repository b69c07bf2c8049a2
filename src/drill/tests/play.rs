//! Playing a whole session with a scripted performer.

use crate::drill::{
    Answered, Drill, Effect, Event, Expected, Plan, Prompt, Question, Session, Summary,
};
use crate::routine::{Millis, Routine};
use std::sync::Arc;

/// All that came of a session.
pub struct Played {
    pub prompts: Vec<Prompt>,
    pub asked: Vec<Question>,
    pub kept: Vec<Answered>,
    pub unread: usize,
    pub summary: Summary,
}

pub fn plan(drills: &[Drill], questions: u32, seed: u64) -> Plan {
    Plan {
        drills: drills.to_vec(),
        questions: Some(questions),
        minutes: None,
        seed,
        from: None,
    }
}

/// Plays to the end; `answer` gives the text for each question.
pub fn play(
    routine: &Arc<Routine>,
    plan: Plan,
    mut answer: impl FnMut(&Session, &Question) -> String,
) -> Played {
    let mut session = Session::new(Arc::clone(routine), plan).unwrap();
    let mut played = Played {
        prompts: Vec::new(),
        asked: Vec::new(),
        kept: Vec::new(),
        unread: 0,
        summary: Summary::default(),
    };
    for _ in 0..20_000 {
        let prompt = session.prompt();
        let event = match &prompt {
            Prompt::Tell(_) | Prompt::Correct(_) => Event::Go,
            Prompt::Line(line) if line.aloud => Event::Differed(false),
            Prompt::Line(_) => Event::Go,
            Prompt::Ask(question) => {
                played.asked.push(question.clone());
                Event::Answer {
                    text: answer(&session, question),
                    first_key: Millis(400),
                    total: Millis(1_500),
                }
            }
            Prompt::Done(summary) => {
                played.summary = summary.clone();
                return played;
            }
        };
        played.prompts.push(prompt);
        for effect in session.update(event) {
            match effect {
                Effect::Keep(answered) => played.kept.push(answered),
                Effect::Unread(_) => played.unread += 1,
                Effect::Finished(_) => {}
            }
        }
    }
    panic!("the session never ended");
}

/// The routines in the folder of shipped ones, whichever they are.
pub fn shipped() -> Vec<Arc<Routine>> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/drills");
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    files.sort();
    files
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            let origin = path.display().to_string();
            Arc::new(
                crate::routine::load(&text, &origin, 1)
                    .unwrap_or_else(|troubles| panic!("{origin}: {} faults", troubles.len())),
            )
        })
        .collect()
}

/// An answer that can be read and is wrong.
pub fn wrong(routine: &Routine, question: &Question) -> String {
    let other = |n: usize, of: usize| (n + 1) % of;
    match &question.expected {
        Expected::Card(card) => {
            let all = crate::cards::Pack::full(crate::cards::Lang::EnGb).unwrap();
            all.cards()
                .find(|c| all.face(*c) != routine.pack.face(*card))
                .map(|c| all.short(c))
                .unwrap()
        }
        Expected::Class(of, class) => {
            let labels = &routine.pack.traits()[of.index()].labels;
            labels[other(class.index(), labels.len())].clone()
        }
        Expected::Facing(yes) | Expected::Yes(yes) => (if *yes { "no" } else { "yes" }).to_owned(),
        Expected::Place(pile, place) => {
            format!("{} {}", routine.pile_name(*pile), place.0 + 1)
        }
        Expected::Number(n) => (n + 1).to_string(),
        Expected::Pattern(..) => {
            let mut letters = question.expected_keys.chars();
            let first = letters.next().unwrap();
            let swap = question
                .expected_keys
                .chars()
                .find(|c| *c != first)
                .unwrap();
            format!("{swap}{}", letters.as_str())
        }
        Expected::Pile(pile) => routine.piles[other(pile.index(), routine.piles.len())].clone(),
        Expected::Step(_) | Expected::Word(_) | Expected::Line(_) => "xylophone".to_owned(),
        Expected::Order(piles) => {
            let mut piles = piles.clone();
            piles.rotate_left(1);
            piles
                .iter()
                .map(|p| routine.pile_name(*p))
                .collect::<Vec<_>>()
                .join(" ")
        }
        Expected::Places(places) => (places[0] + 1).to_string(),
    }
}
