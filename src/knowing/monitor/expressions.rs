//! Expressions on a table with tokens: sums and comparisons as machines that add up, anything else as a diagram of questions.

use super::Tree;
use super::atom::Against;
use super::claims::{Ask, Cell};
use super::diagram;
use crate::cards::Card;
use crate::routine::{Form, NameId, Order, Part, Places, Scene, Value, World};
use crate::table::Laid;
use std::collections::BTreeMap;

/// A number that is a constant and a sum over the cells: by step, what each look adds, in the order of [`Ask::looks`].
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Linear {
    pub(super) at: BTreeMap<u16, Vec<i64>>,
    pub(super) constant: i64,
}

impl Linear {
    fn constant(constant: i64) -> Self {
        Self {
            at: BTreeMap::new(),
            constant,
        }
    }
    pub(super) fn add_constant(&mut self, n: i64) -> Option<()> {
        self.constant = self.constant.checked_add(n)?;
        Some(())
    }
    pub(super) fn add(&mut self, step: u16, adds: &[i64]) -> Option<()> {
        let known = self.at.entry(step).or_insert_with(|| vec![0; adds.len()]);
        for (sum, add) in known.iter_mut().zip(adds) {
            *sum = sum.checked_add(*add)?;
        }
        Some(())
    }
    pub(super) fn scale(&mut self, by: i64) -> Option<()> {
        self.constant = self.constant.checked_mul(by)?;
        for add in self.at.values_mut().flatten() {
            *add = add.checked_mul(by)?;
        }
        Some(())
    }
    fn plus(mut self, other: &Self) -> Option<Self> {
        self.add_constant(other.constant)?;
        for (step, adds) in &other.at {
            self.add(*step, adds)?;
        }
        Some(self)
    }
    fn minus(self, mut other: Self) -> Option<Self> {
        other.scale(-1)?;
        self.plus(&other)
    }
    /// The least that it can be.
    fn least(&self) -> i64 {
        let least = |adds: &Vec<i64>| adds.iter().min().copied().unwrap_or(0);
        self.at
            .values()
            .map(least)
            .fold(self.constant, i64::saturating_add)
    }
    /// Sums stay far from the largest numbers there are, so that adding up never overflows.
    fn small(self) -> Option<Self> {
        const MOST: i64 = 1 << 40;
        let small = |n: &i64| (-MOST..=MOST).contains(n);
        (small(&self.constant) && self.at.values().flatten().all(small)).then_some(self)
    }
}

