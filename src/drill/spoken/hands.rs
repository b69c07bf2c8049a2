//! The drills with real cards: `hands`, with the prompter's help and questions between, and `dress`, with neither.

mod asking;
mod ending;
mod laying;
mod slipped;
mod stepping;

use super::prompt::{
    Along, Deed, EnterPacket, HandMarked, HandQuestion, HandStep, Judge, LaySetUp, Sound, Speech,
    SpokenEffect, SpokenPrompt, Verdict, WhereWrong, Which,
};
use super::road::HandRoad;
use super::{kept, words};
use crate::drill::prompt::{DrillFault, Plan};
use crate::drill::question::{Drill, Key};
use crate::drill::summary::{Given, Summary, sum_up};
use crate::drill::walk::first_road;
use crate::rescue::slip::Got;
use crate::roads::{Draw, Sighted};
use crate::routine::{Millis, Routine, StopIndex};
use crate::table::PileId;
use std::collections::BTreeSet;
use std::sync::Arc;

/// So many answers have a key of their own.
const MOST_OPTIONS: usize = 9;

/// What only the table can tell.
#[derive(Debug, Clone)]
enum Told {
    Reply(Sighted),
    Way(StopIndex),
}

#[derive(Debug, Clone)]
enum Phase {
    SetUp(LaySetUp),
    /// A step; then what the spectator answers at it.
    Step(HandStep),
    Answered(HandStep),
    /// With what each answer means, and what was told at this step before.
    Which(Which, Vec<Told>, Vec<Sighted>),
    Ask(HandQuestion),
    Marked(HandMarked),
    Judge(Judge),
    /// With the piles that may be asked for after this one.
    Packet(EnterPacket, Vec<PileId>),
    Where(WhereWrong),
    Verdict(Verdict),
    Done(Summary),
}

/// A rehearsal with real cards.
#[derive(Debug, Clone)]
pub(super) struct Hands {
    routine: Arc<Routine>,
    plan: Plan,
    drill: Drill,
    draw: Draw,
    road: HandRoad,
    /// The road after the next step, worked out while the hands are busy.
    ahead: Option<HandRoad>,
    phase: Phase,
    answers: Vec<Given>,
    asked: u32,
    asked_here: u32,
    asked_before: BTreeSet<Key>,
    /// How long each step of this road took.
    times: Vec<(StopIndex, Millis)>,
    since: Millis,
    road_since: Millis,
    /// Whether the end of the step's time was rung.
    rung: bool,
    said: Vec<Speech>,
    packets: Got,
    typed: Vec<String>,
    /// How long each whole road took.
    wholes: Vec<Millis>,
}

impl Hands {
    pub fn new(routine: Arc<Routine>, plan: Plan, drill: Drill) -> Result<Self, DrillFault> {
        let road = begun(&routine, &plan, plan.seed, 1)?;
        let draw = Draw::for_questions(plan.seed, 1);
        let mut hands = Self {
            routine,
            plan,
            drill,
            draw,
            road,
            ahead: None,
            phase: Phase::Done(Summary::default()),
            answers: Vec::new(),
            asked: 0,
            asked_here: 0,
            asked_before: BTreeSet::new(),
            times: Vec::new(),
            since: Millis(0),
            road_since: Millis(0),
            rung: false,
            said: Vec::new(),
            packets: Got::default(),
            typed: Vec::new(),
            wholes: Vec::new(),
        };
        hands.phase = hands.set_up();
        Ok(hands)
    }

    pub fn prompt(&self) -> SpokenPrompt {
        match &self.phase {
            Phase::SetUp(lay) => SpokenPrompt::SetUp(lay.clone()),
            Phase::Step(step) | Phase::Answered(step) => SpokenPrompt::Step(step.clone()),
            Phase::Which(which, ..) => SpokenPrompt::Which(which.clone()),
            Phase::Ask(ask) => SpokenPrompt::Ask(ask.clone()),
            Phase::Marked(marked) => SpokenPrompt::Marked(marked.clone()),
            Phase::Judge(judge) => SpokenPrompt::Judge(judge.clone()),
            Phase::Packet(packet, _) => SpokenPrompt::Packet(packet.clone()),
            Phase::Where(lost) => SpokenPrompt::Where(lost.clone()),
            Phase::Verdict(verdict) => SpokenPrompt::Verdict(verdict.clone()),
            Phase::Done(summary) => SpokenPrompt::Done(summary.clone()),
        }
    }

