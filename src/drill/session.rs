//! A session: road after road, told step by step, with questions between.

use super::asking::{MOST_TABLES, Moment};
use super::doing;
use super::marking::{GIVEN_UP, Mark, mark};
use super::patter::differences;
use super::prompt::{Answered, Correction, DrillFault, Effect, Event, Line, Plan, Prompt, Tell};
use super::question::{Drill, Expected, Key, Kind, Question, Spot, Subject};
use super::say;
use super::summary::{Given, Summary, sum_up};
use super::tile::spreads;
use super::why::why;
use crate::knowing::Knowledge;
use crate::roads::{Draw, Road, Sighted, Walked, choice_label, sample};
use crate::routine::{Millis, Routine, Scene, StepId, StopIndex};
use std::collections::BTreeSet;
use std::sync::Arc;

/// How many questions a session has when the plan gives neither a number nor a time.
pub const USUAL_QUESTIONS: u32 = 20;

/// A missed question comes back after at least so many others.
const BACK_AFTER: u32 = 3;
/// And after at most so many more.
const BACK_WITHIN: u32 = 3;

/// So many roads without a question in a row, and there is nothing to ask.
const BARREN_ROADS: u32 = 3;

/// So many roads are tried to reach the step to begin from.
const ROADS_TO_STEP: u64 = 64;

/// The road being walked, and what the performer has seen and heard of it.
#[derive(Debug, Clone)]
struct Walk {
    /// From 1.
    number: u32,
    road: Road,
    knowledge: Knowledge,
    done: usize,
    sights: Vec<Sighted>,
    given: Vec<String>,
    choices: Vec<String>,
    /// Whether the line of the next step was asked for, so that it need not be told.
    line_known: bool,
    questions: u32,
}

impl Walk {
    fn new(routine: &Routine, road: Road, number: u32) -> Self {
        Self {
            number,
            road,
            knowledge: Knowledge::at_start(routine, MOST_TABLES),
            done: 0,
            sights: Vec::new(),
            given: Vec::new(),
            choices: Vec::new(),
            line_known: false,
            questions: 0,
        }
    }

    fn next(&self) -> Option<&Walked> {
        self.road.walked.get(self.done)
    }

    /// Takes in the next stop.
    fn go(&mut self, routine: &Routine) {
        let Some(walked) = self.road.walked.get(self.done) else {
            return;
        };
        self.knowledge.follow(routine, walked);
        self.sights.extend(walked.sights.iter().cloned());
        self.given.extend(say::sightings(routine, walked));
        self.choices.extend(choice_label(routine, walked));
        self.done += 1;
    }

    fn moment<'a>(&'a self, routine: &'a Routine) -> Moment<'a> {
        Moment {
            routine,
            walked: &self.road.walked,
            done: self.done,
            knowledge: &self.knowledge,
            sights: &self.sights,
        }
    }
}

/// A missed question that comes back.
#[derive(Debug, Clone)]
struct Returning {
    /// When so many questions have been answered.
    due: u32,
    question: Question,
    done: Vec<Walked>,
}

/// What is on the screen.
#[derive(Debug, Clone)]
enum Phase {
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
struct Asked {
    question: Question,
    /// The steps done when it was asked.
    done: Vec<Walked>,
}

/// A session. Pure: the same plan and the same events give the same prompts and effects.
#[derive(Debug, Clone)]
pub struct Session {
    routine: Arc<Routine>,
    plan: Plan,
    walk: Walk,
    draw: Draw,
    phase: Phase,
    answers: Vec<Given>,
    returning: Vec<Returning>,
    asked_before: BTreeSet<Key>,
    /// Step and kind of the question before, on this road.
    last: Option<(StepId, Kind)>,
    /// How often each drill and kind was asked.
    asked_kinds: Vec<(Drill, Kind)>,
    barren: u32,
    time_up: bool,
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

