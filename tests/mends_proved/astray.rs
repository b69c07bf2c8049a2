//! What spectators do that was not offered, written as a file has it.

use crate::file::File;
use allroads::rescue::{Case, When};
use allroads::routine::{KnownStray, Stray};
use serde_json::{Value as Tree, json};

/// A step: what is chosen in it, and what is done.
type Step = (Option<Tree>, Vec<Tree>);

/// What somebody does, as steps of a file.
#[derive(Debug, Default)]
pub struct Astray {
    /// When it can happen.
    pub can_be: String,
    /// What the step asks for is done like this.
    pub instead: Option<Vec<Tree>>,
    /// What is known from then on.
    pub reckon: Vec<Tree>,
    /// What happens after the step.
    pub steps: Vec<Step>,
    /// A further pile that it needs.
    pub pile: Option<&'static str>,
    /// Names that something else is known by from then on.
    renamed: Vec<(String, String)>,
}

impl Astray {
    /// This happens after the step.
    fn acts(can_be: impl Into<String>, acts: Vec<Tree>) -> Self {
        Self::steps(can_be, vec![(None, acts)])
    }

    fn steps(can_be: impl Into<String>, steps: Vec<Step>) -> Self {
        Self {
            can_be: can_be.into(),
            steps,
            ..Self::default()
        }
    }

    /// What a stray does where this is seen chosen in it.
    ///
    /// # Panics
    /// When nobody has said how it is written.
    pub fn of(file: &File, case: &Case, chosen: Option<&str>) -> Self {
        let routine = &file.routine;
        let pile = case.piles.first().map_or("", |p| routine.pile_name(*p));
        let id = file.id(case);
        let name = case.name.map_or("", |n| &*routine.names[n.index()].name);
        let unseen = |kind: &str, domain: Tree| {
            let mut fork = json!({"name": "whim", "seen": "nothing"});
            fork[kind] = domain;
            Some(fork)
        };
        let known = match case.stray {
            Stray::Known(known) => known,
            Stray::Own(own) => {
                let own = &file.tree["strays"][usize::from(own)];
                assert!(own.get("fork").is_none(), "{own} has a choice");
                return Self::acts("true", own["do"].as_array().unwrap().clone());
            }
        };
        let astray = match (known, chosen) {
            (KnownStray::CutsAgain, Some(n)) => Self::acts(
                format!("size({pile}) > {n}"),
                vec![json!({"cut": {"pile": pile, "at": n}})],
            ),
            (KnownStray::TurnsABlock, Some(n)) => Self::acts(
                format!("size({pile}) > {n}"),
                vec![json!({"turn": {"pile": pile, "count": n}})],
            ),
            (KnownStray::TurnsThePacket, None) => {
                Self::acts(format!("size({pile}) > 0"), vec![json!({"turn": pile})])
            }
            (KnownStray::CutsUnseen, None) => {
                let fork = unseen("cut", json!({"pile": pile, "least": 1}));
                let cut = json!({"cut": {"pile": pile, "at": "whim"}});
                Self::steps("true", vec![(fork, vec![cut])])
            }
            (KnownStray::DropsACard, None) => {
                let to = format!("size({pile}) - 1");
                let fork = unseen("number", json!({"from": 1, "to": to}));
                let take =
                    json!({"take": {"from": pile, "at": "whim", "to": pile, "put": "bottom"}});
                Self::steps("true", vec![(fork, vec![take])])
            }
            (KnownStray::BuriesTheTop, None) => {
                let to = format!("size({pile})");
                let fork = unseen("number", json!({"from": 2, "to": to}));
                let put = json!({"put": {"from": pile, "to": pile, "at": "whim"}});
                Self::steps("true", vec![(fork, vec![put])])
            }
            (KnownStray::ShufflesOverhand, None) => {
                let mix = json!({"overhand": {"pile": pile, "by": "whim"}});
                Self::steps("true", vec![(unseen("overhand", json!(pile)), vec![mix])])
            }
            (KnownStray::Riffles, None) => {
                let off = unseen("cut", json!({"pile": pile, "least": 1}));
                let lift = json!({"move": {"from": pile, "to": "pocket", "count": "whim"}});
                let mix = json!({"name": "mix", "seen": "nothing", "riffle": {"left": "pocket", "right": pile}});
                let push =
                    json!({"riffle": {"left": "pocket", "right": pile, "to": pile, "by": "mix"}});
                Self {
                    pile: Some("pocket"),
                    ..Self::steps("true", vec![(off, vec![lift]), (Some(mix), vec![push])])
                }
            }
            (KnownStray::OneTooMany, _) => {
                Self::counted(file, id, (name, chosen), &|act| more(act, "+ 1"))
            }
            (KnownStray::OneTooFew, _) => {
                Self::counted(file, id, (name, chosen), &|act| more(act, "- 1"))
            }
            (KnownStray::LiftsInstead, _) => Self::counted(file, id, (name, chosen), &lifted),
            (KnownStray::ChangesTheirMind, Some(value)) => Self::changes(file, id, name, value),
            (other, _) => panic!("say here how {} is written", other.id()),
        };
        let instead = astray.instead.is_some();
        assert_eq!(instead, case.when == When::Instead, "{}", known.id());
        astray
    }

