//! What the machine gives: the time, the data folder, whether there is a terminal and whether it has colours.

use super::arguments::Arguments;
use super::failure::Failure;
use crate::logbook::Logbook;
use crate::screen::Theme;
use crate::voice::Settings;
use chrono::{DateTime, Days, FixedOffset, Local, NaiveDateTime, TimeDelta, TimeZone};
use std::io::IsTerminal;
use std::path::PathBuf;
use std::time::Instant;

/// The variable that moves the clock, for tests: an RFC 3339 time from which it goes on.
const MOVED: &str = "ALLROADS_NOW";

/// What the machine gives.
#[derive(Debug, Clone)]
pub struct Machine {
    data: Option<PathBuf>,
    no_color: bool,
    /// Where the clock was moved to, and since when it has gone on from there.
    moved: Option<(DateTime<FixedOffset>, Instant)>,
    /// Whether both ends of the conversation are a terminal that can move its cursor.
    pub terminal: bool,
}

impl Machine {
    /// As these arguments and the environment say.
    ///
    /// # Errors
    /// When the clock is to be moved to what is no time.
    pub fn of(arguments: &Arguments) -> Result<Self, Failure> {
        let moved = match std::env::var_os(MOVED).filter(|text| !text.is_empty()) {
            None => None,
            Some(text) => Some((moved_to(&text.to_string_lossy())?, Instant::now())),
        };
        Ok(Self {
            moved,
            data: arguments
                .data
                .clone()
                .or_else(|| std::env::var_os("ALLROADS_DATA").map(PathBuf::from)),
            no_color: arguments.no_color,
            terminal: std::io::stdout().is_terminal()
                && std::io::stdin().is_terminal()
                && std::env::var_os("TERM").is_none_or(|term| term != "dumb"),
        })
    }

    /// The data folder.
    ///
    /// # Errors
    /// When none is named and the machine has none.
    pub fn data_folder(&self) -> Result<PathBuf, Failure> {
        if let Some(folder) = self.data.as_ref().filter(|f| !f.as_os_str().is_empty()) {
            return Ok(folder.clone());
        }
        directories::ProjectDirs::from("", "", "allroads")
            .map(|dirs| dirs.data_dir().to_path_buf())
            .ok_or_else(|| {
                Failure::Machine(
                    "this account has no home folder, so there is no place for the logbook\n  Name a folder with --data."
                        .to_owned(),
                )
            })
    }

    /// Opens the logbook.
    ///
    /// # Errors
    /// When it cannot be opened.
    pub fn logbook(&self) -> Result<Logbook, Failure> {
        Ok(Logbook::open(&self.data_folder()?)?)
    }

    /// What a voice starts with: as remembered in the logbook, if there is one yet; this program as the one that speaks; the
    /// performer's own sounds from the data folder.
    ///
    /// # Errors
    /// When there is no data folder, or the logbook cannot be opened.
    pub fn voice_settings(&self) -> Result<Settings, Failure> {
        let folder = self.data_folder()?;
        let settings = if folder.join(crate::logbook::FILE_NAME).exists() {
            let logbook = self.logbook()?;
            Settings::remembered(|key| logbook.remembered(key).ok().flatten())
        } else {
            Settings::remembered(|_| None)
        };
        Ok(Settings {
            program: own_program(),
            sounds: Some(folder.join("sounds")),
            ..settings
        })
    }

    /// How many columns the terminal has, as far as it tells.
    #[must_use]
    pub fn columns(&self) -> u16 {
        const USUAL: u16 = 80;
        crossterm::terminal::size().map_or(USUAL, |(columns, _)| columns)
    }

    /// The look of the screen.
    #[must_use]
    pub fn theme(&self) -> Theme {
        Theme::from_environment(self.no_color, |name| std::env::var(name).ok())
    }

    /// A seed that nobody chose: short enough to type again.
    #[must_use]
    pub fn seed(&self) -> u64 {
        let now = Local::now();
        let mixed = u64::from(now.timestamp_subsec_nanos() / 7) ^ u64::from(std::process::id());
        mixed % 1_000_000
    }

    /// The time, with the offset of the performer's clock.
    #[must_use]
    pub fn now(&self) -> DateTime<FixedOffset> {
        let Some((from, since)) = self.moved else {
            return Local::now().fixed_offset();
        };
        let gone = TimeDelta::from_std(since.elapsed()).unwrap_or_default();
        from.checked_add_signed(gone).unwrap_or(from)
    }

    /// The moment at which the performer's clock shows this: the first, where it shows it twice; where it leaves it out, the same
    /// so long after the clock before it.
    #[must_use]
    pub fn at(&self, shown: NaiveDateTime) -> DateTime<FixedOffset> {
        shown_at(&Local, shown)
    }
}

/// The moment at which the clocks of a zone show this.
fn shown_at<Z: TimeZone>(zone: &Z, shown: NaiveDateTime) -> DateTime<FixedOffset> {
    // Of two moments that look alike the zone may name either first.
    let found = || zone.from_local_datetime(&shown);
    let first = found().earliest().into_iter().chain(found().latest()).min();
    if let Some(first) = first {
        return first.fixed_offset();
    }
    // The clock was put forward over it: by the offset of the day before, it comes a little later.
    let offset = shown
        .checked_sub_days(Days::new(1))
        .and_then(|before| zone.from_local_datetime(&before).earliest())
        .map_or(0, |before| before.fixed_offset().offset().local_minus_utc());
    let utc = shown - TimeDelta::seconds(i64::from(offset));
    zone.from_utc_datetime(&utc).fixed_offset()
}

/// The time that the clock is moved to, on the performer's own clock.
fn moved_to(text: &str) -> Result<DateTime<FixedOffset>, Failure> {
    DateTime::parse_from_rfc3339(text)
        .map(|time| time.with_timezone(&Local).fixed_offset())
        .map_err(|why| {
            Failure::Wrong(format!(
                "{MOVED} is {text:?}, which is no time ({why})\n  Write it as 2031-05-01T19:30:00+02:00, or leave the variable out."
            ))
        })
}

/// The file of this program, for its speech process.
fn own_program() -> Option<PathBuf> {
    // On Linux this stays right when the file is replaced while we run.
    if cfg!(target_os = "linux") {
        return Some(PathBuf::from("/proc/self/exe"));
    }
    std::env::current_exe().ok()
}
