//! The loop that joins state, terminal, signals and keeper. The only place with a clock.

use super::ScreenFault;
use super::guard::Guard;
use super::shelf::{Keeper, Shelved};
use super::signals::Signals;
use super::sound::Voices;
use super::state::{Effect, Event, Page, State, Terms};
use super::theme::Theme;
use super::update::{self, update};
use super::view::view;
use crate::routine::Millis;
use crate::voice::Settings;
use crossterm::event::{self, KeyEventKind};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use std::io::Stdout;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// How the screen was left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leave {
    /// By the performer.
    Quit,
    /// A signal with this number asked for it.
    Signal(u8),
}

/// How long to wait for a key before looking at signals and the time again.
const PATIENCE: Duration = Duration::from_millis(100);

/// The foyer, until the performer leaves; a notice stands at its foot until the first key.
///
/// # Errors
/// When the terminal or the signals fail; the terminal is given back as it was.
pub fn run_foyer(
    theme: Theme,
    shelf: Vec<Shelved>,
    terms: Terms,
    notice: Option<String>,
    keeper: &mut dyn Keeper,
    sound: Option<Settings>,
) -> Result<Leave, ScreenFault> {
    let mut state = State::foyer(theme, shelf, terms);
    state.notice = notice;
    run(state, Vec::new(), keeper, sound)
}

/// One rehearsal of these routines, and its summary.
///
/// # Errors
/// When the rehearsal cannot begin, or the terminal or the signals fail; the terminal is given back as it was.
pub fn run_rehearsal(
    theme: Theme,
    shelf: Vec<Shelved>,
    terms: &Terms,
    keeper: &mut dyn Keeper,
    sound: Option<Settings>,
) -> Result<Leave, ScreenFault> {
    let all: Vec<usize> = (0..shelf.len()).collect();
    let mut state = State::foyer(theme, shelf, terms.clone());
    state.alone = true;
    let effects = match all.as_slice() {
        [_] => update::rehearse(&mut state, terms),
        several => update::rehearse_these(&mut state, terms, several),
    };
    match state.page {
        Page::Rehearsal(_) | Page::Live(_) => run(state, effects, keeper, sound),
        Page::Foyer | Page::Walk(_) | Page::Ended(_) | Page::Progress(_) | Page::After(_) => {
            Err(ScreenFault::Begin(state.notice.unwrap_or_default()))
        }
    }
}

type Screen = Terminal<CrosstermBackend<Stdout>>;

/// What the loop holds.
struct Stage<'k> {
    guard: Option<Guard>,
    screen: Screen,
    signals: Signals,
    keeper: &'k mut dyn Keeper,
    began: Instant,
    talk: Voices,
    /// What is shown has changed with the time alone.
    redraw: bool,
    /// A test asked for a panic in the middle of a rehearsal.
    panics: bool,
}

fn run(
    mut state: State,
    effects: Vec<Effect>,
    keeper: &mut dyn Keeper,
    sound: Option<Settings>,
) -> Result<Leave, ScreenFault> {
    let signals = Signals::watch()?;
    let guard = Some(Guard::take()?);
    let screen = new_screen()?;
    let panics = std::env::var_os("ALLROADS_TEST_PANIC").is_some_and(|value| value == "1");
    let began = Instant::now();
    let mut stage = Stage {
        guard,
        screen,
        signals,
        keeper,
        began,
        talk: Voices::new(sound, began),
        redraw: false,
        panics,
    };
    if stage.carry_out(&mut state, effects)? {
        return Ok(Leave::Quit);
    }
    stage.draw(&mut state)?;
    loop {
        if stage.take_news(&mut state) {
            stage.draw(&mut state)?;
        }
        if let Some(number) = stage.signals.end() {
            if matches!(state.page, Page::Rehearsal(_) | Page::Live(_)) {
                stage.carry_out(&mut state, vec![Effect::End])?;
            }
            return Ok(Leave::Signal(number));
        }
        if stage.signals.suspend() {
            stage.carry_out(&mut state, vec![Effect::Suspend])?;
            stage.draw(&mut state)?;
        } else if stage.signals.woken() {
            // Stopped and woken from outside: the terminal may have been used by others since.
            stage.guard = None;
            stage.take_back()?;
            stage.draw(&mut state)?;
        }
        stage.listen(&mut state)?;
        let Some(happened) = stage.wait(&state)? else {
            continue;
        };
        let notice = state.notice.clone();
        let told = match happened {
            Happened::Key(key) => Event::Key(key, stage.now()),
            Happened::Resized => {
                stage.draw(&mut state)?;
                continue;
            }
            Happened::Nothing => Event::Tick(stage.now()),
        };
        let ticked = matches!(told, Event::Tick(_));
        let effects = update(&mut state, told);
        if stage.carry_out(&mut state, effects)? {
            return Ok(Leave::Quit);
        }
        if std::mem::take(&mut stage.redraw) || !ticked || state.notice != notice {
            stage.draw(&mut state)?;
        }
    }
}

fn new_screen() -> Result<Screen, ScreenFault> {
    Terminal::new(CrosstermBackend::new(std::io::stdout())).map_err(ScreenFault::Terminal)
}

/// What came from the terminal.
enum Happened {
    Key(event::KeyEvent),
    Resized,
    Nothing,
}

