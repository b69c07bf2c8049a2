//! The state of the screen: everything that a frame is drawn from.

use super::after::ToldShow;
use super::after_view::After;
use super::keys::Place;
use super::live::Live;
use super::progress::Looking;
use super::proven::{News, Proven};
use super::shelf::{Begun, Shelved, Standing};
use super::sound::Knob;
use super::theme::Theme;
use super::walk::Walk;
use super::watch::Watch;
use crate::coach::Progress;
use crate::drill::{
    Answered, Drill, Interleaved, Line, Plan, Prompt, Sound, Speech, Spoken, Summary, Tell,
};
use crate::routine::{Millis, StepId};
use chrono::NaiveDate;
use crossterm::event::KeyEvent;
use std::sync::Arc;

/// What a rehearsal is made of, unless a key asks for something else.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terms {
    /// The drills; none named means all.
    pub drills: Vec<Drill>,
    /// Stop after so many questions.
    pub questions: Option<u32>,
    /// Stop when so many minutes are over.
    pub minutes: Option<u32>,
    /// The seed of the next rehearsal's first road.
    pub seed: u64,
    /// Begin at this step.
    pub from: Option<StepId>,
}

/// The size of a screen before it was drawn.
const USUAL_SIZE: (u16, u16) = (80, 24);

/// The length of a rehearsal when nobody said otherwise.
const USUAL_MINUTES: u32 = 10;

impl Terms {
    /// Every drill, the usual length.
    #[must_use]
    pub fn usual(seed: u64) -> Self {
        Self {
            drills: Vec::new(),
            questions: None,
            minutes: None,
            seed,
            from: None,
        }
    }
    /// The plan for a rehearsal on these terms.
    #[must_use]
    pub fn plan(&self) -> Plan {
        let drills = if self.drills.is_empty() {
            Drill::ASKED.to_vec()
        } else {
            self.drills.clone()
        };
        let mut plan = Plan {
            drills,
            questions: self.questions,
            minutes: self.minutes,
            seed: self.seed,
            from: self.from.clone(),
        };
        // A spoken rehearsal goes down one road to its end.
        if plan.questions.is_none() && plan.minutes.is_none() && Spoken::drill(&plan).is_none() {
            plan.minutes = Some(USUAL_MINUTES);
        }
        plan
    }
}

/// A rehearsal on the screen.
#[derive(Debug, Clone)]
pub struct Rehearsal {
    /// Which routines of the shelf, in the order in which the session has them.
    pub which: Vec<usize>,
    /// The session.
    pub session: Interleaved,
    /// The beginnings of routines whose turn has not come yet, in the same order.
    pub to_begin: Vec<Option<Begun>>,
    /// What it shows now.
    pub prompt: Prompt,
    /// The last step told: where we are on the road.
    pub told: Option<Tell>,
    /// Which stops of this road were forks, from the first to the last told.
    pub trail: Vec<bool>,
    /// The answer as typed so far.
    pub input: String,
    /// Times the answer.
    pub watch: Watch,
    /// Pauses not counted, so much of the session is over.
    pub spent: Watch,
    /// Set while the performer pauses.
    pub paused: bool,
    /// What to type instead, when an answer could not be read.
    pub unread: Option<String>,
    /// Answers so far: how many, and how many of them right.
    pub tally: (u32, u32),
    /// Answers that could not be kept.
    pub lost: u32,
    /// Whether the word about resting the hands was said.
    pub rested: bool,
}

impl Rehearsal {
    /// The routine of the shelf whose road is being walked.
    #[must_use]
    pub fn turn(&self) -> usize {
        let first = self.which.first().copied().unwrap_or(0);
        self.which
            .get(self.session.turn())
            .copied()
            .unwrap_or(first)
    }
}

/// The summary on the screen.
#[derive(Debug, Clone)]
pub struct Ended {
    /// Which routines of the shelf.
    pub which: Vec<usize>,
    /// How it went.
    pub summary: Summary,
    /// Answers that could not be kept.
    pub lost: u32,
    /// How long it took, pauses not counted.
    pub spent: Millis,
}

/// What the screen shows.
#[derive(Debug, Clone)]
pub enum Page {
    /// The start screen.
    Foyer,
    /// Learning a routine step by step.
    Walk(Box<Walk>),
    /// A rehearsal.
    Rehearsal(Box<Rehearsal>),
    /// A spoken rehearsal.
    Live(Box<Live>),
    /// After it.
    Ended(Box<Ended>),
    /// How a routine's steps and weeks stand.
    Progress(Box<Looking>),
    /// After a performance.
    After(Box<After>),
}

