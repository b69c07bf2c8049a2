//! Visiting what a routine looks at: every expression, act, pile and trait of an act, a claim or a stop.

use super::act::{Act, Words};
use super::claim::{ClaimKind, Wanted};
use super::expr::Expr;
use super::model::{Fork, ForkKind, NameId, Sight, SightKind, Stop};
use crate::cards::TraitId;
use crate::table::PileId;

impl Act {
    /// Visits this act and those inside it.
    pub fn each_act<'a>(&'a self, visit: &mut dyn FnMut(&'a Act)) {
        visit(self);
        match self {
            Self::Repeat { acts, .. } => acts.iter().for_each(|act| act.each_act(visit)),
            Self::When {
                then, otherwise, ..
            } => then
                .iter()
                .chain(otherwise)
                .for_each(|act| act.each_act(visit)),
            Self::Cut { .. }
            | Self::Block { .. }
            | Self::Deal { .. }
            | Self::Gather { .. }
            | Self::DownUnder { .. }
            | Self::Klondike(_)
            | Self::Monge { .. }
            | Self::Faro { .. }
            | Self::InverseFaro { .. }
            | Self::Riffle { .. }
            | Self::Overhand { .. }
            | Self::Turn { .. }
            | Self::TurnEach { .. }
            | Self::Reverse(_)
            | Self::Take { .. }
            | Self::Put { .. }
            | Self::Swap { .. }
            | Self::Spell { .. }
            | Self::Chain(_) => {}
        }
    }

    /// Visits the expressions of this act, not those of acts inside it.
    pub fn each_expr<'a>(&'a self, visit: &mut dyn FnMut(&'a Expr)) {
        match self {
            Self::Cut { at, .. } | Self::Take { at, .. } | Self::Put { at, .. } => visit(at),
            Self::Block { count, .. } | Self::Deal { count, .. } | Self::Turn { count, .. } => {
                count.iter().for_each(visit);
            }
            Self::Gather { by, .. } | Self::InverseFaro { by, .. } => by.iter().for_each(visit),
            Self::DownUnder { leave, .. } => visit(leave),
            Self::TurnEach { at, .. } => at.iter().for_each(visit),
            Self::Swap { a, b, .. } => {
                visit(a);
                visit(b);
            }
            Self::Spell {
                words: Words::CardName(expr),
                ..
            } => visit(expr),
            Self::Chain(chain) => visit(&chain.from),
            Self::Repeat { times, .. } => visit(times),
            Self::When { when, .. } => visit(when),
            Self::Spell {
                words: Words::Plain(_),
                ..
            }
            | Self::Klondike(_)
            | Self::Monge { .. }
            | Self::Faro { .. }
            | Self::Riffle { .. }
            | Self::Overhand { .. }
            | Self::Reverse(_) => {}
        }
    }

    /// The choice that this act is done by, where it is one of how to shuffle or which places to turn.
    #[must_use]
    pub fn done_by(&self) -> Option<NameId> {
        match self {
            Self::Riffle { by, .. } | Self::Overhand { by, .. } => Some(*by),
            Self::TurnEach { by, .. } => *by,
            Self::Cut { .. }
            | Self::Block { .. }
            | Self::Deal { .. }
            | Self::Gather { .. }
            | Self::DownUnder { .. }
            | Self::Klondike(_)
            | Self::Monge { .. }
            | Self::Faro { .. }
            | Self::InverseFaro { .. }
            | Self::Turn { .. }
            | Self::Reverse(_)
            | Self::Take { .. }
            | Self::Put { .. }
            | Self::Swap { .. }
            | Self::Spell { .. }
            | Self::Chain(_)
            | Self::Repeat { .. }
            | Self::When { .. } => None,
        }
    }

