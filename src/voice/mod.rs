//! Speech, cue sounds, and the audio output.
//!
//! What lives here: the two speakers of a spoken rehearsal (a spectator and the prompter), the cue sounds, and the way to the
//! loudspeaker. A [`Voice`] takes lines and cues at any time and never blocks: speech is made ahead in the background by
//! another process, played by a thread of its own, and [`Voice::finished`] tells when a line has ended. Where there is no
//! sound everything else goes on: lines end at once, and one plain [`Notice`] says why nothing is heard.
//!
//! This room may use the rooms above it, for the words of cards, numbers, piles and choices ([`wording`]).
//!
//! ```
//! use allroads::cards::Lang;
//! use allroads::voice::{Cue, Line, Role, Voice};
//!
//! let voice = Voice::silent();
//! voice.cue(Cue::Ready);
//! let said = voice.say(Line::new(Role::Spectator, Lang::EnGb, "The seven of hearts."));
//! let heard = voice.finished();
//! assert_eq!(heard.len(), 1);
//! assert_eq!(heard[0].said, said);
//! ```

mod cache;
mod cues;
mod director;
mod level;
mod line;
mod maker;
mod mix;
mod notice;
mod output;
mod settings;
mod speaking;
pub mod speech;
pub mod wording;

pub use level::{TARGET, levelled, loudness};
pub use line::{Cue, Line, Role};
pub use notice::Notice;
pub use output::{Place, where_to};
pub use settings::{Pace, Settings, Volume};
pub use speaking::{Ending, Heard, SayId, Voice, cache_folder};
