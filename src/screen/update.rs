//! What happens to the state: one event in, effects out. No clock, no disk, no terminal.

mod rehearsing;

pub(super) use rehearsing::{rehearse, rehearse_these};

use rehearsing::{advance, alone, answer, from_here, pause, resume, whole_show};

use super::after::AfterShow;
use super::after_view::After;
use super::keys::{self, Act, Place};
use super::live;
use super::progress::Looking;
use super::proven::News;
use super::state::{Effect, Event, Page, State, Terms};
use super::walk::Walk;
use crate::drill::{self, Deed, Drill};
use crate::routine::Millis;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use std::sync::Arc;

/// After so long the hands want a rest.
pub(super) const REST_AFTER: Millis = Millis(20 * 60 * 1_000);
/// The longest answer: more than the longest line of patter anyone types.
const LONGEST_ANSWER: usize = 2_000;

/// Rows scrolled at once: what every screen shows of a page, less a few that stay in sight.
const SCREENFUL: usize = 14;

/// Takes an event.
pub fn update(state: &mut State, event: Event) -> Vec<Effect> {
    match event {
        Event::Key(key, now) => {
            state.notice = None;
            let place = state.place();
            match keys::act(place, &key) {
                Some(act) => perform(state, act, now),
                None => typed(state, place, &key, now),
            }
        }
        Event::Sized(columns, rows) => {
            state.size = (columns, rows);
            Vec::new()
        }
        Event::Drawn(now) => {
            if let Page::Rehearsal(rehearsal) = &mut state.page
                && state.help.is_none()
                && !rehearsal.paused
            {
                rehearsal.watch.drawn(now);
                rehearsal.spent.drawn(now);
                // While the performer reads what has just been drawn.
                rehearsal.session.work_ahead();
            }
            if let Page::Live(live) = &mut state.page
                && state.help.is_none()
                && !live.paused
            {
                live.spent.drawn(now);
                if !live.ahead {
                    live.ahead = true;
                    live.session.work_ahead();
                    return vec![Effect::Ahead(live.session.ahead())];
                }
            }
            Vec::new()
        }
        Event::Spoken(at) => live::hand(state, &Deed::Spoken, at),
        Event::Tick(now) => tick(state, now),
        Event::Slept(now) => {
            if let Page::Rehearsal(rehearsal) = &mut state.page {
                pause(rehearsal, now);
            }
            match &mut state.page {
                Page::Live(live) => live.pause(now),
                _ => Vec::new(),
            }
        }
        Event::Woken(now) => {
            if let Page::Live(live) = &mut state.page
                && state.help.is_none()
                && !live.paused
            {
                return live.resume(now);
            }
            if let Page::Rehearsal(rehearsal) = &mut state.page
                && state.help.is_none()
                && !rehearsal.paused
            {
                resume(rehearsal, now);
            }
            Vec::new()
        }
        Event::NotKept(why) => {
            if let Page::Rehearsal(rehearsal) = &mut state.page {
                rehearsal.lost += 1;
            }
            if let Page::Live(live) = &mut state.page {
                live.lost += 1;
            }
            if let Page::Ended(ended) = &mut state.page {
                ended.lost += 1;
            }
            state.notice = Some(format!("This answer was not kept: {why}"));
            Vec::new()
        }
        Event::Stands(which, standing) => {
            if let Some(shelved) = state.shelf.get_mut(which) {
                shelved.standing = *standing;
            }
            Vec::new()
        }
        Event::Performed(which, today) => {
            if let Some(shelved) = state.shelf.get(which) {
                let routine = Arc::clone(&shelved.routine);
                state.page = Page::After(Box::new(After {
                    which,
                    show: AfterShow::new(&shelved.name, routine, today),
                    input: String::new(),
                    instead: None,
                }));
            }
            Vec::new()
        }
        Event::ShowKept(kept) => show_kept(state, kept),
        Event::Looked(which, progress) => {
            if let Page::Progress(looking) = &mut state.page
                && looking.which == which
            {
                looking.progress = progress;
            }
            Vec::new()
        }
        Event::Proven(news) => {
            proven(state, &news);
            Vec::new()
        }
    }
}

/// A verdict came in. In a rehearsal of that routine, it is said if it can fail.
fn proven(state: &mut State, news: &News) {
    let rehearsed = match &state.page {
        Page::Rehearsal(rehearsal) => rehearsal.which.clone(),
        Page::Live(live) => vec![live.which],
        Page::Foyer | Page::Walk(_) | Page::Ended(_) | Page::Progress(_) | Page::After(_) => {
            Vec::new()
        }
    };
    for (which, shelved) in state.shelf.iter_mut().enumerate() {
        let routine = &shelved.routine;
        if routine.content_hash == news.content_hash && routine.setup == news.setup {
            shelved.proven = news.proven;
            if rehearsed.contains(&which) && state.notice.is_none() {
                state.notice = news.proven.warning().map(str::to_owned);
            }
        }
    }
}

