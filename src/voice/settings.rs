//! How loud, how fast, and where things are.

use std::path::PathBuf;

/// How loud, in percent from 0 (nothing is heard) to 100.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Volume(u8);

impl Volume {
    /// The first time, before the performer has chosen: quiet.
    pub const FIRST: Volume = Volume(30);

    /// This many percent, at most 100.
    #[must_use]
    pub fn new(percent: u8) -> Self {
        Self(percent.min(100))
    }

    /// In percent.
    #[must_use]
    pub fn percent(self) -> u8 {
        self.0
    }

    /// A step of ten louder or quieter.
    #[must_use]
    pub fn stepped(self, louder: bool) -> Self {
        if louder {
            Self::new(self.0.saturating_add(10))
        } else {
            Self(self.0.saturating_sub(10))
        }
    }
}

/// How fast people speak, in percent of the usual pace, from 60 to 160.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pace(u8);

impl Pace {
    /// The usual pace.
    pub const USUAL: Pace = Pace(100);

    /// This many percent, brought into the range.
    #[must_use]
    pub fn new(percent: u8) -> Self {
        Self(percent.clamp(60, 160))
    }

    /// In percent.
    #[must_use]
    pub fn percent(self) -> u8 {
        self.0
    }

    /// A step of ten faster or slower.
    #[must_use]
    pub fn stepped(self, faster: bool) -> Self {
        if faster {
            Self::new(self.0.saturating_add(10))
        } else {
            Self::new(self.0.saturating_sub(10))
        }
    }
}

/// What a [`Voice`](super::Voice) starts with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    /// How loud.
    pub volume: Volume,
    /// How fast people speak.
    pub pace: Pace,
    /// Whether the performer has never set a volume: a caution is given, once.
    pub first_time: bool,
    /// The program that holds the speech engine: `allroads` itself, which runs it as a process of its own. Without it there are
    /// cue sounds, but no speech.
    pub program: Option<PathBuf>,
    /// Where the voices are unpacked; by default the platform's cache folder.
    pub cache: Option<PathBuf>,
    /// A folder with sounds of the performer's own (`ask.wav` …), which are played in place of ours.
    pub sounds: Option<PathBuf>,
}

impl Settings {
    /// The name under which the volume is remembered in the logbook.
    pub const VOLUME_KEY: &'static str = "voice.volume";
    /// The name under which the pace is remembered in the logbook.
    pub const PACE_KEY: &'static str = "voice.pace";

    /// As remembered; what was never set, or cannot be read, is as on the first day. `remembered` looks a name up.
    #[must_use]
    pub fn remembered(remembered: impl Fn(&str) -> Option<String>) -> Self {
        let percent = |key: &str| remembered(key).and_then(|text| text.trim().parse::<u8>().ok());
        let volume = percent(Self::VOLUME_KEY);
        Self {
            volume: volume.map_or(Volume::FIRST, Volume::new),
            pace: percent(Self::PACE_KEY).map_or(Pace::USUAL, Pace::new),
            first_time: volume.is_none(),
            program: None,
            cache: None,
            sounds: None,
        }
    }

    /// What to remember, by name.
    #[must_use]
    pub fn to_remember(volume: Volume, pace: Pace) -> [(&'static str, String); 2] {
        [
            (Self::VOLUME_KEY, volume.percent().to_string()),
            (Self::PACE_KEY, pace.percent().to_string()),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_time_it_is_quiet_and_says_so_and_what_is_kept_is_read_back() {
        let first = Settings::remembered(|_| None);
        assert_eq!((first.volume.percent(), first.pace.percent()), (30, 100));
        assert!(first.first_time);
        let kept = Settings::to_remember(Volume::new(70), Pace::new(120));
        let again = Settings::remembered(|name| {
            let found = kept.iter().find(|(key, _)| *key == name);
            found.map(|(_, value)| value.clone())
        });
        assert_eq!((again.volume.percent(), again.pace.percent()), (70, 120));
        assert!(!again.first_time);
    }

    #[test]
    fn what_cannot_be_read_is_as_on_the_first_day() {
        for spoilt in ["", "loud", "-3", "700"] {
            let settings = Settings::remembered(|_| Some(spoilt.to_owned()));
            assert_eq!(settings.volume, Volume::FIRST, "{spoilt}");
            assert_eq!(settings.pace, Pace::USUAL, "{spoilt}");
        }
    }
}
