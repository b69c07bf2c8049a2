//! The coach: how well each step is held, what loses the run, and what to practise next.
//!
//! Uses the rooms above it; pure as they are. Days come in as numbers ([`Day`]), answers as [`Answer`]s in the order in which they were
//! given. Data goes answers → [`Record`] → [`Footing`] of each step, [`Readiness`] for a date, and the
//! [`Guide`](crate::drill::Guide) of the next session.
//!
//! * [`Memory`]: what one answer does to a skill, and how it fades; [`fit`] makes it the performer's own.
//! * [`Record`]: everything that the answers of one routine say.
//! * [`Hold`]: the one definition of new, shaky, steady and show-ready.
//! * [`Curve`] and [`fits_the_beat`]: times, which never go into a chance.
//! * [`History`]: the weeks so far; [`untried`]: the branches that nobody has practised; [`Progress`]: all of it, to be looked at.
//! * [`readiness`]: the chance of a clean run over all roads, and the steps that cost most of it.
//! * [`Season`] and [`plan`]: the days until the show, and what they will probably lead to ([`forecast`]).

mod branches;
mod fit;
mod footing;
mod forecast;
mod history;
mod hold;
mod keeping;
mod memory;
mod next;
mod pace;
mod plan;
mod planning;
mod progress;
mod readiness;
mod record;

pub use branches::{LONGEST_BRANCH, MOST_BRANCHES, Untried, untried};
pub use fit::{ENOUGH, Fitted, Series, fit, surprise};
pub use footing::{Aim, Events, Footing, Sureness, Tempo, footings, night};
pub use forecast::{Chance, Forecast, Part, Stint, forecast};
pub use history::{History, KEPT_WEEKS, Week, monday};
pub use hold::{Grip, Hold, USUAL_HORIZON};
pub use keeping::{memory_text, read_memory};
pub use memory::{Day, Memory, PARAMETERS, Skill, Trace};
pub use next::{guide, worth};
pub use pace::{Curve, Pace, fits_the_beat};
pub use plan::{
    MOST_MINUTES, REST_AFTER, Season, Spacing, gap, share_of_days_left, share_out, weekday,
};
pub use planning::{ENOUGH_CHANCE, Plan, PlannedDay, Share, Wish, plan};
pub use progress::{Own, Practised, Progress, SkillProgress, StepProgress, WeekProgress};
pub use readiness::{Cost, Nights, OnTheNight, Readiness, SAMPLED_ROADS, readiness, slip_chance};
pub use record::{Answer, Held, Record};

#[cfg(test)]
pub(crate) mod fixtures;
#[cfg(test)]
mod planning_tests;
#[cfg(test)]
mod tests;
