//! Monitors: claims as machines that read the cells of a table in a fixed order, one look at a time.
//!
//! A monitor is a tree of "and" and "not" over small machines ([`atom`]), each of which remembers what its part of the claim
//! needs: the classes met in each open block, the first of each open pair, a sum, the rotations that still fit. Moves made after a
//! shuffle do not change it: it is made from the table as the claim finds it, where each card that the shuffle laid (a *token*) lies
//! at a known place, and reads the tokens in the order in which the shuffle lays them.
//!
//! **Why it says what the claim says.** Each machine's state after the last step is decided, and the verdict is that of its part of the
//! claim on the table with every token replaced by the look read for it; the states on the way keep all that the rest of the part
//! depends on. A machine that is decided early is decided for every way to go on. States are compared whole.

mod atom;
mod claims;
mod diagram;
mod expressions;
mod order;

pub(super) use claims::Ask;

use super::stream::LookId;
use atom::{Atom, Bounds, Stage};
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// A monitor of [`super::Streams`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Monitor(u32);

/// A state of a monitor.
pub(super) type MonitorState = u32;
/// The claim holds, whatever follows.
pub(super) const TRUE: MonitorState = 1;
/// The claim fails, whatever follows.
pub(super) const FALSE: MonitorState = 0;

/// A claim over machines.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) enum Tree {
    /// Decided without looking.
    Is(bool),
    /// A machine.
    Atom(u32),
    /// All of these.
    All(Vec<Tree>),
    /// Not this.
    Not(Box<Tree>),
}

impl Tree {
    pub(super) fn not(self) -> Self {
        match self {
            Self::Is(is) => Self::Is(!is),
            Self::Not(inner) => *inner,
            Self::Atom(_) | Self::All(_) => Self::Not(Box::new(self)),
        }
    }
    pub(super) fn all(parts: Vec<Self>) -> Self {
        let mut kept = Vec::with_capacity(parts.len());
        for part in parts {
            match part {
                Self::Is(true) => {}
                Self::Is(false) => return Self::Is(false),
                Self::All(inner) => kept.extend(inner),
                Self::Atom(_) | Self::Not(_) => {
                    if !kept.contains(&part) {
                        kept.push(part);
                    }
                }
            }
        }
        match kept.len() {
            0 => Self::Is(true),
            1 => kept.swap_remove(0),
            _ => Self::All(kept),
        }
    }
    pub(super) fn any(parts: Vec<Self>) -> Self {
        Self::all(parts.into_iter().map(Self::not).collect()).not()
    }
    fn atoms(&self, found: &mut Vec<u32>) {
        match self {
            Self::Is(_) => {}
            Self::Atom(atom) => {
                if !found.contains(atom) {
                    found.push(*atom);
                }
            }
            Self::All(parts) => parts.iter().for_each(|part| part.atoms(found)),
            Self::Not(part) => part.atoms(found),
        }
    }
}

/// A machine with the states it was in.
#[derive(Debug, Clone)]
struct Machine {
    atom: Atom,
    bounds: Bounds,
    start: u32,
    /// From number 2 on; 0 is false and 1 is true.
    states: Vec<Box<[u32]>>,
    ids: FxHashMap<Box<[u32]>, u32>,
    steps: FxHashMap<(u32, u16, LookId), u32>,
}

impl Machine {
    fn new(atom: Atom) -> Self {
        let bounds = Bounds::new(&atom);
        let first = atom.start(&bounds);
        let mut machine = Self {
            atom,
            bounds,
            start: 0,
            states: Vec::new(),
            ids: FxHashMap::default(),
            steps: FxHashMap::default(),
        };
        machine.start = machine.id(first);
        machine
    }
    fn id(&mut self, local: Stage) -> u32 {
        match local {
            Stage::Is(is) => u32::from(is),
            Stage::Open(words) => {
                if let Some(id) = self.ids.get(&words) {
                    return *id;
                }
                let id = self.states.len() as u32 + 2;
                self.states.push(words.clone());
                self.ids.insert(words, id);
                id
            }
        }
    }
    fn read(&mut self, state: u32, step: u16, look: LookId) -> Option<u32> {
        if state <= TRUE {
            return Some(state);
        }
        if let Some(next) = self.steps.get(&(state, step, look)) {
            return Some(*next);
        }
        let words = &self.states[state as usize - 2];
        let next = self.atom.read(&self.bounds, words, step, look)?;
        let next = self.id(next);
        self.steps.insert((state, step, look), next);
        Some(next)
    }
}

