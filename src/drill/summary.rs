//! The summary of a session: what went well, weak steps, times against target, what to do next.

use super::prompt::Plan;
use super::question::{Drill, Kind};
use super::say;
use super::session::Session;
use crate::routine::{Millis, Routine, StepId};

/// How one step went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepSummary {
    /// The step.
    pub step: StepId,
    /// Its title.
    pub title: String,
    /// Questions answered there.
    pub asked: u32,
    /// Right ones among them.
    pub right: u32,
    /// The median time to the end of an answer.
    pub median: Option<Millis>,
    /// The time the step should take.
    pub target: Option<Millis>,
}

impl StepSummary {
    /// Questions answered wrongly.
    #[must_use]
    pub fn missed(&self) -> u32 {
        self.asked - self.right
    }

    /// Whether answering took longer than the whole step should.
    #[must_use]
    pub fn slow(&self) -> bool {
        matches!((self.median, self.target), (Some(median), Some(target)) if median > target)
    }
}

/// How a session went.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Summary {
    /// Questions answered.
    pub asked: u32,
    /// Right ones among them.
    pub right: u32,
    /// Roads begun.
    pub roads: u32,
    /// Every step that was asked about, in the routine's order.
    pub steps: Vec<StepSummary>,
    /// The weak ones, weakest first: by misses, then by how far over the target's time.
    pub weak: Vec<StepSummary>,
    /// What went well, a sentence each.
    pub went_well: Vec<String>,
    /// One sentence: what to do next.
    pub next: String,
}

/// One answer, as far as the summary needs it.
#[derive(Debug, Clone)]
pub(super) struct Given {
    pub step: StepId,
    pub drill: Drill,
    pub kind: Kind,
    pub right: bool,
    pub again: bool,
    pub total: Millis,
}

/// The median: of an even number of times the mean of the middle two, rounded down.
pub(super) fn median(times: &[Millis]) -> Option<Millis> {
    let mut sorted = times.to_vec();
    sorted.sort_unstable();
    let middle = sorted.len() / 2;
    let upper = *sorted.get(middle)?;
    if sorted.len() % 2 == 1 {
        return Some(upper);
    }
    let lower = sorted[middle - 1];
    Some(Millis(lower.0 + (upper.0 - lower.0) / 2))
}

/// How much longer than the target, in thousandths of the target; steps without a target come last.
fn over_target(step: &StepSummary) -> u64 {
    match (step.median, step.target) {
        (Some(median), Some(target)) if target.0 > 0 => median.0.saturating_mul(1_000) / target.0,
        (Some(_) | None, _) => 0,
    }
}

/// The summary of a session over several routines: every step with its routine's title, and what to do next in the routine whose
/// step is the weakest, or which was asked about least.
pub(super) fn sum_up_together(parts: &[Session], roads: u32) -> Summary {
    let mut all = Summary {
        roads,
        ..Summary::default()
    };
    let mut weak: Vec<(usize, StepSummary)> = Vec::new();
    let mut answers = Vec::new();
    let mut nexts = Vec::new();
    for (n, part) in parts.iter().enumerate() {
        let own = sum_up(&part.routine, &part.plan, &part.answers, part.roads);
        let title = &part.routine.title;
        let titled = |step: &StepSummary| StepSummary {
            title: format!("{title}: {}", step.title),
            ..step.clone()
        };
        all.asked += own.asked;
        all.right += own.right;
        all.steps.extend(own.steps.iter().map(titled));
        weak.extend(own.weak.iter().map(|step| (n, titled(step))));
        answers.extend(part.answers.iter().cloned());
        let next = match own.next.strip_prefix("Next, ") {
            Some(rest) => format!("Next, in {title}, {rest}"),
            None => format!("{title}: {}", own.next),
        };
        nexts.push((own.asked, next));
    }
    weak.sort_by_key(|(_, step)| weakness(step));
    let worst = weak.first().map(|(n, _)| *n);
    let fewest = || (0..nexts.len()).min_by_key(|n| nexts[*n].0);
    if let Some(next) = worst.or_else(fewest) {
        all.next.clone_from(&nexts[next].1);
    }
    all.weak = weak.into_iter().map(|(_, step)| step).collect();
    all.went_well = went_well(&all, &answers);
    all
}

/// What weak steps are sorted by, weakest first. Steps within their time stay in the order of the road: it must not hang on
/// thousandths of a second.
fn weakness(step: &StepSummary) -> std::cmp::Reverse<(u32, u64)> {
    let over = if step.slow() { over_target(step) } else { 0 };
    std::cmp::Reverse((step.missed(), over))
}

