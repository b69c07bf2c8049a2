//! Where the explorer keeps its states: in shards, by their hash. A state is stored and compared whole; the hash only says where to
//! look.

use super::state::CoreId;
use hashbrown::HashTable;
use rustc_hash::FxHasher;
use std::hash::Hasher;

/// How many shards: a power of two. Few, so that each grows into memory of its own that the system moves without copying.
pub(super) const SHARDS: usize = 16;

/// How many states a shard has room for from the start. The system gives memory that was never touched for nothing.
const ROOM: usize = 1 << 13;

/// What one place in a shard's table takes, in bytes.
const SLOT: usize = size_of::<(u32, u32)>() + 1;

/// How many bytes of cells each of those states is thought to take.
const CELLS_EACH: usize = 16;

/// The most nodes, and bytes of cells, before a shard is full: half of what its numbers count to, so that a wave always fits.
const MOST: usize = 1 << 31;

/// States with the same hash bits.
#[derive(Debug, Default)]
pub(super) struct Shard {
    /// The kept half of the hash, and the number of the node.
    table: HashTable<(u32, u32)>,
    cells: Vec<u8>,
    /// In the order in which they came.
    pub(super) nodes: Vec<Node>,
    /// The first node not expanded yet.
    pub(super) edge: usize,
}

/// A state that was met.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    /// In how many ways it was come to, as far as they were counted.
    pub(super) ways: u128,
    /// Its core.
    pub(super) core: CoreId,
    from: u32,
    len: u16,
}

/// States on their way to a shard.
#[derive(Debug, Default)]
pub(super) struct Sent {
    heads: Vec<Head>,
    cells: Vec<u8>,
}

#[derive(Debug, Clone, Copy)]
struct Head {
    ways: u128,
    tag: u32,
    core: CoreId,
    len: u16,
}

/// States sorted by the shard they go to.
#[derive(Debug)]
pub(super) struct Post(Vec<Sent>);

impl Post {
    /// Nothing yet.
    pub(super) fn new() -> Self {
        Self((0..SHARDS).map(|_| Sent::default()).collect())
    }

    /// Forgets what was sent, and keeps the room it took.
    pub(super) fn clear(&mut self) {
        for sent in &mut self.0 {
            sent.heads.clear();
            sent.cells.clear();
        }
    }

    /// Sends a state that was come to in so many ways.
    pub(super) fn send(&mut self, core: CoreId, cells: &[u8], ways: u128) {
        let hash = hash(core, cells);
        let sent = &mut self.0[shard_of(hash)];
        sent.heads.push(Head {
            ways,
            tag: (hash >> 32) as u32,
            core,
            len: u16::try_from(cells.len()).unwrap_or(u16::MAX),
        });
        sent.cells.extend_from_slice(cells);
    }

    /// What goes to this shard.
    pub(super) fn to(&self, shard: usize) -> &Sent {
        &self.0[shard]
    }
}

/// A hash of a state.
pub(super) fn hash(core: CoreId, cells: &[u8]) -> u64 {
    let mut hasher = FxHasher::default();
    hasher.write_u32(core);
    hasher.write(cells);
    hasher.finish()
}

/// The shard goes by other bits than the place in its table.
fn shard_of(hash: u64) -> usize {
    (hash as usize) & (SHARDS - 1)
}

/// Spreads the kept half of a hash over the whole word, since the table looks at its ends.
pub(super) fn spread(tag: u32) -> u64 {
    u64::from(tag).wrapping_mul(0x9e37_79b9_7f4a_7c15)
}

impl Shard {
    /// An empty shard with room for the first states.
    pub(super) fn roomy() -> Self {
        Self {
            table: HashTable::with_capacity(ROOM),
            cells: Vec::with_capacity(ROOM * CELLS_EACH),
            nodes: Vec::with_capacity(ROOM),
            edge: 0,
        }
    }

    /// Whether it cannot number many more states.
    pub(super) fn full(&self) -> bool {
        self.nodes.len() >= MOST || self.cells.len() >= MOST
    }

    /// The cells of one of its nodes.
    pub(super) fn cells_of(&self, node: Node) -> &[u8] {
        &self.cells[node.from as usize..node.from as usize + usize::from(node.len)]
    }

