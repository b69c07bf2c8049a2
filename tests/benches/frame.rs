//! The whole program in a terminal of 120×40, from its start to its first frame.

use allroads::command::SHIPPED;
use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::time::{Duration, Instant};

const ROWS: NonZero<u16> = NonZero::new(40).expect("not zero");
const COLUMNS: NonZero<u16> = NonZero::new(120).expect("not zero");

/// Starts the program, waits until the foot of the foyer is drawn, and leaves. How long that took, and the most memory that the
/// program held until then, in kibibytes, where the system tells.
pub fn first_frame(data: &Path) -> (Duration, Option<u64>) {
    let pair = native_pty_system()
        .openpty(PtySize {
            rows: ROWS.get(),
            cols: COLUMNS.get(),
            pixel_width: 0,
            pixel_height: 0,
        })
        .expect("a terminal");
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_allroads"));
    command.arg("--data");
    command.arg(data);
    command.cwd(data);
    command.env("TERM", "xterm-256color");
    command.env("LC_ALL", "C.UTF-8");
    let mut from = pair.master.try_clone_reader().expect("its output");
    let mut to = pair.master.take_writer().expect("its input");
    let begun = Instant::now();
    let mut child = pair.slave.spawn_command(command).expect("the program");
    drop(pair.slave);
    let mut screen = vt100::Parser::new(ROWS, COLUMNS, 0);
    let mut bytes = [0; 8_192];
    loop {
        let count = from.read(&mut bytes).expect("output");
        assert!(count > 0, "it ended: {}", screen.screen().contents());
        screen.process(&bytes[..count]);
        let shown = screen.screen().contents();
        let foot = shown.lines().last().unwrap_or_default().to_owned();
        if foot.contains("q ") {
            break;
        }
    }
    let took = begun.elapsed();
    let memory = child.process_id().and_then(most_memory);
    let shown = screen.screen().contents();
    let words = SHIPPED.first().expect("a routine").text;
    let title = words
        .lines()
        .find_map(|line| line.strip_prefix("title: "))
        .expect("a title");
    assert!(shown.contains(title), "{shown}");
    to.write_all(b"q").expect("a key");
    drop(to);
    // What it says on leaving must be read, or it waits for somebody to do so.
    std::thread::spawn(move || while matches!(from.read(&mut bytes), Ok(1..)) {});
    let ended = child.wait().expect("an end");
    assert!(ended.success(), "{ended:?}");
    (took, memory)
}

/// The most memory that a process has held, in kibibytes.
fn most_memory(id: u32) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.split_whitespace().next()?.parse().ok()
}
