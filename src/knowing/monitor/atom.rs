//! The small machines that monitors are made of. Each reads the cells in the order of its steps, from step 0, and keeps no more than
//! its claim needs. All that they look at is in tables by look, so that equal questions are equal machines.

use crate::knowing::stream::LookId;
use std::sync::Arc;

/// Something of each look: its class, a key to compare by.
pub(super) type Keys = Arc<[(LookId, u32)]>;

/// A look without a key.
pub(super) const NO_KEY: u32 = u32::MAX;

/// What follows each look.
pub(super) type Follows = Arc<[(LookId, u32)]>;

/// How much each look adds.
pub(super) type Weights = Arc<[(LookId, i64)]>;

pub(super) fn of<T: Copy>(table: &[(LookId, T)], look: LookId) -> Option<T> {
    let at = table
        .binary_search_by_key(&look, |(known, _)| *known)
        .ok()?;
    Some(table[at].1)
}

/// A comparison with nought.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Against {
    /// It is nought.
    Nought,
    /// It is below nought.
    Below,
    /// It is below nought or nought.
    AtMost,
    /// This number, above nought, divides it.
    Multiple(i64),
}

/// A cell's part in a pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct InPair {
    /// Which pair.
    pub(super) pair: u32,
    /// Whether it is the pair's second cell, which is compared by the second keys.
    pub(super) second: bool,
}

/// A machine. Where there is one entry for each step, steps beyond the last entry do not matter.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) enum Atom {
    /// At each step one of these looks, rising; `None` where any will do.
    Fits(Vec<Option<Arc<[LookId]>>>),
    /// All at these steps have one key.
    AllOne {
        at: Vec<bool>,
        key: Keys,
        first: Option<u32>,
    },
    /// In each group all keys differ. By step the group; by group the keys that are there already, rising.
    Groups {
        at: Vec<Option<u32>>,
        key: Keys,
        there: Vec<Vec<u32>>,
    },
    /// In each pair the first key of the one is the second key of the other.
    Pairs {
        at: Vec<Option<InPair>>,
        first: Keys,
        second: Keys,
    },
    /// A sum of weights, compared with nought.
    Sum {
        at: Vec<Option<Weights>>,
        start: i64,
        against: Against,
    },
    /// The keys are one of these sequences. By step the place in them; by candidate whether it still fits.
    Among {
        at: Vec<Option<u32>>,
        key: Keys,
        wanted: Vec<Arc<[u32]>>,
    },
    /// Questions asked one after the other: by node the step and what follows each look; 0 is false, 1 is true, and node `n` is
    /// at `n - 2`. The last node is the first question.
    Diagram(Vec<(u16, Follows)>),
}

/// What a machine remembers, or its verdict.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) enum Stage {
    /// Decided.
    Is(bool),
    /// Not decided yet.
    Open(Box<[u32]>),
}

/// Bounds of what the steps still to come can add to a sum, before each step.
#[derive(Debug, Clone, Default)]
pub(super) struct Bounds(Vec<(i64, i64)>);

impl Bounds {
    /// Those of an atom.
    pub(super) fn new(atom: &Atom) -> Self {
        let Atom::Sum { at, .. } = atom else {
            return Self::default();
        };
        let mut bounds = vec![(0, 0); at.len() + 1];
        for (step, weights) in at.iter().enumerate().rev() {
            let (low, high) = bounds[step + 1];
            let all = || weights.iter().flat_map(|w| w.iter().map(|(_, add)| *add));
            bounds[step] = (
                low + all().min().unwrap_or(0),
                high + all().max().unwrap_or(0),
            );
        }
        Self(bounds)
    }
    fn verdict(&self, sum: i64, step: usize, against: Against) -> Stage {
        let (low, high) = self.0[step.min(self.0.len() - 1)];
        let (least, most) = (sum + low, sum + high);
        let decided = match against {
            Against::Multiple(of) if least == most => Some(least % of == 0),
            Against::Multiple(of) => return Stage::Open(packed(sum.rem_euclid(of))),
            Against::Nought if least > 0 || most < 0 => Some(false),
            Against::Nought if least == most => Some(true),
            Against::Below if most < 0 => Some(true),
            Against::Below if least >= 0 => Some(false),
            Against::AtMost if most <= 0 => Some(true),
            Against::AtMost if least > 0 => Some(false),
            Against::Nought | Against::Below | Against::AtMost => None,
        };
        match decided {
            Some(verdict) => Stage::Is(verdict),
            None => Stage::Open(packed(sum)),
        }
    }
}

