//! How long it takes from a key to the drawn frame at 120 by 40, through a rehearsal of each routine that comes with the
//! program: the next question included. It should stay under 5 ms.
use allroads::command::SHIPPED;
use allroads::routine::{Millis, load};
use allroads::screen::{
    Effect, Event, Page, Proven, Shelved, Standing, State, Terms, Theme, update, view,
};
use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use std::sync::Arc;

const THEME: Theme = Theme {
    colour: true,
    unicode: true,
};

fn press(state: &mut State, code: KeyCode, now: u64) -> Vec<Effect> {
    let key = KeyEvent::new(code, KeyModifiers::NONE);
    update(state, Event::Key(key, Millis(now)))
}

fn rehearsal(shipped: usize) -> State {
    let shipped = &SHIPPED[shipped];
    let routine = match load(shipped.text, shipped.name, 0) {
        Ok(routine) => Arc::new(routine),
        Err(troubles) => panic!("{}: {troubles:?}", shipped.name),
    };
    let shelved = Shelved {
        name: shipped.name.to_owned(),
        routine,
        standing: Standing::default(),
        proven: Proven::NotYet,
    };
    let mut state = State::foyer(THEME, vec![shelved], Terms::usual(7));
    press(&mut state, KeyCode::Enter, 0);
    assert!(matches!(state.page, Page::Rehearsal(_)), "{}", shipped.name);
    state
}

fn screen(c: &mut Criterion) {
    assert!(!SHIPPED.is_empty());
    for (n, shipped) in SHIPPED.iter().enumerate() {
        let mut terminal = Terminal::new(TestBackend::new(120, 40)).expect("a test screen");
        let mut state = rehearsal(n);
        let mut kept = 0;
        let mut slowest = std::time::Duration::ZERO;
        let mut states = Vec::new();
        // A rehearsal of three hundred keys: "-" leaves a question open, enter goes on.
        for key in 0..300 {
            states.push(state.clone());
            let code = if key % 2 == 0 {
                KeyCode::Char('-')
            } else {
                KeyCode::Enter
            };
            let began = std::time::Instant::now();
            let effects = press(&mut state, code, key);
            terminal.draw(|frame| view(&state, frame)).expect("a frame");
            slowest = slowest.max(began.elapsed());
            // As the loop does: what comes after is worked out while the performer reads.
            update(&mut state, Event::Drawn(Millis(key)));
            kept += effects
                .iter()
                .filter(|e| matches!(e, Effect::Keep(_)))
                .count();
        }
        assert!(kept > 20, "{}: {kept} answers", shipped.name);
        eprintln!("{}: the slowest of 300 keys took {slowest:?}", shipped.name);
        let mut at = 0;
        c.bench_function(&format!("key to frame, {}", shipped.name), |b| {
            b.iter_batched(
                || {
                    at = (at + 1) % states.len();
                    (
                        states[at].clone(),
                        if at % 2 == 0 {
                            KeyCode::Char('-')
                        } else {
                            KeyCode::Enter
                        },
                    )
                },
                |(mut state, code)| {
                    press(&mut state, code, 1_000);
                    terminal.draw(|frame| view(&state, frame)).expect("a frame");
                    state
                },
                BatchSize::SmallInput,
            );
        });
    }
}

criterion_group!(benches, screen);
criterion_main!(benches);
