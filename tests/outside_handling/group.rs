//! The sizes of permutation groups, by the method of Schreier and Sims.

type Permutation = Vec<u16>;

/// First `a`, then `b`.
fn then(a: &[u16], b: &[u16]) -> Permutation {
    a.iter().map(|&i| b[usize::from(i)]).collect()
}

fn inverse(a: &[u16]) -> Permutation {
    let mut inverse = vec![0; a.len()];
    for (from, &to) in (0..).zip(a) {
        inverse[usize::from(to)] = from;
    }
    inverse
}

/// The permutations of the group that fix all points below this level's own.
struct Level {
    generators: Vec<Permutation>,
    /// By point of the orbit: the inverse of an element that takes this level's point there.
    back: Vec<Option<Permutation>>,
    /// The same elements, not inverted.
    there: Vec<Permutation>,
}

struct Group {
    levels: Vec<Level>,
}

impl Group {
    fn trivial(n: usize) -> Self {
        let identity: Permutation = (0..).take(n).collect();
        let level = |point: usize| {
            let mut back = vec![None; n];
            back[point] = Some(identity.clone());
            Level {
                generators: Vec::new(),
                back,
                there: vec![identity.clone()],
            }
        };
        Self {
            levels: (0..n).map(level).collect(),
        }
    }

    /// Whether the chain from this level on holds an element that fixes the points before it.
    fn holds(&self, element: &[u16], from: usize) -> bool {
        let mut rest = element.to_vec();
        for (point, level) in self.levels.iter().enumerate().skip(from) {
            match &level.back[usize::from(rest[point])] {
                Some(back) => rest = then(&rest, back),
                None => return false,
            }
        }
        true
    }

    /// Adds a generator that fixes the points before this level.
    fn add(&mut self, element: &[u16], at: usize) {
        if at == self.levels.len() || self.holds(element, at) {
            return;
        }
        let orbit = self.levels[at].there.clone();
        self.levels[at].generators.push(element.to_vec());
        for there in orbit {
            self.reach(then(&there, element), at);
        }
    }

    /// Takes up an element of this level: a new point of its orbit, or a Schreier generator of the next.
    fn reach(&mut self, element: Permutation, at: usize) {
        let mut reached = vec![element];
        while let Some(element) = reached.pop() {
            let image = usize::from(element[at]);
            if let Some(back) = &self.levels[at].back[image] {
                let fixing = then(&element, back);
                self.add(&fixing, at + 1);
            } else {
                let level = &mut self.levels[at];
                level.back[image] = Some(inverse(&element));
                reached.extend(level.generators.iter().map(|g| then(&element, g)));
                level.there.push(element);
            }
        }
    }

    fn size(&self) -> u128 {
        self.levels
            .iter()
            .map(|level| level.there.len() as u128)
            .product()
    }
}

/// How many permutations these make together.
pub fn group_size(generators: &[Permutation]) -> u128 {
    let mut group = Group::trivial(generators.first().map_or(0, Vec::len));
    for generator in generators {
        group.add(generator, 0);
    }
    group.size()
}

#[test]
fn the_sizes_of_well_known_groups_come_out() {
    let rotation: Permutation = vec![1, 2, 3, 4, 5, 6, 0];
    let swap = vec![1, 0, 2, 3, 4, 5, 6];
    let mirror = vec![6, 5, 4, 3, 2, 1, 0];
    let three_cycle = vec![1, 2, 0, 3, 4, 5, 6];
    assert_eq!(group_size(std::slice::from_ref(&rotation)), 7);
    assert_eq!(group_size(&[rotation.clone(), swap]), 5040, "symmetric");
    assert_eq!(group_size(&[rotation.clone(), mirror]), 14, "dihedral");
    assert_eq!(group_size(&[rotation, three_cycle]), 2520, "alternating");
}
