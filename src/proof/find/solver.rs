//! The solver that proposes patterns: cells and classes as literals, counts as sequential counters (C. Sinz, "Towards an optimal CNF
//! encoding of Boolean cardinality constraints", CP 2005).

use batsat::{Callbacks, Lit, Solver, SolverInterface, SolverOpts, lbool};

/// Asks now and then whether to stop.
struct Asking<'a>(&'a (dyn Fn() -> bool + Sync));

impl Callbacks for Asking<'_> {
    fn stop(&self) -> bool {
        (self.0)()
    }
}

/// How many cells a class may and must have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Bounds {
    /// At least.
    pub(super) least: usize,
    /// At most.
    pub(super) most: usize,
}

/// What the solver proposes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Proposal {
    /// A pattern that no clause rules out: by cell, the index of its class.
    Pattern(Box<[u8]>),
    /// There is none left.
    NoneLeft,
    /// It was asked to stop.
    Stopped,
}

/// Patterns that are not ruled out yet.
pub(super) struct Proposer<'a> {
    sat: Solver<Asking<'a>>,
    /// By cell and class.
    lits: Vec<Vec<Lit>>,
}

impl<'a> Proposer<'a> {
    /// All patterns of so many cells whose classes have so many cells each.
    pub(super) fn new(
        cells: usize,
        bounds: &[Bounds],
        stop: &'a (dyn Fn() -> bool + Sync),
    ) -> Self {
        let mut new = Self {
            sat: Solver::new(SolverOpts::default(), Asking(stop)),
            lits: Vec::new(),
        };
        for _ in 0..cells {
            let lits = new.cell(bounds.len());
            new.lits.push(lits);
        }
        for (class, bounds) in bounds.iter().enumerate() {
            let of: Vec<Lit> = new.lits.iter().map(|lits| lits[class]).collect();
            let others: Vec<Lit> = of.iter().map(|lit| !*lit).collect();
            new.at_most(&of, bounds.most);
            if bounds.least > cells {
                new.clause(Vec::new());
            } else {
                new.at_most(&others, cells - bounds.least);
            }
        }
        new
    }

    /// One literal for each class, exactly one of them true.
    fn cell(&mut self, classes: usize) -> Vec<Lit> {
        let mut fresh = || Lit::new(self.sat.new_var_default(), true);
        if classes == 2 {
            let first = fresh();
            return vec![first, !first];
        }
        let lits: Vec<Lit> = (0..classes).map(|_| fresh()).collect();
        self.clause(lits.clone());
        for (n, one) in lits.iter().enumerate() {
            for other in &lits[n + 1..] {
                self.clause(vec![!*one, !*other]);
            }
        }
        lits
    }

    /// At most so many of these are true: `s[j]` after literal i says that more than j of the first i are.
    fn at_most(&mut self, of: &[Lit], most: usize) {
        if most >= of.len() {
            return;
        }
        let mut before: Vec<Lit> = Vec::new();
        for lit in of {
            let here: Vec<Lit> = (0..most)
                .map(|_| Lit::new(self.sat.new_var_default(), true))
                .collect();
            for (j, more) in here.iter().enumerate() {
                if let Some(was) = before.get(j) {
                    self.clause(vec![!*was, *more]);
                }
                match j.checked_sub(1) {
                    None => self.clause(vec![!*lit, *more]),
                    Some(less) => {
                        if let Some(was) = before.get(less) {
                            self.clause(vec![!*lit, !*was, *more]);
                        }
                    }
                }
            }
            match most.checked_sub(1) {
                None => self.clause(vec![!*lit]),
                Some(last) => {
                    if let Some(full) = before.get(last) {
                        self.clause(vec![!*lit, !*full]);
                    }
                }
            }
            before = here;
        }
    }

    fn clause(&mut self, mut lits: Vec<Lit>) {
        self.sat.add_clause_reuse(&mut lits);
    }

    /// Rules out all patterns that lay these classes on these cells.
    pub(super) fn forbid(&mut self, cells: impl IntoIterator<Item = (usize, u8)>) {
        let lits = cells
            .into_iter()
            .map(|(cell, class)| !self.lits[cell][usize::from(class)])
            .collect();
        self.clause(lits);
    }

    /// A pattern that is not ruled out.
    pub(super) fn propose(&mut self) -> Proposal {
        let said = self.sat.solve_limited(&[]);
        if said == lbool::TRUE {
            let class = |lits: &Vec<Lit>| {
                let at = lits
                    .iter()
                    .position(|lit| self.sat.value_lit(*lit) == lbool::TRUE);
                u8::try_from(at.unwrap_or(0)).unwrap_or(u8::MAX)
            };
            Proposal::Pattern(self.lits.iter().map(class).collect())
        } else if said == lbool::FALSE {
            Proposal::NoneLeft
        } else {
            Proposal::Stopped
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        #[test]
        fn it_proposes_every_pattern_within_the_bounds_once_and_then_says_so(
            cells in 1_usize..6,
            least in prop::collection::vec(0_usize..4, 2..5),
            room in prop::collection::vec(0_usize..4, 2..5),
        ) {
            let bounds: Vec<Bounds> = least
                .iter()
                .zip(&room)
                .map(|(least, room)| Bounds { least: *least, most: least + room })
                .collect();
            let classes = bounds.len();
            // Plainly: all patterns, counted class by class.
            let mut wanted = BTreeSet::new();
            for number in 0..classes.pow(cells as u32) {
                let pattern: Vec<u8> = (0..cells)
                    .map(|cell| (number / classes.pow(cell as u32) % classes) as u8)
                    .collect();
                let fits = bounds.iter().enumerate().all(|(class, bounds)| {
                    let count = pattern.iter().filter(|c| usize::from(**c) == class).count();
                    (bounds.least..=bounds.most).contains(&count)
                });
                if fits {
                    wanted.insert(pattern.into_boxed_slice());
                }
            }
            let mut proposer = Proposer::new(cells, &bounds, &|| false);
            let mut met = BTreeSet::new();
            loop {
                match proposer.propose() {
                    Proposal::Pattern(pattern) => {
                        proposer.forbid(pattern.iter().copied().enumerate());
                        prop_assert!(met.insert(pattern), "proposed twice");
                    }
                    Proposal::NoneLeft => break,
                    Proposal::Stopped => prop_assert!(false, "nobody stopped it"),
                }
            }
            prop_assert_eq!(met, wanted);
        }
    }
}
