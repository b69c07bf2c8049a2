//! A routine's file, with some of it held fast, and with what a spectator did and what sets it right written into it.

use crate::astray::Astray;
use allroads::rescue::Case;
use allroads::routine::{Routine, load};
use serde_json::{Value as Tree, json};

/// What is held fast of all that a performer can see on a road.
#[derive(Debug, Default)]
pub struct Fast {
    /// The names of choices, each with the one thing that can be chosen, or with two numbers.
    pub chosen: Vec<(&'static str, Vec<String>)>,
    /// An expression; where it is true at an ending, it does not matter how it ends.
    pub given_up: Option<String>,
}

/// A routine's file, and the routine.
pub struct File {
    pub tree: Tree,
    pub routine: Routine,
    /// Whether there are roads on which it does not matter how it ends.
    pub gives_up: bool,
}

/// Reads a routine.
fn read(text: &str) -> Routine {
    load(text, "routine.yaml", 0).unwrap_or_else(|troubles| {
        let told: String = troubles.iter().map(ToString::to_string).collect();
        panic!("{told}")
    })
}

/// The text of a shipped routine.
fn text(name: &str) -> String {
    std::fs::read_to_string(format!("drills/{name}.yaml")).unwrap()
}

/// A shipped routine as it is.
pub fn shipped(name: &str) -> Routine {
    read(&text(name))
}

impl File {
    /// The file of a shipped routine, with this held fast. A verdict goes by the claims of the endings alone, so it has no others.
    pub fn of(name: &str, fast: &Fast) -> Self {
        let options = serde_yaml::options! { strict_booleans: true };
        let mut tree: Tree = serde_yaml::from_str_with_options(&text(name), options).unwrap();
        strip(&mut tree["steps"], "claims");
        strip(&mut tree, "weights");
        for (name, values) in &fast.chosen {
            choose(&mut tree["steps"], name, values);
        }
        if let Some(where_so) = &fast.given_up {
            let outs = tree["outs"].as_array().map_or(0, Vec::len);
            (0..outs).for_each(|n| give_up(&mut tree["outs"][n]["claims"], where_so));
            give_up(&mut tree["finale"]["claims"], where_so);
        }
        Self {
            routine: read(&tree.to_string()),
            tree,
            gives_up: fast.given_up.is_some(),
        }
    }

    /// The same file, a step of which does this.
    pub fn doing(&self, id: &str, acts: Vec<Tree>) -> Self {
        let mut tree = self.tree.clone();
        let (steps, at, _) = find_mut(&mut tree["steps"], id, false).unwrap();
        steps[at]["do"] = Tree::Array(acts);
        Self {
            routine: read(&tree.to_string()),
            tree,
            ..*self
        }
    }

    /// The id of the step at which a stray happens.
    pub fn id(&self, case: &Case) -> &str {
        &self.routine.stop(case.stop).unwrap().id.0
    }

    /// The step with this id.
    pub fn step(&self, id: &str) -> &Tree {
        let (steps, at, _) = find(&self.tree["steps"], id, false).unwrap();
        &steps[at]
    }

    /// All steps of the road before the one with this id, that one with them.
    pub fn up_to(&self, id: &str) -> &[Tree] {
        let steps = self.tree["steps"].as_array().unwrap();
        let at = steps.iter().position(|step| step["id"] == id).unwrap();
        &steps[..=at]
    }

