//! Mends and looks, written as a file has them.

use allroads::rescue::{Plan, Seen};
use allroads::roads::Sighted;
use allroads::routine::Routine;
use serde_json::{Value as Tree, json};

/// What a plan does, as acts of a file. What it does not foresee must not come: there the road cannot go on.
pub fn acts(routine: &Routine, tree: &Tree, plan: &Plan) -> Vec<Tree> {
    match plan {
        Plan::Done => Vec::new(),
        Plan::Mend(mend, rest) => {
            let mut done = tree["mends"][*mend]["do"].as_array().unwrap().clone();
            done.extend(acts(routine, tree, rest));
            done
        }
        Plan::Look(_, cases) => {
            let pile = &routine.piles[0];
            let stuck = json!({"cut": {"pile": pile, "at": format!("size({pile}) + 1")}});
            cases
                .iter()
                .rev()
                .fold(vec![stuck], |otherwise, (seen, then)| {
                    let mut done = acts(routine, tree, then);
                    if done.is_empty() {
                        // Nothing, in a form that a file may have.
                        done = vec![json!({"reverse": pile}); 2];
                    }
                    vec![json!({"when": {"is": is(routine, seen), "do": done, "else": otherwise}})]
                })
        }
    }
}

/// The condition that this is what a look shows.
fn is(routine: &Routine, seen: &Seen) -> String {
    let traits = routine.pack.traits();
    let each = seen.iter().map(|sighted| match sighted {
        Some(Sighted::Trait {
            pile,
            place,
            class,
            is: Some(is),
        }) => {
            let (pile, place) = (routine.pile_name(*pile), place.0);
            let of = &traits[class.index()];
            let (name, label) = (&of.name, &of.labels[usize::from(is.0)]);
            format!("trait(card({pile}, {place}), \"{name}\") == \"{label}\"")
        }
        other => panic!("say here how {other:?} is written"),
    });
    each.collect::<Vec<_>>().join(" && ")
}
