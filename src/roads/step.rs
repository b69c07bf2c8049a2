//! One step of a road: pure, from a world and a choice to the next world and what was seen.

use super::acts;
use super::domain::{Domain, domain, rounds_done};
use crate::cards::{Card, Class, TraitId};
use crate::routine::{
    Expr, Fault, ForkKind, NameId, Routine, Scene, Seen, Sight, SightKind, Stop, StopIndex, Then,
    Value, World,
};
use crate::table::{PileId, Place};

/// Something the performer saw or heard at a step. Two tables with the same sightings cannot be told apart.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Sighted {
    /// The step itself was done.
    Stop(StopIndex),
    /// A choice, spoken or made in the open.
    Choice(NameId, Value),
    /// A part of a choice: the value of the fork's expression with this index.
    Part {
        /// The fork's name.
        name: NameId,
        /// Which of the fork's expressions, from 0.
        index: usize,
        /// Its value.
        value: Value,
    },
    /// What the spectator answered.
    Reply(NameId, Value),
    /// A card.
    Card {
        /// In this pile.
        pile: PileId,
        /// At this place.
        place: Place,
        /// The card whose print was seen.
        print: Card,
        /// Whether it lies face up.
        up: bool,
    },
    /// A trait of a card.
    Trait {
        /// In this pile.
        pile: PileId,
        /// At this place.
        place: Place,
        /// Which trait.
        class: TraitId,
        /// Its class; `None` where the trait does not apply to the card.
        is: Option<Class>,
    },
    /// How many cards a pile holds.
    Count {
        /// The pile.
        pile: PileId,
        /// So many.
        cards: usize,
    },
    /// The value of an expression: the sight of the step with this index.
    Value {
        /// Which of the step's sights, from 0.
        index: usize,
        /// Its value.
        value: Value,
    },
}

/// A step taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// The state after it.
    pub world: World,
    /// What was seen, in order.
    pub sights: Vec<Sighted>,
}

/// Takes the step that comes next, with the spectator's choice where there is a fork.
///
/// # Errors
/// When the choice is not one of the branches, a move cannot be done, an expression has no value, or a face is needed
/// that nothing has fixed yet ([`Fault::Unfixed`]).
pub fn take(routine: &Routine, world: &World, choice: Option<&Value>) -> Result<Taken, Fault> {
    let stop = next_stop(routine, world)?;
    let mut next = world.clone();
    let mut sights = vec![Sighted::Stop(world.at)];
    let open = opened(routine, world, choice)?;
    let again = choose(routine, world, &mut next, stop, open.as_ref(), choice)?;
    if let (Some(fork), Some(choice)) = (&stop.fork, choice) {
        match &fork.seen {
            Seen::All => sights.push(Sighted::Choice(fork.name, choice.clone())),
            Seen::Nothing => {}
            Seen::These(parts) => {
                for (index, part) in parts.iter().enumerate() {
                    let value = part.value(Scene {
                        routine,
                        world: &next,
                    })?;
                    sights.push(Sighted::Part {
                        name: fork.name,
                        index,
                        value,
                    });
                }
            }
        }
    }
    if let Some(answer) = handle(routine, &mut next, stop, &mut acts::AsChosen)? {
        sights.push(answer);
    }
    for (index, sight) in stop.sights.iter().enumerate() {
        sights.push(look(routine, &next, index, sight)?);
    }
    next.at = following(routine, &mut next, stop, again)?;
    Ok(Taken {
        world: next,
        sights,
    })
}

/// The stop that comes next.
fn next_stop<'r>(routine: &'r Routine, world: &World) -> Result<&'r Stop, Fault> {
    routine
        .stop(world.at)
        .ok_or_else(|| Fault::Choice("the road has ended".to_owned()))
}

/// What a choice is one of, where there is one and anybody chooses.
fn opened(
    routine: &Routine,
    world: &World,
    choice: Option<&Value>,
) -> Result<Option<Domain>, Fault> {
    match choice {
        Some(_) => domain(routine, world),
        None => Ok(None),
    }
}

/// Remembers the spectator's choice among those that are open, where there is a fork. Gives whether they go round again.
fn choose(
    routine: &Routine,
    world: &World,
    next: &mut World,
    stop: &Stop,
    open: Option<&Domain>,
    choice: Option<&Value>,
) -> Result<bool, Fault> {
    let Some(fork) = &stop.fork else {
        return match choice {
            None => Ok(false),
            Some(_) => Err(Fault::Choice(format!(
                "nobody chooses at \u{201c}{}\u{201d}",
                stop.id
            ))),
        };
    };
    let name = || {
        routine
            .names
            .get(fork.name.index())
            .map_or("", |n| n.name.as_str())
    };
    let Some(choice) = choice else {
        return Err(Fault::Choice(format!(
            "\u{201c}{}\u{201d} needs a choice",
            name()
        )));
    };
    if !open.is_some_and(|open| open.contains(choice)) {
        let shown = choice.show(routine);
        return Err(Fault::Choice(format!(
            "{shown} is not offered at \u{201c}{}\u{201d}",
            name()
        )));
    }
    if matches!(fork.kind, ForkKind::Again { .. }) {
        let rounds = Value::Int(rounds_done(world, fork.name) + 1);
        remember(next, fork.name, rounds);
        return Ok(*choice == Value::Bool(true));
    }
    remember(next, fork.name, choice.clone());
    Ok(false)
}

