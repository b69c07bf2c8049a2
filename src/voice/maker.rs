//! The thread that has speech made: what is waited for first, then what may be needed.

use super::cache::Key;
use super::level::levelled;
use super::speech::{Samples, Speaker, SpeechFault};
use std::collections::VecDeque;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

/// At most so many parts wait to be made ahead; more than that are not likely to be needed.
const MOST_AHEAD: usize = 256;

/// What is to be made.
#[derive(Debug, Default)]
pub(super) struct Orders {
    state: Mutex<Waiting>,
    more: Condvar,
}

#[derive(Debug, Default)]
struct Waiting {
    now: VecDeque<Key>,
    ahead: VecDeque<Key>,
    closed: bool,
}

/// What was made of an order.
#[derive(Debug)]
pub(super) struct Delivery {
    pub(super) key: Key,
    pub(super) made: Result<Samples, SpeechFault>,
}

impl Orders {
    fn state(&self) -> MutexGuard<'_, Waiting> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Somebody waits for this.
    pub(super) fn now(&self, key: Key) {
        let mut state = self.state();
        state.ahead.retain(|other| *other != key);
        if !state.now.contains(&key) {
            state.now.push_back(key);
        }
        self.more.notify_one();
    }

    /// This may be needed soon.
    pub(super) fn ahead(&self, key: Key) {
        let mut state = self.state();
        if !state.ahead.contains(&key)
            && !state.now.contains(&key)
            && state.ahead.len() < MOST_AHEAD
        {
            state.ahead.push_back(key);
            self.more.notify_one();
        }
    }

    /// Nobody waits any more.
    pub(super) fn drop_waited(&self) {
        self.state().now.clear();
    }

    /// The thread is to end.
    pub(super) fn close(&self) {
        self.state().closed = true;
        self.more.notify_all();
    }

    fn next(&self) -> Option<Key> {
        let mut state = self.state();
        loop {
            if state.closed {
                return None;
            }
            let key = match state.now.pop_front() {
                Some(key) => Some(key),
                None => state.ahead.pop_front(),
            };
            if key.is_some() {
                return key;
            }
            state = self
                .more
                .wait(state)
                .unwrap_or_else(PoisonError::into_inner);
        }
    }
}

/// Makes what is ordered until the orders are closed. `deliver` tells whether anybody still listens.
pub(super) fn run(mut speaker: Speaker, orders: &Orders, deliver: impl Fn(Delivery) -> bool) {
    while let Some(key) = orders.next() {
        let made = speaker
            .make(key.0, &key.1)
            .map(|samples| levelled(&samples));
        if !deliver(Delivery { key, made }) {
            return;
        }
    }
}
