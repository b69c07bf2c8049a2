//! Piles that may swap names: where everything still to come speaks of two piles in one breath or of neither, a table and the same
//! table with their cards exchanged are one.
//!
//! Sound, because then every step does the same to both tables (it names neither pile) and every claim says the same of both (it
//! names both, in a list whose order does not matter). What a state is taken for has the smaller cards in the first of such piles.

use super::watch::reachable;
use crate::routine::{ClaimKind, Routine, Stop, StopIndex, World};
use crate::table::PileId;
use std::collections::BTreeSet;

/// By stop, which piles may swap names from it on.
#[derive(Debug)]
pub(super) struct Swaps {
    /// By stop, pairs of which every step and claim from it on speaks alike; one more for the end of the road.
    before: Vec<Vec<(PileId, PileId)>>,
    /// By stop, pairs of which its claims speak alike.
    claimed: Vec<Vec<(PileId, PileId)>>,
}

impl Swaps {
    /// None at all.
    pub(super) fn none() -> Self {
        Self {
            before: Vec::new(),
            claimed: Vec::new(),
        }
    }

    /// Those of a routine whose expressions only speak of piles by their names.
    pub(super) fn of(routine: &Routine) -> Self {
        let piles: Vec<PileId> = (0..routine.piles.len())
            .filter_map(|n| u8::try_from(n).ok())
            .map(PileId)
            .collect();
        let pairs = || {
            let rest = |n: usize| piles[n + 1..].iter().copied();
            piles
                .iter()
                .enumerate()
                .flat_map(move |(n, one)| rest(n).map(|other| (*one, other)))
        };
        let mut asked: BTreeSet<PileId> = BTreeSet::new();
        for when in routine.endings.iter().filter_map(|e| e.when.as_ref()) {
            asked.extend(&when.reads().piles);
        }
        let claimed: Vec<Vec<_>> = routine
            .stops
            .iter()
            .map(|stop| pairs().filter(|pair| claims_alike(stop, *pair)).collect())
            .collect();
        let stepped: Vec<BTreeSet<PileId>> = routine.stops.iter().map(named).collect();
        let alike = |from: usize, (one, other): (PileId, PileId)| {
            let free = |piles: &BTreeSet<PileId>| !piles.contains(&one) && !piles.contains(&other);
            let onward = reachable(routine, from);
            // Piles that nothing speaks of are dropped; there is nothing to settle.
            let spoken = |n: &usize| {
                routine.stops[*n]
                    .claims
                    .iter()
                    .any(|c| c.kind.piles().contains(&one))
            };
            free(&asked)
                && onward.iter().any(spoken)
                && onward
                    .into_iter()
                    .all(|n| free(&stepped[n]) && claimed[n].contains(&(one, other)))
        };
        let before = (0..=routine.stops.len())
            .map(|from| pairs().filter(|pair| alike(from, *pair)).collect())
            .collect();
        Self { before, claimed }
    }

    /// The pairs that may swap names in a state before a stop, while the claims of the stop just done are still to be looked at.
    fn at(&self, at: StopIndex, done: Option<StopIndex>) -> impl Iterator<Item = (PileId, PileId)> {
        let claimed = done.and_then(|done| self.claimed.get(done.index()));
        let before = self.before.get(at.index()).into_iter().flatten();
        before
            .filter(move |pair| claimed.is_none_or(|claimed| claimed.contains(pair)))
            .copied()
    }

    /// Whether any two piles may swap names before a stop.
    pub(super) fn any(&self, at: StopIndex) -> bool {
        self.at(at, None).next().is_some()
    }

    /// Lays the smaller cards in the first of each two piles that may swap names.
    pub(super) fn settle(&self, world: &mut World, done: Option<StopIndex>) {
        let at = world.at;
        // Pairs come in rising order, so that several piles that may all swap are sorted.
        for (one, other) in self.at(at, done) {
            if world.table.pile(other) < world.table.pile(one) {
                let first = std::mem::take(world.table.pile_mut(one));
                let second = std::mem::replace(world.table.pile_mut(other), first);
                *world.table.pile_mut(one) = second;
            }
        }
    }
}

