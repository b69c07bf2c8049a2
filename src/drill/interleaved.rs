//! A session over several routines: one road of one routine at a time, the next drawn by what is weak and ripe.
//!
//! Each routine has a [`Session`] of its own, and they take turns. What was missed comes back after a few other questions of whichever
//! routine, so now and then a question of one stands between two steps of another; it says where it looks back to.

use super::guide::{Why, asked_about, drawn, whole_run, with_luck};
use super::guided::Guided;
use super::prompt::{DrillFault, Effect, Event, Plan, Prompt};
use super::session::{Phase, Session, USUAL_QUESTIONS};
use super::summary::{Summary, sum_up_together};
use crate::roads::Draw;
use crate::routine::{Millis, Routine};
use std::sync::Arc;

/// The routine whose turn it was is worth so much of what it would be otherwise.
const SAME_AGAIN: f64 = 0.5;

/// After so many turns in a row it is another's.
const MOST_IN_A_ROW: u32 = 2;

/// With every turn that a routine waits, it is worth so much more of what it would be otherwise.
const WAITED: f64 = 0.5;

/// A road on which nothing could be asked makes another of the same routine worth so much of what it would be otherwise.
const NOTHING_ASKED: f64 = 0.3;

/// A turn has at least so many questions before nothing new is asked in it.
const LEAST_IN_A_TURN: u32 = 3;

/// What a session that takes turns knows of the others.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Among {
    /// Questions answered there.
    pub answered: u32,
    /// Questions that came once more at the end there.
    pub closed: usize,
    /// Questions there that could.
    pub ready: usize,
    /// Its road is at an end, or not begun: it waits for its turn.
    pub waits: bool,
    /// It has had a turn.
    pub begun: bool,
    /// So many turns were others' since.
    pub waited: u32,
    /// A question of its own stands within another's road.
    pub visited: bool,
    /// It has gone on since this was last looked at.
    pub moved: bool,
    /// The turn has had its share of the session: nothing new is asked on the rest of its road.
    pub full: bool,
}

/// A session over one routine or several. Pure, as a [`Session`] is; over one routine it is that session.
#[derive(Debug, Clone)]
pub struct Interleaved {
    parts: Vec<Session>,
    /// Whose road is being walked.
    turn: usize,
    /// How many turns in a row that is.
    in_a_row: u32,
    /// Whose question stands within that road.
    visited: Option<usize>,
    /// Roads begun, of all routines.
    roads: u32,
    /// Questions answered, of all routines, and time gone by when the turn began.
    since: (u32, Millis),
    lot: Draw,
    summary: Option<Summary>,
}

impl From<Session> for Interleaved {
    fn from(session: Session) -> Self {
        let lot = Draw::for_step(session.plan.seed, "whose turn", 1);
        Self {
            parts: vec![session],
            turn: 0,
            in_a_row: 1,
            visited: None,
            roads: 1,
            since: (0, Millis(0)),
            lot,
            summary: None,
        }
    }
}

impl Interleaved {
    /// Begins a session over these, which share the length of their plans.
    ///
    /// # Errors
    /// When there is none.
    pub fn new(parts: Vec<Session>) -> Result<Self, DrillFault> {
        let several = parts.len() > 1;
        let mut parts = parts.into_iter();
        let mut all = Self::from(parts.next().ok_or(DrillFault::NoRoutine)?);
        all.parts.extend(parts);
        if several {
            for part in &mut all.parts {
                part.among = Some(Among {
                    waits: true,
                    ..Among::default()
                });
            }
            all.roads = 0;
            all.in_a_row = 0;
            all.next_turn();
        }
        Ok(all)
    }

    /// What to show now.
    #[must_use]
    pub fn prompt(&self) -> Prompt {
        match &self.summary {
            Some(summary) => Prompt::Done(summary.clone()),
            None => self.shown().prompt(),
        }
    }

    /// The routine that what is shown is about.
    #[must_use]
    pub fn routine(&self) -> &Arc<Routine> {
        self.shown().routine()
    }

    /// Which of the routines the road being walked is of.
    #[must_use]
    pub fn turn(&self) -> usize {
        self.turn
    }

