//! How long it takes to follow free shuffles a card at a time: the alternating packet, dealt off at any number and riffled, every
//! pair; one overhand shuffle; and cutting anywhere and turning two, by induction.

#![expect(clippy::expect_used, reason = "a bench may fail by panicking")]

use allroads::cards::{Card, Lang, Pack, TraitId, read_face};
use allroads::handling::{Forced, Move, program, run};
use allroads::knowing::{Claimed, Streams, all_tokens};
use allroads::roads::unknown_start;
use allroads::routine::{ClaimKind, Expr, Routine, World};
use allroads::table::{Laid, PileId};
use criterion::{Criterion, criterion_group, criterion_main};
use num_bigint::BigUint;
use std::hint::black_box;

const PACKET: PileId = PileId(0);
const DEALT: PileId = PileId(1);

/// An alternating packet, its cards told apart by colour only.
fn alternating(n: u16) -> (Routine, World) {
    let faces = ["AC", "AH"].map(|code| read_face(code).expect("a card"));
    let faces = faces.iter().cycle().take(usize::from(n)).cloned().collect();
    let pack = Pack::new(faces, Lang::EnGb, &[], &[]).expect("a packet");
    let routine = Routine::bare(pack, &["packet", "dealt"]);
    let mut world = unknown_start(&routine);
    let cards = (0..n).map(|card| Laid::new(Card(card % 2), false));
    world.table.pile_mut(PACKET).extend(cards);
    (routine, world)
}

fn do_all(moves: &[Move], world: &mut World) {
    for mv in moves {
        let program = program(mv, &world.table).expect("a move that can be done");
        run(&program, &mut world.table, &mut Forced).expect("a move that can be done");
    }
}

/// How many of all roads keep every pair.
fn pairs(routine: &Routine, world: &World, n: u16) -> BigUint {
    let mut streams = Streams::default();
    let claim = ClaimKind::Blocks {
        pile: PACKET,
        of: 2,
        class: TraitId::COLOUR,
    };
    let mut roads = BigUint::default();
    for count in 0..=n {
        let mut before = world.clone();
        let deal = Move::Deal {
            from: PACKET,
            to: vec![DEALT],
            count,
            up: None,
        };
        do_all(&[deal], &mut before);
        let riffle = Move::Riffle {
            left: DEALT,
            right: PACKET,
            to: PACKET,
        };
        let free = program(&riffle, &before.table).expect("a riffle");
        let followed = streams
            .follow(routine, &free, &before)
            .expect("a shuffle that is followed");
        let claimed = Claimed {
            routine,
            world: &followed.world,
            turned: None,
            claim: &claim,
        };
        let monitor = streams
            .monitor(followed.start, &followed.tokens, claimed)
            .expect("a monitor");
        let fails = streams.can_end(followed.start, monitor, false, &mut |_| false);
        assert_eq!(fails, Ok(false));
        roads += streams
            .count(followed.start, monitor, true, &mut |_| false)
            .expect("a count");
    }
    roads
}

/// How many of all ways to shuffle overhand keep every pair.
fn overhand(routine: &Routine, world: &World) -> BigUint {
    let mut streams = Streams::default();
    let free = program(&Move::Overhand(PACKET), &world.table).expect("a shuffle");
    let followed = streams
        .follow(routine, &free, world)
        .expect("a shuffle that is followed");
    let claim = ClaimKind::Blocks {
        pile: PACKET,
        of: 2,
        class: TraitId::COLOUR,
    };
    let claimed = Claimed {
        routine,
        world: &followed.world,
        turned: None,
        claim: &claim,
    };
    let monitor = streams
        .monitor(followed.start, &followed.tokens, claimed)
        .expect("a monitor");
    streams
        .count(followed.start, monitor, true, &mut |_| false)
        .expect("a count")
}

/// Whether every cut followed by turning two keeps as many face up at odd places as at even.
fn turned(routine: &Routine, world: &World, n: u16) -> bool {
    let text = "showing_odd(packet) == showing_even(packet)";
    let claim = ClaimKind::Expr(Expr::compile(text, routine).expect("an expression"));
    let (down, up, tokens) = all_tokens(routine, world).expect("tokens");
    let mut streams = Streams::default();
    let start = streams.any_of(&[false, true].map(|up| Laid::new(Card(0), up)), n);
    (0..n).all(|at| {
        let round = [
            Move::Cut { pile: PACKET, at },
            Move::Turn {
                pile: PACKET,
                count: 2,
            },
        ];
        let (mut down_after, mut up_after) = (down.clone(), up.clone());
        do_all(&round, &mut down_after);
        do_all(&round, &mut up_after);
        let before = Claimed {
            routine,
            world: &down,
            turned: Some(&up),
            claim: &claim,
        };
        let after = Claimed {
            world: &down_after,
            turned: Some(&up_after),
            ..before
        };
        streams.preserved(start, &tokens, &[before], after, &mut |_| false) == Ok(Some(true))
    })
}

fn streams(c: &mut Criterion) {
    let mut group = c.benchmark_group("followed");
    group.sample_size(10);
    for n in [52, 104, 200] {
        let (routine, world) = alternating(n);
        // Gilbreath's principle: all 2^n roads keep every pair.
        assert_eq!(pairs(&routine, &world, n), BigUint::from(1_u8) << n);
        group.bench_function(format!("any deal and riffle of {n}"), |b| {
            b.iter(|| pairs(black_box(&routine), &world, n));
        });
        // Every pair is kept at least where no chunk breaks one: there are n/2 - 1 places to break at.
        assert!(overhand(&routine, &world) >= BigUint::from(1_u8) << (n / 2 - 1));
        group.bench_function(format!("overhand shuffle of {n}"), |b| {
            b.iter(|| overhand(black_box(&routine), &world));
        });
        assert!(turned(&routine, &world, n));
        group.bench_function(format!("cut anywhere and turn two of {n}"), |b| {
            b.iter(|| turned(black_box(&routine), &world, n));
        });
    }
    group.finish();
}

criterion_group!(benches, streams);
criterion_main!(benches);
