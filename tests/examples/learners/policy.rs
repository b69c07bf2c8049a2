//! Ways of spending the minutes: our coach, and four plain ones.

use super::mind::{Learner, PER_STEP, SKILLS, STEPS, Sort};
use allroads::coach::{Aim, Answer, Day, ENOUGH, Memory, Record, Series, Skill, fit, guide};
use allroads::drill::{Drill, Guide, Kind, Topic, asked_about, whole_run, with_luck};
use allroads::roads::Draw;
use allroads::routine::{Millis, StepId};
use std::collections::BTreeMap;

/// Days of practice; the show is the day after.
pub const DAYS: i32 = 21;

/// What a question takes, in seconds, and how much longer a miss, with its correction.
const QUESTION: f64 = 12.0;
const MISS: f64 = 6.0;
/// What a step passed without a question takes on a road of ours; the others jump at no cost.
const PASS: f64 = 0.5;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Policy {
    Coach,
    /// The routine from start to end, again and again, one question a step, its skills by turns.
    StartToEnd,
    /// Any skill, by lot.
    Uniform,
    /// What was missed last comes first (after three others at the least), then what was not asked for longest.
    MissesFirst,
    /// The same in the last three days, with all the minutes.
    Cramming,
}

impl Policy {
    pub const PLAIN: [Self; 4] = [
        Self::StartToEnd,
        Self::Uniform,
        Self::MissesFirst,
        Self::Cramming,
    ];
    pub fn name(self) -> &'static str {
        match self {
            Self::Coach => "our coach",
            Self::StartToEnd => "start to end",
            Self::Uniform => "by lot",
            Self::MissesFirst => "misses first",
            Self::Cramming => "cramming",
        }
    }
}

/// What came of three weeks.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The true chance of a clean run at the show.
    pub clean: f64,
    /// The true chance of the weakest step.
    pub weakest: f64,
    /// The readiness foretold.
    pub foretold: f64,
    /// Whether the planted steps were all among the weakest four after three sessions.
    pub named: bool,
}

fn skill(k: usize) -> Skill {
    let n = k % PER_STEP;
    Skill {
        step: StepId(format!("step-{:02}", k / PER_STEP).as_str().into()),
        drill: [Drill::Picture, Drill::Order, Drill::Lines][n],
        kind: [Kind::Card, Kind::Next, Kind::Line][n],
    }
}

/// A performer at work.
pub struct ThreeWeeks {
    learner: Learner,
    luck: Draw,
    lots: Draw,
    skills: Vec<Skill>,
    record: Record,
    log: Vec<Answer>,
    fitted_at: usize,
    missed: Vec<Option<u32>>,
    asked: Vec<u32>,
    count: u32,
    roads: u32,
}

impl ThreeWeeks {
    fn new(sort: Sort, policy: Policy, seed: u64) -> Self {
        let mut luck = Draw::for_step(seed, sort.name(), 1);
        Self {
            learner: Learner::new(sort, &mut luck),
            luck,
            lots: Draw::for_step(seed, policy.name(), 1),
            skills: (0..SKILLS).map(skill).collect(),
            record: Record::new(Memory::default()),
            log: Vec::new(),
            fitted_at: 0,
            missed: vec![None; SKILLS],
            asked: vec![0; SKILLS],
            count: 0,
            roads: 0,
        }
    }

    /// Asks, and gives the seconds it took and whether the answer was right.
    fn ask(&mut self, k: usize, day: i32) -> (f64, bool) {
        let right = super::mind::unit(&mut self.luck) < self.learner.chance(k, day);
        let seconds = QUESTION + if right { 0.0 } else { MISS };
        self.learner.practise(k, day, right, seconds);
        self.count += 1;
        self.asked[k] = self.count;
        self.missed[k] = (!right).then_some(self.count);
        let answer = Answer {
            skill: self.skills[k].clone(),
            day: Day(day),
            right,
            time: Millis(3_000),
        };
        self.record.add(&answer);
        self.log.push(answer);
        (seconds, right)
    }

    fn misses_first(&self) -> usize {
        let back = (0..SKILLS)
            .filter(|k| self.missed[*k].is_some_and(|at| self.count >= at + 3))
            .min_by_key(|k| self.missed[*k]);
        back.or_else(|| (0..SKILLS).min_by_key(|k| self.asked[*k]))
            .unwrap_or(0)
    }

    fn plain_session(&mut self, policy: Policy, day: i32, mut left: f64) {
        let mut n = 0;
        let first = usize::try_from(day).unwrap_or(0);
        while left > 0.0 {
            let k = match policy {
                Policy::StartToEnd => {
                    let (run, step) = (n / STEPS, n % STEPS);
                    step * PER_STEP + (first + run) % PER_STEP
                }
                Policy::Uniform => usize::try_from(self.lots.below(SKILLS as u64)).unwrap_or(0),
                Policy::MissesFirst | Policy::Cramming | Policy::Coach => self.misses_first(),
            };
            n += 1;
            left -= self.ask(k, day).0;
        }
    }

