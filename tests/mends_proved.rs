//! Every mend that is shown makes it safe by `prove`: what a spectator did and what sets it right are written into the routine's file as a
//! step more, and the file is proved as any other, over all of its roads.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

use allroads::cards::TraitId;
use allroads::proof::{Ends, Limits, Ways, prove};
use allroads::rescue::{Case, Ground, Plan, Row, Verdict, Wanted, When, rows};
use allroads::roads::Sighted;
use allroads::routine::{KnownStray, Routine, Stray, Value, load};
use serde_json::{Value as Tree, json};

const LIMITS: Limits<'static> = Limits {
    bytes: 1 << 30,
    stop: &|| false,
    progress: &|_| (),
};

/// A routine's file, and the routine.
struct File {
    tree: Tree,
    routine: Routine,
}

fn routine(tree: &Tree) -> Routine {
    load(&tree.to_string(), "routine.yaml", 0).unwrap_or_else(|troubles| {
        let told: String = troubles.iter().map(ToString::to_string).collect();
        panic!("{told}")
    })
}

impl File {
    fn shipped(name: &str) -> Self {
        let text = std::fs::read_to_string(format!("drills/{name}.yaml")).unwrap();
        let options = serde_yaml::options! { strict_booleans: true };
        let mut tree: Tree = serde_yaml::from_str_with_options(&text, options).unwrap();
        // A verdict goes by the claims of the endings alone.
        strip_claims(&mut tree["steps"]);
        let routine = routine(&tree);
        Self { tree, routine }
    }

    /// What is done when this is chosen in the stray, and when it can be; none where it is not one of those tried here, or not between
    /// two steps of the main road.
    fn stray(&self, case: &Case, chosen: Option<i64>) -> Option<(String, Tree)> {
        let Stray::Known(known) = case.stray else {
            return None;
        };
        let pile = self.routine.pile_name(*case.piles.first()?);
        let done = match (known, chosen) {
            (KnownStray::CutsAgain, Some(n)) => (
                format!("size({pile}) > {n}"),
                json!({"cut": {"pile": pile, "at": n}}),
            ),
            (KnownStray::TurnsABlock, Some(n)) => (
                format!("size({pile}) >= {n}"),
                json!({"turn": {"pile": pile, "count": n}}),
            ),
            (KnownStray::TurnsThePacket, None) => (
                format!("size({pile}) > 0"),
                json!({"turn": {"pile": pile, "count": format!("size({pile})")}}),
            ),
            _ => return None,
        };
        (case.when == When::After).then_some(done)
    }

    /// What a plan does, as acts of a file; none where it hangs on more than colours.
    fn acts(&self, plan: &Plan) -> Option<Vec<Tree>> {
        match plan {
            Plan::Done => Some(Vec::new()),
            Plan::Mend(mend, rest) => {
                let mut acts = self.tree["mends"][*mend]["do"].as_array()?.clone();
                acts.extend(self.acts(rest)?);
                Some(acts)
            }
            Plan::Look(_, cases) => {
                let mut otherwise: Vec<Tree> = Vec::new();
                for (seen, then) in cases.iter().rev() {
                    let is: Option<Vec<String>> = seen
                        .iter()
                        .flatten()
                        .map(|sighted| match sighted {
                            Sighted::Trait {
                                pile,
                                place,
                                class,
                                is: Some(is),
                            } if *class == TraitId::COLOUR => {
                                let labels = &self.routine.pack.traits().get(class.index())?.labels;
                                Some(format!(
                                    "colour(card({}, {})) == \"{}\"",
                                    self.routine.pile_name(*pile),
                                    place.0,
                                    labels.get(usize::from(is.0))?
                                ))
                            }
                            _ => None,
                        })
                        .collect();
                    let is = is.filter(|is| !is.is_empty())?.join(" && ");
                    let mut acts = self.acts(then)?;
                    if acts.is_empty() {
                        // Nothing, in a form that a file may have.
                        acts = vec![json!({"reverse": self.routine.piles[0]}); 2];
                    }
                    if otherwise.is_empty() {
                        otherwise = vec![json!({"when": {"is": is, "do": acts}})];
                        continue;
                    }
                    otherwise = vec![json!({"when": {"is": is, "do": acts, "else": otherwise}})];
                }
                Some(otherwise)
            }
        }
    }