/// The piles that a step names.
fn named(stop: &Stop) -> BTreeSet<PileId> {
    let mut piles = BTreeSet::new();
    stop.each_expr(&mut |expr| piles.extend(&expr.reads().piles));
    stop.each_act(&mut |act| piles.extend(act.piles().into_iter().flatten()));
    piles.extend(stop.fork.iter().flat_map(crate::routine::Fork::piles));
    piles.extend(stop.sights.iter().filter_map(crate::routine::Sight::pile));
    piles
}

/// Whether each claim of a stop speaks of both piles in one list, or of neither.
fn claims_alike(stop: &Stop, (one, other): (PileId, PileId)) -> bool {
    let mut alike = true;
    for claim in &stop.claims {
        claim.kind.each_expr(&mut |expr| {
            let piles = &expr.reads().piles;
            alike &= !piles.contains(&one) && !piles.contains(&other);
        });
        claim.kind.each_claim(&mut |claim| {
            alike &= match claim {
                ClaimKind::AllOne { piles, .. }
                | ClaimKind::Count { piles, .. }
                | ClaimKind::Sum { piles, .. } => piles.contains(&one) == piles.contains(&other),
                ClaimKind::Sequence { pile, .. }
                | ClaimKind::Blocks { pile, .. }
                | ClaimKind::Place { pile, .. }
                | ClaimKind::Mirror { pile, .. }
                | ClaimKind::MatesTogether(pile)
                | ClaimKind::SameAs { pile, .. } => *pile != one && *pile != other,
                ClaimKind::And(_) | ClaimKind::Or(_) | ClaimKind::Not(_) | ClaimKind::Expr(_) => {
                    true
                }
            };
        });
    }
    alike
}

#[cfg(test)]
mod tests {
    use crate::proof::{Limits, Roads, Ways, prove};
    use crate::routine::load;

    /// They deal six cards onto either of two heaps, one by one; then only the two heaps together are spoken of.
    fn heaps(claim: &str) -> String {
        let steps: String = (1..=6)
            .map(|n| {
                format!(
                    "  - id: deal-{n}
    title: A card
    say: Left or right?
    fork: {{name: side-{n}, says: \"{{side-{n}}}\", option: [left, right]}}
    do:
      - when:
          is: 'side-{n} == \"left\"'
          do: [{{deal: {{from: packet, to: [one], count: 1}}}}]
          else: [{{deal: {{from: packet, to: [two], count: 1}}}}]
"
                )
                .replace("side-", "side")
            })
            .collect();
        format!(
            "allroads: 1\ntitle: Two heaps\nblurb: b\nprinciple: p\nlang: en-GB\ncards:\n  \
             packet: {{list: \"AC 2C 3C 4H 5H 6H\"}}\npiles: [one, two]\nsteps:\n{steps}finale:\n  id: end\n  \
             title: End\n  say: The end.\n  claims:\n    - says: it holds\n      {claim}\n"
        )
    }

    fn states_and_roads(text: &str, merge: bool) -> (bool, u64, Roads) {
        let routine = load(text, "heaps", 0).unwrap();
        let limits = Limits {
            bytes: 1 << 30,
            stop: &|| false,
            progress: &|_| {},
        };
        let proof = prove(
            &routine,
            Ways {
                merge,
                ..Ways::default()
            },
            &limits,
        );
        (proof.holds(), proof.states, proof.roads)
    }

    #[test]
    fn heaps_that_are_only_spoken_of_together_are_one_heap_whichever_is_which() {
        let together = heaps("count: {piles: [one, two], class: red, is: 3}");
        let apart = heaps(
            "or: [{count: {piles: [one], class: red, is: 3}}, {count: {piles: [two], class: red, is: 3}}, \
             {count: {piles: [one, two], class: red, is: 3}}]",
        );
        let (holds, merged, roads) = states_and_roads(&together, true);
        let (also, unmerged, same) = states_and_roads(&together, false);
        assert!(holds && also);
        assert_eq!(roads, same);
        assert!(merged < unmerged);
        // The last deal names the heaps; after it their names do not matter, so that of the 2^6 ways to part six cards, which look red
        // or black, only those up to exchanging the heaps are told apart; where a claim names one heap they all are.
        let (holds, named, _) = states_and_roads(&apart, true);
        assert!(holds);
        assert!(merged < named, "{merged} {named}");
    }
}
