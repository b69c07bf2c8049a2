//! The voice of a rehearsal, as the rest of the program uses it.

use super::cues::Sounds;
use super::director::{Director, Stage, Told};
use super::line::{Cue, Line};
use super::maker::{self, Orders};
use super::mix::Desk;
use super::notice::Notice;
use super::output::{self, Place};
use super::settings::{Pace, Settings, Volume};
use super::speech::Speaker;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicU8, AtomicU64, Ordering};
use std::sync::mpsc::{self, Sender};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// A line that was given to [`Voice::say`]. They count up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SayId(pub u64);

/// How a line ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ending {
    /// It was spoken to its end.
    Spoken,
    /// It was cut short by [`Voice::hush`].
    Hushed,
    /// There was no sound, or nothing in it that can be spoken: whoever waits for it goes on at once.
    Unheard,
}

/// A line has ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Heard {
    /// Which line.
    pub said: SayId,
    /// How.
    pub ending: Ending,
    /// When its last sound reached the loudspeaker, as near as is known. Hesitation counts from here.
    pub at: Instant,
}

/// What the threads of a voice tell the rehearsal.
#[derive(Debug, Default)]
pub(super) struct Shared {
    heard: Mutex<Vec<Heard>>,
    notices: Mutex<Vec<Notice>>,
    place: Mutex<Option<Place>>,
    /// Lines that were given and have not ended.
    open: AtomicU64,
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Shared {
    pub(super) fn ended(&self, said: SayId, ending: Ending, at: Instant) {
        lock(&self.heard).push(Heard { said, ending, at });
        self.open.fetch_sub(1, Ordering::SeqCst);
    }

    pub(super) fn notice(&self, notice: Notice) {
        lock(&self.notices).push(notice);
    }

    pub(super) fn set_place(&self, place: Option<Place>) {
        *lock(&self.place) = place;
    }
}

/// Says lines and sounds cues. Everything but [`Voice::wait`] returns at once, and may be called from the thread that draws.
#[derive(Debug)]
pub struct Voice {
    shared: Arc<Shared>,
    next: AtomicU64,
    volume: AtomicU8,
    pace: AtomicU8,
    works: Option<Works>,
}

/// What a voice with sound has.
#[derive(Debug)]
struct Works {
    desk: Arc<Desk>,
    sounds: Sounds,
    tell: Sender<Told>,
    quit: Arc<AtomicBool>,
}

impl Voice {
    /// A voice with sound. Never fails: where there is no sound it is silent, says so in [`Voice::notices`], and speaks as
    /// soon as there is.
    #[must_use]
    pub fn start(settings: Settings) -> Self {
        let mut voice = Self::without_works(settings.volume, settings.pace);
        match begin(settings, &voice.shared) {
            Ok(works) => voice.works = Some(works),
            Err(cause) => voice.shared.notice(Notice::NoOutput(cause.to_string())),
        }
        voice
    }

    /// A voice that never makes a sound, and has nothing to say about it.
    #[must_use]
    pub fn silent() -> Self {
        Self::without_works(Volume::new(0), Pace::USUAL)
    }

    fn without_works(volume: Volume, pace: Pace) -> Self {
        Self {
            shared: Arc::new(Shared::default()),
            next: AtomicU64::new(1),
            volume: AtomicU8::new(volume.percent()),
            pace: AtomicU8::new(pace.percent()),
            works: None,
        }
    }

    /// Where sound comes out now, if it does.
    #[must_use]
    pub fn place(&self) -> Option<Place> {
        lock(&self.shared.place).clone()
    }

    /// Whether there is an output now.
    #[must_use]
    pub fn is_heard(&self) -> bool {
        lock(&self.shared.place).is_some()
    }

    /// Tells the director; false when there is none.
    fn tell(&self, told: Told) -> bool {
        self.works
            .as_ref()
            .is_some_and(|works| works.tell.send(told).is_ok())
    }

    /// Makes the speech of these lines ahead, in the background, so that they begin without delay. The most likely first;
    /// lines that were never said are forgotten when room is needed.
    pub fn ahead(&self, lines: &[Line]) {
        if !lines.is_empty() {
            self.tell(Told::Ahead(lines.to_vec()));
        }
    }

    /// Says a line, after those that wait already.
    pub fn say(&self, line: Line) -> SayId {
        let said = SayId(self.next.fetch_add(1, Ordering::SeqCst));
        self.shared.open.fetch_add(1, Ordering::SeqCst);
        if !self.tell(Told::Say(said, line)) {
            self.shared.ended(said, Ending::Unheard, Instant::now());
        }
        said
    }

