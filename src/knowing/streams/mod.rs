//! Free shuffles followed a card at a time, with no more than a claim needs to remember.
//!
//! After a free shuffle the packet is not listed in all its orders. It gets *tokens*: card numbers of their own whose faces nothing has
//! fixed. Later moves carry them about as they carry cards, and a claim becomes a question: is there an outcome of the shuffle on which
//! it ends so? [`Streams::can_end`] answers by running the shuffle's program card by card (the state: what is still to come) together
//! with the claim's [`Monitor`] (the state: what it remembers), each pair of states once.
//!
//! **Why this is right.** Every outcome is a path through the stream that spells the looks of the tokens in order, and every path is
//! an outcome (see [`super::stream`]). The monitor's verdict at its end is the claim's on the table where each token has
//! its look (see [`super::monitor`]). What can follow from a pair of states does not depend on how it was reached, so what is found
//! out for a pair once holds for all paths that come by it, and for all starts of the same length. Counting adds over branches, each path once.

mod asking;
mod distinct;
mod induction;
mod outcome;
mod plain;

pub use outcome::Outcome;
pub use plain::{is_plain_with_tokens, step_is_plain_with_tokens, step_looks_at_facing};

use super::monitor::{Ask, Monitor, MonitorState, Monitors};
use super::stream::{Followable, Graph, LookId, StreamState};
use crate::cards::Card;
use crate::handling::Program;
use crate::routine::{ClaimKind, Routine, World};
use crate::table::Laid;
use num_bigint::BigUint;
use rustc_hash::FxHashMap;

/// Why a question was not answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Halt {
    /// Whoever asked said to stop.
    #[error("stopped")]
    Stopped,
    /// The monitor was made for other looks than the stream lays.
    #[error("this monitor was not made for this stream")]
    Unfit,
}

/// The cards that a shuffle laid, in the order in which it laid them: token `i` is card `base + i`.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Tokens {
    /// The card number of the first.
    pub base: u16,
    /// How many.
    pub count: u16,
}

impl Tokens {
    /// The card that stands for a token.
    #[must_use]
    pub fn card(&self, token: u16) -> Card {
        Card(self.base.saturating_add(token))
    }
    /// Which token a card is.
    #[must_use]
    pub fn token(&self, card: Card) -> Option<u16> {
        card.0
            .checked_sub(self.base)
            .filter(|token| *token < self.count)
    }
}

/// A shuffle followed.
#[derive(Debug, Clone)]
pub struct Followed {
    /// What may come.
    pub start: StreamState,
    /// The tokens.
    pub tokens: Tokens,
    /// The world after the shuffle: the tokens lie where it laid them, and their faces are not fixed. Moves may be made on it.
    ///
    /// An expression worked out on it is right, or a fault, if [`is_plain_with_tokens`] says so. On any fault the shuffle must be
    /// listed instead.
    pub world: World,
}

/// A claim on a world with tokens.
#[derive(Debug, Clone, Copy)]
pub struct Claimed<'a> {
    /// The routine.
    pub routine: &'a Routine,
    /// The world as the claim finds it.
    pub world: &'a World,
    /// The same where every token was laid face up instead of face down, for streams whose cards may face either way.
    pub turned: Option<&'a World>,
    /// The claim.
    pub claim: &'a ClaimKind,
}

/// A state of a stream and one of a monitor, and how many cards the whole stream lays: monitors go by the number of the step, and streams
/// of different lengths run into the same states at different steps.
type Pair = (StreamState, MonitorState, u16);

/// All streams and monitors so far, and what was found out about them.
#[derive(Debug, Clone, Default)]
pub struct Streams {
    graph: Graph,
    monitors: Monitors,
    /// By start, the looks it lays, rising by number, with how many of each; none where that is open.
    lays: FxHashMap<StreamState, Vec<(LookId, Option<u16>)>>,
    can: [FxHashMap<Pair, bool>; 2],
    ways: [FxHashMap<Pair, BigUint>; 2],
    totals: FxHashMap<StreamState, BigUint>,
    visited: u64,
}