/// Reckonings, acts and the reply, once the choice is made.
fn handle(
    routine: &Routine,
    next: &mut World,
    stop: &Stop,
    hand: &mut dyn acts::Shuffler,
) -> Result<Option<Sighted>, Fault> {
    for reckoning in &stop.reckonings {
        let value = reckoning.is.value(Scene {
            routine,
            world: next,
        })?;
        remember(next, reckoning.name, value);
    }
    act(routine, next, stop, hand)?;
    let Some(reply) = &stop.reply else {
        return Ok(None);
    };
    let value = reply.is.value(Scene {
        routine,
        world: next,
    })?;
    remember(next, reply.name, value.clone());
    Ok(Some(Sighted::Reply(reply.name, value)))
}

/// All that is done at a stop, as often as the hands do it.
fn act(
    routine: &Routine,
    next: &mut World,
    stop: &Stop,
    hand: &mut dyn acts::Shuffler,
) -> Result<(), Fault> {
    for _ in 0..hand.passes(&stop.acts) {
        acts::perform(routine, next, &stop.acts, hand)?;
    }
    Ok(())
}

/// Takes the step that comes next with hands of one's own, and looks at nothing. A free shuffle may come without a choice; the
/// hands then do it. What cannot be worked out or answered on this table is not remembered; a step that goes by it is then a
/// fault.
///
/// # Errors
/// As [`take`], and what the hands give.
pub fn pass_by_hand(
    routine: &Routine,
    world: &World,
    choice: Option<&Value>,
    hand: &mut dyn acts::Shuffler,
) -> Result<World, Fault> {
    let stop = next_stop(routine, world)?;
    let mut next = world.clone();
    let shuffles = stop.fork.as_ref().is_some_and(|fork| match fork.kind {
        ForkKind::Riffle { .. } | ForkKind::Overhand(_) => true,
        ForkKind::Number { .. }
        | ForkKind::Option(_)
        | ForkKind::Pile(_)
        | ForkKind::PileOrder(_)
        | ForkKind::Place(_)
        | ForkKind::Card(_)
        | ForkKind::Cards { .. }
        | ForkKind::Cut { .. }
        | ForkKind::Again { .. } => false,
    });
    let again = if shuffles && choice.is_none() {
        false
    } else {
        let open = opened(routine, world, choice)?;
        choose(routine, world, &mut next, stop, open.as_ref(), choice)?
    };
    for reckoning in &stop.reckonings {
        keep(routine, &mut next, reckoning.name, &reckoning.is);
    }
    act(routine, &mut next, stop, hand)?;
    if let Some(reply) = &stop.reply {
        keep(routine, &mut next, reply.name, &reply.is);
    }
    next.at = following(routine, &mut next, stop, again)?;
    Ok(next)
}

/// Remembers what an expression gives, or nothing where it gives nothing.
fn keep(routine: &Routine, world: &mut World, name: NameId, is: &Expr) {
    let value = is.value(Scene { routine, world }).ok();
    match value {
        Some(value) => remember(world, name, value),
        None => {
            if let Some(slot) = world.memory.get_mut(name.index()) {
                *slot = None;
            }
        }
    }
}

/// Takes the step that comes next and looks at nothing: as [`take`], but no face needs to be fixed for what the performer
/// sees. A sight that could not be had on any face (a place that does not exist) is still a fault.
///
/// # Errors
/// As [`take`].
pub fn pass(routine: &Routine, world: &World, choice: Option<&Value>) -> Result<World, Fault> {
    let open = opened(routine, world, choice)?;
    pass_among(routine, world, open.as_ref(), choice)
}

/// As [`pass`] for whoever takes many choices of one world: `open` is its [`domain`].
///
/// # Errors
/// As [`take`].
pub fn pass_among(
    routine: &Routine,
    world: &World,
    open: Option<&Domain>,
    choice: Option<&Value>,
) -> Result<World, Fault> {
    let stop = next_stop(routine, world)?;
    let mut next = world.clone();
    let again = choose(routine, world, &mut next, stop, open, choice)?;
    handle(routine, &mut next, stop, &mut acts::AsChosen)?;
    look_blindly(routine, &next, stop)?;
    next.at = following(routine, &mut next, stop, again)?;
    Ok(next)
}

/// Takes the step that comes next, a free shuffle, without a choice: whoever explores does the shuffle.
///
/// # Errors
/// As [`take`], and what the shuffler gives.
pub fn pass_free(
    routine: &Routine,
    world: &World,
    hand: &mut dyn acts::Shuffler,
) -> Result<World, Fault> {
    let stop = next_stop(routine, world)?;
    let mut next = world.clone();
    handle(routine, &mut next, stop, hand)?;
    look_blindly(routine, &next, stop)?;
    next.at = following(routine, &mut next, stop, false)?;
    Ok(next)
}