impl Ask<'_> {
    /// The value of a part that no token has a say in.
    pub(super) fn constant(&self, part: Part<'_>) -> Option<Value> {
        if !self.is_plain(part) {
            return None;
        }
        part.value(self.scene()).ok()
    }

    /// The remembered names that stand for cards.
    fn cards(&self) -> impl Fn(NameId) -> bool {
        |name| matches!(self.world.value(name), Some(Value::Card(_)))
    }

    /// Whether working it out with tokens on the table gives the right value, or a fault, as far as identity and facing go.
    fn is_plain(&self, part: Part<'_>) -> bool {
        !part.looks_at_identity(&self.cards()) && (self.other.is_none() || !part.looks_at_facing())
    }

    /// A condition over machines.
    pub(super) fn truth(&mut self, part: Part<'_>) -> Option<Tree> {
        if let Some(value) = self.constant(part) {
            return value.as_bool().ok().map(Tree::Is);
        }
        match part.form() {
            Form::Not(a) => Some(self.truth(a)?.not()),
            Form::And(a, b) => {
                let parts = vec![self.truth(a)?, self.truth(b)?];
                Some(Tree::all(parts))
            }
            Form::Or(a, b) => {
                let parts = vec![self.truth(a)?, self.truth(b)?];
                Some(Tree::any(parts))
            }
            Form::If(when, a, b) => {
                let when = self.truth(when)?;
                let (a, b) = (self.truth(a)?, self.truth(b)?);
                Some(chosen(when, a, b))
            }
            Form::Compare(order, a, b) => match (self.linear(a), self.linear(b)) {
                (Some(a), Some(b)) => {
                    let (sum, against) = match order {
                        Order::Less => (a.minus(b)?, Against::Below),
                        Order::AtMost => (a.minus(b)?, Against::AtMost),
                        Order::More => (b.minus(a)?, Against::Below),
                        Order::AtLeast => (b.minus(a)?, Against::AtMost),
                    };
                    Some(self.compared(&sum.small()?, against))
                }
                _ => self.diagram(part),
            },
            Form::Same(a, b) => self.same(part, a, b),
            Form::Up(pile, at) => {
                let pile = self.constant(pile)?.as_pile().ok()?;
                let at = self.constant(at)?.as_int().ok()?;
                let laid = self.scene().laid(pile, at).ok()?;
                let index = self
                    .world
                    .table
                    .pile(pile)
                    .iter()
                    .position(|l| *l == laid)?;
                match self.cells(pile)?[index] {
                    Cell::Card(laid) => Some(Tree::Is(laid.face_up())),
                    Cell::Token { step, down, up } => {
                        let shows = |look: Laid| if look.face_up() { up } else { down };
                        let looks = self.looks_that(shows);
                        Some(self.fits(vec![(step, looks)]))
                    }
                }
            }
            Form::Negative(_)
            | Form::Add(..)
            | Form::Subtract(..)
            | Form::Multiply(..)
            | Form::Remainder(..)
            | Form::Showing(..)
            | Form::PlaceOf(_)
            | Form::Other => self.diagram(part),
        }
    }

    fn same(&mut self, whole: Part<'_>, a: Part<'_>, b: Part<'_>) -> Option<Tree> {
        if a.is_card(&self.cards()) && b.is_card(&self.cards()) {
            let one = self.card(a)?;
            return self.same_card(one, b);
        }
        if let (Some(a), Some(b)) = (self.linear(a), self.linear(b)) {
            return Some(self.compared(&a.minus(b)?.small()?, Against::Nought));
        }
        if let Some(tree) = self
            .same_remainder(a, b)
            .or_else(|| self.same_remainder(b, a))
        {
            return Some(tree);
        }
        if self.is_plain(whole)
            && let Some(tree) = self.diagram(whole)
        {
            return Some(tree);
        }
        let (a, b) = (self.truth(a)?, self.truth(b)?);
        let other = b.clone().not();
        Some(chosen(a, b, other))
    }

    /// Whether the remainder that the first part is equals the second, a constant or a remainder by the same number. Remainders have
    /// the sign of what is divided, so that one other than nought tells nothing by itself where that may be below nought.
    fn same_remainder(&mut self, a: Part<'_>, b: Part<'_>) -> Option<Tree> {
        let (sum, by) = self.remainder(a)?;
        if let Some(is) = self.constant(b) {
            let is = is.as_int().ok()?;
            if is != 0 && sum.least() < 0 {
                return None;
            }
            if !(0..by).contains(&is) {
                return Some(Tree::Is(false));
            }
            let rest = sum.minus(Linear::constant(is))?.small()?;
            return Some(self.compared(&rest, Against::Multiple(by)));
        }
        let (other, other_by) = self.remainder(b)?;
        if by != other_by || sum.least() < 0 || other.least() < 0 {
            return None;
        }
        let rest = sum.minus(other)?.small()?;
        Some(self.compared(&rest, Against::Multiple(by)))
    }

    /// What is divided, and by how much, of a remainder.
    fn remainder(&mut self, part: Part<'_>) -> Option<(Linear, i64)> {
        let Form::Remainder(of, by) = part.form() else {
            return None;
        };
        let by = self.constant(by)?.as_int().ok()?.checked_abs()?;
        (by > 0).then_some(())?;
        Some((self.linear(of)?, by))
    }

    /// Which card a part gives, as it is known on the table; a token is itself.
    fn card(&self, part: Part<'_>) -> Option<Card> {
        let below = part.parts();
        if part.written_card().is_some() || !below.iter().all(|part| self.is_plain(*part)) {
            return None;
        }
        part.value(self.scene()).ok()?.as_card().ok()
    }

    /// Whether a part is this card.
    pub(super) fn same_card(&mut self, one: Card, part: Part<'_>) -> Option<Tree> {
        let other = self.card(part)?;
        self.is_card(one, other)
    }

    /// A number as a sum.
    pub(super) fn linear(&mut self, part: Part<'_>) -> Option<Linear> {
        if let Some(value) = self.constant(part) {
            return value.as_int().ok().map(Linear::constant);
        }
        match part.form() {
            Form::Negative(a) => {
                let mut a = self.linear(a)?;
                a.scale(-1)?;
                Some(a)
            }
            Form::Add(a, b) => self.linear(a)?.plus(&self.linear(b)?),
            Form::Subtract(a, b) => {
                let b = self.linear(b)?;
                self.linear(a)?.minus(b)
            }
            Form::Multiply(a, b) => {
                let (mut sum, by) = match (self.linear(a)?, self.linear(b)?) {
                    (sum, by) if by.at.is_empty() => (sum, by.constant),
                    (by, sum) if by.at.is_empty() => (sum, by.constant),
                    _ => return None,
                };
                sum.scale(by)?;
                Some(sum)
            }
            Form::Showing(pile, places) => {
                let pile = self.constant(pile)?.as_pile().ok()?;
                self.showing(&self.cells(pile)?, places)
            }
            Form::PlaceOf(card) => self.place_of(card),
            Form::If(when, a, b) => {
                let when = self.constant(when)?.as_bool().ok()?;
                self.linear(if when { a } else { b })
            }
            Form::Not(_)
            | Form::And(..)
            | Form::Or(..)
            | Form::Compare(..)
            | Form::Same(..)
            | Form::Up(..)
            | Form::Remainder(..)
            | Form::Other => self.by_look(part),
        }
    }

    fn showing(&self, cells: &[Cell], places: Places) -> Option<Linear> {
        let mut sum = Linear::default();
        for (_, cell) in cells
            .iter()
            .enumerate()
            .filter(|(index, _)| places.has(*index))
        {
            match *cell {
                Cell::Card(laid) => sum.add_constant(i64::from(laid.face_up()))?,
                Cell::Token { step, down, up } => {
                    let shows = |look: Laid| i64::from(if look.face_up() { up } else { down });
                    let adds: Vec<i64> = self.looks.iter().map(|(_, look)| shows(*look)).collect();
                    sum.add(step, &adds)?;
                }
            }
        }
        Some(sum)
    }

    /// Where a card lies: known, or wherever its look turns up.
    fn place_of(&self, part: Part<'_>) -> Option<Linear> {
        if !part.parts().iter().all(|part| self.is_plain(*part)) {
            return None;
        }
        let card = part.value(self.scene()).ok()?.as_card().ok()?;
        if let Some((_, place)) = self.world.table.find(card) {
            return Some(Linear::constant(i64::from(place.0)));
        }
        if !self.single.contains(&card) {
            return None;
        }
        let mut sum = Linear::default();
        for (pile, _) in self.world.table.piles() {
            for (place, cell) in (1_i64..).zip(self.cells(pile)?) {
                if let Cell::Token { step, .. } = cell {
                    let adds = self.looks.iter().map(
                        |(_, look)| {
                            if look.card() == card { place } else { 0 }
                        },
                    );
                    sum.add(step, &adds.collect::<Vec<_>>())?;
                }
            }
        }
        Some(sum)
    }

    /// A number that hangs on the look of one token.
    fn by_look(&self, part: Part<'_>) -> Option<Linear> {
        if !self.is_plain(part) {
            return None;
        }
        let mut world = self.world.clone();
        let routine = self.routine;
        let value = |world: &World| part.value(Scene { routine, world });
        let asked = diagram::asked(&value(&world))?;
        let step = self.step(asked)?;
        let mut adds = Vec::with_capacity(self.looks.len());
        for (_, look) in self.looks {
            *world.faces.get_mut(asked.index())? = Some(look.card());
            adds.push(value(&world).ok()?.as_int().ok()?);
        }
        let mut sum = Linear::default();
        sum.add(step, &adds)?;
        sum.small()
    }

    /// Any condition, by asking for the tokens that it reads.
    fn diagram(&mut self, part: Part<'_>) -> Option<Tree> {
        if !self.is_plain(part) {
            return None;
        }
        diagram::build(self, |scene| part.value(scene)?.as_bool())
    }
}

/// `when ? a : b`.
fn chosen(when: Tree, a: Tree, b: Tree) -> Tree {
    let yes = Tree::all(vec![when.clone(), a]);
    let no = Tree::all(vec![when.not(), b]);
    Tree::any(vec![yes, no])
}
