//! A rescue on the screen: the stray, the mend, how it was, and where we are.

use super::live::Live;
use super::live_view::{clock, large_word, typing};
use super::sheet::{Sheet, wrap};
use crate::drill::{MendAsked, RescueTold, StrayMet, WhereNow};
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr;

/// A stray has happened: what was seen, the table before it, and the four answers.
pub(super) fn stray(live: &Live, met: &StrayMet, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let spent = live.now.0.saturating_sub(met.along.since.0);
    large_word(&clock(None, spent), sheet, 3);
    if !met.quip.is_empty() {
        sheet.hanging("▸ ", &format!("“{}”", met.quip), theme.speech());
    }
    sheet.text(&met.told, theme.strong());
    for line in &met.seen {
        sheet.hanging("· ", line, Style::new());
    }
    sheet.skip(1);
    sheet.text("Is it still safe?", theme.strong());
    let answers = [
        ("s", "safe: the ending still holds, whatever they do"),
        ("m", "mend: a mend makes it so again"),
        ("o", "out: it ends well at another ending"),
        ("l", "lost: none of these"),
    ];
    for (key, meaning) in answers {
        sheet.hanging(&format!("{key}  "), meaning, Style::new());
    }
    if let Some(unread) = &live.unread {
        sheet.text(unread, theme.here());
    }
    if !met.table.is_empty() {
        sheet.skip(1);
        sheet.text("The table before it, as you can know it:", theme.quiet());
        lines(&met.table, "  ", sheet);
    }
}

/// Which mend?
pub(super) fn mend(live: &Live, asked: &MendAsked, sheet: &mut Sheet<'_>) -> Option<(u16, u16)> {
    let theme = sheet.theme;
    sheet.text(&asked.told, theme.strong());
    for line in &asked.seen {
        sheet.hanging("· ", line, Style::new());
    }
    sheet.skip(1);
    sheet.text("What makes it safe? Key what you do.", theme.strong());
    for (n, (id, does, says)) in asked.mends.iter().enumerate() {
        let lead = format!("{}  ", n + 1);
        // Where there is little room, the words are left out before what is done.
        let rest = usize::from(sheet.left()).saturating_sub(4 + asked.mends.len() - n);
        if rest == 0 {
            break;
        }
        sheet.hanging(&lead, &format!("{id}: {does}"), Style::new());
        if rest > 2 && !says.is_empty() {
            let room = usize::from(sheet.width()).saturating_sub(6);
            let said = format!("“{says}”");
            let mut shown = wrap(&said, room).first().cloned().unwrap_or_default();
            if shown.width() < said.width() {
                shown.push('…');
            }
            sheet.hanging("   ", &shown, theme.speech());
        }
    }
    sheet.skip(1);
    let how = live.unread.as_deref().unwrap_or(
        "A number, or moves: cut 3; top to bottom; turn 2. A look first: look bottom. - if you do not know.",
    );
    typing(live, how, sheet)
}

/// How an answer was, or how it went on.
pub(super) fn told(told: &RescueTold, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    // The letters are large where that leaves room for everything else, lines that are wrapped among it.
    let wrapped = |text: &String| wrap(text, usize::from(sheet.width()).saturating_sub(2)).len();
    let rows: usize = told.lines.iter().chain(&told.packets).map(wrapped).sum();
    let large = rows + 10 < usize::from(sheet.left());
    large_word(&told.word, sheet, if large { 2 } else { 4 });
    for (n, line) in told.lines.iter().enumerate() {
        let style = if n == 0 { theme.strong() } else { Style::new() };
        sheet.text(line, style);
    }
    if !told.packets.is_empty() {
        sheet.skip(1);
        lines(&told.packets, "  ", sheet);
    }
}

/// Where are we?
pub(super) fn where_now(
    live: &Live,
    asked: &WhereNow,
    sheet: &mut Sheet<'_>,
) -> Option<(u16, u16)> {
    let theme = sheet.theme;
    sheet.text(
        "You were interrupted. At which step do you go on?",
        theme.strong(),
    );
    sheet.text("On the table, as they see it:", theme.quiet());
    lines(&asked.table, "  ", sheet);
    if !asked.said.is_empty() {
        sheet.text("Said so far:", theme.quiet());
        lines(&asked.said, "  ", sheet);
    }
    sheet.skip(1);
    let titles: Vec<(usize, &str)> = (1..)
        .zip(asked.steps.iter().map(|(_, title)| title.as_str()))
        .collect();
    super::live_view::in_columns(&titles, 4, sheet);
    sheet.skip(1);
    let how = live
        .unread
        .as_deref()
        .unwrap_or("its number, or its title; - if you do not know");
    typing(live, how, sheet)
}

fn lines(texts: &[String], lead: &str, sheet: &mut Sheet<'_>) {
    for text in texts {
        sheet.hanging(lead, text, Style::new());
    }
}
