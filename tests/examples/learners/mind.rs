//! Simulated learners. None of them is the coach's memory model; each is a published or a plain way of forgetting.
//!
//! In all of them a practice adds the more the nearer the skill was to being lost (Bjork and Bjork 1992), a miss that is corrected
//! adds seven tenths of that, and skills differ: how fast one fades, and how slowly it is learned, go with its hardness,
//! which is log-normal (a part of it shared by the skills of one step). What a learner is asked for at a step is one of three
//! skills, and a run is clean if all skills of all steps are there.

use allroads::roads::Draw;

/// Steps of the routine, and skills of a step.
pub const STEPS: usize = 20;
pub const PER_STEP: usize = 3;
pub const SKILLS: usize = STEPS * PER_STEP;

/// The spread of hardness on a log scale: of steps, and of skills within a step; together 1.3. The published
/// initial strengths of the coach's own model span 0.21 to 8.3 days from the worst to the best first answer, which is about as much.
const STEP_SPREAD: f64 = 0.95;
const SKILL_SPREAD: f64 = 0.85;

/// What a run or an answer loses whatever is remembered.
const SLIP: f64 = 0.001;

/// Between two sessions time goes by so slowly for the activation model, in its seconds a day (Pavlik and Anderson 2005: 0.025 of
/// the real time).
const NIGHT: f64 = 86_400.0 * 0.025;

/// The sorts of learners.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// Forgets by a power of time, whose exponent falls by a power of practice (Wickelgren 1974; Newell and Rosenbloom 1981).
    Power,
    /// Forgets exponentially; practice lengthens the half-life by a factor (Ebbinghaus 1885; Settles and Meeder 2016).
    Exponential,
    /// Activation: every practice leaves a trace that decays by a power, the faster the more active the skill was then (Pavlik and
    /// Anderson 2005, with their decay scale and intercept).
    Activation,
    /// Exponential; neighbouring steps learn along, and good and bad days move all chances together.
    Correlated,
    /// Exponential; one day in three no session is held.
    MissesDays,
    /// By a power, all steps alike, but for three planted ones that are forty times as hard: missed two times in three at first.
    Planted,
}

impl Sort {
    pub const ALL: [Self; 6] = [
        Self::Power,
        Self::Exponential,
        Self::Activation,
        Self::Correlated,
        Self::MissesDays,
        Self::Planted,
    ];
    pub fn name(self) -> &'static str {
        match self {
            Self::Power => "power law",
            Self::Exponential => "exponential",
            Self::Activation => "activation",
            Self::Correlated => "correlated steps",
            Self::MissesDays => "misses days",
            Self::Planted => "three planted weak steps",
        }
    }
}

/// One skill in the learner's head.
#[derive(Debug, Clone)]
struct Inner {
    hard: f64,
    /// Practices, each as far as it counts.
    practised: f64,
    /// The half-life in days.
    half_life: f64,
    /// Traces: when, and how fast it decays.
    traces: Vec<(f64, f64)>,
    /// The day of the latest practice.
    last: i32,
}

/// A learner.
#[derive(Debug, Clone)]
pub struct Learner {
    sort: Sort,
    skills: Vec<Inner>,
    /// Seconds of the activation model.
    clock: f64,
    /// How good this day is, in log odds.
    form: f64,
    /// The planted steps.
    pub weak: Vec<usize>,
}

/// A number from 0 to 1, the 1 left out.
pub fn unit(draw: &mut Draw) -> f64 {
    draw.below(1 << 53) as f64 / (1_u64 << 53) as f64
}