/// A number in two words.
fn packed(n: i64) -> Box<[u32]> {
    let bits = n.cast_unsigned();
    Box::new([(bits >> 32) as u32, bits as u32])
}

fn unpacked(words: &[u32]) -> i64 {
    let bits = words
        .iter()
        .fold(0_u64, |bits, word| bits << 32 | u64::from(*word));
    bits.cast_signed()
}

fn open(words: Vec<u32>) -> Stage {
    Stage::Open(words.into())
}

impl Atom {
    /// After which step it is decided whatever happens; 0 where it looks at no step.
    fn length(&self) -> usize {
        match self {
            Self::Fits(at) => at
                .iter()
                .rposition(Option::is_some)
                .map_or(0, |last| last + 1),
            Self::AllOne { at, .. } => at.iter().rposition(|it| *it).map_or(0, |last| last + 1),
            Self::Groups { at, .. } => at.len(),
            Self::Pairs { at, .. } => at.len(),
            Self::Sum { at, .. } => at.len(),
            Self::Among { at, .. } => at.len(),
            Self::Diagram(nodes) => nodes
                .iter()
                .map(|(step, _)| usize::from(*step) + 1)
                .max()
                .unwrap_or(0),
        }
    }

    /// What the cell read at a step has a say in, as words to sort by: cells with the same words may change places.
    pub(super) fn say(&self, step: u16, words: &mut Vec<i64>) {
        let index = usize::from(step);
        match self {
            Self::Fits(at) => {
                let looks = at.get(index).and_then(Option::as_ref);
                words.extend(
                    looks
                        .iter()
                        .flat_map(|looks| looks.iter().map(|look| i64::from(*look))),
                );
                words.push(-1);
            }
            Self::AllOne { at, .. } => words.push(at.get(index).map_or(0, |at| i64::from(*at))),
            Self::Groups { at, .. } | Self::Among { at, .. } => {
                words.push(at.get(index).copied().flatten().map_or(-1, i64::from));
            }
            Self::Pairs { at, .. } => {
                words.push(
                    at.get(index)
                        .copied()
                        .flatten()
                        .map_or(-1, |at| i64::from(at.pair)),
                );
            }
            Self::Sum { at, .. } => {
                let weights = at.get(index).and_then(Option::as_ref);
                words.extend(
                    weights
                        .iter()
                        .flat_map(|adds| adds.iter().map(|(_, add)| *add)),
                );
                words.push(i64::MIN);
            }
            Self::Diagram(nodes) => words.push(i64::from(nodes.iter().any(|(at, _)| *at == step))),
        }
    }

    /// Before the first step.
    pub(super) fn start(&self, bounds: &Bounds) -> Stage {
        match self {
            Self::Fits(_) | Self::AllOne { .. } | Self::Groups { .. } | Self::Pairs { .. } => {
                if self.length() == 0 {
                    return Stage::Is(true);
                }
                match self {
                    Self::AllOne { first, .. } => open(first.iter().copied().collect()),
                    _ => open(Vec::new()),
                }
            }
            Self::Sum { start, against, .. } => bounds.verdict(*start, 0, *against),
            Self::Among { at, wanted, .. } => {
                if wanted.is_empty() || at.is_empty() {
                    return Stage::Is(!wanted.is_empty());
                }
                let mut bits = vec![0; wanted.len().div_ceil(32)];
                for candidate in 0..wanted.len() {
                    bits[candidate / 32] |= 1 << (candidate % 32);
                }
                open(bits)
            }
            Self::Diagram(nodes) => open(vec![nodes.len() as u32 + 1]),
        }
    }

