//! What is done at a step, in words: the file's own, or the acts told one by one.

use super::heard::open;
use super::say;
use crate::handling::{End, Halves, Kept, Over, Weave};
use crate::roads::{Sighted, Walked};
use crate::routine::{Act, Expr, Routine, Scene, Value, Words, capital};
use crate::table::PileId;

/// The handling of a step, one line for each thing done.
pub(super) fn handling(routine: &Routine, walked: &Walked, heard: &[Sighted]) -> Vec<String> {
    handling_but(routine, walked, heard, |_| false)
}

/// The handling of a step in words that hold on every road: what hangs on a choice is not told as a number.
#[must_use]
pub fn done_in_words(routine: &Routine, walked: &Walked) -> Vec<String> {
    handling(routine, walked, &[])
}

/// The same, without the acts left out: their words say nothing where nobody knows what was chosen.
pub(super) fn handling_but(
    routine: &Routine,
    walked: &Walked,
    heard: &[Sighted],
    left_out: impl Fn(&Act) -> bool,
) -> Vec<String> {
    let Some(stop) = routine.stop(walked.stop) else {
        return Vec::new();
    };
    if !stop.handling.is_empty() {
        return vec![stop.handling.trim().to_owned()];
    }
    let telling = Telling {
        scene: Scene {
            routine,
            world: &walked.after,
        },
        heard,
    };
    stop.acts
        .iter()
        .filter(|act| !left_out(act))
        .flat_map(|act| telling.act(act))
        .map(|line| format!("{}.", capital(&line)))
        .collect()
}

/// Acts in words, one after the other: "turn one card on top of the packet over as one".
pub(super) fn acts_in_words(scene: Scene<'_>, acts: &[Act]) -> String {
    let telling = Telling { scene, heard: &[] };
    let lines: Vec<String> = acts.iter().flat_map(|act| telling.act(act)).collect();
    lines.join(", ")
}

struct Telling<'a> {
    scene: Scene<'a>,
    /// Everything seen and heard up to this step and at it.
    heard: &'a [Sighted],
}

