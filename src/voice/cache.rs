//! Speech that was made already, as much of it as there is room for.

use super::speech::{Manner, Samples};
use std::collections::{BTreeMap, HashMap};

/// A part of a line, and how it is spoken.
pub(super) type Key = (Manner, String);

/// Room for speech, in bytes: two and a half minutes.
const ROOM: usize = 5 * 1024 * 1024;

/// Keeps what was used last.
#[derive(Debug, Default)]
pub(super) struct Cache {
    made: HashMap<Key, (u64, Samples)>,
    used: BTreeMap<u64, Key>,
    now: u64,
    bytes: usize,
}

fn size(key: &Key, samples: &Samples) -> usize {
    2 * samples.len() + 2 * key.1.len() + 128
}

impl Cache {
    /// What was made of this, if it is still here.
    pub(super) fn get(&mut self, key: &Key) -> Option<Samples> {
        self.now += 1;
        let (used, samples) = self.made.get_mut(key)?;
        self.used.remove(used);
        *used = self.now;
        self.used.insert(self.now, key.clone());
        Some(samples.clone())
    }

    /// Whether it is here, without using it.
    pub(super) fn has(&self, key: &Key) -> bool {
        self.made.contains_key(key)
    }

    /// Keeps it; what was not used for longest goes when room is needed.
    pub(super) fn put(&mut self, key: Key, samples: Samples) {
        self.now += 1;
        self.bytes += size(&key, &samples);
        self.used.insert(self.now, key.clone());
        let before = self
            .made
            .get(&key)
            .map(|(used, old)| (*used, size(&key, old)));
        self.made.insert(key, (self.now, samples));
        if let Some((used, size)) = before {
            self.used.remove(&used);
            self.bytes -= size;
        }
        while self.bytes > ROOM {
            let Some((_, oldest)) = self.used.pop_first() else {
                return;
            };
            if let Some((_, old)) = self.made.remove(&oldest) {
                self.bytes -= size(&oldest, &old);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cards::Lang;
    use crate::voice::{Pace, Role};

    fn key(text: &str) -> Key {
        let manner = Manner::of(Role::Spectator, Lang::De, Pace::USUAL);
        (manner, text.to_owned())
    }

    #[test]
    fn what_was_used_last_stays_and_the_room_is_kept() {
        let mut cache = Cache::default();
        let minute: Samples = vec![0; 16_000 * 60].into();
        cache.put(key("first"), minute.clone());
        for i in 0..50 {
            cache.put(key(&i.to_string()), minute.clone());
            assert!(cache.bytes <= ROOM);
            assert!(cache.get(&key("first")).is_some(), "used at {i}");
        }
        assert!(cache.has(&key("49")));
        assert!(!cache.has(&key("3")));
        assert_eq!(cache.made.len(), cache.used.len());
        cache.put(key("first"), vec![1].into());
        assert_eq!(cache.get(&key("first")).unwrap().len(), 1);
        let told: usize = cache.made.iter().map(|(k, (_, s))| size(k, s)).sum();
        assert_eq!(told, cache.bytes);
    }
}
