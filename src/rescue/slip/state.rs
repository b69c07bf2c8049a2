//! The road again, with hands that may slip: one state after another.

use super::got::{Got, Held, Seen};
use super::hands::{Doing, Hands, Made, Moment};
use super::kind::SlipKind;
use super::mix::{Mix, lies};
use super::prior::weight;
use super::wrong::{Instead, Wrong, drops, instead};
use crate::cards::Card;
use crate::handling::Move;
use crate::roads::{Choices, domain, pass_by_hand};
use crate::routine::{Fault, Fork, ForkKind, Routine, Scene, StopIndex, Value, World};
use crate::table::{PileId, Table};
use rustc_hash::{FxHashMap, FxHashSet};
use std::borrow::Cow;

/// The most branches of one choice that nobody heard.
const MOST_BRANCHES: u128 = 2_000;

/// A road as far as it is known, and the packet at its end.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// The routine.
    pub routine: &'a Routine,
    /// How the table stood before the first step. Faces that nobody knows are not fixed.
    pub start: &'a World,
    /// What was chosen; what is not told can be anything that the fork offers.
    pub choices: &'a Choices,
    /// The packet was looked at after this step, done for the how-manieth time; else at the end of the road.
    pub until: Option<(StopIndex, u32)>,
    /// The packet.
    pub got: &'a Got,
    /// So many steps are taken at most to look for single slips; [`MOST_STEPS`](super::MOST_STEPS) is a second or so.
    pub most_steps: u64,
}

/// A state on the way.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct State {
    pub(super) world: World,
    visits: Vec<u16>,
    pub(super) mix: Option<Mix>,
}

impl State {
    /// Whether two states differ in nothing but which cards lie where, and how these face.
    pub(super) fn is_like(&self, other: &Self) -> bool {
        let (one, two) = (&self.world, &other.world);
        let these = one.table.piles().map(|(_, pile)| pile.len());
        let those = two.table.piles().map(|(_, pile)| pile.len());
        one.at == two.at
            && these.eq(those)
            && one.memory == two.memory
            && one.faces == two.faces
            && self.visits == other.visits
            && self.mix == other.mix
    }
}

/// A way in which a step may go on: from where, a choice, and how likely it is.
type Branch<'s> = (Cow<'s, State>, Option<Value>, f64);

/// One slip that can be made at a step.
#[derive(Debug, Clone)]
pub(super) struct Chance {
    pub(super) at: u16,
    pub(super) doing: Doing,
    pub(super) wrong: Wrong,
    pub(super) kind: SlipKind,
    pub(super) moves: Vec<Move>,
    pub(super) weight: f64,
}

impl Chance {
    /// A way in which a moment goes wrong; how likely it is is not known yet.
    fn of(moment: &Moment, way: Instead) -> Self {
        Self {
            at: moment.at,
            doing: moment.doing.clone(),
            wrong: way.wrong,
            kind: way.kind,
            moves: way.moves,
            weight: 0.0,
        }
    }

    pub(super) fn made(&self) -> Made<'_> {
        Made {
            at: self.at,
            wrong: &self.wrong,
            moves: &self.moves,
        }
    }
}

/// Why a state could not go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stuck {
    /// The road breaks off.
    Ended,
    /// More could have happened than can be followed.
    TooMuch,
}

impl<'a> Case<'a> {
    pub(super) fn begin(&self) -> State {
        State {
            world: self.start.clone(),
            visits: vec![0; self.routine.stops.len()],
            mix: None,
        }
    }

    /// A state in the middle of a road.
    pub(super) fn at(&self, world: World) -> State {
        State {
            world,
            ..self.begin()
        }
    }

    pub(super) fn done(&self, state: &State) -> bool {
        self.routine.stop(state.world.at).is_none()
    }

    /// The stop that comes next, and the how-manieth time it is.
    pub(super) fn coming(&self, state: &State) -> (StopIndex, u32) {
        let at = state.world.at;
        let before = state.visits.get(at.index()).copied().unwrap_or(0);
        (at, u32::from(before) + 1)
    }

