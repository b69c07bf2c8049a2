//! Doing what a step says: acts with expressions become moves with numbers, and run.

use super::step::remember;
use crate::cards::count_letters;
use crate::handling::{self, Chooser, Forced, Halves, Move};
use crate::routine::{Act, Chain, Expr, Fault, NameId, Routine, Scene, Value, Words, World};
use crate::table::{PileId, Place};

/// Repeats within one act: a file from a stranger can ask for no more.
const MOST_REPEATS: i64 = 200;

/// Who does a free shuffle: the one who follows the choice remembered under a name, or an explorer that follows all at once.
///
/// The rest of the handling is done as it is written, unless the hands say otherwise: whoever looks for what went wrong in them
/// lets one thing be done differently.
pub trait Shuffler {
    /// Does the shuffle on the world's table.
    ///
    /// # Errors
    /// When it cannot be done, or the choice is missing.
    fn shuffle(
        &mut self,
        routine: &Routine,
        world: &mut World,
        mv: &Move,
        by: NameId,
    ) -> Result<(), Fault>;

    /// How often all that is done at a step is done: once.
    fn passes(&mut self, _acts: &[Act]) -> u16 {
        1
    }

    /// Does a move without free points.
    ///
    /// # Errors
    /// When it cannot be done on this table.
    fn carry_out(&mut self, world: &mut World, mv: &Move) -> Result<(), Fault> {
        do_move(world, mv, &mut Forced)
    }

    /// How many rounds of a part that is repeated are done, where so many are due.
    fn rounds(&mut self, due: i64) -> i64 {
        due
    }

    /// Which of two ways is gone, where the condition came out like this.
    fn way(&mut self, condition: bool) -> bool {
        condition
    }
}

/// Does a move without free points on a table.
///
/// # Errors
/// When it cannot be done there.
pub fn do_plainly(world: &mut World, mv: &Move) -> Result<(), Fault> {
    do_move(world, mv, &mut Forced)
}

/// Shuffles as the spectator chose.
#[derive(Debug, Clone, Copy)]
pub struct AsChosen;

impl Shuffler for AsChosen {
    fn shuffle(
        &mut self,
        routine: &Routine,
        world: &mut World,
        mv: &Move,
        by: NameId,
    ) -> Result<(), Fault> {
        let chosen = match world.memory.get_mut(by.index()) {
            // How a shuffle went is forgotten once it is done: nothing later may look at it, only at the table.
            Some(slot) if matches!(slot, Some(Value::Weave(_) | Value::Chunks(_))) => slot.take(),
            Some(_) | None => None,
        };
        match (mv, chosen) {
            (Move::Riffle { .. }, Some(Value::Weave(weave))) => {
                do_move(world, mv, &mut handling::ByWeave::new(&weave))
            }
            (Move::Overhand(_), Some(Value::Chunks(chunks))) => {
                do_move(world, mv, &mut handling::ByChunks::new(&chunks))
            }
            (Move::Overhand(_), _) => Err(missing(routine, by, "chunks")),
            _ => Err(missing(routine, by, "interleaving")),
        }
    }
}

/// Does the acts in order.
pub(super) fn perform(
    routine: &Routine,
    world: &mut World,
    acts: &[Act],
    hand: &mut dyn Shuffler,
) -> Result<(), Fault> {
    for act in acts {
        perform_one(routine, world, act, hand)?;
    }
    Ok(())
}

/// A place given by an expression; negative numbers count from the bottom.
pub(super) fn place(scene: Scene<'_>, pile: PileId, at: &Expr) -> Result<Place, Fault> {
    let size = i64::try_from(scene.world.table.size(pile)).unwrap_or(i64::MAX);
    counted(number(scene, at)?, size)
        .map_err(|n| Fault::Value(format!("place {n} is not in a pile of {size} cards")))
}

/// The place that a number names of so many; negative numbers count from the last.
///
/// # Errors
/// The number from the first, where there is no such place.
fn counted(n: i64, last: i64) -> Result<Place, i64> {
    let n = if n < 0 { last + 1 + n } else { n };
    match u16::try_from(n) {
        Ok(place) if place > 0 => Ok(Place(place)),
        _ => Err(n),
    }
}

