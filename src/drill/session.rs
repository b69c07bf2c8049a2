//! A session: road after road, told step by step, with questions between.

use super::correcting::packet;
use super::guide::Why;
use super::guided::Guided;
use super::interleaved::Among;
use super::marking::{GIVEN_UP, Mark, mark};
use super::prompt::Correction;
use super::prompt::{Answered, DrillFault, Effect, Event, Line, Plan, Prompt, Tell};
use super::question::{Drill, Expected, Key, Kind, Question};
use super::summary::{Given, Summary, sum_up};
use super::tile::Spread;
use super::walk::{Walk, first_walk};
use crate::roads::{Draw, Road, Walked};
use crate::routine::{Millis, Routine, StepId};
use std::collections::BTreeSet;
use std::sync::Arc;

/// How many questions a session has when the plan gives neither a number nor a time.
pub const USUAL_QUESTIONS: u32 = 20;

/// So many roads without a question in a row, and there is nothing to ask.
const BARREN_ROADS: u32 = 3;

/// A missed question that comes back.
#[derive(Debug, Clone)]
pub(super) struct Returning {
    /// When so many questions have been answered.
    pub due: u32,
    pub question: Question,
    pub done: Vec<Walked>,
    pub packet: Vec<Spread>,
}

/// What is on the screen.
#[derive(Debug, Clone)]
pub(super) enum Phase {
    Tell(Tell),
    Ask(Box<Asked>),
    /// A line said aloud is shown; the times are those of the answer.
    Aloud(Box<Asked>, Line, Millis, Millis),
    Shown(Line),
    Correct(Correction),
    Done(Summary),
}

/// A question with what it takes to correct it.
#[derive(Debug, Clone)]
pub(super) struct Asked {
    pub question: Question,
    /// The steps done when it was asked.
    pub done: Vec<Walked>,
    /// The piles that it is about, as they were known then.
    pub packet: Vec<Spread>,
    /// Why it is asked.
    pub reason: Why,
}

/// A session. Pure: the same plan and the same events give the same prompts and effects.
#[derive(Debug, Clone)]
pub struct Session {
    pub(super) routine: Arc<Routine>,
    pub(super) plan: Plan,
    pub(super) walk: Walk,
    pub(super) draw: Draw,
    pub(super) phase: Phase,
    pub(super) answers: Vec<Given>,
    pub(super) returning: Vec<Returning>,
    pub(super) asked_before: BTreeSet<Key>,
    /// Step and kind of the question before, on this road.
    pub(super) last: Option<(StepId, Kind)>,
    /// How often each drill and kind was asked.
    pub(super) asked_kinds: Vec<(Drill, Kind)>,
    pub(super) barren: u32,
    pub(super) time_up: bool,
    /// So much time of the session is over.
    pub(super) so_far: Millis,
    /// What was missed and has not come once more at the end.
    pub(super) missed: Vec<Returning>,
    /// How many have.
    pub(super) closed: usize,
    pub(super) guided: Option<Guided>,
    /// Roads begun.
    pub(super) roads: u32,
    /// What it knows of the other routines of the same rehearsal, where it takes turns with them.
    pub(super) among: Option<Among>,
}

impl Session {
    /// Begins a session.
    ///
    /// # Errors
    /// When there is nothing to practise, no road can be walked, or the step to begin from cannot be reached.
    pub fn new(routine: Arc<Routine>, plan: Plan) -> Result<Self, DrillFault> {
        if plan.drills.is_empty() {
            return Err(DrillFault::NoDrill);
        }
        if let Some(alone) = plan
            .drills
            .iter()
            .find(|drill| !Drill::ASKED.contains(drill))
        {
            return Err(DrillFault::Alone(alone.word()));
        }
        let walk = first_walk(&routine, &plan, plan.seed, 1)?;
        let draw = Draw::for_questions(plan.seed, 1);
        let mut session = Self {
            routine,
            plan,
            walk,
            draw,
            phase: Phase::Done(Summary::default()),
            answers: Vec::new(),
            returning: Vec::new(),
            asked_before: BTreeSet::new(),
            last: None,
            asked_kinds: Vec::new(),
            barren: 0,
            time_up: false,
            so_far: Millis(0),
            missed: Vec::new(),
            closed: 0,
            guided: None,
            roads: 1,
            among: None,
        };
        session.phase = Phase::Tell(session.opening());
        Ok(session)
    }

