//! A spoken rehearsal on the screen: its state, and what happens to it. No clock, no disk, no sound.

use super::keys::{Act, Place};
use super::shelf::{Begun, Shelved};
use super::state::{Effect, Ended, Page, State, Terms};
use super::watch::Watch;
use crate::coach::Hold;
use crate::drill::{
    Deed, DrillFault, HandQuestion, Help, LineCue, Performer, Saying, Spoken, SpokenEffect,
    SpokenPrompt, Strays,
};
use crate::routine::{Millis, StepId};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use std::sync::Arc;

/// The longest packet or answer typed.
const LONGEST: usize = 400;

/// A spoken rehearsal on the screen.
#[derive(Debug, Clone)]
pub struct Live {
    /// Which routine of the shelf.
    pub which: usize,
    /// The session.
    pub session: Spoken,
    /// What it shows now.
    pub prompt: SpokenPrompt,
    /// What is typed so far.
    pub input: String,
    /// The time of the rehearsal, pauses not counted.
    pub spent: Watch,
    /// That time, as last looked at: what a countdown is drawn from.
    pub now: Millis,
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
    /// Whether what comes next has been asked to be made ahead.
    pub ahead: bool,
}

impl Live {
    /// Begins a spoken rehearsal of a routine of the shelf.
    ///
    /// # Errors
    /// When it cannot begin.
    pub fn begin(
        which: usize,
        shelved: &Shelved,
        terms: &Terms,
    ) -> Result<(Self, Begun), DrillFault> {
        let plan = shelved.aimed(terms.plan());
        let begun = Begun {
            name: shelved.name.clone(),
            content_hash: shelved.routine.content_hash.clone(),
            setup: shelved.routine.setup,
            seed: plan.seed,
            drills: plan.drills.clone(),
            plain: false,
        };
        let session = Spoken::new(Arc::clone(&shelved.routine), plan, performer(shelved))?;
        let live = Self {
            which,
            prompt: session.prompt(),
            session,
            input: String::new(),
            spent: Watch::new(),
            now: Millis(0),
            paused: false,
            unread: None,
            tally: (0, 0),
            lost: 0,
            rested: false,
            ahead: false,
        };
        Ok((live, begun))
    }

    /// Where we are, as far as keys go.
    #[must_use]
    pub fn place(&self) -> Place {
        if self.paused {
            return Place::Paused;
        }
        match &self.prompt {
            SpokenPrompt::SetUp(lay) if lay.piles.is_empty() => Place::Unaided,
            SpokenPrompt::SetUp(lay) if lay.telling.is_some() => Place::Dictated,
            SpokenPrompt::SetUp(_) => Place::Laying,
            SpokenPrompt::Step(_) => Place::Doing,
            SpokenPrompt::Which(_) => Place::Choosing,
            SpokenPrompt::Ask(_) => Place::Quick,
            SpokenPrompt::Judge(_) => Place::Judging,
            SpokenPrompt::Stray(_) => Place::Astray,
            SpokenPrompt::Packet(_)
            | SpokenPrompt::Where(_)
            | SpokenPrompt::Mend(_)
            | SpokenPrompt::WhereNow(_) => Place::Typing,
            SpokenPrompt::Opening(_) => Place::Opening,
            SpokenPrompt::Line(LineCue {
                at: Saying::Cue, ..
            }) => Place::Cued,
            SpokenPrompt::Line(LineCue {
                at: Saying::Said, ..
            }) => Place::Saying,
            SpokenPrompt::Real(_) => Place::Real,
            SpokenPrompt::Reading(_) => Place::Reading,
            SpokenPrompt::Marked(_)
            | SpokenPrompt::Rescue(_)
            | SpokenPrompt::Verdict(_)
            | SpokenPrompt::Read(_)
            | SpokenPrompt::Done(_) => Place::Noted,
        }
    }

    /// Stops the time.
    pub fn pause(&mut self, now: Millis) -> Vec<Effect> {
        self.spent.pause(now);
        vec![Effect::Hush]
    }

    /// Goes on; what was being said when it stopped is said again.
    pub fn resume(&mut self, now: Millis) -> Vec<Effect> {
        self.spent.resume(now);
        match self.place() {
            Place::Doing | Place::Cued | Place::Reading | Place::Quick => {
                let (effects, _) = self.take(&Deed::Back, now);
                effects
            }
            _ => Vec::new(),
        }
    }

    /// Hands a deed to the session. Gives the effects and, at the end, the summary's page.
    fn take(&mut self, deed: &Deed, now: Millis) -> (Vec<Effect>, Option<Ended>) {
        let time = self.spent.passed(now);
        self.now = time;
        let mut effects = Vec::new();
        let mut ended = None;
        let mut unread = None;
        for effect in self.session.update(deed, time) {
            match effect {
                SpokenEffect::Say(speech) => effects.push(Effect::Say(speech)),
                SpokenEffect::Play(sound) => effects.push(Effect::Play(sound)),
                SpokenEffect::Hush => effects.push(Effect::Hush),
                SpokenEffect::Keep(answered) => {
                    self.tally.0 += 1;
                    self.tally.1 += u32::from(answered.right);
                    effects.push(Effect::Keep(answered));
                }
                SpokenEffect::Unread(how) => unread = Some(how),
                SpokenEffect::Finished(summary) => {
                    ended = Some(Ended {
                        which: vec![self.which],
                        summary,
                        lost: self.lost,
                        spent: time,
                    });
                }
            }
        }
        // Time that goes by, or speech that ends, takes nothing away of what is being typed.
        if !matches!(deed, Deed::Tick | Deed::Spoken) || !effects.is_empty() {
            self.input.clear();
            self.unread = unread;
            self.ahead = false;
        }
        self.prompt = self.session.prompt();
        (effects, ended)
    }
}

