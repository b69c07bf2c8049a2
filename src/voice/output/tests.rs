//! An output that comes and goes by a script, without any server.

use super::*;
use std::cell::RefCell;
use std::collections::VecDeque;
use std::sync::mpsc;

/// What an output does when it is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Opens {
    /// There is none.
    No,
    /// It plays a second of sound, then its connection dies.
    PlaysAndDies,
    /// Its connection dies before anything was played.
    DiesAtOnce,
}
use Opens::{DiesAtOnce, No, PlaysAndDies};

/// What is told while outputs open like this, one after the other.
fn told(script: &[Opens]) -> Vec<&'static str> {
    let desk = Arc::new(Desk::default());
    let quit = AtomicBool::new(false);
    let script = RefCell::new(script.iter().copied().collect::<VecDeque<_>>());
    let told = RefCell::new(Vec::new());
    let open = || {
        let next = script.borrow_mut().pop_front();
        quit.store(next.is_none(), Ordering::Relaxed);
        let Some(opens) = next.filter(|opens| *opens != No) else {
            return Err("there is none".to_owned());
        };
        let mut outlet = desk.open();
        if opens == PlaysAndDies {
            assert_eq!(outlet.by_ref().take(RATE as usize).count(), RATE as usize);
        }
        Ok(Playing {
            place: Place {
                server: "a script".to_owned(),
                device: "nothing".to_owned(),
                latency: Duration::ZERO,
            },
            lost: mpsc::channel().1,
            _keep: Box::new(outlet),
        })
    };
    keep(open, &desk, &quit, Duration::ZERO, |state| {
        told.borrow_mut().push(match state {
            OutputState::Up(_) => "up",
            OutputState::Broken => "broken",
            OutputState::Down(_) => "down",
        });
        true
    });
    told.into_inner()
}

#[test]
fn a_connection_that_dies_is_tried_again_before_anybody_is_told_that_the_sound_is_gone() {
    assert_eq!(
        told(&[PlaysAndDies, PlaysAndDies, No]),
        ["up", "broken", "up", "broken", "down"]
    );
    // Also the very first, of which nothing was heard yet.
    assert_eq!(
        told(&[DiesAtOnce, PlaysAndDies, No]),
        ["up", "broken", "up", "broken", "down"]
    );
}

#[test]
fn one_that_dies_again_and_again_is_gone() {
    assert_eq!(
        told(&[DiesAtOnce, DiesAtOnce, No]),
        ["up", "broken", "up", "down"]
    );
}

#[test]
fn that_there_is_none_is_told_once_until_there_is_one() {
    assert_eq!(
        told(&[No, No, No, PlaysAndDies, No, No]),
        ["down", "up", "broken", "down"]
    );
}