#[derive(Debug, Clone)]
struct Whole {
    tree: Tree,
    atoms: Vec<u32>,
    start: MonitorState,
}

/// Marks a machine that no longer matters.
const DROPPED: u32 = u32::MAX;

/// All monitors so far.
#[derive(Debug, Clone, Default)]
pub(super) struct Monitors {
    machines: Vec<Machine>,
    machine_ids: FxHashMap<Atom, u32>,
    wholes: Vec<Whole>,
    whole_ids: FxHashMap<Tree, u32>,
    /// From number 2 on: the monitor and, for each of its machines, its state.
    states: Vec<(u32, Box<[u32]>)>,
    state_ids: FxHashMap<(u32, Box<[u32]>), MonitorState>,
    steps: FxHashMap<(MonitorState, u16, LookId), MonitorState>,
}

impl Monitors {
    /// A machine as a claim.
    fn atom(&mut self, atom: Atom) -> Tree {
        let id = match self.machine_ids.get(&atom) {
            Some(id) => *id,
            None => {
                let id = self.machines.len() as u32;
                self.machines.push(Machine::new(atom.clone()));
                self.machine_ids.insert(atom, id);
                id
            }
        };
        match self.machines[id as usize].start {
            FALSE => Tree::Is(false),
            TRUE => Tree::Is(true),
            _ => Tree::Atom(id),
        }
    }

    /// The monitor of a claim.
    pub(super) fn monitor(&mut self, tree: Tree) -> Monitor {
        if let Some(id) = self.whole_ids.get(&tree) {
            return Monitor(*id);
        }
        let mut atoms = Vec::new();
        tree.atoms(&mut atoms);
        let id = self.wholes.len() as u32;
        let starts = atoms.iter().map(|atom| self.machines[*atom as usize].start);
        let starts: Vec<u32> = starts.collect();
        self.wholes.push(Whole {
            tree: tree.clone(),
            atoms,
            start: 0,
        });
        let start = self.settle(id, &starts);
        self.wholes[id as usize].start = start;
        self.whole_ids.insert(tree, id);
        Monitor(id)
    }

    /// All of these: each monitor with the verdict that it must come to.
    pub(super) fn all(&mut self, parts: &[(Monitor, bool)]) -> Monitor {
        let trees = parts.iter().map(|(monitor, wanted)| {
            let tree = self.wholes[monitor.0 as usize].tree.clone();
            if *wanted { tree } else { tree.not() }
        });
        let tree = self.fitted(Tree::all(trees.collect()));
        self.monitor(tree)
    }

    /// The same, with all that must be read at single steps as one machine.
    fn fitted(&mut self, tree: Tree) -> Tree {
        let Tree::All(parts) = tree else {
            return tree;
        };
        let mut at: Vec<Option<Arc<[LookId]>>> = Vec::new();
        let mut kept = Vec::with_capacity(parts.len());
        for part in parts {
            let fits = match &part {
                Tree::Atom(atom) => match &self.machines[*atom as usize].atom {
                    Atom::Fits(fits) => fits,
                    _ => {
                        kept.push(part);
                        continue;
                    }
                },
                Tree::Is(_) | Tree::All(_) | Tree::Not(_) => {
                    kept.push(part);
                    continue;
                }
            };
            at.resize(at.len().max(fits.len()), None);
            for (both, looks) in at.iter_mut().zip(fits) {
                let Some(looks) = looks else {
                    continue;
                };
                *both = Some(match both.take() {
                    None => Arc::clone(looks),
                    Some(before) => {
                        let common = before
                            .iter()
                            .filter(|look| looks.binary_search(look).is_ok());
                        common.copied().collect()
                    }
                });
            }
        }
        if at.is_empty() {
            return Tree::all(kept);
        }
        if at.iter().flatten().any(|looks| looks.is_empty()) {
            return Tree::Is(false);
        }
        kept.push(self.atom(Atom::Fits(at)));
        Tree::all(kept)
    }