impl Streams {
    /// Follows the free program of a shuffle. `None` where that cannot be done: the program has no choices or is of another shape, the
    /// cards face different ways, or a card's face is not fixed or is another card's.
    pub fn follow(
        &mut self,
        routine: &Routine,
        program: &Program,
        world: &World,
    ) -> Option<Followed> {
        if !program.is_free() {
            return None;
        }
        let free = Followable::new(program)?;
        let mut sources: Vec<Laid> = free.sources(&world.table).collect();
        let facing = sources.first().is_some_and(|laid| laid.face_up());
        let plain = |laid: &Laid| {
            laid.face_up() == facing && world.face_of(laid.card()) == Some(laid.card())
        };
        if !sources.iter().all(plain) {
            return None;
        }
        let start = free.start(&mut self.graph, &world.table, |laid| laid)?;
        let base = u16::try_from(routine.pack.size().max(world.faces.len())).ok()?;
        let count = self.graph.rest(start);
        let tokens = Tokens { base, count };
        if usize::from(count) != sources.len() || base.checked_add(count)? >= 1 << 15 {
            return None;
        }
        let laid = (0..count).map(|token| Laid::new(tokens.card(token), facing));
        let mut after = world.clone();
        after.table = free.after(world, laid)?;
        unfix(&mut after, &tokens);
        sources.sort_unstable();
        let mut lays: Vec<(LookId, Option<u16>)> = Vec::new();
        for same in sources.chunk_by(|a, b| a == b) {
            let count = u16::try_from(same.len()).ok()?;
            lays.push((self.graph.known_look(same[0])?, Some(count)));
        }
        lays.sort_unstable();
        self.lays.insert(start, lays);
        Some(Followed {
            start,
            tokens,
            world: after,
        })
    }

    /// Any table whatever: `count` cards, each of any of these looks, whatever the others are.
    pub fn any_of(&mut self, looks: &[Laid], count: u16) -> StreamState {
        let mut ids: Vec<LookId> = looks.iter().map(|look| self.graph.look_id(*look)).collect();
        ids.sort_unstable();
        ids.dedup();
        let start = self.graph.any_of(&ids, count);
        self.lays
            .insert(start, ids.iter().map(|id| (*id, None)).collect());
        start
    }

    /// Any order of these cards. `None` where there are too many states.
    pub fn any_order(&mut self, cards: &[Laid]) -> Option<StreamState> {
        let mut ids: Vec<LookId> = cards.iter().map(|look| self.graph.look_id(*look)).collect();
        ids.sort_unstable();
        let mut counts: Vec<(LookId, u16)> = Vec::new();
        for same in ids.chunk_by(|a, b| a == b) {
            counts.push((same[0], u16::try_from(same.len()).ok()?));
        }
        let start = self.graph.any_order(&counts)?;
        let lays = counts
            .iter()
            .map(|(id, count)| (*id, Some(*count)))
            .collect();
        self.lays.insert(start, lays);
        Some(start)
    }

    /// The looks that a start can lay.
    #[must_use]
    pub fn looks(&self, start: StreamState) -> Vec<Laid> {
        let lays = self.lays.get(&start).map_or(&[][..], Vec::as_slice);
        lays.iter().map(|(id, _)| self.graph.look(*id)).collect()
    }

    /// The monitor of a claim, for the tokens of a start. `None` where the claim cannot be followed; list the outcomes then.
    pub fn monitor(
        &mut self,
        start: StreamState,
        tokens: &Tokens,
        claimed: Claimed<'_>,
    ) -> Option<Monitor> {
        let steps: Vec<u16> = (0..tokens.count).collect();
        self.monitor_in_order(start, tokens, &steps, claimed)
    }

