//! The states that a judge met, each under a number, and what was found out about each.
//!
//! Their cells lie in one long row, so that a state takes few bytes and no memory of its own. A state is compared whole; its hash only
//! says where to look.

use super::Fate;
use crate::proof::fraction::Fraction;
use crate::proof::shards::{hash, spread};
use crate::proof::state::CoreId;
use hashbrown::HashTable;

/// What opening a state showed, where it is so simple that it need not be opened again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Opened {
    /// A claim breaks there.
    Broken,
    /// No claim breaks, and whatever is chosen, this state follows.
    Only(u32),
}

/// Everything that is known of the states met.
#[derive(Debug, Default)]
pub(super) struct Book {
    /// The kept half of the hash, and the number.
    numbers: HashTable<(u32, u32)>,
    cores: Vec<CoreId>,
    /// By number, where the cells of the state end in the row.
    ends: Vec<usize>,
    row: Vec<u8>,
    fates: Vec<Option<Fate>>,
    opened: Vec<Option<Opened>>,
    /// The inner is none where a state has no chance that can be worked out.
    chances: Vec<Option<Option<Fraction>>>,
}

impl Book {
    /// The core of a state.
    pub(super) fn core(&self, n: u32) -> CoreId {
        self.cores[n as usize]
    }

    /// The cells of a state.
    pub(super) fn cells(&self, n: u32) -> &[u8] {
        let n = n as usize;
        let begin = n.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.row[begin..self.ends[n]]
    }

    /// What all roads from a state come to, where that was found out.
    pub(super) fn fate(&self, n: u32) -> Option<Fate> {
        self.fates[n as usize]
    }

    /// Notes it.
    pub(super) fn set_fate(&mut self, n: u32, fate: Fate) {
        self.fates[n as usize] = Some(fate);
    }

    /// What opening a state showed, where that was simple.
    pub(super) fn opened(&self, n: u32) -> Option<Opened> {
        self.opened[n as usize]
    }

    /// Notes it.
    pub(super) fn set_opened(&mut self, n: u32, opened: Opened) {
        self.opened[n as usize] = Some(opened);
    }

    /// The chance that all goes well from a state on, where that was looked for.
    pub(super) fn chance(&self, n: u32) -> Option<&Option<Fraction>> {
        self.chances.get(n as usize)?.as_ref()
    }

    /// Notes it.
    pub(super) fn set_chance(&mut self, n: u32, chance: Option<Fraction>) {
        let n = n as usize;
        if self.chances.len() <= n {
            self.chances.resize(n + 1, None);
        }
        self.chances[n] = Some(chance);
    }

    /// The number of a state, a new one where it was not met before.
    pub(super) fn number(&mut self, core: CoreId, cells: &[u8]) -> u32 {
        let hash = hash(core, cells);
        let tag = (hash >> 32) as u32;
        let same =
            |(its, n): &(u32, u32)| *its == tag && self.core(*n) == core && self.cells(*n) == cells;
        if let Some((_, n)) = self.numbers.find(spread(tag), same) {
            return *n;
        }
        let n = u32::try_from(self.cores.len()).unwrap_or(u32::MAX);
        self.numbers
            .insert_unique(spread(tag), (tag, n), |(tag, _)| spread(*tag));
        self.cores.push(core);
        self.row.extend_from_slice(cells);
        self.ends.push(self.row.len());
        self.fates.push(None);
        self.opened.push(None);
        n
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    #[test]
    fn every_state_has_one_number_and_is_found_under_it() {
        let mut book = Book::default();
        let mut plain: BTreeMap<(CoreId, Vec<u8>), u32> = BTreeMap::new();
        for n in 0..20_000_u32 {
            let mixed = n.wrapping_mul(2_654_435_761) >> 7;
            let core = mixed >> 5 & 3;
            let cells: Vec<u8> = (0..mixed % 4)
                .map(|k| (mixed >> (4 * k)) as u8 & 15)
                .collect();
            let new = plain.len() as u32;
            let expected = *plain.entry((core, cells.clone())).or_insert(new);
            assert_eq!(book.number(core, &cells), expected);
        }
        for ((core, cells), n) in plain {
            assert_eq!((book.core(n), book.cells(n)), (core, cells.as_slice()));
            assert_eq!((book.fate(n), book.chance(n)), (None, None));
        }
    }

    #[test]
    fn what_was_found_out_about_a_state_is_kept_for_it_alone() {
        let mut book = Book::default();
        let [one, other] = [book.number(0, &[1]), book.number(0, &[2])];
        book.set_fate(other, Fate::Bad);
        book.set_opened(other, Opened::Only(one));
        book.set_chance(other, Some(Fraction::of(1, 3)));
        assert_eq!((book.fate(one), book.chance(one)), (None, None));
        assert_eq!(book.opened(one), None);
        assert_eq!(book.opened(other), Some(Opened::Only(one)));
        assert_eq!(book.fate(other), Some(Fate::Bad));
        assert_eq!(book.chance(other), Some(&Some(Fraction::of(1, 3))));
        book.set_chance(one, None);
        assert_eq!(book.chance(one), Some(&None));
    }
}