    /// The piles that this act names, not those of acts inside it; `None` where an expression says which.
    #[must_use]
    pub fn piles(&self) -> Option<Vec<PileId>> {
        Some(match self {
            Self::Cut { pile, .. }
            | Self::Klondike(pile)
            | Self::Monge { pile, .. }
            | Self::Faro { pile, .. }
            | Self::InverseFaro { pile, .. }
            | Self::Overhand { pile, .. }
            | Self::Turn { pile, .. }
            | Self::TurnEach { pile, .. }
            | Self::Reverse(pile)
            | Self::Swap { pile, .. } => vec![*pile],
            Self::Block { from, to, .. }
            | Self::Take { from, to, .. }
            | Self::Put { from, to, .. }
            | Self::Spell { from, to, .. } => vec![*from, *to],
            Self::DownUnder { pile, to, .. } => vec![*pile, *to],
            Self::Deal { from, to, .. } => {
                let mut piles = to.clone();
                piles.push(*from);
                piles
            }
            Self::Gather { by: Some(_), .. } => return None,
            Self::Gather { piles, onto, .. } => {
                let mut piles = piles.clone();
                piles.push(*onto);
                piles
            }
            Self::Riffle {
                left, right, to, ..
            } => vec![*left, *right, *to],
            Self::Chain(chain) => vec![chain.pile],
            Self::Repeat { .. } | Self::When { .. } => Vec::new(),
        })
    }

    /// Whether what this act does to the table hangs on what is printed on the cards, apart from its expressions.
    #[must_use]
    pub fn reads_faces(&self) -> bool {
        matches!(
            self,
            Self::Chain(_)
                | Self::Spell {
                    words: Words::CardName(_),
                    ..
                }
        )
    }

    /// Whether it lays cards a stated way up, whichever way they faced.
    #[must_use]
    pub fn sets_facing(&self) -> bool {
        matches!(self, Self::Deal { up: Some(_), .. })
    }
}

impl ClaimKind {
    /// Visits this claim and those inside it.
    pub fn each_claim<'a>(&'a self, visit: &mut dyn FnMut(&'a ClaimKind)) {
        visit(self);
        match self {
            Self::And(claims) | Self::Or(claims) => {
                claims.iter().for_each(|claim| claim.each_claim(visit));
            }
            Self::Not(claim) => claim.each_claim(visit),
            Self::AllOne { .. }
            | Self::Sequence { .. }
            | Self::Blocks { .. }
            | Self::Count { .. }
            | Self::Place { .. }
            | Self::Mirror { .. }
            | Self::MatesTogether(_)
            | Self::SameAs { .. }
            | Self::Sum { .. }
            | Self::Expr(_) => {}
        }
    }

    /// Visits every expression, those of claims inside it too.
    pub fn each_expr<'a>(&'a self, visit: &mut dyn FnMut(&'a Expr)) {
        self.each_claim(&mut |claim| match claim {
            Self::Count { is, .. } | Self::Sum { is, .. } => visit(is),
            Self::Place { card, is, .. } => {
                visit(card);
                visit(is);
            }
            Self::Expr(expr) => visit(expr),
            Self::AllOne { .. }
            | Self::Sequence { .. }
            | Self::Blocks { .. }
            | Self::Mirror { .. }
            | Self::MatesTogether(_)
            | Self::SameAs { .. }
            | Self::And(_)
            | Self::Or(_)
            | Self::Not(_) => {}
        });
    }

    /// The traits that the claim itself names, those of claims inside it and of its expressions too.
    #[must_use]
    pub fn traits(&self) -> Vec<TraitId> {
        let mut traits = Vec::new();
        let wants = |wanted: &Wanted| match wanted {
            Wanted::Any => None,
            Wanted::Is(class, _) => Some(*class),
        };
        self.each_claim(&mut |claim| match claim {
            Self::AllOne { class, .. } | Self::Blocks { class, .. } => traits.push(*class),
            Self::Sequence { wanted, .. } => traits.extend(wanted.iter().filter_map(wants)),
            Self::Count { wanted, .. } => traits.extend(wanted.iter().filter_map(wants)),
            Self::Mirror { class, .. } | Self::SameAs { class, .. } => traits.extend(class),
            Self::Sum { .. } => traits.push(TraitId::VALUE),
            Self::Place { .. }
            | Self::MatesTogether(_)
            | Self::And(_)
            | Self::Or(_)
            | Self::Not(_)
            | Self::Expr(_) => {}
        });
        self.each_expr(&mut |expr| traits.extend(&expr.reads().traits));
        traits.sort_unstable();
        traits.dedup();
        traits
    }