    /// One of these looks, rising, at a step.
    pub(super) fn fixed(&mut self, step: u16, looks: &[LookId]) -> Monitor {
        let mut at = vec![None; usize::from(step)];
        at.push(Some(looks.into()));
        let tree = self.atom(Atom::Fits(at));
        self.monitor(tree)
    }

    /// What the cell read at a step has a say in, as words to sort by.
    pub(super) fn say(&self, monitor: Monitor, step: u16) -> Vec<i64> {
        let mut words = Vec::new();
        for atom in &self.wholes[monitor.0 as usize].atoms {
            self.machines[*atom as usize].atom.say(step, &mut words);
        }
        words
    }

    /// Before the first step.
    pub(super) fn start(&self, monitor: Monitor) -> MonitorState {
        self.wholes[monitor.0 as usize].start
    }

    /// How many states there are.
    pub(super) fn size(&self) -> usize {
        self.states.len()
    }

    /// After one more look. `None` where a machine does not know it.
    pub(super) fn read(
        &mut self,
        state: MonitorState,
        step: u16,
        look: LookId,
    ) -> Option<MonitorState> {
        if state <= TRUE {
            return Some(state);
        }
        if let Some(next) = self.steps.get(&(state, step, look)) {
            return Some(*next);
        }
        let (id, locals) = &self.states[state as usize - 2];
        let (id, mut locals) = (*id, locals.to_vec());
        for (local, atom) in locals.iter_mut().zip(&self.wholes[id as usize].atoms) {
            if *local != DROPPED {
                *local = self.machines[*atom as usize].read(*local, step, look)?;
            }
        }
        let next = self.settle(id, &locals);
        self.steps.insert((state, step, look), next);
        Some(next)
    }

    /// The state with these states of the machines: decided where it is, and without what no longer matters.
    fn settle(&mut self, id: u32, locals: &[u32]) -> MonitorState {
        let whole = &self.wholes[id as usize];
        let known = |atom: u32| {
            let at = whole.atoms.iter().position(|known| *known == atom);
            at.map_or(DROPPED, |at| locals[at])
        };
        if let Some(is) = verdict(&whole.tree, &known) {
            return u32::from(is);
        }
        let mut matters = Vec::new();
        still(&whole.tree, &known, &mut matters);
        let kept = whole.atoms.iter().zip(locals);
        let kept: Box<[u32]> = kept
            .map(|(atom, local)| match *local {
                FALSE | TRUE => *local,
                _ if matters.contains(atom) => *local,
                _ => DROPPED,
            })
            .collect();
        let key = (id, kept);
        if let Some(state) = self.state_ids.get(&key) {
            return *state;
        }
        let state = self.states.len() as u32 + 2;
        self.states.push(key.clone());
        self.state_ids.insert(key, state);
        state
    }
}

fn verdict(tree: &Tree, known: &impl Fn(u32) -> u32) -> Option<bool> {
    match tree {
        Tree::Is(is) => Some(*is),
        Tree::Atom(atom) => match known(*atom) {
            FALSE => Some(false),
            TRUE => Some(true),
            _ => None,
        },
        Tree::All(parts) => {
            let mut open = false;
            for part in parts {
                match verdict(part, known) {
                    Some(true) => {}
                    Some(false) => return Some(false),
                    None => open = true,
                }
            }
            (!open).then_some(true)
        }
        Tree::Not(part) => verdict(part, known).map(|is| !is),
    }
}

/// The machines of the parts that are not decided.
fn still(tree: &Tree, known: &impl Fn(u32) -> u32, found: &mut Vec<u32>) {
    match tree {
        Tree::Is(_) => {}
        Tree::Atom(atom) => found.push(*atom),
        Tree::All(parts) => {
            for part in parts {
                if verdict(part, known).is_none() {
                    still(part, known, found);
                }
            }
        }
        Tree::Not(part) => still(part, known, found),
    }
}
