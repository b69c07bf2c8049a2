//! From words to samples: the speech engine, in a process of its own.
//!
//! The engine is written in C and reads whatever a routine's author wrote, so it may crash or hang. It therefore runs in a
//! child process ([`serve`]): this program again, started with [`HIDDEN`] as its only argument, asked by short frames
//! (`frames`) and ended when it takes too long. [`Speaker`] is the other end: it starts the child, asks, starts it again when
//! it died, and remembers what killed it.

mod engine;
mod frames;
mod respelt;
mod serve;
mod speaker;
mod trim;
mod unpack;

pub use serve::{HIDDEN, serve};
pub use speaker::{Made, Speaker, SpeechFault};
pub use trim::{FULL_SCALE, longest_full_scale_run};
pub use unpack::NOTICE;

use super::line::Role;
use super::settings::Pace;
use crate::cards::Lang;
use std::sync::Arc;

/// Samples a second of all speech. One channel, 16 bits.
pub const RATE: u32 = 16_000;

/// Samples of speech.
pub type Samples = Arc<[i16]>;

/// A voice that can be asked for: a language file and how it is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Manner {
    /// Whose language files.
    pub voice: Lang,
    /// Pitch, in percent of the voice's own.
    pub pitch: u8,
    /// Pace, in percent of the voice's own.
    pub pace: u8,
}

impl Manner {
    /// How somebody speaks a language at a pace. Where a language has two voices the speakers have one each; elsewhere pitch
    /// and pace alone tell them apart.
    #[must_use]
    pub fn of(role: Role, lang: Lang, pace: Pace) -> Self {
        let voice = match (role, lang) {
            (Role::Prompter, Lang::EnGb) => Lang::EnUs,
            (Role::Prompter, Lang::EnUs) => Lang::EnGb,
            (Role::Spectator | Role::Prompter, _) => lang,
        };
        // Both English voices are understood without a mistake at these; the American one not when it is hurried.
        let (pitch, own) = match (role, voice) {
            (Role::Spectator, Lang::EnUs) => (106, 92),
            (Role::Spectator, _) => (112, 102),
            (Role::Prompter, _) => (80, 92),
        };
        let pace = (u32::from(pace.percent()) * own / 100).clamp(40, 240);
        Self {
            voice,
            pitch,
            pace: u8::try_from(pace).unwrap_or(100),
        }
    }
}
