//! What the machine gives: the time, the data folder, whether there is a terminal and whether it has colours.

use super::arguments::Arguments;
use super::failure::Failure;
use crate::logbook::Logbook;
use crate::screen::Theme;
use crate::voice::Settings;
use chrono::{DateTime, FixedOffset, Local};
use std::io::IsTerminal;
use std::path::PathBuf;

/// What the machine gives.
#[derive(Debug, Clone)]
pub struct Machine {
    data: Option<PathBuf>,
    no_color: bool,
    /// Whether both ends of the conversation are a terminal that can move its cursor.
    pub terminal: bool,
}

impl Machine {
    /// As these arguments and the environment say.
    #[must_use]
    pub fn of(arguments: &Arguments) -> Self {
        Self {
            data: arguments
                .data
                .clone()
                .or_else(|| std::env::var_os("ALLROADS_DATA").map(PathBuf::from)),
            no_color: arguments.no_color,
            terminal: std::io::stdout().is_terminal()
                && std::io::stdin().is_terminal()
                && std::env::var_os("TERM").is_none_or(|term| term != "dumb"),
        }
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
        Local::now().fixed_offset()
    }
}

/// The file of this program, for its speech process.
fn own_program() -> Option<PathBuf> {
    // On Linux this stays right when the file is replaced while we run.
    if cfg!(target_os = "linux") {
        return Some(PathBuf::from("/proc/self/exe"));
    }
    std::env::current_exe().ok()
}
