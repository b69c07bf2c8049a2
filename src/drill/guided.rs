//! A session that goes by a guide: which road comes next, whether to ask at a step, and what.

use super::guide::{Guide, ROADS_LOOKED_AT, Topic, Why, asked_about, drawn, whole_run, with_luck};
use super::prompt::{DrillFault, Plan};
use super::question::{Drill, Kind, Question};
use super::say::choices_in_words;
use super::session::{Phase, Session};
use super::walk::{Walk, first_walk};
use crate::roads::{Draw, choice_label, choice_name};
use crate::routine::{Routine, StepId, StopIndex};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A guide at work in a session.
#[derive(Debug, Clone)]
pub(super) struct Guided {
    guide: Guide,
    /// How often each topic was asked in this session.
    asked: BTreeMap<Topic, u32>,
    /// Whether this road is a whole run.
    whole: bool,
    /// A branch of this road that was never practised, in words.
    branch: Option<String>,
}

impl Session {
    /// Begins a session that goes by a guide. The same plan, guide and events give the same session.
    ///
    /// # Errors
    /// As [`Session::new`].
    pub fn guided(routine: Arc<Routine>, plan: Plan, guide: Guide) -> Result<Self, DrillFault> {
        let mut session = Self::new(routine, plan)?;
        let mut guided = Guided {
            guide,
            asked: BTreeMap::new(),
            whole: false,
            branch: None,
        };
        let seed = session.plan.seed;
        session.walk = guided.road(&session.routine, &session.plan, seed, (1, false))?;
        session.guided = Some(guided);
        session.phase = Phase::Tell(session.opening());
        Ok(session)
    }

    /// Why the question on the screen is asked; none when no question is.
    #[must_use]
    pub fn why(&self) -> Option<Why> {
        match &self.phase {
            Phase::Ask(asked) | Phase::Aloud(asked, ..) => Some(asked.reason.clone()),
            Phase::Tell(_) | Phase::Shown(_) | Phase::Correct(_) | Phase::Done(_) => None,
        }
    }

    /// The next road of the session.
    pub(super) fn following_road(&mut self, number: u32) -> Result<Walk, DrillFault> {
        let whole = whole_run(self.roads + 1);
        let seed = self.walk.road.seed.wrapping_add(1);
        let mut walk = match &mut self.guided {
            Some(guided) => guided.road(&self.routine, &self.plan, seed, (number, whole))?,
            None => first_walk(&self.routine, &self.plan, seed, number)?,
        };
        // Where a road passed without a question, the next one tries at every step whether there is anything to ask at all.
        if self.barren > 0 {
            walk.asks.clear();
        }
        Ok(walk)
    }

    /// Something new to ask at this moment, and why.
    pub(super) fn next_to_ask(&mut self) -> Option<(Question, Why)> {
        let Some(guided) = &self.guided else {
            return self.next_question().map(|question| (question, Why::Lot));
        };
        let moment = self.walk.moment(&self.routine);
        let last = moment.last().or(moment.next()).map(|walked| walked.stop);
        let next = moment.next().map(|walked| walked.stop);
        let mut topics: Vec<(Drill, Kind)> = Vec::new();
        let mut worths: Vec<f64> = Vec::new();
        for drill in &self.plan.drills {
            for kind in super::asking::Moment::kinds(*drill) {
                let stops: Vec<StopIndex> = match kind {
                    Kind::Next | Kind::Line => next.into_iter().collect(),
                    Kind::Reckoning | Kind::Chosen | Kind::Reply => self.walk.road.walked
                        [..self.walk.done]
                        .iter()
                        .map(|walked| walked.stop)
                        .chain(next)
                        .collect(),
                    _ => last.into_iter().collect(),
                };
                let worth = stops
                    .iter()
                    .filter_map(|stop| guided.worth(&self.routine, *stop, *drill, *kind))
                    .reduce(f64::max);
                topics.push((*drill, *kind));
                worths.push(worth.unwrap_or(guided.guide.fresh));
            }
        }
        let mut order: Vec<(f64, (Drill, Kind))> = worths
            .into_iter()
            .map(|worth| with_luck(&mut self.draw, worth))
            .zip(topics)
            .collect();
        order.sort_by(|(a, _), (b, _)| b.total_cmp(a));
        for (_, (drill, kind)) in order {
            for repeat in [false, true] {
                if let Some(question) = self.question_of(drill, kind, repeat) {
                    let why = self.reason(&question);
                    return Some((question, why));
                }
            }
        }
        None
    }