    /// Takes in what was sent; whether a state came that had been left already, or a count grew too large.
    pub(super) fn take_in(&mut self, sent: &Sent) -> bool {
        let mut disorder = false;
        let mut from = 0;
        for head in &sent.heads {
            let cells = &sent.cells[from..from + usize::from(head.len)];
            from += usize::from(head.len);
            let (stored, nodes) = (&self.cells, &self.nodes);
            let same = |(tag, index): &(u32, u32)| {
                let node = nodes[*index as usize];
                *tag == head.tag
                    && node.core == head.core
                    && node.len == head.len
                    && &stored[node.from as usize..node.from as usize + usize::from(node.len)]
                        == cells
            };
            match self.table.find(spread(head.tag), same) {
                Some((_, index)) => {
                    let index = *index as usize;
                    let node = &mut self.nodes[index];
                    let sum = node.ways.checked_add(head.ways);
                    disorder |= index < self.edge || sum.is_none();
                    node.ways = sum.unwrap_or(u128::MAX);
                }
                None => {
                    let index = self.nodes.len() as u32;
                    let kept = (head.tag, index);
                    self.table
                        .insert_unique(spread(head.tag), kept, |(tag, _)| spread(*tag));
                    self.nodes.push(Node {
                        ways: head.ways,
                        core: head.core,
                        from: self.cells.len() as u32,
                        len: head.len,
                    });
                    self.cells.extend_from_slice(cells);
                }
            }
        }
        disorder
    }

    /// How much memory it takes: of the room it had from the start only what was touched.
    pub(super) fn bytes(&self) -> usize {
        let (kept, cells) = if self.nodes.len() < ROOM {
            (self.nodes.len(), self.cells.len())
        } else {
            (self.table.capacity(), self.cells.capacity())
        };
        kept * (SLOT + size_of::<Node>()) + cells
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    /// Few enough different states that most come more than once, of three lengths.
    fn states() -> impl Iterator<Item = (CoreId, Vec<u8>)> {
        (0..20_000_u32).map(|n| {
            let mixed = n.wrapping_mul(2_654_435_761) >> 7;
            let len = 1 + mixed % 3;
            let cells = (0..len).map(|k| (mixed >> (4 * k)) as u8 & 15);
            (mixed >> 5 & 1, cells.collect())
        })
    }

    #[test]
    fn every_state_is_kept_once_with_all_its_ways() {
        let mut plain: BTreeMap<(CoreId, Vec<u8>), u128> = BTreeMap::new();
        let mut shards: Vec<Shard> = (0..SHARDS).map(|_| Shard::default()).collect();
        let mut post = Post::new();
        let all: Vec<_> = states().collect();
        for (wave, states) in all.chunks(3_000).enumerate() {
            post.clear();
            for (core, cells) in states {
                *plain.entry((*core, cells.clone())).or_default() += wave as u128 + 1;
                post.send(*core, cells, wave as u128 + 1);
            }
            for (n, shard) in shards.iter_mut().enumerate() {
                assert!(!shard.take_in(post.to(n)), "nothing was left yet");
            }
        }
        let kept: Vec<_> = shards
            .iter()
            .flat_map(|shard| {
                let whole = |node: &Node| (node.core, shard.cells_of(*node).to_vec());
                shard.nodes.iter().map(move |node| (whole(node), node.ways))
            })
            .collect();
        assert_eq!(kept.len(), plain.len());
        assert_eq!(kept.into_iter().collect::<BTreeMap<_, _>>(), plain);
    }

    #[test]
    fn a_state_that_was_left_or_counted_too_high_is_told() {
        let mut post = Post::new();
        post.send(7, &[1, 2, 3], u128::MAX);
        let n = (0..SHARDS).find(|n| !post.to(*n).heads.is_empty());
        let to = n.unwrap_or(0);
        let mut shard = Shard::default();
        assert!(!shard.take_in(post.to(to)));
        assert!(shard.take_in(post.to(to)), "the sum is too large");
        assert_eq!(shard.nodes[0].ways, u128::MAX);
        let mut left = Shard::default();
        post.clear();
        post.send(7, &[1, 2, 3], 1);
        assert!(!left.take_in(post.to(to)));
        left.edge = 1;
        assert!(left.take_in(post.to(to)), "it had been left");
        assert_eq!(left.nodes[0].ways, 2);
    }
}
