//! Steps told, before the stray and after it; and how the road ends with the table as the performer left it.

use super::{Phase, Rescue, Then, telling};
use crate::drill::heard::open_line;
use crate::drill::question::Drill;
use crate::drill::say;
use crate::drill::sighting::seen_in_words;
use crate::drill::spoken::prompt::{HandStep, RescueTold, Sound, Speech, SpokenEffect};
use crate::drill::spoken::road::Decided;
use crate::drill::spoken::words;
use crate::roads::{Draw, Sighted, Walked, broken_claims, domain, take};
use crate::routine::{Fault, Millis, Scene, Seen, World};
use std::sync::Arc;

/// No road after a stray is followed further.
const LONGEST: usize = 400;

/// The road after the stray.
#[derive(Debug, Clone, Default)]
pub(super) struct Onward {
    /// The stops done since, in the ground's terms.
    pub walked: Vec<Walked>,
    /// The step being told.
    pub next: Option<Box<Walked>>,
}

impl Rescue {
    /// A step as it is shown, and what is said.
    pub(super) fn step(
        &self,
        walked: &Walked,
        heard: &[Sighted],
        now: Millis,
    ) -> (HandStep, Vec<Speech>) {
        let routine = self.ground.routine();
        let scene = Scene {
            routine,
            world: &walked.after,
        };
        let along = self.along(now, None);
        let mut shown = HandStep::bare(Drill::Rescue, walked.stop, along);
        let Some(stop) = self.routine.stop(walked.stop) else {
            return (shown, Vec::new());
        };
        let decided = match (&walked.choice, &stop.fork) {
            (Some((_, value)), Some(fork)) if fork.seen == Seen::All => {
                Decided::Spoken(value.clone())
            }
            (Some(_), _) => Decided::Free,
            (None, _) => Decided::Nobody,
        };
        shown.title = say::heading(routine, stop);
        shown.spectator = words::said(scene, stop, &decided, heard);
        shown.word = words::word(scene, stop, &decided);
        shown.patter = if open_line(routine, heard, stop) {
            stop.say.render(scene).unwrap_or_else(|_| stop.say.open())
        } else {
            stop.say.open()
        };
        shown.handling = words::handling(routine, walked, heard, &decided);
        shown.seen = seen_in_words(routine, walked);
        shown.caution.clone_from(&stop.caution);
        let mut speech = vec![words::reader(
            &self.routine,
            shown.title.trim_end_matches('.'),
        )];
        speech.extend(
            shown
                .spectator
                .iter()
                .map(|said| words::spectator(&self.routine, said)),
        );
        (shown, speech)
    }

    /// The road goes on with the table as it lies now.
    pub(super) fn go_on(&mut self, now: Millis) -> Vec<SpokenEffect> {
        self.onward = Onward::default();
        let from = self.mending.real.clone();
        self.goes_on(&from, now)
    }

    pub(super) fn after_step(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let Some(done) = self.onward.next.take() else {
            return self.next_road(now);
        };
        let after = done.after.clone();
        self.onward.walked.push(*done);
        self.done += 1;
        self.goes_on(&after, now)
    }

    fn goes_on(&mut self, world: &World, now: Millis) -> Vec<SpokenEffect> {
        self.since = now;
        let ground = Arc::clone(&self.ground);
        let over = !ground.is_own(world.at) || self.onward.walked.len() >= LONGEST;
        if over {
            return self.ended(world, now);
        }
        match self.walk_on(world) {
            Ok(walked) => {
                let before = self.road.walked.iter().take(self.until);
                let heard: Vec<Sighted> = before
                    .chain(&self.onward.walked)
                    .chain([&walked])
                    .flat_map(|walked| walked.sights.iter().cloned())
                    .collect();
                let (step, speech) = self.step(&walked, &heard, now);
                self.onward.next = Some(Box::new(walked));
                self.phase = Phase::After(step);
                self.say(speech)
            }
            Err(fault) => {
                let title = say::title_of(&self.routine, world.at);
                let lines = vec![format!(
                    "The road ends here: {title} can no longer be done ({fault})."
                )];
                self.tell_end("IT ENDS", lines, world, now)
            }
        }
    }

    /// The next step, its choice drawn as on any road.
    fn walk_on(&self, world: &World) -> Result<Walked, Fault> {
        let routine = self.ground.routine();
        let stop = routine
            .stop(world.at)
            .ok_or_else(|| Fault::Choice("nothing comes next".to_owned()))?;
        let before = self.road.walked.iter().take(self.until);
        let times = before
            .chain(&self.onward.walked)
            .filter(|walked| walked.stop == world.at)
            .count();
        let visit = u32::try_from(times + 1).unwrap_or(u32::MAX);
        let choice = domain(routine, world)?
            .map(|open| open.sample(&mut Draw::for_step(self.road.seed, &stop.id.0, visit)));
        let taken = take(routine, world, choice.as_ref())?;
        Ok(Walked {
            stop: world.at,
            visit,
            choice: stop.fork.as_ref().map(|fork| fork.name).zip(choice),
            before: world.clone(),
            after: taken.world,
            sights: taken.sights,
        })
    }

    fn ended(&mut self, world: &World, now: Millis) -> Vec<SpokenEffect> {
        let routine = self.ground.routine();
        let mut broken = Vec::new();
        let mut kept = 0;
        for walked in &self.onward.walked {
            let all = routine
                .stop(walked.stop)
                .map_or(0, |stop| stop.claims.len());
            match broken_claims(routine, walked) {
                Ok(claims) => {
                    kept += all - claims.len();
                    broken.extend(claims.iter().map(|claim| claim.words.clone()));
                }
                Err(fault) => broken.push(fault.to_string()),
            }
        }
        if broken.is_empty() {
            let lines = vec![if kept == 0 {
                "The road is over, and nothing was claimed at its end.".to_owned()
            } else {
                "The ending came true.".to_owned()
            }];
            return self.tell_end("TRUE", lines, world, now);
        }
        let mut lines = vec!["The ending did not come true this time.".to_owned()];
        lines.extend(broken.iter().map(|claim| format!("It was to be: {claim}.")));
        self.tell_end("NOT TRUE", lines, world, now)
    }

    fn tell_end(
        &mut self,
        word: &str,
        lines: Vec<String>,
        world: &World,
        now: Millis,
    ) -> Vec<SpokenEffect> {
        let speech: Vec<Speech> = lines
            .first()
            .map(|line| words::prompter(line))
            .into_iter()
            .collect();
        let told = RescueTold {
            along: self.along(now, None),
            right: None,
            word: word.to_owned(),
            lines,
            packets: telling::packets(&self.ground, "at the end", world),
        };
        self.phase = Phase::Told(told, Then::NextRoad);
        let mut effects = vec![SpokenEffect::Play(Sound::Done)];
        effects.extend(self.say(speech));
        effects
    }
}
