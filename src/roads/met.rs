//! What spectators were seen to choose, against the weights of the file.
//!
//! A file's weights are its author's guess. Each choice met on a stage moves a fork from them towards what spectators really do: its
//! branches are taken to be drawn from a multinomial distribution with a Dirichlet prior whose mean are the file's weights,
//! and the posterior mean of a branch is (strength · share in the file + times met) ÷ (strength + choices met).
//!
//! Roads are still drawn from the file's weights, so that every seed gives the same road for ever; [`Met::likelier`] says by how
//! much a road so drawn is likelier, or less likely, by what was met. Whoever draws roads by what was met draws several and
//! keeps one with these odds (sampling, importance, resampling: Rubin 1987, cited from
//! memory).

use super::domain::domain;
use super::draw::Draw;
use super::road::{Road, Walked, sample};
use crate::routine::{Routine, Scene};
use std::collections::BTreeMap;

/// So many choices the file's weights are worth. A share that was seen in twelve choices has a standard error of up to 14 points
/// (√(¼ ÷ 12)), which is about as far off as a guess in small whole numbers may be; from then on what was seen counts for more.
/// Our own judgement, no source.
pub const STRENGTH: f64 = 12.0;

/// Forks with more branches than this are left as the file has them: what one spectator did says nothing of the next.
const MOST_BRANCHES: u128 = 64;

/// So many roads are drawn for each that is kept.
const DRAWN_FOR_EACH: u64 = 8;

/// How often each branch was chosen on a stage, by the fork's name and the branch as `--choose` writes it; all visits of a fork
/// together.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Met {
    counts: BTreeMap<String, BTreeMap<String, u32>>,
}

impl Met {
    /// Takes in a choice, `NAME=VALUE` or `NAME@VISIT=VALUE`; anything else is left out.
    pub fn add(&mut self, choice: &str) {
        let Some((label, value)) = choice.split_once('=') else {
            return;
        };
        let name = label.split('@').next().unwrap_or(label);
        *self
            .counts
            .entry(name.to_owned())
            .or_default()
            .entry(value.to_owned())
            .or_insert(0) += 1;
    }

    /// Whether nothing was met.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.counts.is_empty()
    }

    /// How often a branch of a fork was chosen.
    #[must_use]
    pub fn times(&self, fork: &str, branch: &str) -> u32 {
        self.counts
            .get(fork)
            .and_then(|branches| branches.get(branch))
            .copied()
            .unwrap_or(0)
    }

    /// By how much this road is likelier by what was met than by the file's weights: the product over its choices.
    #[must_use]
    pub fn likelier(&self, routine: &Routine, road: &Road) -> f64 {
        road.walked
            .iter()
            .filter_map(|walked| self.likelier_here(routine, walked))
            .product()
    }

    /// The same for one choice; `None` where nobody chooses, nothing was met, or there are too many branches.
    fn likelier_here(&self, routine: &Routine, walked: &Walked) -> Option<f64> {
        let (name, value) = walked.choice.as_ref()?;
        let met = self.counts.get(&routine.names.get(name.index())?.name)?;
        let open = domain(routine, &walked.before).ok()??;
        if open.count() > MOST_BRANCHES {
            return None;
        }
        let scene = Scene {
            routine,
            world: &walked.before,
        };
        let times = |branch: &crate::routine::Value| -> f64 {
            let text = branch.show_in(scene).unwrap_or_default();
            f64::from(met.get(&text).copied().unwrap_or(0))
        };
        let all: f64 = open.branches().map(|branch| times(&branch)).sum();
        #[expect(
            clippy::cast_precision_loss,
            reason = "weights of a file, and at most 64 branches"
        )]
        let share = match open.open_weights() {
            None => 1.0 / open.count() as f64,
            Some(weights) => open.weight(value) as f64 / weights.iter().sum::<u64>() as f64,
        };
        (share > 0.0).then(|| posterior(share, times(value), all) / share)
    }
}

/// The posterior mean of a branch with this share in the file, met so many times in so many choices.
#[must_use]
pub fn posterior(share: f64, times: f64, all: f64) -> f64 {
    (STRENGTH * share + times) / (STRENGTH + all)
}

