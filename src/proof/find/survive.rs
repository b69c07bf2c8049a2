//! What survives: patterns that stay as they are under moves done any number of times, in any order.
//!
//! **Exactly.** A pattern stays when every move takes each cell's class from a cell of the same class. So it is of one class on every
//! orbit of the cells under the moves, and each pattern that is so stays.
//!
//! **Up to a symmetry** (cuts, reversal, exchanges of classes). Each move must take the pattern to one of its images. For each move one
//! image is supposed; then the classes of some cells follow from those of others, up to an exchange of classes, and a union-find whose links
//! carry exchanges (`p[a] = τ p[r]`) holds all patterns that fit. Every pattern that survives fits one of these suppositions, so nothing is
//! missed. That each move takes the pattern itself to an image is not yet enough, since a further move starts from the image: so each
//! candidate is followed. All patterns that any moves lead to are visited; it survives when all are its images. There are no
//! more than `2 n · k!` images, so this ends, and what it visits is closed under the moves: that is the proof for any number of
//! times. Inverses need not be tried: a move done often enough undoes itself.

use super::canvas::Canvas;
use super::moves::{Moves, Turn};
use super::pattern::{Alike, Pattern, exchanges, images};
use num_bigint::BigUint;
use std::collections::BTreeSet;

/// The most sets of candidates that are held at once.
const MOST_SETS: usize = 1 << 16;

/// What survives.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Survivors {
    /// The patterns.
    pub patterns: BTreeSet<Pattern>,
    /// Whether these are all.
    pub complete: bool,
    /// How many there are in all, where that was counted.
    pub count: Option<BigUint>,
    /// The orbits of the cells under the moves: which cells any moves can exchange.
    pub orbits: Vec<Vec<usize>>,
}

/// Everything that survives these moves, at most so many.
#[must_use]
pub fn survivors(
    canvas: &Canvas,
    moves: &Moves,
    alike: Alike,
    most: usize,
    stop: &(dyn Fn() -> bool + Sync),
) -> Survivors {
    let turns = few(&moves.turns);
    let size = canvas.size();
    let exact = Links::free(size, canvas.classes());
    let group = turns.iter().try_fold(exact.clone(), |links, turn| {
        links.with(
            turn,
            &(0..size).collect::<Vec<_>>(),
            &identity(canvas.classes()),
        )
    });
    let orbits = group.as_ref().map_or_else(Vec::new, Links::orbits);
    let mut found = Survivors {
        complete: true,
        orbits,
        ..Survivors::default()
    };
    let mut sets = BTreeSet::from([exact]);
    for turn in &turns {
        let mut next = BTreeSet::new();
        for links in &sets {
            for (order, exchange) in symmetries(size, canvas.classes(), alike) {
                if stop() || next.len() > MOST_SETS {
                    found.complete = false;
                    return found;
                }
                next.extend(links.with(turn, &order, &exchange));
            }
        }
        sets = next;
    }
    if alike == Alike::default() {
        let of_orbits: Vec<usize> = found.orbits.iter().map(Vec::len).collect();
        found.count = Some(canvas.colourings(&of_orbits));
    }
    for links in &sets {
        links.each(&mut |pattern| {
            if stop() || found.patterns.len() >= most {
                found.complete = false;
                return false;
            }
            if canvas.fits(&pattern)
                && !found.patterns.contains(&pattern)
                && stays(&pattern, &turns, canvas.classes(), alike)
            {
                found.patterns.insert(pattern);
            }
            true
        });
    }
    found
}

/// Whether any moves, any number of times, lead from a pattern to its images only.
fn stays(pattern: &Pattern, turns: &[Turn], classes: usize, alike: Alike) -> bool {
    let images = images(pattern, classes, alike);
    let mut met = BTreeSet::from([pattern.clone()]);
    let mut open = vec![pattern.clone()];
    while let Some(pattern) = open.pop() {
        for turn in turns {
            let next = after(&pattern, turn);
            if !images.contains(&next) {
                return false;
            }
            if met.insert(next.clone()) {
                open.push(next);
            }
        }
    }
    true
}

/// The pattern after a move.
pub(super) fn after(pattern: &[u8], turn: &Turn) -> Pattern {
    turn.iter()
        .map(|from| pattern[usize::from(*from)])
        .collect()
}

/// Moves that do as much together: one that is another done several times is left out.
fn few(turns: &BTreeSet<Turn>) -> Vec<Turn> {
    let mut left = turns.clone();
    let mut kept: Vec<Turn> = Vec::new();
    while let Some(turn) = left.pop_first() {
        let powers = powers(&turn);
        left.retain(|other| !powers.contains(other));
        kept.retain(|other| !powers.contains(other));
        kept.push(turn);
    }
    kept
}

/// The move done once, twice, and so on, until it is undone or a bound is reached.
fn powers(turn: &Turn) -> BTreeSet<Turn> {
    let mut powers = BTreeSet::new();
    let mut now = turn.clone();
    while powers.len() < 4 * turn.len() && powers.insert(now.clone()) {
        now = now.iter().map(|from| turn[usize::from(*from)]).collect();
    }
    powers
}