    /// What will be said next, as far as that can be told.
    pub fn ahead(&self) -> Vec<Speech> {
        let road = self.ahead.as_ref().unwrap_or(&self.road);
        let mut coming: Vec<Speech> = road
            .next
            .iter()
            .flat_map(|next| self.step(road, next, Millis(0)).1)
            .collect();
        coming.push(self.judging(Millis(0)).1);
        if let Phase::SetUp(lay) = &self.phase {
            let cards = lay.piles.iter().flat_map(|pile| &pile.cards);
            coming.extend(cards.map(|card| words::reader(&self.routine, &card.words)));
        }
        coming
    }

    /// Works out what follows the step that the hands are busy with.
    pub fn work_ahead(&mut self) {
        if matches!(self.phase, Phase::Step(_))
            && self.ahead.is_none()
            && self.road.open_replies(&self.routine).is_empty()
            && self.road.ways_on(&self.routine, &[]).len() < 2
        {
            let mut road = self.road.clone();
            if road.commit(&self.routine, &[], None).is_ok() {
                self.ahead = Some(road);
            }
        }
    }

    pub fn update(&mut self, deed: &Deed, now: Millis) -> Vec<SpokenEffect> {
        if matches!(self.phase, Phase::Done(_)) {
            return Vec::new();
        }
        match deed {
            Deed::Stop => self.finish(),
            Deed::Tick => self.tick(now),
            Deed::Spoken | Deed::Read => Vec::new(),
            Deed::Go => self.go(now),
            Deed::Back => self.back(now),
            Deed::Cards => self.tell_card(0, 0),
            Deed::Answer(text) => self.answer(text, now),
        }
    }

    fn tick(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let Phase::Step(step) = &self.phase else {
            return Vec::new();
        };
        let over = step
            .along
            .target
            .is_some_and(|target| now.0.saturating_sub(self.since.0) >= target.0);
        if over && !self.rung && self.drill == Drill::Hands {
            self.rung = true;
            return vec![SpokenEffect::Play(Sound::Time)];
        }
        Vec::new()
    }

    fn go(&mut self, now: Millis) -> Vec<SpokenEffect> {
        match &self.phase {
            Phase::SetUp(lay) => match lay.telling {
                None => self.begin(now),
                Some((pile, card)) => self.tell_card(pile, card + 1),
            },
            Phase::Step(_) => self.step_done(now),
            Phase::Answered(_) => self.told(Vec::new(), now),
            Phase::Marked(_) => self.next_step(now),
            Phase::Judge(_) => self.came_true(now),
            Phase::Verdict(_) => self.road_over(now),
            Phase::Which(..)
            | Phase::Ask(_)
            | Phase::Packet(..)
            | Phase::Where(_)
            | Phase::Done(_) => Vec::new(),
        }
    }

    fn back(&mut self, now: Millis) -> Vec<SpokenEffect> {
        match &self.phase {
            Phase::SetUp(lay) => match lay.telling {
                Some((pile, card)) if card > 0 => self.tell_card(pile, card - 1),
                Some(_) | None => Vec::new(),
            },
            Phase::Judge(_) => self.not_true(now),
            Phase::Step(_) | Phase::Answered(_) | Phase::Which(..) | Phase::Ask(_) => self.repeat(),
            Phase::Marked(_)
            | Phase::Packet(..)
            | Phase::Where(_)
            | Phase::Verdict(_)
            | Phase::Done(_) => Vec::new(),
        }
    }

    fn repeat(&self) -> Vec<SpokenEffect> {
        let again = self.said.iter().cloned().map(SpokenEffect::Say);
        std::iter::once(SpokenEffect::Hush).chain(again).collect()
    }

