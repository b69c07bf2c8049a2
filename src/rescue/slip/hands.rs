//! Hands that do a step as it is written, but for the slips given; and that tell each moment at which one could be made.

use super::mix::Mix;
use super::wrong::Wrong;
use crate::handling::Move;
use crate::roads::{AsChosen, Shuffler, do_plainly};
use crate::routine::{Act, Fault, NameId, Routine, Value, World};
use crate::table::Table;

/// What is done at a moment of a step.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Doing {
    /// All of the step.
    Step,
    /// One move.
    Move(Move),
    /// A shuffle as the spectators like.
    Shuffle(Move),
    /// A part that is repeated, so many rounds.
    Rounds(i64),
    /// One of two ways, by a condition.
    Way(bool),
}

/// A moment at which a slip can be made.
#[derive(Debug, Clone)]
pub(super) struct Moment {
    /// The how-manieth of its step, from 0.
    pub(super) at: u16,
    /// What is done.
    pub(super) doing: Doing,
    /// The table before it.
    pub(super) table: Table,
}

/// A slip as the hands make it.
#[derive(Debug, Clone)]
pub(super) struct Made<'a> {
    /// At this moment of the step.
    pub(super) at: u16,
    /// What goes wrong.
    pub(super) wrong: &'a Wrong,
    /// What is done instead, where it is a move; after it, where a card drops.
    pub(super) moves: &'a [Move],
}

/// The hands at one step.
#[derive(Debug)]
pub(super) struct Hands<'a> {
    slips: &'a [Made<'a>],
    next: u16,
    /// Where moments are told, from this one on.
    telling: Option<u16>,
    pub(super) told: Vec<Moment>,
    /// A shuffle that nobody followed: before this step, or at it.
    pub(super) mix: Option<Mix>,
    /// A second such shuffle came, which is more than can be followed.
    pub(super) lost: bool,
}

impl<'a> Hands<'a> {
    pub(super) fn new(slips: &'a [Made<'a>], mix: Option<Mix>) -> Self {
        Self {
            slips,
            next: 0,
            telling: None,
            told: Vec::new(),
            mix,
            lost: false,
        }
    }

    /// The same, telling every moment from this one on.
    pub(super) fn telling(self, from: u16) -> Self {
        Self {
            telling: Some(from),
            ..self
        }
    }

    /// The next moment; the slip that is made at it, if any.
    fn moment(
        &mut self,
        doing: impl FnOnce() -> Doing,
        table: Option<&Table>,
    ) -> Option<&'a Made<'a>> {
        let at = self.next;
        self.next = self.next.saturating_add(1);
        if self.telling.is_some_and(|from| at >= from) {
            self.told.push(Moment {
                at,
                doing: doing(),
                table: table.cloned().unwrap_or_default(),
            });
        }
        self.slips.iter().find(|made| made.at == at)
    }

    /// A shuffle that nobody followed: tokens lie there from now on.
    fn unseen(&mut self, routine: &Routine, world: &mut World, mv: &Move) -> Result<(), Fault> {
        if self.mix.is_some() {
            self.lost = true;
            return Err(Fault::Choice(
                "two shuffles that nobody saw are more than can be followed".to_owned(),
            ));
        }
        let mut take = |pile| {
            std::mem::take(world.table.pile_mut(pile))
                .into_iter()
                .collect()
        };
        let (mix, to) = match mv {
            Move::Riffle { left, right, to } => (Mix::riffled(take(*left), take(*right)), *to),
            Move::Overhand(pile) => (Mix::overhand(take(*pile)), *pile),
            other => return do_plainly(world, other),
        };
        // A token has no print; from here on that must not be taken for a card that bears its own number.
        if world.faces.is_empty() {
            world.faces = routine.pack.cards().map(Some).collect();
        }
        let tokens = mix.tokens();
        for token in tokens.into_iter().rev() {
            world.table.pile_mut(to).push_front(token);
        }
        self.mix = Some(mix);
        Ok(())
    }

    fn mixed(
        &mut self,
        routine: &Routine,
        world: &mut World,
        mv: &Move,
        by: NameId,
    ) -> Result<(), Fault> {
        match world.value(by) {
            Some(Value::Weave(_) | Value::Chunks(_)) => AsChosen.shuffle(routine, world, mv, by),
            Some(_) | None => self.unseen(routine, world, mv),
        }
    }
}

impl Shuffler for Hands<'_> {
    fn shuffle(
        &mut self,
        routine: &Routine,
        world: &mut World,
        mv: &Move,
        by: NameId,
    ) -> Result<(), Fault> {
        let table = world.table.clone();
        match self.moment(|| Doing::Shuffle(mv.clone()), Some(&table)) {
            None => self.mixed(routine, world, mv, by),
            Some(made) => {
                if *made.wrong != Wrong::LeftOut {
                    self.mixed(routine, world, mv, by)?;
                }
                made.moves.iter().try_for_each(|mv| do_plainly(world, mv))
            }
        }
    }

    fn passes(&mut self, acts: &[Act]) -> u16 {
        if acts.is_empty() {
            return 1;
        }
        match self.moment(|| Doing::Step, None).map(|made| made.wrong) {
            Some(Wrong::LeftOut) => 0,
            Some(Wrong::Twice) => 2,
            Some(_) | None => 1,
        }
    }

    fn carry_out(&mut self, world: &mut World, mv: &Move) -> Result<(), Fault> {
        match self.moment(|| Doing::Move(mv.clone()), Some(&world.table)) {
            None => do_plainly(world, mv),
            Some(made) => {
                if matches!(made.wrong, Wrong::Dropped { .. }) {
                    do_plainly(world, mv)?;
                }
                made.moves.iter().try_for_each(|mv| do_plainly(world, mv))
            }
        }
    }

    fn rounds(&mut self, due: i64) -> i64 {
        match self
            .moment(|| Doing::Rounds(due), None)
            .map(|made| made.wrong)
        {
            Some(Wrong::More) => due + 1,
            Some(Wrong::Fewer) => due - 1,
            Some(_) | None => due,
        }
    }

    fn way(&mut self, condition: bool) -> bool {
        match self
            .moment(|| Doing::Way(condition), None)
            .map(|made| made.wrong)
        {
            Some(Wrong::OtherWay) => !condition,
            Some(_) | None => condition,
        }
    }
}
