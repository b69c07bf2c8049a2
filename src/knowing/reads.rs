//! What a routine's own steps look at: whether cards that a watch takes for one another may be.

use super::Watch;
use crate::cards::TraitId;
use crate::routine::{Act, Blank, Expr, ForkKind, NameId, Routine, Seen, SightKind, Stop};

/// The traits that a routine speaks of, in its claims, its sights and its expressions, and colour, of which people speak anyway.
pub(super) fn spoken_of(routine: &Routine) -> Vec<TraitId> {
    let traits = std::cell::RefCell::new(vec![TraitId::COLOUR]);
    let note = |expr: &Expr| {
        traits.borrow_mut().extend(&expr.reads().traits);
        true
    };
    every_expression(routine, &note);
    for stop in &routine.stops {
        for claim in &stop.claims {
            traits.borrow_mut().extend(claim.kind.traits());
        }
        for sight in &stop.sights {
            if let SightKind::Trait { class, .. } = &sight.kind {
                traits.borrow_mut().push(*class);
            }
        }
    }
    let mut traits = traits.into_inner();
    traits.sort_unstable();
    traits.dedup();
    traits
}

/// Whether the steps of a routine go the same way when cards that this watch cannot tell apart are taken for one another: no
/// step looks at more than the watch does, and nobody chooses a card as such.
pub(super) fn allows(routine: &Routine, watch: Watch) -> bool {
    if watch == Watch::Cards {
        return true;
    }
    // Which card lies where of a shuffled deck is not fixed; there is nothing to merge by.
    if !routine.shuffled.is_empty() {
        return watch == Watch::Sizes
            && every_expression(routine, &|expr| blind(expr, watch))
            && no_card_chosen(routine);
    }
    every_expression(routine, &|expr| blind(expr, watch))
        && no_card_chosen(routine)
        && sights_fit(routine, watch)
}

fn blind(expr: &Expr, watch: Watch) -> bool {
    let reads = expr.reads();
    !reads.identity && reads.traits.iter().all(|read| watch == Watch::Trait(*read))
}

fn no_card_chosen(routine: &Routine) -> bool {
    routine
        .stops
        .iter()
        .filter_map(|s| s.fork.as_ref())
        .all(|f| !matches!(f.kind, ForkKind::Card(_)))
}

/// A glimpse of a card tells its print, which a trait's watch keeps as the trait; of another trait it keeps nothing.
fn sights_fit(routine: &Routine, watch: Watch) -> bool {
    routine
        .stops
        .iter()
        .flat_map(|s| &s.sights)
        .all(|sight| match &sight.kind {
            SightKind::Trait { class, .. } => watch == Watch::Trait(*class),
            SightKind::Card { .. } | SightKind::Count(_) | SightKind::Value(_) => true,
        })
}

fn every_expression(routine: &Routine, holds: &impl Fn(&Expr) -> bool) -> bool {
    routine
        .endings
        .iter()
        .filter_map(|e| e.when.as_ref())
        .all(holds)
        && routine
            .stops
            .iter()
            .all(|stop| stop_reads(stop, true, holds))
}

/// Whether it holds of every expression of a stop, but for its claims and its words; without the acts where they do not count.
pub(super) fn stop_reads(stop: &Stop, with_acts: bool, holds: &impl Fn(&Expr) -> bool) -> bool {
    let fork = stop.fork.as_ref().is_none_or(|fork| {
        let mut kind = true;
        fork.each_expr(&mut |expr| kind &= holds(expr));
        kind && match &fork.seen {
            Seen::These(parts) => parts.iter().all(holds),
            Seen::All | Seen::Nothing => true,
        }
    });
    fork && stop.reckonings.iter().all(|r| holds(&r.is))
        && stop.reply.iter().all(|r| holds(&r.is))
        && (!with_acts || stop.acts.iter().all(|act| act_reads(act, holds)))
        && stop.sights.iter().all(|sight| match &sight.kind {
            SightKind::Card { at, .. } | SightKind::Trait { at, .. } => holds(at),
            SightKind::Count(_) => true,
            SightKind::Value(expr) => holds(expr),
        })
}

/// The cut of this stop that may be forgotten once it is made: nobody saw where, and nothing but the stop's own acts looks at it.
/// Tables that differ in nothing else are then one.
pub(super) fn forgettable(routine: &Routine, stop: &Stop) -> Option<NameId> {
    let fork = stop.fork.as_ref()?;
    let hidden = matches!(fork.seen, Seen::Nothing) && matches!(fork.kind, ForkKind::Cut { .. });
    let free = |expr: &Expr| !expr.reads().names.contains(&fork.name);
    let unread = || {
        routine
            .endings
            .iter()
            .filter_map(|e| e.when.as_ref())
            .all(free)
            && routine.stops.iter().all(|other| {
                let texts = std::iter::once(&other.say).chain(other.fork.iter().map(|f| &f.says));
                let mut claims = true;
                for claim in &other.claims {
                    claim.kind.each_expr(&mut |expr| claims &= free(expr));
                }
                claims
                    && stop_reads(other, other.id != stop.id, &free)
                    && texts.flat_map(|text| &text.0).all(|blank| match blank {
                        Blank::Plain(_) => true,
                        Blank::Value(expr) => free(expr),
                    })
            })
    };
    (hidden && unread()).then_some(fork.name)
}

/// Whether anything that is done or worked out, at any step, goes by what was chosen under this name.
#[must_use]
pub fn acted_on(routine: &Routine, name: NameId) -> bool {
    let free = |expr: &Expr| !expr.reads().names.contains(&name);
    routine.stops.iter().any(|stop| {
        stop.acts.iter().any(|act| act_goes_by(act, name))
            || !stop.reckonings.iter().all(|made| free(&made.is))
    })
}

/// Whether this act goes by what was chosen under this name.
#[must_use]
pub fn act_goes_by(act: &Act, name: NameId) -> bool {
    let free = |expr: &Expr| !expr.reads().names.contains(&name);
    let mut done_by = false;
    act.each_act(&mut |act| done_by |= act.done_by() == Some(name));
    done_by || !act_reads(act, &free)
}

/// Whether it holds of every expression of an act and of those inside it; never where one reads names or values from the faces
/// themselves.
fn act_reads(act: &Act, holds: &impl Fn(&Expr) -> bool) -> bool {
    let mut all = true;
    act.each_act(&mut |act| {
        all &= !act.reads_faces();
        act.each_expr(&mut |expr| all &= holds(expr));
    });
    all
}