    /// Says something new; what was still being said is cut off.
    fn say(&mut self, speech: Vec<Speech>) -> Vec<SpokenEffect> {
        self.said = speech;
        self.repeat()
    }

    fn along(&self, since: Millis, target: Option<Millis>) -> Along {
        Along {
            road: self.road.number,
            seed: self.road.seed,
            done: self.road.walked.len(),
            of: self.road.likely.max(self.road.walked.len() + 1),
            since,
            target,
            road_since: self.road_since,
        }
    }

    fn answer(&mut self, text: &str, now: Millis) -> Vec<SpokenEffect> {
        match &self.phase {
            Phase::Ask(ask) => {
                let question = ask.question.clone();
                self.mark(question, text, now)
            }
            Phase::Which(_, meant, told) => {
                let picked = text
                    .trim()
                    .parse::<usize>()
                    .ok()
                    .and_then(|n| meant.get(n.checked_sub(1)?).cloned());
                let told = told.clone();
                match picked {
                    None => {
                        let please = "Please press the number of the answer.";
                        let mut effects = self.say(vec![words::prompter(please)]);
                        effects.push(SpokenEffect::Unread(please.to_owned()));
                        effects
                    }
                    Some(Told::Reply(said)) => self.told(vec![said], now),
                    Some(Told::Way(at)) => self.commit(&told, Some(at), now),
                }
            }
            Phase::Packet(packet, rest) => {
                let (pile, rest) = (packet.pile, rest.clone());
                self.packet(pile, rest, text, now)
            }
            Phase::Where(lost) => {
                let lost = lost.clone();
                self.lost_at(&lost, text, now)
            }
            Phase::SetUp(_)
            | Phase::Step(_)
            | Phase::Answered(_)
            | Phase::Marked(_)
            | Phase::Judge(_)
            | Phase::Verdict(_)
            | Phase::Done(_) => Vec::new(),
        }
    }

    /// Another road, or the end.
    fn road_over(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let over = match (self.plan.minutes, self.plan.questions) {
            (Some(minutes), _) if now.0 >= u64::from(minutes) * 60_000 => true,
            // From a late step on there may be nothing left to ask.
            (_, Some(questions)) => {
                self.asked >= questions || self.plan.from.is_some() && self.asked_here == 0
            }
            (Some(_), None) => false,
            (None, None) => true,
        };
        if over || self.drill == Drill::Dress {
            return self.finish();
        }
        let number = self.road.number + 1;
        match begun(
            &self.routine,
            &self.plan,
            self.road.seed.wrapping_add(1),
            number,
        ) {
            Ok(road) => {
                self.road = road;
                self.draw = Draw::for_questions(self.plan.seed, number);
                self.asked_here = 0;
                self.times.clear();
                self.ahead = None;
                self.since = now;
                self.road_since = now;
                self.phase = self.set_up();
                Vec::new()
            }
            Err(_) => self.finish(),
        }
    }

    fn finish(&mut self) -> Vec<SpokenEffect> {
        let mut summary = sum_up(&self.routine, &self.plan, &self.answers, self.road.number);
        if let Some(whole) = self.wholes.last() {
            summary.went_well.insert(
                0,
                kept::whole_time("The whole routine", *whole, self.routine.running_time),
            );
        }
        self.phase = Phase::Done(summary.clone());
        vec![SpokenEffect::Hush, SpokenEffect::Finished(summary)]
    }
}

/// A road from the set-up, or from the step to begin from, with the cards laid as they lie there on the road of the seed.
fn begun(routine: &Routine, plan: &Plan, seed: u64, number: u32) -> Result<HandRoad, DrillFault> {
    let (road, before) = first_road(routine, plan, seed)?;
    HandRoad::new(routine, road.seed, number)
        .and_then(|hands| hands.laid_after(routine, &road.walked[..before]))
        .map_err(|fault| DrillFault::Road(fault.to_string()))
}

#[cfg(test)]
mod tests;
