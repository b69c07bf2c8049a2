//! What a question looks at, so that knowing may merge the rest.

use super::question::Subject;
use crate::cards::TraitId;
use crate::knowing::Watch;
use crate::routine::{Blank, ClaimKind, Expr, Routine, SightKind, Wanted};

impl Subject {
    /// What the question looks at.
    #[must_use]
    pub fn watch(&self, routine: &Routine) -> Watch {
        match self {
            Self::CardAt(..)
            | Self::WhereIs(_)
            | Self::PileOf(_)
            | Self::WhereTheirs(_)
            | Self::PileOfTheirs(_) => Watch::Cards,
            Self::TraitAt(_, _, class)
            | Self::Pattern { class, .. }
            | Self::Follows { class, .. } => Watch::Trait(*class),
            Self::FacingAt(..) | Self::HowMany(_) | Self::FaceUp(_) | Self::Next => Watch::Sizes,
            // What is worked out before its step looks at what its expression does; what is remembered, at nothing on the table.
            Self::Remembered(name) => routine
                .stops
                .iter()
                .flat_map(|stop| &stop.reckonings)
                .find(|made| made.name == *name)
                .map_or(Watch::Sizes, |made| of_expr(&made.is)),
            Self::Claim(stop, index) => routine
                .stop(*stop)
                .and_then(|stop| stop.claims.get(*index))
                .map_or(Watch::Cards, |claim| of_claim(&claim.kind)),
            Self::Line(stop) => routine.stop(*stop).map_or(Watch::Cards, |stop| {
                stop.say
                    .0
                    .iter()
                    .map(|blank| match blank {
                        Blank::Plain(_) => Watch::Sizes,
                        Blank::Value(expr) => of_expr(expr),
                    })
                    .fold(Watch::Sizes, both)
            }),
        }
    }
}

/// Whether a routine's claims, glimpses, replies or reckonings look at a trait.
pub(super) fn looks_at(routine: &Routine, class: TraitId) -> bool {
    let watch = Watch::Trait(class);
    routine.stops.iter().any(|stop| {
        stop.claims
            .iter()
            .any(|claim| of_claim(&claim.kind) == watch)
            || stop.sights.iter().any(|sight| match &sight.kind {
                SightKind::Trait { class: seen, .. } => *seen == class,
                SightKind::Value(expr) => of_expr(expr) == watch,
                SightKind::Card { .. } | SightKind::Count(_) => false,
            })
            || stop.reply.iter().any(|reply| of_expr(&reply.is) == watch)
            || stop
                .reckonings
                .iter()
                .any(|made| of_expr(&made.is) == watch)
    })
}

/// The watch that shows what either shows.
fn both(one: Watch, other: Watch) -> Watch {
    match (one, other) {
        (Watch::Sizes, watch) | (watch, Watch::Sizes) => watch,
        (Watch::Trait(a), Watch::Trait(b)) if a == b => one,
        (Watch::Cards | Watch::Trait(_), Watch::Cards | Watch::Trait(_)) => Watch::Cards,
    }
}

fn of_trait(class: Option<TraitId>) -> Watch {
    class.map_or(Watch::Cards, Watch::Trait)
}

fn of_wanted(wanted: &Wanted) -> Watch {
    match wanted {
        Wanted::Any => Watch::Sizes,
        Wanted::Is(class, _) => Watch::Trait(*class),
    }
}

fn of_expr(expr: &Expr) -> Watch {
    let reads = expr.reads();
    if reads.identity {
        return Watch::Cards;
    }
    let traits = reads.traits.iter().map(|class| Watch::Trait(*class));
    let faces = if reads.faces && reads.traits.is_empty() {
        Watch::Cards
    } else {
        Watch::Sizes
    };
    traits.fold(faces, both)
}

fn of_claim(kind: &ClaimKind) -> Watch {
    match kind {
        ClaimKind::AllOne { class, .. } | ClaimKind::Blocks { class, .. } => Watch::Trait(*class),
        ClaimKind::Sequence { wanted, .. } => wanted.iter().map(of_wanted).fold(Watch::Sizes, both),
        ClaimKind::Count { wanted, is, .. } => {
            both(wanted.as_ref().map_or(Watch::Sizes, of_wanted), of_expr(is))
        }
        ClaimKind::Mirror { class, .. } | ClaimKind::SameAs { class, .. } => of_trait(*class),
        ClaimKind::Place { .. } | ClaimKind::MatesTogether(_) => Watch::Cards,
        ClaimKind::Sum { is, .. } => both(Watch::Trait(TraitId::VALUE), of_expr(is)),
        ClaimKind::And(parts) | ClaimKind::Or(parts) => {
            parts.iter().map(of_claim).fold(Watch::Sizes, both)
        }
        ClaimKind::Not(part) => of_claim(part),
        ClaimKind::Expr(expr) => of_expr(expr),
    }
}