impl Stage<'_> {
    fn now(&self) -> Millis {
        Millis(u64::try_from(self.began.elapsed().as_millis()).unwrap_or(u64::MAX))
    }
    /// Waits for a key; `None` for events that mean nothing to us.
    fn wait(&self, state: &State) -> Result<Option<Happened>, ScreenFault> {
        match event::poll(PATIENCE) {
            Ok(true) => {}
            Ok(false) => return Ok(Some(Happened::Nothing)),
            // A signal came in: the loop looks at it first.
            Err(fault) if fault.kind() == std::io::ErrorKind::Interrupted => return Ok(None),
            Err(fault) => return Err(ScreenFault::Terminal(fault)),
        }
        Ok(match event::read().map_err(ScreenFault::Terminal)? {
            event::Event::Key(key) if key.kind != KeyEventKind::Release => {
                if self.panics && matches!(state.page, Page::Rehearsal(_) | Page::Live(_)) {
                    panic!("a test asked for this");
                }
                Some(Happened::Key(key))
            }
            event::Event::Resize(_, _) => Some(Happened::Resized),
            _ => None,
        })
    }
    /// Takes in the verdicts that have come in. True when there were any.
    fn take_news(&mut self, state: &mut State) -> bool {
        let news = self.keeper.news();
        let any = !news.is_empty();
        for one in news {
            update(state, Event::Proven(one));
        }
        any
    }
    fn draw(&mut self, state: &mut State) -> Result<(), ScreenFault> {
        let mut size = state.size;
        self.screen
            .draw(|frame| {
                size = (frame.area().width, frame.area().height);
                view(state, frame);
            })
            .map_err(ScreenFault::Terminal)?;
        // What is drawn does not hang on it; how far a page can be scrolled does.
        update(state, Event::Sized(size.0, size.1));
        // The times of an answer run from here: what is drawn has been written out.
        let coming = update(state, Event::Drawn(self.now()));
        self.carry_out(state, coming).map(drop)
    }
    /// Takes in that speech has ended, and what is to be told of the sound.
    fn listen(&mut self, state: &mut State) -> Result<(), ScreenFault> {
        while let Some(at) = self.talk.over() {
            let effects = update(state, Event::Spoken(at));
            let shown = !effects.is_empty();
            self.carry_out(state, effects)?;
            if shown {
                self.draw(state)?;
            }
        }
        if let Some(notice) = self.talk.notice() {
            state.notice = Some(notice);
            self.draw(state)?;
        }
        Ok(())
    }
    /// Does what the update asked for. True when the program is to be left.
    fn carry_out(&mut self, state: &mut State, effects: Vec<Effect>) -> Result<bool, ScreenFault> {
        for effect in effects {
            match effect {
                Effect::Begin(begun) => {
                    if matches!(state.page, Page::Live(_)) {
                        self.talk.wake();
                    }
                    if let Err(fault) = self.keeper.begin(&begun) {
                        state.notice = Some(format!("This rehearsal may not be kept: {fault}"));
                    }
                }
                Effect::Keep(answered) => {
                    if let Err(fault) = self.keeper.keep(&answered) {
                        update(state, Event::NotKept(Arc::from(fault.to_string())));
                    }
                }
                Effect::End => {
                    for (name, value) in self.talk.to_remember() {
                        // How loud it was is no answer: what cannot be kept is asked for again next time.
                        let _ = self.keeper.remember(name, &value);
                    }
                    // Each answer is kept already; only the time of the end is missing then.
                    if let Err(fault) = self.keeper.end() {
                        state.notice =
                            Some(format!("The end of this rehearsal was not kept: {fault}"));
                    }
                }
                Effect::Today(which) => {
                    if let Some(today) = self.keeper.today() {
                        update(state, Event::Performed(which, today));
                    }
                }
                Effect::KeepShow(told) => {
                    let kept = self.keeper.keep_show(&told).map_err(|why| why.to_string());
                    let after = update(state, Event::ShowKept(kept));
                    self.carry_out(state, after)?;
                }
                Effect::Stand(which) => {
                    let name = state.shelf.get(which).map(|one| one.name.clone());
                    if let Some(standing) = name.and_then(|name| self.keeper.standing(&name)) {
                        update(state, Event::Stands(which, Box::new(standing)));
                    }
                }
                Effect::Look(which) => {
                    let name = state.shelf.get(which).map(|one| one.name.clone());
                    let looked = name.and_then(|name| self.keeper.progress(&name));
                    update(state, Event::Looked(which, looked.map(Box::new)));
                }
                Effect::Say(speech) => self.talk.say(&speech),
                Effect::Ahead(speech) => self.talk.ahead(&speech),
                Effect::Play(sound) => self.talk.play(sound),
                Effect::Hush => self.talk.hush(),
                Effect::Turn(knob) => {
                    if let Some(now) = self.talk.turn(knob) {
                        state.notice = Some(now);
                    }
                }
                Effect::Redraw => self.redraw = true,
                Effect::Suspend => self.suspend(state)?,
                Effect::Leave => {
                    self.talk.hush();
                    return Ok(true);
                }
            }
        }
        Ok(false)
    }
    /// Takes the terminal again after others had it: nothing that was drawn before counts. (Clearing would ask the
    /// terminal where its cursor is, and not every terminal answers; a new screen asks nothing.)
    fn take_back(&mut self) -> Result<(), ScreenFault> {
        self.guard = Some(Guard::take()?);
        self.screen = new_screen()?;
        Ok(())
    }
    fn suspend(&mut self, state: &mut State) -> Result<(), ScreenFault> {
        for effect in update(state, Event::Slept(self.now())) {
            if effect == Effect::Hush {
                self.talk.hush();
            }
        }
        self.guard = None;
        let slept = self.signals.sleep();
        self.take_back()?;
        let again = update(state, Event::Woken(self.now()));
        self.carry_out(state, again)?;
        slept
    }
}
