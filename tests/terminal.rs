//! The real program in a pseudo-terminal: what it shows, how it ends, and that the terminal is given back as it was.

#![cfg(unix)]
#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]

#[path = "terminal/rescue.rs"]
mod rescue;
#[path = "terminal/spoken.rs"]
mod spoken;

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZero;
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Long enough for a busy machine; nothing waits this long when all is well.
const PATIENCE: Duration = Duration::from_secs(30);

/// A program running in a terminal of its own.
struct Show {
    master: Box<dyn MasterPty + Send>,
    keyboard: Box<dyn Write + Send>,
    child: Box<dyn Child + Send + Sync>,
    screen: Arc<Mutex<vt100::Parser>>,
    modes_before: String,
    data: Arc<tempfile::TempDir>,
}

impl Show {
    fn open(width: u16, height: u16, arguments: &[&str], environment: &[(&str, &str)]) -> Self {
        let data = Arc::new(tempfile::tempdir().unwrap());
        Self::open_with(data, (width, height), arguments, environment)
    }

    /// With a data folder that may have been used before.
    fn open_with(
        data: Arc<tempfile::TempDir>,
        (width, height): (u16, u16),
        arguments: &[&str],
        environment: &[(&str, &str)],
    ) -> Self {
        let size = PtySize {
            rows: height,
            cols: width,
            pixel_width: 0,
            pixel_height: 0,
        };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_allroads"));
        command.args(arguments);
        command.arg("--data");
        command.arg(data.path());
        command.env("TERM", "xterm-256color");
        command.env("LC_ALL", "C.UTF-8");
        command.env_remove("NO_COLOR");
        for (name, value) in environment {
            command.env(name, value);
        }
        let modes_before = modes(&*pair.master);
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let screen = Arc::new(Mutex::new(vt100::Parser::new(
            cells(height),
            cells(width),
            0,
        )));
        let mut output = pair.master.try_clone_reader().unwrap();
        let shown = Arc::clone(&screen);
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(count @ 1..) = output.read(&mut bytes) {
                shown.lock().unwrap().process(&bytes[..count]);
            }
        });
        let keyboard = pair.master.take_writer().unwrap();
        Self {
            master: pair.master,
            keyboard,
            child,
            screen,
            modes_before,
            data,
        }
    }

    fn text(&self) -> String {
        self.screen.lock().unwrap().screen().contents()
    }

    fn foot(&self) -> String {
        self.text().lines().last().unwrap_or_default().to_owned()
    }

    /// Waits until the screen shows what is wanted.
    fn wait(&self, what: &str, wanted: impl Fn(&str) -> bool) -> String {
        let until = Instant::now() + PATIENCE;
        loop {
            let text = self.text();
            if wanted(&text) {
                return text;
            }
            assert!(Instant::now() < until, "waiting for {what}:\n{text}");
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    fn press(&mut self, keys: &str) {
        self.keyboard.write_all(keys.as_bytes()).unwrap();
        self.keyboard.flush().unwrap();
    }

    fn resize(&self, width: u16, height: u16) {
        self.screen
            .lock()
            .unwrap()
            .screen_mut()
            .set_size(cells(height), cells(width));
        let size = PtySize {
            rows: height,
            cols: width,
            pixel_width: 0,
            pixel_height: 0,
        };
        self.master.resize(size).unwrap();
    }

    fn signal(&self, name: &str) {
        let id = self.child.process_id().unwrap().to_string();
        assert!(
            Command::new("kill")
                .args(["-s", name, &id])
                .status()
                .unwrap()
                .success()
        );
    }

    /// Goes on until so many answers were given, each an open "I do not know".
    fn answer(&mut self, wanted: u32) {
        let until = Instant::now() + PATIENCE * 2;
        while answered(&self.text()) < wanted {
            assert!(Instant::now() < until, "answering:\n{}", self.text());
            let before = self.text();
            let foot = self.foot();
            if foot.contains("enter answer") {
                // "I do not know" answers every question.
                self.press("-\r");
                let _ = self.changed(&before);
            } else if foot.contains("enter go on") || foot.contains("enter just this") {
                self.press("\r");
                let _ = self.changed(&before);
            } else {
                std::thread::sleep(Duration::from_millis(5));
            }
        }
    }

    /// The screen once it differs from before and stands still.
    fn changed(&self, before: &str) -> String {
        let until = Instant::now() + Duration::from_millis(600);
        while self.text() == before && Instant::now() < until {
            std::thread::sleep(Duration::from_millis(2));
        }
        let mut last = self.text();
        loop {
            std::thread::sleep(Duration::from_millis(25));
            let now = self.text();
            if now == last {
                return now;
            }
            last = now;
        }
    }

    /// Waits for the end; gives back the exit code, after checking that the terminal is as it was.
    fn end(mut self) -> u32 {
        let until = Instant::now() + PATIENCE;
        let status = loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                break status;
            }
            assert!(Instant::now() < until, "it does not end:\n{}", self.text());
            std::thread::sleep(Duration::from_millis(5));
        };
        // What is still on its way to the screen.
        let settled = Instant::now() + Duration::from_secs(5);
        loop {
            let parser = self.screen.lock().unwrap();
            let given_back = !parser.screen().alternate_screen() && !parser.screen().hide_cursor();
            drop(parser);
            if given_back {
                break;
            }
            assert!(Instant::now() < settled, "the screen is not given back");
            std::thread::sleep(Duration::from_millis(5));
        }
        assert_eq!(modes(&*self.master), self.modes_before);
        status.exit_code()
    }
}

