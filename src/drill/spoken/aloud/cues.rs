//! What is heard before a line, how long it should take, and which lines can be asked for.

use super::Aloud;
use crate::drill::spoken::prompt::{Help, Speech};
use crate::drill::spoken::road::Decided;
use crate::drill::spoken::words;
use crate::drill::{answer, heard, say};
use crate::roads::{Sighted, Walked};
use crate::routine::{Millis, Scene, Seen, StepId, capital};

/// A calm speaker says 150 words a minute (common practice, no source): a word in so many thousandths of a second. It counts
/// only where the routine gives no times.
const WORD: u64 = 400;

impl Aloud {
    /// The patter of a stop of this road, if the performer can know all that is in it.
    pub(super) fn line(&self, walked: &Walked, sights: &[Sighted]) -> Option<String> {
        let stop = self.routine.stop(walked.stop)?;
        let mut all = sights.to_vec();
        all.extend(walked.sights.iter().cloned());
        if !heard::open_line(&self.routine, &all, stop) {
            return None;
        }
        let scene = Scene {
            routine: &self.routine,
            world: &walked.after,
        };
        answer::line(scene, walked.stop)
            .ok()
            .filter(|line| !line.is_empty())
    }

    pub(super) fn line_before(&self) -> Option<String> {
        let at = self.walk.done.checked_sub(1)?;
        self.line(self.walk.road.walked.get(at)?, &self.walk.sights)
    }

    /// How long a line should take: the time of its step, else its share of the running time by its words.
    pub(super) fn pace(&self, walked: &Walked, line: &str) -> Option<Millis> {
        let stop = self.routine.stop(walked.stop)?;
        if stop.target.is_some() {
            return stop.target;
        }
        let count = |text: &str| text.split_whitespace().count() as u64;
        let all: u64 = self
            .routine
            .stops
            .iter()
            .map(|stop| count(&stop.say.open()))
            .sum();
        let running = self.routine.running_time?;
        Some(Millis(
            running.0.saturating_mul(count(line)).checked_div(all)?,
        ))
    }

    pub(super) fn reading_pace(&self, walked: &Walked, line: &str) -> Millis {
        self.pace(walked, line)
            .unwrap_or_else(|| Millis(line.split_whitespace().count() as u64 * WORD))
    }

    pub(super) fn whole_pace(&self) -> Millis {
        let rest = self.walk.road.walked.iter().skip(self.walk.done);
        Millis(
            rest.map(|walked| {
                let line = self.open_line(walked);
                if line.is_empty() {
                    0
                } else {
                    self.reading_pace(walked, &line).0
                }
            })
            .sum(),
        )
    }

    /// The patter with what cannot be known left open.
    pub(super) fn open_line(&self, walked: &Walked) -> String {
        let before: Vec<Sighted> = self
            .walk
            .road
            .walked
            .iter()
            .take_while(|other| *other != walked)
            .flat_map(|other| other.sights.iter().cloned())
            .collect();
        self.line(walked, &before).unwrap_or_else(|| {
            self.routine
                .stop(walked.stop)
                .map_or_else(String::new, |stop| stop.say.open())
        })
    }

    /// What is said before a line: by the spectator who chooses there, else the end of the line before.
    pub(super) fn cue(&self, walked: &Walked, before: Option<&str>) -> Option<Speech> {
        let said = self
            .spectator(walked)
            .or_else(|| self.answered_before(walked));
        said.map(|said| words::spectator(&self.routine, &said))
            .or_else(|| Some(words::reader(&self.routine, last_sentence(before?))))
    }

    /// Who decides at a stop of this road: on a road that is known all that is spoken is spoken, and the rest is the hands'.
    fn decided(&self, walked: &Walked) -> Decided {
        let open = self
            .routine
            .stop(walked.stop)
            .and_then(|stop| stop.fork.as_ref())
            .is_some_and(|fork| matches!(fork.seen, Seen::All));
        match &walked.choice {
            Some((_, value)) if open => Decided::Spoken(value.clone()),
            Some(_) => Decided::Free,
            None => Decided::Nobody,
        }
    }

    /// What the spectator answered at the stop before this one.
    pub(super) fn answered_before(&self, walked: &Walked) -> Option<String> {
        let road = &self.walk.road.walked;
        let at = road.iter().position(|other| other == walked)?;
        let before = road.get(at.checked_sub(1)?)?;
        let value = before.sights.iter().find_map(|sighted| match sighted {
            Sighted::Reply(_, value) => Some(value),
            _ => None,
        })?;
        let scene = Scene {
            routine: &self.routine,
            world: &before.after,
        };
        Some(format!("{}.", capital(&say::value(scene, value))))
    }

    pub(super) fn spectator(&self, walked: &Walked) -> Option<String> {
        let stop = self.routine.stop(walked.stop)?;
        let scene = Scene {
            routine: &self.routine,
            world: &walked.after,
        };
        words::said(scene, stop, &self.decided(walked), &walked.sights)
    }

    pub(super) fn help(&self, step: &StepId) -> Help {
        self.helps
            .iter()
            .find(|(id, _)| id == step)
            .map_or(Help::FirstWords, |(_, help)| *help)
    }

    pub(super) fn handling(&self, walked: &Walked) -> Vec<String> {
        let mut heard = self.walk.sights.clone();
        heard.extend(walked.sights.iter().cloned());
        let decided = self.decided(walked);
        let mut handling = words::handling(&self.routine, walked, &heard, &decided);
        if handling.is_empty()
            && let Some(stop) = self.routine.stop(walked.stop)
        {
            handling.extend(words::free(&self.routine, stop, &decided));
        }
        handling
    }
}

/// The last sentence of a line: what one hears before the next.
fn last_sentence(line: &str) -> &str {
    let line = line.trim();
    let end = line.trim_end_matches(['.', '!', '?', '…', '”', '"']);
    match end.rfind(['.', '!', '?', '…']) {
        Some(at) => {
            let mark = end[at..].chars().next().map_or(1, char::len_utf8);
            line[at + mark..].trim_start_matches(['”', '"']).trim()
        }
        None => line,
    }
}

#[cfg(test)]
mod tests {
    use super::last_sentence;

    #[test]
    fn the_cue_is_the_last_sentence_of_the_line_before() {
        assert_eq!(last_sentence("One. Two! Three?"), "Three?");
        assert_eq!(last_sentence("Only one"), "Only one");
        assert_eq!(last_sentence("Wait… and then?"), "and then?");
        assert_eq!(last_sentence("Stop. Now."), "Now.");
        assert_eq!(last_sentence(""), "");
    }
}
