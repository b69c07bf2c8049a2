//! `reset`: from the end of a road back to the set-up.

use super::failure::{Failure, Outcome};
use super::pages::{counted, paragraph, pile_names};
use super::setup::is_drawn;
use super::source::Source;
use super::walk::chosen_road;
use crate::cards::TraitId;
use crate::roads::sample;
use crate::routine::{Routine, World};
use crate::table::{Laid, PileId};
use clap::Args;
use itertools::Itertools;
use std::io::Write;

/// How many roads are looked at when none was named.
const ROADS: u64 = 200;

/// Up to so many piles every order of gathering them is tried.
const MOST_PILES: usize = 5;

/// Which routine, and from which road.
#[derive(Debug, Args)]
pub struct ResetArgs {
    /// The routine: a name, or a path
    pub routine: String,
    /// A choice of the road you come from; without any, many roads are looked at
    #[arg(long, value_name = "NAME=VALUE")]
    pub choose: Vec<String>,
    /// Where the other choices of that road come from
    #[arg(long)]
    pub seed: Option<u64>,
    /// Which draw of the set-up
    #[arg(long, default_value_t = 0)]
    pub setup: u64,
}

/// Prints it.
pub(super) fn run(args: &ResetArgs, out: &mut dyn Write) -> Result<Outcome, Failure> {
    let source = Source::find(&args.routine)?;
    let routine = source.load(args.setup)?;
    let drawn = is_drawn(&routine, &source.load(args.setup.wrapping_add(1))?);
    let one_road = args.seed.is_some() || !args.choose.is_empty();
    let roads = if one_road {
        vec![chosen_road(&routine, args.seed.unwrap_or(0), &args.choose)?]
    } else {
        (0..ROADS)
            .map(|seed| sample(&routine, seed))
            .collect::<Result<Vec<_>, _>>()?
    };
    let ends: Vec<&World> = roads
        .iter()
        .filter_map(|road| road.walked.last().map(|w| &w.after))
        .collect();
    paragraph(out, "", &routine.title)?;
    let whence = if one_road {
        "At the end of this road".to_owned()
    } else {
        format!("At the end of every one of {} random roads", ends.len())
    };
    if routine.shuffled.len() == routine.pack.size() {
        paragraph(
            out,
            "",
            "The cards begin shuffled, so there is no order to restore: gather them all, face down, and shuffle.",
        )?;
        return Ok(Outcome::Done);
    }
    match way_back(&routine, &ends) {
        Some(way) => {
            paragraph(out, "", &format!("{whence}: {}", in_words(&routine, &way)))?;
            if way.turns != Turning::Whole {
                writeln!(out)?;
                relay(out, &routine)?;
            }
        }
        None => {
            let why = if one_road {
                "the packet is out of its set-up order."
            } else {
                "no one way of gathering brings the set-up back; where the cards end depends on what was chosen."
            };
            paragraph(out, "", &format!("{whence}: {why}"))?;
            if drawn && let Some((piles, name)) = class_way_back(&routine, &ends) {
                let gathered = gathering(&routine, &piles);
                paragraph(
                    out,
                    "",
                    &format!(
                        "But {gathered} the {name}s lie as in the set-up; where the routine asks for no more than that, it is ready as it is."
                    ),
                )?;
            }
            writeln!(out)?;
            relay(out, &routine)?;
        }
    }
    Ok(Outcome::Done)
}

/// How cards lie compared with the set-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Turning {
    /// Faces and all.
    Whole,
    /// The order is right, but some cards must be turned over in their places.
    Order,
}

/// How far the gathered packet is from the set-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Order {
    /// It is the set-up.
    Same,
    /// It is the set-up after a cut.
    Cut,
    /// It is the set-up backwards.
    Backwards,
    /// It is the set-up backwards and cut.
    BackwardsAndCut,
}

/// A way back that works on every road looked at.
#[derive(Debug, Clone, PartialEq, Eq)]
struct WayBack {
    /// Gather these piles, the first on top.
    piles: Vec<PileId>,
    order: Order,
    turns: Turning,
}

