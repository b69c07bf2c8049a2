//! Steps: what is shown and said, what the table tells, and on to the next.

use super::{Hands, MOST_OPTIONS, Phase, Told};
use crate::drill::question::Drill;
use crate::drill::say;
use crate::drill::spoken::prompt::{HandStep, Sound, Speech, SpokenEffect, Which};
use crate::drill::spoken::road::{Decided, HandRoad, Next};
use crate::drill::spoken::words;
use crate::roads::Sighted;
use crate::routine::{Millis, Scene, StopIndex, capital};
use std::sync::Arc;

impl Hands {
    /// Shows the next step, or asks how it ended.
    pub(super) fn next_step(&mut self, now: Millis) -> Vec<SpokenEffect> {
        self.since = now;
        self.rung = false;
        self.ahead = None;
        let Some(next) = &self.road.next else {
            let (judge, asks) = self.judging(now);
            self.wholes
                .push(Millis(now.0.saturating_sub(self.road_since.0)));
            self.phase = Phase::Judge(judge);
            let mut effects = vec![SpokenEffect::Play(Sound::Ask)];
            effects.extend(self.say(vec![asks]));
            return effects;
        };
        let (step, speech) = self.step(&self.road, next, now);
        self.phase = Phase::Step(step);
        self.say(speech)
    }

    /// A step as it is shown, and what is said.
    pub(super) fn step(
        &self,
        road: &HandRoad,
        next: &Next,
        now: Millis,
    ) -> (HandStep, Vec<Speech>) {
        let routine = &*self.routine;
        let scene = Scene {
            routine,
            world: &next.walked.after,
        };
        let heard = road.heard(next);
        let helped = self.drill == Drill::Hands;
        let Some(stop) = routine.stop(next.stop) else {
            return (self.empty_step(next.stop, now), Vec::new());
        };
        let spectator = words::said(scene, stop, &next.decided, &heard);
        let free = words::free(routine, stop, &next.decided);
        let title = say::heading(routine, stop);
        let mut speech = Vec::new();
        if helped {
            speech.push(words::reader(routine, title.trim_end_matches('.')));
        }
        speech.extend(spectator.iter().map(|said| words::spectator(routine, said)));
        let mut step = self.empty_step(next.stop, now);
        step.along.target = stop.target;
        if helped || matches!(next.decided, Decided::Spoken(_)) {
            step.word = words::word(scene, stop, &next.decided);
        }
        step.spectator = spectator;
        if helped {
            step.free = free;
            step.title = title;
            step.patter = words::patter(routine, road, next);
            step.handling = words::handling(routine, &next.walked, &heard, &next.decided);
            step.caution = stop.caution.clone();
        }
        (step, speech)
    }

    pub(super) fn empty_step(&self, stop: StopIndex, now: Millis) -> HandStep {
        HandStep::bare(self.drill, stop, self.along(now, None))
    }

    /// The hands have done the step: now the spectator may have something to answer.
    pub(super) fn step_done(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let took = Millis(now.0.saturating_sub(self.since.0));
        let routine = Arc::clone(&self.routine);
        let Some(next) = &self.road.next else {
            return self.next_step(now);
        };
        self.times.push((next.stop, took));
        let Some((stop, reply)) = routine
            .stop(next.stop)
            .and_then(|stop| Some((stop, stop.reply.as_ref()?)))
        else {
            return self.told(Vec::new(), now);
        };
        let answered = next.agreed.iter().find_map(|one| match one {
            Sighted::Reply(name, value) if *name == reply.name => Some(value.clone()),
            _ => None,
        });
        if let Some(value) = answered {
            let scene = Scene {
                routine: &routine,
                world: &next.walked.after,
            };
            let said = format!("{}.", capital(&say::value(scene, &value)));
            let mut step = self.empty_step(next.stop, now);
            step.word = words::short(scene, stop, &value).unwrap_or_default();
            step.spectator = Some(said.clone());
            if self.drill == Drill::Hands {
                step.title.clone_from(&reply.asks);
            }
            self.phase = Phase::Answered(step);
            return self.say(vec![words::spectator(&routine, &said)]);
        }
        let open = self.road.open_replies(&routine);
        if open.is_empty() || open.len() > MOST_OPTIONS {
            return self.told(Vec::new(), now);
        }
        let scene = self.road.scene(&routine);
        let options = open
            .iter()
            .map(|(_, value)| say::value(scene, value))
            .collect();
        let which = Which {
            along: self.along(now, None),
            text: reply.asks.clone(),
            options,
        };
        let meant = open
            .into_iter()
            .map(|(told, _)| Told::Reply(told))
            .collect();
        self.which(which, meant, Vec::new())
    }

    pub(super) fn which(
        &mut self,
        which: Which,
        meant: Vec<Told>,
        told: Vec<Sighted>,
    ) -> Vec<SpokenEffect> {
        // What the spectator is asked, the performer asks; only the way on is the prompter's question.
        let speech = match meant.first() {
            Some(Told::Way(_)) => vec![words::prompter(&which.text)],
            Some(Told::Reply(_)) | None => Vec::new(),
        };
        self.phase = Phase::Which(which, meant, told);
        let mut effects = vec![SpokenEffect::Play(Sound::Ask)];
        effects.extend(self.say(speech));
        effects
    }

    /// What the table could tell at this step was told; only the way on may still be open.
    pub(super) fn told(&mut self, told: Vec<Sighted>, now: Millis) -> Vec<SpokenEffect> {
        let routine = Arc::clone(&self.routine);
        if told.is_empty()
            && let Some(ahead) = self.ahead.take()
        {
            self.road = ahead;
            return self.after_step(now);
        }
        let ways = self.road.ways_on(&routine, &told);
        if (2..=MOST_OPTIONS).contains(&ways.len()) {
            let options = ways.iter().map(|at| say::title_of(&routine, *at)).collect();
            let which = Which {
                along: self.along(now, None),
                text: "Which way does it go on?".to_owned(),
                options,
            };
            return self.which(which, ways.into_iter().map(Told::Way).collect(), told);
        }
        self.commit(&told, None, now)
    }

    pub(super) fn commit(
        &mut self,
        told: &[Sighted],
        on: Option<StopIndex>,
        now: Millis,
    ) -> Vec<SpokenEffect> {
        // A road that cannot go on is over: how it ended is asked all the same.
        if self.road.commit(&self.routine, told, on).is_err() {
            self.road.next = None;
        }
        self.after_step(now)
    }
}