    /// What to show now.
    #[must_use]
    pub fn prompt(&self) -> Prompt {
        match &self.phase {
            Phase::Tell(tell) => Prompt::Tell(tell.clone()),
            Phase::Ask(asked) => Prompt::Ask(asked.question.clone()),
            Phase::Aloud(_, line, ..) | Phase::Shown(line) => Prompt::Line(line.clone()),
            Phase::Correct(correction) => Prompt::Correct(correction.clone()),
            Phase::Done(summary) => Prompt::Done(summary.clone()),
        }
    }

    /// The routine.
    #[must_use]
    pub fn routine(&self) -> &Arc<Routine> {
        &self.routine
    }

    /// The plan.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// How many questions have been answered, of other routines of the same rehearsal too.
    #[must_use]
    pub fn answered(&self) -> u32 {
        let elsewhere = self.among.map_or(0, |among| among.answered);
        u32::try_from(self.answers.len())
            .unwrap_or(u32::MAX)
            .saturating_add(elsewhere)
    }

    /// The road being walked.
    #[must_use]
    pub fn road(&self) -> &Road {
        &self.walk.road
    }

    /// How many stops of the road are done.
    #[must_use]
    pub fn done(&self) -> usize {
        self.walk.done
    }

    /// Works out what can be known after the step that is being told, so that the question after it is there at once. To be called
    /// while the performer reads; it changes nothing that is shown or asked.
    pub fn work_ahead(&mut self) {
        if let Phase::Tell(tell) = &self.phase
            && tell.stop.is_some()
        {
            self.walk.look_ahead(&self.routine);
        }
    }

    /// Takes what the performer did. Events that do not fit what is on the screen change nothing.
    pub fn update(&mut self, event: Event) -> Vec<Effect> {
        match event {
            Event::Go => self.go(),
            Event::Answer {
                text,
                first_key,
                total,
            } => self.answer(&text, first_key, total),
            Event::Differed(differed) => self.differed(differed),
            Event::Elapsed(so_far) => self.elapsed(so_far),
            Event::Stop => match self.phase {
                Phase::Done(_) => Vec::new(),
                Phase::Tell(_)
                | Phase::Ask(_)
                | Phase::Aloud(..)
                | Phase::Shown(_)
                | Phase::Correct(_) => self.finish(),
            },
        }
    }

    fn go(&mut self) -> Vec<Effect> {
        match &self.phase {
            Phase::Tell(tell) => {
                if tell.stop.is_some() {
                    self.walk.go(&self.routine);
                    self.walk.line_known = false;
                }
                self.between(true)
            }
            Phase::Shown(_) | Phase::Correct(_) => self.between(false),
            Phase::Ask(_) | Phase::Aloud(..) | Phase::Done(_) => Vec::new(),
        }
    }

    /// Takes in how much time of the session is over.
    pub(super) fn note_time(&mut self, so_far: Millis) {
        self.so_far = so_far;
        if let Some(minutes) = self.plan.minutes {
            self.time_up |= so_far.0 >= u64::from(minutes) * 60_000;
        }
    }

    fn elapsed(&mut self, so_far: Millis) -> Vec<Effect> {
        self.note_time(so_far);
        if !self.time_up {
            return Vec::new();
        }
        // A question on the screen may still be answered, and a correction read.
        match &self.phase {
            Phase::Tell(_) => self.finish(),
            Phase::Ask(_)
            | Phase::Aloud(..)
            | Phase::Shown(_)
            | Phase::Correct(_)
            | Phase::Done(_) => Vec::new(),
        }
    }

    pub(super) fn enough(&self) -> bool {
        let limit = match (self.plan.questions, self.plan.minutes) {
            (Some(questions), _) => questions,
            (None, Some(_)) => u32::MAX,
            (None, None) => USUAL_QUESTIONS,
        };
        self.time_up || self.answered() >= limit
    }

    /// Between two things shown: a question that comes back, a new one (if `fresh`), or the next step.
    fn between(&mut self, fresh: bool) -> Vec<Effect> {
        if self.enough() {
            return self.finish();
        }
        if self.ask_again() {
            return Vec::new();
        }
        if let Some(among) = &mut self.among {
            among.moved = true;
            if among.visited {
                among.visited = false;
                return Vec::new();
            }
        }
        if fresh
            && self.walk.asks_here()
            && !self.among.is_some_and(|among| among.full)
            && let Some((question, reason)) = self.next_to_ask()
        {
            self.asked_before.insert(question.key.clone());
            self.asked_kinds
                .push((question.key.drill, question.key.kind));
            self.last = Some((question.key.step.clone(), question.key.kind));
            self.walk.questions += 1;
            self.walk.line_known = question.key.kind == Kind::Line;
            let done = self.walk.road.walked[..self.walk.done].to_vec();
            let packet = packet(&question, &self.walk.moment(&self.routine));
            self.phase = Phase::Ask(Box::new(Asked {
                question,
                done,
                packet,
                reason,
            }));
            return Vec::new();
        }
        if self.walk.next().is_some() {
            self.phase = Phase::Tell(self.telling());
            return Vec::new();
        }
        self.next_road()
    }

