//! Patterns, and which of them are one but for a symmetry.

use itertools::Itertools;
use std::collections::BTreeSet;

/// By cell, the index of its class among those sought.
pub type Pattern = Box<[u8]>;

/// Which patterns are told as one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Alike {
    /// Those that differ by an exchange of classes.
    pub swap: bool,
    /// Those that differ by order, read from the bottom.
    pub reversal: bool,
    /// Those that differ by a cut.
    pub rotation: bool,
}

/// Patterns told as one: all of them are in the list, none is only inferred.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// The first in lexical order of the classes' indices.
    pub first: Pattern,
    /// The others, in that order.
    pub others: Vec<Pattern>,
}

/// All orders of the numbers below `n`, in lexical order.
pub(super) fn exchanges(n: usize) -> Vec<Vec<u8>> {
    let classes = (0..n).filter_map(|class| u8::try_from(class).ok());
    classes.permutations(n).collect()
}

/// The pattern with its classes exchanged.
pub(super) fn exchanged(pattern: &[u8], by: &[u8]) -> Pattern {
    pattern
        .iter()
        .map(|class| by[usize::from(*class)])
        .collect()
}

/// All that a pattern is alike to, itself included.
pub(super) fn images(pattern: &[u8], classes: usize, alike: Alike) -> BTreeSet<Pattern> {
    let mut orders: BTreeSet<Pattern> = BTreeSet::new();
    let turns = if alike.rotation {
        pattern.len().max(1)
    } else {
        1
    };
    for by in 0..turns {
        let turned: Vec<u8> = pattern[by..]
            .iter()
            .chain(&pattern[..by])
            .copied()
            .collect();
        if alike.reversal {
            orders.insert(turned.iter().rev().copied().collect());
        }
        orders.insert(turned.into());
    }
    if !alike.swap {
        return orders;
    }
    let exchanges = exchanges(classes);
    orders
        .iter()
        .flat_map(|order| exchanges.iter().map(|by| exchanged(order, by)))
        .collect()
}

/// Tells patterns together that are alike. Only patterns of the list are told.
#[must_use]
pub fn group(patterns: &BTreeSet<Pattern>, classes: usize, alike: Alike) -> Vec<Group> {
    let mut left = patterns.clone();
    let mut groups = Vec::new();
    while let Some(first) = left.pop_first() {
        let others: Vec<Pattern> = images(&first, classes, alike)
            .into_iter()
            .filter(|image| left.remove(image))
            .collect();
        groups.push(Group { first, others });
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    fn patterns(all: &[&[u8]]) -> BTreeSet<Pattern> {
        all.iter().map(|p| Box::from(*p)).collect()
    }

    #[test]
    fn patterns_that_differ_by_a_symmetry_are_told_together_and_others_are_not() {
        let list = patterns(&[&[0, 0, 1], &[1, 1, 0], &[1, 0, 0], &[0, 1, 0]]);
        let told = |alike: Alike| {
            group(&list, 2, alike)
                .into_iter()
                .map(|g| (g.first.to_vec(), g.others.len()))
                .collect::<Vec<_>>()
        };
        let none = Alike::default();
        assert_eq!(told(none).len(), 4);
        let swap = Alike { swap: true, ..none };
        // 001 with 110; 010 alone, because 101 is not in the list; 100 alone.
        assert_eq!(
            told(swap),
            [(vec![0, 0, 1], 1), (vec![0, 1, 0], 0), (vec![1, 0, 0], 0)]
        );
        let reversal = Alike {
            reversal: true,
            ..none
        };
        assert_eq!(
            told(reversal),
            [(vec![0, 0, 1], 1), (vec![0, 1, 0], 0), (vec![1, 1, 0], 0)]
        );
        let rotation = Alike {
            rotation: true,
            ..none
        };
        assert_eq!(told(rotation), [(vec![0, 0, 1], 2), (vec![1, 1, 0], 0)]);
    }

    #[test]
    fn exchanges_are_all_orders() {
        assert_eq!(exchanges(2), [[0, 1], [1, 0]]);
        assert_eq!(exchanges(4).len(), 24);
        assert_eq!(exchanged(&[0, 1, 2], &[2, 0, 1]).to_vec(), [2, 0, 1]);
    }
}
