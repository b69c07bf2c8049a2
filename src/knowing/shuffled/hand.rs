//! A world with tokens, and what is known of them.

use crate::cards::Card;
use crate::knowing::layer::open_faces;
use crate::knowing::streams::{Streams, Tokens};
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

/// The looks that a token can have, of those allowed.
pub(super) fn looks(
    streams: &mut Streams,
    shuffled: &Shuffled,
    card: Card,
    allowed: &dyn Fn(Laid) -> bool,
) -> Option<Vec<Laid>> {
    let token = shuffled.tokens.token(card)?;
    let mut found = Vec::new();
    for look in streams.looks(shuffled.start) {
        if !allowed(look) {
            continue;
        }
        let is = streams.fixed(shuffled.start, token, &[look])?;
        let both = streams.all(&[(shuffled.given, true), (is, true)]);
        if streams
            .can_end(shuffled.start, both, true, &mut |_| false)
            .ok()?
        {
            found.push(look);
        }
    }
    Some(found)
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
    /// The hand with each face that this card can have.
    pub(super) fn split(
        &self,
        streams: &mut Streams,
        routine: &Routine,
        card: Card,
        allowed: &dyn Fn(Laid) -> bool,
    ) -> Option<Vec<Self>> {
        let shuffle = self
            .shuffles
            .iter()
            .position(|s| s.tokens.token(card).is_some());
        let Some(shuffle) = shuffle else {
            let faces = open_faces(routine, &self.world).into_iter();
            let split = faces.map(|print| {
                let mut hand = self.clone();
                *hand.world.faces.get_mut(card.index())? = Some(print);
                Some(hand)
            });
            return split.collect();
        };
        let looks = looks(streams, &self.shuffles[shuffle], card, allowed)?;
        let split = looks.into_iter().map(|look| {
            let mut hand = self.clone();
            fix(
                streams,
                &mut hand.world,
                &mut hand.shuffles[shuffle],
                card,
                look,
            )?;
            Some(hand)
        });
        split.collect()
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