    /// The routine with one step more.
    fn with(&self, case: &Case, (can_be, acts): (&str, &[Tree])) -> Option<Routine> {
        let id = &*self.routine.stop(case.stop)?.id.0;
        let mut tree = self.tree.clone();
        let steps = tree["steps"].as_array_mut()?;
        let at = steps.iter().position(|step| step["id"] == id)?;
        let step = json!({"id": "astray", "title": "Astray", "do": [{"when": {"is": can_be, "do": acts}}]});
        steps.insert(at + 1, step);
        Some(routine(&tree))
    }
}

/// Takes the claims of all steps away, those of repeated parts too.
fn strip_claims(steps: &mut Tree) {
    match steps {
        Tree::Array(all) => all.iter_mut().for_each(strip_claims),
        Tree::Object(step) => {
            step.remove("claims");
            step.values_mut().for_each(strip_claims);
        }
        _ => {}
    }
}

fn holds(routine: &Routine) -> bool {
    let ways = Ways {
        odds: false,
        ends: Ends::Never,
        sample: 0,
        ..Ways::default()
    };
    prove(routine, ways, &LIMITS).holds()
}

/// The choices on which this part alone is the verdict; one `None` where the row has no other part.
fn told_by_choice(row: &Row, part: usize) -> Vec<Option<i64>> {
    if row.parts[part].choices.is_empty() {
        return if row.parts.len() == 1 {
            vec![None]
        } else {
            Vec::new()
        };
    }
    let elsewhere = |value: &Value| {
        let others = row.parts.iter().enumerate().filter(|(n, _)| *n != part);
        others
            .into_iter()
            .any(|(_, other)| other.choices.contains(value))
    };
    let alone: Vec<i64> = row.parts[part]
        .choices
        .iter()
        .filter(|value| !elsewhere(value))
        .filter_map(|value| value.as_int().ok())
        .collect();
    // The first and the last stand for all.
    let mut some = vec![alone.first(), alone.last()];
    some.dedup();
    some.into_iter().flatten().map(|n| Some(*n)).collect()
}

/// How many mends were proved.
fn proved(name: &str) -> usize {
    let file = File::shipped(name);
    assert!(holds(&file.routine), "{name}");
    let ground = Ground::new(&file.routine);
    let mut proved = 0;
    for row in rows(&ground, Wanted::default(), &LIMITS) {
        let case = &ground.cases()[row.case];
        for (n, part) in row.parts.iter().enumerate() {
            let Verdict::Mend(plan) = &part.verdict else {
                continue;
            };
            for chosen in told_by_choice(&row, n) {
                let Some((can_be, astray)) = file.stray(case, chosen) else {
                    continue;
                };
                let Some(acts) = file.acts(plan) else {
                    continue;
                };
                let told = format!("{name}: {} {chosen:?}", ground.told(case));
                let acts = [vec![astray], acts].concat();
                let Some(mended) = file.with(case, (&can_be, &acts)) else {
                    continue;
                };
                assert!(holds(&mended), "{told}");
                proved += 1;
            }
        }
    }
    proved
}

#[test]
fn mends_shown_for_chairlift_make_it_safe_by_proof() {
    assert!(proved("chairlift") >= 15);
}

#[test]
fn mends_shown_for_geese_make_it_safe_by_proof() {
    assert!(proved("geese") >= 3);
}

#[test]
fn mends_shown_for_slow_post_make_it_safe_by_proof() {
    assert!(proved("slow-post") >= 15);
}
