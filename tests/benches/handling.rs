//! How long one step of handling takes on 52 cards: its program made and run. It should stay under a microsecond.
use allroads::cards::Card;
use allroads::handling::{ByWeave, Forced, HandlingFault, Move, Over, Weave, program, run};
use allroads::table::{Laid, PileId, Place, Table};
use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use std::hint::black_box;

const PACKET: PileId = PileId(0);
const DEALT: PileId = PileId(1);

/// A full deck in pile 0, and one empty pile.
fn deck() -> Table {
    let mut table = Table::empty(2);
    *table.pile_mut(PACKET) = (0..52).map(|card| Laid::new(Card(card), false)).collect();
    table
}

fn step(mv: &Move, table: &mut Table) -> Result<(), HandlingFault> {
    run(&program(mv, table)?, table, &mut Forced)
}

/// The card at a place after the move: the answer each bench checks.
fn card_at(table: &Table, pile: PileId, place: u16) -> Option<u16> {
    table.at(pile, Place(place)).map(|laid| laid.card().0)
}

fn bench_step(c: &mut Criterion, name: &str, mv: &Move, pile: PileId, second_card: u16) {
    let mut after = deck();
    assert_eq!(step(mv, &mut after), Ok(()), "{name}");
    assert_eq!(card_at(&after, pile, 2), Some(second_card), "{name}");
    c.bench_function(name, |b| {
        b.iter_batched_ref(
            deck,
            |table| step(black_box(mv), table),
            BatchSize::SmallInput,
        );
    });
}

fn handling(c: &mut Criterion) {
    bench_step(
        c,
        "cut 52 at 20",
        &Move::Cut {
            pile: PACKET,
            at: 20,
        },
        PACKET,
        21,
    );
    bench_step(
        c,
        "out-faro of 52",
        &Move::Faro(PACKET, Weave::Out),
        PACKET,
        26,
    );
    bench_step(
        c,
        "Monge of 52",
        &Move::Monge(PACKET, Over::Over),
        PACKET,
        49,
    );
    let deal = Move::Deal {
        from: PACKET,
        to: vec![DEALT],
        count: 52,
        up: None,
    };
    bench_step(c, "deal of 52", &deal, DEALT, 50);
    riffle(c);
}

fn riffle(c: &mut Criterion) {
    let mv = Move::Riffle {
        left: DEALT,
        right: PACKET,
        to: PACKET,
    };
    let mut halved = deck();
    let lift = Move::Deal {
        from: PACKET,
        to: vec![DEALT],
        count: 26,
        up: None,
    };
    assert_eq!(step(&lift, &mut halved), Ok(()));
    let weave: Vec<bool> = (0..52).map(|place| place % 2 == 0).collect();
    let mix = |table: &mut Table| run(&program(&mv, table)?, table, &mut ByWeave::new(&weave));
    let mut after = halved.clone();
    assert_eq!(mix(&mut after), Ok(()));
    assert_eq!(card_at(&after, PACKET, 2), Some(26));
    c.bench_function("riffle of 26 and 26", |b| {
        b.iter_batched_ref(|| halved.clone(), mix, BatchSize::SmallInput);
    });
}

criterion_group!(benches, handling);
criterion_main!(benches);