    /// How many questions have been answered.
    #[must_use]
    pub fn answered(&self) -> u32 {
        u32::try_from(self.answers.len()).unwrap_or(u32::MAX)
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

    fn elapsed(&mut self, so_far: Millis) -> Vec<Effect> {
        let Some(minutes) = self.plan.minutes else {
            return Vec::new();
        };
        if so_far.0 < u64::from(minutes) * 60_000 {
            return Vec::new();
        }
        self.time_up = true;
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

    fn enough(&self) -> bool {
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
        if let Some(at) = self
            .returning
            .iter()
            .position(|back| back.due <= self.answered())
        {
            let back = self.returning.remove(at);
            self.walk.questions += 1;
            self.phase = Phase::Ask(Box::new(Asked {
                question: back.question,
                done: back.done,
            }));
            return Vec::new();
        }
        if fresh && let Some(question) = self.next_question() {
            self.asked_before.insert(question.key.clone());
            self.asked_kinds
                .push((question.key.drill, question.key.kind));
            self.last = Some((question.key.step.clone(), question.key.kind));
            self.walk.questions += 1;
            self.walk.line_known = question.key.kind == Kind::Line;
            let done = self.walk.road.walked[..self.walk.done].to_vec();
            self.phase = Phase::Ask(Box::new(Asked { question, done }));
            return Vec::new();
        }
        if self.walk.next().is_some() {
            self.phase = Phase::Tell(self.telling());
            return Vec::new();
        }
        self.next_road()
    }

    fn next_road(&mut self) -> Vec<Effect> {
        self.barren = if self.walk.questions == 0 {
            self.barren + 1
        } else {
            0
        };
        if self.barren >= BARREN_ROADS {
            return self.finish();
        }
        let number = self.walk.number + 1;
        let seed = self.walk.road.seed.wrapping_add(1);
        match first_walk(&self.routine, &self.plan, seed, number) {
            Ok(walk) => {
                self.walk = walk;
                self.draw = Draw::for_questions(self.plan.seed, number);
                self.last = None;
                self.phase = Phase::Tell(self.opening());
                Vec::new()
            }
            Err(_) => self.finish(),
        }
    }

    fn finish(&mut self) -> Vec<Effect> {
        let summary = sum_up(&self.routine, &self.plan, &self.answers, self.walk.number);
        self.phase = Phase::Done(summary.clone());
        vec![Effect::Finished(summary)]
    }

    /// What is told before the first step shown: the set-up, or all that came before.
    fn opening(&self) -> Tell {
        let routine = &self.routine;
        let mut tell = self.blank_tell();
        if self.walk.done == 0 {
            tell.title = routine.title.clone();
            tell.handling = self
                .table()
                .iter()
                .filter_map(|spread| {
                    let count = i64::try_from(spread.count?).ok()?;
                    Some(format!(
                        "{} in {}.",
                        say::capital(&say::cards(count)),
                        say::pile(routine, spread.pile)
                    ))
                })
                .collect();
        } else {
            tell.title = "So far".to_owned();
            tell.seen = self.walk.given.clone();
        }
        tell
    }

    fn table(&self) -> Vec<super::tile::Spread> {
        let moment = self.walk.moment(&self.routine);
        moment.world().map_or_else(Vec::new, |world| {
            spreads(&self.routine, &self.walk.knowledge, world)
        })
    }

    fn blank_tell(&self) -> Tell {
        Tell {
            stop: None,
            title: String::new(),
            patter: String::new(),
            handling: Vec::new(),
            seen: Vec::new(),
            road: self.walk.number,
            done: self.walk.done,
            of: self.walk.road.walked.len(),
            seed: self.walk.road.seed,
            choices: self.walk.choices.clone(),
            table: self.table(),
        }
    }

    /// The next step, told: the table as it is before it.
    fn telling(&self) -> Tell {
        let mut tell = self.blank_tell();
        let Some(walked) = self.walk.next() else {
            return tell;
        };
        let routine = &self.routine;
        tell.stop = Some(walked.stop);
        tell.choices.extend(choice_label(routine, walked));
        let heard = self.heard_with(walked);
        if let Some(stop) = routine.stop(walked.stop) {
            tell.title = stop.title.clone();
            let scene = Scene {
                routine,
                world: &walked.after,
            };
            if !self.walk.line_known {
                tell.patter = super::answer::line(scene, walked.stop).unwrap_or_default();
            }
            let says = stop
                .fork
                .as_ref()
                .and_then(|fork| fork.says.render(scene).ok())
                .filter(|says| !says.is_empty());
            tell.seen.extend(says.map(|says| format!("They: “{says}”")));
        }
        tell.handling = doing::handling(routine, walked, &heard);
        // The first line is the title.
        tell.seen
            .extend(say::sightings(routine, walked).into_iter().skip(1));
        tell
    }

    fn heard_with(&self, walked: &Walked) -> Vec<Sighted> {
        let mut heard = self.walk.sights.clone();
        heard.extend(walked.sights.iter().cloned());
        heard
    }

    /// Something new to ask at this moment: the drill asked least so far, then the kind asked least, ties by lot.
    fn next_question(&mut self) -> Option<Question> {
        let mut drills = self.plan.drills.clone();
        drills.sort_unstable();
        drills.dedup();
        self.draw.shuffle(&mut drills);
        let drill_count =
            |drill: &Drill| self.asked_kinds.iter().filter(|(d, _)| d == drill).count();
        drills.sort_by_key(drill_count);
        // New questions first; then those that were asked on an earlier road.
        for repeat in [false, true] {
            for drill in &drills {
                let mut kinds = Moment::kinds(*drill).to_vec();
                self.draw.shuffle(&mut kinds);
                kinds
                    .sort_by_key(|kind| self.asked_kinds.iter().filter(|(_, k)| k == kind).count());
                for kind in kinds {
                    if let Some(question) = self.question_of(*drill, kind, repeat) {
                        return Some(question);
                    }
                }
            }
        }
        None
    }

    fn question_of(&mut self, drill: Drill, kind: Kind, repeat: bool) -> Option<Question> {
        let moment = self.walk.moment(&self.routine);
        let (last, before) = (&self.last, &self.asked_before);
        let found = moment.find(kind, &mut self.draw, |subject| {
            let key = key(&moment, drill, kind, subject);
            *last != Some((key.step.clone(), kind)) && (repeat || !before.contains(&key))
        });
        let (subject, expected) = found?;
        Some(self.worded(drill, kind, subject, expected))
    }

    fn worded(&self, drill: Drill, kind: Kind, subject: Subject, expected: Expected) -> Question {
        let routine = &self.routine;
        let moment = self.walk.moment(routine);
        let one_pile = moment.one_pile();
        let mut choices = self.walk.choices.clone();
        let mut given = self.walk.given.clone();
        let mut sights = self.walk.sights.clone();
        // A line goes with what is chosen at its own step.
        if let (Kind::Line, Some(next)) = (kind, moment.next()) {
            choices.extend(choice_label(routine, next));
            given.extend(say::sightings(routine, next));
            sights.extend(next.sights.iter().cloned());
        }
        let place = moment.last().or(moment.next());
        Question {
            key: key(&moment, drill, kind, &subject),
            text: say::question(routine, &subject, one_pile),
            answer_as: say::answer_as(routine, &expected, one_pile),
            given,
            expected_words: say::expected(routine, &expected),
            expected_keys: say::keys(routine, &expected),
            expected,
            subject,
            spot: Spot {
                road: self.walk.number,
                stop: place.map_or(StopIndex(0), |walked| walked.stop),
                visit: place.map_or(1, |walked| walked.visit),
                done: self.walk.done,
            },
            sights,
            seed: self.walk.road.seed,
            choices,
            one_pile,
            again: false,
        }
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

    fn line(&self, question: &Question, line: &str, typed: &str) -> Line {
        let mut heard = question.sights.clone();
        let handling = self
            .walk
            .next()
            .filter(|next| Subject::Line(next.stop) == question.subject)
            .or_else(|| {
                self.walk
                    .road
                    .walked
                    .iter()
                    .find(|walked| Subject::Line(walked.stop) == question.subject)
            })
            .map_or_else(Vec::new, |next| {
                heard.extend(next.sights.iter().cloned());
                doing::handling(&self.routine, next, &heard)
            });
        let aloud = typed.is_empty();
        Line {
            question: question.clone(),
            line: line.to_owned(),
            handling,
            words: if aloud {
                Vec::new()
            } else {
                differences(typed, line)
            },
            aloud,
        }
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
            again: question.again,
            total,
        });
        Effect::Keep(Answered {
            routine: self.routine.title.clone(),
            content_hash: self.routine.content_hash.clone(),
            setup: self.routine.setup,
            step: question.key.step.clone(),
            drill: question.key.drill,
            kind: question.key.kind.word().to_owned(),
            detail: question.key.detail.clone(),
            question: question.text.clone(),
            stated: question.given.clone(),
            seed: question.seed,
            choices: question.choices.clone(),
            expected: question.expected_words.clone(),
            given: text.trim().to_owned(),
            right,
            again: question.again,
            first_key,
            total,
        })
    }

    fn correct(&mut self, asked: &Asked, text: &str) {
        let routine = &Arc::clone(&self.routine);
        let question = asked.question.clone();
        let words = match &question.expected {
            Expected::Line(line) if !GIVEN_UP.contains(&text.trim().to_lowercase().as_str()) => {
                differences(text, line)
            }
            _ => Vec::new(),
        };
        self.come_back(asked);
        self.phase = Phase::Correct(Correction {
            given: text.trim().to_owned(),
            expected: question.expected.clone(),
            answer: question.expected_words.clone(),
            why: why(routine, &question, &asked.done),
            packet: packet(routine, &asked.question, &asked.done),
            words,
            question,
        });
    }

    /// A missed question comes back once, after a few others.
    fn come_back(&mut self, asked: &Asked) {
        if asked.question.again {
            return;
        }
        let mut due = self.answered()
            + BACK_AFTER
            + u32::try_from(self.draw.below(u64::from(BACK_WITHIN) + 1)).unwrap_or(0);
        let latest = self.answered() + BACK_AFTER + BACK_WITHIN;
        // Two that come back do not come in one go, if that can be helped.
        while due < latest && self.returning.iter().any(|back| back.due == due) {
            due += 1;
        }
        let mut question = asked.question.clone();
        question.again = true;
        self.returning.push(Returning {
            due,
            question,
            done: asked.done.clone(),
        });
    }
}

/// The piles that a question is about, as they were known when it was asked.
fn packet(routine: &Routine, question: &Question, done: &[Walked]) -> Vec<super::tile::Spread> {
    match question.key.drill {
        Drill::Picture => {}
        Drill::Order | Drill::Reckon | Drill::Lines => return Vec::new(),
    }
    let mut knowledge = Knowledge::at_start(routine, MOST_TABLES);
    for walked in done {
        knowledge.follow(routine, walked);
    }
    let start;
    let world = match done.last() {
        Some(last) => &last.after,
        None => {
            start = crate::roads::unknown_start(routine);
            &start
        }
    };
    let of = match (&question.subject, &question.expected) {
        (
            Subject::CardAt(pile, _)
            | Subject::TraitAt(pile, ..)
            | Subject::FacingAt(pile, _)
            | Subject::HowMany(pile)
            | Subject::FaceUp(pile)
            | Subject::Pattern { pile, .. }
            | Subject::Follows { pile, .. },
            _,
        )
        | (_, Expected::Place(pile, _) | Expected::Pile(pile)) => Some(*pile),
        (_, _) => None,
    };
    let mut spreads = spreads(routine, &knowledge, world);
    if let Some(of) = of {
        spreads.retain(|spread| spread.pile == of);
    }
    spreads
}

/// What makes a question at this moment the same as another.
fn key(moment: &Moment<'_>, drill: Drill, kind: Kind, subject: &Subject) -> Key {
    let routine = moment.routine;
    let next = || moment.next().map(|walked| walked.stop);
    let stop = match subject {
        Subject::Next | Subject::Line(_) => next(),
        Subject::Remembered(name) => say::made_at(routine, *name).map(|(stop, _)| stop),
        _ => moment.last().map(|walked| walked.stop).or_else(next),
    };
    let step = stop
        .and_then(|stop| routine.stop(stop))
        .map_or_else(|| StepId("".into()), |stop| stop.id.clone());
    Key {
        step,
        drill,
        kind,
        detail: say::detail(routine, subject),
    }
}

/// A road for this session, begun: from the first step, or with everything done that comes before the step to begin from.
fn first_walk(routine: &Routine, plan: &Plan, seed: u64, number: u32) -> Result<Walk, DrillFault> {
    let from = match &plan.from {
        Some(step) => Some(
            routine
                .find_step(&step.0)
                .ok_or_else(|| DrillFault::NoStep(step.clone()))?,
        ),
        None => None,
    };
    for tried in 0..ROADS_TO_STEP {
        let road = sample(routine, seed.wrapping_add(tried))
            .map_err(|fault| DrillFault::Road(fault.to_string()))?;
        let Some(from) = from else {
            return Ok(Walk::new(routine, road, number));
        };
        if let Some(before) = road.walked.iter().position(|walked| walked.stop == from) {
            let mut walk = Walk::new(routine, road, number);
            for _ in 0..before {
                walk.go(routine);
            }
            return Ok(walk);
        }
    }
    Err(DrillFault::NotReached(
        plan.from.clone().unwrap_or_else(|| StepId("".into())),
    ))
}
