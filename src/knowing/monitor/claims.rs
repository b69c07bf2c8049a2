//! From a claim on a table with tokens to its monitor.

use super::atom::{Against, Atom, Keys, NO_KEY, Weights};
use super::expressions::Linear;
use super::{Monitors, Tree};
use crate::cards::{Card, TraitId};
use crate::knowing::stream::LookId;
use crate::routine::{ClaimKind, Expr, Places, Routine, Scene, Wanted, World};
use crate::table::{Laid, PileId};
use std::sync::Arc;

/// What a monitor is made from.
pub(in crate::knowing) struct Ask<'a> {
    /// The routine.
    pub(in crate::knowing) routine: &'a Routine,
    /// The world as the claim finds it, with tokens whose faces are not fixed.
    pub(in crate::knowing) world: &'a World,
    /// The same where every token was laid the other way up; absent where all are laid as they lie there.
    pub(in crate::knowing) other: Option<&'a World>,
    /// The number of the first token.
    pub(in crate::knowing) base: u16,
    /// By token, at which step it is read.
    pub(in crate::knowing) steps: &'a [u16],
    /// The looks that a token can have, rising by number.
    pub(in crate::knowing) looks: &'a [(LookId, Laid)],
    /// Cards of which the stream holds just one.
    pub(in crate::knowing) single: &'a [Card],
    /// Where the machines are kept.
    pub(in crate::knowing) monitors: &'a mut Monitors,
}

/// A card on the table, or a token.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cell {
    /// A card.
    Card(Laid),
    /// What is read at this step; whether it now shows its face if it was laid face down, and if face up.
    Token { step: u16, down: bool, up: bool },
}