    /// The routine in which somebody goes astray at this step, and this is done about it. Where nothing is, one round of what is gone
    /// through again is enough to fail on.
    pub fn with(&self, id: &str, astray: &Astray, done: &[Tree]) -> Routine {
        let mut tree = self.tree.clone();
        let piles = tree["piles"].as_array_mut().unwrap();
        piles.extend(astray.pile.map(|pile| json!(pile)));
        if done.is_empty() {
            once(&mut tree["steps"]);
        }
        let (steps, at, again) = find_mut(&mut tree["steps"], id, false).unwrap();
        if let Some(acts) = &astray.instead {
            steps[at]["do"] = json!(acts);
        }
        for step in &mut steps[at + 1..] {
            astray.rename(step);
        }
        steps.splice(at + 1..=at, laid_out(astray, done, again));
        for ending in ["outs", "finale"] {
            tree.get_mut(ending)
                .into_iter()
                .for_each(|part| astray.rename(part));
        }
        read(&tree.to_string())
    }
}

/// The steps in which somebody goes astray and it is set right. In a part that is gone through again it may happen in any round.
fn laid_out(astray: &Astray, done: &[Tree], again: bool) -> Vec<Tree> {
    let mut steps = Vec::new();
    let can_be = &astray.can_be;
    let happens = if again {
        let fork = json!({"name": "now", "seen": "nothing", "option": ["yes", "no"]});
        steps.push(json!({"id": "whether", "fork": fork}));
        format!("({can_be}) && now == \"yes\"")
    } else {
        can_be.clone()
    };
    let mut reckon = vec![json!({"name": "happens", "is": happens})];
    reckon.extend(astray.reckon.iter().cloned());
    steps.push(json!({"id": "astray", "reckon": reckon}));
    for (n, (fork, acts)) in astray.steps.iter().enumerate() {
        let mut step = json!({"id": format!("astray-{n}"), "do": only_if("happens", acts)});
        if let Some(fork) = fork {
            step["fork"] = fork.clone();
        }
        steps.push(step);
    }
    if !done.is_empty() {
        steps.push(json!({"id": "mended", "do": only_if("happens", done)}));
    }
    steps
}

/// Acts that are done only if this is so.
fn only_if(is: &str, acts: &[Tree]) -> Tree {
    json!([{"when": {"is": is, "do": acts}}])
}

/// Takes a key away wherever it is.
fn strip(tree: &mut Tree, key: &str) {
    match tree {
        Tree::Array(all) => all.iter_mut().for_each(|inner| strip(inner, key)),
        Tree::Object(map) => {
            map.remove(key);
            map.values_mut().for_each(|inner| strip(inner, key));
        }
        Tree::Null | Tree::Bool(_) | Tree::Number(_) | Tree::String(_) => {}
    }
}

/// Lets every part be gone through once only.
fn once(steps: &mut Tree) {
    for step in steps.as_array_mut().unwrap() {
        if let Some(part) = step.get_mut("again") {
            part["at-most"] = json!(1);
        }
    }
}

/// Lets a choice be this and nothing else. There must be two options to choose between, so one alone is what is known, and no choice.
fn choose(steps: &mut Tree, name: &str, values: &[String]) {
    let steps = steps.as_array_mut().unwrap();
    let step = steps.iter_mut().find(|step| step["fork"]["name"] == name);
    let step = step.unwrap_or_else(|| panic!("there is no choice {name}"));
    let (first, last) = (&values[0], &values[values.len() - 1]);
    if step["fork"]["number"].is_object() {
        let number = |value: &str| value.parse::<i64>().unwrap();
        let by = (number(last) - number(first)).max(1);
        step["fork"]["number"] = json!({"from": first, "to": last, "by": by});
        return;
    }
    assert!(
        step["fork"]["option"].is_array() && values.len() == 1,
        "{name}"
    );
    let step = step.as_object_mut().unwrap();
    step.remove("fork");
    let known = json!({"name": name, "is": format!("\"{first}\"")});
    let reckonings = step.entry("reckon").or_insert_with(|| json!([]));
    reckonings.as_array_mut().unwrap().insert(0, known);
}

/// Claims that are true where it does not matter.
fn give_up(claims: &mut Tree, where_so: &str) {
    for claim in claims.as_array_mut().unwrap() {
        claim.as_object_mut().unwrap().remove("says");
        *claim = json!({"or": [{"expr": where_so}, claim.clone()]});
    }
}

/// The list that holds the step with this id, its place there, and whether it is in a part that is gone through again.
fn find<'t>(steps: &'t Tree, id: &str, again: bool) -> Option<(&'t [Tree], usize, bool)> {
    let steps = steps.as_array()?;
    match steps.iter().position(|step| step["id"] == id) {
        Some(at) => Some((steps, at, again)),
        None => steps
            .iter()
            .find_map(|step| find(&step["again"]["steps"], id, true)),
    }
}

fn find_mut<'t>(
    steps: &'t mut Tree,
    id: &str,
    again: bool,
) -> Option<(&'t mut Vec<Tree>, usize, bool)> {
    let steps = steps.as_array_mut()?;
    match steps.iter().position(|step| step["id"] == id) {
        Some(at) => Some((steps, at, again)),
        None => steps
            .iter_mut()
            .find_map(|step| find_mut(step.get_mut("again")?.get_mut("steps")?, id, true)),
    }
}
