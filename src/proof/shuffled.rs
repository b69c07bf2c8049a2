//! Packets that were shuffled freely: followed with [`Streams`], never listed where that can be helped.
//!
//! A state after a followed shuffle holds tokens, and its core says where they came from. What is fixed of a token is kept among the
//! faces of the core; claims that are taken to hold already are kept as what is *given*. Both together are what the outcome of
//! the shuffle is known to satisfy.

use super::expand::Expander;
use super::explore::Broken;
use super::state::Core;
use super::watch::{following, reachable};
use crate::cards::Card;
use crate::handling::{self, Move, Program};
use crate::knowing::{
    Claimed, Halt, Monitor, Outcome, StreamState, Streams, Tokens, is_plain_with_tokens,
};
use crate::roads::{Shuffler, domain, pass_free};
use crate::routine::{
    ClaimKind, Fault, ForkKind, NameId, Routine, Stop, StopIndex, Value, Weights, World,
};
use crate::table::PileId;
use num_bigint::BigUint;

/// Where the tokens of a state came from.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Origin {
    /// What may have come.
    pub(super) start: StreamState,
    /// The cards that stand for what came.
    pub(super) tokens: Tokens,
    /// Whether it is any table whatever, as induction has it: more than can really come, and facing either way.
    pub(super) anything: bool,
}

/// A state that the streams cannot say anything about: the shuffle must be listed instead, or the budget ran out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lost {
    /// Not to be followed.
    Unfollowable,
    /// Induction cannot tell: every state must be visited.
    NotInductive,
    /// Out of budget.
    Stopped,
}

impl From<Halt> for Lost {
    fn from(halt: Halt) -> Self {
        match halt {
            Halt::Stopped => Self::Stopped,
            Halt::Unfit => Self::Unfollowable,
        }
    }
}

/// Everything known of followed shuffles.
#[derive(Debug, Default)]
pub(super) struct Shuffles {
    pub(super) streams: Streams,
    origins: Vec<Origin>,
    /// By stop: whether it is a free shuffle.
    shuffles: Vec<bool>,
    /// By stop: whether its shuffle is followed. Only the last shuffle of a road can be: tokens are not shuffled again.
    followed: Vec<bool>,
}

/// More beginnings than this are not kept apart where a shuffle is listed.
const MOST_OUTCOMES: usize = 1_000_000;

impl Shuffles {
    /// Which shuffles are followed: those after which no other shuffle can come, all or none; where outcomes carry weights of their
    /// own, they are listed.
    pub(super) fn new(routine: &Routine, follow: bool) -> Self {
        let shuffles: Vec<bool> = routine
            .stops
            .iter()
            .map(|stop| {
                stop.fork.as_ref().is_some_and(|fork| {
                    matches!(fork.kind, ForkKind::Riffle { .. } | ForkKind::Overhand(_))
                })
            })
            .collect();
        let last = |n: usize| {
            let next = routine.stops.get(n).map(|stop| following(routine, stop).0);
            let mut later = next
                .into_iter()
                .flatten()
                .flat_map(|at| reachable(routine, at.index()));
            !later.any(|later| shuffles[later])
        };
        let even = |stop: &Stop| {
            let fork = stop.fork.as_ref();
            fork.is_some_and(|fork| fork.weights == Weights::Even)
        };
        let followed = (0..shuffles.len())
            .map(|n| follow && shuffles[n] && even(&routine.stops[n]) && last(n))
            .collect();
        Self {
            streams: Streams::default(),
            origins: Vec::new(),
            shuffles,
            followed,
        }
    }

    /// The shuffles of this stop and of all after it are listed.
    pub(super) fn list_from(&mut self, stop: StopIndex) {
        self.followed
            .iter_mut()
            .skip(stop.index())
            .for_each(|followed| *followed = false);
    }

    /// The number of an origin, from 1.
    pub(super) fn number(&mut self, origin: Origin) -> u32 {
        let known = self.origins.iter().position(|known| *known == origin);
        let index = known.unwrap_or_else(|| {
            self.origins.push(origin);
            self.origins.len() - 1
        });
        u32::try_from(index + 1).unwrap_or(u32::MAX)
    }