/// What is known of whoever rehearses.
pub(super) fn performer(shelved: &Shelved) -> Performer {
    Performer {
        helps: helps(shelved),
        strays: Strays::new(&shelved.standing.met, shelved.standing.guide.clone()),
    }
}

/// How much of each line's cue is given, by how well its step is held.
fn helps(shelved: &Shelved) -> Vec<(StepId, Help)> {
    shelved
        .routine
        .stops
        .iter()
        .map(|stop| {
            let help = match shelved.standing.line(&stop.id) {
                Hold::Untried | Hold::Shaky => Help::FirstWords,
                Hold::Steady => Help::Move,
                Hold::ShowReady => Help::Road,
            };
            (stop.id.clone(), help)
        })
        .collect()
}

/// Hands a deed to the spoken rehearsal on the screen.
pub(super) fn hand(state: &mut State, deed: &Deed, now: Millis) -> Vec<Effect> {
    let Page::Live(live) = &mut state.page else {
        return Vec::new();
    };
    let (mut effects, ended) = live.take(deed, now);
    if let Some(ended) = ended {
        effects.push(Effect::End);
        effects.extend(ended.which.iter().map(|which| Effect::Stand(*which)));
        state.page = Page::Ended(Box::new(ended));
    }
    effects
}

/// What an act does in a spoken rehearsal; `None` where it is nothing of its own.
pub(super) fn perform(state: &mut State, act: Act, now: Millis) -> Option<Vec<Effect>> {
    let Page::Live(live) = &mut state.page else {
        return None;
    };
    let deed = match act {
        Act::Go | Act::Yes | Act::Same => Deed::Go,
        Act::Repeat | Act::No | Act::Differed => Deed::Back,
        Act::Cards => Deed::Cards,
        Act::ReadAll => Deed::Read,
        Act::Enough => Deed::Stop,
        Act::Answer => Deed::Answer(live.input.clone()),
        Act::Rub => {
            live.input.pop();
            return Some(Vec::new());
        }
        Act::Clear => {
            live.input.clear();
            return Some(Vec::new());
        }
        Act::Pause => {
            live.paused = !live.paused;
            return Some(if live.paused {
                live.pause(now)
            } else {
                live.resume(now)
            });
        }
        Act::Up
        | Act::Down
        | Act::First
        | Act::Last
        | Act::Rehearse
        | Act::TwoMinutes
        | Act::Hands
        | Act::Lines
        | Act::Dress
        | Act::Rescue
        | Act::WalkThrough
        | Act::FromHere
        | Act::Progress
        | Act::Back
        | Act::Another
        | Act::Turn(_)
        | Act::Why
        | Act::Help
        | Act::Foyer
        | Act::AfterShow
        | Act::Leave
        | Act::Suspend
        | Act::WholeShow => return None,
    };
    Some(hand(state, &deed, now))
}

/// A key that the table does not name.
pub(super) fn typed(state: &mut State, place: Place, key: &KeyEvent, now: Millis) -> Vec<Effect> {
    let Page::Live(live) = &mut state.page else {
        return Vec::new();
    };
    if super::keys::any_key(place) && key.modifiers - KeyModifiers::SHIFT == KeyModifiers::NONE {
        return hand(state, &Deed::Go, now);
    }
    let KeyCode::Char(c) = key.code else {
        return Vec::new();
    };
    if !(key.modifiers - KeyModifiers::SHIFT).is_empty() || c.is_control() {
        return Vec::new();
    }
    let whole = match (place, &live.prompt) {
        (Place::Choosing | Place::Astray, _) => 1,
        (Place::Quick, SpokenPrompt::Ask(HandQuestion { keys, .. })) => *keys,
        (Place::Typing, _) => LONGEST,
        (_, _) => return Vec::new(),
    };
    if live.input.chars().count() < whole {
        live.input.push(c);
    }
    // The last key of a short answer is its enter too: hands that hold cards press no more than they must.
    if whole < LONGEST && live.input.chars().count() == whole {
        let answer = Deed::Answer(live.input.clone());
        return hand(state, &answer, now);
    }
    Vec::new()
}

/// Begins a spoken rehearsal.
pub(super) fn rehearse(state: &mut State, terms: &Terms) -> Vec<Effect> {
    let which = state.chosen;
    let Some(shelved) = state.shelf.get(which) else {
        return Vec::new();
    };
    let notice = shelved.notice();
    match Live::begin(which, shelved, terms) {
        Ok((live, begun)) => {
            state.terms.seed = state.terms.seed.wrapping_add(1_000_003);
            state.page = Page::Live(Box::new(live));
            state.notice = notice;
            vec![Effect::Begin(begun)]
        }
        Err(fault) => {
            state.notice = Some(fault.to_string());
            Vec::new()
        }
    }
}

/// Time goes by: the countdown, the end of a step's time, and once the word about resting.
pub(super) fn time_goes_by(state: &mut State, now: Millis) -> Vec<Effect> {
    let Page::Live(live) = &mut state.page else {
        return Vec::new();
    };
    if live.paused || state.help.is_some() {
        return Vec::new();
    }
    let mut effects = Vec::new();
    let before = live.now.0 / 1_000;
    live.now = live.spent.passed(now);
    if live.now.0 / 1_000 != before {
        effects.push(Effect::Redraw);
    }
    if !live.rested && live.now >= super::update::REST_AFTER {
        live.rested = true;
        state.notice = Some(
            "Twenty minutes: put the cards down and shake out your hands; p pauses.".to_owned(),
        );
    }
    let told = hand(state, &Deed::Tick, now);
    if !told.is_empty() {
        effects.push(Effect::Redraw);
    }
    effects.extend(told);
    effects
}