fn cells(count: u16) -> NonZero<u16> {
    NonZero::new(count).unwrap()
}

/// All modes of the terminal, as text.
fn modes(master: &dyn MasterPty) -> String {
    format!("{:?}", master.get_termios().unwrap())
}

/// How many answers the head of the screen counts.
fn answered(text: &str) -> u32 {
    text.lines()
        .take(5)
        .find_map(|line| {
            line.strip_suffix(" right")?
                .rsplit_once(" of ")?
                .1
                .parse()
                .ok()
        })
        .unwrap_or(0)
}

fn in_foyer(text: &str) -> bool {
    text.contains("enter rehearse")
}

fn in_rehearsal(text: &str) -> bool {
    text.contains("esc enough for now")
}

fn in_summary(text: &str) -> bool {
    text.contains("enter done")
}

fn whole_evening(width: u16, height: u16, resized: Option<(u16, u16)>) {
    let mut show = Show::open(width, height, &[], &[]);
    show.wait("the foyer", in_foyer);
    show.press("\r");
    show.wait("the rehearsal", in_rehearsal);
    show.answer(4);
    if let Some((width, height)) = resized {
        show.resize(40, 10);
        show.wait("the word about the size", |text| {
            text.contains("allroads needs 60 by 20")
        });
        show.resize(width, height);
        show.wait("the rehearsal again", in_rehearsal);
    }
    show.answer(10);
    show.press("\x1b");
    let summary = show.wait("the summary", in_summary);
    assert!(summary.contains("of 10 right"), "{summary}");
    show.press("\r");
    show.wait("the foyer again", |text| {
        in_foyer(text) && text.contains("rehearsed today")
    });
    show.press("q");
    assert_eq!(show.end(), 0);
}

#[test]
fn an_evening_at_80_by_24() {
    whole_evening(80, 24, None);
}

#[test]
fn an_evening_at_120_by_40() {
    whole_evening(120, 40, None);
}

#[test]
fn an_evening_with_a_resize_in_the_middle() {
    whole_evening(80, 24, Some((120, 40)));
}

#[test]
fn several_routines_take_turns_on_the_screen() {
    let args = [
        "rehearse",
        "chairlift",
        "geese",
        "--questions",
        "40",
        "--seed",
        "7",
    ];
    let mut show = Show::open(80, 24, &args, &[]);
    show.wait("the rehearsal", in_rehearsal);
    show.answer(12);
    show.press("\x1b");
    let summary = show.wait("the summary", in_summary);
    assert!(summary.contains("Nobody Rides Alone · "), "{summary}");
    show.press("\r");
    assert_eq!(show.end(), 0);
}