    /// The piles that the claim itself names, those of claims inside it too; not those of its expressions.
    #[must_use]
    pub fn piles(&self) -> Vec<PileId> {
        let mut all = Vec::new();
        self.each_claim(&mut |claim| match claim {
            Self::AllOne { piles, .. } | Self::Count { piles, .. } | Self::Sum { piles, .. } => {
                all.extend(piles);
            }
            Self::Sequence { pile, .. }
            | Self::Blocks { pile, .. }
            | Self::Place { pile, .. }
            | Self::Mirror { pile, .. }
            | Self::MatesTogether(pile)
            | Self::SameAs { pile, .. } => all.push(*pile),
            Self::And(_) | Self::Or(_) | Self::Not(_) | Self::Expr(_) => {}
        });
        all
    }
}

impl Fork {
    /// Visits the expressions that say which branches there are.
    pub fn each_expr<'a>(&'a self, visit: &mut dyn FnMut(&'a Expr)) {
        match &self.kind {
            ForkKind::Number { from, to, .. } => {
                visit(from);
                visit(to);
            }
            ForkKind::Cards { count, .. } => visit(count),
            ForkKind::Option(_)
            | ForkKind::Pile(_)
            | ForkKind::PileOrder(_)
            | ForkKind::Place(_)
            | ForkKind::Card(_)
            | ForkKind::Cut { .. }
            | ForkKind::Riffle { .. }
            | ForkKind::Overhand(_)
            | ForkKind::Again { .. } => {}
        }
    }

    /// The piles whose cards or sizes say which branches there are.
    #[must_use]
    pub fn piles(&self) -> Vec<PileId> {
        match &self.kind {
            ForkKind::Place(pile)
            | ForkKind::Card(pile)
            | ForkKind::Cards { pile, .. }
            | ForkKind::Cut { pile, .. }
            | ForkKind::Overhand(pile) => vec![*pile],
            ForkKind::Riffle { left, right } => vec![*left, *right],
            ForkKind::Number { .. }
            | ForkKind::Option(_)
            | ForkKind::Pile(_)
            | ForkKind::PileOrder(_)
            | ForkKind::Again { .. } => Vec::new(),
        }
    }
}

impl Sight {
    /// The pile that is looked at; `None` where an expression says what is seen.
    #[must_use]
    pub fn pile(&self) -> Option<PileId> {
        match &self.kind {
            SightKind::Card { pile, .. }
            | SightKind::Trait { pile, .. }
            | SightKind::Count(pile) => Some(*pile),
            SightKind::Value(_) => None,
        }
    }
}

impl Stop {
    /// Visits every act, those inside others too.
    pub fn each_act<'a>(&'a self, visit: &mut dyn FnMut(&'a Act)) {
        self.acts.iter().for_each(|act| act.each_act(visit));
    }

    /// Visits every expression that the step is done by: all but those of its claims and of its words.
    pub fn each_expr<'a>(&'a self, visit: &mut dyn FnMut(&'a Expr)) {
        if let Some(fork) = &self.fork {
            fork.each_expr(visit);
        }
        self.reckonings.iter().for_each(|r| visit(&r.is));
        self.each_act(&mut |act| act.each_expr(visit));
        self.reply.iter().for_each(|r| visit(&r.is));
        for sight in &self.sights {
            match &sight.kind {
                SightKind::Card { at, .. } | SightKind::Trait { at, .. } => visit(at),
                SightKind::Count(_) => {}
                SightKind::Value(expr) => visit(expr),
            }
        }
    }
}