    /// Sounds a cue now, under the speech if somebody is speaking.
    pub fn cue(&self, cue: Cue) {
        if let Some(works) = &self.works
            && let Some(samples) = works.sounds.of(cue)
        {
            works.desk.sound(samples);
        }
    }

    /// Ends the line that is being said and drops those that wait. Each of them ends as [`Ending::Hushed`].
    pub fn hush(&self) {
        self.tell(Told::Hush);
    }

    /// The lines that have ended since the last call, in the order in which they ended. Every line given to [`Voice::say`] ends
    /// exactly once.
    #[must_use]
    pub fn finished(&self) -> Vec<Heard> {
        std::mem::take(&mut lock(&self.shared.heard))
    }

    /// What the performer should be told since the last call, in order.
    #[must_use]
    pub fn notices(&self) -> Vec<Notice> {
        std::mem::take(&mut lock(&self.shared.notices))
    }

    /// How loud it is.
    #[must_use]
    pub fn volume(&self) -> Volume {
        Volume::new(self.volume.load(Ordering::Relaxed))
    }

    /// Makes it louder or quieter, also what is being said.
    pub fn set_volume(&self, volume: Volume) {
        self.volume.store(volume.percent(), Ordering::Relaxed);
        if let Some(works) = &self.works {
            works.desk.set_volume(volume.percent());
        }
    }

    /// How fast people speak.
    #[must_use]
    pub fn pace(&self) -> Pace {
        Pace::new(self.pace.load(Ordering::Relaxed))
    }

    /// Makes people speak faster or slower, from the next line on.
    pub fn set_pace(&self, pace: Pace) {
        self.pace.store(pace.percent(), Ordering::Relaxed);
        self.tell(Told::Pace(pace));
    }

    /// Waits until everything given so far has been said and sounded, at most so long; whether it has. The only call that
    /// takes time: before the program ends, so that a last cue is heard.
    pub fn wait(&self, at_most: Duration) -> bool {
        let since = Instant::now();
        loop {
            let open = self.shared.open.load(Ordering::SeqCst) > 0;
            let sounding = self.works.as_ref().is_some_and(|works| works.desk.busy());
            if !open && !sounding {
                return true;
            }
            if since.elapsed() >= at_most {
                return false;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}

impl Drop for Voice {
    fn drop(&mut self) {
        if let Some(works) = &self.works {
            works.quit.store(true, Ordering::Relaxed);
        }
        self.tell(Told::Quit);
    }
}

/// Starts the threads.
fn begin(settings: Settings, shared: &Arc<Shared>) -> std::io::Result<Works> {
    let desk = Arc::new(Desk::default());
    desk.set_volume(settings.volume.percent());
    let (sounds, told) = Sounds::load(settings.sounds.as_deref());
    for notice in told {
        shared.notice(notice);
    }
    let quit = Arc::new(AtomicBool::new(false));
    let orders = Arc::new(Orders::default());
    let (tell, director) = mpsc::channel();
    let thread = |name: &str| std::thread::Builder::new().name(name.to_owned());

    if let Some(program) = &settings.program {
        let speaker = Speaker::new(program, &settings.cache.unwrap_or_else(cache_folder));
        let (orders, tell) = (Arc::clone(&orders), tell.clone());
        thread("making speech").spawn(move || {
            maker::run(speaker, &orders, |made| tell.send(Told::Made(made)).is_ok());
        })?;
    }
    let runs = Director {
        desk: Arc::clone(&desk),
        shared: Arc::clone(shared),
        orders,
        tell: tell.clone(),
        pace: settings.pace,
        speech: settings.program.is_some(),
        caution: settings.first_time,
        state: Stage::new(),
    };
    thread("voice").spawn(move || runs.run(&director))?;
    {
        let (desk, quit, tell) = (Arc::clone(&desk), Arc::clone(&quit), tell.clone());
        thread("sound output").spawn(move || {
            output::run(&desk, &quit, |state| tell.send(Told::Output(state)).is_ok());
        })?;
    }
    Ok(Works {
        desk,
        sounds,
        tell,
        quit,
    })
}

/// Where the voices are unpacked when nobody says otherwise: the platform's cache folder, or a place for passing things.
#[must_use]
pub fn cache_folder() -> PathBuf {
    directories::ProjectDirs::from("", "", "allroads").map_or_else(
        || std::env::temp_dir().join("allroads-voices"),
        |dirs| dirs.cache_dir().join("voices"),
    )
}
