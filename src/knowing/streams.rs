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
//! out for a pair once holds for all paths that come by it, and for all starts. Counting adds over branches, each path once.

use super::monitor::{Ask, FALSE, Monitor, MonitorState, Monitors, TRUE};
use super::stream::{Followable, Graph, LookId, StreamState};
use crate::cards::Card;
use crate::handling::{self, Chooser, Op, Program};
use crate::routine::{ClaimKind, Expr, Routine, Value, World};
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

/// All streams and monitors so far, and what was found out about them.
#[derive(Debug, Clone, Default)]
pub struct Streams {
    graph: Graph,
    monitors: Monitors,
    /// By start, the looks it lays, rising by number, with how many of each; none where that is open.
    lays: FxHashMap<StreamState, Vec<(LookId, Option<u16>)>>,
    can: [FxHashMap<(StreamState, MonitorState), bool>; 2],
    ways: [FxHashMap<(StreamState, MonitorState), BigUint>; 2],
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
        let single: Vec<Card> = lays
            .iter()
            .filter(|(_, count)| *count == Some(1))
            .map(|(id, _)| self.graph.look(*id).card())
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

    /// The monitor after what a branch lays.
    fn after(
        &mut self,
        from: StreamState,
        branch: usize,
        mut monitor: MonitorState,
        length: u16,
    ) -> Result<MonitorState, Halt> {
        let branch = self.graph.ways(from)[branch];
        let first = length - self.graph.rest(from);
        for (step, look) in (first..).zip(self.graph.laid_by(&branch)) {
            if monitor <= TRUE {
                break;
            }
            monitor = self
                .monitors
                .read(monitor, step, *look)
                .ok_or(Halt::Unfit)?;
        }
        Ok(monitor)
    }

