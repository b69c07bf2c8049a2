//! States in few bytes. A state is a *core* (everything but which card lies at which place: kept once, known by its number) and
//! its *cells*: the cards from the top of the first pile to the bottom of the last, one or two bytes each. Two states are the
//! same when core and cells are: they are compared whole.

use crate::cards::Card;
use crate::knowing::Monitor;
use crate::routine::{StopIndex, Value, World};
use crate::table::{Laid, PileId, Table};
use rustc_hash::FxHashMap;

/// The number of a core.
pub(super) type CoreId = u32;

/// Everything of a state but its cells.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Core {
    /// The stop just done, while its claims are still to be looked at.
    pub(super) done: Option<StopIndex>,
    /// The stop that comes next.
    pub(super) at: StopIndex,
    /// How many cards each pile holds.
    pub(super) sizes: Vec<u16>,
    /// Choices, replies and reckonings that are still read.
    pub(super) memory: Vec<Option<Value>>,
    /// What is printed on cards of unknown order, as far as it is fixed.
    pub(super) faces: Vec<Option<Card>>,
    /// Where cards came from that are not known one by one: the number of an origin, 0 for none.
    pub(super) origin: u32,
    /// What else is known of them: claims that came to these verdicts.
    pub(super) given: Vec<(Monitor, bool)>,
}

impl Core {
    /// A core before the first step, with nothing shuffled.
    pub(super) fn nothing(at: StopIndex) -> Self {
        Self {
            done: None,
            at,
            sizes: Vec::new(),
            memory: Vec::new(),
            faces: Vec::new(),
            origin: 0,
            given: Vec::new(),
        }
    }
}

/// A state on its own: what the odds and the counterexample go by.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct State {
    /// Its core.
    pub(super) core: CoreId,
    /// Its cells.
    pub(super) cells: Box<[u8]>,
}

/// All cores met, each with its number.
#[derive(Debug)]
pub(super) struct Cores {
    all: Vec<Core>,
    numbers: FxHashMap<Core, CoreId>,
    wide: bool,
}

impl Cores {
    /// No cores yet. `cards` is one more than the greatest card number that will ever lie in a cell.
    pub(super) fn new(cards: usize) -> Self {
        Self {
            all: Vec::new(),
            numbers: FxHashMap::default(),
            wide: cards > 128,
        }
    }

    /// How many bytes a cell takes.
    pub(super) fn width(&self) -> usize {
        if self.wide { 2 } else { 1 }
    }

    /// How many cores there are.
    pub(super) fn count(&self) -> usize {
        self.all.len()
    }

    /// The core with this number.
    pub(super) fn core(&self, id: CoreId) -> &Core {
        &self.all[id as usize]
    }

    /// The number of a core.
    pub(super) fn number(&mut self, core: Core) -> CoreId {
        if let Some(id) = self.numbers.get(&core) {
            return *id;
        }
        let id = CoreId::try_from(self.all.len()).unwrap_or(CoreId::MAX);
        self.all.push(core.clone());
        self.numbers.insert(core, id);
        id
    }

    /// Writes a world's cells after what is there, and gives its core.
    pub(super) fn pack(
        &mut self,
        world: World,
        done: Option<StopIndex>,
        from: &Core,
        cells: &mut Vec<u8>,
    ) -> CoreId {
        let mut sizes = Vec::with_capacity(world.table.count());
        for (_, pile) in world.table.piles() {
            sizes.push(u16::try_from(pile.len()).unwrap_or(u16::MAX));
            for laid in pile {
                write(cells, *laid, self.wide);
            }
        }
        self.number(Core {
            done,
            at: world.at,
            sizes,
            memory: world.memory,
            faces: world.faces,
            origin: from.origin,
            given: from.given.clone(),
        })
    }

    /// The cards of cells, from the top of the first pile to the bottom of the last.
    pub(super) fn laid<'c>(&self, cells: &'c [u8]) -> impl Iterator<Item = Laid> + use<'c> {
        let wide = self.wide;
        (0..cells.len() / self.width()).map(move |n| read(cells, n, wide))
    }

    /// Writes a card after what is there.
    pub(super) fn write(&self, cells: &mut Vec<u8>, laid: Laid) {
        write(cells, laid, self.wide);
    }

    /// A world as a state of its own.
    pub(super) fn state(&mut self, world: World) -> State {
        let mut cells = Vec::new();
        let none = Core::nothing(world.at);
        let core = self.pack(world, None, &none, &mut cells);
        State {
            core,
            cells: cells.into(),
        }
    }

    /// The world of a state.
    pub(super) fn world(&self, core: CoreId, cells: &[u8]) -> World {
        let mut world = Self::desk();
        self.lay_out(core, cells, &mut world);
        world
    }

    /// A world with nothing in it, to lay out states on.
    pub(super) fn desk() -> World {
        World {
            at: StopIndex(0),
            table: Table::default(),
            memory: Vec::new(),
            faces: Vec::new(),
        }
    }

    /// Makes a world that of a state, in the room that it already takes.
    pub(super) fn lay_out(&self, core: CoreId, cells: &[u8], world: &mut World) {
        let core = self.core(core);
        world.at = core.at;
        world.memory.clone_from(&core.memory);
        world.faces.clone_from(&core.faces);
        if world.table.count() != core.sizes.len() {
            world.table = Table::empty(core.sizes.len());
        }
        let mut laid = self.laid(cells);
        for (n, size) in core.sizes.iter().enumerate() {
            let pile = world
                .table
                .pile_mut(PileId(u8::try_from(n).unwrap_or(u8::MAX)));
            pile.clear();
            pile.extend(laid.by_ref().take(usize::from(*size)));
        }
    }
}

