//! How well a step is held: the one definition of new, shaky, steady and show-ready.

/// How well a step is held.
///
/// * *new*: never asked about.
/// * *shaky*: any kind of question asked there was missed the last time, or the step has fewer than three answers, or its chance
///   tomorrow is below 90 %.
/// * *show-ready*: not shaky, at least five answers on at least two days, a chance of 98 % or more on the day of the show, and its
///   answers fit the beat. With no show set, the day a week from now stands for it.
/// * *steady*: everything between.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Hold {
    /// Never asked about.
    Untried,
    /// Missed lately, or known too little or too weakly.
    Shaky,
    /// Held from day to day.
    Steady,
    /// Held for the show.
    ShowReady,
}

/// What [`Hold::of`] looks at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grip {
    /// Answers at the step.
    pub answers: u32,
    /// Days on which the step was answered at, by its most practised skill.
    pub days: u32,
    /// Whether the latest answers to all its skills were right.
    pub last_right: bool,
    /// The chance tomorrow, from 0 to 1.
    pub tomorrow: f64,
    /// The chance on the day of the show.
    pub show: f64,
    /// Whether its answers fit the beat.
    pub fits: bool,
}

/// A step with fewer answers is shaky.
const FEW: u32 = 3;
/// The chance tomorrow below which a step is shaky.
const SHAKY_BELOW: f64 = 0.90;
/// A show-ready step has so many answers, on so many days.
const READY_ANSWERS: u32 = 5;
const READY_DAYS: u32 = 2;
/// And this chance on the day of the show.
const READY_FROM: f64 = 0.98;
/// With no show set, the show is taken to be so many days off.
pub const USUAL_HORIZON: i32 = 7;

impl Hold {
    /// All, from the weakest.
    pub const ALL: [Self; 4] = [Self::Untried, Self::Shaky, Self::Steady, Self::ShowReady];

    /// How a step is held.
    #[must_use]
    pub fn of(grip: Grip) -> Self {
        if grip.answers == 0 {
            Self::Untried
        } else if !grip.last_right || grip.answers < FEW || grip.tomorrow < SHAKY_BELOW {
            Self::Shaky
        } else if grip.answers >= READY_ANSWERS
            && grip.days >= READY_DAYS
            && grip.show >= READY_FROM
            && grip.fits
        {
            Self::ShowReady
        } else {
            Self::Steady
        }
    }

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Untried => "new",
            Self::Shaky => "shaky",
            Self::Steady => "steady",
            Self::ShowReady => "show-ready",
        }
    }

    /// What the word means, for people: the definition above.
    #[must_use]
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Untried => "never asked about",
            Self::Shaky => {
                "missed the last time, or fewer than three answers, or less than 90 in 100 tomorrow"
            }
            Self::Steady => "between shaky and show-ready",
            Self::ShowReady => {
                "five answers or more, on two days or more, 98 in 100 on the night, and in time"
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HELD: Grip = Grip {
        answers: 6,
        days: 3,
        last_right: true,
        tomorrow: 0.99,
        show: 0.985,
        fits: true,
    };

    #[test]
    fn each_word_has_its_definition() {
        let of = |change: fn(&mut Grip)| {
            let mut grip = HELD;
            change(&mut grip);
            Hold::of(grip)
        };
        assert_eq!(of(|_| ()), Hold::ShowReady);
        assert_eq!(of(|g| g.answers = 0), Hold::Untried);
        assert_eq!(of(|g| g.answers = 2), Hold::Shaky);
        assert_eq!(of(|g| g.last_right = false), Hold::Shaky);
        assert_eq!(of(|g| g.tomorrow = 0.89), Hold::Shaky);
        assert_eq!(of(|g| g.answers = 4), Hold::Steady);
        assert_eq!(of(|g| g.days = 1), Hold::Steady);
        assert_eq!(of(|g| g.show = 0.97), Hold::Steady);
        assert_eq!(of(|g| g.fits = false), Hold::Steady);
    }
}
