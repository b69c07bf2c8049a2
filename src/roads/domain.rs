//! The branches of a fork on a given table, in a fixed order, and how likely each is.

use super::draw::Draw;
use crate::handling;
use crate::routine::{Fault, Fork, ForkKind, NameId, Routine, Scene, Value, Weights, World};
use crate::table::PileId;
use itertools::Itertools;

/// The branches open at a fork, on one table.
#[derive(Debug, Clone)]
pub struct Domain {
    name: NameId,
    pub(super) span: Span,
    weights: Weights,
}

/// What the branches are, with every size known.
#[derive(Debug, Clone)]
pub(super) enum Span {
    /// Numbers `from`, `from + by`, … so many.
    Numbers { from: i64, by: i64, count: u64 },
    /// These values, as they stand.
    Listed(Vec<Value>),
    /// All orders of these piles.
    Orders(Vec<PileId>),
    /// Any `k` of the places 1 to `of`.
    Subsets { of: u16, k: u16 },
    /// Interleavings.
    Weaves { left: u16, right: u16 },
    /// Ways of breaking so many cards into chunks.
    Chunks { cards: u16 },
}

/// The branches at the stop that comes next; `None` where nobody chooses.
///
/// # Errors
/// When a bound cannot be worked out, or no branch is open.
pub fn domain(routine: &Routine, world: &World) -> Result<Option<Domain>, Fault> {
    let Some(fork) = routine.stop(world.at).and_then(|stop| stop.fork.as_ref()) else {
        return Ok(None);
    };
    let span = span(routine, world, fork)?;
    let domain = Domain {
        name: fork.name,
        span,
        weights: fork.weights.clone(),
    };
    if domain.count() == 0 {
        let name = routine
            .names
            .get(fork.name.index())
            .map_or("", |n| n.name.as_str());
        return Err(Fault::Choice(format!(
            "at \u{201c}{name}\u{201d} there is nothing to choose from on this road"
        )));
    }
    Ok(Some(domain))
}

fn span(routine: &Routine, world: &World, fork: &Fork) -> Result<Span, Fault> {
    let scene = Scene { routine, world };
    let size = |pile: PileId| u16::try_from(world.table.size(pile)).unwrap_or(u16::MAX);
    Ok(match &fork.kind {
        ForkKind::Number { from, to, by } => {
            let (from, to) = (number(from.value(scene)?)?, number(to.value(scene)?)?);
            let by = i64::from(*by).max(1);
            let count = if to < from {
                0
            } else {
                (to.saturating_sub(from) / by + 1).unsigned_abs()
            };
            Span::Numbers { from, by, count }
        }
        ForkKind::Option(words) => Span::Listed(words.iter().cloned().map(Value::Text).collect()),
        ForkKind::Pile(piles) => Span::Listed(piles.iter().copied().map(Value::Pile).collect()),
        ForkKind::PileOrder(piles) => Span::Orders(piles.clone()),
        ForkKind::Place(pile) => Span::Numbers {
            from: 1,
            by: 1,
            count: u64::from(size(*pile)),
        },
        ForkKind::Card(pile) => Span::Listed(
            world
                .table
                .pile(*pile)
                .iter()
                .map(|laid| Value::Card(laid.card()))
                .collect(),
        ),
        ForkKind::Cards { pile, count } => {
            let of = size(*pile);
            let k = number(count.value(scene)?)?;
            match u16::try_from(k) {
                Ok(k) if k <= of => Span::Subsets { of, k },
                _ => {
                    return Err(Fault::Choice(format!(
                        "{k} cards cannot be chosen from a pile of {of}"
                    )));
                }
            }
        }
        ForkKind::Cut { pile, least } => {
            // Lifting none off and lifting all off change nothing: only the first is a branch, and only where the least is 0.
            let (least, size) = (i64::from(*least), i64::from(size(*pile)));
            let most = size - least.max(1);
            Span::Numbers {
                from: least,
                by: 1,
                count: u64::try_from(most - least + 1).unwrap_or(0),
            }
        }
        ForkKind::Riffle { left, right } => Span::Weaves {
            left: size(*left),
            right: size(*right),
        },
        ForkKind::Overhand(pile) => Span::Chunks { cards: size(*pile) },
        ForkKind::Again { at_most } => {
            let done = rounds_done(world, fork.name) + 1;
            let more = at_most.is_none_or(|most| done < i64::from(most));
            let mut branches = vec![Value::Bool(false)];
            if more {
                branches.push(Value::Bool(true));
            }
            Span::Listed(branches)
        }
    })
}

/// How many rounds of an "again" part were gone through before the present one.
pub(super) fn rounds_done(world: &World, name: NameId) -> i64 {
    match world.value(name) {
        Some(Value::Int(rounds)) => *rounds,
        _ => 0,
    }
}

