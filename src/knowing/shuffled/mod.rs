//! All tables that fit, where free shuffles that nobody saw are followed a card at a time instead of being listed.
//!
//! A [`Hand`] is a world with tokens and, for each shuffle, what may have come of it: the stream, and what is *given* of it because it
//! was seen since. A sighting that needs the face of a token splits the hand into those that the shuffle allows. What is asked is worked
//! out in the same way: where it needs a face, on each face that the token can have under what is given.

mod hand;
mod step;

use super::done::Done;
use super::knowledge::Known;
use super::layer::{Layer, forgotten};
use super::streams::{Claimed, Streams, step_is_plain_with_tokens};
use super::{Watch, reads};
use crate::cards::Card;
use crate::roads::{Taken, domain};
use crate::routine::{ClaimKind, Fault, ForkKind, Routine, Scene, Seen, Stop, World};
use crate::table::Laid;
use hand::Hand;
use rustc_hash::FxHashSet;
use std::rc::Rc;
use std::sync::{Arc, Mutex, PoisonError};
use step::Step;

/// More hands than this are not kept.
const MOST_HANDS: usize = 500;

/// More faces than this are not tried for one question.
const MOST_TRIES: usize = 4_096;

/// What is still to be asked.
enum Open {
    /// This hand.
    Hand(Hand),
    /// A hand in which a card has a look, if it can have that.
    Face {
        of: Rc<Hand>,
        card: Card,
        look: Laid,
    },
}

/// The hands that fit, as one watch sees them.
#[derive(Debug, Clone)]
pub(super) struct Hands {
    layer: Layer,
    /// `None` once there were more than the budget allows, or a step could not be followed.
    hands: Option<Vec<Hand>>,
}

/// The hands of each watch that was asked for, and how much of the road they have followed.
#[derive(Debug, Default)]
pub(super) struct Unlisted {
    /// What is known of streams is true of every road, so copies share it.
    streams: Arc<Mutex<Streams>>,
    hands: Mutex<Vec<(usize, Hands)>>,
}

impl Clone for Unlisted {
    fn clone(&self) -> Self {
        let hands = self.hands.lock().unwrap_or_else(PoisonError::into_inner);
        Self {
            streams: Arc::clone(&self.streams),
            hands: Mutex::new(hands.clone()),
        }
    }
}

impl Unlisted {
    /// Asks the hands of a watch, brought up to the end of this road.
    pub(super) fn ask<T>(
        &self,
        routine: &Routine,
        watch: Watch,
        road: &[Done],
        budget: usize,
        ask: &dyn Fn(&Hands, &mut Streams) -> Known<T>,
    ) -> Known<T> {
        let shuffled = road.iter().any(|done| {
            let stop = routine.stop(done.stop);
            done.choice.is_none() && stop.is_some_and(|stop| unseen_shuffle(stop, done))
        });
        if !shuffled || !reads::allows(routine, watch) {
            return Known::TooMany;
        }
        let budget = budget.min(MOST_HANDS);
        let mut all = self.hands.lock().unwrap_or_else(PoisonError::into_inner);
        let mut streams = self.streams.lock().unwrap_or_else(PoisonError::into_inner);
        let known = all.iter().position(|(_, hands)| hands.layer.watch == watch);
        let at = known.unwrap_or_else(|| {
            all.push((0, Hands::at_start(routine, watch)));
            all.len() - 1
        });
        let (followed, hands) = &mut all[at];
        for done in road.iter().skip(*followed) {
            hands.follow(&mut streams, routine, done, budget);
        }
        *followed = road.len();
        ask(hands, &mut streams)
    }
}

impl Hands {
    /// Before the first step.
    pub(super) fn at_start(routine: &Routine, watch: Watch) -> Self {
        let layer = Layer::at_start(routine, watch);
        let hands = layer.worlds.as_ref().map(|worlds| {
            let hand = |world: &World| Hand {
                world: world.clone(),
                shuffles: Vec::new(),
            };
            worlds.iter().map(hand).collect()
        });
        Self { layer, hands }
    }

    /// Takes in a step.
    pub(super) fn follow(
        &mut self,
        streams: &mut Streams,
        routine: &Routine,
        done: &Done,
        budget: usize,
    ) {
        if let Some(hands) = self.hands.take() {
            self.hands = self.advance(streams, routine, &hands, done, budget);
        }
    }