    /// Which of the routines, where what is shown is about another than the one whose road is walked.
    #[must_use]
    pub fn visited(&self) -> Option<usize> {
        self.visited
    }

    /// The routine whose road is being walked.
    #[must_use]
    pub fn walked(&self) -> &Arc<Routine> {
        self.parts[self.turn].routine()
    }

    /// All routines.
    pub fn routines(&self) -> impl ExactSizeIterator<Item = &Arc<Routine>> {
        self.parts.iter().map(Session::routine)
    }

    /// The plan of what is shown.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        self.shown().plan()
    }

    /// Why the question on the screen is asked; none when no question is.
    #[must_use]
    pub fn why(&self) -> Option<Why> {
        self.shown().why()
    }

    /// As [`Session::work_ahead`].
    pub fn work_ahead(&mut self) {
        let at = self.at();
        self.parts[at].work_ahead();
    }

    /// Takes what the performer did. Events that do not fit what is on the screen change nothing.
    pub fn update(&mut self, event: Event) -> Vec<Effect> {
        if let [only] = self.parts.as_mut_slice() {
            return only.update(event);
        }
        if self.summary.is_some() {
            return Vec::new();
        }
        if let Event::Elapsed(so_far) = event {
            for part in &mut self.parts {
                part.note_time(so_far);
            }
        }
        self.tell_each_other();
        let at = self.at();
        let mut effects = self.parts[at].update(event);
        let over = |effect: &Effect| matches!(effect, Effect::Finished(_));
        if effects.iter().any(over) || self.go_on() {
            effects.retain(|effect| !over(effect));
            let summary = sum_up_together(&self.parts, self.roads);
            self.summary = Some(summary.clone());
            effects.push(Effect::Finished(summary));
        }
        effects
    }

    /// The part that what is shown comes from.
    fn at(&self) -> usize {
        self.visited.unwrap_or(self.turn)
    }

    fn shown(&self) -> &Session {
        &self.parts[self.at()]
    }

    /// Tells each part what it must know of the others.
    fn tell_each_other(&mut self) {
        let counts: Vec<(u32, usize, usize)> = self
            .parts
            .iter()
            .map(|part| {
                let own = u32::try_from(part.answers.len()).unwrap_or(u32::MAX);
                (own, part.closed, part.ready_to_close())
            })
            .collect();
        let full = self.full();
        for (n, part) in self.parts.iter_mut().enumerate() {
            let Some(among) = &mut part.among else {
                continue;
            };
            among.full = full;
            (among.answered, among.closed, among.ready) = (0, 0, 0);
            for (_, (answered, closed, ready)) in
                counts.iter().enumerate().filter(|(other, _)| *other != n)
            {
                among.answered = among.answered.saturating_add(*answered);
                among.closed += closed;
                among.ready += ready;
            }
        }
    }

    /// Whether the turn has had its share of the session, in questions or in time. Whoever misses much would otherwise spend all of it
    /// on one road: what comes back is asked there too.
    fn full(&self) -> bool {
        let part = &self.parts[self.turn];
        let routines = self.parts.len() as u64;
        let (answered, began) = self.since;
        let gone = part.so_far.0.saturating_sub(began.0);
        match (part.plan.questions, part.plan.minutes) {
            (None, Some(minutes)) => gone * routines >= u64::from(minutes) * 60_000,
            (questions, _) => {
                let share = u64::from(questions.unwrap_or(USUAL_QUESTIONS)).div_ceil(routines);
                let now = self.shown().answered().saturating_sub(answered);
                u64::from(now) >= share.max(u64::from(LEAST_IN_A_TURN))
            }
        }
    }

    /// After what is shown has gone on: a question that comes back, of whichever routine; back to the road; or the next turn. True
    /// where nothing is left to do.
    fn go_on(&mut self) -> bool {
        let at = self.at();
        let moved = |among: &mut Among| std::mem::take(&mut among.moved);
        if !self.parts[at].among.as_mut().is_some_and(moved) {
            return false;
        }
        // Another missed question of the same visit.
        if self.visited.is_some() && self.parts[at].among.is_some_and(|among| among.visited) {
            return false;
        }
        self.visited = None;
        self.tell_each_other();
        // One of the road's own has come back already.
        if matches!(&self.parts[self.turn].phase, Phase::Ask(asked) if asked.question.again)
            && !self.waits(self.turn)
        {
            return false;
        }
        let turn = self.turn;
        for (n, part) in self.parts.iter_mut().enumerate() {
            if n != turn && !part.enough() && part.ask_again() {
                if let Some(among) = &mut part.among {
                    among.visited = true;
                }
                self.visited = Some(n);
                return false;
            }
        }
        self.waits(self.turn) && !self.next_turn()
    }

    fn waits(&self, part: usize) -> bool {
        self.parts[part].among.is_some_and(|among| among.waits)
    }

    /// Draws whose road comes next, and begins it. False where nobody has one.
    fn next_turn(&mut self) -> bool {
        let mut worths = self.worths();
        while worths.iter().any(|worth| *worth > 0.0) {
            let next = drawn(&mut self.lot, &worths);
            if worths[next] <= 0.0 {
                continue;
            }
            let number = self.roads + 1;
            if self.parts[next].take_turn(number) {
                self.in_a_row = if next == self.turn {
                    self.in_a_row + 1
                } else {
                    1
                };
                self.turn = next;
                self.roads = number;
                let part = &self.parts[next];
                self.since = (part.answered(), part.so_far);
                for (n, part) in self.parts.iter_mut().enumerate() {
                    if let Some(among) = &mut part.among {
                        among.waited = if n == next { 0 } else { among.waited + 1 };
                    }
                }
                return true;
            }
            worths[next] = 0.0;
        }
        false
    }

    /// What another road of each is worth.
    fn worths(&self) -> Vec<f64> {
        let known: Vec<Option<f64>> = self
            .parts
            .iter()
            .map(|part| {
                let guided: &Guided = part.guided.as_ref()?;
                Some(guided.turn_worth(&part.routine, &part.plan.drills))
            })
            .collect();
        // A routine never rehearsed counts as much as the weakest of the others.
        let most = known.iter().flatten().copied().reduce(f64::max);
        let mut worths: Vec<f64> = known
            .iter()
            .zip(&self.parts)
            .map(|(worth, part)| {
                if part.barren() {
                    return 0.0;
                }
                let barren = i32::try_from(part.barren).unwrap_or(i32::MAX);
                let waited = part.among.map_or(0, |among| among.waited);
                worth.or(most).unwrap_or(1.0).max(f64::MIN_POSITIVE)
                    * NOTHING_ASKED.powi(barren)
                    * (1.0 + WAITED * f64::from(waited))
            })
            .collect();
        let others = |n: &usize| *n != self.turn && worths[*n] > 0.0;
        let any = (0..worths.len()).any(|n| others(&n));
        // Nobody has two turns in a row while another has had none.
        let begun = |n: usize| self.parts[n].among.is_some_and(|among| among.begun);
        let all_begun = (0..worths.len()).filter(others).all(begun);
        if any && self.in_a_row > 0 {
            worths[self.turn] *= if all_begun && self.in_a_row < MOST_IN_A_ROW {
                SAME_AGAIN
            } else {
                0.0
            };
        }
        worths
    }
}

impl Session {
    /// Begins a road under this number: the first of its own, or the next. False where none can be walked.
    fn take_turn(&mut self, number: u32) -> bool {
        let first = self.among.is_some_and(|among| !among.begun);
        let ready = if first {
            self.walk.number = number;
            self.phase = Phase::Tell(self.opening());
            true
        } else {
            self.set_out(number)
        };
        if let (true, Some(among)) = (ready, &mut self.among) {
            among.waits = false;
            among.begun = true;
            if self.guided.is_none() && self.barren == 0 && !whole_run(self.roads) {
                self.thin_out();
            }
        }
        ready
    }

    /// Asks at as many steps of this road as a guide would, drawn by lot: the routines are to take turns.
    fn thin_out(&mut self) {
        let mut lot = Draw::for_step(self.plan.seed, "where to ask", self.walk.number);
        let alike: Vec<f64> = (0..=self.walk.road.walked.len())
            .map(|_| with_luck(&mut lot, 1.0))
            .collect();
        self.walk.asks = asked_about(&alike);
    }
}