fn number(value: Value) -> Result<i64, Fault> {
    match value {
        Value::Int(n) => Ok(n),
        other => Err(Fault::Value(format!(
            "a number is needed here, not {other:?}"
        ))),
    }
}

/// n over k, or the largest number there is.
pub(super) fn binomial(n: u128, k: u128) -> u128 {
    let k = k.min(n.saturating_sub(k));
    let mut result: u128 = 1;
    for i in 0..k {
        let Some(product) = result.checked_mul(n - i) else {
            return u128::MAX;
        };
        result = product / (i + 1);
    }
    result
}

impl Domain {
    /// Under which name the choice is remembered.
    #[must_use]
    pub fn name(&self) -> NameId {
        self.name
    }

    /// How many branches are open; counts beyond `u128` are given as its largest number.
    #[must_use]
    pub fn count(&self) -> u128 {
        match &self.span {
            Span::Numbers { count, .. } => u128::from(*count),
            Span::Listed(values) => values.len() as u128,
            Span::Orders(piles) => (1..=piles.len() as u128).fold(1, u128::saturating_mul),
            Span::Subsets { of, k } => binomial(u128::from(*of), u128::from(*k)),
            Span::Weaves { left, right } => {
                binomial(u128::from(*left) + u128::from(*right), u128::from(*left))
            }
            Span::Chunks { cards: 0 } => 1,
            Span::Chunks { cards } => 1_u128
                .checked_shl(u32::from(*cards) - 1)
                .unwrap_or(u128::MAX),
        }
    }