/// The simplest way back that works on all these ends. Only where all cards begin in one pile.
fn way_back(routine: &Routine, ends: &[&World]) -> Option<WayBack> {
    let start = the_one_pile(routine)?;
    for turns in [Turning::Whole, Turning::Order] {
        for order in [
            Order::Same,
            Order::Cut,
            Order::Backwards,
            Order::BackwardsAndCut,
        ] {
            for piles in gatherings(routine, ends) {
                let works = |end: &&World| comes_back(&start, &gathered(end, &piles), order, turns);
                if ends.iter().all(works) {
                    return Some(WayBack {
                        piles,
                        order,
                        turns,
                    });
                }
            }
        }
    }
    None
}

/// The cards of the set-up, when they all lie in one pile.
fn the_one_pile(routine: &Routine) -> Option<Vec<Laid>> {
    let mut full = routine.start.piles().filter(|(_, p)| !p.is_empty());
    let (_, pile) = full.next()?;
    full.next()
        .is_none()
        .then(|| pile.iter().copied().collect())
}

/// Every order of the piles that hold cards at some end, the one in which the file lists them first.
fn gatherings(routine: &Routine, ends: &[&World]) -> Vec<Vec<PileId>> {
    let used: Vec<PileId> = routine
        .start
        .piles()
        .map(|(id, _)| id)
        .filter(|id| ends.iter().any(|end| end.table.size(*id) > 0))
        .collect();
    if used.len() > MOST_PILES {
        return vec![used];
    }
    let count = used.len();
    used.into_iter().permutations(count).collect()
}

fn gathered(end: &World, piles: &[PileId]) -> Vec<Laid> {
    piles
        .iter()
        .flat_map(|id| end.table.pile(*id).iter().copied())
        .collect()
}

fn comes_back(start: &[Laid], end: &[Laid], order: Order, turns: Turning) -> bool {
    if start.len() != end.len() {
        return false;
    }
    let same = |a: &Laid, b: &Laid| match turns {
        Turning::Whole => a == b,
        Turning::Order => a.card() == b.card(),
    };
    // Dealing a packet off one by one puts it backwards, facing kept.
    let mut cards = end.to_vec();
    match order {
        Order::Same | Order::Cut => {}
        Order::Backwards | Order::BackwardsAndCut => cards.reverse(),
    }
    match order {
        Order::Same | Order::Backwards => {}
        Order::Cut | Order::BackwardsAndCut => {
            if let (Some(top), true) = (start.first(), !cards.is_empty()) {
                let at = cards.iter().position(|l| l.card() == top.card());
                cards.rotate_left(at.unwrap_or(0));
            }
        }
    }
    start.iter().zip(&cards).all(|(a, b)| same(a, b))
}

/// "gather a, b and c, the first on top: then".
fn gathering(routine: &Routine, piles: &[PileId]) -> String {
    if piles.len() < 2 {
        "as the packet lies,".to_owned()
    } else {
        format!(
            "once you put {} together, the first named on top,",
            pile_names(routine, piles)
        )
    }
}

fn in_words(routine: &Routine, way: &WayBack) -> String {
    let top = the_one_pile(routine)
        .and_then(|cards| cards.first().copied())
        .map_or_else(String::new, |laid| {
            routine.pack.name(laid.card()).to_owned()
        });
    let already = if way.piles.len() < 2 { " already" } else { "" };
    let end = match way.order {
        Order::Same => format!("the packet is back in its set-up order{already}"),
        Order::Cut => {
            format!("cut until {top} is on top, and the packet is back in its set-up order")
        }
        Order::Backwards => {
            "deal all cards onto one pile, one by one, and the packet is back in its set-up order"
                .to_owned()
        }
        Order::BackwardsAndCut => format!(
            "deal all cards onto one pile, one by one, cut until {top} is on top, and the packet is back in its set-up order"
        ),
    };
    let faces = match way.turns {
        Turning::Whole => ".",
        Turning::Order => {
            ", but for cards that face the wrong way: turn those over, each in its place."
        }
    };
    format!("{} {end}{faces}", gathering(routine, &way.piles))
}

