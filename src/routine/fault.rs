//! Faults in words that a performer can use: piles and cards by their names.

use super::Routine;
use super::world::Fault;
use crate::handling::HandlingFault;
use crate::table::PileId;

impl Fault {
    /// What went wrong, with piles and cards by name.
    #[must_use]
    pub fn told(&self, routine: &Routine) -> String {
        let pile = |id: PileId| format!("\"{}\"", routine.pile_name(id));
        let cards = |n: usize| match n {
            0 => "no card".to_owned(),
            1 => "one card".to_owned(),
            n => format!("{n} cards"),
        };
        match self {
            Self::Unfixed(_) => "this needs a card that nobody has seen yet".to_owned(),
            Self::Value(words) | Self::Choice(words) => words.clone(),
            Self::Handling(fault) => match fault {
                HandlingFault::TooFew {
                    pile: id,
                    wanted,
                    has,
                } => format!(
                    "{} holds {}, and {wanted} {} needed",
                    pile(*id),
                    cards(*has),
                    if *wanted == 1 { "is" } else { "are" }
                ),
                HandlingFault::NoPlace {
                    pile: id,
                    place,
                    has,
                } => format!(
                    "there is no place {} in {}, which holds {}",
                    place.0,
                    pile(*id),
                    cards(*has)
                ),
                HandlingFault::PileTwice(id) => {
                    format!("{} is used twice where two piles are needed", pile(*id))
                }
                HandlingFault::NoPile(_)
                | HandlingFault::PlaceTwice(_)
                | HandlingFault::NoPiles
                | HandlingFault::TooManyPiles
                | HandlingFault::Unfit { .. }
                | HandlingFault::Misfit
                | HandlingFault::NotOnePacket => fault.to_string(),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::routine::load;
    use crate::table::Place;

    #[test]
    fn piles_are_told_by_name() {
        let text = "allroads: 1\ntitle: T\ncards:\n  packet: {list: \"7H 4S\"}\nsteps:\n  - id: cut\n    do: [{cut: {pile: packet, at: 1}}]\nfinale:\n  id: end\n";
        let routine = load(text, "t.yaml", 0).unwrap();
        let told = |fault: HandlingFault| Fault::Handling(fault).told(&routine);
        let pile = PileId(0);
        assert_eq!(
            told(HandlingFault::TooFew {
                pile,
                wanted: 3,
                has: 1
            }),
            "\"packet\" holds one card, and 3 are needed"
        );
        assert_eq!(
            told(HandlingFault::NoPlace {
                pile,
                place: Place(5),
                has: 2
            }),
            "there is no place 5 in \"packet\", which holds 2 cards"
        );
    }
}