/// The state of the screen.
#[derive(Debug, Clone)]
pub struct State {
    /// The look.
    pub theme: Theme,
    /// The routines.
    pub shelf: Vec<Shelved>,
    /// The routine pointed at.
    pub chosen: usize,
    /// What a rehearsal is made of.
    pub terms: Terms,
    /// What is shown.
    pub page: Page,
    /// Rows of the help page scrolled past, when it is shown.
    pub help: Option<u16>,
    /// Something to be told at the foot of the screen until the next key.
    pub notice: Option<String>,
    /// Columns and rows of the screen.
    pub size: (u16, u16),
    /// Whether the program was started for one rehearsal: leaving its summary leaves the program.
    pub alone: bool,
}

impl State {
    /// The foyer.
    #[must_use]
    pub fn foyer(theme: Theme, shelf: Vec<Shelved>, terms: Terms) -> Self {
        // The routine rehearsed last is pointed at first.
        let chosen = (0..shelf.len())
            .filter(|&n| shelf[n].standing.days.is_some())
            .min_by_key(|&n| shelf[n].standing.days)
            .unwrap_or(0);
        Self {
            theme,
            shelf,
            chosen,
            terms,
            page: Page::Foyer,
            help: None,
            notice: None,
            size: USUAL_SIZE,
            alone: false,
        }
    }
    /// Whether the ending of a routine of the shelf is proved.
    pub(super) fn proven(&self, which: usize) -> Proven {
        self.shelf
            .get(which)
            .map_or(Proven::NotYet, |shelved| shelved.proven)
    }
    /// Where we are, as far as keys go.
    #[must_use]
    pub fn place(&self) -> Place {
        if self.help.is_some() {
            return Place::Help;
        }
        match &self.page {
            Page::Foyer => Place::Foyer,
            Page::Walk(_) => Place::Walk,
            Page::Ended(_) => Place::Summary,
            Page::Progress(_) => Place::Progress,
            Page::After(_) => Place::After,
            Page::Live(live) => live.place(),
            Page::Rehearsal(rehearsal) if rehearsal.paused => Place::Paused,
            Page::Rehearsal(rehearsal) => match &rehearsal.prompt {
                Prompt::Tell(_) | Prompt::Done(_) => Place::Told,
                Prompt::Ask(_) => Place::Asked,
                Prompt::Line(Line { aloud: true, .. }) => Place::Aloud,
                Prompt::Correct(_) | Prompt::Line(_) => Place::Shown,
            },
        }
    }
}

/// What happens to the screen. Times are of one monotonic clock.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// A key.
    Key(KeyEvent, Millis),
    /// The screen has so many columns and rows.
    Sized(u16, u16),
    /// The state, as it is now, is on the screen.
    Drawn(Millis),
    /// Time goes by.
    Tick(Millis),
    /// Everything that was to be said has been said, or cannot be heard; since when.
    Spoken(Millis),
    /// The program sleeps from now, until [`Event::Woken`].
    Slept(Millis),
    /// The program goes on.
    Woken(Millis),
    /// An answer could not be kept, and why.
    NotKept(Arc<str>),
    /// How a routine stands now.
    Stands(usize, Box<Standing>),
    /// Whether a routine's ending is proved.
    Proven(News),
    /// The routine of this index was performed; today is this day.
    Performed(usize, NaiveDate),
    /// What was told of a show is kept, and what to say of it; or why it is not.
    ShowKept(Result<String, String>),
    /// All there is to look at of a routine.
    Looked(usize, Option<Box<Progress>>),
}

/// What is to be done outside.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// A rehearsal begins.
    Begin(Begun),
    /// Keep this answer.
    Keep(Answered),
    /// The rehearsal is over.
    End,
    /// The routine of this index was performed: ask what day it is.
    Today(usize),
    /// Keep what was told of a performance.
    KeepShow(ToldShow),
    /// Find out how the routine of this index stands.
    Stand(usize),
    /// Gather all there is to look at of the routine of this index.
    Look(usize),
    /// Say this aloud, after what is being said.
    Say(Speech),
    /// This will probably be said soon.
    Ahead(Vec<Speech>),
    /// Play this.
    Play(Sound),
    /// Be quiet at once.
    Hush,
    /// Louder, quieter, faster, slower.
    Turn(Knob),
    /// What is shown has changed with the time alone.
    Redraw,
    /// Put the program to sleep.
    Suspend,
    /// Leave the program.
    Leave,
}