    fn advance(
        &self,
        streams: &mut Streams,
        routine: &Routine,
        hands: &[Hand],
        done: &Done,
        budget: usize,
    ) -> Option<Vec<Hand>> {
        let stop = routine.stop(done.stop)?;
        let wanted: Vec<_> = done.sights.iter().map(|s| self.layer.as_seen(s)).collect();
        let mut fitting: FxHashSet<Hand> = FxHashSet::default();
        let mut tries = 0_usize;
        for hand in hands {
            if !hand.shuffles.is_empty() && !step_is_plain_with_tokens(routine, &hand.world) {
                return None;
            }
            let mut keep = |taken: Taken, hand: Hand| {
                if done.fits(&taken.sights, &wanted, &taken.world) {
                    fitting.insert(Hand {
                        world: taken.world,
                        ..hand
                    });
                }
            };
            let mut step = Step {
                streams: &mut *streams,
                routine,
                wanted: &wanted,
                tries: 0,
                keep: &mut keep,
            };
            let hidden = stop.fork.is_some() && done.choice.is_none();
            if hidden && unseen_shuffle(stop, done) {
                step.shuffle(hand, &mut Vec::new())?;
            } else if hidden {
                let open = domain(routine, &hand.world).ok().flatten()?;
                if open.count() > budget as u128 {
                    return None;
                }
                for branch in open.branches() {
                    step.take(hand, Some(&branch))?;
                }
            } else {
                step.take(hand, done.choice.as_ref())?;
            }
            tries += step.tries;
            if fitting.len() > budget || tries > budget.saturating_mul(8) {
                return None;
            }
        }
        let mut fitting: Vec<Hand> = fitting.into_iter().collect();
        if let Some(name) = reads::forgettable(routine, stop) {
            let forget = |hand: Hand| Hand {
                world: forgotten(hand.world, name),
                ..hand
            };
            let merged: FxHashSet<Hand> = fitting.into_iter().map(forget).collect();
            fitting = merged.into_iter().collect();
        }
        // In a fixed order, whatever the order of the set.
        fitting.sort_unstable_by(|a, b| {
            let key = |hand: &Hand| {
                hand.shuffles
                    .iter()
                    .map(|s| (s.start, s.given))
                    .collect::<Vec<_>>()
            };
            a.world.cmp(&b.world).then_with(|| key(a).cmp(&key(b)))
        });
        Some(fitting)
    }

    /// The one query: see [`super::Knowledge::known`].
    pub(super) fn known<T: Eq>(
        &self,
        streams: &mut Streams,
        routine: &Routine,
        what: &impl Fn(Scene<'_>) -> Result<T, Fault>,
    ) -> Known<T> {
        let Some(hands) = &self.hands else {
            return Known::TooMany;
        };
        let mut found: Option<T> = None;
        let mut open: Vec<Open> = hands.iter().cloned().map(Open::Hand).collect();
        let mut tries = 0;
        while let Some(next) = open.pop() {
            let hand = match next {
                Open::Hand(hand) => hand,
                Open::Face { of, card, look } => match of.with(streams, card, look) {
                    Ok(Some(hand)) => hand,
                    Ok(None) => continue,
                    Err(_) => return Known::TooMany,
                },
            };
            tries += 1;
            if tries > MOST_TRIES {
                return Known::TooMany;
            }
            let world = &hand.world;
            match what(Scene { routine, world }) {
                Ok(value) => {
                    // Whoever takes a token for a card, without a look at its face, would be told wrong.
                    let Some(world) = hand.example(streams) else {
                        return Known::TooMany;
                    };
                    if what(Scene {
                        routine,
                        world: &world,
                    })
                    .as_ref()
                        != Ok(&value)
                    {
                        return Known::TooMany;
                    }
                    match &found {
                        None => found = Some(value),
                        Some(first) if *first == value => {}
                        Some(_) => return Known::Differs,
                    }
                }
                Err(Fault::Unfixed(card)) => {
                    let looks = hand.looks(streams, routine, card);
                    let of = Rc::new(hand);
                    open.extend(looks.into_iter().map(|look| Open::Face {
                        of: Rc::clone(&of),
                        card,
                        look,
                    }));
                }
                Err(Fault::Handling(_) | Fault::Value(_) | Fault::Choice(_)) => {
                    return Known::Differs;
                }
            }
        }
        found.map_or(Known::Differs, Known::Same)
    }

    /// Whether a claim is known to hold, or known to fail.
    pub(super) fn holds(
        &self,
        streams: &mut Streams,
        routine: &Routine,
        claim: &ClaimKind,
    ) -> Known<bool> {
        let Some(hands) = &self.hands else {
            return Known::TooMany;
        };
        let mut can = [false; 2];
        for hand in hands {
            let [shuffled] = hand.shuffles.as_slice() else {
                return self.known(streams, routine, &|scene| claim.holds(scene));
            };
            let claimed = Claimed {
                routine,
                world: &hand.world,
                turned: None,
                claim,
            };
            let Some(monitor) = streams.monitor(shuffled.start, &shuffled.tokens, claimed) else {
                return self.known(streams, routine, &|scene| claim.holds(scene));
            };
            for want in [false, true] {
                let both = streams.all(&[(shuffled.given, true), (monitor, want)]);
                match streams.can_end(shuffled.start, both, true, &mut |_| false) {
                    Ok(can_end) => can[usize::from(want)] |= can_end,
                    Err(_) => return Known::TooMany,
                }
            }
        }
        match can {
            [false, true] => Known::Same(true),
            [true, false] => Known::Same(false),
            [true, true] | [false, false] => Known::Differs,
        }
    }
}

/// Whether the fork of a stop is a free shuffle of which nothing was seen.
fn unseen_shuffle(stop: &Stop, done: &Done) -> bool {
    stop.fork.as_ref().is_some_and(|fork| {
        let shuffle = matches!(fork.kind, ForkKind::Riffle { .. } | ForkKind::Overhand(_));
        shuffle && (matches!(fork.seen, Seen::Nothing) || !done.whole)
    })
}
