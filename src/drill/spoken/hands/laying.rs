//! The set-up, shown or told card by card.

use super::{Hands, Phase};
use crate::drill::question::Drill;
use crate::drill::spoken::prompt::{LaySetUp, Sound, SpokenEffect};
use crate::drill::spoken::words;
use crate::routine::Millis;

impl Hands {
    pub(super) fn set_up(&self) -> Phase {
        Phase::SetUp(LaySetUp {
            drill: self.drill,
            along: self.along(self.since, None),
            piles: match (self.drill, self.road.walked.is_empty()) {
                (Drill::Dress, true) => Vec::new(),
                (_, true) => words::set_up(&self.routine),
                (_, false) => words::laid_out(self.road.scene(&self.routine)),
            },
            so_far: self
                .road
                .given
                .iter()
                .map(|said| said.text.clone())
                .collect(),
            telling: None,
            setup: self.routine.setup,
        })
    }

    /// Tells a card of the set-up; the first of the next pile after the last of this one.
    pub(super) fn tell_card(&mut self, pile: usize, card: usize) -> Vec<SpokenEffect> {
        let Phase::SetUp(lay) = &mut self.phase else {
            return Vec::new();
        };
        if lay.piles.is_empty() {
            return Vec::new();
        }
        let at = (pile..lay.piles.len())
            .map(|n| (n, if n == pile { card } else { 0 }))
            .find(|&(n, card)| card < lay.piles[n].cards.len());
        lay.telling = at;
        let Some((n, card)) = at else {
            return self.say(vec![words::prompter("That is all of it.")]);
        };
        let told = &lay.piles[n].cards[card];
        let mut speech = Vec::new();
        if card == 0 {
            speech.push(words::reader(&self.routine, &lay.piles[n].name));
        }
        speech.push(words::reader(&self.routine, &told.words));
        self.say(speech)
    }

    pub(super) fn begin(&mut self, now: Millis) -> Vec<SpokenEffect> {
        self.road_since = now;
        let mut effects = vec![SpokenEffect::Play(Sound::Ready)];
        effects.extend(self.next_step(now));
        effects
    }
}