#[test]
fn signals_end_the_program_and_give_the_terminal_back() {
    for (name, code) in [("TERM", 143), ("INT", 130), ("HUP", 129)] {
        let mut show = Show::open(80, 24, &[], &[]);
        show.wait("the foyer", in_foyer);
        show.press("\r");
        show.wait("the rehearsal", in_rehearsal);
        show.signal(name);
        assert_eq!(show.end(), code, "{name}");
    }
}

#[test]
fn a_panic_gives_the_terminal_back() {
    let mut show = Show::open(
        80,
        24,
        &[],
        &[("ALLROADS_TEST_PANIC", "1"), ("RUST_BACKTRACE", "0")],
    );
    show.wait("the foyer", in_foyer);
    show.press("\r");
    show.wait("the rehearsal", in_rehearsal);
    show.press("x");
    let until = Instant::now() + PATIENCE;
    while !show.text().contains("a test asked for this") {
        assert!(
            Instant::now() < until,
            "the panic is not told:\n{}",
            show.text()
        );
        std::thread::sleep(Duration::from_millis(5));
    }
    assert_eq!(show.end(), 101);
}

#[test]
fn sleeping_gives_the_terminal_back_and_waking_takes_it_again() {
    let mut show = Show::open(80, 24, &[], &[]);
    show.wait("the foyer", in_foyer);
    show.press("\x1a");
    let until = Instant::now() + PATIENCE;
    // What the program wrote may still be on its way to this test's own screen when the modes are back.
    let alternate = || show.screen.lock().unwrap().screen().alternate_screen();
    while modes(&*show.master) != show.modes_before || alternate() {
        assert!(Instant::now() < until, "the terminal is not given back");
        std::thread::sleep(Duration::from_millis(5));
    }
    show.signal("CONT");
    show.wait("the foyer again", in_foyer);
    assert_ne!(modes(&*show.master), show.modes_before);
    show.press("q");
    assert_eq!(show.end(), 0);
}

#[test]
fn colours_are_left_out_when_asked() {
    for (arguments, environment) in [
        (&["--no-color"][..], &[][..]),
        (&[][..], &[("NO_COLOR", "1")][..]),
    ] {
        let mut show = Show::open(80, 24, arguments, environment);
        show.wait("the foyer", in_foyer);
        let parser = show.screen.lock().unwrap();
        for row in 0..24 {
            for column in 0..80 {
                let cell = parser.screen().cell(row, column).unwrap();
                assert_eq!(cell.fgcolor(), vt100::Color::Default);
                assert_eq!(cell.bgcolor(), vt100::Color::Default);
            }
        }
        drop(parser);
        show.press("q");
        assert_eq!(show.end(), 0);
    }
}

#[test]
fn a_terminal_that_cannot_move_its_cursor_gets_plain_lines() {
    let show = Show::open(
        80,
        24,
        &["rehearse", "geese", "--seed", "7"],
        &[("TERM", "dumb")],
    );
    show.wait("the first line", |text| text.contains("road 1: seed=7"));
    show.signal("TERM");
}

#[test]
fn the_foyer_shows_what_is_proved_when_it_is() {
    let show = Show::open(80, 24, &[], &[]);
    let text = show.wait("a verdict", |text| {
        in_foyer(text) && text.contains("✓ proved")
    });
    assert!(!text.contains("! can fail"), "{text}");
    show.signal("TERM");
    show.end();
}

#[test]
fn a_proof_that_lasts_says_how_far_it_is_and_ctrl_c_ends_it() {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures/no-end.yaml");
    let arguments = ["prove", file, "--budget", "600s,8GiB"];
    let mut show = Show::open(100, 24, &arguments, &[]);
    let text = show.wait("how far it is", |text| text.contains("tables looked at"));
    assert!(
        text.contains("◉") && text.contains("of at most 600 s"),
        "{text}"
    );
    show.press("\u{3}");
    let text = show.wait("the end", |text| text.contains("you stopped it after"));
    assert!(!text.contains("of at most"), "the line is wiped: {text}");
    assert_eq!(show.end(), 3);
}
