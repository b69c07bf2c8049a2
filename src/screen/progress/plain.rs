//! Progress line by line, for pipes and screen readers: each line begins with a word that says what it is.

use super::words;
use crate::coach::{Progress, StepProgress, WeekProgress};
use crate::screen::sheet::clean;

/// The lines of one routine.
#[must_use]
pub fn told(progress: &Progress) -> Vec<String> {
    let mut lines = vec![format!("routine: {} ({})", progress.title, progress.name)];
    let mut tell = |what: &str, words: &str| lines.push(format!("{what}: {words}"));
    if let Some(show) = words::show(progress) {
        tell("show", show.trim_start_matches("the show is on "));
    }
    match &progress.readiness {
        Some(readiness) => tell(
            "clean run",
            &format!(
                "{} {}",
                words::in_100(readiness.chance),
                words::night(progress)
            ),
        ),
        None => tell("clean run", &words::headline(progress)),
    }
    if let Some(trust) = words::trust(progress) {
        tell("how sure", &trust);
    }
    for week in &progress.weeks {
        tell(
            &format!("week of {}", words::full_date(week.monday)),
            &of_week(week),
        );
    }
    for (n, step) in progress.steps.iter().enumerate() {
        tell(&format!("step {}", n + 1), &of_step(progress, step));
    }
    for step in &progress.steps {
        if let Some(happened) = words::met(step) {
            tell("slips and strays", &format!("{}, {happened}", step.title));
        }
    }
    for (step, costs) in progress.dearest() {
        tell(
            "costs most",
            &format!("{}, {}", step.title, words::cost(costs)),
        );
    }
    for untried in &progress.untried {
        tell("never practised", &words::branches(untried));
    }
    for step in &progress.gone {
        tell("no longer in the routine", &step.0);
    }
    tell(
        "meaning",
        &format!("{} {}", words::meanings(), words::CLEAN),
    );
    let next = words::next(progress);
    tell("next", next.strip_prefix("Next, ").unwrap_or(&next));
    lines.iter().map(|line| clean(line)).collect()
}

fn of_week(week: &WeekProgress) -> String {
    let answers = match week.answers {
        0 => "no answers".to_owned(),
        n => format!(
            "{}, {} right, on {}",
            words::counted(n.into(), "answer"),
            week.right,
            words::counted(week.days.into(), "day")
        ),
    };
    let answers = match week.shows {
        0 => answers,
        shows => format!("{answers}; {}", words::counted(shows.into(), "show")),
    };
    match week.chance {
        Some(chance) => format!(
            "{answers}; a clean run on the Monday after: {}",
            words::in_100(chance)
        ),
        None => answers,
    }
}

fn of_step(progress: &Progress, step: &StepProgress) -> String {
    let footing = &step.footing;
    if footing.answers == 0 {
        return format!("{}; {}", step.title, footing.hold.word());
    }
    let mut line = format!(
        "{}; {}; right {} today, {} {}; {}, {}",
        step.title,
        footing.hold.word(),
        words::in_100(footing.now),
        words::in_100(footing.show),
        words::night(progress),
        words::counted(footing.answers.into(), "answer"),
        footing.sure.words(),
    );
    if let Some(tempo) = &footing.tempo {
        line.push_str(&format!("; {}", words::pace_in_full(tempo)));
        if let Some(to) = words::heading_for(tempo) {
            line.push_str(&format!(", heading for {}", words::seconds(to)));
        }
    }
    line
}