/// Whether a trait of the cards, place by place, is back on all these ends, although the cards are not: the piles to
/// gather, and the trait.
fn class_way_back<'r>(routine: &'r Routine, ends: &[&World]) -> Option<(Vec<PileId>, &'r str)> {
    let start = the_one_pile(routine)?;
    for (n, table) in routine.pack.traits().iter().enumerate() {
        let id = TraitId(u8::try_from(n).ok()?);
        let classes = |cards: &[Laid]| -> Option<Vec<_>> {
            cards
                .iter()
                .map(|l| Some((routine.pack.class(l.card(), id)?, l.face_up())))
                .collect()
        };
        let Some(wanted) = classes(&start) else {
            continue;
        };
        // A trait that all cards share says nothing.
        if wanted.windows(2).all(|w| w[0] == w[1]) {
            continue;
        }
        for piles in gatherings(routine, ends) {
            if ends
                .iter()
                .all(|end| classes(&gathered(end, &piles)).as_ref() == Some(&wanted))
            {
                return Some((piles, &table.name));
            }
        }
    }
    None
}

/// The order to lay the cards in again.
fn relay(out: &mut dyn Write, routine: &Routine) -> Result<(), Failure> {
    paragraph(
        out,
        "",
        "To lay it again: put the cards down in this order, from the bottom card to the top card, each onto the last.",
    )?;
    for (id, pile) in routine.start.piles() {
        if pile.is_empty() {
            continue;
        }
        let cards: Vec<String> = pile
            .iter()
            .rev()
            .map(|laid| {
                let mut sign = if routine.shuffled.contains(&laid.card()) {
                    "?".to_owned()
                } else {
                    routine.pack.symbol(laid.card())
                };
                if laid.face_up() {
                    sign.push('^');
                }
                sign
            })
            .collect();
        writeln!(
            out,
            "\n{}: {}",
            routine.pile_name(id),
            counted(pile.len(), "card")
        )?;
        paragraph(out, "   ", &cards.join(" "))?;
    }
    if routine
        .start
        .piles()
        .any(|(_, p)| p.iter().any(|l| l.face_up()))
    {
        writeln!(out, "\n^ lies face up; the others face down.")?;
    }
    if !routine.shuffled.is_empty() {
        writeln!(out, "? is any of the shuffled cards.")?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cards::Card;

    fn laid(cards: &[u16]) -> Vec<Laid> {
        cards.iter().map(|n| Laid::new(Card(*n), false)).collect()
    }

    #[test]
    fn a_packet_comes_back_by_a_cut_or_backwards() {
        let start = laid(&[0, 1, 2, 3]);
        let whole = Turning::Whole;
        assert!(comes_back(&start, &start, Order::Same, whole));
        assert!(!comes_back(
            &start,
            &laid(&[2, 3, 0, 1]),
            Order::Same,
            whole
        ));
        assert!(comes_back(&start, &laid(&[2, 3, 0, 1]), Order::Cut, whole));
        assert!(!comes_back(&start, &laid(&[3, 2, 1, 0]), Order::Cut, whole));
        assert!(comes_back(
            &start,
            &laid(&[3, 2, 1, 0]),
            Order::Backwards,
            whole
        ));
        assert!(comes_back(
            &start,
            &laid(&[1, 0, 3, 2]),
            Order::BackwardsAndCut,
            whole
        ));
        assert!(!comes_back(&start, &laid(&[0, 1, 2]), Order::Same, whole));
        let mut turned = start.clone();
        turned[2] = turned[2].turned();
        assert!(!comes_back(&start, &turned, Order::Same, whole));
        assert!(comes_back(&start, &turned, Order::Same, Turning::Order));
    }
}
