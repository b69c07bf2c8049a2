//! A rehearsal on the screen: how it begins, goes on and ends.

use crate::drill::{self, Drill, Interleaved, Prompt, Spoken};
use crate::routine::Millis;
use crate::screen::live;
use crate::screen::shelf::Begun;
use crate::screen::state::{Effect, Ended, Page, Rehearsal, State, Terms};
use crate::screen::watch::Watch;

/// After each rehearsal the seed goes on by so much: the next takes other roads, and those of one rehearsal count up from its seed.
const NEXT_SEED: u64 = 1_000_003;

/// Begins a rehearsal of the routine pointed at with one drill that stands on its own.
pub(super) fn alone(state: &mut State, drill: Drill) -> Vec<Effect> {
    let terms = Terms {
        drills: vec![drill],
        ..state.terms.clone()
    };
    rehearse(state, &terms)
}

/// Begins a rehearsal of the routine pointed at.
pub(in crate::screen) fn rehearse(state: &mut State, terms: &Terms) -> Vec<Effect> {
    if Spoken::drill(&terms.plan()).is_some() {
        return live::rehearse(state, terms);
    }
    let which = state.chosen;
    rehearse_these(state, terms, &[which])
}

/// Begins today's session of all routines of the show that the routine pointed at is planned for.
pub(super) fn whole_show(state: &mut State) -> Vec<Effect> {
    let Some(show) = state
        .shelf
        .get(state.chosen)
        .and_then(|shelved| shelved.standing.show.clone())
    else {
        state.notice =
            Some("No show is planned with this routine: allroads plan --help".to_owned());
        return Vec::new();
    };
    let which: Vec<usize> = (0..state.shelf.len())
        .filter(|n| show.routines.contains(&state.shelf[*n].name))
        .collect();
    let mut terms = state.terms.clone();
    if terms.minutes.is_none() && terms.questions.is_none() {
        terms.minutes = Some(show.minutes);
    }
    rehearse_these(state, &terms, &which)
}

/// Begins a rehearsal of these routines of the shelf, which take turns.
pub(in crate::screen) fn rehearse_these(
    state: &mut State,
    terms: &Terms,
    which: &[usize],
) -> Vec<Effect> {
    let mut parts = Vec::new();
    let mut to_begin = Vec::new();
    for shelved in which.iter().filter_map(|which| state.shelf.get(*which)) {
        let mut plan = terms.plan();
        // At the first meeting the lines and their order are told, not asked for: nobody can know them yet.
        if terms.drills.is_empty() && shelved.standing.days.is_none() {
            plan.drills = vec![Drill::Picture, Drill::Reckon];
        }
        to_begin.push(Some(Begun {
            name: shelved.name.clone(),
            content_hash: shelved.routine.content_hash.clone(),
            setup: shelved.routine.setup,
            seed: plan.seed,
            drills: plan.drills.clone(),
            plain: false,
        }));
        parts.push(shelved.session(plan));
    }
    let session = parts
        .into_iter()
        .collect::<Result<Vec<_>, _>>()
        .and_then(Interleaved::new);
    let session = match session {
        Ok(session) => session,
        Err(fault) => {
            state.notice = Some(fault.to_string());
            return Vec::new();
        }
    };
    state.terms.seed = state.terms.seed.wrapping_add(NEXT_SEED);
    let mut rehearsal = Rehearsal {
        which: which.to_vec(),
        prompt: session.prompt(),
        session,
        to_begin,
        told: None,
        trail: Vec::new(),
        input: String::new(),
        watch: Watch::new(),
        spent: Watch::new(),
        paused: false,
        unread: None,
        tally: (0, 0),
        lost: 0,
        rested: false,
    };
    remember_told(&mut rehearsal);
    state.notice = None;
    state.page = Page::Rehearsal(Box::new(rehearsal));
    begin_turn(state).into_iter().collect()
}