    /// The first act of a step that counts cards is done otherwise, where this was chosen in it.
    fn counted(
        file: &File,
        id: &str,
        (name, chosen): (&str, Option<&str>),
        otherwise: &dyn Fn(&mut Tree) -> bool,
    ) -> Self {
        let asked = file.step(id)["do"].as_array().unwrap().clone();
        let mut acts = asked.clone();
        assert!(first(&mut acts, otherwise), "{id} has nothing to count");
        let can_be = chosen.map_or("true".to_owned(), |chosen| {
            format!("{name} == {}", written(chosen))
        });
        let either = json!({"when": {"is": can_be, "do": acts, "else": asked}});
        Self {
            can_be,
            instead: Some(vec![either]),
            ..Self::default()
        }
    }

    /// A choice is another from then on, and so is all that was worked out from it up to this step. None of that hangs on the table.
    fn changes(file: &File, id: &str, name: &str, value: &str) -> Self {
        let value = written(value);
        let mut changed = Self {
            can_be: format!("{name} != {value}"),
            reckon: vec![json!({"name": anew(name), "is": value})],
            renamed: vec![(name.to_owned(), anew(name))],
            ..Self::default()
        };
        let made = file.up_to(id).iter().filter_map(|s| s["reckon"].as_array());
        for made in made.flatten() {
            let is = made["is"].as_str().unwrap();
            let now = changed.in_new_words(is);
            if now != is {
                assert!(!is.contains("card("), "{is} hangs on the table");
                let name = made["name"].as_str().unwrap();
                changed.reckon.push(json!({"name": anew(name), "is": now}));
                changed.renamed.push((name.to_owned(), anew(name)));
            }
        }
        changed
    }

    /// Names in a part of a file that come after it are the new ones.
    pub fn rename(&self, tree: &mut Tree) {
        match tree {
            Tree::Array(all) => all.iter_mut().for_each(|inner| self.rename(inner)),
            Tree::Object(map) => map.values_mut().for_each(|inner| self.rename(inner)),
            Tree::String(text) => *text = self.in_new_words(text),
            Tree::Null | Tree::Bool(_) | Tree::Number(_) => {}
        }
    }

    /// A text with whole words exchanged.
    fn in_new_words(&self, text: &str) -> String {
        let in_a_word = |c: char| c.is_alphanumeric() || c == '_';
        let mut told = String::new();
        let mut rest = text;
        while let Some(c) = rest.chars().next() {
            let end = rest.find(|c| !in_a_word(c)).unwrap_or(rest.len());
            let (word, after) = rest.split_at(end.max(c.len_utf8()));
            let new = self.renamed.iter().find(|(old, _)| old == word);
            told.push_str(new.map_or(word, |(_, new)| new));
            rest = after;
        }
        told
    }
}

/// A number, or a word as expressions have it.
fn written(value: &str) -> String {
    match value.parse::<i64>() {
        Ok(number) => number.to_string(),
        Err(_) => format!("\"{value}\""),
    }
}

fn anew(name: &str) -> String {
    format!("{name}_anew")
}

/// Does the first act that can be done otherwise so, on both sides of a condition; whether there was one.
///
/// # Panics
/// At a part that is repeated: which round is meant is written out by hand.
fn first(acts: &mut [Tree], otherwise: &dyn Fn(&mut Tree) -> bool) -> bool {
    acts.iter_mut().any(|act| {
        assert!(act.get("repeat").is_none(), "{act}");
        let inner = ["/when/do", "/when/else"].map(|path| {
            let acts = act.pointer_mut(path).and_then(Tree::as_array_mut);
            acts.is_some_and(|acts| first(acts, otherwise))
        });
        inner.contains(&true) || otherwise(act)
    })
}

/// One more, or one fewer, of what is counted off.
fn more(act: &mut Tree, by: &str) -> bool {
    let counts = ["/deal/count", "/move/count", "/count/count"];
    let path = counts.iter().find(|path| act.pointer(path).is_some());
    let count = path.and_then(|path| act.pointer_mut(path));
    if let Some(count) = count {
        let was = count.as_str().map_or(count.to_string(), str::to_owned);
        *count = json!(format!("({was}) {by}"));
        return true;
    }
    false
}

/// Lifted off together, where it was dealt onto one pile card by card.
fn lifted(act: &mut Tree) -> bool {
    let deal = &act["deal"];
    let (Some([to]), Some(count)) = (deal["to"].as_array().map(Vec::as_slice), deal.get("count"))
    else {
        return false;
    };
    *act = json!({"move": {"from": deal["from"], "to": to, "count": count}});
    true
}