fn raw(laid: Laid) -> u16 {
    laid.card().0 << 1 | u16::from(laid.face_up())
}

fn write(cells: &mut Vec<u8>, laid: Laid, wide: bool) {
    let [low, high] = raw(laid).to_le_bytes();
    cells.push(low);
    if wide {
        cells.push(high);
    }
}

/// The card in the cell with this number.
fn read(cells: &[u8], n: usize, wide: bool) -> Laid {
    let raw = if wide {
        u16::from_le_bytes([cells[2 * n], cells[2 * n + 1]])
    } else {
        u16::from(cells[n])
    };
    Laid::new(Card(raw >> 1), raw & 1 == 1)
}

/// What a step does to the cells of every table with piles of these sizes: where each cell's card came from, and what became of
/// its facing. It is read off the step itself, done once on numbered cards.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Plan {
    /// By new cell: the old cell, and what its lowest bit is masked and then turned by.
    moves: Box<[(u16, u8, u8)]>,
}

impl Plan {
    /// Reads it off a table whose cards were numbered from the top of the first pile, done once with all face down and once with
    /// all face up. `None` when the two disagree about anything but facing.
    pub(super) fn read(down: &Table, up: &Table) -> Option<Self> {
        let cells = |table: &Table| -> Vec<Laid> {
            table
                .piles()
                .flat_map(|(_, pile)| pile.iter().copied())
                .collect()
        };
        let (down, up) = (cells(down), cells(up));
        if down.len() != up.len() {
            return None;
        }
        let mut moves = Vec::with_capacity(down.len());
        for (one, other) in down.iter().zip(&up) {
            if one.card() != other.card() {
                return None;
            }
            let (from_down, from_up) = (one.face_up(), other.face_up());
            // Kept or turned where the two differ; laid one way whichever way it faced where they agree.
            let mask = u8::from(from_down != from_up);
            moves.push((one.card().0, 0xfe | mask, u8::from(from_down)));
        }
        Some(Self {
            moves: moves.into(),
        })
    }

    /// The cells after the step.
    pub(super) fn apply(&self, cells: &[u8], width: usize, out: &mut Vec<u8>) {
        if width == 1 {
            out.extend(
                self.moves
                    .iter()
                    .map(|(from, mask, turn)| (cells[usize::from(*from)] & mask) ^ turn),
            );
        } else {
            for (from, mask, turn) in &self.moves {
                let at = 2 * usize::from(*from);
                out.push((cells[at] & mask) ^ turn);
                out.push(cells[at + 1]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_state_laid_out_where_another_lay_is_the_world_that_was_packed() {
        let laid =
            |from: u16, count: u16| (from..from + count).map(|n| Laid::new(Card(n), n % 3 == 0));
        let world = |piles: &[(u16, u16)], memory: Vec<Option<Value>>| {
            let mut table = Table::empty(piles.len());
            for (n, (from, count)) in piles.iter().enumerate() {
                table.pile_mut(PileId(n as u8)).extend(laid(*from, *count));
            }
            World {
                at: StopIndex(piles.len() as u16),
                table,
                memory,
                faces: vec![None, Some(Card(1))],
            }
        };
        for cards in [60, 300] {
            let mut cores = Cores::new(cards);
            let mut desk = Cores::desk();
            let worlds = [
                world(&[(0, 5), (5, 0)], vec![Some(Value::Int(4)), None]),
                world(&[(20, 1), (0, 20)], Vec::new()),
                world(&[(3, 2), (7, 1), (40, 9)], vec![None]),
                world(&[(9, 9)], vec![None, Some(Value::Int(-1)), None]),
            ];
            for world in worlds {
                let state = cores.state(world.clone());
                cores.lay_out(state.core, &state.cells, &mut desk);
                assert_eq!(desk, world);
                assert_eq!(cores.world(state.core, &state.cells), world);
            }
        }
    }
}