/// A normal number (Box and Muller 1958).
pub fn normal(draw: &mut Draw) -> f64 {
    let (a, b) = (1.0 - unit(draw), unit(draw));
    (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
}

fn activation(traces: &[(f64, f64)], now: f64) -> f64 {
    traces
        .iter()
        .map(|(at, decay)| (now - at).max(1.0).powf(-decay))
        .sum::<f64>()
        .ln()
}

/// The decay of a trace laid while the skill was so active (Pavlik and Anderson 2005, equation 5); harder skills decay faster.
fn decay(hard: f64, active: Option<f64>) -> f64 {
    0.217 * active.map_or(0.0, f64::exp) + 0.177 * hard.powf(0.3)
}

impl Learner {
    /// A learner who has walked through the routine once, on day 0.
    pub fn new(sort: Sort, draw: &mut Draw) -> Self {
        let spread = if sort == Sort::Planted { 0.2 } else { 1.0 };
        let mut order: Vec<usize> = (0..STEPS).collect();
        draw.shuffle(&mut order);
        let weak: Vec<usize> = if sort == Sort::Planted {
            order[..3].to_vec()
        } else {
            Vec::new()
        };
        let of_step: Vec<f64> = (0..STEPS)
            .map(|step| {
                let planted = if weak.contains(&step) {
                    40_f64.ln()
                } else {
                    0.0
                };
                spread * STEP_SPREAD * normal(draw) + planted
            })
            .collect();
        let mut clock = 0.0;
        let skills = (0..SKILLS)
            .map(|k| {
                let hard = (of_step[k / PER_STEP] + spread * SKILL_SPREAD * normal(draw)).exp();
                clock += 10.0;
                Inner {
                    hard,
                    practised: 1.0,
                    half_life: 2.0 / hard,
                    traces: vec![(clock, decay(hard, None))],
                    last: 0,
                }
            })
            .collect();
        Self {
            sort,
            skills,
            clock,
            form: 0.0,
            weak,
        }
    }

    /// A new day. False where no session is held.
    pub fn wake(&mut self, draw: &mut Draw) -> bool {
        self.clock += NIGHT;
        match self.sort {
            Sort::Correlated => {
                self.form = 0.5 * normal(draw);
                true
            }
            Sort::MissesDays => draw.below(3) > 0,
            Sort::Power | Sort::Exponential | Sort::Activation | Sort::Planted => true,
        }
    }

    /// The chance that a skill is there on a day.
    pub fn chance(&self, skill: usize, day: i32) -> f64 {
        let inner = &self.skills[skill];
        // Within a day half an hour goes by.
        let days = f64::from(day - inner.last).max(0.02);
        let there = match self.sort {
            Sort::Power | Sort::Planted => {
                (1.0 + days).powf(-0.12 * inner.hard / (1.0 + inner.practised).powf(1.5))
            }
            Sort::Exponential | Sort::Correlated | Sort::MissesDays => {
                (-days / inner.half_life).exp2()
            }
            // Threshold and noise of the logistic: Pavlik and Anderson's noise, a threshold that makes first answers right two times in three.
            Sort::Activation => {
                1.0 / (1.0 + ((-1.6 - activation(&inner.traces, self.clock)) / 0.255).exp())
            }
        };
        let there = there.clamp(1e-9, 1.0 - 1e-9);
        let on_this_day = (there / (1.0 - there)).ln() + self.form;
        (1.0 - SLIP) / (1.0 + (-on_this_day).exp())
    }

    /// A practice, and the seconds it took.
    pub fn practise(&mut self, skill: usize, day: i32, right: bool, seconds: f64) {
        let lost = 1.0 - self.chance(skill, day);
        let counts = (0.15 + 0.85 * lost / (lost + 0.05)) * if right { 1.0 } else { 0.7 };
        self.learn(skill, counts);
        if self.sort == Sort::Correlated {
            for near in [skill.checked_sub(PER_STEP), Some(skill + PER_STEP)] {
                if let Some(near) = near.filter(|near| *near < SKILLS) {
                    self.learn(near, 0.2 * counts);
                }
            }
        }
        if self.sort == Sort::Activation {
            let clock = self.clock;
            let inner = &mut self.skills[skill];
            let active = activation(&inner.traces, clock);
            inner.traces.push((clock, decay(inner.hard, Some(active))));
        }
        self.skills[skill].last = day;
        self.clock += seconds;
    }

    fn learn(&mut self, skill: usize, counts: f64) {
        let inner = &mut self.skills[skill];
        let counts = counts / inner.hard.powf(0.4);
        inner.practised += counts;
        inner.half_life *= 2.5_f64.powf(counts);
    }

    /// The true chance of each step on the day of the show, and of a clean run; over good and bad days where there are such.
    pub fn on_the_night(&self, show: i32) -> (Vec<f64>, f64) {
        let mut night = self.clone();
        night.clock += NIGHT;
        let forms: &[f64] = match self.sort {
            // Five equally likely fifths of a normal distribution, by their medians, half as wide.
            Sort::Correlated => &[-0.641, -0.262, 0.0, 0.262, 0.641],
            _ => &[0.0],
        };
        let mut steps = vec![0.0; STEPS];
        let mut clean = 0.0;
        for form in forms {
            night.form = *form;
            let mut all = 1.0;
            for (step, mean) in steps.iter_mut().enumerate() {
                let chance: f64 = (0..PER_STEP)
                    .map(|n| night.chance(step * PER_STEP + n, show))
                    .product();
                *mean += chance / forms.len() as f64;
                all *= chance;
            }
            clean += all / forms.len() as f64;
        }
        (steps, clean)
    }
}