    /// The origin with this number; 0 is none.
    pub(super) fn origin(&self, number: u32) -> Option<&Origin> {
        self.origins.get((number as usize).checked_sub(1)?)
    }

    /// Whether this stop is a free shuffle.
    pub(super) fn is_shuffle(&self, stop: StopIndex) -> bool {
        self.shuffles.get(stop.index()).copied().unwrap_or(false)
    }

    /// Whether the shuffle of this stop is followed.
    pub(super) fn follows(&self, stop: StopIndex) -> bool {
        self.followed.get(stop.index()).copied().unwrap_or(false)
    }
}

/// Does a shuffle by following it, and keeps what it followed.
struct Following<'a> {
    streams: &'a mut Streams,
    origin: Option<Origin>,
    /// Whether it could not be followed, or came twice.
    lost: bool,
}

impl Shuffler for Following<'_> {
    fn shuffle(
        &mut self,
        routine: &Routine,
        world: &mut World,
        mv: &Move,
        _: NameId,
    ) -> Result<(), Fault> {
        let program = handling::program(mv, &world.table)?;
        match self.streams.follow(routine, &program, world) {
            Some(followed) if self.origin.is_none() => {
                *world = followed.world;
                self.origin = Some(Origin {
                    start: followed.start,
                    tokens: followed.tokens,
                    anything: false,
                });
            }
            Some(_) | None => self.lost = true,
        }
        Ok(())
    }
}

/// Does a shuffle as chosen, and keeps its program and the world before it.
pub(super) struct Watching {
    /// The program, and the world it was done on.
    pub(super) seen: Option<(Program, World)>,
}

impl Shuffler for Watching {
    fn shuffle(
        &mut self,
        _: &Routine,
        world: &mut World,
        mv: &Move,
        _: NameId,
    ) -> Result<(), Fault> {
        let program = handling::program(mv, &world.table)?;
        self.seen = Some((program, world.clone()));
        Ok(())
    }
}

/// The choice that makes a shuffle come out so, at the stop that comes next.
pub(super) fn choice_of(routine: &Routine, world: &World, outcome: &Outcome) -> Option<Value> {
    let mut watching = Watching { seen: None };
    // What follows the shuffle at this stop may not fit a table that was not shuffled; only the shuffle is of interest.
    drop(pass_free(routine, world, &mut watching));
    let (program, before) = watching.seen?;
    outcome.value(&program, &before)
}

/// The same world with every token the other way up.
fn turned(world: &World, tokens: &Tokens) -> World {
    let mut turned = world.clone();
    for n in 0..turned.table.count() {
        let pile = PileId(u8::try_from(n).unwrap_or(u8::MAX));
        for laid in turned.table.pile_mut(pile).iter_mut() {
            if tokens.token(laid.card()).is_some() {
                *laid = laid.turned();
            }
        }
    }
    turned
}