/// Takes the step that comes next, a free shuffle that nobody sees, without a choice: whoever explores does the shuffle. As
/// [`pass_free`], with what the performer saw.
///
/// # Errors
/// As [`take`], and what the shuffler gives.
pub fn take_free(
    routine: &Routine,
    world: &World,
    hand: &mut dyn acts::Shuffler,
) -> Result<Taken, Fault> {
    let stop = next_stop(routine, world)?;
    let mut next = world.clone();
    let mut sights = vec![Sighted::Stop(world.at)];
    sights.extend(handle(routine, &mut next, stop, hand)?);
    for (index, sight) in stop.sights.iter().enumerate() {
        sights.push(look(routine, &next, index, sight)?);
    }
    next.at = following(routine, &mut next, stop, false)?;
    Ok(Taken {
        world: next,
        sights,
    })
}

/// What is seen of a world by looking so: for each sight what it shows, or why it cannot be had.
#[must_use]
pub fn seen(routine: &Routine, world: &World, sights: &[Sight]) -> Vec<Result<Sighted, Fault>> {
    sights
        .iter()
        .enumerate()
        .map(|(index, sight)| look(routine, world, index, sight))
        .collect()
}

/// Whether every sight of a stop could be had, whatever the faces.
fn look_blindly(routine: &Routine, world: &World, stop: &Stop) -> Result<(), Fault> {
    for (index, sight) in stop.sights.iter().enumerate() {
        match look(routine, world, index, sight) {
            Ok(_) | Err(Fault::Unfixed(_)) => {}
            Err(fault) => return Err(fault),
        }
    }
    Ok(())
}

/// Where the road goes on.
fn following(
    routine: &Routine,
    world: &mut World,
    stop: &Stop,
    again: bool,
) -> Result<StopIndex, Fault> {
    match stop.then {
        Then::Go(at) => Ok(at),
        Then::Gate { again: first, .. } if again => {
            // Parts repeated inside this one start their count anew.
            for inner in &routine.stops[first.index().min(routine.stops.len())..world.at.index()] {
                if let Some(fork) = inner
                    .fork
                    .as_ref()
                    .filter(|f| matches!(f.kind, ForkKind::Again { .. }))
                    && let Some(slot) = world.memory.get_mut(fork.name.index())
                {
                    *slot = None;
                }
            }
            Ok(first)
        }
        Then::Gate { on, .. } => {
            let end_of_steps =
                on == routine.finish() || routine.endings.iter().any(|e| e.first == on);
            if end_of_steps {
                ending(routine, world)
            } else {
                Ok(on)
            }
        }
        Then::Endings => ending(routine, world),
        Then::Finish => Ok(routine.finish()),
    }
}

/// The first ending whose condition holds.
fn ending(routine: &Routine, world: &World) -> Result<StopIndex, Fault> {
    for ending in &routine.endings {
        let open = match &ending.when {
            None => true,
            Some(when) => when.value(Scene { routine, world })? == Value::Bool(true),
        };
        if open {
            return Ok(ending.first);
        }
    }
    Ok(routine.finish())
}

pub(super) fn remember(world: &mut World, name: NameId, value: Value) {
    if world.memory.len() <= name.index() {
        world.memory.resize(name.index() + 1, None);
    }
    world.memory[name.index()] = Some(value);
}

fn look(routine: &Routine, world: &World, index: usize, sight: &Sight) -> Result<Sighted, Fault> {
    let scene = Scene { routine, world };
    let laid = |pile: PileId, at: &crate::routine::Expr| {
        let place = acts::place(scene, pile, at)?;
        world
            .table
            .at(pile, place)
            .map(|laid| (place, laid))
            .ok_or_else(|| {
                let name = routine.pile_name(pile);
                Fault::Value(format!(
                    "there is no card at place {} of \u{201c}{name}\u{201d}",
                    place.0
                ))
            })
    };
    Ok(match &sight.kind {
        SightKind::Card { pile, at } => {
            let (place, laid) = laid(*pile, at)?;
            let print = world
                .face_of(laid.card())
                .ok_or(Fault::Unfixed(laid.card()))?;
            Sighted::Card {
                pile: *pile,
                place,
                print,
                up: laid.face_up(),
            }
        }
        SightKind::Trait { pile, at, class } => {
            let (place, laid) = laid(*pile, at)?;
            let print = world
                .face_of(laid.card())
                .ok_or(Fault::Unfixed(laid.card()))?;
            Sighted::Trait {
                pile: *pile,
                place,
                class: *class,
                is: routine.pack.class(print, *class),
            }
        }
        SightKind::Count(pile) => Sighted::Count {
            pile: *pile,
            cards: world.table.size(*pile),
        },
        SightKind::Value(expr) => Sighted::Value {
            index,
            value: expr.value(scene)?,
        },
    })
}