/// A key that the table does not name: a letter of the answer, or nothing.
fn typed(state: &mut State, place: Place, key: &KeyEvent, now: Millis) -> Vec<Effect> {
    if matches!(state.page, Page::Live(_)) {
        return live::typed(state, place, key, now);
    }
    let plain = (key.modifiers - KeyModifiers::SHIFT).is_empty();
    if let (KeyCode::Char(c), true, Page::After(after)) = (key.code, plain, &mut state.page)
        && place == Place::After
        && after.input.len() < LONGEST_ANSWER
        && !c.is_control()
    {
        after.input.push(c);
    }
    if let (Place::Asked, KeyCode::Char(c), true, Page::Rehearsal(rehearsal)) =
        (place, key.code, plain, &mut state.page)
    {
        rehearsal.watch.key(now);
        if rehearsal.input.len() < LONGEST_ANSWER && !c.is_control() {
            rehearsal.input.push(c);
        }
    }
    Vec::new()
}

fn perform(state: &mut State, act: Act, now: Millis) -> Vec<Effect> {
    if state.help.is_none()
        && let Some(effects) = live::perform(state, act, now)
    {
        return effects;
    }
    match act {
        Act::Suspend => vec![Effect::Suspend],
        Act::Leave => leave(state),
        Act::Help => help(state, now),
        Act::Up => point(state, |n, _| n.saturating_sub(1)),
        Act::Down => point(state, |n, last| (n + 1).min(last)),
        Act::First => point(state, |_, _| 0),
        Act::Last => point(state, |_, last| last),
        Act::Rehearse => {
            let terms = state.terms.clone();
            rehearse(state, &terms)
        }
        Act::Hands => alone(state, Drill::Hands),
        Act::Lines => alone(state, Drill::Lines),
        Act::Dress => alone(state, Drill::Dress),
        Act::Rescue => alone(state, Drill::Rescue),
        Act::WholeShow => whole_show(state),
        Act::TwoMinutes => {
            let terms = Terms {
                minutes: Some(2),
                questions: None,
                from: None,
                ..state.terms.clone()
            };
            rehearse(state, &terms)
        }
        Act::WalkThrough => walk(state),
        Act::FromHere => from_here(state),
        Act::Go => match &mut state.page {
            Page::Walk(walk) => {
                walk.on();
                Vec::new()
            }
            Page::Rehearsal(_) => advance(state, drill::Event::Go, now),
            Page::Progress(_) => point(state, |row, last| (row + SCREENFUL).min(last)),
            Page::Foyer | Page::Live(_) | Page::Ended(_) | Page::After(_) => Vec::new(),
        },
        Act::Back => {
            if let Page::Walk(walk) = &mut state.page {
                walk.back();
            }
            if let Page::Progress(_) = state.page {
                return point(state, |row, _| row.saturating_sub(SCREENFUL));
            }
            Vec::new()
        }
        Act::Progress => look(state),
        Act::Another => {
            if let Page::Walk(walk) = &mut state.page {
                walk.another();
            }
            Vec::new()
        }
        Act::AfterShow => vec![Effect::Today(state.chosen)],
        Act::Answer if matches!(state.page, Page::After(_)) => told(state),
        Act::Answer => answer(state, now),
        Act::Rub => {
            edit(state, now, |input| {
                input.pop();
            });
            Vec::new()
        }
        Act::Clear => {
            edit(state, now, String::clear);
            Vec::new()
        }
        Act::Turn(knob) => vec![Effect::Turn(knob)],
        // These belong to a spoken rehearsal, which has done them already.
        Act::Repeat | Act::Yes | Act::No | Act::Cards | Act::ReadAll => Vec::new(),
        Act::Same => advance(state, drill::Event::Differed(false), now),
        Act::Differed => advance(state, drill::Event::Differed(true), now),
        Act::Why => {
            if let Page::Rehearsal(rehearsal) = &state.page
                && let Some(why) = rehearsal.session.why()
            {
                state.notice = Some(why.words());
            }
            Vec::new()
        }
        Act::Pause => {
            if let Page::Rehearsal(rehearsal) = &mut state.page {
                rehearsal.paused = !rehearsal.paused;
                if rehearsal.paused {
                    pause(rehearsal, now);
                } else {
                    resume(rehearsal, now);
                }
            }
            Vec::new()
        }
        Act::Enough => advance(state, drill::Event::Stop, now),
        Act::Foyer => {
            if state.alone {
                return vec![Effect::Leave];
            }
            state.page = Page::Foyer;
            Vec::new()
        }
    }
}

