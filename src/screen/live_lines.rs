//! The lines said aloud, and the patter read: what is seen of them.

use super::large;
use super::live::Live;
use super::live_view::{clock, large_word};
use super::sheet::Sheet;
use super::summary::seconds;
use crate::drill::{Help, LineCue, LinesOpening, ReadThrough, Reading, RealLine, Saying, Word};
use crate::routine::Millis;
use ratatui::layout::Rect;
use ratatui::style::Style;

pub(super) fn opened(opening: &LinesOpening, sheet: &mut Sheet<'_>) {
    large_word(
        "LINES",
        sheet,
        if opening.so_far.is_empty() { 1 } else { 2 },
    );
    for line in &opening.so_far {
        sheet.hanging("· ", line, sheet.theme.quiet());
    }
    sheet.text(
        "You hear what comes before your line. Say the line aloud while you do its move: one key when you begin, one \
         when you are done. Then the real line is heard, and d says that yours differed.",
        Style::new(),
    );
    sheet.text(
        &format!(
            "Or r: the whole patter, read at the pace of a performance, in {}.",
            in_words(opening.reading)
        ),
        Style::new(),
    );
}

pub(super) fn cued(live: &Live, cue: &LineCue, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    match cue.at {
        Saying::Cue => large_word("LISTEN", sheet, 2),
        Saying::Said => {
            large_word("SPEAK", sheet, 2);
            let spent = live.now.0.saturating_sub(cue.along.since.0);
            large_word(&clock(cue.along.target, spent), sheet, 1);
        }
    }
    match &cue.cue {
        Some(heard) => {
            sheet.hanging("▸ ", &format!("“{}”", heard.words), theme.strong());
        }
        None if cue.along.done == 0 => {
            sheet.hanging("▸ ", "It begins with you.", theme.strong());
        }
        None => sheet.hanging("▸ ", "Your line.", theme.strong()),
    }
    if !cue.first_words.is_empty() {
        sheet.hanging("  ", &format!("“{}”", cue.first_words), theme.speech());
    }
    for line in &cue.handling {
        sheet.hanging("· ", line, Style::new());
    }
    if cue.help == Help::Road {
        sheet.text(
            "You know where you are on the road; the line is yours.",
            theme.quiet(),
        );
    }
}

pub(super) fn really(real: &RealLine, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    sheet.text(&real.title, theme.quiet());
    sheet.hanging("  ", &format!("“{}”", real.line), theme.speech());
    sheet.skip(1);
    for line in &real.handling {
        sheet.hanging("· ", line, Style::new());
    }
    match &real.typed {
        None => {
            let pace = real.pace.map_or_else(String::new, |pace| {
                format!("; its own time is {}", seconds(pace))
            });
            sheet.text(
                &format!(
                    "You began after {} and took {}{pace}.",
                    seconds(real.hesitation),
                    seconds(real.length)
                ),
                Style::new(),
            );
            sheet.skip(1);
            sheet.text("Was yours just this, or did it differ?", theme.strong());
        }
        Some(words) => {
            let missed: Vec<&str> = words
                .iter()
                .filter_map(|word| match word {
                    Word::Missed(word) | Word::Changed(word, _) => Some(word.as_str()),
                    Word::Same(_) | Word::Added(_) => None,
                })
                .collect();
            if !missed.is_empty() {
                sheet.text(&format!("Not there: {}", missed.join(" ")), Style::new());
            }
        }
    }
}

pub(super) fn read(live: &Live, reading: &Reading, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let spent = live.now.0.saturating_sub(reading.along.since.0);
    let area = Rect {
        height: large::ROWS.min(sheet.left()),
        ..sheet.rest()
    };
    let time = clock(reading.along.target, spent);
    let rows = large::draw(&time, area, sheet.buffer, theme.here());
    sheet.skip(rows + 1);
    if let Some(spectator) = &reading.spectator {
        sheet.hanging("▸ ", &format!("“{spectator}”"), theme.strong());
    }
    sheet.text(&reading.title, theme.quiet());
    if !reading.line.is_empty() {
        sheet.hanging("  ", &format!("“{}”", reading.line), theme.speech());
    }
}

pub(super) fn read_through(through: &ReadThrough, sheet: &mut Sheet<'_>) {
    large_word(&clock(None, through.took.0), sheet, 1);
    let running = through.running.map_or_else(String::new, |running| {
        format!(" A performance takes {}.", in_words(running))
    });
    sheet.text(
        &format!("The whole patter took {}.{running}", in_words(through.took)),
        sheet.theme.strong(),
    );
    sheet.text("Now say the lines yourself.", Style::new());
}

/// A time in words, to the second: "5 min 12 s".
pub(super) fn in_words(time: Millis) -> String {
    let seconds = (time.0 + 500) / 1_000;
    match (seconds / 60, seconds % 60) {
        (0, seconds) => format!("{seconds} s"),
        (minutes, 0) => format!("{minutes} min"),
        (minutes, seconds) => format!("{minutes} min {seconds} s"),
    }
}