impl Ask<'_> {
    pub(super) fn scene(&self) -> Scene<'_> {
        Scene {
            routine: self.routine,
            world: self.world,
        }
    }

    /// The step at which a card is read, if it is a token.
    pub(super) fn step(&self, card: Card) -> Option<u16> {
        let token = card.0.checked_sub(self.base)?;
        self.steps.get(usize::from(token)).copied()
    }

    /// The cells of a pile from the top; `None` where the two worlds are not the same but for facing.
    pub(super) fn cells(&self, pile: PileId) -> Option<Vec<Cell>> {
        let cards = self.world.table.pile(pile);
        let others = self.other.map(|other| other.table.pile(pile));
        if others.is_some_and(|others| others.len() != cards.len()) {
            return None;
        }
        let cell = |(index, laid): (usize, &Laid)| {
            let other = others.map_or(*laid, |others| others[index]);
            if other.card() != laid.card() {
                return None;
            }
            Some(match self.step(laid.card()) {
                None if other == *laid => Cell::Card(*laid),
                None => return None,
                Some(step) => Cell::Token {
                    step,
                    down: laid.face_up(),
                    up: other.face_up(),
                },
            })
        };
        cards.iter().enumerate().map(cell).collect()
    }

    fn cells_of(&self, piles: &[PileId], places: Places) -> Option<Vec<Cell>> {
        let mut all = Vec::new();
        for pile in piles {
            let cells = self.cells(*pile)?.into_iter().enumerate();
            all.extend(
                cells
                    .filter(|(index, _)| places.has(*index))
                    .map(|(_, cell)| cell),
            );
        }
        Some(all)
    }

    /// The classes of all looks.
    pub(super) fn classes(&self, class: TraitId) -> Keys {
        let key = |card| {
            self.routine
                .pack
                .class(card, class)
                .map_or(NO_KEY, |c| u32::from(c.0))
        };
        self.looks
            .iter()
            .map(|(id, look)| (*id, key(look.card())))
            .collect()
    }

    /// The class of a card on the table; `None` where its face is not fixed.
    pub(super) fn class(&self, laid: Laid, class: TraitId) -> Option<u32> {
        let class = self.scene().class(laid.card(), class).ok()?;
        Some(class.map_or(NO_KEY, |c| u32::from(c.0)))
    }

    /// The looks of which something holds.
    pub(super) fn looks_that(&self, holds: impl Fn(Laid) -> bool) -> Arc<[LookId]> {
        let fits = self.looks.iter().filter(|(_, look)| holds(*look));
        fits.map(|(id, _)| *id).collect()
    }

    /// At one step one of these looks.
    pub(super) fn fits(&mut self, fits: Vec<(u16, Arc<[LookId]>)>) -> Tree {
        let mut at: Vec<Option<Arc<[LookId]>>> = Vec::new();
        for (step, looks) in fits {
            let kept: Arc<[LookId]> = match by_step(&mut at, step) {
                None => looks,
                Some(before) => before
                    .iter()
                    .copied()
                    .filter(|look| looks.contains(look))
                    .collect(),
            };
            if kept.is_empty() {
                return Tree::Is(false);
            }
            *by_step(&mut at, step) = (kept.len() < self.looks.len()).then_some(kept);
        }
        trim(&mut at);
        self.monitors.atom(Atom::Fits(at))
    }

    /// The claim over machines. `None` where this cannot be told, or a fault is possible.
    pub(in crate::knowing) fn claim(&mut self, claim: &ClaimKind) -> Option<Tree> {
        match claim {
            ClaimKind::AllOne { piles, class } => self.all_one(piles, *class),
            ClaimKind::Sequence { pile, wanted } => self.sequence(*pile, wanted),
            ClaimKind::Blocks { pile, of, class } => self.blocks(*pile, usize::from(*of), *class),
            ClaimKind::Count {
                piles,
                wanted,
                up,
                places,
                is,
            } => {
                let places = match places {
                    0 => Places::All,
                    1 => Places::Odd,
                    _ => Places::Even,
                };
                let mut sum = self.linear(is.part())?;
                sum.scale(-1)?;
                for cell in self.cells_of(piles, places)? {
                    self.count(&mut sum, cell, wanted.as_ref(), *up)?;
                }
                Some(self.compared(&sum, Against::Nought))
            }
            ClaimKind::Place { card, pile, is } => self.place(card, *pile, is),
            ClaimKind::Mirror { pile, class } => {
                let cells = self.cells(*pile)?;
                let half = cells.len() / 2;
                let pairs = cells.iter().copied().zip(cells.iter().rev().copied());
                self.pairs(pairs.take(half).collect(), *class)
            }
            ClaimKind::MatesTogether(pile) => {
                let cells = self.cells(*pile)?;
                if cells.len() % 2 == 1 {
                    return Some(Tree::Is(false));
                }
                let pairs = cells.chunks(2).map(|pair| (pair[0], pair[1]));
                self.pairs(pairs.collect(), None)
            }
            ClaimKind::SameAs {
                pile,
                as_was,
                class,
                rotation,
                reversal,
            } => {
                let then: Vec<Laid> = as_was.pile(*pile).iter().copied().collect();
                self.same_as(*pile, &then, *class, (*rotation, *reversal))
            }
            ClaimKind::Sum { piles, court, is } => {
                let mut sum = self.linear(is.part())?;
                sum.scale(-1)?;
                for cell in self.cells_of(piles, Places::All)? {
                    match cell {
                        Cell::Card(laid) => {
                            let value = self.scene().card_value(laid.card(), *court).ok()?;
                            sum.add_constant(i64::from(value))?;
                        }
                        Cell::Token { step, .. } => {
                            let value = |look: Laid| {
                                let own = u16::from(self.routine.pack.value_number(look.card())?);
                                Some(i64::from(court.filter(|_| own > 10).unwrap_or(own)))
                            };
                            let values = self.looks.iter().map(|(_, look)| value(*look));
                            sum.add(step, &values.collect::<Option<Vec<_>>>()?)?;
                        }
                    }
                }
                Some(self.compared(&sum, Against::Nought))
            }
            ClaimKind::And(claims) => {
                let parts = claims.iter().map(|claim| self.claim(claim));
                Some(Tree::all(parts.collect::<Option<_>>()?))
            }
            ClaimKind::Or(claims) => {
                let parts = claims.iter().map(|claim| self.claim(claim));
                Some(Tree::any(parts.collect::<Option<_>>()?))
            }
            ClaimKind::Not(claim) => Some(self.claim(claim)?.not()),
            ClaimKind::Expr(expr) => self.truth(expr.part()),
        }
    }

    /// A sum compared with nought.
    pub(super) fn compared(&mut self, sum: &Linear, against: Against) -> Tree {
        let ids = || self.looks.iter().map(|(id, _)| *id);
        let weights = |adds: &Vec<i64>| -> Option<Weights> {
            adds.iter()
                .any(|add| *add != 0)
                .then(|| ids().zip(adds.iter().copied()).collect())
        };
        let mut at: Vec<Option<Weights>> = Vec::new();
        for (step, adds) in &sum.at {
            *by_step(&mut at, *step) = weights(adds);
        }
        trim(&mut at);
        self.monitors.atom(Atom::Sum {
            at,
            start: sum.constant,
            against,
        })
    }

    fn all_one(&mut self, piles: &[PileId], class: TraitId) -> Option<Tree> {
        let mut first = None;
        let mut at = Vec::new();
        for cell in self.cells_of(piles, Places::All)? {
            match cell {
                Cell::Card(laid) => {
                    let key = self.class(laid, class)?;
                    if key == NO_KEY || *first.get_or_insert(key) != key {
                        return Some(Tree::Is(false));
                    }
                }
                Cell::Token { step, .. } => *by_step(&mut at, step) = true,
            }
        }
        if at.is_empty() {
            return Some(Tree::Is(true));
        }
        let key = self.classes(class);
        Some(self.monitors.atom(Atom::AllOne { at, key, first }))
    }

    fn fit(&self, look: Laid, wanted: &Wanted) -> bool {
        match wanted {
            Wanted::Any => true,
            Wanted::Is(id, class) => self.routine.pack.class(look.card(), *id) == Some(*class),
        }
    }

    fn sequence(&mut self, pile: PileId, wanted: &[Wanted]) -> Option<Tree> {
        let cells = self.cells(pile)?;
        if cells.len() != wanted.len() {
            return Some(Tree::Is(false));
        }
        let mut fits = Vec::new();
        for (cell, wanted) in cells.iter().zip(wanted) {
            match (cell, wanted) {
                (_, Wanted::Any) => {}
                (Cell::Card(laid), Wanted::Is(id, class)) => {
                    if self.class(*laid, *id)? != u32::from(class.0) {
                        return Some(Tree::Is(false));
                    }
                }
                (Cell::Token { step, .. }, wanted) => {
                    fits.push((*step, self.looks_that(|look| self.fit(look, wanted))));
                }
            }
        }
        Some(self.fits(fits))
    }

    fn blocks(&mut self, pile: PileId, of: usize, class: TraitId) -> Option<Tree> {
        let cells = self.cells(pile)?;
        if cells.is_empty() {
            return Some(Tree::Is(true));
        }
        if of == 0 || !cells.len().is_multiple_of(of) {
            return Some(Tree::Is(false));
        }
        let mut at = Vec::new();
        let mut there = Vec::new();
        for (group, block) in (0_u32..).zip(cells.chunks(of)) {
            let mut keys = Vec::new();
            for cell in block {
                match cell {
                    Cell::Card(laid) => {
                        let key = self.class(*laid, class)?;
                        if key == NO_KEY || keys.contains(&key) {
                            return Some(Tree::Is(false));
                        }
                        keys.push(key);
                    }
                    Cell::Token { step, .. } => *by_step(&mut at, *step) = Some(group),
                }
            }
            keys.sort_unstable();
            there.push(keys);
        }
        let key = self.classes(class);
        Some(self.monitors.atom(Atom::Groups { at, key, there }))
    }

    fn count(
        &mut self,
        sum: &mut Linear,
        cell: Cell,
        wanted: Option<&Wanted>,
        up: Option<bool>,
    ) -> Option<()> {
        match cell {
            Cell::Card(laid) => {
                let fits = match wanted {
                    None | Some(Wanted::Any) => true,
                    Some(Wanted::Is(id, class)) => self.class(laid, *id)? == u32::from(class.0),
                };
                sum.add_constant(i64::from(fits && up.is_none_or(|up| laid.face_up() == up)))
            }
            Cell::Token {
                step,
                down: if_down,
                up: if_up,
            } => {
                let counts = |look: Laid| {
                    let shows = if look.face_up() { if_up } else { if_down };
                    let fits = wanted.is_none_or(|wanted| self.fit(look, wanted));
                    i64::from(fits && up.is_none_or(|up| shows == up))
                };
                let adds: Vec<i64> = self.looks.iter().map(|(_, look)| counts(*look)).collect();
                sum.add(step, &adds)
            }
        }
    }

    fn place(&mut self, card: &Expr, pile: PileId, is: &Expr) -> Option<Tree> {
        let at = self.constant(is.part())?.as_int().ok()?;
        let Ok(laid) = self.scene().laid(pile, at) else {
            return Some(Tree::Is(false));
        };
        let lies = laid.card();
        let fits = match (card.written_card(), self.step(lies)) {
            (Some(print), None) => return self.scene().bears(lies, print).ok().map(Tree::Is),
            (Some(print), Some(step)) => (
                step,
                self.looks_that(|look| self.routine.pack.same_look(look.card(), print)),
            ),
            (None, _) => return self.same_card(lies, card.part()),
        };
        Some(self.fits(vec![fits]))
    }

    /// Whether a card, or the token that lies somewhere, is this card.
    pub(super) fn is_card(&mut self, one: Card, other: Card) -> Option<Tree> {
        let (token, card) = match (self.step(one), self.step(other)) {
            // A card that is not a token is none; of two tokens each is only itself.
            (None, None) | (Some(_), Some(_)) => return Some(Tree::Is(one == other)),
            (Some(step), None) => (step, other),
            (None, Some(step)) => (step, one),
        };
        let looks = self.looks_that(|look| look.card() == card);
        Some(self.fits(vec![(token, looks)]))
    }
}

/// The entry of a step, made if need be.
pub(super) fn by_step<T: Default + Clone>(at: &mut Vec<T>, step: u16) -> &mut T {
    let index = usize::from(step);
    if at.len() <= index {
        at.resize(index + 1, T::default());
    }
    &mut at[index]
}

fn trim<T>(at: &mut Vec<Option<T>>) {
    while at.last().is_some_and(Option::is_none) {
        at.pop();
    }
}