    /// After one more look. `None` where the machine does not know this look.
    pub(super) fn read(
        &self,
        bounds: &Bounds,
        state: &[u32],
        step: u16,
        look: LookId,
    ) -> Option<Stage> {
        let index = usize::from(step);
        let last = index + 1 >= self.length();
        let alive = |words: Vec<u32>| if last { Stage::Is(true) } else { open(words) };
        Some(match self {
            Self::Fits(at) => match at.get(index).and_then(Option::as_ref) {
                Some(looks) if looks.binary_search(&look).is_err() => Stage::Is(false),
                Some(_) | None => alive(Vec::new()),
            },
            Self::AllOne { at, key, .. } => {
                if at.get(index) != Some(&true) {
                    return Some(alive(state.to_vec()));
                }
                let key = of(key, look)?;
                if key == NO_KEY || state.first().is_some_and(|first| *first != key) {
                    Stage::Is(false)
                } else {
                    alive(vec![key])
                }
            }
            Self::Groups { at, key, there } => match at.get(index).copied().flatten() {
                None => alive(state.to_vec()),
                Some(group) => {
                    let key = of(key, look)?;
                    let there = there.get(group as usize).map_or(&[][..], Vec::as_slice);
                    if key == NO_KEY || there.binary_search(&key).is_ok() {
                        return Some(Stage::Is(false));
                    }
                    let over = !at[index + 1..].contains(&Some(group));
                    match with_key(state, group, key, over) {
                        Some(words) => alive(words),
                        None => Stage::Is(false),
                    }
                }
            },
            Self::Pairs { at, first, second } => match at.get(index).copied().flatten() {
                None => alive(state.to_vec()),
                Some(InPair {
                    pair,
                    second: is_second,
                }) => {
                    let key = of(if is_second { second } else { first }, look)?;
                    if key == NO_KEY {
                        return Some(Stage::Is(false));
                    }
                    let mut words = state.to_vec();
                    match words.chunks(2).position(|known| known[0] == pair) {
                        Some(known) if words[2 * known + 1] == key => {
                            words.drain(2 * known..2 * known + 2);
                            alive(words)
                        }
                        Some(_) => Stage::Is(false),
                        None => {
                            let place = words.chunks(2).take_while(|known| known[0] < pair).count();
                            words.splice(2 * place..2 * place, [pair, key]);
                            alive(words)
                        }
                    }
                }
            },
            Self::Sum { at, against, .. } => {
                let add = match at.get(index).and_then(Option::as_ref) {
                    Some(weights) => of(weights, look)?,
                    None => 0,
                };
                bounds.verdict(unpacked(state) + add, index + 1, *against)
            }
            Self::Among { at, key, wanted } => match at.get(index).copied().flatten() {
                None => alive(state.to_vec()),
                Some(place) => {
                    let key = of(key, look)?;
                    let mut bits = state.to_vec();
                    for (candidate, keys) in wanted.iter().enumerate() {
                        if keys[place as usize] != key {
                            bits[candidate / 32] &= !(1 << (candidate % 32));
                        }
                    }
                    if bits.iter().all(|word| *word == 0) {
                        Stage::Is(false)
                    } else {
                        alive(bits)
                    }
                }
            },
            Self::Diagram(nodes) => {
                let (asks, follows) = &nodes[state[0] as usize - 2];
                if *asks != step {
                    return Some(open(state.to_vec()));
                }
                match of(follows, look)? {
                    0 => Stage::Is(false),
                    1 => Stage::Is(true),
                    node => open(vec![node]),
                }
            }
        })
    }
}

/// The open groups after one more key: for each the group, how many keys, the keys rising. A group that is over is dropped.
/// `None` where the key was there already.
fn with_key(state: &[u32], group: u32, key: u32, over: bool) -> Option<Vec<u32>> {
    let mut words = Vec::with_capacity(state.len() + 3);
    let mut rest = state;
    let mut keys = vec![key];
    while let [known, count, tail @ ..] = rest {
        let (its, tail) = tail.split_at(*count as usize);
        if *known == group {
            if its.contains(&key) {
                return None;
            }
            keys.extend(its);
        } else {
            words.push((*known, its));
        }
        rest = tail;
    }
    keys.sort_unstable();
    if !over {
        words.push((group, &keys));
        words.sort_unstable();
    }
    let mut state = Vec::new();
    for (group, keys) in words {
        state.extend([group, keys.len() as u32]);
        state.extend(keys);
    }
    Some(state)
}