    /// The same where token `i` is read at step `steps[i]`: any order will do for a stream whose cells do not hang together.
    pub fn monitor_in_order(
        &mut self,
        start: StreamState,
        tokens: &Tokens,
        steps: &[u16],
        claimed: Claimed<'_>,
    ) -> Option<Monitor> {
        let lays = self.lays.get(&start)?;
        let looks: Vec<(LookId, Laid)> = lays
            .iter()
            .map(|(id, _)| (*id, self.graph.look(*id)))
            .collect();
        let card = |id: LookId| self.graph.look(id).card();
        let single: Vec<Card> = lays
            .iter()
            .filter(|(id, count)| {
                let alike = lays.iter().filter(|(other, _)| card(*other) == card(*id));
                *count == Some(1) && alike.count() == 1
            })
            .map(|(id, _)| card(*id))
            .collect();
        let mut ask = Ask {
            routine: claimed.routine,
            world: claimed.world,
            other: claimed.turned,
            base: tokens.base,
            steps,
            looks: &looks,
            single: &single,
            monitors: &mut self.monitors,
        };
        let tree = ask.claim(claimed.claim)?;
        Some(self.monitors.monitor(tree))
    }

    /// The monitor that is content with anything.
    pub fn anything(&mut self) -> Monitor {
        self.monitors.all(&[])
    }

    /// The monitor that a token has one of these looks. `None` where none of them is ever laid.
    pub fn fixed(&mut self, start: StreamState, token: u16, looks: &[Laid]) -> Option<Monitor> {
        let known = self.lays.get(&start)?;
        let ids = looks.iter().filter_map(|look| self.graph.known_look(*look));
        let mut ids: Vec<LookId> = ids
            .filter(|id| known.iter().any(|(known, _)| known == id))
            .collect();
        ids.sort_unstable();
        ids.dedup();
        (!ids.is_empty()).then(|| self.monitors.fixed(token, &ids))
    }

    /// The monitor of all these at once, each with the verdict that it must come to.
    pub fn all(&mut self, parts: &[(Monitor, bool)]) -> Monitor {
        self.monitors.all(parts)
    }

    /// How many pairs of states were visited so far.
    #[must_use]
    pub fn visited(&self) -> u64 {
        self.visited
    }
    /// How many states of streams there are.
    #[must_use]
    pub fn states(&self) -> usize {
        self.graph.size()
    }
    /// How many states of monitors there are.
    #[must_use]
    pub fn monitor_states(&self) -> usize {
        self.monitors.size()
    }
}

/// Gives a world room for tokens, whose faces nothing has fixed.
fn unfix(world: &mut World, tokens: &Tokens) {
    if world.faces.is_empty() {
        world.faces = (0..tokens.base).map(|n| Some(Card(n))).collect();
    }
    world.faces.resize(usize::from(tokens.base), None);
    world
        .faces
        .resize(usize::from(tokens.base) + usize::from(tokens.count), None);
}

/// The world with every card on the table replaced by a token, pile by pile from the top: once with all tokens face down, once with
/// all face up. For what is to hold of any table whatever ([`Streams::any_of`]).
#[must_use]
pub fn all_tokens(routine: &Routine, world: &World) -> Option<(World, World, Tokens)> {
    let base = u16::try_from(routine.pack.size().max(world.faces.len())).ok()?;
    let cards: usize = world.table.piles().map(|(_, pile)| pile.len()).sum();
    let tokens = Tokens {
        base,
        count: u16::try_from(cards).ok()?,
    };
    if base.checked_add(tokens.count)? >= 1 << 15 {
        return None;
    }
    let mut down = world.clone();
    unfix(&mut down, &tokens);
    let mut up = down.clone();
    let piles: Vec<_> = world
        .table
        .piles()
        .map(|(pile, cards)| (pile, cards.len()))
        .collect();
    for (laid, facing) in [(&mut down, false), (&mut up, true)] {
        let mut token = 0;
        for (pile, count) in &piles {
            for place in 0..*count {
                laid.table.pile_mut(*pile)[place] = Laid::new(tokens.card(token), facing);
                token += 1;
            }
        }
    }
    Some((down, up, tokens))
}

#[cfg(test)]
mod tests;
