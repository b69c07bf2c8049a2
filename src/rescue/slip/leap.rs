//! Leaps over steps that hang on nothing but how many cards lie where: what such steps do, one after the other, is read off numbered
//! cards once, and then done to all states that are alike but for their cards.

use super::state::{Case, State};
use crate::cards::Card;
use crate::proof::is_blind;
use crate::roads::LONGEST_ROAD;
use crate::table::{Laid, PileId, Table};
use std::borrow::Cow;

/// Fewer states than these are led on step by step.
const WORTH_IT: usize = 4;

/// A state that leaps, with what is kept of it, and where it comes down.
pub(super) struct Waiting<T> {
    /// So many steps on.
    pub(super) over: usize,
    /// There.
    pub(super) state: State,
    /// What was kept of it.
    pub(super) with: T,
}

/// Which steps of a routine can be leapt over.
pub(super) struct Leaps {
    blind: Vec<bool>,
}

impl Leaps {
    pub(super) fn of(case: &Case<'_>) -> Self {
        let stops = &case.routine.stops;
        Self {
            blind: stops.iter().map(|s| is_blind(case.routine, s)).collect(),
        }
    }

    /// Takes those states away that leap; with how many steps it took to find out where they come down.
    pub(super) fn leap<T>(
        &self,
        case: &Case<'_>,
        states: &mut Vec<(State, T)>,
        may: impl Fn(&T) -> bool,
    ) -> (Vec<Waiting<T>>, u64) {
        let mut alike: Vec<Vec<(State, T)>> = Vec::new();
        for (state, with) in std::mem::take(states) {
            let open = may(&with) && state.mix.is_none() && !case.done(&state);
            if !open {
                states.push((state, with));
                continue;
            }
            let same = |group: &&mut Vec<(State, T)>| group[0].0.is_like(&state);
            match alike.iter_mut().find(same) {
                Some(group) => group.push((state, with)),
                None => alike.push(vec![(state, with)]),
            }
        }
        let mut waiting = Vec::new();
        let mut taken = 0;
        for group in alike {
            let leap = if group.len() < WORTH_IT {
                None
            } else {
                self.from(case, &group[0].0)
            };
            let Some(leap) = leap else {
                states.extend(group);
                continue;
            };
            taken += 2 * leap.over as u64;
            waiting.extend(group.into_iter().map(|(state, with)| Waiting {
                over: leap.over,
                state: leap.done_to(&state.world.table),
                with,
            }));
        }
        (waiting, taken)
    }

    /// As far as it goes from a state; `None` where that is no more than a step.
    fn from(&self, case: &Case<'_>, state: &State) -> Option<Leap> {
        let (mut down, mut up) = (numbered(state, false), numbered(state, true));
        let mut over = 0;
        while over < LONGEST_ROAD
            && let (Some(one), Some(other)) = (self.on(case, &down), self.on(case, &up))
        {
            // What is done to cards face down and to cards face up differs in how they face, or it cannot be leapt over.
            if !one.is_like(&other) {
                break;
            }
            (down, up) = (one, other);
            over += 1;
        }
        if over < 2 {
            return None;
        }
        let cells = |state: &State| -> Vec<Laid> {
            let piles = state.world.table.piles();
            piles.flat_map(|(_, pile)| pile.iter().copied()).collect()
        };
        let (down_cells, up_cells) = (cells(&down), cells(&up));
        let mut from = Vec::with_capacity(down_cells.len());
        for (one, other) in down_cells.into_iter().zip(up_cells) {
            if one.card() != other.card() {
                return None;
            }
            from.push(Moved {
                cell: one.card().index(),
                faces: match (one.face_up(), other.face_up()) {
                    (false, true) => Faces::AsItLay,
                    (true, false) => Faces::Turned,
                    (up, _) => Faces::Laid(up),
                },
            });
        }
        Some(Leap {
            over,
            there: down,
            from,
        })
    }

    /// The next state, where the step hangs on nothing but the numbers of cards and can go on in one way only.
    fn on(&self, case: &Case<'_>, state: &State) -> Option<State> {
        let at = state.world.at;
        if case.done(state) || !self.blind.get(at.index()).copied()? {
            return None;
        }
        let branches = case.branches(state).ok()?;
        let [(Cow::Borrowed(_), choice, _)] = branches.as_slice() else {
            return None;
        };
        let next = case.step(state, choice.as_ref(), &[]).ok()?;
        (next.mix.is_none() && next.world.faces == state.world.faces).then_some(next)
    }
}

/// What became of how a card faces.
enum Faces {
    AsItLay,
    Turned,
    Laid(bool),
}

/// Where a card came from.
struct Moved {
    /// Counted from the top of the first pile on, from 0.
    cell: usize,
    faces: Faces,
}

/// What some steps do together to every table with piles of these sizes.
struct Leap {
    over: usize,
    /// Where it comes down, with numbered cards.
    there: State,
    /// By cell.
    from: Vec<Moved>,
}

impl Leap {
    fn done_to(&self, table: &Table) -> State {
        let cells: Vec<Laid> = table
            .piles()
            .flat_map(|(_, pile)| pile.iter().copied())
            .collect();
        let mut laid = self.from.iter().map(|moved| {
            let before = cells[moved.cell];
            match moved.faces {
                Faces::AsItLay => before,
                Faces::Turned => before.turned(),
                Faces::Laid(up) => Laid::new(before.card(), up),
            }
        });
        let mut state = self.there.clone();
        for n in 0..state.world.table.count() {
            let pile = state
                .world
                .table
                .pile_mut(PileId(u8::try_from(n).unwrap_or(u8::MAX)));
            for place in pile.iter_mut() {
                if let Some(there) = laid.next() {
                    *place = there;
                }
            }
        }
        state
    }
}

/// The same piles with cards numbered from the top of the first one on, all face down or all face up.
fn numbered(state: &State, up: bool) -> State {
    let mut state = state.clone();
    let mut next = 0..;
    for n in 0..state.world.table.count() {
        let pile = state
            .world
            .table
            .pile_mut(PileId(u8::try_from(n).unwrap_or(u8::MAX)));
        for (place, number) in pile.iter_mut().zip(&mut next) {
            *place = Laid::new(Card(number), up);
        }
    }
    state
}
