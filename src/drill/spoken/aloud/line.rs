//! One line: its cue, the performer saying it, the real line, and what is kept of it.

use super::{Aloud, Phase};
use crate::drill::patter::{differences, right_line};
use crate::drill::prompt::Word;
use crate::drill::question::{Drill, Kind};
use crate::drill::say;
use crate::drill::spoken::prompt::{Help, LineCue, RealLine, Saying, Sound, Speaker, SpokenEffect};
use crate::drill::spoken::{kept, words};
use crate::drill::summary::Given;
use crate::drill::wording::asked;
use crate::roads::Walked;
use crate::routine::Millis;
use std::sync::Arc;

/// So many words begin a line for whom its first words help.
const FIRST_WORDS: usize = 4;

impl Aloud {
    pub(super) fn show_cue(
        &mut self,
        walked: &Walked,
        line: String,
        now: Millis,
    ) -> Vec<SpokenEffect> {
        let routine = Arc::clone(&self.routine);
        let Some(stop) = routine.stop(walked.stop) else {
            return self.finish();
        };
        let help = self.help(&stop.id);
        let heard = self.cue(walked, self.before.as_deref());
        let handling = self.handling(walked);
        let by_spectator = heard
            .clone()
            .filter(|speech| speech.who == Speaker::Spectator);
        // What a spectator says belongs to the routine and is always heard; the prompter's help is taken away bit by bit.
        let (cue, speech) = match (help, by_spectator) {
            (_, Some(spectator)) => (Some(spectator.clone()), Some(spectator)),
            (Help::FirstWords, None) => (heard.clone(), heard),
            (Help::Move, None) if handling.is_empty() => (heard.clone(), heard),
            (Help::Move, None) => {
                let told = words::reader(&routine, &handling.join(" "));
                (None, Some(told))
            }
            (Help::Road, None) => (None, None),
        };
        let mut first: Vec<&str> = line.split_whitespace().take(FIRST_WORDS).collect();
        first.push("…");
        let shown = LineCue {
            stop: walked.stop,
            along: self.along(self.pace(walked, &line)),
            at: Saying::Cue,
            help,
            first_words: match help {
                Help::FirstWords => first.join(" "),
                Help::Move | Help::Road => String::new(),
            },
            handling: match help {
                Help::FirstWords | Help::Move => handling,
                Help::Road => Vec::new(),
            },
            cue,
        };
        self.phase = Phase::Line(shown, line);
        let mut effects = self.say(speech.into_iter().collect(), now);
        // Where nothing is said, a sound tells that the next line is due.
        if self.said.is_empty() {
            effects.push(SpokenEffect::Play(Sound::Ask));
        }
        effects
    }

    /// The performer begins to speak. Whoever begins before the cue is over does not hesitate at all.
    pub(super) fn start(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let hesitation = self
            .cue_over
            .map_or(Millis(0), |over| Millis(now.0.saturating_sub(over.0)));
        self.started = Some((now, hesitation));
        if let Phase::Line(cue, _) = &mut self.phase {
            cue.at = Saying::Said;
            cue.along.since = now;
        }
        vec![SpokenEffect::Hush]
    }

    pub(super) fn said(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let (start, hesitation) = self.started.unwrap_or((now, Millis(0)));
        let length = Millis(now.0.saturating_sub(start.0));
        self.show_real(hesitation, length, None, now)
    }

    fn show_real(
        &mut self,
        hesitation: Millis,
        length: Millis,
        typed: Option<Vec<Word>>,
        now: Millis,
    ) -> Vec<SpokenEffect> {
        let Phase::Line(cue, line) = &self.phase else {
            return Vec::new();
        };
        let (stop, pace, line) = (cue.stop, cue.along.target, line.clone());
        let handling = self
            .walk
            .next()
            .map(|walked| self.handling(walked))
            .unwrap_or_default();
        let speech = words::reader(&self.routine, &line);
        self.phase = Phase::Real(RealLine {
            stop,
            along: self.along(pace),
            title: say::title_of(&self.routine, stop),
            line,
            handling,
            hesitation,
            length,
            pace,
            typed,
        });
        self.say(vec![speech], now)
    }

    /// A line typed instead of said is marked at once.
    pub(super) fn typed(&mut self, text: &str, now: Millis) -> Vec<SpokenEffect> {
        let Phase::Line(_, line) = &self.phase else {
            return Vec::new();
        };
        if text.trim().is_empty() {
            return self.go(now);
        }
        let right = right_line(text, line, self.routine.lang);
        let compared = differences(text, line);
        let took = Millis(now.0.saturating_sub(self.since.0));
        let mut effects = self.show_real(took, Millis(0), Some(compared), now);
        effects.extend(self.keep(text.trim(), right));
        effects.push(SpokenEffect::Play(if right {
            Sound::Right
        } else {
            Sound::Wrong
        }));
        effects
    }

    pub(super) fn judged(&mut self, same: bool, now: Millis) -> Vec<SpokenEffect> {
        let mut effects = vec![SpokenEffect::Hush];
        effects.extend(self.keep("(said aloud)", same));
        effects.extend(self.line_over(now));
        effects
    }

    /// Keeps the line shown: the time to the first key is the hesitation, and what the total has beyond it is the line's length.
    fn keep(&mut self, given: &str, right: bool) -> Option<SpokenEffect> {
        let Phase::Real(real) = &self.phase else {
            return None;
        };
        let step = self.routine.stop(real.stop)?.id.clone();
        let kept = kept::lived(
            &self.routine,
            &kept::SoFar {
                seed: self.walk.road.seed,
                choices: self.walk.choices.clone(),
                given: self
                    .walk
                    .given
                    .iter()
                    .map(|said| said.text.clone())
                    .collect(),
            },
            (Drill::Lines, Kind::Line, real.stop),
            &kept::Lived {
                question: &format!("What do you say at {}", asked(&real.title)),
                expected: &real.line,
                given,
                right,
                first: real.hesitation,
                total: Millis(real.hesitation.0 + real.length.0),
            },
        );
        self.answers.push(Given {
            step,
            drill: Drill::Lines,
            kind: Kind::Line,
            right,
            again: false,
            total: real.length,
        });
        self.lines_here += 1;
        Some(SpokenEffect::Keep(kept))
    }

    pub(super) fn line_over(&mut self, now: Millis) -> Vec<SpokenEffect> {
        if let Phase::Real(real) = &self.phase {
            self.before = Some(real.line.clone());
        }
        let routine = Arc::clone(&self.routine);
        self.walk.go(&routine);
        let lines = u32::try_from(self.answers.len()).unwrap_or(u32::MAX);
        let time_up = self
            .plan
            .minutes
            .is_some_and(|minutes| now.0 >= u64::from(minutes) * 60_000);
        if time_up || self.plan.questions.is_some_and(|most| lines >= most) {
            return self.finish();
        }
        self.next_line(now)
    }
}
