//! Strays told to people.

use super::ground::{Case, Ground, When};
use crate::routine::{KnownStray, Routine, Stray, capital};

impl Ground {
    /// What happens, in a sentence, with what the performer sees of it.
    #[must_use]
    pub fn told(&self, case: &Case) -> String {
        let routine = self.routine();
        let pile = case
            .piles
            .first()
            .map_or_else(|| "the packet".to_owned(), |p| routine.pile_in_words(*p));
        let choice = case.name.map_or_else(
            || "their choice".to_owned(),
            |name| about(routine, name.index()),
        );
        let known = match case.stray {
            Stray::Known(known) => known,
            Stray::Own(n) => {
                let own = routine.strays.get(usize::from(n));
                let says = own.map_or_else(String::new, |own| own.says.open());
                return if says.is_empty() {
                    own.map_or_else(String::new, |own| own.id.0.replace('-', " "))
                } else {
                    says
                };
            }
        };
        match known {
            KnownStray::CutsAgain => {
                format!("They cut {pile} once more, and you see how many they lift.")
            }
            KnownStray::CutsUnseen => {
                format!("They cut {pile} once more, and you don't see where.")
            }
            KnownStray::LeavesTheCut => {
                "They lift some off, and put them back on top instead of underneath.".to_owned()
            }
            KnownStray::ShufflesOverhand => format!("They shuffle {pile} overhand."),
            KnownStray::Riffles => format!("They riffle {pile}, some off the top into the rest."),
            KnownStray::DropsACard => {
                format!("A card falls out of {pile}, from anywhere, and they put it underneath.")
            }
            KnownStray::BuriesTheTop => {
                format!("They push the top card of {pile} back in somewhere.")
            }
            KnownStray::Peeks => format!("They look at the top card of {pile}."),
            KnownStray::TurnsThePacket => format!("They turn {pile} over."),
            KnownStray::TurnsACard => {
                format!("They turn one card over in {pile}, and you don't see which.")
            }
            KnownStray::TurnsABlock => {
                format!("They turn some off the top of {pile} over as one, and you see how many.")
            }
            KnownStray::TakesACard => {
                format!("They keep a card of {pile}, and you don't see which.")
            }
            KnownStray::SwapsPiles | KnownStray::ReordersPiles => {
                let piles: Vec<String> = case
                    .piles
                    .iter()
                    .map(|pile| routine.pile_in_words(*pile))
                    .collect();
                match piles.as_slice() {
                    several if known == KnownStray::ReordersPiles => format!(
                        "{} come back in another order, and you don't see which.",
                        capital(&several.join(", "))
                    ),
                    [one, other] => format!("{} and {other} change places.", capital(one)),
                    several => format!(
                        "Two of {} change places, and you don't see which.",
                        several.join(", ")
                    ),
                }
            }
            KnownStray::OneTooMany => "They take one card more than they should.".to_owned(),
            KnownStray::OneTooFew => "They take one card fewer than they should.".to_owned(),
            KnownStray::DealsInstead => {
                "They deal the cards off one by one instead of lifting them.".to_owned()
            }
            KnownStray::LiftsInstead => {
                "They lift the cards off together instead of dealing them.".to_owned()
            }
            KnownStray::ChangesTheirMind => format!("They change {choice}."),
            KnownStray::NamesTooHigh => {
                "They name a number that is too high, and you take it.".to_owned()
            }
            KnownStray::NamesTooLow => {
                "They name a number that is too low, and you take it.".to_owned()
            }
            KnownStray::NamesNought => "They say nought, and you take it.".to_owned(),
            KnownStray::Refuses => "They won't do it.".to_owned(),
            KnownStray::WantsItAgain => "They want to do it again, and do.".to_owned(),
            KnownStray::Forgets => format!("They forget {choice}."),
        }
    }

    /// What the spectator says with it.
    #[must_use]
    pub fn quip(&self, case: &Case) -> String {
        let known = match case.stray {
            Stray::Known(known) => known,
            Stray::Own(n) => {
                let own = self.routine().strays.get(usize::from(n));
                return own.map_or_else(String::new, |own| own.says.open());
            }
        };
        match known {
            KnownStray::CutsAgain => "One more, for my mother.",
            KnownStray::CutsUnseen => "And once more, while you blinked.",
            KnownStray::LeavesTheCut => "There. Cut. Was there more to it?",
            KnownStray::ShufflesOverhand => "I'll just mix them a little.",
            KnownStray::Riffles => "Watch. I learnt this one on holiday.",
            KnownStray::DropsACard => "Oops. Nobody saw that.",
            KnownStray::BuriesTheTop => "This one can go back in here.",
            KnownStray::Peeks => "I only looked at one.",
            KnownStray::TurnsThePacket => "Isn't it this way up?",
            KnownStray::TurnsACard => "This one was lying wrong. I helped.",
            KnownStray::TurnsABlock => "I've turned a few. More fun this way.",
            KnownStray::TakesACard => "I'm keeping one. As a souvenir.",
            KnownStray::SwapsPiles => "I tidied up a bit.",
            KnownStray::ReordersPiles => "Here are your piles. In some order.",
            KnownStray::OneTooMany => "And one for luck.",
            KnownStray::OneTooFew => "I think that was all of them. Nearly.",
            KnownStray::DealsInstead => "One, and one, and one, and …",
            KnownStray::LiftsInstead => "I'll take them all at once, that's quicker.",
            KnownStray::ChangesTheirMind => "No, wait. I've changed my mind.",
            KnownStray::NamesTooHigh => "I always ask for more.",
            KnownStray::NamesTooLow => "I'm a modest person.",
            KnownStray::NamesNought => "Nought! Ha.",
            KnownStray::Refuses => "No. I'd rather not.",
            KnownStray::WantsItAgain => "That was fun. Again!",
            KnownStray::Forgets => "I have completely forgotten it.",
        }
        .to_owned()
    }
}

impl When {
    /// "instead" or "afterwards", as JSON has it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Instead => "instead",
            Self::After => "after",
        }
    }
}

fn about(routine: &Routine, name: usize) -> String {
    routine.names.get(name).map_or_else(
        || "their choice".to_owned(),
        |name| {
            name.about
                .clone()
                .unwrap_or_else(|| format!("what they chose (\u{201c}{}\u{201d})", name.name))
        },
    )
}