fn number(scene: Scene<'_>, expr: &Expr) -> Result<i64, Fault> {
    match expr.value(scene)? {
        Value::Int(n) => Ok(n),
        other => {
            let shown = other.show(scene.routine);
            Err(Fault::Value(format!(
                "\u{201c}{}\u{201d} gives {shown}, where a number is needed",
                expr.source()
            )))
        }
    }
}

fn count(scene: Scene<'_>, expr: &Expr) -> Result<u16, Fault> {
    let n = number(scene, expr)?;
    u16::try_from(n).map_err(|_| {
        Fault::Value(format!(
            "{n} cards cannot be counted (\u{201c}{}\u{201d})",
            expr.source()
        ))
    })
}

fn count_or_all(scene: Scene<'_>, expr: Option<&Expr>, pile: PileId) -> Result<u16, Fault> {
    match expr {
        Some(expr) => count(scene, expr),
        None => Ok(u16::try_from(scene.world.table.size(pile)).unwrap_or(u16::MAX)),
    }
}

fn truth(scene: Scene<'_>, expr: &Expr) -> Result<bool, Fault> {
    match expr.value(scene)? {
        Value::Bool(b) => Ok(b),
        other => {
            let shown = other.show(scene.routine);
            Err(Fault::Value(format!(
                "\u{201c}{}\u{201d} gives {shown}, where yes or no is needed",
                expr.source()
            )))
        }
    }
}

fn do_move(world: &mut World, mv: &Move, chooser: &mut impl Chooser) -> Result<(), Fault> {
    let program = handling::program(mv, &world.table)?;
    handling::run(&program, &mut world.table, chooser)?;
    Ok(())
}

fn missing(routine: &Routine, by: NameId, what: &str) -> Fault {
    let name = routine
        .names
        .get(by.index())
        .map_or("", |n| n.name.as_str());
    Fault::Value(format!("\u{201c}{name}\u{201d} holds no {what} here"))
}

fn perform_one(
    routine: &Routine,
    world: &mut World,
    act: &Act,
    hand: &mut dyn Shuffler,
) -> Result<(), Fault> {
    let scene = Scene { routine, world };
    let mv = match act {
        Act::Cut { pile, at } => Move::Cut {
            pile: *pile,
            at: count(scene, at)?,
        },
        Act::Block {
            from,
            take,
            count,
            to,
            put,
            order,
        } => Move::Block {
            from: *from,
            take: *take,
            count: count_or_all(scene, count.as_ref(), *from)?,
            to: *to,
            put: *put,
            order: *order,
        },
        Act::Deal {
            from,
            to,
            count,
            up,
        } => {
            let count = count_or_all(scene, count.as_ref(), *from)?;
            Move::Deal {
                from: *from,
                to: to.clone(),
                count,
                up: *up,
            }
        }
        Act::Gather { piles, by, onto } => Move::Gather {
            piles: match by {
                None => piles.clone(),
                Some(by) => match by.value(scene)? {
                    Value::Order(order) => order.to_vec(),
                    other => {
                        let shown = other.show(routine);
                        return Err(Fault::Value(format!("{shown} is no order of piles")));
                    }
                },
            },
            onto: *onto,
        },
        Act::DownUnder {
            pile,
            to,
            leave,
            first_under,
        } => Move::DownUnder {
            pile: *pile,
            to: *to,
            leave: count(scene, leave)?,
            first_under: *first_under,
        },
        Act::Klondike(pile) => Move::Klondike(*pile),
        Act::Monge { pile, second } => Move::Monge(*pile, *second),
        Act::Faro { pile, weave } => Move::Faro(*pile, *weave),
        Act::InverseFaro { pile, top, by } => {
            let top = match by {
                None => *top,
                Some(by) if truth(scene, by)? => Halves::OddsOnTop,
                Some(_) => Halves::EvensOnTop,
            };
            Move::InverseFaro(*pile, top)
        }
        Act::Riffle {
            left,
            right,
            to,
            by,
        } => {
            let mv = Move::Riffle {
                left: *left,
                right: *right,
                to: *to,
            };
            return hand.shuffle(routine, world, &mv, *by);
        }
        Act::Overhand { pile, by } => {
            return hand.shuffle(routine, world, &Move::Overhand(*pile), *by);
        }
        Act::Turn { pile, count } => Move::Turn {
            pile: *pile,
            count: count_or_all(scene, count.as_ref(), *pile)?,
        },
        Act::TurnEach { pile, at, by } => {
            let mut places = at
                .iter()
                .map(|at| place(scene, *pile, at))
                .collect::<Result<Vec<_>, _>>()?;
            if let Some(by) = by {
                match world.value(*by) {
                    Some(Value::Places(chosen)) => places.extend(chosen.iter().copied().map(Place)),
                    Some(_) | None => return Err(missing(routine, *by, "places")),
                }
            }
            Move::TurnEach {
                pile: *pile,
                places,
            }
        }
        Act::Reverse(pile) => Move::Reverse(*pile),
        Act::Take { from, at, to, put } => Move::Take {
            from: *from,
            at: place(scene, *from, at)?,
            to: *to,
            put: *put,
        },
        Act::Put { from, to, at } => Move::Put {
            from: *from,
            to: *to,
            at: put_place(scene, *to, at)?,
        },
        Act::Swap { pile, a, b } => Move::Swap {
            pile: *pile,
            a: place(scene, *pile, a)?,
            b: place(scene, *pile, b)?,
        },
        Act::Spell { from, to, words } => Move::Deal {
            from: *from,
            to: vec![*to],
            count: letters(scene, words)?,
            up: None,
        },
        Act::Chain(chain) => {
            let reached = follow(scene, chain)?;
            remember(world, chain.name, Value::Int(i64::from(reached)));
            return Ok(());
        }
        Act::Repeat { times, acts } => {
            let times = number(scene, times)?;
            if !(0..=MOST_REPEATS).contains(&times) {
                return Err(Fault::Value(format!(
                    "repeat takes 0 to {MOST_REPEATS} times, not {times}"
                )));
            }
            for _ in 0..hand.rounds(times) {
                perform(routine, world, acts, hand)?;
            }
            return Ok(());
        }
        Act::When {
            when,
            then,
            otherwise,
        } => {
            let acts = if hand.way(truth(scene, when)?) {
                then
            } else {
                otherwise
            };
            return perform(routine, world, acts, hand);
        }
    };
    hand.carry_out(world, &mv)
}

