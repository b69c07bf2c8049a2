//! Taking a step in.

use super::hand::{Hand, Shuffled, fix, may_be};
use crate::cards::Card;
use crate::handling::{self, Move};
use crate::knowing::streams::Streams;
use crate::roads::{Shuffler, Sighted, Taken, pass, pass_free, take, take_free};
use crate::routine::{Fault, NameId, Routine, Value, World};
use crate::table::Laid;

/// Follows a shuffle, and fixes what is known of its tokens.
struct Following<'a> {
    streams: &'a mut Streams,
    fixes: &'a [(Card, Laid)],
    shuffled: Option<Shuffled>,
    lost: bool,
}

impl Shuffler for Following<'_> {
    fn shuffle(
        &mut self,
        routine: &Routine,
        world: &mut World,
        mv: &Move,
        _: NameId,
    ) -> Result<(), Fault> {
        let program = handling::program(mv, &world.table)?;
        let Some(followed) = self.streams.follow(routine, &program, world) else {
            self.lost = true;
            return Ok(());
        };
        self.lost |= self.shuffled.is_some();
        *world = followed.world;
        let mut shuffled = Shuffled {
            start: followed.start,
            tokens: followed.tokens,
            given: self.streams.anything(),
        };
        for (card, look) in self.fixes {
            self.lost |= fix(self.streams, world, &mut shuffled, *card, *look).is_none();
        }
        self.shuffled = Some(shuffled);
        Ok(())
    }
}

/// A step being taken in: what was seen at it, and what comes of the hands that fit.
pub(super) struct Step<'a> {
    pub(super) streams: &'a mut Streams,
    pub(super) routine: &'a Routine,
    pub(super) wanted: &'a [Sighted],
    /// How many hands were tried.
    pub(super) tries: usize,
    pub(super) keep: &'a mut dyn FnMut(Taken, Hand),
}

impl Step<'_> {
    /// Takes the step on a hand, with each face that it needs. `None` where it cannot be told which.
    pub(super) fn take(&mut self, hand: &Hand, choice: Option<&Value>) -> Option<()> {
        self.tries += 1;
        match take(self.routine, &hand.world, choice) {
            Ok(taken) => (self.keep)(taken, hand.clone()),
            Err(Fault::Unfixed(card)) => {
                let after = pass(self.routine, &hand.world, choice).ok();
                let (routine, wanted) = (self.routine, self.wanted);
                let allowed = |look| may_be(routine, after.as_ref(), wanted, card, look);
                let looks = hand.looks(self.streams, routine, card);
                for look in looks.into_iter().filter(|look| allowed(*look)) {
                    if let Some(with) = hand.with(self.streams, card, look).ok()? {
                        self.take(&with, choice)?;
                    }
                }
            }
            // A branch that cannot be gone on with is no table that fits.
            Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => {}
        }
        Some(())
    }

    /// Takes the step of a free shuffle on a hand, with these tokens fixed. `None` where it cannot be followed.
    pub(super) fn shuffle(&mut self, hand: &Hand, fixes: &mut Vec<(Card, Laid)>) -> Option<()> {
        self.tries += 1;
        let mut following = Following {
            streams: &mut *self.streams,
            fixes,
            shuffled: None,
            lost: false,
        };
        let taken = take_free(self.routine, &hand.world, &mut following);
        let shuffled = following.shuffled.take().filter(|_| !following.lost)?;
        if !shuffled.is_possible(self.streams).ok()? {
            return Some(());
        }
        match taken {
            Ok(taken) => {
                let mut hand = hand.clone();
                hand.shuffles.push(shuffled);
                (self.keep)(taken, hand);
            }
            Err(Fault::Unfixed(card)) => {
                let mut following = Following {
                    streams: &mut *self.streams,
                    fixes,
                    shuffled: None,
                    lost: false,
                };
                let after = pass_free(self.routine, &hand.world, &mut following).ok();
                let (routine, wanted) = (self.routine, self.wanted);
                let allowed = |look| may_be(routine, after.as_ref(), wanted, card, look);
                for look in self.streams.looks(shuffled.start) {
                    fixes.push((card, look));
                    if allowed(look) {
                        self.shuffle(hand, fixes)?;
                    }
                    fixes.pop();
                }
            }
            Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => {}
        }
        Some(())
    }
}