    /// All branches in their fixed order: numbers rising, words as written, orders and sets in lexical order,
    /// interleavings with the right part first, chunks with the smallest first.
    #[must_use]
    pub fn branches(&self) -> Box<dyn Iterator<Item = Value> + '_> {
        match &self.span {
            Span::Numbers { from, by, count } => Box::new(
                (0..*count)
                    .map(move |i| Value::Int(from + by * i64::try_from(i).unwrap_or(i64::MAX))),
            ),
            Span::Listed(values) => Box::new(values.iter().cloned()),
            Span::Orders(piles) => Box::new({
                let orders = piles.iter().copied().permutations(piles.len());
                orders.map(|order| Value::Order(order.into()))
            }),
            Span::Subsets { of, k } => {
                Box::new(subsets(*of, *k).map(|places| Value::Places(places.into())))
            }
            Span::Weaves { left, right } => Box::new(
                handling::all_weaves(*left, *right).map(|weave| Value::Weave(weave.into())),
            ),
            Span::Chunks { cards } => {
                Box::new(handling::all_chunks(*cards).map(|chunks| Value::Chunks(chunks.into())))
            }
        }
    }

    /// The first branch.
    #[must_use]
    pub fn first(&self) -> Option<Value> {
        self.branches().next()
    }

    /// The last branch, found without listing those before it.
    #[must_use]
    pub fn last(&self) -> Option<Value> {
        match &self.span {
            Span::Numbers { from, by, count } => {
                let steps = i64::try_from(count.checked_sub(1)?).ok()?;
                Some(Value::Int(from.saturating_add(by.saturating_mul(steps))))
            }
            Span::Listed(values) => values.last().cloned(),
            Span::Orders(piles) => Some(Value::Order(piles.iter().rev().copied().collect())),
            Span::Subsets { of, k } => Some(Value::Places((of - k + 1..=*of).collect())),
            Span::Weaves { left, right } => {
                let lefts = std::iter::repeat_n(true, usize::from(*left));
                Some(Value::Weave(
                    lefts
                        .chain(std::iter::repeat_n(false, usize::from(*right)))
                        .collect(),
                ))
            }
            Span::Chunks { cards: 0 } => Some(Value::Chunks([].into())),
            Span::Chunks { cards } => Some(Value::Chunks([*cards].into())),
        }
    }

    /// Whether a value is one of the branches.
    #[must_use]
    pub fn contains(&self, value: &Value) -> bool {
        match (&self.span, value) {
            (Span::Numbers { from, by, count }, Value::Int(n)) => {
                let off = n - from;
                off >= 0 && off % by == 0 && (off / by).unsigned_abs() < *count
            }
            (Span::Listed(values), value) => values.contains(value),
            (Span::Orders(piles), Value::Order(order)) => {
                let (mut a, mut b) = (piles.clone(), order.to_vec());
                a.sort_unstable();
                b.sort_unstable();
                a == b
            }
            (Span::Subsets { of, k }, Value::Places(places)) => {
                places.len() == usize::from(*k)
                    && places.windows(2).all(|w| w[0] < w[1])
                    && places.iter().all(|p| (1..=*of).contains(p))
            }
            (Span::Weaves { left, right }, Value::Weave(weave)) => {
                let from_left = weave.iter().filter(|l| **l).count();
                from_left == usize::from(*left) && weave.len() - from_left == usize::from(*right)
            }
            (Span::Chunks { cards }, Value::Chunks(chunks)) => {
                chunks.iter().all(|c| *c > 0)
                    && chunks.iter().map(|c| u32::from(*c)).sum::<u32>() == u32::from(*cards)
            }
            (
                Span::Numbers { .. }
                | Span::Orders(_)
                | Span::Subsets { .. }
                | Span::Weaves { .. }
                | Span::Chunks { .. },
                _,
            ) => false,
        }
    }

    /// The weight of each branch, in order, where branches carry weights of their own.
    fn listed_weights(&self) -> Option<Vec<u64>> {
        match &self.weights {
            Weights::Even => None,
            Weights::Listed(weights) => Some(weights.iter().map(|w| u64::from(*w)).collect()),
        }
    }

    /// The weight of each open branch, in order, where they differ; `None` where all are alike. Weights that are all 0 mean
    /// the first branch, as [`Domain::sample`] has it.
    #[must_use]
    pub fn open_weights(&self) -> Option<Vec<u64>> {
        let mut weights = self.listed_weights()?;
        let open = usize::try_from(self.count()).unwrap_or(usize::MAX);
        weights.resize(open.min(weights.len()), 0);
        if weights.iter().all(|weight| *weight == 0)
            && let Some(first) = weights.first_mut()
        {
            *first = 1;
        }
        Some(weights)
    }

    /// How likely a branch is, compared with the others of this fork: 0 where it is not open.
    #[must_use]
    pub fn weight(&self, value: &Value) -> u64 {
        if !self.contains(value) {
            return 0;
        }
        match self.listed_weights() {
            None => 1,
            Some(weights) => self
                .branches()
                .position(|b| b == *value)
                .and_then(|i| weights.get(i).copied())
                .unwrap_or(0),
        }
    }

    /// Draws a branch. Even weights: every branch alike; for an interleaving this is the Gilbert–Shannon–Reeds riffle given
    /// where it was cut (Bayer & Diaconis 1992): the next card comes from a part with the odds of the cards still in it.
    /// Chunks break after each card by the toss of a coin.
    #[must_use]
    pub fn sample(&self, draw: &mut Draw) -> Value {
        if let Some(weights) = self.listed_weights() {
            let open = usize::try_from(self.count())
                .unwrap_or(usize::MAX)
                .min(weights.len());
            let index = draw.weighted(&weights[..open]);
            if let Some(value) = self.branches().nth(index) {
                return value;
            }
        }
        match &self.span {
            Span::Numbers { from, by, count } => {
                Value::Int(from + by * i64::try_from(draw.below(*count)).unwrap_or(0))
            }
            Span::Listed(values) => {
                let index = usize::try_from(draw.below(values.len() as u64)).unwrap_or(0);
                values.get(index).cloned().unwrap_or(Value::Bool(false))
            }
            Span::Orders(piles) => {
                let mut order = piles.clone();
                draw.shuffle(&mut order);
                Value::Order(order.into())
            }
            Span::Subsets { of, k } => {
                let mut wanted = u64::from(*k);
                let mut places = Vec::with_capacity(usize::from(*k));
                for place in 1..=*of {
                    if draw.below(u64::from(of - place) + 1) < wanted {
                        wanted -= 1;
                        places.push(place);
                    }
                }
                Value::Places(places.into())
            }
            Span::Weaves { left, right } => {
                let (mut l, mut r) = (u64::from(*left), u64::from(*right));
                let mut weave = Vec::with_capacity(usize::from(left + right));
                while l + r > 0 {
                    let from_left = draw.below(l + r) < l;
                    weave.push(from_left);
                    if from_left { l -= 1 } else { r -= 1 }
                }
                Value::Weave(weave.into())
            }
            Span::Chunks { cards } => {
                let mut chunks = Vec::new();
                let mut here = 0;
                for left in (0..*cards).rev() {
                    here += 1;
                    if left == 0 || draw.below(2) == 1 {
                        chunks.push(here);
                        here = 0;
                    }
                }
                Value::Chunks(chunks.into())
            }
        }
    }
}

/// All sets of `k` of the places 1 to `n`, in lexical order.
fn subsets(n: u16, k: u16) -> impl Iterator<Item = Vec<u16>> {
    let mut next: Option<Vec<u16>> = (k <= n).then(|| (1..=k).collect());
    std::iter::from_fn(move || {
        let now = next.take()?;
        let mut following = now.clone();
        let free = |i: &usize| usize::from(now[*i]) + now.len() - i <= usize::from(n);
        // The last place that can still move up does, and those after it follow close behind.
        if let Some(i) = (0..now.len()).rev().find(free) {
            following[i] += 1;
            for j in i + 1..following.len() {
                following[j] = following[j - 1] + 1;
            }
            next = Some(following);
        }
        Some(now)
    })
}