    /// A session as the program holds it: road after road from the first step, asking where the guide's lot says so.
    fn coached_session(&mut self, day: i32, mut left: f64) {
        let aim = Aim::new(Day(day), Some(Day(DAYS + 1)));
        let mut back: Vec<(u32, usize)> = Vec::new();
        let mut end: Vec<(u32, usize)> = Vec::new();
        let mut closed = 0;
        while left > 0.0 {
            self.roads += 1;
            let guide = guide(&self.record, aim, None);
            let worths: Vec<f64> = (0..SKILLS)
                .map(|k| {
                    let worth = self.worth(&guide, k);
                    with_luck(&mut self.lots, worth)
                })
                .collect();
            let best: Vec<usize> = (0..STEPS)
                .map(|step| {
                    (step * PER_STEP..(step + 1) * PER_STEP)
                        .max_by(|a, b| worths[*a].total_cmp(&worths[*b]))
                        .unwrap_or(0)
                })
                .collect();
            let asks = if whole_run(self.roads) {
                vec![true; STEPS]
            } else {
                asked_about(&best.iter().map(|k| worths[*k]).collect::<Vec<_>>())
            };
            for step in 0..STEPS {
                while left > 0.0 {
                    // What was missed comes back, and once more at the end.
                    let ready = end
                        .iter()
                        .filter(|(due, _)| *due <= self.count)
                        .count()
                        .min(3 - closed);
                    let next = if ready > 0 && left <= ready as f64 * 15.0 {
                        closed += 1;
                        let at = end
                            .iter()
                            .position(|(due, _)| *due <= self.count)
                            .unwrap_or(0);
                        Some(end.remove(at).1)
                    } else {
                        back.iter()
                            .position(|(due, _)| *due <= self.count)
                            .map(|at| back.remove(at).1)
                    };
                    let Some(k) = next else { break };
                    left -= self.ask(k, day).0;
                }
                if left <= 0.0 {
                    break;
                }
                if !asks[step] {
                    left -= PASS;
                    continue;
                }
                let k = best[step];
                let (seconds, right) = self.ask(k, day);
                left -= seconds;
                if !right {
                    back.push((
                        self.count + 3 + u32::try_from(self.lots.below(4)).unwrap_or(0),
                        k,
                    ));
                    end.push((self.count + 2, k));
                }
            }
        }
    }

    fn worth(&self, guide: &Guide, k: usize) -> f64 {
        let skill = &self.skills[k];
        let topic = Topic {
            step: skill.step.clone(),
            drill: skill.drill,
            kind: skill.kind,
        };
        guide.worth(&topic, 0)
    }

    /// Fits memory as the program does: from enough answers on, and again when the log has grown by a fifth.
    fn refit(&mut self) {
        if self.log.len() < ENOUGH.max(self.fitted_at + self.fitted_at / 5) {
            return;
        }
        self.fitted_at = self.log.len();
        let mut series: BTreeMap<&Skill, Series> = BTreeMap::new();
        for answer in &self.log {
            series
                .entry(&answer.skill)
                .or_default()
                .push((answer.day, answer.right));
        }
        let series: Vec<Series> = series.into_values().collect();
        if let Some(fitted) = fit(&series) {
            self.record = Record::of(fitted.memory, &self.log);
        }
    }

    fn foretold(&self, step: usize) -> f64 {
        (0..PER_STEP)
            .map(|n| {
                self.record
                    .chance(&self.skills[step * PER_STEP + n], Day(DAYS + 1))
            })
            .product()
    }

    fn named(&self) -> bool {
        let mut order: Vec<usize> = (0..STEPS).collect();
        order.sort_by(|a, b| self.foretold(*a).total_cmp(&self.foretold(*b)));
        self.learner
            .weak
            .iter()
            .all(|step| order[..4].contains(step))
    }
}

/// Three weeks of so many minutes a day.
pub fn three_weeks(sort: Sort, policy: Policy, minutes: f64, seed: u64) -> Outcome {
    let mut all = ThreeWeeks::new(sort, policy, seed);
    let mut named = true;
    for day in 1..=DAYS {
        let held = all.learner.wake(&mut all.luck);
        let minutes = match policy {
            Policy::Cramming if day > DAYS - 3 => minutes * f64::from(DAYS) / 3.0,
            Policy::Cramming => 0.0,
            _ => minutes,
        };
        if held && minutes > 0.0 {
            if policy == Policy::Coach {
                all.coached_session(day, 60.0 * minutes);
                all.refit();
            } else {
                all.plain_session(policy, day, 60.0 * minutes);
            }
        }
        if day == 3 {
            named = all.named();
        }
    }
    let (steps, clean) = all.learner.on_the_night(DAYS + 1);
    Outcome {
        clean,
        weakest: steps.iter().fold(1.0, |a: f64, b| a.min(*b)),
        foretold: (0..STEPS).map(|s| all.foretold(s)).product(),
        named,
    }
}
