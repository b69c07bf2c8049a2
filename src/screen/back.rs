//! Questions that come back later are about an earlier place on the road: which one must be said.

use crate::drill::{Interleaved, Question, Tell};

/// Where a question is about, in words, unless it is about where we are: "the very start", "“Deal it out”".
#[must_use]
pub fn looks_back(
    session: &Interleaved,
    told: Option<&Tell>,
    question: &Question,
) -> Option<String> {
    let routine = session.routine();
    let spot = question.spot;
    let here = told.is_some_and(|tell| {
        let after = tell.done + usize::from(tell.stop.is_some());
        // Within a step, or right after it.
        spot.road == tell.road && (tell.done..=after).contains(&spot.done)
    });
    if here {
        return None;
    }
    let title = routine.stop(spot.stop).map_or("", |stop| &stop.title);
    let place = match (spot.done, spot.visit) {
        (0, _) => "the very start".to_owned(),
        (_, 0 | 1) => format!("“{title}”"),
        (_, visit) => format!("“{title}”, time {visit}"),
    };
    if session.visited().is_some() {
        return Some(format!("{place} of {}", routine.title));
    }
    Some(if told.is_some_and(|tell| tell.road == spot.road) {
        place
    } else {
        format!("{place} on road {}", spot.road)
    })
}