/// The summary of these answers.
pub(super) fn sum_up(routine: &Routine, plan: &Plan, answers: &[Given], roads: u32) -> Summary {
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let mut steps = Vec::new();
    for stop in &routine.stops {
        let here: Vec<&Given> = answers
            .iter()
            .filter(|given| given.step == stop.id)
            .collect();
        if here.is_empty() {
            continue;
        }
        // Where the step itself was timed, the time of a question about it says nothing of the step.
        let timed = |given: &&&Given| matches!(given.kind, Kind::Step | Kind::Line);
        let own: Vec<Millis> = here.iter().filter(timed).map(|given| given.total).collect();
        let others = || here.iter().filter(|given| given.kind != Kind::Ending);
        let times: Vec<Millis> = if own.is_empty() {
            others().map(|given| given.total).collect()
        } else {
            own
        };
        steps.push(StepSummary {
            step: stop.id.clone(),
            title: say::heading(routine, stop),
            asked: count(here.len()),
            right: count(here.iter().filter(|given| given.right).count()),
            median: median(&times),
            target: stop.target,
        });
    }
    let mut weak: Vec<StepSummary> = steps
        .iter()
        .filter(|step| step.missed() > 0 || step.slow())
        .cloned()
        .collect();
    weak.sort_by_key(weakness);
    let mut summary = Summary {
        asked: count(answers.len()),
        right: count(answers.iter().filter(|given| given.right).count()),
        roads,
        steps,
        weak,
        went_well: Vec::new(),
        next: String::new(),
    };
    summary.went_well = went_well(&summary, answers);
    summary.next = next(routine, plan, &summary, answers);
    summary
}

fn drill_words(drill: Drill) -> &'static str {
    match drill {
        Drill::Picture => "the packet in mind",
        Drill::Order => "the order of the steps",
        Drill::Reckon => "what you work out and remember",
        Drill::Lines => "the lines",
        Drill::Hands => "the handling with real cards",
        Drill::Dress => "a dress rehearsal",
        Drill::Rescue => "what to do when it goes wrong",
    }
}

fn title(step: &StepSummary) -> String {
    format!("“{}”", step.title.trim_end_matches('.'))
}

fn went_well(summary: &Summary, answers: &[Given]) -> Vec<String> {
    let mut sentences = Vec::new();
    if summary.asked == 0 {
        return sentences;
    }
    if summary.right == summary.asked {
        sentences.push(if summary.asked == 1 {
            "The one answer was right.".to_owned()
        } else {
            format!("All {} answers were right.", summary.asked)
        });
    } else {
        for drill in Drill::ALL {
            let (all, right) = answers
                .iter()
                .filter(|given| given.drill == drill)
                .fold((0_u32, 0_u32), |(all, right), given| {
                    (all + 1, right + u32::from(given.right))
                });
            if all >= 2 && all == right {
                sentences.push(format!("You had {} right every time.", drill_words(drill)));
            }
        }
        let sure: Vec<String> = summary
            .steps
            .iter()
            .filter(|step| step.asked >= 2 && step.missed() == 0)
            .map(title)
            .take(3)
            .collect();
        if !sure.is_empty() {
            sentences.push(format!("No miss at {}.", sure.join(", ")));
        }
    }
    let back = answers
        .iter()
        .filter(|given| given.again && given.right)
        .count();
    match back {
        0 => {}
        1 => {
            sentences
                .push("One question that you had missed was right the second time.".to_owned());
        }
        n => sentences.push(format!(
            "{n} questions that you had missed were right the second time."
        )),
    }
    sentences
}

fn next(routine: &Routine, plan: &Plan, summary: &Summary, answers: &[Given]) -> String {
    if summary.asked == 0 {
        let drills: Vec<&str> = plan.drills.iter().map(|drill| drill.word()).collect();
        return if summary.roads > 1 {
            format!(
                "There is nothing to ask here in {}; try another drill.",
                drills.join(" and ")
            )
        } else {
            "Nothing was answered this time; come back when you have a few minutes.".to_owned()
        };
    }
    if let Some(step) = summary.weak.iter().find(|step| step.missed() > 0) {
        let kind = answers
            .iter()
            .find(|given| given.step == step.step && !given.right)
            .map_or("it", |given| match given.kind {
                Kind::Line => "its line aloud, with the move",
                Kind::Verdict => "what a stray there does to the packet",
                Kind::Mend => "the mends there with real cards",
                Kind::Next | Kind::Whereabouts => "what leads up to it",
                Kind::Reckoning => "its sum with a few numbers",
                Kind::Chosen | Kind::Reply => "keeping what they say in mind",
                Kind::Card
                | Kind::Trait
                | Kind::Facing
                | Kind::Where
                | Kind::Pile
                | Kind::Count
                | Kind::FaceUp
                | Kind::Pattern
                | Kind::Follows
                | Kind::Step
                | Kind::Ending
                | Kind::Slip
                | Kind::Claim => "it slowly with real cards",
            });
        return format!("Next, go through {}: practise {kind}.", title(step));
    }
    if let Some(step) = summary.weak.first() {
        let target = step.target.map_or(0, |target| target.0 / 1_000);
        return format!(
            "All of it is there; next, make {} quicker, towards {target} seconds.",
            title(step)
        );
    }
    match plan.drills.as_slice() {
        [Drill::Hands] => {
            return format!(
                "That stands; next, a dress rehearsal of {} (dress).",
                routine.title
            );
        }
        [Drill::Dress] => {
            return "That stands; next, a day of rest, and then another road.".to_owned();
        }
        _ => {}
    }
    let untouched = Drill::ASKED
        .into_iter()
        .find(|drill| !plan.drills.contains(drill));
    match untouched {
        Some(drill) => format!(
            "That stands; next, try {} ({}).",
            drill_words(drill),
            drill.word()
        ),
        None => format!(
            "That stands; next, run {} from beginning to end with real cards.",
            routine.title
        ),
    }
}
