//! What the hands most likely did, by the packet they ended with.

use super::Hands;
use super::ending::noted;
use crate::drill::say;
use crate::drill::spoken::prompt::SpokenEffect;
use crate::rescue::slip::{Case, Report, card_words, explain, explanation_words};
use crate::roads::{Choices, unknown_start};
use crate::routine::{Millis, Value, capital};
use crate::table::PileId;

/// So many steps are taken to look for a slip: nobody waits.
const MOST_STEPS: u64 = 60_000;
/// From this share of all that fits on, a slip is named without asking.
const SURE: f64 = 0.4;

impl Hands {
    /// Of a pile of which fewer cards were typed, only the top was looked at; where a single one is short, it is missing.
    pub(super) fn only_the_top(&mut self) {
        let table = &self.road.scene(&self.routine).world.table;
        let sizes: Vec<usize> = self
            .packets
            .piles
            .iter()
            .map(|found| table.size(found.pile))
            .collect();
        for (found, size) in self.packets.piles.iter_mut().zip(sizes) {
            found.open |= found.cards.len() + 1 < size;
        }
    }

    /// Names what was most likely done; nothing where nothing fits.
    pub(super) fn slipped(&mut self, rest: Vec<PileId>, now: Millis) -> Option<Vec<SpokenEffect>> {
        let report = self.report()?;
        let cards: String = report
            .cards
            .iter()
            .map(|fault| format!("{}. ", capital(&card_words(&self.routine, fault))))
            .collect();
        if report.right && report.cards.is_empty() {
            // What was told on the road speaks against it, or nothing could be listed that speaks for it.
            return (self.road.all.worlds().is_none() && rest.is_empty())
                .then(|| self.could_be(now));
        }
        let Some(first) = report.explanations.first() else {
            return (!cards.is_empty()).then(|| self.ask_where(cards.trim(), now));
        };
        let told = explanation_words(&self.routine, first);
        if first.share < SURE {
            if !rest.is_empty() {
                return Some(self.ask_pile(rest, now));
            }
            let found =
                format!("{cards}It may be that {told}, but other slips lead to these cards too.");
            return Some(self.ask_where(&found, now));
        }
        let stop = first.slips.first()?.stop;
        let words = match told.strip_prefix("you ") {
            Some(did) => format!("You probably {did}."),
            None => format!("{}.", capital(&told)),
        };
        let given = format!("{}: {told}", self.typed.join("; "));
        let effect = self.keep_slip(stop, &given);
        let title = self
            .routine
            .stop(stop)
            .map(|stop| say::heading(&self.routine, stop))
            .unwrap_or_default();
        let words = format!("{cards}{words} {}", noted(title.trim_end_matches('.')));
        let mut effects = vec![effect];
        effects.extend(self.verdict(words, false, now));
        Some(effects)
    }

    fn report(&self) -> Option<Report> {
        let routine = &self.routine;
        let mut choices =
            Choices::read(routine, self.road.choices.iter().map(String::as_str)).ok()?;
        for (name, value) in &self.road.thoughts {
            let value = match value {
                Value::Card(card) => {
                    Value::Card(self.road.scene(routine).print(*card).unwrap_or(*card))
                }
                other => other.clone(),
            };
            choices = choices.with(*name, 1, value);
        }
        let start = unknown_start(routine);
        let case = Case {
            routine,
            start: &start,
            choices: &choices,
            until: None,
            got: &self.packets,
            most_steps: MOST_STEPS,
        };
        // Pairs take longer than busy hands wait.
        Some(explain(&case, &|| true))
    }
}