    /// Whether there is an outcome on which the monitor comes to this verdict. `stop` is asked now and then, with the number of pairs of
    /// states visited so far.
    ///
    /// # Errors
    /// [`Halt::Stopped`] when told to, [`Halt::Unfit`] when the monitor was made for another stream.
    pub fn can_end(
        &mut self,
        start: StreamState,
        monitor: Monitor,
        want: bool,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<bool, Halt> {
        let first = self.monitors.start(monitor);
        self.can_end_from(start, first, want, self.graph.rest(start), stop)
    }

    fn can_end_from(
        &mut self,
        start: StreamState,
        monitor: MonitorState,
        want: bool,
        length: u16,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<bool, Halt> {
        if let Some(known) = self.known(start, monitor, want)? {
            return Ok(known);
        }
        let mut road = vec![(start, monitor, 0)];
        self.count_visit(stop)?;
        while let Some((state, monitor, branch)) = road.last_mut() {
            let (from, before, at) = (*state, *monitor, *branch);
            if at == self.graph.ways(from).len() {
                self.can[usize::from(want)].insert((from, before), false);
                road.pop();
                continue;
            }
            *branch += 1;
            let next = self.graph.ways(from)[at].next;
            let after = self.after(from, at, before, length)?;
            match self.known(next, after, want)? {
                Some(true) => {
                    let can = &mut self.can[usize::from(want)];
                    can.extend(
                        road.iter()
                            .map(|(state, monitor, _)| ((*state, *monitor), true)),
                    );
                    return Ok(true);
                }
                Some(false) => {}
                None => {
                    road.push((next, after, 0));
                    self.count_visit(stop)?;
                }
            }
        }
        Ok(false)
    }

    fn known(
        &self,
        state: StreamState,
        monitor: MonitorState,
        want: bool,
    ) -> Result<Option<bool>, Halt> {
        match monitor {
            FALSE | TRUE => Ok(Some((monitor == TRUE) == want)),
            // After the last card every monitor is decided, if it was made for this stream.
            _ if self.graph.rest(state) == 0 => Err(Halt::Unfit),
            _ => Ok(self.can[usize::from(want)].get(&(state, monitor)).copied()),
        }
    }

    fn count_visit(&mut self, stop: &mut dyn FnMut(u64) -> bool) -> Result<(), Halt> {
        self.visited += 1;
        if self.visited.is_multiple_of(1024) && stop(self.visited) {
            return Err(Halt::Stopped);
        }
        Ok(())
    }

    /// How many choice sequences there are from a start.
    pub fn total(&mut self, start: StreamState) -> BigUint {
        let mut open = vec![start];
        while let Some(state) = open.last().copied() {
            let ways = self.graph.ways(state);
            let missing = ways
                .iter()
                .map(|way| way.next)
                .find(|next| !self.totals.contains_key(next));
            if let Some(next) = missing {
                open.push(next);
                continue;
            }
            open.pop();
            let total = if ways.is_empty() {
                BigUint::from(1_u8)
            } else {
                ways.iter()
                    .filter_map(|way| self.totals.get(&way.next))
                    .sum()
            };
            self.totals.insert(state, total);
        }
        self.totals.get(&start).cloned().unwrap_or_default()
    }

    /// How many choice sequences bring the monitor to this verdict.
    ///
    /// # Errors
    /// As [`Streams::can_end`].
    pub fn count(
        &mut self,
        start: StreamState,
        monitor: Monitor,
        want: bool,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<BigUint, Halt> {
        let length = self.graph.rest(start);
        let first = self.monitors.start(monitor);
        if let Some(known) = self.counted(start, first, want)? {
            return Ok(known);
        }
        let mut road = vec![(start, first, 0, BigUint::default())];
        self.count_visit(stop)?;
        while let Some((state, monitor, branch, sum)) = road.last_mut() {
            let (from, before, at) = (*state, *monitor, *branch);
            if at == self.graph.ways(from).len() {
                let sum = std::mem::take(sum);
                self.ways[usize::from(want)].insert((from, before), sum);
                road.pop();
                continue;
            }
            let next = self.graph.ways(from)[at].next;
            let after = self.after(from, at, before, length)?;
            if let Some(ways) = self.counted(next, after, want)? {
                *sum += ways;
                *branch += 1;
            } else {
                road.push((next, after, 0, BigUint::default()));
                self.count_visit(stop)?;
            }
        }
        Ok(self.counted(start, first, want)?.unwrap_or_default())
    }

    fn counted(
        &mut self,
        state: StreamState,
        monitor: MonitorState,
        want: bool,
    ) -> Result<Option<BigUint>, Halt> {
        match monitor {
            FALSE | TRUE if (monitor == TRUE) == want => Ok(Some(self.total(state))),
            FALSE | TRUE => Ok(Some(BigUint::default())),
            _ if self.graph.rest(state) == 0 => Err(Halt::Unfit),
            _ => Ok(self.ways[usize::from(want)].get(&(state, monitor)).cloned()),
        }
    }

    /// The choices of the first outcome, in the order of the branches, on which the monitor comes to this verdict; for a shuffle 1 is
    /// "from the left" or "here", for any table the number of the look in [`Streams::looks`].
    ///
    /// # Errors
    /// As [`Streams::can_end`].
    pub fn first(
        &mut self,
        start: StreamState,
        monitor: Monitor,
        want: bool,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<Option<Outcome>, Halt> {
        let length = self.graph.rest(start);
        let mut state = start;
        let mut monitor = self.monitors.start(monitor);
        if !self.can_end_from(state, monitor, want, length, stop)? {
            return Ok(None);
        }
        let mut outcome = Outcome::default();
        while !self.graph.ways(state).is_empty() {
            let mut on = None;
            for at in 0..self.graph.ways(state).len() {
                let next = self.graph.ways(state)[at].next;
                let after = self.after(state, at, monitor, length)?;
                if self.can_end_from(next, after, want, length, stop)? {
                    on = Some((at, after));
                    break;
                }
            }
            let Some((at, after)) = on else {
                return Err(Halt::Unfit);
            };
            let branch = self.graph.ways(state)[at];
            outcome.choices.extend(branch.choice);
            let looks = self.graph.laid_by(&branch);
            outcome
                .looks
                .extend(looks.iter().map(|look| self.graph.look(*look)));
            (state, monitor) = (branch.next, after);
        }
        Ok(Some(outcome))
    }

    /// The looks that a token can have where the monitor of what is given comes to "true".
    ///
    /// # Errors
    /// As [`Streams::can_end`].
    pub fn looks_at(
        &mut self,
        start: StreamState,
        given: Monitor,
        token: u16,
        stop: &mut dyn FnMut(u64) -> bool,
    ) -> Result<Vec<Laid>, Halt> {
        let mut found = Vec::new();
        for look in self.looks(start) {
            let Some(is) = self.fixed(start, token, &[look]) else {
                continue;
            };
            let both = self.all(&[(given, true), (is, true)]);
            if self.can_end(start, both, true, stop)? {
                found.push(look);
            }
        }
        Ok(found)
    }
}

/// One outcome of a stream.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Outcome {
    /// The choices in order.
    pub choices: Vec<u16>,
    /// The look of each token.
    pub looks: Vec<Laid>,
}

impl Outcome {
    /// The choices as the value of the shuffle's fork: an interleaving or chunks. `None` where they do not fit the program.
    #[must_use]
    pub fn value(&self, program: &Program, world: &World) -> Option<Value> {
        let mut chooser = Told {
            choices: self.choices.iter().map(|choice| *choice == 1).collect(),
            used: 0,
            told: Vec::new(),
        };
        let mut table = world.table.clone();
        handling::run(program, &mut table, &mut chooser).ok()?;
        if chooser.used != chooser.choices.len() {
            return None;
        }
        let breaks = program.ops.iter().any(|op| matches!(op, Op::Maybe { .. }));
        if !breaks {
            return Some(Value::Weave(chooser.told.into()));
        }
        let chunks = chooser.told.split_inclusive(|here| *here);
        let sizes = chunks.map(|chunk| u16::try_from(chunk.len()).ok());
        Some(Value::Chunks(sizes.collect::<Option<Vec<_>>>()?.into()))
    }
}

/// Chooses as told, and notes every point that was passed.
struct Told {
    choices: Vec<bool>,
    used: usize,
    told: Vec<bool>,
}

impl Told {
    fn next(&mut self) -> bool {
        let choice = self.choices.get(self.used).copied().unwrap_or(false);
        self.used += 1;
        self.told.push(choice);
        choice
    }
}

impl Chooser for Told {
    fn from_left(&mut self, _: usize, _: usize) -> bool {
        self.next()
    }
    fn here(&mut self, _: usize) -> bool {
        self.next()
    }
    fn forced(&mut self, taken: bool) {
        self.told.push(taken);
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

/// Whether working an expression out on a world with tokens gives what it would give on each outcome, or a fault: it must not look at
/// which card a card is.
#[must_use]
pub fn is_plain_with_tokens(expr: &Expr, world: &World) -> bool {
    !expr.part().looks_at_identity(world)
}

#[cfg(test)]
#[path = "streams_tests.rs"]
mod tests;