    /// What may be chosen at the step that comes next.
    pub(super) fn branches<'s>(&self, state: &'s State) -> Result<Vec<Branch<'s>>, Stuck> {
        let (at, visit) = self.coming(state);
        let Some(fork) = self.routine.stop(at).and_then(|stop| stop.fork.as_ref()) else {
            return Ok(vec![(Cow::Borrowed(state), None, 1.0)]);
        };
        let again = matches!(fork.kind, ForkKind::Again { .. });
        match self.choices.at(fork.name, visit, again) {
            Some(Value::Card(print)) => self.cards(state, fork, print),
            Some(value) => Ok(vec![(Cow::Borrowed(state), Some(value), 1.0)]),
            None => self.unheard(state, fork),
        }
    }

    /// The cards that may bear the print that was named.
    fn cards<'s>(
        &self,
        state: &'s State,
        fork: &Fork,
        print: Card,
    ) -> Result<Vec<Branch<'s>>, Stuck> {
        let scene = Scene {
            routine: self.routine,
            world: &state.world,
        };
        match scene.bearing(print) {
            Ok(card) => Ok(vec![(Cow::Borrowed(state), Some(Value::Card(card)), 1.0)]),
            Err(Fault::Unfixed(_)) => {
                let ForkKind::Card(pile) = &fork.kind else {
                    return Err(Stuck::Ended);
                };
                let open: Vec<Card> = state
                    .world
                    .table
                    .pile(*pile)
                    .iter()
                    .map(|laid| laid.card())
                    .filter(|card| state.world.face_of(*card).is_none())
                    .filter(|card| card.index() < state.world.faces.len())
                    .collect();
                let share = 1.0 / open.len().max(1) as f64;
                Ok(open
                    .into_iter()
                    .map(|card| {
                        let mut state = state.clone();
                        state.world.faces[card.index()] = Some(print);
                        (Cow::Owned(state), Some(Value::Card(card)), share)
                    })
                    .collect())
            }
            Err(_) => Err(Stuck::Ended),
        }
    }

    fn unheard<'s>(&self, state: &'s State, fork: &Fork) -> Result<Vec<Branch<'s>>, Stuck> {
        match fork.kind {
            // Whoever does the shuffle keeps all its outcomes together.
            ForkKind::Riffle { .. } | ForkKind::Overhand(_) => {
                return Ok(vec![(Cow::Borrowed(state), None, 1.0)]);
            }
            // How often they went round is always heard; to guess it would have no end.
            ForkKind::Again { .. } => return Err(Stuck::TooMuch),
            ForkKind::Number { .. }
            | ForkKind::Option(_)
            | ForkKind::Pile(_)
            | ForkKind::PileOrder(_)
            | ForkKind::Place(_)
            | ForkKind::Card(_)
            | ForkKind::Cards { .. }
            | ForkKind::Cut { .. } => {}
        }
        let open = match domain(self.routine, &state.world) {
            Ok(Some(open)) => open,
            Ok(None) | Err(_) => return Err(Stuck::Ended),
        };
        if open.count() > MOST_BRANCHES {
            return Err(Stuck::TooMuch);
        }
        let values: Vec<Value> = open.branches().collect();
        let weights: Vec<f64> = match open.open_weights() {
            Some(weights) => weights.into_iter().map(|w| w as f64).collect(),
            None => vec![1.0; values.len()],
        };
        let all: f64 = weights.iter().sum();
        Ok(values
            .into_iter()
            .zip(weights)
            .filter(|(_, weight)| *weight > 0.0)
            .map(|(value, weight)| (Cow::Borrowed(state), Some(value), weight / all))
            .collect())
    }

    /// The next state, with these slips.
    pub(super) fn step(
        &self,
        state: &State,
        choice: Option<&Value>,
        slips: &[Made<'_>],
    ) -> Result<State, Stuck> {
        let mut hands = Hands::new(slips, state.mix.clone());
        let passed = pass_by_hand(self.routine, &state.world, choice, &mut hands);
        self.after(state, passed, hands)
    }

    /// The moments at which a slip can be made at this step, from a moment on, with these slips made before it; and the next
    /// state without any more.
    pub(super) fn moments(
        &self,
        state: &State,
        choice: Option<&Value>,
        slips: &[Made<'_>],
        from: u16,
    ) -> Vec<Moment> {
        let mut hands = Hands::new(slips, state.mix.clone()).telling(from);
        // A step that breaks off was begun all the same.
        drop(pass_by_hand(self.routine, &state.world, choice, &mut hands));
        hands.told
    }

    fn after(
        &self,
        before: &State,
        passed: Result<World, Fault>,
        hands: Hands<'_>,
    ) -> Result<State, Stuck> {
        let mut world = passed.map_err(|_| {
            if hands.lost {
                Stuck::TooMuch
            } else {
                Stuck::Ended
            }
        })?;
        let (at, visit) = self.coming(before);
        let mut visits = before.visits.clone();
        if let Some(slot) = visits.get_mut(at.index()) {
            *slot = slot.saturating_add(1);
        }
        if self.until == Some((at, visit)) {
            world.at = self.routine.finish();
        }
        Ok(State {
            world,
            visits,
            mix: hands.mix,
        })
    }

    /// The slips that can be made at the step that comes next, from a moment on. Of those that leave the same table at the same moment only
    /// the likeliest is kept: they are one slip in different words.
    pub(super) fn chances(
        &self,
        state: &State,
        choice: Option<&Value>,
        slips: &[Made<'_>],
        from: u16,
    ) -> Vec<Chance> {
        let mut found = Vec::new();
        let unseen = choice.is_none()
            && self
                .routine
                .stop(state.world.at)
                .is_some_and(|stop| stop.fork.is_some());
        for moment in self.moments(state, choice, slips, from) {
            match &moment.doing {
                Doing::Step => {
                    add(&mut found, &moment, Wrong::LeftOut, SlipKind::LeftOut);
                    // Two shuffles that nobody saw could lead to nearly anything.
                    if !unseen {
                        add(&mut found, &moment, Wrong::Twice, SlipKind::Twice);
                    }
                }
                Doing::Rounds(due) => {
                    add(&mut found, &moment, Wrong::More, SlipKind::Count);
                    if *due > 0 {
                        add(&mut found, &moment, Wrong::Fewer, SlipKind::Count);
                    }
                }
                Doing::Way(_) => add(&mut found, &moment, Wrong::OtherWay, SlipKind::WrongWay),
                Doing::Move(mv) => moved(&mut found, &moment, mv),
                Doing::Shuffle(mv) => {
                    add(&mut found, &moment, Wrong::LeftOut, SlipKind::LeftOut);
                    let mut table = moment.table.clone();
                    gather_sizes(&mut table, mv);
                    let to = match mv {
                        Move::Riffle { to, .. } => *to,
                        other => other.piles().first().copied().unwrap_or(PileId(0)),
                    };
                    falls(&mut found, &moment, &[to], &table);
                }
            }
        }
        share(&mut found);
        found
    }

    /// Every slip that can be made at the step that comes next and can be told from what should be done, with the state it leads to.
    /// Slips that lead to the same state are one, told as the likeliest of them and as likely as all of them.
    pub(super) fn slipped(
        &self,
        state: &State,
        choice: Option<&Value>,
    ) -> (Vec<(Chance, State)>, bool) {
        let right = self.step(state, choice, &[]).ok();
        let mut followed = true;
        let mut found: Vec<(Chance, State)> = Vec::new();
        let mut sums: Vec<f64> = Vec::new();
        let mut places: FxHashMap<State, usize> = FxHashMap::default();
        for chance in self.chances(state, choice, &[], 0) {
            let reached = match self.step(state, choice, &[chance.made()]) {
                Ok(reached) => reached,
                Err(stuck) => {
                    followed &= stuck == Stuck::Ended;
                    continue;
                }
            };
            if right.as_ref() == Some(&reached) {
                continue;
            }
            match places.get(&reached).and_then(|at| found.get_mut(*at)) {
                Some((told, _)) => {
                    let place = &mut sums[places[&reached]];
                    *place += chance.weight;
                    // Of a step and its one move, the move tells more.
                    if chance.weight >= told.weight {
                        *told = chance;
                    }
                }
                None => {
                    places.insert(reached.clone(), found.len());
                    sums.push(chance.weight);
                    found.push((chance, reached));
                }
            }
        }
        for ((chance, _), sum) in found.iter_mut().zip(sums) {
            chance.weight = sum;
        }
        (found, followed)
    }

    /// How likely the packet is at this state: nought where it cannot be.
    pub(super) fn fit(&self, state: &State) -> f64 {
        let world = &state.world;
        let mut wanted = state.mix.as_ref().map(Mix::wanted);
        let mut prints: Vec<Card> = Vec::new();
        for found in &self.got.piles {
            let pile = world.table.pile(found.pile);
            let long_enough = if found.open {
                found.cards.len() <= pile.len()
            } else {
                found.cards.len() == pile.len()
            };
            if !long_enough {
                return 0.0;
            }
            for (seen, laid) in found.cards.iter().zip(pile) {
                if Mix::index(*laid).is_some() {
                    let fits = match (&state.mix, &mut wanted) {
                        (Some(mix), Some(wanted)) => mix.want(wanted, *laid, *seen),
                        _ => false,
                    };
                    if !fits {
                        return 0.0;
                    }
                } else if !self.lies_so(world, *seen, *laid, &mut prints) {
                    return 0.0;
                }
            }
        }
        match (&state.mix, &wanted) {
            (Some(mix), Some(wanted)) => mix.share(self.routine, world, wanted),
            _ => 1.0,
        }
    }

    /// Whether a card can be what was seen. Prints that nothing has fixed are each given away once.
    fn lies_so(
        &self,
        world: &World,
        seen: Seen,
        laid: crate::table::Laid,
        prints: &mut Vec<Card>,
    ) -> bool {
        if seen.up.is_some_and(|up| up != laid.face_up()) {
            return false;
        }
        if world.face_of(laid.card()).is_some() {
            return lies(self.routine, world, seen.held, laid.card());
        }
        let Held::Print(print) = seen.held else {
            return true;
        };
        let pack = &self.routine.pack;
        let alike = |card: &&Card| pack.same_look(**card, print);
        let there = self.routine.shuffled.iter().filter(alike).count();
        let fixed = world.faces.iter().flatten().filter(alike).count();
        let given = prints.iter().filter(alike).count();
        prints.push(print);
        // Cards that were never shuffled have their own prints among the fixed ones.
        let own = (0..pack.size())
            .filter_map(|n| u16::try_from(n).ok().map(Card))
            .filter(|card| !self.routine.shuffled.contains(card))
            .filter(|card| pack.same_look(*card, print))
            .count();
        given + fixed < there + own
    }

    /// At how many places the packet differs, one for each card too many or too few; `None` where a shuffle that nobody saw stands
    /// between.
    pub(super) fn differs(&self, state: &State) -> Option<usize> {
        if state.mix.is_some() {
            return None;
        }
        let world = &state.world;
        let mut off = 0;
        for found in &self.got.piles {
            let pile = world.table.pile(found.pile);
            off += found.cards.len().saturating_sub(pile.len());
            if !found.open {
                off += pile.len().saturating_sub(found.cards.len());
            }
            off += found
                .cards
                .iter()
                .zip(pile)
                .filter(|(seen, laid)| {
                    seen.up.is_some_and(|up| up != laid.face_up())
                        || !lies(self.routine, world, seen.held, laid.card())
                })
                .count();
        }
        Some(off)
    }
}

fn add(found: &mut Vec<Chance>, moment: &Moment, wrong: Wrong, kind: SlipKind) {
    let moves = Vec::new();
    found.push(Chance::of(moment, Instead { wrong, kind, moves }));
}

/// The slips of one move. Each is tried on the table: what cannot be done, changes nothing, or leaves what a likelier one leaves is no
/// slip of its own.
fn moved(found: &mut Vec<Chance>, moment: &Moment, mv: &Move) {
    let mut right = moment.table.clone();
    let done = run(&mut right, std::slice::from_ref(mv)).is_some();
    let mut ways = instead(mv, &moment.table);
    ways.sort_by(|a, b| weight(b.kind).total_cmp(&weight(a.kind)));
    let mut left: FxHashSet<Table> = FxHashSet::default();
    if done {
        left.insert(right.clone());
    }
    for way in ways {
        let mut table = moment.table.clone();
        if run(&mut table, &way.moves).is_some() && left.insert(table) {
            found.push(Chance::of(moment, way));
        }
    }
    if done {
        for way in drops(&mv.piles(), &right) {
            let mut table = right.clone();
            if run(&mut table, &way.moves).is_some() && left.insert(table) {
                found.push(Chance::of(moment, way));
            }
        }
    }
}

fn falls(found: &mut Vec<Chance>, moment: &Moment, piles: &[PileId], after: &Table) {
    for way in drops(piles, after) {
        found.push(Chance::of(moment, way));
    }
}

/// After a shuffle all its cards lie in one pile; how does not matter here.
fn gather_sizes(table: &mut Table, mv: &Move) {
    if let Move::Riffle { left, right, to } = mv {
        let mut cards: Vec<_> = std::mem::take(table.pile_mut(*left)).into();
        cards.extend(std::mem::take(table.pile_mut(*right)));
        for card in cards.into_iter().rev() {
            table.pile_mut(*to).push_front(card);
        }
    }
}

/// Moves without free points, one after the other.
fn run(table: &mut Table, moves: &[Move]) -> Option<()> {
    for mv in moves {
        let program = crate::handling::program(mv, table).ok()?;
        crate::handling::run(&program, table, &mut crate::handling::Forced).ok()?;
    }
    Some(())
}

/// Each kind shares its weight among its ways at one moment.
fn share(found: &mut [Chance]) {
    let mut ways: FxHashMap<(u16, SlipKind), f64> = FxHashMap::default();
    for chance in found.iter() {
        *ways.entry((chance.at, chance.kind)).or_default() += 1.0;
    }
    for chance in found {
        let among = ways.get(&(chance.at, chance.kind)).copied().unwrap_or(1.0);
        chance.weight = weight(chance.kind) / among;
    }
}