/// The place of a card put back: one more place than the pile holds is allowed (under all of it).
fn put_place(scene: Scene<'_>, pile: PileId, at: &Expr) -> Result<Place, Fault> {
    let size = i64::try_from(scene.world.table.size(pile)).unwrap_or(i64::MAX);
    counted(number(scene, at)?, size + 1)
        .map_err(|n| Fault::Value(format!("a card cannot be put back at place {n}")))
}

fn letters(scene: Scene<'_>, words: &Words) -> Result<u16, Fault> {
    let letters = match words {
        Words::Plain(text) => count_letters(text),
        Words::CardName(expr) => match expr.value(scene)? {
            Value::Card(card) => {
                let print = scene.world.face_of(card).ok_or(Fault::Unfixed(card))?;
                scene.routine.pack.letters(print)
            }
            other => {
                return Err(Fault::Value(format!(
                    "{} is no card",
                    other.show(scene.routine)
                )));
            }
        },
    };
    Ok(u16::try_from(letters).unwrap_or(u16::MAX))
}

/// Counts along a chain and gives the last place reached.
fn follow(scene: Scene<'_>, chain: &Chain) -> Result<u16, Fault> {
    let mut at = place(scene, chain.pile, &chain.from)?;
    loop {
        let Some(laid) = scene.world.table.at(chain.pile, at) else {
            return Err(Fault::Value(format!(
                "the chain starts at place {}, where no card lies",
                at.0
            )));
        };
        let print = scene
            .world
            .face_of(laid.card())
            .ok_or(Fault::Unfixed(laid.card()))?;
        let Some(own) = scene.routine.pack.value_number(print) else {
            return Err(Fault::Value(format!(
                "{} has no value to count by",
                scene.routine.pack.name(print)
            )));
        };
        let own = u16::from(own);
        let step = if own > 10 {
            chain.court.unwrap_or(own)
        } else {
            own
        }
        .max(1);
        let next = Place(at.0.saturating_add(step));
        if scene.world.table.at(chain.pile, next).is_none() {
            return Ok(at.0);
        }
        at = next;
    }
}