impl Met {
    /// The seeds of so many different roads, drawn from those of the file's weights by what was met; with nothing met the seeds
    /// from `seed` on. Roads that cannot be walked are left to whoever walks them.
    #[must_use]
    pub fn seeds(&self, routine: &Routine, seed: u64, count: u64, draw: &mut Draw) -> Vec<u64> {
        if self.is_empty() {
            return (0..count).map(|n| seed.wrapping_add(n)).collect();
        }
        let mut pool: Vec<(u64, u64)> = (0..count.saturating_mul(DRAWN_FOR_EACH))
            .map(|n| seed.wrapping_add(n))
            .map(|seed| {
                let odds = sample(routine, seed).map_or(1.0, |road| self.likelier(routine, &road));
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a weight; fractions of a millionth do not matter, and casts stop at the largest number"
                )]
                let weight = (odds * 1e6) as u64;
                // A sum of a few hundred of these stays a number.
                (seed, weight.clamp(1, u64::MAX >> 16))
            })
            .collect();
        let mut seeds = Vec::new();
        for _ in 0..count {
            let weights: Vec<u64> = pool.iter().map(|(_, weight)| *weight).collect();
            if weights.is_empty() {
                break;
            }
            seeds.push(pool.swap_remove(draw.weighted(&weights)).0);
        }
        seeds
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::roads::choice_label;
    use crate::roads::fixtures::{fork, name, packet, stop};
    use crate::routine::{ForkKind, Seen, Then, Weights};

    /// One choice of three words, with these weights.
    fn three(weights: Weights) -> Routine {
        let mut routine = packet("AC 2H 3C 4H");
        let which = name(&mut routine, "which");
        let words = ["a", "b", "c"].map(std::sync::Arc::from).to_vec();
        let mut choice = fork(which, ForkKind::Option(words), Seen::All);
        if let Some(choice) = &mut choice {
            choice.weights = weights;
        }
        stop(&mut routine, "choose", choice, Vec::new());
        if let Some(last) = routine.stops.last_mut() {
            last.then = Then::Finish;
        }
        routine
    }

    fn met(choices: &[&str]) -> Met {
        let mut met = Met::default();
        for choice in choices {
            met.add(choice);
        }
        met
    }

    #[test]
    fn choices_met_move_the_weights_as_the_posterior_of_dirichlet_does() {
        // By hand: weights 1, 2, 1 are worth 3, 6 and 3 of the strength 12; then b is met four times and c twice. Of 18 there are
        // a 3, b 10, c 5: instead of 1/4, 1/2, 1/4.
        let routine = three(Weights::Listed(vec![1, 2, 1]));
        let met = met(&[
            "which=b",
            "which@2=b",
            "which=b",
            "which=b",
            "which=c",
            "which=c",
        ]);
        let wanted = [
            ("a", 3.0 / 18.0 * 4.0),
            ("b", 10.0 / 18.0 * 2.0),
            ("c", 5.0 / 18.0 * 4.0),
        ];
        let mut seen = std::collections::BTreeSet::new();
        for seed in 0..200 {
            let road = sample(&routine, seed).unwrap();
            let label = choice_label(&routine, &road.walked[0]).unwrap();
            let (_, odds) = wanted
                .iter()
                .find(|(branch, _)| label == format!("which={branch}"))
                .unwrap();
            assert!(
                (met.likelier(&routine, &road) - odds).abs() < 1e-12,
                "{label}"
            );
            seen.insert(label);
        }
        assert_eq!(seen.len(), 3);
        assert_eq!(met.times("which", "b"), 4);
    }

    #[test]
    fn roads_drawn_by_what_was_met_come_as_often_as_the_posterior_says() {
        let routine = three(Weights::Even);
        let met = met(&["which=a"; 12]);
        // By hand: 4 of 12 in the file, 12 met: a has 16 of 24 instead of a third.
        let mut draw = Draw::for_step(1, "test", 1);
        let drawn = 4_000;
        let a = (0..drawn)
            .filter(|n| {
                let seed = met.seeds(&routine, n * 1_000, 1, &mut draw)[0];
                let road = sample(&routine, seed).unwrap();
                choice_label(&routine, &road.walked[0]).unwrap() == "which=a"
            })
            .count();
        // Eight roads are drawn for one kept, which is not yet all of the posterior; the rest of the gap is chance (0.7 points).
        let share = a as f64 / drawn as f64;
        assert!((0.61..=0.68).contains(&share), "{share}");
    }

    #[test]
    fn nothing_met_changes_nothing_and_a_choice_that_is_none_says_nothing() {
        let routine = three(Weights::Even);
        let mut draw = Draw::for_step(1, "test", 1);
        assert_eq!(Met::default().seeds(&routine, 7, 3, &mut draw), [7, 8, 9]);
        let elsewhere = met(&["other=a", "no choice"]);
        let road = sample(&routine, 7).unwrap();
        assert!((elsewhere.likelier(&routine, &road) - 1.0).abs() < 1e-12);
    }
}
