//! The end of a session: what was missed in it comes once more.

use super::guide::Why;
use super::session::{Asked, Returning, Session, USUAL_QUESTIONS};

/// At most so many questions come once more.
const MOST: usize = 3;

/// A question missed a moment ago would only be repeated from the ear: so many others come first.
const APART: u32 = 2;

impl Session {
    /// Notes a miss for the end of the session.
    pub(super) fn note_miss(&mut self, asked: &Asked) {
        let mut question = asked.question.clone();
        question.again = true;
        self.missed.push(Returning {
            due: self.answered() + APART,
            question,
            done: asked.done.clone(),
            packet: asked.packet.clone(),
        });
    }

    /// The next question of the end, if it is time for it.
    pub(super) fn closing_question(&mut self) -> Option<Asked> {
        let answered = self.answered();
        // Other routines of the same rehearsal have questions of their own for its end.
        let (closed, waiting) = self
            .among
            .map_or((0, 0), |among| (among.closed, among.ready));
        let left = MOST
            .saturating_sub(self.closed + closed)
            .min(self.ready_to_close() + waiting);
        if left == 0 || !self.near_the_end(u32::try_from(left).unwrap_or(u32::MAX)) {
            return None;
        }
        let at = self.missed.iter().position(|miss| miss.due <= answered)?;
        let miss = self.missed.remove(at);
        self.closed += 1;
        // It would come back anyway: once is enough now.
        self.returning
            .retain(|back| back.question.key != miss.question.key);
        Some(Asked {
            question: miss.question,
            done: miss.done,
            packet: miss.packet,
            reason: Why::End,
        })
    }

    /// How many of its questions could come once more now, if the end were near.
    pub(super) fn ready_to_close(&self) -> usize {
        let answered = self.answered();
        let ready = |miss: &&Returning| miss.due <= answered;
        self.missed.iter().filter(ready).count()
    }

    /// Whether no more than so many questions fit into what is left of the session.
    fn near_the_end(&self, questions: u32) -> bool {
        let answered = self.answered();
        let plan = &self.plan;
        if let Some(minutes) = plan.minutes
            && answered > 0
        {
            let left = (u64::from(minutes) * 60_000).saturating_sub(self.so_far.0);
            let each = self.so_far.0 / u64::from(answered);
            if left <= each.saturating_mul(u64::from(questions)) {
                return true;
            }
        }
        let limit = match (plan.questions, plan.minutes) {
            (Some(questions), _) => questions,
            (None, Some(_)) => return false,
            (None, None) => USUAL_QUESTIONS,
        };
        answered.saturating_add(questions) >= limit
    }
}
