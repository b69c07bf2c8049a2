//! Routines built by hand, for the tests of this room and of the rooms below it.

use crate::cards::{Card, Lang, Pack, read_face};
use crate::routine::{
    Act, Ending, Expr, Fork, ForkKind, Name, NameId, NameKind, Routine, Seen, StepId, Stop,
    StopIndex, Template, Then, Weights,
};
use crate::table::{Laid, PileId};

/// The packet.
pub(crate) const PACKET: PileId = PileId(0);
/// The cards dealt off.
pub(crate) const DEALT: PileId = PileId(1);

/// A routine on these cards, face down in one packet, with a second, empty pile.
pub(crate) fn packet(cards: &str) -> Routine {
    let faces = cards.split(' ').map(|c| read_face(c).unwrap()).collect();
    let pack = Pack::new(faces, Lang::EnGb, &[], &[]).unwrap();
    let size = pack.size() as u16;
    let mut routine = Routine::bare(pack, &["packet", "dealt"]);
    routine
        .start
        .pile_mut(PACKET)
        .extend((0..size).map(|n| Laid::new(Card(n), false)));
    routine
}

/// Adds a name.
pub(crate) fn name(routine: &mut Routine, name: &str) -> NameId {
    routine.names.push(Name {
        name: name.to_owned(),
        kind: NameKind::Fork,
        about: None,
    });
    NameId(routine.names.len() as u16 - 1)
}

/// A fork.
pub(crate) fn fork(name: NameId, kind: ForkKind, seen: Seen) -> Option<Fork> {
    Some(Fork {
        name,
        kind,
        weights: Weights::Even,
        says: Template::default(),
        seen,
    })
}

/// Adds a stop that goes on to the next.
pub(crate) fn stop(
    routine: &mut Routine,
    id: &str,
    fork: Option<Fork>,
    acts: Vec<Act>,
) -> StopIndex {
    let at = routine.finish();
    routine.stops.push(Stop {
        id: StepId(id.into()),
        by: None,
        theirs: false,
        title: id.to_owned(),
        say: Template::default(),
        handling: String::new(),
        fork,
        reckonings: Vec::new(),
        acts,
        reply: None,
        sights: Vec::new(),
        claims: Vec::new(),
        target: None,
        strays: Vec::new(),
        caution: None,
        hint: None,
        then: Then::Go(StopIndex(at.0 + 1)),
        line: 1,
    });
    at
}

/// Deal off any number in sight, then riffle the two parts unseen.
pub(crate) fn deal_and_riffle(cards: &str) -> Routine {
    let mut routine = packet(cards);
    let most = routine.pack.size() as i64;
    let n = name(&mut routine, "n");
    let mix = name(&mut routine, "mix");
    let number = ForkKind::Number {
        from: Expr::number(0),
        to: Expr::number(most),
        by: 1,
    };
    let deal = Act::Deal {
        from: PACKET,
        to: vec![DEALT],
        count: Some(Expr::compile("n", &routine).unwrap()),
        up: None,
    };
    stop(&mut routine, "deal", fork(n, number, Seen::All), vec![deal]);
    let riffle = Act::Riffle {
        left: DEALT,
        right: PACKET,
        to: PACKET,
        by: mix,
    };
    let weave = ForkKind::Riffle {
        left: DEALT,
        right: PACKET,
    };
    stop(
        &mut routine,
        "riffle",
        fork(mix, weave, Seen::Nothing),
        vec![riffle],
    );
    routine
}

/// Cut anywhere unseen and turn the top two over, as often as they like.
pub(crate) fn cut_and_turn(cards: &str) -> Routine {
    let mut routine = packet(cards);
    let at = name(&mut routine, "at");
    let rounds = name(&mut routine, "rounds");
    let cut = Act::Cut {
        pile: PACKET,
        at: Expr::compile("at", &routine).unwrap(),
    };
    let first = stop(
        &mut routine,
        "cut",
        fork(
            at,
            ForkKind::Cut {
                pile: PACKET,
                least: 0,
            },
            Seen::Nothing,
        ),
        vec![
            cut,
            Act::Turn {
                pile: PACKET,
                count: Some(Expr::number(2)),
            },
        ],
    );
    let gate = stop(
        &mut routine,
        "rounds",
        fork(rounds, ForkKind::Again { at_most: None }, Seen::All),
        Vec::new(),
    );
    let end = routine.finish();
    routine.stops[gate.index()].then = Then::Gate {
        again: first,
        on: end,
    };
    routine.endings.push(Ending {
        id: StepId("end".into()),
        when: None,
        first: end,
    });
    routine
}
