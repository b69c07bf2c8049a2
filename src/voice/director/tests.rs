//! A director without threads: speech is there already, and the output is pulled by the test.

use super::super::line::Role;
use super::super::mix::Outlet;
use super::*;
use crate::cards::Lang;
use std::sync::mpsc;

/// So many samples of speech, loud from the first to the last.
const LONG: usize = 4_000;

struct Stand {
    director: Director,
    told: Receiver<Told>,
    outlet: Outlet,
    given: u64,
}

fn line(text: &str) -> Line {
    Line::new(Role::Spectator, Lang::EnGb, text)
}

impl Stand {
    /// The speech of each of these lines is there, so many samples of it.
    fn new(made: &[(&str, usize)]) -> Self {
        let desk = Arc::new(Desk::default());
        desk.set_volume(100);
        let outlet = desk.open();
        let (tell, told) = mpsc::channel();
        let mut director = Director {
            desk,
            shared: Arc::default(),
            orders: Arc::default(),
            tell,
            pace: Pace::USUAL,
            speech: true,
            caution: false,
            state: Stage::new(),
        };
        director.take(Told::Output(OutputState::Up(Place {
            server: "a stand".to_owned(),
            device: "a test".to_owned(),
            latency: Duration::ZERO,
        })));
        for (text, samples) in made {
            for key in director.parts(&line(text)) {
                director.state.cache.put(key, vec![8_000; *samples].into());
            }
        }
        Self {
            director,
            told,
            outlet,
            given: 0,
        }
    }

    fn take(&mut self, told: Told) {
        self.director.take(told);
        self.director.go_on();
    }

    fn say(&mut self, text: &str) {
        self.given += 1;
        self.take(Told::Say(SayId(self.given), line(text)));
    }

    /// Plays so many samples; what was heard of them is told. Gives how many were loud, and the first of them.
    fn play(&mut self, samples: usize) -> (usize, Option<usize>) {
        let heard: Vec<f32> = self.outlet.by_ref().take(samples).collect();
        while let Ok(told) = self.told.try_recv() {
            self.take(told);
        }
        let loud: Vec<usize> = (0..heard.len()).filter(|n| heard[*n].abs() > 0.2).collect();
        (loud.len(), loud.first().copied())
    }
}

#[test]
fn a_line_after_one_that_was_cut_short_begins_at_once() {
    let mut stand = Stand::new(&[("one", LONG), ("two", LONG)]);
    stand.say("one");
    assert!(stand.play(LONG / 2).0 > LONG / 3);
    stand.take(Told::Hush);
    // What was cut off fades out within 128 samples, 8 ms.
    assert!(stand.play(128).0 < 128);
    stand.say("two");
    let (loud, first) = stand.play(LONG);
    assert!(first.is_some_and(|first| first < 100), "{first:?}");
    assert!(loud > LONG - 200, "{loud}");
}

#[test]
fn a_line_of_which_nothing_can_be_heard_holds_up_nobody() {
    let mut stand = Stand::new(&[("nothing", 0), ("two", LONG)]);
    stand.say("nothing");
    stand.say("two");
    assert!(stand.play(2 * LONG).0 > LONG - 200);
}
