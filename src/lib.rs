//! allroads: rehearsal for performers of self-working card routines.
//!
//! A routine is a file: cards, handling, patter, what the spectators may choose, and what must be true.
//! The library reads it, walks random roads through it, works out what a performer can know of the
//! packet at each step, asks about it, and keeps every answer.
//!
//! The rooms, each importing only from those above it:
//!
//! | room | what lives there |
//! | --- | --- |
//! | [`cards`] | faces, names in each language, letters, traits |
//! | [`table`] | piles, order from the top, which way cards face |
//! | [`handling`] | every cut, deal and shuffle as a card-at-a-time program |
//! | [`routine`] | the file as written, its checks, the routine as it runs |
//! | [`roads`] | forks, sampling choices, one step, one road, replay |
//! | [`knowing`] | all tables that fit what was seen; what is known |
//! | [`proof`] | all roads: sure-fire or the counterexample, odds |
//! | [`rescue`] | strays, what they do, what mends them; what went wrong in the hands |
//! | [`drill`] | questions, marking, timing, the order of a session |
//! | [`coach`] | memory, weak steps, readiness, what to practise next |
//! | [`logbook`] | the store of every answer |
//! | [`voice`] | speech, cue sounds, the audio output |
//! | [`screen`] | the terminal, and the plain line-by-line mode |
//! | [`paper`] | pages to look at and to print |
//! | [`command`] | one file a command |

pub mod cards;
pub mod coach;
pub mod command;
pub mod drill;
pub mod handling;
pub mod knowing;
pub mod logbook;
pub mod paper;
pub mod proof;
pub mod rescue;
pub mod roads;
pub mod routine;
pub mod screen;
pub mod table;
pub mod voice;