impl Expander<'_> {
    /// The world after the shuffle of the stop that comes next, followed; `None` where it must be listed.
    pub(super) fn shuffled(&mut self, world: &World) -> Option<(World, u32)> {
        let mut following = Following {
            streams: &mut self.shuffles.streams,
            origin: None,
            lost: false,
        };
        let next = pass_free(self.routine, world, &mut following);
        let (origin, lost) = (following.origin, following.lost);
        match (next, origin) {
            (Ok(next), Some(origin)) if !lost && self.is_plain(&next, world.at) => {
                let origin = self.shuffles.number(origin);
                Some((next, origin))
            }
            _ => None,
        }
    }

    /// The shuffle of the stop that comes next, by what it can lay down: for each different packet the number of the smallest choice
    /// that gives it, that choice, how many choices give it, and how many choices there are. `None` where nobody shuffles, where
    /// choices are not alike or something looks at them, or where there are too many.
    pub(super) fn listed(&mut self, world: &World) -> Option<Vec<(u64, Value, u64, u64)>> {
        self.listed_up_to(world, MOST_OUTCOMES)
    }

    /// The same with a limit of one's own.
    pub(super) fn listed_up_to(
        &mut self,
        world: &World,
        most: usize,
    ) -> Option<Vec<(u64, Value, u64, u64)>> {
        if !self.shuffles.is_shuffle(world.at) {
            return None;
        }
        let stop = self.routine.stop(world.at)?;
        let fork = stop.fork.as_ref()?;
        let mut looked_at = !matches!(fork.weights, Weights::Even);
        stop.each_expr(&mut |expr| looked_at |= expr.reads().names.contains(&fork.name));
        if looked_at {
            return None;
        }
        let open = domain(self.routine, world).ok()??;
        let all = u64::try_from(open.count()).ok()?;
        let mut watching = Watching { seen: None };
        drop(pass_free(self.routine, world, &mut watching));
        let (program, before) = watching.seen?;
        let streams = &mut self.shuffles.streams;
        let start = streams.spread(&program, &before.table)?;
        let mut listed = Vec::new();
        for (outcome, count) in streams.outcomes(start, most)? {
            let choice = outcome.value(&program, &before)?;
            let rank = u64::try_from(open.rank(&choice)?).ok()?;
            listed.push((rank, choice, u64::try_from(count).ok()?, all));
        }
        listed.sort_unstable_by_key(|(rank, ..)| *rank);
        Some(listed)
    }

    /// Whether every expression of a stop can be worked out on a world with tokens.
    pub(super) fn is_plain(&self, world: &World, stop: StopIndex) -> bool {
        let mut plain = true;
        if let Some(stop) = self.routine.stop(stop) {
            plain &= !stop
                .fork
                .as_ref()
                .is_some_and(|f| matches!(f.kind, ForkKind::Card(_)));
            stop.each_expr(&mut |expr| plain &= is_plain_with_tokens(expr, world));
        }
        let whens = self.routine.endings.iter().filter_map(|e| e.when.as_ref());
        plain
            && whens
                .into_iter()
                .all(|when| is_plain_with_tokens(when, world))
    }

    /// What is known of the outcome of the shuffle in states of this core.
    pub(super) fn given(&mut self, core: &Core) -> Result<Option<(Origin, Monitor)>, Lost> {
        let Some(origin) = self.shuffles.origin(core.origin).cloned() else {
            return Ok(None);
        };
        let streams = &mut self.shuffles.streams;
        let mut parts: Vec<(Monitor, bool)> = core.given.clone();
        for token in 0..origin.tokens.count {
            let card = origin.tokens.card(token);
            if let Some(print) = core.faces.get(card.index()).copied().flatten() {
                let looks: Vec<_> = streams
                    .looks(origin.start)
                    .into_iter()
                    .filter(|l| l.card() == print)
                    .collect();
                let fixed = streams
                    .fixed(origin.start, token, &looks)
                    .ok_or(Lost::Unfollowable)?;
                parts.push((fixed, true));
            }
        }
        let given = if parts.is_empty() {
            streams.anything()
        } else {
            streams.all(&parts)
        };
        Ok(Some((origin, given)))
    }

    /// The monitor of a claim on a world with tokens.
    pub(super) fn monitor(
        &mut self,
        origin: &Origin,
        world: &World,
        claim: &ClaimKind,
    ) -> Result<Monitor, Lost> {
        let turned = origin.anything.then(|| turned(world, &origin.tokens));
        let claimed = Claimed {
            routine: self.routine,
            world,
            turned: turned.as_ref(),
            claim,
        };
        self.shuffles
            .streams
            .monitor(origin.start, &origin.tokens, claimed)
            .ok_or(Lost::Unfollowable)
    }

    /// Whether an outcome of the shuffle breaks the claim, under what is given.
    pub(super) fn can_break(
        &mut self,
        origin: &Origin,
        given: Monitor,
        claim: Monitor,
    ) -> Result<bool, Lost> {
        let limits = self.limits;
        let streams = &mut self.shuffles.streams;
        let both = streams.all(&[(given, true), (claim, false)]);
        Ok(streams.can_end(origin.start, both, true, &mut |_| (limits.stop)())?)
    }

    /// The claims of the stop just done that some outcome of the shuffle breaks, one bit each.
    pub(super) fn breakable(&mut self, core: &Core, world: &World) -> Result<Broken, Lost> {
        let Some((origin, given)) = self.given(core)? else {
            return Ok(0);
        };
        let Some(stop) = core.done.and_then(|done| self.routine.stop(done)) else {
            return Ok(0);
        };
        let mut broken = 0;
        for (n, claim) in stop.claims.iter().enumerate() {
            let monitor = self.monitor(&origin, world, &claim.kind)?;
            if self.can_break(&origin, given, monitor)? {
                broken |= 1 << n.min(63);
            }
        }
        Ok(broken)
    }

    /// How many outcomes keep a claim, how many break it, and its monitor, in states of this core; `None` without a shuffle.
    pub(super) fn weigh(
        &mut self,
        core: &Core,
        world: &World,
        claim: &ClaimKind,
    ) -> Result<Option<(BigUint, BigUint, Monitor)>, Lost> {
        let limits = self.limits;
        let Some((origin, given)) = self.given(core)? else {
            return Ok(None);
        };
        let monitor = self.monitor(&origin, world, claim)?;
        let streams = &mut self.shuffles.streams;
        let mut count = |verdict: bool| {
            let both = streams.all(&[(given, true), (monitor, verdict)]);
            streams.count(origin.start, both, true, &mut |_| (limits.stop)())
        };
        Ok(Some((count(true)?, count(false)?, monitor)))
    }

    /// The smallest outcome of the shuffle that breaks a claim, in states of this core.
    pub(super) fn first_breaking(
        &mut self,
        core: &Core,
        world: &World,
        claim: &ClaimKind,
    ) -> Result<Option<Outcome>, Lost> {
        let limits = self.limits;
        let Some((origin, given)) = self.given(core)? else {
            return Ok(None);
        };
        let monitor = self.monitor(&origin, world, claim)?;
        let streams = &mut self.shuffles.streams;
        let both = streams.all(&[(given, true), (monitor, false)]);
        Ok(streams.first(origin.start, both, true, &mut |_| (limits.stop)())?)
    }

    /// The smallest outcome of the shuffle, in states of this core.
    pub(super) fn first_outcome(&mut self, core: &Core) -> Result<Option<Outcome>, Lost> {
        let limits = self.limits;
        let Some((origin, given)) = self.given(core)? else {
            return Ok(None);
        };
        let streams = &mut self.shuffles.streams;
        Ok(streams.first(origin.start, given, true, &mut |_| (limits.stop)())?)
    }

    /// How many outcomes of the shuffle there are in states of this core: 1 where there was none.
    pub(super) fn outcomes(&mut self, core: &Core) -> Result<BigUint, Lost> {
        let limits = self.limits;
        match self.given(core)? {
            None => Ok(BigUint::from(1_u8)),
            Some((origin, given)) => {
                let streams = &mut self.shuffles.streams;
                Ok(streams.count(origin.start, given, true, &mut |_| (limits.stop)())?)
            }
        }
    }

    /// The prints that a token can bear in states of this core; with how many outcomes each where they are weighed.
    pub(super) fn token_prints(
        &mut self,
        core: &Core,
        card: Card,
    ) -> Result<Option<Vec<(Card, BigUint)>>, Lost> {
        let limits = self.limits;
        let Some((origin, given)) = self.given(core)? else {
            return Ok(None);
        };
        let Some(token) = origin.tokens.token(card) else {
            return Ok(None);
        };
        let streams = &mut self.shuffles.streams;
        let mut stop = |_| (limits.stop)();
        let mut prints = Vec::new();
        for look in streams.looks_at(origin.start, given, token, &mut stop)? {
            if prints.iter().any(|(print, _)| *print == look.card()) {
                continue;
            }
            let count = if self.weighs {
                let is = streams
                    .fixed(origin.start, token, &[look])
                    .ok_or(Lost::Unfollowable)?;
                let both = streams.all(&[(given, true), (is, true)]);
                streams.count(origin.start, both, true, &mut stop)?
            } else {
                BigUint::from(1_u8)
            };
            prints.push((look.card(), count));
        }
        Ok(Some(prints))
    }
}