impl Telling<'_> {
    /// A number that may be told: nothing goes into it that the performer has not heard.
    fn number(&self, expr: &Expr) -> Option<i64> {
        if !open(self.scene.routine, self.heard, expr) {
            return None;
        }
        match expr.value(self.scene) {
            Ok(Value::Int(n)) => Some(n),
            Ok(_) | Err(_) => None,
        }
    }

    fn some(&self, count: Option<&Expr>) -> String {
        match count {
            None => "all cards".to_owned(),
            Some(expr) => self
                .number(expr)
                .map_or_else(|| "the cards agreed on".to_owned(), say::cards),
        }
    }

    fn at(&self, expr: &Expr) -> String {
        match self.number(expr) {
            Some(1) => "top".to_owned(),
            Some(n) => u16::try_from(n).map_or_else(|_| "right".to_owned(), say::ordinal),
            None => "agreed".to_owned(),
        }
    }

    fn pile(&self, pile: PileId) -> String {
        say::pile(self.scene.routine, pile)
    }

    fn piles(&self, piles: &[PileId]) -> String {
        let names: Vec<String> = piles.iter().map(|pile| self.pile(*pile)).collect();
        match names.as_slice() {
            [] => String::new(),
            [one] => one.clone(),
            [front @ .., last] => format!("{} and {last}", front.join(", ")),
        }
    }

    fn act(&self, act: &Act) -> Vec<String> {
        let line = match act {
            Act::Cut { pile, at } => format!(
                "cut {} from the top of {} to the bottom",
                self.some(Some(at)),
                self.pile(*pile)
            ),
            Act::Block {
                from,
                take,
                count,
                to,
                put,
                order,
            } => format!(
                "{} {} from the {} of {} to the {} of {}",
                match order {
                    Kept::Kept => "move",
                    Kept::Reversed => "count",
                },
                self.some(count.as_ref()),
                end(*take),
                self.pile(*from),
                end(*put),
                self.pile(*to)
            ),
            Act::Deal {
                from,
                to,
                count,
                up,
            } => format!(
                "deal {} from {} to {}{}",
                self.some(count.as_ref()),
                self.pile(*from),
                self.piles(to),
                match up {
                    Some(true) => ", face up",
                    Some(false) => ", face down",
                    None => "",
                }
            ),
            Act::Gather { piles, by, onto } => match by {
                None => format!(
                    "gather {} into {}, the first on top",
                    self.piles(piles),
                    self.pile(*onto)
                ),
                Some(_) => format!("gather the piles into {} in that order", self.pile(*onto)),
            },
            Act::DownUnder {
                pile,
                to,
                leave,
                first_under,
            } => format!(
                "deal {} one {}, one {}, onto {}, until {} left",
                self.pile(*pile),
                if *first_under { "under" } else { "down" },
                if *first_under { "down" } else { "under" },
                self.pile(*to),
                match self.number(leave) {
                    Some(1) => "one card is".to_owned(),
                    Some(0) => "none is".to_owned(),
                    Some(n) => format!("{n} cards are"),
                    None => "the cards agreed on are".to_owned(),
                }
            ),
            Act::Klondike(pile) => format!(
                "draw the top and the bottom card of {} together, pair onto pair",
                self.pile(*pile)
            ),
            Act::Monge { pile, second } => format!(
                "push the cards of {} off in turn over and under, the second {}",
                self.pile(*pile),
                match second {
                    Over::Over => "over",
                    Over::Under => "under",
                }
            ),
            Act::Faro { pile, weave } => format!(
                "weave the halves of {} card by card; the top card {}",
                self.pile(*pile),
                match weave {
                    Weave::Out => "stays",
                    Weave::In => "goes second",
                }
            ),
            Act::InverseFaro { pile, top, by } => {
                let which = match (by, top) {
                    (Some(_), _) => "the halves as they say".to_owned(),
                    (None, Halves::OddsOnTop) => "the first, third and so on on top".to_owned(),
                    (None, Halves::EvensOnTop) => "the second, fourth and so on on top".to_owned(),
                };
                format!("part {} into every other card, {which}", self.pile(*pile))
            }
            Act::Riffle {
                left, right, to, ..
            } => format!(
                "riffle {} and {} together into {}",
                self.pile(*left),
                self.pile(*right),
                self.pile(*to)
            ),
            Act::Overhand { pile, .. } => format!("shuffle {} overhand", self.pile(*pile)),
            Act::Turn { pile, count } => match count {
                None => format!("turn {} over", self.pile(*pile)),
                Some(_) => format!(
                    "turn {} on top of {} over as one",
                    self.some(count.as_ref()),
                    self.pile(*pile)
                ),
            },
            Act::TurnEach { pile, at, by } => {
                let places: Vec<String> = at.iter().map(|at| self.at(at)).collect();
                match by {
                    Some(_) => format!("turn the cards they chose over in {}", self.pile(*pile)),
                    None => format!(
                        "turn the {} card of {} over in place",
                        places.join(" and the "),
                        self.pile(*pile)
                    ),
                }
            }
            Act::Reverse(pile) => format!("reverse the order of {}", self.pile(*pile)),
            Act::Take { from, at, to, put } => format!(
                "take the {} card of {} to the {} of {}",
                self.at(at),
                self.pile(*from),
                end(*put),
                self.pile(*to)
            ),
            Act::Put { from, to, at } => format!(
                "put the top card of {} into {}, so that it lies at the {} place",
                self.pile(*from),
                self.pile(*to),
                self.at(at)
            ),
            Act::Swap { pile, a, b } => format!(
                "swap the {} and the {} card of {}",
                self.at(a),
                self.at(b),
                self.pile(*pile)
            ),
            Act::Spell { from, to, words } => format!(
                "spell {} from {} onto {}, a card for each letter",
                match words {
                    Words::Plain(word) => format!("“{word}”"),
                    Words::CardName(_) => "the name of the card".to_owned(),
                },
                self.pile(*from),
                self.pile(*to)
            ),
            Act::Chain(chain) => format!(
                "count along {}: each card says how many on the next one lies",
                self.pile(chain.pile)
            ),
            Act::Repeat { times, acts } => {
                let inner: Vec<String> = acts.iter().flat_map(|act| self.act(act)).collect();
                let times = self
                    .number(times)
                    .map_or_else(|| "as often as agreed".to_owned(), |n| format!("{n} times"));
                format!("{times}: {}", inner.join(", then "))
            }
            Act::When {
                then, otherwise, ..
            } => {
                let told = |acts: &[Act]| -> Vec<String> {
                    acts.iter().flat_map(|act| self.act(act)).collect()
                };
                let (yes, no) = (told(then), told(otherwise));
                match (yes.is_empty(), no.is_empty()) {
                    (true, true) => return Vec::new(),
                    (false, true) => format!("if so: {}", yes.join(", then ")),
                    (true, false) => format!("if not: {}", no.join(", then ")),
                    (false, false) => {
                        format!(
                            "either: {}; or: {}",
                            yes.join(", then "),
                            no.join(", then ")
                        )
                    }
                }
            }
        };
        vec![line]
    }
}

fn end(end: End) -> &'static str {
    match end {
        End::Top => "top",
        End::Bottom => "bottom",
    }
}