/// Where the routine whose turn it is has not begun yet, its beginning; and what is to be said of it first.
fn begin_turn(state: &mut State) -> Option<Effect> {
    let Page::Rehearsal(rehearsal) = &mut state.page else {
        return None;
    };
    let turn = rehearsal.session.turn();
    let begun = rehearsal.to_begin.get_mut(turn)?.take()?;
    let notice = state.shelf.get(rehearsal.turn())?.notice();
    state.notice = notice.or(state.notice.take());
    Some(Effect::Begin(begun))
}

/// Begins a rehearsal at the step that the walk-through shows, on the road that it shows.
pub(super) fn from_here(state: &mut State) -> Vec<Effect> {
    let Page::Walk(walk) = &state.page else {
        return Vec::new();
    };
    let terms = Terms {
        from: walk.step().cloned(),
        seed: walk.road.seed,
        ..state.terms.clone()
    };
    rehearse(state, &terms)
}

pub(super) fn pause(rehearsal: &mut Rehearsal, now: Millis) {
    rehearsal.watch.pause(now);
    rehearsal.spent.pause(now);
}

pub(super) fn resume(rehearsal: &mut Rehearsal, now: Millis) {
    rehearsal.watch.resume(now);
    rehearsal.spent.resume(now);
}

pub(super) fn answer(state: &mut State, now: Millis) -> Vec<Effect> {
    let Page::Rehearsal(rehearsal) = &mut state.page else {
        return Vec::new();
    };
    // The key that ends an empty answer is its first key too.
    rehearsal.watch.key(now);
    let (first_key, total) = rehearsal.watch.times(now);
    let text = rehearsal.input.clone();
    advance(
        state,
        drill::Event::Answer {
            text,
            first_key,
            total,
        },
        now,
    )
}

/// Hands an event to the session, and takes in what comes back.
pub(super) fn advance(state: &mut State, event: drill::Event, now: Millis) -> Vec<Effect> {
    let Page::Rehearsal(rehearsal) = &mut state.page else {
        return Vec::new();
    };
    let elapsed = drill::Event::Elapsed(rehearsal.spent.passed(now));
    let mut told = rehearsal.session.update(event);
    told.extend(rehearsal.session.update(elapsed));
    let mut effects = Vec::new();
    let mut unread = None;
    let mut ended = None;
    for effect in told {
        match effect {
            drill::Effect::Keep(answered) => {
                rehearsal.tally.0 += 1;
                rehearsal.tally.1 += u32::from(answered.right);
                effects.push(Effect::Keep(answered));
            }
            drill::Effect::Unread(how) => unread = Some(how),
            drill::Effect::Finished(summary) => ended = Some(summary),
        }
    }
    if unread.is_some() {
        // The same question stands, and its watch runs on.
        rehearsal.unread = unread;
        rehearsal.input.clear();
    } else {
        rehearsal.unread = None;
        rehearsal.input.clear();
        rehearsal.prompt = rehearsal.session.prompt();
        rehearsal.watch = Watch::new();
        remember_told(rehearsal);
    }
    if let Some(summary) = ended {
        let ended = Ended {
            which: rehearsal.which.clone(),
            summary,
            lost: rehearsal.lost,
            spent: rehearsal.spent.passed(now),
        };
        effects.push(Effect::End);
        effects.extend(ended.which.iter().map(|which| Effect::Stand(*which)));
        state.page = Page::Ended(Box::new(ended));
    }
    effects.extend(begin_turn(state));
    effects
}

/// Notes where on the road the step told lies, and whether it is a fork.
fn remember_told(rehearsal: &mut Rehearsal) {
    let Prompt::Tell(tell) = &rehearsal.prompt else {
        return;
    };
    if rehearsal.told.as_ref().map(|told| told.road) != Some(tell.road) {
        rehearsal.trail.clear();
    }
    let routine = rehearsal.session.walked();
    if let Some(stop) = tell.stop.and_then(|at| routine.stop(at)) {
        rehearsal.trail.resize(tell.done, false);
        rehearsal.trail.push(stop.fork.is_some());
    }
    rehearsal.told = Some(tell.clone());
}