    fn reason(&mut self, question: &Question) -> Why {
        let Some(guided) = &mut self.guided else {
            return Why::Lot;
        };
        let topic = Topic {
            step: question.key.step.clone(),
            drill: question.key.drill,
            kind: question.key.kind,
        };
        *guided.asked.entry(topic.clone()).or_insert(0) += 1;
        match (&guided.branch, guided.whole) {
            (Some(choice), _) => Why::Branch(choice.clone()),
            (None, true) => Why::WholeRun,
            (None, false) => guided.guide.why(&topic),
        }
    }
}

impl Guided {
    /// What a kind of question is worth at a stop; none where it was never asked there.
    fn worth(&self, routine: &Routine, stop: StopIndex, drill: Drill, kind: Kind) -> Option<f64> {
        let topic = Topic {
            step: routine.stop(stop)?.id.clone(),
            drill,
            kind,
        };
        let asked = self.asked.get(&topic).copied().unwrap_or(0);
        self.guide
            .topics
            .contains_key(&topic)
            .then(|| self.guide.worth(&topic, asked))
    }

    /// What the best question at a step is worth; what a step never asked about is worth is not known, and counts as new.
    fn step_worth(&self, step: &StepId, drills: &[Drill]) -> f64 {
        self.guide
            .topics
            .keys()
            .filter(|topic| topic.step == *step && drills.contains(&topic.drill))
            .map(|topic| {
                let asked = self.asked.get(topic).copied().unwrap_or(0);
                self.guide.worth(topic, asked)
            })
            .reduce(f64::max)
            .unwrap_or(self.guide.fresh)
    }

    /// What a question of the next road is worth about: the mean of the best at the steps that such a road asks about.
    pub fn turn_worth(&self, routine: &Routine, drills: &[Drill]) -> f64 {
        let mut worths: Vec<f64> = routine
            .stops
            .iter()
            .map(|stop| self.step_worth(&stop.id, drills))
            .collect();
        worths.sort_by(|a, b| b.total_cmp(a));
        let asked = asked_about(&worths)
            .into_iter()
            .filter(|asked| *asked)
            .count();
        #[expect(clippy::cast_precision_loss, reason = "a number of steps")]
        let count = asked.max(1) as f64;
        worths.iter().take(asked).sum::<f64>() / count
    }

    /// Draws a road out of a few: the more its steps are worth, the likelier. It gets this number, and is a whole run or not.
    fn road(
        &mut self,
        routine: &Routine,
        plan: &Plan,
        seed: u64,
        (number, whole): (u32, bool),
    ) -> Result<Walk, DrillFault> {
        let mut walks = Vec::new();
        let mut worths = Vec::new();
        let mut lot = Draw::for_step(plan.seed, "as they choose", number);
        let seeds = self
            .guide
            .met
            .seeds(routine, seed, ROADS_LOOKED_AT, &mut lot);
        for seed in seeds {
            let walk = first_walk(routine, plan, seed, number)?;
            let ids = walk
                .road
                .walked
                .iter()
                .filter_map(|walked| Some(&routine.stop(walked.stop)?.id));
            let untried = self.untried(routine, &walk).is_some();
            worths.push(
                self.guide
                    .road(ids, untried, |step| self.step_worth(step, &plan.drills)),
            );
            walks.push(walk);
        }
        let mut draw = Draw::for_step(plan.seed, "the next road", number);
        let mut walk = walks.swap_remove(drawn(&mut draw, &worths));
        self.whole = whole;
        self.branch = self.untried(routine, &walk);
        if !whole {
            walk.asks = self.where_to_ask(routine, plan, &walk, &mut draw);
        }
        Ok(walk)
    }

    fn where_to_ask(
        &self,
        routine: &Routine,
        plan: &Plan,
        walk: &Walk,
        draw: &mut Draw,
    ) -> Vec<bool> {
        let stop_worth = |n: usize| {
            walk.road
                .walked
                .get(n)
                .and_then(|walked| routine.stop(walked.stop))
                .map(|stop| self.step_worth(&stop.id, &plan.drills))
        };
        // After n stops questions look back to the last of them and on to the next.
        let worths: Vec<f64> = (0..=walk.road.walked.len())
            .map(|n| {
                let back = n.checked_sub(1).and_then(stop_worth);
                let best = back.into_iter().chain(stop_worth(n)).fold(0.0, f64::max);
                with_luck(draw, best)
            })
            .collect();
        asked_about(&worths)
    }

    fn untried(&self, routine: &Routine, walk: &Walk) -> Option<String> {
        let choices: Vec<String> = walk
            .road
            .walked
            .iter()
            .filter_map(|walked| choice_label(routine, walked))
            .collect();
        let untried = self.guide.untried(choices.iter().map(String::as_str))?;
        // How often it goes round is told by all its visits.
        let visits: Vec<String> = choices
            .iter()
            .filter(|choice| choice_name(choice) == choice_name(untried))
            .cloned()
            .collect();
        let told = choices_in_words(routine, &visits);
        told.into_iter().next()
    }
}
