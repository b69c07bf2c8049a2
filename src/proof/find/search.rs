//! Propose, judge, learn: until no pattern is left.

use super::canvas::{Canvas, Unfit};
use super::evidence::{Evidence, at_random, by_choices};
use super::pattern::{Pattern, exchanged, exchanges};
use super::solver::{Proposal, Proposer};
use crate::proof::{Ends, Limits, Verdict, Ways, prove};
use std::collections::BTreeSet;

/// Random roads walked on a pattern before all are: most patterns that can fail do so on one of these.
const FIRST_ROADS: u64 = 48;

/// How far a search is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Patterns found sure-fire.
    pub found: u64,
    /// Patterns proved.
    pub proved: u64,
    /// Patterns refuted, each of which ruled out others with it.
    pub refuted: u64,
}

/// What a search found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sought {
    /// Every pattern found sure-fire.
    pub patterns: BTreeSet<Pattern>,
    /// Patterns that could not be decided.
    pub undecided: BTreeSet<Pattern>,
    /// Whether there are no others than these.
    pub complete: bool,
    /// How far it came.
    pub tally: Tally,
}

/// Seeks every pattern with which a routine is sure-fire, at most so many. It is told now and then how far it is.
///
/// # Errors
/// Never for a canvas that could be made.
pub fn search(
    canvas: &Canvas,
    most: usize,
    limits: &Limits<'_>,
    told: &(dyn Fn(Tally) + Sync),
) -> Result<Sought, Unfit> {
    let mut seeker = Seeker {
        canvas,
        proposer: Proposer::new(canvas.size(), canvas.bounds(), limits.stop),
        exchanges: if canvas.swaps {
            exchanges(canvas.classes())
        } else {
            // The first leaves all as they are.
            exchanges(canvas.classes()).into_iter().take(1).collect()
        },
        seed: 0,
        sought: Sought::default(),
    };
    loop {
        if (limits.stop)() || seeker.sought.patterns.len() >= most {
            break;
        }
        match seeker.proposer.propose() {
            Proposal::NoneLeft => {
                seeker.sought.complete = seeker.sought.undecided.is_empty();
                break;
            }
            Proposal::Stopped => break,
            Proposal::Pattern(pattern) => seeker.judge(&pattern, limits)?,
        }
        told(seeker.sought.tally);
    }
    Ok(seeker.sought)
}

struct Seeker<'a> {
    canvas: &'a Canvas,
    proposer: Proposer<'a>,
    /// Exchanges of classes that change nothing; the first leaves all as they are.
    exchanges: Vec<Vec<u8>>,
    /// Where the next random road comes from.
    seed: u64,
    sought: Sought,
}

impl Seeker<'_> {
    fn judge(&mut self, pattern: &Pattern, limits: &Limits<'_>) -> Result<(), Unfit> {
        let routine = self.canvas.laid(pattern)?;
        for _ in 0..FIRST_ROADS {
            self.seed += 1;
            if let Some(evidence) = at_random(&routine, self.seed)
                && self.learn(pattern, &evidence)
            {
                return Ok(());
            }
        }
        let ways = Ways {
            odds: false,
            ends: Ends::Never,
            sample: 0,
            ..Ways::default()
        };
        let proof = prove(&routine, ways, limits);
        match proof.verdict {
            Verdict::SureFire => {
                self.sought.tally.proved += 1;
                for image in self.images(pattern) {
                    self.proposer.forbid(whole(&image));
                    if self.canvas.fits(&image) {
                        self.sought.patterns.insert(image);
                    }
                }
                self.sought.tally.found =
                    u64::try_from(self.sought.patterns.len()).unwrap_or(u64::MAX);
            }
            Verdict::Refuted => {
                let evidence = proof.counterexample.and_then(|found| {
                    let choices: Vec<String> = found.choices.into_iter().map(|(_, c)| c).collect();
                    by_choices(&routine, &choices)
                });
                if !evidence.is_some_and(|evidence| self.learn(pattern, &evidence)) {
                    // The road cannot be walked again with cells open: only the pattern itself is ruled out.
                    self.sought.tally.refuted += 1;
                    for image in self.images(pattern) {
                        self.proposer.forbid(whole(&image));
                    }
                }
            }
            Verdict::Unfinished => {
                if !(limits.stop)() {
                    self.proposer.forbid(whole(pattern));
                }
                self.sought.undecided.insert(pattern.clone());
            }
        }
        Ok(())
    }

    /// Rules out every pattern on which this road fails as it does on this one; whether that could be done.
    fn learn(&mut self, pattern: &Pattern, evidence: &Evidence) -> bool {
        let lay = |laid: &[bool]| self.canvas.open(pattern, laid);
        let core = evidence.core(self.canvas.size(), self.canvas.filling(), &lay);
        let Some(core) = core else {
            return false;
        };
        self.sought.tally.refuted += 1;
        for by in &self.exchanges {
            let classes = core
                .iter()
                .map(|cell| (*cell, by[usize::from(pattern[*cell])]));
            self.proposer.forbid(classes);
        }
        true
    }

    fn images(&self, pattern: &Pattern) -> BTreeSet<Pattern> {
        let images = self.exchanges.iter().map(|by| exchanged(pattern, by));
        images.collect()
    }
}

fn whole(pattern: &Pattern) -> impl Iterator<Item = (usize, u8)> {
    pattern.iter().copied().enumerate()
}