fn leave(state: &State) -> Vec<Effect> {
    match state.page {
        Page::Rehearsal(_) | Page::Live(_) => vec![Effect::End, Effect::Leave],
        Page::Foyer | Page::Walk(_) | Page::Ended(_) | Page::Progress(_) | Page::After(_) => {
            vec![Effect::Leave]
        }
    }
}

/// Shows the help or puts it away; a rehearsal pauses behind it.
fn help(state: &mut State, now: Millis) -> Vec<Effect> {
    let shown = state.help.is_some();
    state.help = if shown { None } else { Some(0) };
    if let Page::Live(live) = &mut state.page
        && !live.paused
    {
        return if shown {
            live.resume(now)
        } else {
            live.pause(now)
        };
    }
    if let Page::Rehearsal(rehearsal) = &mut state.page
        && !rehearsal.paused
    {
        if shown {
            resume(rehearsal, now);
        } else {
            pause(rehearsal, now);
        }
    }
    Vec::new()
}

/// Moves what is pointed at: a routine, a step, a row of the help. The function takes where we are and the last there is.
fn point(state: &mut State, to: impl Fn(usize, usize) -> usize) -> Vec<Effect> {
    if let Some(row) = &mut state.help {
        let last = super::help::LAST_ROW;
        *row = u16::try_from(to(usize::from(*row), usize::from(last))).unwrap_or(last);
        return Vec::new();
    }
    match &mut state.page {
        Page::Foyer => state.chosen = to(state.chosen, state.shelf.len().saturating_sub(1)),
        Page::Walk(walk) => walk.at = to(walk.at, walk.last()),
        Page::Progress(looking) => {
            let last = looking.last(state.theme, state.size);
            looking.row = u16::try_from(to(looking.row.into(), last.into())).unwrap_or(last);
        }
        Page::Rehearsal(_) | Page::Live(_) | Page::Ended(_) | Page::After(_) => {}
    }
    Vec::new()
}

/// Shows the progress of the routine pointed at.
fn look(state: &mut State) -> Vec<Effect> {
    let which = state.chosen;
    if state.shelf.get(which).is_none() {
        return Vec::new();
    }
    state.page = Page::Progress(Box::new(Looking {
        which,
        progress: None,
        row: 0,
    }));
    vec![Effect::Look(which)]
}

fn walk(state: &mut State) -> Vec<Effect> {
    if let Some(shelved) = state.shelf.get(state.chosen) {
        match Walk::new(Arc::clone(&shelved.routine), state.terms.seed) {
            Ok(walk) => {
                let careful = shelved.standing.careful.clone();
                state.page = Page::Walk(Box::new(Walk { careful, ..walk }));
            }
            Err(fault) => state.notice = Some(fault.to_string()),
        }
    }
    Vec::new()
}

fn edit(state: &mut State, now: Millis, change: impl FnOnce(&mut String)) {
    match &mut state.page {
        Page::Rehearsal(rehearsal) => {
            rehearsal.watch.key(now);
            change(&mut rehearsal.input);
        }
        Page::After(after) => change(&mut after.input),
        Page::Foyer | Page::Walk(_) | Page::Live(_) | Page::Ended(_) | Page::Progress(_) => {}
    }
}

/// An answer to a question after a performance; the last one ends the page.
fn told(state: &mut State) -> Vec<Effect> {
    let Page::After(after) = &mut state.page else {
        return Vec::new();
    };
    let text = std::mem::take(&mut after.input);
    after.instead = after.show.answer(&text).err();
    match after.show.done() {
        Some(told) => vec![Effect::KeepShow(told.clone())],
        None => Vec::new(),
    }
}

/// What was told of a show is kept, or not; then it can be told again.
fn show_kept(state: &mut State, kept: Result<String, String>) -> Vec<Effect> {
    let Page::After(after) = &state.page else {
        return Vec::new();
    };
    let which = after.which;
    state.page = Page::Foyer;
    match kept {
        Ok(words) => {
            state.notice = Some(words);
            vec![Effect::Stand(which)]
        }
        Err(why) => {
            let first = why.lines().next().unwrap_or_default();
            state.notice = Some(format!("The show was not kept: {first}"));
            Vec::new()
        }
    }
}

/// Time goes by: nobody is cut short within a question, but the hands are told to rest.
fn tick(state: &mut State, now: Millis) -> Vec<Effect> {
    if let Page::Rehearsal(rehearsal) = &mut state.page
        && !rehearsal.rested
        && rehearsal.spent.passed(now) >= REST_AFTER
    {
        rehearsal.rested = true;
        state.notice = Some("Twenty minutes: shake out your hands; ctrl-p pauses.".to_owned());
    }
    if matches!(state.page, Page::Live(_)) {
        return live::time_goes_by(state, now);
    }
    Vec::new()
}