    /// Asks what was missed once more, if it is time for that.
    pub(super) fn ask_again(&mut self) -> bool {
        let answered = self.answered();
        let asked = match self.closing_question() {
            Some(asked) => asked,
            None => match self.returning.iter().position(|back| back.due <= answered) {
                Some(at) => {
                    let back = self.returning.remove(at);
                    Asked {
                        question: back.question,
                        done: back.done,
                        packet: back.packet,
                        reason: Why::Back,
                    }
                }
                None => return false,
            },
        };
        self.walk.questions += 1;
        self.phase = Phase::Ask(Box::new(asked));
        true
    }

    fn next_road(&mut self) -> Vec<Effect> {
        self.barren = if self.walk.questions == 0 {
            self.barren + 1
        } else {
            0
        };
        if let Some(among) = &mut self.among {
            among.waits = true;
            return Vec::new();
        }
        if !self.barren() && self.set_out(self.walk.number + 1) {
            return Vec::new();
        }
        self.finish()
    }

    /// Whether there seems to be nothing to ask.
    pub(super) fn barren(&self) -> bool {
        self.barren >= BARREN_ROADS
    }

    /// Begins another road, under this number. False where none can be walked.
    pub(super) fn set_out(&mut self, number: u32) -> bool {
        let Ok(walk) = self.following_road(number) else {
            return false;
        };
        self.walk = walk;
        self.roads += 1;
        self.draw = Draw::for_questions(self.plan.seed, number);
        self.last = None;
        self.phase = Phase::Tell(self.opening());
        true
    }

    fn finish(&mut self) -> Vec<Effect> {
        let summary = sum_up(&self.routine, &self.plan, &self.answers, self.roads);
        self.phase = Phase::Done(summary.clone());
        vec![Effect::Finished(summary)]
    }

    fn answer(&mut self, text: &str, first_key: Millis, total: Millis) -> Vec<Effect> {
        let Phase::Ask(asked) = &self.phase else {
            return Vec::new();
        };
        let asked = asked.clone();
        let question = &asked.question;
        if let (Expected::Line(line), true) = (&question.expected, text.trim().is_empty()) {
            let shown = self.line(question, line, "");
            self.phase = Phase::Aloud(asked, shown, first_key, total);
            return Vec::new();
        }
        match mark(&self.routine, question, text) {
            Mark::Unread => vec![Effect::Unread(format!(
                "Please answer with {}. If you do not know, type {}",
                question.answer_as, GIVEN_UP[0]
            ))],
            Mark::Right => {
                let kept = self.keep(question, text, true, first_key, total);
                let mut effects = vec![kept];
                if let Expected::Line(line) = &question.expected {
                    self.phase = Phase::Shown(self.line(question, line, text));
                } else {
                    effects.extend(self.between(false));
                }
                effects
            }
            Mark::Wrong => {
                let kept = self.keep(question, text, false, first_key, total);
                self.correct(&asked, text);
                vec![kept]
            }
        }
    }

    fn differed(&mut self, differed: bool) -> Vec<Effect> {
        let Phase::Aloud(asked, _, first_key, total) = &self.phase else {
            return Vec::new();
        };
        let (asked, first_key, total) = (asked.clone(), *first_key, *total);
        let kept = self.keep(&asked.question, "(said aloud)", !differed, first_key, total);
        let mut effects = vec![kept];
        if differed {
            self.come_back(&asked);
        }
        // The real line has just been on the screen; nothing more is shown.
        effects.extend(self.between(false));
        effects
    }

    fn keep(
        &mut self,
        question: &Question,
        text: &str,
        right: bool,
        first_key: Millis,
        total: Millis,
    ) -> Effect {
        self.answers.push(Given {
            step: question.key.step.clone(),
            drill: question.key.drill,
            kind: question.key.kind,
            right,
            // What comes once more at the end was counted when it came back.
            again: question.again && self.closed == 0,
            total,
        });
        Effect::Keep(Answered::to(
            &self.routine,
            question,
            text,
            right,
            (first_key, total),
        ))
    }
}