fn identity(classes: usize) -> Vec<u8> {
    (0..classes).filter_map(|c| u8::try_from(c).ok()).collect()
}

/// Every symmetry: cell `i` of the image is cell `order[i]` of the pattern with its class exchanged.
fn symmetries(size: usize, classes: usize, alike: Alike) -> Vec<(Vec<usize>, Vec<u8>)> {
    let turns = if alike.rotation { size } else { 1 };
    let mut orders = Vec::new();
    for by in 0..turns {
        let order: Vec<usize> = (0..size).map(|cell| (cell + by) % size).collect();
        if alike.reversal {
            orders.push(order.iter().rev().copied().collect());
        }
        orders.push(order);
    }
    let exchanges = if alike.swap {
        exchanges(classes)
    } else {
        vec![identity(classes)]
    };
    orders
        .iter()
        .flat_map(|order| exchanges.iter().map(|by| (order.clone(), by.clone())))
        .collect()
}

/// Cells whose classes follow from one another: `class of cell = link.1[class of cell link.0]`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Links {
    /// By cell: the first cell from which its class follows, and by which exchange.
    links: Vec<(usize, Vec<u8>)>,
    /// By cell, where it is the first: the classes that it may have.
    may: Vec<Vec<u8>>,
}

impl Links {
    fn free(size: usize, classes: usize) -> Self {
        Self {
            links: (0..size).map(|cell| (cell, identity(classes))).collect(),
            may: vec![identity(classes); size],
        }
    }

    /// With one more supposition: the move takes the pattern to this image. `None` where no pattern fits.
    fn with(&self, turn: &Turn, order: &[usize], exchange: &[u8]) -> Option<Self> {
        let mut links = self.clone();
        for (from, image) in turn.iter().zip(order) {
            // p[from] = exchange(p[image])
            links.join(usize::from(*from), *image, exchange)?;
        }
        Some(links)
    }

    fn join(&mut self, a: usize, b: usize, exchange: &[u8]) -> Option<()> {
        let (root_a, by_a) = self.links[a].clone();
        let (root_b, by_b) = self.links[b].clone();
        // by_a(root a) = exchange(by_b(root b)); the later root follows from the earlier.
        let undo = |by: &[u8], class: u8| by.iter().position(|c| *c == class);
        let through = |class: u8| exchange[usize::from(by_b[usize::from(class)])];
        // a_of_b[class of root b] = class of root a
        let classes = by_a.len();
        let mut a_of_b = vec![0_u8; classes];
        let mut b_of_a = vec![0_u8; classes];
        for class in identity(classes) {
            let of_a = u8::try_from(undo(&by_a, through(class))?).ok()?;
            a_of_b[usize::from(class)] = of_a;
            b_of_a[usize::from(of_a)] = class;
        }
        if root_a == root_b {
            self.may[root_a].retain(|class| a_of_b[usize::from(*class)] == *class);
            return (!self.may[root_a].is_empty()).then_some(());
        }
        let (root, other, other_of_root) = if root_a < root_b {
            (root_a, root_b, b_of_a)
        } else {
            (root_b, root_a, a_of_b)
        };
        let of_other = std::mem::take(&mut self.may[other]);
        self.may[root].retain(|class| of_other.contains(&other_of_root[usize::from(*class)]));
        for link in self.links.iter_mut().filter(|link| link.0 == other) {
            link.0 = root;
            link.1 = other_of_root
                .iter()
                .map(|class| link.1[usize::from(*class)])
                .collect();
        }
        (!self.may[root].is_empty()).then_some(())
    }

    /// Cells that follow from one another.
    fn orbits(&self) -> Vec<Vec<usize>> {
        let roots = (0..self.links.len()).filter(|cell| self.links[*cell].0 == *cell);
        let of = |root: usize| (0..self.links.len()).filter(move |c| self.links[*c].0 == root);
        roots.map(|root| of(root).collect()).collect()
    }

    /// Tells every pattern that fits, until one is not wanted.
    fn each(&self, tell: &mut dyn FnMut(Pattern) -> bool) {
        let roots: Vec<usize> = (0..self.links.len())
            .filter(|cell| self.links[*cell].0 == *cell)
            .collect();
        let mut chosen = vec![0_usize; roots.len()];
        loop {
            let mut pattern: Vec<u8> = vec![0; self.links.len()];
            for (cell, (root, by)) in self.links.iter().enumerate() {
                let at = roots.iter().position(|r| r == root).unwrap_or(0);
                let class = self.may[*root][chosen[at]];
                pattern[cell] = by[usize::from(class)];
            }
            if !tell(pattern.into()) {
                return;
            }
            // The next choice, counting up.
            let Some(at) =
                (0..roots.len()).rfind(|at| chosen[*at] + 1 < self.may[roots[*at]].len())
            else {
                return;
            };
            chosen[at] += 1;
            chosen[at + 1..].fill(0);
        }
    }
}
