//! A world with tokens, and what is known of them.

use crate::cards::Card;
use crate::knowing::layer::open_faces;
use crate::knowing::streams::{Halt, Streams, Tokens};
use crate::knowing::{Monitor, StreamState};
use crate::roads::Sighted;
use crate::routine::{Routine, World};
use crate::table::Laid;

/// A shuffle that was followed.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Shuffled {
    pub(super) start: StreamState,
    pub(super) tokens: Tokens,
    pub(super) given: Monitor,
}

impl Shuffled {
    /// Whether any outcome fits what is given. No question of this kind runs long enough to be stopped.
    ///
    /// # Errors
    /// As [`Streams::can_end`].
    pub(super) fn is_possible(&self, streams: &mut Streams) -> Result<bool, Halt> {
        streams.can_end(self.start, self.given, true, &mut |_| false)
    }
}

/// A world with tokens, and what is known of them.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Hand {
    pub(super) world: World,
    pub(super) shuffles: Vec<Shuffled>,
}

/// Takes a token to have this look from now on.
pub(super) fn fix(
    streams: &mut Streams,
    world: &mut World,
    shuffled: &mut Shuffled,
    card: Card,
    look: Laid,
) -> Option<()> {
    let token = shuffled.tokens.token(card)?;
    *world.faces.get_mut(card.index())? = Some(look.card());
    let is = streams.fixed(shuffled.start, token, &[look])?;
    shuffled.given = streams.all(&[(shuffled.given, true), (is, true)]);
    Some(())
}

/// Whether a card that has this look may lie where it does after a step, as far as what was seen there goes.
pub(super) fn may_be(
    routine: &Routine,
    after: Option<&World>,
    wanted: &[Sighted],
    card: Card,
    look: Laid,
) -> bool {
    let lies = |pile, place| {
        let laid = after.and_then(|world| world.table.at(pile, place));
        laid.is_some_and(|laid| laid.card() == card)
    };
    wanted.iter().all(|seen| match seen {
        Sighted::Card {
            pile, place, print, ..
        } => !lies(*pile, *place) || look.card() == *print,
        Sighted::Trait {
            pile,
            place,
            class,
            is,
        } => !lies(*pile, *place) || routine.pack.class(look.card(), *class) == *is,
        Sighted::Stop(_)
        | Sighted::Choice(..)
        | Sighted::Part { .. }
        | Sighted::Reply(..)
        | Sighted::Count { .. }
        | Sighted::Value { .. } => true,
    })
}

impl Hand {
    /// The looks that a card whose face is not fixed might have; whether each is possible is for [`Hand::with`] to say.
    pub(super) fn looks(&self, streams: &Streams, routine: &Routine, card: Card) -> Vec<Laid> {
        let mut shuffles = self.shuffles.iter();
        match shuffles.find(|s| s.tokens.token(card).is_some()) {
            Some(shuffled) => streams.looks(shuffled.start),
            None => {
                let faces = open_faces(routine, &self.world).into_iter();
                faces.map(|print| Laid::new(print, false)).collect()
            }
        }
    }

    /// The hand in which a card has this look; `None` where it cannot have it.
    ///
    /// # Errors
    /// When that cannot be told.
    pub(super) fn with(
        &self,
        streams: &mut Streams,
        card: Card,
        look: Laid,
    ) -> Result<Option<Self>, Halt> {
        let mut hand = self.clone();
        let mut shuffles = hand.shuffles.iter_mut();
        match shuffles.find(|s| s.tokens.token(card).is_some()) {
            Some(shuffled) => {
                fix(streams, &mut hand.world, shuffled, card, look).ok_or(Halt::Unfit)?;
                Ok(shuffled.is_possible(streams)?.then_some(hand))
            }
            None => {
                let slot = hand.world.faces.get_mut(card.index());
                *slot.ok_or(Halt::Unfit)? = Some(look.card());
                Ok(Some(hand))
            }
        }
    }

    /// One of the tables that this hand may be, without tokens; `None` where it can be none.
    pub(super) fn example(&self, streams: &mut Streams) -> Option<World> {
        let mut world = self.world.clone();
        for shuffled in &self.shuffles {
            let first = streams.first(shuffled.start, shuffled.given, true, &mut |_| false);
            let outcome = first.ok()??;
            for (token, look) in (0..).zip(&outcome.looks) {
                let card = shuffled.tokens.card(token);
                let (pile, place) = world.table.find(card)?;
                let lies = &mut world.table.pile_mut(pile)[place.index()?];
                *lies = Laid::new(look.card(), lies.face_up());
            }
        }
        Some(world)
    }
}
