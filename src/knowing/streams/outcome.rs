//! One outcome of a stream, and the choice that leads to it.

use crate::handling::{self, Chooser, Op, Program};
use crate::routine::{Value, World};
use crate::table::Laid;

/// One outcome of a stream.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Outcome {
    /// The choices in order.
    pub choices: Vec<u16>,
    /// The look of each token.
    pub looks: Vec<Laid>,
}

impl Outcome {
    /// The choices as the value of the shuffle's fork: an interleaving or chunks. `None` where they do not fit the program.
    #[must_use]
    pub fn value(&self, program: &Program, world: &World) -> Option<Value> {
        let mut chooser = Told {
            choices: self.choices.iter().map(|choice| *choice == 1).collect(),
            used: 0,
            told: Vec::new(),
        };
        let mut table = world.table.clone();
        handling::run(program, &mut table, &mut chooser).ok()?;
        if chooser.used != chooser.choices.len() {
            return None;
        }
        let breaks = program.ops.iter().any(|op| matches!(op, Op::Maybe { .. }));
        if !breaks {
            return Some(Value::Weave(chooser.told.into()));
        }
        let chunks = chooser.told.split_inclusive(|here| *here);
        let sizes = chunks.map(|chunk| u16::try_from(chunk.len()).ok());
        Some(Value::Chunks(sizes.collect::<Option<Vec<_>>>()?.into()))
    }
}

/// Chooses as told, and notes every point that was passed.
struct Told {
    choices: Vec<bool>,
    used: usize,
    told: Vec<bool>,
}

impl Told {
    fn next(&mut self) -> bool {
        let choice = self.choices.get(self.used).copied().unwrap_or(false);
        self.used += 1;
        self.told.push(choice);
        choice
    }
}

impl Chooser for Told {
    fn from_left(&mut self, _: usize, _: usize) -> bool {
        self.next()
    }
    fn here(&mut self, _: usize) -> bool {
        self.next()
    }
    fn forced(&mut self, taken: bool) {
        self.told.push(taken);
    }
}
